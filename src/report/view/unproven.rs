//! Unproven routes in sentences: what to do about them, what each policy is expected to cost, what is lost if they do not work.

use super::Section;
use crate::analysis::{Choice, PlanResult, RouteAdvice, Unproven};
use crate::model::Exact;
use crate::report::{Subject, days_text, fixed, letter, listed, percent};

/// Plans told of in a short view.
const FEW: usize = 2;

/// What is to be known of the shown plans that rest on unproven routes.
pub(super) fn unproven(subject: &Subject, shown: &[usize], all: bool) -> Option<Section> {
    let of = |&index: &usize| Some((index, subject.plan(index).unproven.as_ref()?));
    let found: Vec<(usize, &Unproven)> = shown.iter().filter_map(of).collect();
    let most = if all { usize::MAX } else { FEW };
    // What to do, and what it means if it fails, is in the verdict for its own plan.
    let verdict = subject.answer.verdict.as_ref().map(|v| v.plan).filter(|_| !all);
    let mut said: Vec<String> = found
        .iter()
        .take(most)
        .map(|&(index, u)| sentence(subject, (index, u), verdict != Some(index)))
        .collect();
    let last = said.last_mut()?;
    if found.len() > most {
        last.push_str(&format!(" {} more (--all).", found.len() - most));
    }
    // The verdict tells the essence of its own plan: where there is no room all of this can be spared.
    Some(Section::sentences("Unproven", said)?.at_least(1))
}

fn sentence(subject: &Subject, (index, unproven): (usize, &Unproven), in_full: bool) -> String {
    let plan = subject.plan(index);
    let mut said = vec![costs(subject, unproven)];
    if in_full {
        said.insert(0, advice(subject, unproven));
        said.extend(failing(subject, plan));
        let chance = unproven.best().in_time(subject.shop).filter(|c| *c < Exact::ONE);
        said.extend(chance.map(|c| format!("in time with {}", share(c))));
    }
    said.extend(unproven.routes.iter().filter_map(|route| changes(subject, unproven, route)));
    format!("{} ? {}.", letter(index), said.join("; "))
}

/// What to do, with the chances: `try my bench first on gasket (works with 85 %)`.
pub(super) fn advice(subject: &Subject, unproven: &Unproven) -> String {
    let scenario = subject.scenario();
    let doubts = unproven.doubts.list.iter().zip(&unproven.best().choices);
    let said: Vec<String> = doubts
        .map(|(doubt, choice)| {
            let name = &scenario.route(doubt.route).name;
            let part = doubt.trial.map_or("", |t| &scenario.part(t.0).name);
            let what = match choice {
                Choice::Skip => format!("leave {name} alone"),
                Choice::Commit => format!("commit to {name}"),
                Choice::TryFirst => format!("try {name} first on {part}"),
            };
            format!("{what} (works with {})", share(doubt.works))
        })
        .collect();
    listed(&said)
}

/// The expected cost of each policy where one route is unproven; of several, how many were weighed.
fn costs(subject: &Subject, unproven: &Unproven) -> String {
    let words = subject.words();
    let minor = subject.scenario().minor();
    if unproven.doubts.list.len() > 1 {
        let cost = unproven.best().cost.to_money(minor);
        return format!(
            "expected {}, the least of {} policies",
            words.money(cost),
            unproven.policies.len()
        );
    }
    let mut policies: Vec<_> = unproven.policies.iter().collect();
    policies.sort_by(|a, b| a.choices.cmp(&b.choices));
    let said: Vec<String> = policies
        .iter()
        .map(|p| format!("{} {}", p.choices[0].name(), words.money(p.cost.to_money(minor))))
        .collect();
    let worth = unproven.routes[0].trial_worth;
    let worth = worth.map_or(String::new(), |w| format!(" (trial worth {})", words.money(w)));
    format!("expected: {}{worth}", said.join(", "))
}

/// What it means if the best policy's routes do not work; `None` where it relies on none.
pub(super) fn failing(subject: &Subject, plan: &PlanResult) -> Option<String> {
    let fails = plan.unproven.as_ref()?.if_fails?;
    let words = subject.words();
    let it = if plan.unproven.as_ref()?.doubts.list.len() > 1 { "one" } else { "it" };
    Some(format!(
        "if {it} does not work ({}): {}, {} lost, {} days",
        share(fails.chance),
        words.money(fails.avoidable),
        words.money(fails.lost),
        days_text(fails.seconds)
    ))
}

/// At which chance of working another choice is the best: `below 62.0 % skip, from 93.5 % commit`.
fn changes(subject: &Subject, unproven: &Unproven, route: &RouteAdvice) -> Option<String> {
    let first = route.changes.first()?;
    let mut said = vec![format!("below {} {}", exactly(first.works), first.below.name())];
    let from = route.changes.iter();
    said.extend(from.map(|c| format!("from {} {}", exactly(c.works), c.above.name())));
    let of = if unproven.routes.len() > 1 {
        format!("{}: ", subject.scenario().route(route.route).name)
    } else {
        String::new()
    };
    Some(format!("{of}{}", said.join(", ")))
}

fn share(chance: Exact) -> String {
    percent(chance.to_f64_lossy())
}

/// A share as a percentage with one decimal.
fn exactly(share: Exact) -> String {
    format!("{} %", fixed(share * Exact::from(100i64), 1))
}
