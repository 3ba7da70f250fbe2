//! What only the full view says: the ledger of the verdict's plan by category, every plan's name, its curves.

use super::{Section, tables};
use crate::analysis::ledger_of;
use crate::report::{Subject, letter};

/// Sections that follow the short ones.
pub(super) fn sections(subject: &Subject) -> Vec<Option<Section>> {
    let mut sections = vec![names(subject), words()];
    let Some(verdict) = &subject.answer.verdict else {
        return sections;
    };
    if let Ok(ledger) = ledger_of(subject.shop, &subject.plan(verdict.plan).plan) {
        let working = subject.plan(verdict.plan).unproven.is_some();
        let name =
            format!("{}{}", letter(verdict.plan), if working { ", if it works," } else { "" });
        sections.push(tables::by_category(subject, &name, &ledger));
    }
    sections.push(tables::curves(subject, verdict.plan));
    sections
}

fn names(subject: &Subject) -> Option<Section> {
    let plans = subject.answer.plans.iter().enumerate();
    let said = plans.map(|(index, p)| format!("{}: {}", letter(index), p.plan.name)).collect();
    Section::sentences("Plans by name", said)
}

/// What the column headings mean.
fn words() -> Option<Section> {
    let meanings = [
        "avoidable: what can still be avoided today: outlay, own hours at their rate, waiting, and value taken from stock",
        "outlay: money that leaves the account",
        "consumed: what the versions cost: material used, wear, own hours, invoices, electricity, disposal",
        "attended: own hours, failed attempts expected in them",
        "days: from the first release to the last piece in hand, without failures",
        "risk: chance of at least one failure in an iteration; adds: days that one adds",
        "? the plan rests on an unproven route: cost, outlay and hours are expected ones, days those kept with a chance of `sure`; curves and break-evens are those of the route working",
        "* marks the cheapest plan at that count, > the plan of the verdict",
    ];
    Section::sentences("Words", meanings.map(str::to_owned).to_vec())
}
