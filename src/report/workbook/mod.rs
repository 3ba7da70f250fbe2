//! The report as an Excel workbook: verdict, plans, curves with charts, the ledger of the verdict's plan, its months.
//!
//! Enters: a [`Book`]. Leaves: the file's bytes, the same for the same book. Every total is a formula over the cells it sums, with its
//! result beside it, so that a reader sees that they sum and a program need not compute. Text is written as text, whatever it begins with.

mod cells;
mod curves;
mod ledger;
mod months;
mod plans;
mod said;

use rust_xlsxwriter::{DocProperties, ExcelDateTime, Workbook, XlsxError};

use super::{Budget, MonthSum, Subject, View};
use cells::Looks;
use ledger::Entries;

/// What goes into a workbook.
#[derive(Clone, Copy, Debug)]
pub struct Book<'a, 's> {
    /// The scenario and its answer.
    pub subject: &'a Subject<'s>,
    /// What is said of it.
    pub view: &'a View,
    /// The plan whose ledger it is, by its index in the ranking.
    pub plan: usize,
    /// The ledger.
    pub budget: &'a Budget<'s>,
    /// Its sums by month and category.
    pub months: &'a [MonthSum],
}

/// The names of the sheets in their order.
pub const SHEETS: [&str; 5] = ["verdict", "plans", "curves", "ledger", "months"];

/// Most characters of the title among the file's properties, of two units each at worst.
const TITLE: usize = 127;

/// The workbook as bytes of an `.xlsx` file.
///
/// # Errors
/// Where the writer refuses a cell, which it does for none that is written here.
pub fn workbook(book: &Book) -> Result<Vec<u8>, XlsxError> {
    let mut file = Workbook::new();
    // No clock is asked: the same book is the same file.
    let made = ExcelDateTime::from_ymd(2000, 1, 1)?;
    let title =
        cells::text_of(&book.subject.scenario().title).chars().take(TITLE).collect::<String>();
    file.set_properties(&DocProperties::new().set_title(title).set_creation_datetime(&made));
    let looks = Looks::new(book.budget.minor);
    let entries = Entries::of(book.budget);
    let fill = [said::fill, plans::fill, curves::fill, ledger::fill, months::fill];
    for (name, fill) in SHEETS.into_iter().zip(fill) {
        fill(file.add_worksheet().set_name(name)?, book, &looks, &entries)?;
    }
    file.save_to_buffer()
}
