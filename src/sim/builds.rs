//! The jobs an iteration begins with: builds by plate, orders by group, and the lots of an order.

use std::rc::Rc;
use std::sync::Arc;

use super::bath;
use super::event::Stop;
use super::job::{JobKind, Wanted};
use super::load::Load;
use super::packing::{Footprint, pack};
use crate::model::{BathId, Exact, GroupId, RouteId};
use crate::plan::{RouteTable, Shop, undippable, unprintable};

/// A dip whose pieces may not go in side by side.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Crowd {
    /// The route of the build.
    pub route: RouteId,
    /// The dye bath.
    pub bath: BathId,
    /// Area of the pieces' boxes in cm2.
    pub boxes: Exact,
    /// Free area beside displacers at their underside in cm2.
    pub free: Exact,
}

/// Loads that have been put together before: the same pieces by the same route make the same builds in every iteration, and in every
/// sample that draws nothing they rest on.
#[derive(Clone, Debug, Default)]
pub(super) struct Packed {
    /// The tables the loads rest on. While they are kept here, no other tables can be where they are.
    tables: Option<Arc<[RouteTable]>>,
    starts: Vec<Start>,
    lots: Vec<Rc<Load>>,
    /// Orders without briefs, of pieces that are ordered again.
    orders: Vec<Rc<Load>>,
}

/// What an iteration begins with.
#[derive(Clone, Debug)]
struct Start {
    wanted: Vec<Wanted>,
    with_brief: bool,
    loads: Rc<[Rc<Load>]>,
}

impl Packed {
    /// Forgets everything if it rests on other tables than the shop's.
    pub fn suit(&mut self, shop: &Shop) {
        if !self.tables.as_ref().is_some_and(|tables| Arc::ptr_eq(tables, &shop.routes)) {
            *self = Packed { tables: Some(Arc::clone(&shop.routes)), ..Packed::default() };
        }
    }

    /// What an iteration begins with, what goes first in front.
    pub fn start(
        &mut self,
        shop: &Shop,
        (wanted, with_brief): (&[Wanted], bool),
        iteration: u32,
    ) -> Result<Rc<[Rc<Load>]>, Stop> {
        let known = |start: &&Start| start.with_brief == with_brief && start.wanted == wanted;
        if let Some(start) = self.starts.iter().find(known) {
            return Ok(Rc::clone(&start.loads));
        }
        let loads: Rc<[Rc<Load>]> = start(shop, wanted, with_brief, iteration)?.into();
        let wanted = wanted.to_vec();
        self.starts.push(Start { wanted, with_brief, loads: Rc::clone(&loads) });
        Ok(loads)
    }

    /// The lot of a placed order that goes through steps: pieces of one route.
    pub fn lot(
        &mut self,
        shop: &Shop,
        wanted: &[Wanted],
        iteration: u32,
    ) -> Result<Rc<Load>, Stop> {
        if let Some(known) = self.lots.iter().find(|lot| lot.wanted == wanted) {
            return Ok(Rc::clone(known));
        }
        let lot = Load::pieces(JobKind::Lot, shop, wanted.to_vec());
        can_be_dipped(shop, &lot, iteration)?;
        let lot = Rc::new(lot);
        self.lots.push(Rc::clone(&lot));
        Ok(lot)
    }

    /// An order for pieces that have been ordered before.
    pub fn order_again(&mut self, shop: &Shop, wanted: &[Wanted]) -> Rc<Load> {
        if let Some(known) = self.orders.iter().find(|order| order.wanted == wanted) {
            return Rc::clone(known);
        }
        let order = Rc::new(Load::order(shop, wanted.to_vec(), false));
        self.orders.push(Rc::clone(&order));
        order
    }
}

/// Builds by route and orders by group, each by part.
fn start(
    shop: &Shop,
    wanted: &[Wanted],
    with_brief: bool,
    iteration: u32,
) -> Result<Vec<Rc<Load>>, Stop> {
    let mut routes: Vec<(RouteId, Vec<Wanted>)> = Vec::new();
    let mut groups: Vec<(GroupId, Vec<Wanted>)> = Vec::new();
    for w in wanted {
        match shop.terms(w.route) {
            None => gather(&mut routes, w.route, *w),
            Some(terms) => gather(&mut groups, terms.group, *w),
        }
    }
    let mut loads = Vec::new();
    for (_, wanted) in routes {
        loads.extend(builds(shop, &wanted, iteration)?.into_iter().map(Rc::new));
    }
    let orders = groups.into_iter().map(|(_, wanted)| Load::order(shop, wanted, with_brief));
    loads.extend(orders.map(Rc::new));
    loads.sort_by(|a, b| a.place(b));
    Ok(loads)
}

