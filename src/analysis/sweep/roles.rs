//! What each input of a sweep can matter to, so that nothing is worked out twice.

use std::collections::BTreeMap;

use super::Grid;
use crate::analysis::follow::is_price;
use crate::model::{RouteId, Scenario, Slot};
use crate::plan::{Plan, priceless, routes_of, tabled, touched, unsettling};

/// The inner inputs of a grid, by what they do.
#[derive(Debug)]
pub(super) struct Roles {
    /// Prices, by index: under any of their values the same happens.
    pub prices: Vec<usize>,
    /// All others.
    pub moving: Vec<usize>,
    /// Those of them that may change which plans there are.
    pub settling: Vec<usize>,
    /// True where no moving one is in the tables of a shop.
    pub keeps_tables: bool,
    /// True where no moving one changes what is paid for a thing.
    pub keeps_prices: bool,
    /// By index: the routes an input belongs to; `None` where it may matter to every plan.
    routes: Vec<Option<Vec<RouteId>>>,
    /// Which of the prices a slot is, as bits.
    bits: BTreeMap<Slot, u64>,
}

impl Roles {
    /// The roles of inputs whose places in a scenario are `slots`, by index.
    pub fn new(scenario: &Scenario, grid: &Grid, slots: &[Vec<Slot>]) -> Roles {
        let dim = |slot: &Slot| scenario.slots.get(*slot).dim;
        let is_priced = |index: &usize| slots[*index].iter().all(|slot| is_price(dim(slot)));
        let (prices, moving): (Vec<usize>, Vec<usize>) =
            grid.inner().iter().copied().partition(is_priced);
        let (unsettling, tabled) = (unsettling(scenario), tabled(scenario));
        let (priceless, touched) = (priceless(scenario), touched(scenario));
        let all = |of: &[bool], index: usize| slots[index].iter().all(|slot| of[slot.index()]);
        let none = |of: &[bool], index: usize| slots[index].iter().all(|slot| !of[slot.index()]);
        let routes = slots.iter().map(|slots| {
            let of: Option<Vec<&Vec<RouteId>>> = slots.iter().map(|s| touched.get(s)).collect();
            of.map(|routes| routes.into_iter().flatten().copied().collect())
        });
        let bits = prices.iter().enumerate().flat_map(|(bit, &index)| {
            slots[index].iter().map(move |&slot| (slot, 1 << bit.min(63)))
        });
        Roles {
            settling: moving.iter().copied().filter(|&i| !all(&unsettling, i)).collect(),
            keeps_tables: moving.iter().all(|&i| none(&tabled, i)),
            keeps_prices: moving.iter().all(|&i| all(&priceless, i)),
            routes: routes.collect(),
            bits: bits.collect(),
            prices,
            moving,
        }
    }

    /// The moving inputs that may matter to a plan, by index.
    pub fn of_plan(&self, scenario: &Scenario, plan: &Plan) -> Vec<usize> {
        let used = routes_of(scenario, plan);
        let matters = |index: &usize| match &self.routes[*index] {
            None => true,
            Some(routes) => routes.iter().any(|route| used.contains(route)),
        };
        self.moving.iter().copied().filter(matters).collect()
    }

    /// Which prices a slot is, as bits; none for a price that is not varied.
    pub fn bit(&self, slot: Slot) -> u64 {
        self.bits.get(&slot).copied().unwrap_or(0)
    }

    /// The prices of a set of bits, by index.
    pub fn prices_of(&self, bits: u64) -> Vec<usize> {
        let is_set = |&(bit, _): &(usize, &usize)| bits >> bit.min(63) & 1 == 1;
        self.prices.iter().enumerate().filter(is_set).map(|(_, &index)| index).collect()
    }
}
