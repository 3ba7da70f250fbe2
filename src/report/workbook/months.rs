//! The sheet of months: a block for each total, months down, categories across, each cell a sum over the ledger.

use std::collections::BTreeMap;

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::Book;
use super::cells::{Looks, computed, dated, headings, said};
use super::ledger::Entries;
use crate::ledger::Category;
use crate::model::Money;
use crate::report::{MonthSum, letter};

/// The totals, each with what it says and its column in the ledger.
const BLOCKS: [(&str, &str, Of); 3] = [
    ("outlay: money that leaves the account", "outlay", |s| s.outlay),
    ("avoidable: what can still be avoided today", "avoidable", |s| s.avoidable),
    ("consumed: what the versions cost", "consumed", |s| s.consumed),
];

type Of = fn(&MonthSum) -> Money;

/// What the rows and columns of every block are.
struct Grid<'a> {
    months: Vec<&'a str>,
    categories: Vec<&'static str>,
    sums: BTreeMap<(&'a str, &'a str), &'a MonthSum>,
}

impl<'a> Grid<'a> {
    fn of(sums: &'a [MonthSum]) -> Grid<'a> {
        let mut months: Vec<&str> = sums.iter().map(|s| s.month.as_str()).collect();
        // They come in the order of time.
        months.dedup();
        let names = Category::ALL.into_iter().map(Category::name);
        let categories = names.filter(|name| sums.iter().any(|s| s.category == *name)).collect();
        let by = |s: &'a MonthSum| ((s.month.as_str(), s.category.as_str()), s);
        Grid { months, categories, sums: sums.iter().map(by).collect() }
    }

    fn at(&self, month: &str, category: &str, of: Of) -> Money {
        self.sums.get(&(month, category)).map_or(Money::ZERO, |s| of(s))
    }
}

pub(super) fn fill(
    sheet: &mut Worksheet,
    book: &Book,
    looks: &Looks,
    entries: &Entries,
) -> Result<(), XlsxError> {
    let grid = Grid::of(book.months);
    let wide = u16::try_from(grid.categories.len()).unwrap_or(u16::MAX - 1) + 1;
    sheet.set_column_range_width(1, wide, 13.0)?.set_landscape().set_print_fit_to_pages(1, 0);
    let mut row = 0;
    for block in BLOCKS {
        row = one(sheet, row, (book, &grid, block), (looks, entries))? + 2;
    }
    Ok(())
}

/// Writes a block from a row on, and says in which row its sums stand.
fn one(
    sheet: &mut Worksheet,
    top: u32,
    (book, grid, (title, column, of)): (&Book, &Grid, (&str, &str, Of)),
    (looks, entries): (&Looks, &Entries),
) -> Result<u32, XlsxError> {
    let (head, first) = (top + 1, top + 2);
    said(sheet, (top, 0), &format!("{title}, {}", book.budget.currency), &looks.strong)?;
    let names = ["month"].into_iter().chain(grid.categories.iter().copied()).chain(["total"]);
    headings(sheet, head, names, (1, 1), looks)?;
    let mut row = first;
    for month in &grid.months {
        dated(sheet, (row, 0), month, &looks.month)?;
        let mut sum = Money::ZERO;
        for (at, category) in (1u16..).zip(&grid.categories) {
            let value = grid.at(month, category, of);
            sum += value;
            let how = picked(entries, column, (row, head, at));
            computed(sheet, (row, at), (how, value), (&looks.money, looks))?;
        }
        let last = letter(grid.categories.len());
        let how = format!("SUM(B{0}:{last}{0})", row + 1);
        let at = (row, end(grid));
        computed(sheet, at, (Some(how), sum), (&looks.money, looks))?;
        row += 1;
    }
    if row > first {
        sums(sheet, row, (grid, of, first), looks)?;
    }
    Ok(row)
}

/// The column after the categories.
fn end(grid: &Grid) -> u16 {
    u16::try_from(grid.categories.len() + 1).unwrap_or(u16::MAX)
}

/// The entries of the month and category that the headings of a cell name.
fn picked(entries: &Entries, column: &str, (row, head, at): (u32, u32, u16)) -> Option<String> {
    let (amounts, months, categories) =
        (entries.column(column)?, entries.column("month")?, entries.column("category")?);
    let (month, category) =
        (format!("$A{}", row + 1), format!("{}${}", letter(at.into()), head + 1));
    Some(format!("SUMIFS({amounts},{months},{month},{categories},{category})"))
}

/// The row of sums under a block.
fn sums(
    sheet: &mut Worksheet,
    row: u32,
    (grid, of, first): (&Grid, Of, u32),
    looks: &Looks,
) -> Result<(), XlsxError> {
    said(sheet, (row, 0), "total", &looks.strong)?;
    let by_category = grid.categories.iter().map(|category| -> Money {
        grid.months.iter().map(|month| grid.at(month, category, of)).sum()
    });
    let by_category: Vec<Money> = by_category.collect();
    let all: Money = by_category.iter().copied().sum();
    for (at, value) in (1u16..).zip(by_category.into_iter().chain([all])) {
        let how = format!("SUM({0}{1}:{0}{2})", letter(at.into()), first + 1, row);
        computed(sheet, (row, at), (Some(how), value), (&looks.sum, looks))?;
    }
    Ok(())
}
