//! Rows of a sheet: their keys, the days they hold on, their currency.

use super::context::Load;
use super::currency::currency_id;
use super::one::One;
use super::price_sheet::PriceSheet;
use super::table::Table;
use crate::diag::{Code, Diagnostic, Place};
use crate::input::{Cell, Row};
use crate::model::resolve::limits;
use crate::model::{CurrencyId, Day, Validity};

/// The rows of a sheet in the order of what they are found by, so that the order in the file never matters. Rows without a text in the
/// first of these columns are logged and left out.
pub fn keyed<'a>(load: &mut Load, sheet: &'a PriceSheet) -> Vec<(Vec<&'a str>, &'a Row)> {
    let columns = sheet.spec.found_by;
    let mut rows: Vec<(Vec<&str>, &Row)> = Vec::with_capacity(sheet.rows().len());
    for row in sheet.rows().iter().take(limits::ROWS) {
        let key: Vec<&str> = columns.iter().map(|column| sheet.text(row, column)).collect();
        if let Some(cell) = columns.iter().filter_map(|c| sheet.cell(row, c)).find(|c| too_long(c))
        {
            let message = format!("name is longer than {} characters", limits::NAME);
            load.error(Code::TooLong, &cell.place, message, "shorten it");
        }
        if key.first().is_some_and(|k| k.is_empty()) {
            // Without the column there is one error for the sheet already.
            if sheet.has_column(columns[0]) {
                let message = format!("row without `{}`", columns[0]);
                load.error(Code::MissingKey, &row.place, message, "fill it in or delete the row");
            }
            continue;
        }
        rows.push((key, row));
    }
    let start_of = |row| sheet.text(row, "valid_from");
    rows.sort_by(|a, b| a.0.cmp(&b.0).then_with(|| start_of(a.1).cmp(start_of(b.1))));
    rows
}

fn too_long(cell: &Cell) -> bool {
    cell.text.chars().count() > limits::NAME
}

/// Logs every row whose key was there before: such a sheet allows one row for each key.
pub fn one_row_each(load: &mut Load, rows: &mut Vec<(Vec<&str>, &Row)>, what: &str) {
    for pair in rows.windows(2).filter(|pair| pair[0].0 == pair[1].0) {
        let message = format!("two rows for {what} `{}`", pair[1].0.join(", "));
        let finding = Diagnostic::error(Code::DuplicateRow, &pair[1].1.place, message);
        load.log.push(finding.see(&pair[0].1.place, "the other").hint("keep one of them"));
    }
    rows.dedup_by(|later, earlier| later.0 == earlier.0);
}

/// Logs rows with one key that hold on the same day. Rows come by key, then by their first valid day.
pub fn no_overlap<K: PartialEq>(load: &mut Load, rows: &[(K, Validity, &Place)], what: &str) {
    let end = |valid: &Validity| valid.to.unwrap_or(Day::MAX);
    let mut longest = 0;
    for (index, (key, valid, place)) in rows.iter().enumerate() {
        let (other_key, other, first) = &rows[longest];
        let same = index > 0 && other_key == key;
        if same && overlap(valid, other) {
            let dated = [valid, other].iter().any(|v| v.from.is_some() || v.to.is_some());
            let (code, message) = if dated {
                (
                    Code::OverlappingValidity,
                    format!("two rows for the same {what} hold on the same day"),
                )
            } else {
                (Code::DuplicateRow, format!("two rows for the same {what}"))
            };
            let hint =
                "keep one of them, or give them `valid_from` and `valid_to` that do not overlap";
            load.log
                .push(Diagnostic::error(code, place, message).see(first, "the other").hint(hint));
        }
        // Of the rows before, the one that ends last is the one a later row may meet.
        if !same || end(valid) > end(other) {
            longest = index;
        }
    }
}

fn overlap(a: &Validity, b: &Validity) -> bool {
    let starts_by = |from: Option<i64>, to: Option<i64>| match (from, to) {
        (Some(from), Some(to)) => from <= to,
        _ => true,
    };
    starts_by(a.from, b.to) && starts_by(b.from, a.to)
}

/// The currency a row or route states.
pub fn stated_currency(load: &mut Load, table: &mut Table) -> Option<CurrencyId> {
    let one: One = table.one("currency")?;
    let code = one.name(load)?;
    Some(currency_id(&mut load.currencies, &mut load.log, code, one.place))
}

/// From when and until when a row is valid.
pub fn validity(load: &mut Load, table: &mut Table) -> Validity {
    let from = table.one("valid_from").and_then(|one| one.day(load));
    let to = table.one("valid_to").and_then(|one| one.day(load));
    if from.zip(to).is_some_and(|(from, to)| from > to) {
        let place = table.place_of("valid_to");
        load.error(
            Code::BackwardsDates,
            place,
            "`valid_to` is before `valid_from`",
            "swap them or correct one",
        );
    }
    Validity { from, to }
}
