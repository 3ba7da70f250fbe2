//! The jobs an iteration begins with: builds by plate, orders by group, and the lots of an order.

use std::rc::Rc;

use super::bath;
use super::event::Stop;
use super::job::{Job, JobKind, Wanted};
use super::packing::{Footprint, pack};
use crate::model::{BathId, Exact, GroupId, Moment, RouteId};
use crate::plan::{Shop, undippable, unprintable};

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

/// Builds that have been packed before: the same pieces by the same route make the same builds in every iteration.
#[derive(Clone, Debug, Default)]
pub(super) struct Packed {
    known: Vec<(Vec<Wanted>, Rc<Vec<Job>>)>,
}

/// Numbers the jobs that begin with the same part by the same route.
fn number(jobs: &mut [Job]) {
    for index in 1..jobs.len() {
        let (before, rest) = jobs.split_at_mut(index);
        let job = &mut rest[0];
        let same = |j: &&Job| j.route == job.route && j.wanted[0].part == job.wanted[0].part;
        job.number = u32::try_from(before.iter().filter(same).count()).unwrap_or(u32::MAX);
    }
}

/// What an iteration makes: builds by route, orders by group, each by part.
pub(super) fn jobs(
    shop: &Shop,
    packed: &mut Packed,
    (wanted, with_brief): (&[Wanted], bool),
    (ready, iteration): (Moment, u32),
) -> Result<Vec<Job>, Stop> {
    let mut routes: Vec<(RouteId, Vec<Wanted>)> = Vec::new();
    let mut groups: Vec<(GroupId, Vec<Wanted>)> = Vec::new();
    for w in wanted {
        match shop.terms(w.route) {
            None => gather(&mut routes, w.route, *w),
            Some(terms) => gather(&mut groups, terms.group, *w),
        }
    }
    let mut jobs = Vec::new();
    for (_, wanted) in routes {
        jobs.extend(
            packed.builds(shop, wanted, iteration)?.iter().map(|job| Job { ready, ..job.clone() }),
        );
    }
    let orders = groups.into_iter().map(|(_, wanted)| Job::order(shop, wanted, with_brief, ready));
    jobs.extend(orders);
    Ok(jobs)
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
        let jobs = self.known.iter().flat_map(|(_, jobs)| jobs.iter());
        let mut crowds: Vec<Crowd> = jobs
            .flat_map(|job| {
                let of = |(bath, [boxes, free]): (BathId, [Exact; 2])| Crowd {
                    route: job.route,
                    bath,
                    boxes,
                    free,
                };
                bath::crowded(shop, job).into_iter().map(of)
            })
            .collect();
        crowds.sort_by_key(|c| (c.route, c.bath, std::cmp::Reverse(c.boxes)));
        crowds.dedup_by_key(|c| (c.route, c.bath));
        crowds
    }

    /// The builds of a route's pieces, packed once.
    fn builds(
        &mut self,
        shop: &Shop,
        wanted: Vec<Wanted>,
        iteration: u32,
    ) -> Result<Rc<Vec<Job>>, Stop> {
        if let Some((_, jobs)) = self.known.iter().find(|(known, _)| *known == wanted) {
            return Ok(Rc::clone(jobs));
        }
        for w in &wanted {
            has_room(shop, w, iteration)?;
        }
        let mut jobs: Vec<Job> = plates(shop, &wanted)
            .into_iter()
            .map(|wanted| Job::pieces(JobKind::Build, shop, wanted, shop.start))
            .collect();
        for job in &jobs {
            can_be_dipped(shop, job, iteration)?;
        }
        number(&mut jobs);
        let jobs = Rc::new(jobs);
        self.known.push((wanted, Rc::clone(&jobs)));
        Ok(jobs)
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
fn can_be_dipped(shop: &Shop, job: &Job, iteration: u32) -> Result<(), Stop> {
    match bath::obstacle(shop, job) {
        None => Ok(()),
        Some((bath, why)) => Err(Stop::Dip { route: job.route, bath, iteration, why }),
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

/// The lot of a placed order that goes through steps: pieces of one route.
pub(super) fn lot(
    shop: &Shop,
    wanted: Vec<Wanted>,
    (ready, iteration): (Moment, u32),
) -> Result<Job, Stop> {
    let lot = Job::pieces(JobKind::Lot, shop, wanted, ready);
    can_be_dipped(shop, &lot, iteration)?;
    Ok(lot)
}

/// Pieces by route, in the order in which the routes come.
pub(super) fn by_route(wanted: &[Wanted]) -> Vec<Vec<Wanted>> {
    let mut groups: Vec<(RouteId, Vec<Wanted>)> = Vec::new();
    for w in wanted {
        gather(&mut groups, w.route, *w);
    }
    groups.into_iter().map(|g| g.1).collect()
}
