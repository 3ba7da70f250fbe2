//! Probes: two plans under numbers other than today's.

use super::ahead::{Ahead, ahead, fast_costs, fast_total};
use crate::model::{Dim, Exact, Slot};
use crate::plan::{Plan, Shop, Values, is_whole, ruled_out};
use crate::sim::{Event, Stop};
use crate::value::{FastTotals, Prices};

/// What two amounts may differ by, as a share of all money they are made of, and still count as equal.
const NOISE: f64 = 1e-11;

/// Numbers that are tried.
pub type Tried<'t> = &'t [(Slot, f64)];

/// Two plans and what happens in them today, at the planned count with the final.
pub struct Pair<'s, 'a> {
    pub shop: &'s Shop<'a>,
    plans: [&'s Plan; 2],
    ahead: [Ahead; 2],
    /// What the first costs more than the second today, unrounded.
    pub today: f64,
    /// Differences below this are none.
    pub noise: f64,
}

impl<'s, 'a> Pair<'s, 'a> {
    /// Two plans that can be carried out today; `None` where one of them cannot.
    pub fn new(shop: &'s Shop<'a>, a: &'s Plan, b: &'s Plan) -> Option<Pair<'s, 'a>> {
        let ahead = [ahead(shop, a)?, ahead(shop, b)?];
        let mut prices = Prices::new(shop);
        let a_costs = costs(shop, &mut prices, &ahead[0]).ok()?;
        let b_costs = costs(shop, &mut prices, &ahead[1]).ok()?;
        let noise = NOISE * (a_costs.absolute + b_costs.absolute);
        let today = a_costs.avoidable - b_costs.avoidable;
        Some(Pair { shop, plans: [a, b], ahead, today, noise })
    }

    /// What happens in one of the two, where it is one thing.
    pub fn events(&self, plan: usize) -> &[Event] {
        match &self.ahead[plan] {
            Ahead::Events(events) => events,
            Ahead::Expected(_) => &[],
        }
    }

    /// The two.
    pub fn plans(&self) -> impl Iterator<Item = &'s Plan> {
        self.plans.into_iter()
    }

    /// What the first costs more than the second under other numbers; `None` where the scenario is not valid with them, or one of the
    /// plans cannot be carried out.
    pub fn difference(&self, tried: Tried) -> Option<f64> {
        let scenario = self.shop.scenario;
        let values = tried_values(self.shop, tried)?;
        let shop = Shop::new(scenario, &values);
        let mut prices = Prices::new(&shop);
        let same_events = self.ahead.iter().all(|a| matches!(a, Ahead::Events(_)));
        if same_events && tried.iter().all(|t| is_price(scenario.slots.get(t.0).dim)) {
            return difference(&shop, &mut prices, [&self.ahead[0], &self.ahead[1]]);
        }
        if !is_valid(&shop) {
            return None;
        }
        let out = ruled_out(&shop);
        let mut avoidable = |plan: &Plan| {
            is_whole(&shop, &out, plan).then(|| fast_cost(&shop, &mut prices, plan)).flatten()
        };
        Some(avoidable(self.plans[0])? - avoidable(self.plans[1])?)
    }

    /// How far the difference moves between the low and the high value of a number; `None` where it has no spread or one of the two is not
    /// valid.
    pub fn swing(&self, slot: Slot) -> Option<f64> {
        let input = self.shop.scenario.slots.get(slot);
        if input.low >= input.high {
            return None;
        }
        let at = |value: Exact| self.difference(&[(slot, value.quick_f64())]);
        let swing = (at(input.high)? - at(input.low)?).abs();
        Some(if swing > self.noise { swing } else { 0.0 })
    }
}

fn difference(shop: &Shop, prices: &mut Prices, [a, b]: [&Ahead; 2]) -> Option<f64> {
    Some(costs(shop, prices, a).ok()?.avoidable - costs(shop, prices, b).ok()?.avoidable)
}

fn costs(shop: &Shop, prices: &mut Prices, of: &Ahead) -> Result<FastTotals, Stop> {
    match of {
        Ahead::Events(events) => prices.totals(shop, events),
        Ahead::Expected(cost) => Ok(fast_total(*cost)),
    }
}

/// Prices change no date and no quantity.
pub fn is_price(dim: Dim) -> bool {
    matches!(dim, Dim::Money | Dim::Rate)
}

/// A part's own count may not be above the planned one, nor that below what is behind.
pub fn is_valid(shop: &Shop) -> bool {
    shop.planned >= shop.done()
        && shop.parts.iter().all(|p| p.count.is_none_or(|count| count <= shop.planned))
}

/// The avoidable cost of a plan under a shop's numbers; `None` where it cannot be carried out.
pub fn fast_cost(shop: &Shop, prices: &mut Prices, plan: &Plan) -> Option<f64> {
    Some(fast_costs(shop, prices, plan)?.avoidable)
}

/// The numbers of a shop with some put in their place.
pub fn tried_values(shop: &Shop, tried: Tried) -> Option<Values> {
    let mut values = shop.values.clone();
    for &(slot, value) in tried {
        values.set(&shop.scenario.slots, slot, Exact::of_float(value)?);
    }
    Some(values)
}