/// The builds of a route's pieces.
fn builds(shop: &Shop, wanted: &[Wanted], iteration: u32) -> Result<Vec<Load>, Stop> {
    for w in wanted {
        has_room(shop, w, iteration)?;
    }
    let load = |wanted| Load::pieces(JobKind::Build, shop, wanted);
    let mut builds: Vec<Load> = plates(shop, wanted).into_iter().map(load).collect();
    for build in &builds {
        can_be_dipped(shop, build, iteration)?;
    }
    number(&mut builds);
    Ok(builds)
}

/// Numbers the builds that begin with the same part by the same route.
fn number(builds: &mut [Load]) {
    for index in 1..builds.len() {
        let (before, rest) = builds.split_at_mut(index);
        let build = &mut rest[0];
        let same = |b: &&Load| b.route == build.route && b.wanted[0].part == build.wanted[0].part;
        build.number = u32::try_from(before.iter().filter(same).count()).unwrap_or(u32::MAX);
    }
}

fn gather<K: PartialEq>(groups: &mut Vec<(K, Vec<Wanted>)>, key: K, wanted: Wanted) {
    match groups.iter_mut().find(|g| g.0 == key) {
        Some(group) => group.1.push(wanted),
        None => groups.push((key, vec![wanted])),
    }
}

impl Packed {
    /// The crowded dips of the builds so far: for each route and bath the one with the largest boxes.
    pub(super) fn crowds(&self, shop: &Shop) -> Vec<Crowd> {
        let loads = self.starts.iter().flat_map(|start| start.loads.iter());
        let mut crowds: Vec<Crowd> = loads
            .filter(|load| load.kind == JobKind::Build)
            .flat_map(|load| {
                let of = |(bath, [boxes, free]): (BathId, [Exact; 2])| Crowd {
                    route: load.route,
                    bath,
                    boxes,
                    free,
                };
                bath::crowded(shop, load).into_iter().map(of)
            })
            .collect();
        crowds.sort_by_key(|c| (c.route, c.bath, std::cmp::Reverse(c.boxes)));
        crowds.dedup_by_key(|c| (c.route, c.bath));
        crowds
    }
}

/// Plans are made of parts and routes that fit; a final may assign others.
fn has_room(shop: &Shop, w: &Wanted, iteration: u32) -> Result<(), Stop> {
    let (part, route) = (w.part, w.route);
    match unprintable(shop, part, route).or_else(|| undippable(shop, part, route)) {
        None => Ok(()),
        Some(why) => Err(Stop::NoRoom { part, route, iteration, why }),
    }
}

/// Pieces of one build must be dipped together.
fn can_be_dipped(shop: &Shop, load: &Load, iteration: u32) -> Result<(), Stop> {
    match bath::obstacle(shop, load) {
        None => Ok(()),
        Some((bath, why)) => Err(Stop::Dip { route: load.route, bath, iteration, why }),
    }
}

/// Divides pieces among plates. Without a plate they are one build; parts without a box are not checked and go with the first.
fn plates(shop: &Shop, wanted: &[Wanted]) -> Vec<Vec<Wanted>> {
    let print = shop.route(wanted[0].route).print.as_ref();
    let Some((print, plate)) = print.and_then(|p| Some((p, p.plate?))) else {
        return vec![wanted.to_vec()];
    };
    let footprint = |w: &Wanted| {
        let [x, y, _] = shop.part(w.part).stand(print.up)?;
        Some(Footprint { part: w.part, size: [x + print.gap, y + print.gap], copies: w.copies })
    };
    let footprints: Vec<Footprint> = wanted.iter().filter_map(footprint).collect();
    let mut builds: Vec<Vec<Wanted>> = pack(&footprints, plate)
        .iter()
        .map(|pieces| {
            let of = |w: &Wanted| Wanted {
                copies: pieces.iter().filter(|p| **p == w.part).count() as i64,
                ..*w
            };
            wanted.iter().map(of).filter(|w| w.copies > 0).collect()
        })
        .collect();
    let unchecked = wanted.iter().filter(|w| footprint(w).is_none()).copied();
    match builds.first_mut() {
        Some(first) => {
            first.extend(unchecked);
            first.sort_by_key(|w| w.part);
        }
        None => builds.push(unchecked.collect()),
    }
    builds
}

/// Pieces by route, in the order in which the routes come.
pub(super) fn by_route(wanted: &[Wanted]) -> Vec<Vec<Wanted>> {
    let mut groups: Vec<(RouteId, Vec<Wanted>)> = Vec::new();
    for w in wanted {
        gather(&mut groups, w.route, *w);
    }
    groups.into_iter().map(|g| g.1).collect()
}
