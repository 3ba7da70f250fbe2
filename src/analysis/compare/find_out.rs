//! Too close to call: which input, if it were known, would tell the candidates apart.

use crate::analysis::follow::{Pair, PlanResult};
use crate::analysis::parallel::in_order;
use crate::model::{Exact, Slot};
use crate::plan::Shop;

/// The input whose spread moves the difference of two plans most.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FindOut {
    /// Its slot.
    pub slot: Slot,
    /// Its address.
    pub address: String,
    /// How far the difference of the two plans moves between its low and its high, in the scenario's currency, on unrounded amounts.
    pub swing: Exact,
}

/// Looks at every input with a spread: the difference between two plans with the input at its low and at its high.
pub fn find_out(shop: &Shop, a: &PlanResult, b: &PlanResult) -> Option<FindOut> {
    let pair = Pair::new(shop, &a.plan, &b.plan)?;
    let slots: Vec<Slot> = shop.scenario.slots.iter().map(|(slot, _)| slot).collect();
    let swings = in_order(slots.len(), |index| {
        Some((slots[index], pair.swing(slots[index]).filter(|&s| s > 0.0)?))
    });
    let (slot, swing) =
        swings.into_iter().flatten().reduce(|best, f| if f.1 > best.1 { f } else { best })?;
    let address = shop.scenario.slots.get(slot).address.clone();
    Some(FindOut { slot, address, swing: Exact::of_float(swing)? })
}
