//! Laws of looking ahead: what is to be ordered by when, and when to look again.

use flipcount::analysis::{Bought, BuyLine, buy_list, last_safe, plan_ledger};
use flipcount::ledger::{Category, Total};
use flipcount::model::{DAY, Day, Exact, Overrides, day_of};
use flipcount::plan::Shop;
use flipcount::sim::Clock;
use proptest::prelude::*;

use super::held::{Verdict, answered, held};
use crate::help::{in_shop, scenario_with};

/// Counts at which a scenario is asked again.
const ASKED_AGAIN: u32 = 4;

#[test]
fn what_is_ordered_is_what_the_ledger_pays_for_it_and_comes_in_time() {
    held("orders", |_, shop| {
        for plan in answered(shop).plans.iter().take(4) {
            let lines = buy_list(shop, &plan.plan).expect("a feasible plan");
            let ledger = plan_ledger(shop, &plan.plan.assign).expect("a feasible plan");
            let ordered = |category| {
                let others = [Category::Electricity, Category::Waste, Category::Labour];
                !others.contains(&category)
            };
            let paid = ledger.by_category(Total::Outlay, u32::MAX);
            let paid: Exact = paid.iter().filter(|c| ordered(c.0)).map(|c| c.1.exact()).sum();
            let listed: Exact = lines.iter().map(|l| l.cost.exact()).sum();
            prop_assert_eq!(listed, paid);
            prop_assert!(lines.is_sorted_by_key(|l| l.order_by));
            for line in &lines {
                in_time(shop, line)?;
            }
        }
        Ok(())
    });
}

/// Goods ordered on the day told are there before the need, unless that is the start, for which the need waits.
fn in_time(shop: &Shop, line: &BuyLine) -> Verdict {
    let start = day_of(shop.start);
    prop_assert!(line.order_by >= start && line.order_by <= day_of(line.there));
    let lead = match line.what {
        Bought::Item(id) => {
            shop.scenario.items[id.index()].lead.map(|slot| shop.values.whole(slot))
        }
        Bought::Machine(id) => {
            shop.scenario.equipment[id.index()].lead.map(|slot| shop.values.whole(slot))
        }
        _ => None,
    };
    let Some(lead) = lead else {
        return Ok(());
    };
    // What is paid by use is put back: the stock there was at the start covers the first need.
    let covered = match line.what {
        Bought::Item(id) => shop.item(id).pack.is_none() && shop.item(id).stock > 0,
        _ => false,
    };
    let dealer = &shop.scenario.calendars[0];
    let there = |day: Day| Clock::new(&shop.scenario.hours).opening_of(dealer.after(day, lead));
    let comes = there(line.order_by) <= line.there;
    prop_assert!(comes || (covered && line.order_by == start), "ordered on time, there too late");
    if line.order_by > start {
        prop_assert!(dealer.is_open(line.order_by), "no business day");
    }
    // The next business day is after the need, or its goods are.
    let next = dealer.on_or_after(line.order_by + 1);
    prop_assert!(next * DAY > line.there || there(next) > line.there, "a later day would do");
    Ok(())
}

/// The counts told, and those up to them, are what the same question answers there.
#[test]
fn the_verdict_changes_at_the_count_that_is_told_and_not_before() {
    held("look again", |case, shop| {
        let answer = answered(shop);
        let Some(verdict) = &answer.verdict else {
            return Ok(());
        };
        let now = &answer.plans[verdict.plan].plan.name;
        let look = &answer.look_again;
        let told = |n: u32| {
            let sides = look.fewer.iter().chain(&look.more);
            sides.filter(|c| c.0 == n).map(|c| c.1.as_ref().map(|p| &p.name)).next()
        };
        let from = look.fewer.as_ref().map_or(1, |c| c.0);
        let to = look.more.as_ref().map_or(answer.horizon, |c| c.0);
        let near = answer.planned.saturating_sub(ASKED_AGAIN).max(from)
            ..=(answer.planned + ASKED_AGAIN).min(to);
        for n in near {
            let again = Overrides { iterations: Some(n), ..Overrides::default() };
            let again = scenario_with(case.dir.path(), again);
            let name = in_shop(&again, |shop| {
                let answer = answered(shop);
                let verdict = answer.verdict.as_ref()?;
                Some(answer.plans[verdict.plan].plan.name.clone())
            });
            prop_assert_eq!(name.as_ref(), told(n).unwrap_or(Some(now)), "at {}", n);
        }
        Ok(())
    });
}

#[test]
fn a_last_safe_day_lies_between_the_planned_release_and_the_due_date() {
    held("last safe", |_, shop| {
        for plan in answered(shop).plans.iter().take(4) {
            let in_time = shop
                .scenario
                .due
                .is_some_and(|due| day_of(shop.start + plan.decides.seconds) <= due);
            for safe in last_safe(shop, &plan.plan) {
                prop_assert_eq!(safe.day.is_some(), in_time);
                if let Some(day) = safe.day {
                    prop_assert!(day >= day_of(safe.release) && Some(day) <= shop.scenario.due);
                }
            }
        }
        Ok(())
    });
}
