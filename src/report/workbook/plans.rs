//! The sheet of plans: what each costs and takes at the planned count, and under them the sums of the ledger, which must be the same.

use rust_xlsxwriter::{Format, Worksheet, XlsxError};

use super::Book;
use super::cells::{Looks, amount, computed, dated, figure, headings, said, text};
use super::ledger::{Entries, Of, total};
use crate::analysis::{PlanResult, SampledPlan};
use crate::model::DAY;
use crate::plan::Plan;
use crate::report::{Subject, letter};

/// A column: its heading, its width.
type Column = (&'static str, f64);

/// Columns ahead of those of the parts.
const COLUMNS: [Column; 16] = [
    ("plan", 8.0),
    ("name", 40.0),
    ("avoidable", 13.0),
    ("outlay", 13.0),
    ("consumed", 13.0),
    ("attended, h", 11.0),
    ("days", 9.0),
    ("in hand", 12.0),
    ("chance of a failure", 11.0),
    ("days one adds", 9.0),
    ("chance of being the cheapest", 12.0),
    ("in time", 9.0),
    ("in budget", 9.0),
    ("avoidable, a tenth below", 13.0),
    ("avoidable, a tenth above", 13.0),
    ("what stands against it", 24.0),
];

/// The totals with their columns: place, name in the ledger, what of an entry.
const TOTALS: [(u16, &str, Of); 3] = [
    (2, "avoidable", |r| r.avoidable),
    (3, "outlay", |r| r.outlay),
    (4, "consumed", |r| r.consumed),
];

/// The first column of the parts.
const PARTS: u16 = 16;

pub(super) fn fill(
    sheet: &mut Worksheet,
    book: &Book,
    looks: &Looks,
    entries: &Entries,
) -> Result<(), XlsxError> {
    let (subject, answer) = (book.subject, book.subject.answer);
    let parts = subject.scenario().parts.iter().map(|p| p.name.as_str());
    headings(sheet, 0, COLUMNS.iter().map(|c| c.0), (2, 3), looks)?;
    for (at, part) in (PARTS - 1..).zip([COLUMNS[15].0].into_iter().chain(parts)) {
        said(sheet, (0, at), part, &looks.head)?;
        sheet.set_column_width(at, 24)?;
    }
    for (at, (_, width)) in (0u16..).zip(COLUMNS) {
        sheet.set_column_width(at, width)?;
    }
    sheet.set_freeze_panes(1, 2)?.set_landscape().set_print_fit_to_pages(1, 0);
    let mut row = 1;
    for (index, plan) in answer.plans.iter().enumerate() {
        let sampled = answer.sampled.as_ref().and_then(|s| s.plans.get(index));
        said(sheet, (row, 0), &named(book, index), &looks.strong)?;
        feasible(sheet, row, (subject, plan), looks)?;
        if let Some(sampled) = sampled {
            drawn(sheet, row, sampled, looks)?;
        }
        row += 1;
    }
    for (plan, reason) in &answer.infeasible {
        assigned(sheet, row, (subject, plan))?;
        text(sheet, (row, PARTS - 1), &format!("not feasible: {reason}"))?;
        row += 1;
    }
    checks(sheet, row + 1, book, (looks, entries))
}

/// A plan's letter; the one of the verdict is marked.
fn named(book: &Book, index: usize) -> String {
    let verdict = book.subject.answer.verdict.as_ref().map(|v| v.plan);
    format!("{}{}", if verdict == Some(index) { "> " } else { "" }, letter(index))
}

/// A plan's name and routes.
fn assigned(
    sheet: &mut Worksheet,
    row: u32,
    (subject, plan): (&Subject, &Plan),
) -> Result<(), XlsxError> {
    text(sheet, (row, 1), &plan.name)?;
    let routes = subject.routes_of(plan);
    (PARTS..).zip(routes).try_for_each(|(at, route)| text(sheet, (row, at), route))
}

/// The figures that decide.
fn feasible(
    sheet: &mut Worksheet,
    row: u32,
    (subject, plan): (&Subject, &PlanResult),
    looks: &Looks,
) -> Result<(), XlsxError> {
    assigned(sheet, row, (subject, &plan.plan))?;
    let decides = plan.decides;
    let amounts = [decides.avoidable, decides.outlay, decides.consumed];
    for (at, value) in (2u16..).zip(amounts) {
        amount(sheet, (row, at), value, &looks.money)?;
    }
    figure(sheet, (row, 5), decides.attended.to_f64_lossy(), &looks.tenth)?;
    figure(sheet, (row, 6), decides.seconds as f64 / DAY as f64, &looks.tenth)?;
    let in_hand = subject.words().plain_date(subject.shop.start + decides.seconds);
    dated(sheet, (row, 7), &in_hand, &looks.date)?;
    figure(sheet, (row, 8), plan.failure.chance, &looks.share)?;
    if plan.failure.chance > 0.0 {
        figure(sheet, (row, 9), plan.failure.days, &looks.tenth)?;
    }
    let notes = [
        plan.unproven
            .as_ref()
            .map(|_| "rests on an unproven route: figures are expected ones".to_owned()),
        subject.extras_of(&plan.plan),
        plan.ended
            .as_ref()
            .map(|(n, why)| format!("not followed beyond iteration {}: {why}", n - 1)),
    ];
    let notes: Vec<String> = notes.into_iter().flatten().collect();
    if notes.is_empty() { Ok(()) } else { text(sheet, (row, PARTS - 1), &notes.join("; ")) }
}

/// What the samples say.
fn drawn(
    sheet: &mut Worksheet,
    row: u32,
    plan: &SampledPlan,
    looks: &Looks,
) -> Result<(), XlsxError> {
    let cells: [(u16, Option<f64>, &Format); 5] = [
        (10, Some(plan.cheapest.value), &looks.share),
        (11, plan.due.map(|d| d.value), &looks.share),
        (12, plan.budget.map(|b| b.value), &looks.share),
        (13, Some(plan.avoidable.p10), &looks.money),
        (14, Some(plan.avoidable.p90), &looks.money),
    ];
    for (at, value, look) in cells {
        figure(sheet, (row, at), value.unwrap_or(f64::NAN), look)?;
    }
    Ok(())
}

/// The sums of the ledger and, where they must be the plan's figures, what is left between them: nothing.
fn checks(
    sheet: &mut Worksheet,
    row: u32,
    book: &Book,
    (looks, entries): (&Looks, &Entries),
) -> Result<(), XlsxError> {
    let plan = book.subject.plan(book.plan);
    let working = if plan.unproven.is_some() { ", its unproven routes working" } else { "" };
    let name = letter(book.plan);
    said(sheet, (row, 1), &format!("sums of the ledger of {name}{working}"), &looks.strong)?;
    for (at, column, of) in TOTALS {
        let value = (entries.sum(column), total(book.budget, of));
        computed(sheet, (row, at), value, (&looks.sum, looks))?;
    }
    if plan.unproven.is_some() {
        return Ok(());
    }
    said(sheet, (row + 1, 1), &format!("less the figures of {name} above"), &looks.strong)?;
    let figures = [plan.decides.avoidable, plan.decides.outlay, plan.decides.consumed];
    for ((at, _, of), figure) in TOTALS.into_iter().zip(figures) {
        let column = letter(at.into());
        let how = format!("{column}{}-{column}{}", row + 1, book.plan + 2);
        let left = total(book.budget, of) - figure;
        computed(sheet, (row + 1, at), (Some(how), left), (&looks.money, looks))?;
    }
    Ok(())
}
