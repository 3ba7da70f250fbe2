//! The law of going on: a project that went as planned goes on as planned.

use std::fs;

use flipcount::analysis::{Doubts, Project, Resume, settle, standing};
use flipcount::model::{Money, RouteId, Scenario};
use flipcount::sim::Dates;
use proptest::prelude::*;

use super::held::{answered, held};
use crate::help::{in_shop, scenario};
use crate::record::HEADER;

/// A moment as a record has it, to the second.
fn moment(at: i64) -> String {
    let date = flipcount::analysis::date_text(at.div_euclid(86_400));
    let second = at.rem_euclid(86_400);
    format!("{date}T{:02}:{:02}:{:02}", second / 3600, second / 60 % 60, second % 60)
}

/// A name as a cell.
fn cell(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}

/// The record of iterations that went exactly as planned, of which nothing was measured.
pub fn silent(scenario: &Scenario, dates: &[Dates], assign: &[RouteId]) -> String {
    let mut lines = format!("{HEADER}\n");
    for date in dates {
        let n = date.iteration;
        for (part, route) in scenario.parts.iter().zip(assign) {
            let count = part.iterations.map(|slot| scenario.slots.likely(slot).to_whole());
            if count.is_none_or(|count| i64::from(n) <= count) {
                let (part, route) = (cell(&part.name), cell(&scenario.route(*route).name));
                let start = moment(date.release);
                lines.push_str(&format!("{start},{n},{part},{route},started,,,,,\n"));
            }
        }
        lines.push_str(&format!("{},{n},,,in_hand,,,,,\n", moment(date.in_hand)));
        lines.push_str(&format!("{},{n},,,redesign,,,,,\n", moment(date.evaluated)));
    }
    lines
}

/// True where a project that is taken up later may go another way by the rules: what is first bought then waits for its lead from that
/// day, and waiting is rounded in two parts.
fn begins_anew(scenario: &Scenario) -> bool {
    scenario.items.iter().any(|item| item.lead.is_some())
        || scenario.equipment.iter().any(|machine| machine.lead.is_some())
        || scenario.iterations.delay_cost_per_day.is_some()
}

#[test]
fn what_went_as_planned_goes_on_as_planned() {
    held("going on", |case, shop| {
        if shop.scenario.start.is_none() || begins_anew(shop.scenario) {
            return Ok(());
        }
        let plain = |p: &&flipcount::analysis::PlanResult| {
            p.plan.is_plain() && Doubts::of(shop, &p.plan.assign).list.is_empty()
        };
        for result in answered(shop).plans.iter().filter(plain).take(2) {
            let plan = &result.plan;
            let before = Project::of(shop, plan, shop.planned, &[shop.planned]).expect("it runs");
            let done = before.dates.len() / 2;
            if done == 0 {
                continue;
            }
            let text = silent(shop.scenario, &before.dates[..done], &plan.assign);
            let path = case.dir.path().join("record.csv");
            fs::write(&path, &text).expect("written");
            let mut now = scenario(case.dir.path());
            fs::remove_file(&path).expect("removed");
            let settled = settle(&mut now, Resume::default());
            prop_assert!(settled.is_ok(), "{:?}\n{}", settled, text);
            in_shop(&now, |shop| {
                let after =
                    Project::of(shop, plan, shop.planned, &[shop.planned]).expect("it runs");
                prop_assert_eq!(&before.dates[done..], &after.dates[done..]);
                let past = now.past.as_ref().expect("a record");
                let (was, is) = (before.cost_at(shop.planned), after.cost_at(shop.planned));
                prop_assert_eq!(past.spent() + is, was);
                let stands = answered(shop);
                let again = stands.plans.iter().find(|p| p.plan.assign == plan.assign);
                let found = again.and_then(|p| standing(shop, p)?.variances).expect("they run");
                prop_assert_eq!([found.price, found.quantity, found.iterations], [Money::ZERO; 3]);
                Ok(())
            })?;
        }
        Ok(())
    });
}
