//! What changed between two runs, on generated scenarios: the parts sum to the whole, to the last digit, and nothing is left over.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::atomic::AtomicBool;

use flipcount::analysis::{Asking, answer, changes, run_of};
use flipcount::input::Run;
use flipcount::model::{Dim, Exact, Scenario};
use flipcount::plan::Shop;
use proptest::prelude::*;

use super::held::held;
use crate::help::in_shop;

/// Every so manieth number is changed.
const EVERY: usize = 7;

fn kept(shop: &Shop) -> Run {
    let answer = answer(shop).expect("few plans");
    let verdict = answer.verdict.as_ref().map(|v| &answer.plans[v.plan]);
    run_of(shop, verdict, ("test", BTreeMap::new()), &BTreeSet::new())
}

/// The scenario with some numbers a tenth larger, and one more iteration; with how many differ.
fn changed(scenario: &Scenario, from: usize) -> (Scenario, usize) {
    let mut other = scenario.clone();
    let slots: Vec<_> = scenario.slots.iter().map(|(slot, input)| (slot, input.clone())).collect();
    let mut count = 0;
    for (index, (slot, input)) in slots.into_iter().enumerate() {
        let more = match input.dim {
            Dim::Count if slot == scenario.iterations.planned => input.likely + Exact::ONE,
            Dim::Money | Dim::Rate | Dim::Volume | Dim::Pace => {
                input.likely * Exact::with_decimals(11, 1)
            }
            _ => continue,
        };
        if !(index + from).is_multiple_of(EVERY) && input.dim != Dim::Count || more == input.likely
        {
            continue;
        }
        let place = other.slots.get_mut(slot);
        (place.low, place.likely, place.high) = (more, more, more);
        count += 1;
    }
    (other, count)
}

#[test]
fn what_each_number_moved_sums_to_the_difference_of_the_verdicts() {
    held("what changed", |case, shop| {
        let before = kept(shop);
        for from in [0, 3] {
            let (scenario, count) = changed(&case.scenario, from);
            let after = in_shop(&scenario, kept);
            let asking = Asking {
                samples: 0,
                seed: 0,
                threads: 1,
                progress: &|_| {},
                stop: &AtomicBool::new(false),
            };
            let found =
                changes(&scenario, (&before, &after), &asking).map_err(TestCaseError::fail)?;
            prop_assert!(found.others.is_empty(), "{:?}", found.others);
            let numbers: Vec<_> = found.moved.iter().flat_map(|m| &m.numbers).collect();
            prop_assert_eq!(numbers.len(), count);
            let (Some(was), Some(is)) = (&found.before, &found.after) else {
                continue;
            };
            prop_assert!(
                found.moved.iter().all(|m| !m.others),
                "nothing but numbers changed: {:?}",
                found.moved
            );
            let sum = |of: fn(&flipcount::analysis::Moved) -> Exact| {
                found.moved.iter().map(of).sum::<Exact>()
            };
            prop_assert_eq!(sum(|m| m.avoidable), is.avoidable - was.avoidable);
            prop_assert_eq!(sum(|m| m.outlay), is.outlay - was.outlay);
            let seconds: i64 = found.moved.iter().map(|m| m.seconds).sum();
            prop_assert_eq!(seconds, is.seconds - was.seconds);
            // The plan goes from the older one to the newer one, and the last change of it is the one that tips.
            let last = found.moved.iter().rev().find_map(|m| m.plan.as_ref());
            if was.plan != is.plan {
                prop_assert_eq!(last, Some(&is.plan));
                let tipped = found.tipped.map(|index| found.moved[index].plan.as_ref());
                prop_assert_eq!(tipped, Some(Some(&is.plan)));
            } else {
                prop_assert_eq!(found.tipped, None);
            }
        }
        Ok(())
    });
}
