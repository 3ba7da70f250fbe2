//! `unproven` of a plan in the JSON document: the policies and what comes of them.

use std::collections::BTreeMap;

use serde::Serialize;

use super::Subject;
use super::json::{days, number};
use crate::analysis::{Choice, Policy, RouteAdvice, Unproven};
use crate::model::Money;

/// What is best done about a plan's unproven routes; figures are expected ones.
#[derive(Serialize)]
pub(super) struct UnprovenEntry<'s> {
    routes: Vec<RouteEntry<'s>>,
    outlay: String,
    consumed: String,
    /// The best first.
    policies: Vec<PolicyEntry<'s>>,
    if_fails: Option<FailEntry>,
}

#[derive(Serialize)]
struct RouteEntry<'s> {
    route: &'s str,
    works: f64,
    fallback: &'s str,
    trial: Option<TrialEntry<'s>>,
    policy: &'static str,
    trial_worth: Option<String>,
    advice_changes: Vec<ChangeEntry>,
}

#[derive(Serialize)]
struct TrialEntry<'s> {
    part: &'s str,
    tells: f64,
}

#[derive(Serialize)]
struct ChangeEntry {
    works: f64,
    below: &'static str,
    above: &'static str,
}

#[derive(Serialize)]
struct PolicyEntry<'s> {
    choices: BTreeMap<&'s str, &'static str>,
    avoidable: String,
    /// Kept with a chance of at least `sure`.
    days: f64,
    /// Chance of being in hand by `due`.
    in_time: Option<f64>,
}

#[derive(Serialize)]
struct FailEntry {
    chance: f64,
    avoidable: String,
    lost: String,
    days: f64,
}

/// The entry of one plan.
pub(super) fn unproven_entry<'s>(
    subject: &Subject<'s>,
    unproven: &'s Unproven,
) -> UnprovenEntry<'s> {
    let make = Make { subject, unproven };
    let figures = unproven.best().figures(subject.shop);
    let choices = &unproven.best().choices;
    UnprovenEntry {
        routes: (0..choices.len())
            .map(|at| make.route(at, &unproven.routes[at], choices[at]))
            .collect(),
        outlay: make.money(figures.outlay),
        consumed: make.money(figures.consumed),
        policies: unproven.policies.iter().map(|p| make.policy(p)).collect(),
        if_fails: unproven.if_fails.map(|f| FailEntry {
            chance: number(f.chance),
            avoidable: make.money(f.avoidable),
            lost: make.money(f.lost),
            days: days(f.seconds),
        }),
    }
}

struct Make<'a, 's> {
    subject: &'a Subject<'s>,
    unproven: &'s Unproven,
}

impl<'s> Make<'_, 's> {
    fn money(&self, amount: Money) -> String {
        amount.text(self.subject.scenario().minor())
    }

    fn route(&self, at: usize, advice: &RouteAdvice, choice: Choice) -> RouteEntry<'s> {
        let scenario = self.subject.scenario();
        let doubt = self.unproven.doubts.list[at];
        let change = |c: &crate::analysis::AdviceChange| ChangeEntry {
            works: number(c.works),
            below: c.below.name(),
            above: c.above.name(),
        };
        RouteEntry {
            route: &scenario.route(doubt.route).name,
            works: number(doubt.works),
            fallback: &scenario.route(doubt.fallback).name,
            trial: doubt.trial.map(|(part, tells)| TrialEntry {
                part: &scenario.part(part).name,
                tells: number(tells),
            }),
            policy: choice.name(),
            trial_worth: advice.trial_worth.map(|w| self.money(w)),
            advice_changes: advice.changes.iter().map(change).collect(),
        }
    }

    fn policy(&self, policy: &Policy) -> PolicyEntry<'s> {
        let scenario = self.subject.scenario();
        let routes =
            self.unproven.doubts.list.iter().map(|d| scenario.route(d.route).name.as_str());
        let figures = policy.figures(self.subject.shop);
        PolicyEntry {
            choices: routes.zip(policy.choices.iter().map(|c| c.name())).collect(),
            avoidable: self.money(figures.avoidable),
            days: days(figures.seconds),
            in_time: policy.in_time(self.subject.shop).map(number),
        }
    }
}
