//! Too close to call: which input, if it were known, would tell the candidates apart.

use super::{PlanResult, in_order};
use crate::model::{Exact, Scenario, Slot};
use crate::plan::{Shop, Values};

/// The input whose spread moves the difference of two plans most.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FindOut {
    /// Its slot.
    pub slot: Slot,
    /// Its address.
    pub address: String,
    /// How far the difference of the two plans moves between its low and its high, in the scenario's currency.
    pub swing: Exact,
}

/// Looks at every input with a spread: the difference between two plans with the input at its low and at its high.
pub fn find_out(shop: &Shop, a: &PlanResult, b: &PlanResult) -> Option<FindOut> {
    let scenario = shop.scenario;
    let uncertain: Vec<_> = scenario.slots.iter().filter(|(_, i)| i.low < i.high).collect();
    let swing = |index: usize| {
        let (slot, input) = uncertain[index];
        let at = |value: Exact| difference(scenario, shop.values, (slot, value), (a, b));
        let (low, high) = at(input.low).zip(at(input.high))?;
        let swing = (high - low).abs();
        (!swing.is_zero()).then(|| FindOut { slot, address: input.address.clone(), swing })
    };
    let found = in_order(uncertain.len(), swing);
    found.into_iter().flatten().reduce(|best, f| if f.swing > best.swing { f } else { best })
}

fn difference(
    scenario: &Scenario,
    values: &Values,
    (slot, value): (Slot, Exact),
    (a, b): (&PlanResult, &PlanResult),
) -> Option<Exact> {
    let mut values = values.clone();
    values.set(&scenario.slots, slot, value);
    let shop = Shop::new(scenario, &values);
    let cost = |p: &PlanResult| super::cost_at_planned(&shop, &p.plan);
    Some(cost(a)? - cost(b)?)
}
