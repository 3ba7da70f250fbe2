//! A project that goes on: where things stand is taken over, and what has been done of an iteration is not done again.
//!
//! Enters: the [`Past`](crate::model::Past) of a scenario. Leaves: a [`State`] to start from, and within the iteration under way the pieces
//! that are still to be made. The other way round, a state becomes a [`Carry`] once what has happened was run again.

use std::rc::Rc;

use super::bath::BathState;
use super::event::{Stamp, Stop, What};
use super::job::{JobKind, Wanted};
use super::run::Simulation;
use super::schedule::Floor;
use super::state::{Busy, State};
use crate::model::{Carry, InTub, Moment, PartId, Past, RouteId, UnderWay, day_of};
use crate::plan::Shop;

impl From<&InTub> for BathState {
    fn from(tub: &InTub) -> BathState {
        let InTub { solvent, dye, resin, uses, filled } = tub.clone();
        BathState { solvent, dye, resin, uses, filled }
    }
}

impl From<&BathState> for InTub {
    fn from(bath: &BathState) -> InTub {
        let BathState { solvent, dye, resin, uses, filled } = bath.clone();
        InTub { solvent, dye, resin, uses, filled }
    }
}

impl State {
    /// Takes over where things stand. What is bought for the first time from now on waits for its lead from today.
    pub(super) fn go_on(&mut self, shop: &Shop, past: &Past) {
        let (carry, now) = (&past.carry, past.now);
        self.release = carry.release;
        self.evaluated = carry.evaluated;
        self.person_free = now.max(carry.evaluated);
        self.last_in_hand = now;
        self.stock.clone_from(&carry.stock);
        self.stock_at_in_hand.clone_from(&carry.stock);
        self.bought.clone_from(&carry.used);
        self.baths = carry.baths.iter().map(BathState::from).collect();
        self.route_begun.clone_from(&carry.route_begun);
        self.step_begun.clone_from(&carry.step_begun);
        let scenario = shop.scenario;
        let today = day_of(now);
        let leads = scenario.items.iter().map(|item| item.lead);
        for ((from, lead), &had) in self.item_from.iter_mut().zip(leads).zip(&carry.had) {
            *from = if had { Moment::MIN } else { State::there(shop, today, lead) };
        }
        for (from, machine) in self.machine_from.iter_mut().zip(&scenario.equipment) {
            *from = State::there(shop, today, machine.lead);
        }
        self.under_way = !past.under_way.is_empty();
    }
}

impl<'s, 'a> Simulation<'s, 'a> {
    /// Runs again what was made in an iteration, released at a moment, with everything free: how it really went is recorded, what it did to
    /// baths and to what is bought once is not.
    ///
    /// # Errors
    /// As [`Simulation::iterate`].
    pub fn replay(
        &mut self,
        n: u32,
        made: &[(PartId, RouteId)],
        release: Moment,
    ) -> Result<(), Stop> {
        let shop = self.shop();
        self.free_at(release);
        let wanted = made.iter().map(|&(part, route)| Wanted {
            part,
            route,
            copies: shop.part(part).copies,
        });
        let wanted: Vec<Wanted> = wanted.collect();
        let two_ways = wanted.windows(2).any(|pair| pair[0].part == pair[1].part);
        self.make_these(n, wanted, two_ways)
    }

    /// The iteration that was made last was in hand at this moment.
    pub fn was_in_hand(&mut self, moment: Moment) {
        self.state_mut().last_in_hand = moment;
    }

    fn free_at(&mut self, moment: Moment) {
        let state = self.state_mut();
        (state.release, state.evaluated, state.person_free) = (moment, moment, moment);
        for busy in state.machines.iter_mut().chain(&mut state.bath_busy) {
            if let Busy::Until(_) = busy {
                *busy = Busy::Until(Moment::MIN);
            }
        }
    }

