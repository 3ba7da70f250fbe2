//! Laws of direction: what can only make a plan dearer, or cheaper, does. And draws that stay what they are whatever else is drawn.

use std::sync::atomic::AtomicBool;

use flipcount::analysis::{Asking, PlanResult, plan_ledger, sample};
use flipcount::ledger::{Ledger, Total};
use flipcount::model::{Dim, Exact, RouteId, Slot};
use flipcount::plan::Shop;
use proptest::prelude::*;

use super::held::{Verdict, answered, held};

/// Plans of a scenario that are looked at.
const PLANS: usize = 2;

/// What rounding its entries can have made of a total: each by half of the smallest amount, in both of two totals.
fn rounding(shop: &Shop, ledgers: [&Ledger; 2]) -> Exact {
    let entries: usize = ledgers.iter().map(|l| l.entries().len()).sum();
    let smallest = Exact::ONE / Exact::from(10i64.pow(shop.scenario.minor()));
    Exact::from(i64::try_from(entries).expect("few")) * smallest / Exact::from(2i64)
}

/// The same plan with another number in one slot; `None` where it cannot be carried out so.
fn with(shop: &Shop, slot: Slot, value: Exact, assign: &[RouteId]) -> Option<Ledger> {
    let mut values = shop.values.clone();
    values.set(&shop.scenario.slots, slot, value);
    plan_ledger(&Shop::new(shop.scenario, &values), assign).ok()
}

/// Money that somebody asks for; what a machine sells for is none, and the budget buys nothing.
fn is_price(address: &str, dim: Dim) -> bool {
    matches!(dim, Dim::Money | Dim::Rate) && !address.ends_with("resale") && address != "budget"
}

#[test]
fn a_higher_price_never_costs_less() {
    let raised = std::cell::Cell::new(0);
    held("higher prices", |_, shop| {
        let slots = &shop.scenario.slots;
        for plan in answered(shop).plans.iter().take(PLANS) {
            let assign = &plan.plan.assign;
            let before = plan_ledger(shop, assign).expect("a feasible plan");
            for (slot, input) in slots.iter().filter(|s| is_price(&s.1.address, s.1.dim)) {
                let higher = (input.likely + input.likely / Exact::from(2i64)).max(Exact::ONE);
                let Some(after) = with(shop, slot, higher, assign) else {
                    continue;
                };
                for total in [Total::Avoidable, Total::Outlay, Total::Consumed] {
                    let sum = |ledger: &Ledger| ledger.total(total, u32::MAX).exact();
                    let least = sum(&before) - rounding(shop, [&before, &after]);
                    prop_assert!(sum(&after) >= least, "{}: {:?}", input.address, total);
                    raised.set(raised.get() + u32::from(sum(&after) > sum(&before)));
                }
            }
        }
        Ok(())
    });
    assert!(raised.get() > 1_000, "{} totals were raised", raised.get());
}

/// Baths are left out: one that is emptied a build later may be worth less then.
#[test]
fn fewer_failures_never_take_more_in_expectation() {
    let lowered = std::cell::Cell::new(0);
    held("fewer failures", |_, shop| {
        let scenario = shop.scenario;
        let is_chance = |address: &str| address.ends_with("spoil") || address.ends_with("misread");
        for plan in answered(shop).plans.iter().take(PLANS) {
            let assign = &plan.plan.assign;
            if assign.iter().any(|&r| scenario.route(r).steps.iter().any(|s| s.bath.is_some())) {
                continue;
            }
            let before = plan_ledger(shop, assign).expect("a feasible plan");
            for (slot, input) in scenario.slots.iter().filter(|s| is_chance(&s.1.address)) {
                let Some(after) = with(shop, slot, input.likely / Exact::from(2i64), assign) else {
                    continue;
                };
                let sum = |ledger: &Ledger| ledger.total(Total::Consumed, u32::MAX).exact();
                let most = sum(&before) + rounding(shop, [&before, &after]);
                prop_assert!(sum(&after) <= most, "{}", input.address);
                let hours = |ledger: &Ledger| ledger.hours(shop.planned).last().copied();
                prop_assert!(hours(&after) <= hours(&before), "{}", input.address);
                lowered.set(lowered.get() + u32::from(sum(&after) < sum(&before)));
            }
        }
        Ok(())
    });
    assert!(lowered.get() > 50, "{} totals were lowered", lowered.get());
}

/// A plan is drawn alone as it is drawn beside others: differences between plans are those of the same luck.
fn alone_as_among_others(shop: &Shop) -> Verdict {
    let answer = answered(shop);
    let stop = AtomicBool::new(false);
    let asking = Asking { samples: 16, seed: 5, threads: 1, progress: &|_| (), stop: &stop };
    let Some(all) = sample(shop, &answer.plans, &asking) else {
        return Ok(());
    };
    for (plan, among) in answer.plans.iter().zip(&all.plans).take(4) {
        let one: &[PlanResult] = std::slice::from_ref(plan);
        let alone = sample(shop, one, &asking).expect("samples");
        let alone = &alone.plans[0];
        prop_assert_eq!(&alone.avoidable, &among.avoidable, "{}", plan.plan.name);
        prop_assert_eq!(&alone.outlay, &among.outlay, "{}", plan.plan.name);
        prop_assert_eq!(&alone.days, &among.days, "{}", plan.plan.name);
        prop_assert_eq!(alone.stopped.to_bits(), among.stopped.to_bits());
    }
    Ok(())
}

#[test]
fn draws_are_paired_whatever_else_is_sampled() {
    held("paired draws", |_, shop| alone_as_among_others(shop));
}
