//! What only the full view says: the ledger of the verdict's plan by category, every plan's name, its curves.

use super::{Section, tables};
use crate::analysis::plan_ledger;
use crate::report::{Subject, letter};

/// Sections that follow the short ones.
pub(super) fn sections(subject: &Subject) -> Vec<Option<Section>> {
    let mut sections = vec![names(subject)];
    let Some(verdict) = &subject.answer.verdict else {
        return sections;
    };
    if let Ok(ledger) = plan_ledger(subject.shop, &subject.plan(verdict.plan).plan.assign) {
        sections.push(tables::by_category(subject, &letter(verdict.plan), &ledger));
    }
    sections.push(tables::curves(subject, verdict.plan));
    sections
}

fn names(subject: &Subject) -> Option<Section> {
    let plans = subject.answer.plans.iter().enumerate();
    let said = plans.map(|(index, p)| format!("{}: {}", letter(index), p.plan.name)).collect();
    Section::sentences("Plans by name", said)
}
