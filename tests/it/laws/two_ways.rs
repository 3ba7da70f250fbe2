//! Laws of a second route for a part: what runs on stays in the books, and no figure depends on what comes after its count.

use flipcount::analysis::{Doubts, Project, cost_at_planned, ledger_of};
use flipcount::ledger::{Total, balance};
use flipcount::model::{Beside, PartId};
use flipcount::plan::{Plan, Shop};
use proptest::prelude::*;

use super::held::{held, projects};
use super::material::half_used;

/// Plans made of two feasible ones that differ in a part: it is made both ways up to some iteration.
fn two_ways(shop: &Shop) -> Vec<Plan> {
    let plans: Vec<_> = projects(shop).into_iter().map(|p| p.0).collect();
    let mut result = Vec::new();
    for (index, assign) in plans.iter().enumerate() {
        for (at, other) in plans.iter().enumerate().filter(|(at, _)| *at != index) {
            let part = (0..assign.len()).find(|&part| assign[part] != other[part]);
            let Some(part) =
                part.filter(|&part| Doubts::of(shop, &[assign[part], other[part]]).list.is_empty())
            else {
                continue;
            };
            let until = 1 + (index + at) as u32 % shop.planned;
            let beside = vec![Beside { part: PartId(part as u16), route: other[part], until }];
            result.push(Plan { beside, ..Plan::unnamed(shop.scenario, assign.clone()) });
        }
    }
    result.retain(|plan| Doubts::of(shop, &plan.assign).list.is_empty());
    result
}

#[test]
fn what_runs_on_stays_in_the_books() {
    held("two ways", |_, shop| {
        let start: Vec<i64> = shop.items.iter().map(|i| i.stock).collect();
        for plan in two_ways(shop) {
            let horizon = shop.scenario.iterations.horizon;
            // What was feasible alone need not be feasible together.
            let Ok(long) = Project::of(shop, &plan, horizon, &[shop.planned]) else {
                continue;
            };
            let ledger = ledger_of(shop, &plan).expect("as far as planned it is feasible");
            prop_assert_eq!(
                cost_at_planned(shop, &plan).expect("it is feasible"),
                long.cost_at(shop.planned).exact()
            );
            prop_assert_eq!(ledger.total(Total::Avoidable, u32::MAX), long.cost_at(shop.planned));
            balance(ledger.movements(), &start, &half_used(shop)).expect("closes");
            let second = plan.beside[0];
            let uses = |e: &&flipcount::ledger::Entry| {
                e.route == Some(second.route) && e.part == Some(second.part)
            };
            let last = ledger.entries().iter().filter(uses).map(|e| e.iteration).max();
            let by_final = shop.scenario.last.as_ref().and_then(|l| l.route_of(second.part));
            if by_final != Some(second.route) {
                prop_assert!(last.is_none_or(|n| n <= second.until), "{:?}", last);
            }
        }
        Ok(())
    });
}

#[test]
fn a_count_does_not_depend_on_what_follows_it() {
    let ran_on = std::cell::Cell::new(0);
    held("two ways to a horizon", |_, shop| {
        for plan in two_ways(shop) {
            let horizon = shop.scenario.iterations.horizon;
            let Ok(long) = Project::of(shop, &plan, horizon, &[]) else {
                continue;
            };
            if long.ended.is_some() {
                continue;
            }
            ran_on.set(ran_on.get() + long.open.len());
            for n in 1..=shop.planned {
                let short = Project::of(shop, &plan, n, &[]).expect("a part of the longer one");
                prop_assert_eq!(short.cost_at(n), long.cost_at(n), "at {}", n);
                prop_assert_eq!(&short.dates[..], &long.dates[..short.dates.len()]);
            }
        }
        Ok(())
    });
    println!("{} in hands past which something runs on", ran_on.get());
    assert!(ran_on.get() > 0, "nothing ever runs on");
}

/// A second route takes hours of its own: iteration 1 never takes fewer than without it.
#[test]
fn both_take_their_hours() {
    held("hours of two ways", |_, shop| {
        for plan in two_ways(shop) {
            let none = Plan { beside: Vec::new(), ..plan.clone() };
            let (Ok(both), Ok(one)) = (ledger_of(shop, &plan), ledger_of(shop, &none)) else {
                continue;
            };
            let (both, one) = (both.hours(1)[0], one.hours(1)[0]);
            prop_assert!(both >= one, "{:?} {:?}", both, one);
        }
        Ok(())
    });
}
