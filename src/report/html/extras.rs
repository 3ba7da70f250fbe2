//! What the page needs beside the answer, and which plans it shows.

use std::collections::BTreeSet;

use super::super::{Subject, Words, letter};
use crate::analysis::{FlipMap, Flips, PlanDetail, PlanResult, is_same_as_another};
use crate::ledger::Ledger;

/// Most plans on the page: each has a look of its own.
const MOST: usize = 6;

/// What the page shows beside the answer.
#[derive(Clone, Copy, Debug)]
pub struct PageExtras<'e> {
    /// The plans of [`page_plans`] in detail, in that order; one that is missing has no strip and no categories.
    pub details: &'e [PlanDetail],
    /// The ledger of the verdict's plan to the planned count with the final, where there is a verdict.
    pub ledger: Option<&'e Ledger>,
    /// What changes the answer, where two plans are feasible.
    pub flips: Option<&'e Flips>,
    /// The map, where one was drawn.
    pub map: Option<&'e FlipMap>,
    /// The findings of loading, one line each.
    pub warnings: &'e [String],
    /// The fingerprint of the scenario's files.
    pub hash: &'e str,
    /// The name of the file that holds the whole ledger.
    pub ledger_file: &'e str,
}

/// The plans a page shows, by index as ranked: the verdict's, those that are the cheapest somewhere, and the next ones in the ranking.
pub fn page_plans(subject: &Subject) -> Vec<usize> {
    let answer = subject.answer;
    let new = |&i: &usize| !is_same_as_another(subject.shop, &answer.plans, i);
    let verdict = answer.verdict.iter().map(|v| v.plan);
    let stops = answer.stops.iter().map(|s| s.cheapest);
    let ranked = (0..answer.plans.len()).filter(new);
    let mut shown = BTreeSet::new();
    for index in verdict.chain(stops).chain(ranked) {
        if shown.len() < MOST {
            shown.insert(index);
        }
    }
    shown.into_iter().collect()
}

/// The page while it is written.
pub(super) struct Page<'a> {
    pub subject: &'a Subject<'a>,
    pub extras: &'a PageExtras<'a>,
    pub words: Words<'a>,
    /// The plans shown, by index as ranked; the place in this list is a plan's look.
    pub shown: Vec<usize>,
}

impl<'a> Page<'a> {
    /// A page about a subject.
    pub fn new(subject: &'a Subject<'a>, extras: &'a PageExtras<'a>) -> Page<'a> {
        Page { subject, extras, words: subject.words(), shown: page_plans(subject) }
    }

    /// The shown plans with their looks.
    pub fn plans(&self) -> impl Iterator<Item = (usize, &'a PlanResult)> + '_ {
        self.shown.iter().map(|&index| self.subject.plan(index)).enumerate()
    }

    /// The letter of a shown plan.
    pub fn letter(&self, look: usize) -> String {
        letter(self.shown[look])
    }

    /// The look of a plan by its index as ranked.
    pub fn look(&self, index: usize) -> Option<usize> {
        self.shown.iter().position(|&i| i == index)
    }

    /// The details of a shown plan.
    pub fn detail(&self, look: usize) -> Option<&'a PlanDetail> {
        self.extras.details.iter().find(|d| d.plan == self.shown[look])
    }

    /// Where the planned count stands in a curve.
    pub fn now(&self) -> usize {
        (self.subject.answer.planned as usize).saturating_sub(1)
    }

    /// What is said where the figures hold no final although there is one.
    pub fn without_final(&self) -> &'static str {
        if self.subject.has_final() { ", final not in" } else { "" }
    }

    /// `6 iterations with the final`.
    pub fn at_planned(&self) -> String {
        let last = if self.subject.has_final() { " with the final" } else { "" };
        format!("{}{last}", super::super::iterations(self.subject.answer.planned))
    }
}
