//! What changes the answer, on generated scenarios: every number is told once, and at a price that is told the two plans cost the same.

use flipcount::analysis::{Change, FlipInput, flips, plan_ledger};
use flipcount::ledger::Total;
use flipcount::model::{Exact, RouteId, Slot};
use flipcount::plan::Shop;
use proptest::prelude::*;

use super::held::{answered, held};

/// Keys of prices that are rounded in no place of their own: what follows is a straight line or bends.
const PLAIN: [&str; 6] =
    ["labour", ".pack_price", ".buy_first", ".delivery_cost", ".base", ".setup_per_order"];

/// Avoidable cost by the ledger, and what rounding its entries can have made of it.
fn exact(shop: &Shop, assign: &[RouteId]) -> Option<(f64, f64)> {
    let ledger = plan_ledger(shop, assign).ok()?;
    let half = 0.5 * 0.1f64.powi(shop.scenario.minor().cast_signed());
    let entries = u32::try_from(ledger.entries().len()).ok()?;
    let cost = ledger.total(Total::Avoidable, u32::MAX).exact().to_f64_lossy();
    Some((cost, f64::from(entries) * half))
}

#[test]
fn at_a_price_that_is_told_the_two_plans_cost_the_same() {
    held("break prices", |_, shop| {
        let answer = answered(shop);
        let Some(found) = flips(shop, &answer) else {
            return Ok(());
        };
        let slots = &shop.scenario.slots;
        let of_rows = found.rows.iter().filter_map(|row| match row.input {
            FlipInput::Slot(slot) => Some(slot),
            _ => None,
        });
        let mut told: Vec<Slot> = of_rows.chain(found.without_effect.iter().copied()).collect();
        told.sort_unstable();
        let all: Vec<Slot> = slots.iter().map(|(slot, _)| slot).collect();
        prop_assert_eq!(told, all);
        prop_assert!(found.replace_first.iter().all(|&s| slots.get(s).assumed));
        for row in &found.rows {
            let (FlipInput::Slot(slot), Change::At(place)) = (&row.input, row.change) else {
                continue;
            };
            let address = &slots.get(*slot).address;
            if !PLAIN.iter().any(|key| address.ends_with(key)) {
                continue;
            }
            let mut values = shop.values.clone();
            values.set(slots, *slot, Exact::of_float(place).expect("a number"));
            let there = Shop::new(shop.scenario, &values);
            let cost = |plan: usize| exact(&there, &answer.plans[plan].plan.assign);
            let (Some(a), Some(b)) = (cost(found.best), cost(found.second)) else {
                continue;
            };
            // A bend within the last stretch, a ten-thousandth of the price, may be missed.
            let most = a.1 + b.1 + 1e-4 * (a.0.abs() + b.0.abs());
            prop_assert!((a.0 - b.0).abs() <= most, "{} at {}: {:?} {:?}", address, place, a, b);
        }
        Ok(())
    });
}
