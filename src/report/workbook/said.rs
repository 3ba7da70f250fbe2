//! The first sheet: the verdict, the totals of its plan as sums of the ledger, and all else that is said in sentences.

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::Book;
use super::cells::{Looks, computed, said, tall};
use super::ledger::{Entries, Of, total};
use crate::report::{Body, letter};

/// The totals, each with its column in the ledger.
const TOTALS: [(&str, Of); 3] =
    [("avoidable", |r| r.avoidable), ("outlay", |r| r.outlay), ("consumed", |r| r.consumed)];
/// Characters in a line of the column of sentences.
const WIDE: u32 = 100;

pub(super) fn fill(
    sheet: &mut Worksheet,
    book: &Book,
    looks: &Looks,
    entries: &Entries,
) -> Result<(), XlsxError> {
    sheet.set_column_width(0, 26)?.set_column_width(1, WIDE)?;
    sheet.set_print_fit_to_pages(1, 0);
    said(sheet, (0, 0), &book.view.title, &looks.strong)?;
    let mut row = 2;
    let mut sections = book.view.sections.iter();
    // The verdict comes first, its totals next.
    if let Some(verdict) = sections.next() {
        row = sentences(sheet, row, ("Verdict", &verdict.body), looks)?;
    }
    row = totals(sheet, row, book, (looks, entries))?;
    for section in sections {
        row = sentences(sheet, row, (&section.heading, &section.body), looks)?;
    }
    Ok(())
}

/// Writes sentences from a row on, a row each, and says where the next ones go. Tables have sheets of their own.
fn sentences(
    sheet: &mut Worksheet,
    mut row: u32,
    (heading, body): (&str, &Body),
    looks: &Looks,
) -> Result<u32, XlsxError> {
    let Body::Sentences(list) = body else {
        return Ok(row);
    };
    said(sheet, (row, 0), heading, &looks.strong)?;
    for sentence in list {
        said(sheet, (row, 1), sentence, &looks.wrapped)?;
        let long = u32::try_from(sentence.chars().count()).unwrap_or(u32::MAX);
        tall(sheet, row, long.div_ceil(WIDE))?;
        row += 1;
    }
    Ok(row + 1)
}

/// The three totals of the plan, computed from the ledger.
fn totals(
    sheet: &mut Worksheet,
    mut row: u32,
    book: &Book,
    (looks, entries): (&Looks, &Entries),
) -> Result<u32, XlsxError> {
    let working = book.subject.plan(book.plan).unproven.is_some();
    let how = if working { ", its unproven routes working" } else { "" };
    let heading = format!("Sums of the ledger of {}{how}", letter(book.plan));
    said(sheet, (row, 0), &heading, &looks.strong)?;
    row += 1;
    for (name, of) in TOTALS {
        said(sheet, (row, 0), &format!("{name}, {}", book.budget.currency), &looks.strong)?;
        let value = (entries.sum(name), total(book.budget, of));
        computed(sheet, (row, 1), value, (&looks.left, looks))?;
        row += 1;
    }
    Ok(row + 1)
}
