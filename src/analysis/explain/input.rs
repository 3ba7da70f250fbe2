//! One input: its value, its range, and what of a plan rests on it.

use super::{Origin, Story};
use crate::analysis::follow::{cost_at_planned, is_valid};
use crate::model::{Exact, Money, Slot};
use crate::plan::{Plan, Shop};
use crate::sim::Stop;

/// What is known of an input.
#[derive(Clone, Debug, PartialEq)]
pub struct InputUse {
    /// The input.
    pub slot: Slot,
    /// The entries of the plan's ledger whose amounts rest on it, by their number in the budget file.
    pub entries: Vec<usize>,
    /// Their titles and amounts, in the same order.
    pub titles: Vec<(String, Money)>,
    /// What is avoidable by the plan with the input at its low, likely and high value; `None` where it has no range, or the plan cannot
    /// be carried out with that value.
    pub avoidable: [Option<Exact>; 3],
}

/// Looks up what of a plan rests on an input.
///
/// # Errors
/// [`Stop`] where the plan cannot be carried out.
pub fn input_use(shop: &Shop, plan: &Plan, slot: Slot) -> Result<InputUse, Stop> {
    let story = Story::of(shop, plan, shop.planned, true)?;
    let rests = |index: &usize| {
        let tree = story.entry(*index);
        tree.is_some_and(|t| t.walk().any(|n| n.from == Origin::Input(slot)))
    };
    let entries: Vec<usize> = (0..story.entries.len()).filter(rests).collect();
    let title = |&index: &usize| {
        let entry = &story.entries[index].0;
        (story.title(entry), entry.amount)
    };
    let titles = entries.iter().map(title).collect();
    let input = shop.scenario.slots.get(slot);
    let values = [input.low, input.likely, input.high];
    let avoidable = if input.low < input.high {
        values.map(|value| at(shop, plan, (slot, value)))
    } else {
        [None; 3]
    };
    Ok(InputUse { slot, entries: entries.iter().map(|i| i + 1).collect(), titles, avoidable })
}

/// The avoidable cost of a plan with another number in one place.
fn at(shop: &Shop, plan: &Plan, (slot, value): (Slot, Exact)) -> Option<Exact> {
    let mut values = shop.values.clone();
    values.set(&shop.scenario.slots, slot, value);
    let other = Shop::new(shop.scenario, &values);
    if is_valid(&other) { cost_at_planned(&other, plan) } else { None }
}

impl InputUse {
    /// The amounts that rest on it, together.
    pub fn total(&self) -> Money {
        self.titles.iter().map(|t| t.1).sum()
    }
}
