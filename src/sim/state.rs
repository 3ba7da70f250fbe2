//! The state a simulation carries from step to step: person, machines, stock. Small, so that it can be copied at every iteration.

use super::bath::BathState;
use super::job::Carried;
use crate::model::{Day, ItemClass, ItemId, Moment, PartId, RouteId, Slot};
use crate::plan::Shop;

/// When a machine is free.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Busy {
    /// From this moment on.
    Until(Moment),
    /// Held by the job with this index; its end is not known yet.
    HeldBy(usize),
}

/// Everything a simulation remembers.
#[derive(Clone, Debug)]
pub struct State {
    pub(super) release: Moment,
    pub(super) evaluated: Moment,
    pub(super) person_free: Moment,
    pub(super) machines: Vec<Busy>,
    pub(super) bought: Vec<bool>,
    pub(super) baths: Vec<BathState>,
    pub(super) bath_busy: Vec<Busy>,
    /// Millionths of each item.
    pub(super) stock: Vec<i64>,
    pub(super) stock_at_in_hand: Vec<i64>,
    pub(super) last_in_hand: Moment,
    /// First moment each item can be there when bought.
    pub(super) item_from: Vec<Moment>,
    pub(super) machine_from: Vec<Moment>,
    /// Routes whose `buy_first` has been paid.
    pub(super) route_begun: Vec<bool>,
    /// Steps begun before, by route and step.
    pub(super) step_begun: Vec<Vec<bool>>,
    /// What runs on from earlier iterations; machines and baths name it by index.
    pub(super) carried: Vec<Carried>,
    /// Designs counted for it: iteration, route and part.
    pub(super) designed: Vec<(u32, RouteId, PartId)>,
    /// True while the next iteration is one of which something has been done.
    pub(super) under_way: bool,
}

impl State {
    /// The state before the next iteration: the first, or the one after those that are behind.
    pub fn new(shop: &Shop) -> State {
        let mut state = State::begin(shop);
        if let Some(past) = &shop.scenario.past {
            state.go_on(shop, past);
        }
        state
    }

    /// When goods are there that are ordered on a day: a lead counts business days (Monday to Friday), and ends at the first opening.
    pub(super) fn there(shop: &Shop, day: Day, lead: Option<Slot>) -> Moment {
        let scenario = shop.scenario;
        let clock = super::Clock::new(&scenario.hours);
        let after = |lead| clock.opening_of(scenario.calendars[0].after(day, lead));
        lead.map_or(Moment::MIN, |slot| after(shop.values.whole(slot)))
    }

    /// The state before the first iteration.
    fn begin(shop: &Shop) -> State {
        let scenario = shop.scenario;
        let first = crate::model::day_of(shop.start);
        let there = |lead| State::there(shop, first, lead);
        let is_resin = |i: &usize| scenario.items[*i].class == ItemClass::Resin;
        let resin = (0..scenario.items.len()).find(is_resin).map(ItemId::at);
        let stock: Vec<i64> = shop.items.iter().map(|i| i.stock).collect();
        State {
            release: shop.start,
            evaluated: shop.start,
            person_free: shop.start,
            machines: vec![Busy::Until(Moment::MIN); scenario.equipment.len()],
            baths: shop.baths.iter().map(|b| BathState::new(b, resin, shop.start)).collect(),
            bath_busy: vec![Busy::Until(Moment::MIN); scenario.baths.len()],
            bought: vec![false; scenario.equipment.len()],
            stock_at_in_hand: stock.clone(),
            stock,
            last_in_hand: shop.start,
            item_from: scenario.items.iter().map(|item| there(item.lead)).collect(),
            machine_from: scenario.equipment.iter().map(|machine| there(machine.lead)).collect(),
            route_begun: vec![false; scenario.routes.len()],
            step_begun: scenario.routes.iter().map(|r| vec![false; r.steps.len()]).collect(),
            carried: Vec::new(),
            designed: Vec::new(),
            under_way: false,
        }
    }

    /// Millionths of each item in stock.
    pub fn stock(&self) -> &[i64] {
        &self.stock
    }

    /// What is in each bath, by id.
    pub fn baths(&self) -> &[BathState] {
        &self.baths
    }

    /// Becomes a copy of another state of the same scenario, in the room it already has.
    pub(super) fn copy(&mut self, other: &State) {
        self.release = other.release;
        self.evaluated = other.evaluated;
        self.person_free = other.person_free;
        self.last_in_hand = other.last_in_hand;
        self.machines.clone_from(&other.machines);
        self.bought.clone_from(&other.bought);
        self.baths.clone_from(&other.baths);
        self.bath_busy.clone_from(&other.bath_busy);
        self.stock.clone_from(&other.stock);
        self.stock_at_in_hand.clone_from(&other.stock_at_in_hand);
        self.item_from.clone_from(&other.item_from);
        self.machine_from.clone_from(&other.machine_from);
        self.route_begun.clone_from(&other.route_begun);
        self.step_begun.clone_from(&other.step_begun);
        self.carried.clone_from(&other.carried);
        self.designed.clone_from(&other.designed);
        self.under_way = other.under_way;
    }
}