    /// Where things stand, as plain numbers; what still runs is left out. When the next version is ready is not known here.
    pub fn carry(&self) -> Carry {
        let state = self.state();
        Carry {
            release: state.release,
            evaluated: state.evaluated,
            stock: state.stock.clone(),
            had: vec![false; state.stock.len()],
            used: state.bought.clone(),
            baths: state.baths.iter().map(InTub::from).collect(),
            route_begun: state.route_begun.clone(),
            step_begun: state.step_begun.clone(),
        }
    }
}

/// An iteration of which something has been done: what is left of it.
pub(super) struct Rest<'a> {
    /// What has been done.
    under_way: &'a UnderWay,
    /// Pieces that are not on order and not in hand.
    pub make: Vec<Wanted>,
    /// Pieces that are on order, each with the moment it can be used.
    lots: Vec<(Wanted, Moment)>,
    /// What is on order and not wanted by this plan, by index.
    cancelled: Vec<usize>,
}

impl<'a> Rest<'a> {
    /// What is left where pieces are wanted.
    pub fn of(past: &'a Past, wanted: &[Wanted]) -> Rest<'a> {
        let under_way = &past.under_way;
        let mut rest =
            Rest { under_way, make: Vec::new(), lots: Vec::new(), cancelled: Vec::new() };
        for w in wanted.iter().filter(|w| !under_way.in_hand.contains(&w.part)) {
            let ordered = |lot: &&crate::model::OnOrder| (lot.part, lot.route) == (w.part, w.route);
            match under_way.lots.iter().find(ordered) {
                Some(lot) => rest.lots.push((*w, lot.arrives.max(past.now))),
                None => rest.make.push(*w),
            }
        }
        let is_wanted = |part, route| wanted.iter().any(|w| (w.part, w.route) == (part, route));
        for (index, lot) in under_way.lots.iter().enumerate() {
            let there = under_way.in_hand.contains(&lot.part);
            if !there && !is_wanted(lot.part, lot.route) && !lot.back.is_zero() {
                rest.cancelled.push(index);
            }
        }
        rest
    }

    /// True for pieces that are not in hand.
    pub fn is_left(&self, wanted: &Wanted) -> bool {
        !self.under_way.in_hand.contains(&wanted.part)
    }

    /// True where a good build of all these pieces has ended.
    fn is_built(&self, wanted: &[Wanted]) -> bool {
        wanted.iter().all(|w| self.under_way.built.contains(&(w.part, w.route)))
    }
}

impl Floor<'_, '_> {
    /// Goes on with an iteration: orders that are not wanted are cancelled, built pieces skip the print, what is on order arrives.
    pub(super) fn take_up(&mut self, rest: &Rest) -> Result<(), Stop> {
        let (release, iteration) = (self.state.release, self.whose.iteration);
        for &index in &rest.cancelled {
            let lot = &rest.under_way.lots[index];
            let (part, route) = (Some(lot.part), Some(lot.route));
            let stamp = Stamp { when: release, iteration, part, route, step: 0 };
            self.events.push(stamp.of(What::Cancelled(index)));
        }
        for index in 0..self.jobs.len() {
            let load = Rc::clone(&self.jobs[index].load);
            if load.kind != JobKind::Build || load.print.is_none() || !rest.is_built(&load.wanted) {
                continue;
            }
            self.jobs[index].next = 1;
            if self.jobs[index].is_done() {
                self.there(self.whose, &load.wanted, release);
            } else {
                self.aim(index);
            }
        }
        let mut lots = rest.lots.clone();
        lots.sort_by_key(|(w, at)| (w.route, *at, w.part));
        for lot in lots.chunk_by(|a, b| (a.0.route, a.1) == (b.0.route, b.1)) {
            let pieces: Vec<Wanted> = lot.iter().map(|l| l.0).collect();
            self.arrive(&pieces, lot[0].1, (self.whose, 0))?;
        }
        Ok(())
    }
}
