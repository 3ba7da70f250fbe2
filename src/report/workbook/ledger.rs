//! The sheet of entries: one row each, under their sums and headings, which stay in view. It has the columns of the CSV file.

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::cells::{At, Looks, amount, computed, dated, figure, said, text};
use super::{Book, SHEETS};
use crate::model::Money;
use crate::report::{Budget, BudgetRow, LEDGER_COLUMNS, letter};

/// The row of headings; the sums stand above it.
const HEAD: u32 = 1;
/// The row of the first entry.
const FIRST: u32 = HEAD + 1;
/// Rows of a sheet.
const ROWS: usize = 1_048_576;
/// Columns that are summed.
const SUMMED: [&str; 4] = ["amount", "outlay", "consumed", "avoidable"];
/// Columns of figures.
const FIGURES: [&str; 8] =
    ["entry", "iteration", "quantity", "unit_price", "amount", "outlay", "consumed", "avoidable"];
/// Widths of columns that hold names.
const NAMES: f64 = 24.0;

/// Where the entries stand, for formulas of this and other sheets.
pub(super) struct Entries {
    /// The last row as a sheet counts, from 1; `None` where no entry is in the sheet.
    last: Option<usize>,
}

impl Entries {
    /// The entries of a budget; where there are none, or more than a sheet has rows, formulas have nothing to sum.
    pub(super) fn of(budget: &Budget) -> Entries {
        let last = budget.rows.len() + FIRST as usize;
        Entries { last: (!budget.rows.is_empty() && last <= ROWS).then_some(last) }
    }

    /// The cells of a column, as a formula names them from any sheet.
    pub(super) fn column(&self, name: &str) -> Option<String> {
        let at = LEDGER_COLUMNS.iter().position(|c| *c == name)?;
        let (column, first, last) = (letter(at), FIRST + 1, self.last?);
        Some(format!("{}!${column}${first}:${column}${last}", SHEETS[3]))
    }

    /// The sum of a column.
    pub(super) fn sum(&self, name: &str) -> Option<String> {
        Some(format!("SUM({})", self.column(name)?))
    }
}

/// An amount of an entry.
pub(super) type Of = fn(&BudgetRow) -> Money;

/// A sum over rows of a budget.
pub(super) fn total(budget: &Budget, of: Of) -> Money {
    budget.rows.iter().map(of).sum()
}

pub(super) fn fill(
    sheet: &mut Worksheet,
    book: &Book,
    looks: &Looks,
    entries: &Entries,
) -> Result<(), XlsxError> {
    let budget = book.budget;
    sums(sheet, budget, looks, entries)?;
    for name in LEDGER_COLUMNS {
        let figures = FIGURES.contains(&name);
        said(sheet, (HEAD, place(name)), name, if figures { &looks.over } else { &looks.head })?;
    }
    widths(sheet)?;
    sheet.set_freeze_panes(FIRST, 0)?.set_landscape().set_repeat_rows(HEAD, HEAD)?;
    sheet.set_print_fit_to_pages(1, 0);
    let Some(last) = entries.last else {
        let many = budget.rows.len();
        let told = format!("{many} entries: not in this sheet, they stand in ledger.csv");
        return text(sheet, (FIRST, 0), if many == 0 { "no entries" } else { &told });
    };
    for (row, entry) in (FIRST..).zip(&budget.rows) {
        one(sheet, row, (budget, entry), looks)?;
    }
    let columns = u16::try_from(LEDGER_COLUMNS.len()).unwrap_or(u16::MAX);
    let last = u32::try_from(last).unwrap_or(u32::MAX);
    sheet.autofilter(HEAD, 0, last - 1, columns - 1).map(drop)
}

/// Sums of what is shown: they follow the filter.
fn sums(
    sheet: &mut Worksheet,
    budget: &Budget,
    looks: &Looks,
    entries: &Entries,
) -> Result<(), XlsxError> {
    said(sheet, (0, 0), "sums of the entries shown", &looks.strong)?;
    let of: [Of; 4] = [|r| r.amount, |r| r.outlay, |r| r.consumed, |r| r.avoidable];
    for (name, of) in SUMMED.into_iter().zip(of) {
        let how = entries.column(name).map(|cells| format!("SUBTOTAL(109,{cells})"));
        computed(sheet, (0, place(name)), (how, total(budget, of)), (&looks.sum, looks))?;
    }
    Ok(())
}

/// A column's place.
fn place(name: &str) -> u16 {
    let at = LEDGER_COLUMNS.iter().position(|c| *c == name).unwrap_or(0);
    u16::try_from(at).unwrap_or(0)
}

fn widths(sheet: &mut Worksheet) -> Result<(), XlsxError> {
    for name in LEDGER_COLUMNS {
        let width = match name {
            "plan" | "part" | "route" | "item" | "source" => NAMES,
            "date" | "category" | "unit_price" | "currency" => 11.0,
            "amount" | "outlay" | "consumed" | "avoidable" => 13.0,
            _ => 9.0,
        };
        sheet.set_column_width(place(name), width)?;
    }
    Ok(())
}

fn one(
    sheet: &mut Worksheet,
    row: u32,
    (budget, entry): (&Budget, &BudgetRow),
    looks: &Looks,
) -> Result<(), XlsxError> {
    for name in LEDGER_COLUMNS {
        cell(sheet, (row, place(name)), name, (budget, entry), looks)?;
    }
    Ok(())
}

fn cell(
    sheet: &mut Worksheet,
    at: At,
    name: &str,
    (budget, entry): (&Budget, &BudgetRow),
    looks: &Looks,
) -> Result<(), XlsxError> {
    match name {
        "entry" => sheet.write_number(at.0, at.1, entry.entry as f64).map(drop),
        "iteration" => sheet.write_number(at.0, at.1, entry.iteration).map(drop),
        "date" => dated(sheet, at, &entry.date, &looks.date),
        "month" => dated(sheet, at, &entry.month, &looks.month),
        "quantity" => plain(sheet, at, &entry.quantity),
        "unit_price" => match entry.unit_price.parse() {
            Ok(value) => figure(sheet, at, value, &looks.price),
            Err(_) => text(sheet, at, &entry.unit_price),
        },
        "amount" => amount(sheet, at, entry.amount, &looks.money),
        "outlay" => amount(sheet, at, entry.outlay, &looks.money),
        "consumed" => amount(sheet, at, entry.consumed, &looks.money),
        "avoidable" => amount(sheet, at, entry.avoidable, &looks.money),
        "plan" => text(sheet, at, entry.plan),
        "part" => text(sheet, at, entry.part),
        "route" => text(sheet, at, entry.route),
        "category" => text(sheet, at, entry.category),
        "item" => text(sheet, at, entry.item),
        "unit" => text(sheet, at, entry.unit),
        "currency" => text(sheet, at, budget.currency),
        "kind" => text(sheet, at, entry.kind),
        "status" => text(sheet, at, entry.status),
        "assumed" => text(sheet, at, if entry.assumed { "yes" } else { "no" }),
        _ => text(sheet, at, entry.source),
    }
}

/// A number in its shortest form.
fn plain(sheet: &mut Worksheet, at: At, number: &str) -> Result<(), XlsxError> {
    match number.parse::<f64>() {
        Ok(value) => sheet.write_number(at.0, at.1, value).map(drop),
        Err(_) => text(sheet, at, number),
    }
}
