//! The fast valuation and the exact one agree, to what rounding each entry once can make.

use flipcount::analysis::Answer;
use flipcount::ledger::{Ledger, Total};
use flipcount::model::RouteId;
use flipcount::plan::Shop;
use flipcount::sim::{Event, Simulation};
use flipcount::value::{FastTotals, Prices, value};
use proptest::prelude::*;

use super::held::{Verdict, answered, held};
use crate::help::{in_shop, project, scenario};

/// What happens if a plan is carried out to a count, with the final on top.
fn events(shop: &Shop, assign: &[RouteId], count: u32) -> Vec<Event> {
    let mut simulation = Simulation::new(shop);
    for n in 1..=count {
        if simulation.iterate(n, assign).is_err() {
            return simulation.events;
        }
    }
    let last = simulation.last(count + 1, assign).ok().flatten();
    simulation.events.into_iter().chain(last.into_iter().flat_map(|l| l.events)).collect()
}

const TOTALS: [Total; 3] = [Total::Avoidable, Total::Outlay, Total::Consumed];

fn fast_of(totals: &FastTotals, total: Total) -> f64 {
    match total {
        Total::Avoidable => totals.avoidable,
        Total::Outlay => totals.outlay,
        Total::Consumed => totals.consumed,
    }
}

fn exact_of(ledger: &Ledger, total: Total) -> f64 {
    ledger.total(total, u32::MAX).exact().to_f64_lossy()
}

/// What the two may differ by: half a minor unit for each rounding, and what floats lose.
fn bound(shop: &Shop, totals: &FastTotals) -> f64 {
    let half = 0.5 * 0.1f64.powi(shop.scenario.minor().cast_signed());
    f64::from(totals.roundings) * half + 1e-9 * totals.absolute
}

/// Every plan of an answer, feasible or not, by both ways with the same prices; then the order of every pair.
fn agree(shop: &Shop, answer: &Answer) -> Verdict {
    let mut prices = Prices::new(shop);
    let plans = answer.plans.iter().map(|p| &p.plan).chain(answer.infeasible.iter().map(|p| &p.0));
    let mut both: Vec<(Ledger, FastTotals)> = Vec::new();
    for plan in plans {
        for count in [shop.planned, shop.scenario.iterations.horizon] {
            let events = events(shop, &plan.assign, count);
            match (value(shop, &events), prices.totals(shop, &events)) {
                (Ok(exact), Ok(fast)) if count == shop.planned => both.push((exact.ledger, fast)),
                (Ok(exact), Ok(fast)) => near(shop, &exact.ledger, &fast)?,
                (exact, fast) => prop_assert_eq!(exact.err(), fast.err(), "{}", &plan.name),
            }
        }
    }
    for (ledger, fast) in &both {
        near(shop, ledger, fast)?;
    }
    for (ledger, fast) in &both {
        for (other, faster) in &both {
            let exact = exact_of(ledger, Total::Avoidable) - exact_of(other, Total::Avoidable);
            if exact.abs() > bound(shop, fast) + bound(shop, faster) {
                let difference = fast.avoidable - faster.avoidable;
                prop_assert!(exact * difference > 0.0, "{} and {}", exact, difference);
            }
        }
    }
    Ok(())
}

fn near(shop: &Shop, ledger: &Ledger, fast: &FastTotals) -> Verdict {
    let entries = ledger.entries().iter().filter(|e| !e.amount.is_zero()).count();
    prop_assert!(fast.roundings as usize >= entries, "{} and {}", fast.roundings, entries);
    for total in TOTALS {
        let (exact, fast_total) = (exact_of(ledger, total), fast_of(fast, total));
        let most = bound(shop, fast);
        prop_assert!(
            (exact - fast_total).abs() <= most,
            "{:?}: {} exactly, {} fast, {} allowed",
            total,
            exact,
            fast_total,
            most
        );
    }
    Ok(())
}

#[test]
fn fast_and_exact_totals_agree_and_rank_alike() {
    held("fast and exact", |_, shop| agree(shop, &answered(shop)));
}

#[test]
fn fast_and_exact_totals_agree_on_the_demos() {
    for demo in ["scenarios/first-look", "scenarios/river-sonde"] {
        let scenario = scenario(&project(demo));
        in_shop(&scenario, |shop| agree(shop, &answered(shop))).expect(demo);
    }
}
