//! Budget files: CSV by RFC 4180, safe to open in a spreadsheet.

use ::csv::{Terminator, Writer, WriterBuilder};

use super::{Budget, BudgetRow, MonthSum};

/// Columns of the ledger file.
pub const LEDGER_COLUMNS: [&str; 21] = [
    "entry",
    "date",
    "month",
    "iteration",
    "plan",
    "part",
    "route",
    "category",
    "item",
    "quantity",
    "unit",
    "unit_price",
    "amount",
    "outlay",
    "consumed",
    "avoidable",
    "currency",
    "kind",
    "status",
    "assumed",
    "source",
];

/// Columns of the month summary.
pub const MONTH_COLUMNS: [&str; 6] =
    ["month", "category", "outlay", "consumed", "avoidable", "currency"];

/// The ledger as CSV with one header line.
///
/// # Errors
/// Only if the text cannot be written to memory.
pub fn ledger_csv(budget: &Budget) -> Result<Vec<u8>, ::csv::Error> {
    let mut writer = writer();
    writer.write_record(LEDGER_COLUMNS)?;
    for row in &budget.rows {
        writer.write_record(cells(budget, row))?;
    }
    finished(writer)
}

fn cells(budget: &Budget, row: &BudgetRow) -> [String; 21] {
    let money = |amount: crate::model::Money| amount.text(budget.minor);
    [
        row.entry.to_string(),
        row.date.clone(),
        row.month.clone(),
        row.iteration.to_string(),
        neutral(row.plan),
        neutral(row.part),
        neutral(row.route),
        row.category.to_owned(),
        neutral(row.item),
        row.quantity.clone(),
        row.unit.to_owned(),
        row.unit_price.clone(),
        money(row.amount),
        money(row.outlay),
        money(row.consumed),
        money(row.avoidable),
        budget.currency.to_owned(),
        row.kind.to_owned(),
        row.status.to_owned(),
        if row.assumed { "yes" } else { "no" }.to_owned(),
        neutral(row.source),
    ]
}

/// The month summary as CSV with one header line.
///
/// # Errors
/// Only if the text cannot be written to memory.
pub fn months_csv(budget: &Budget, sums: &[MonthSum]) -> Result<Vec<u8>, ::csv::Error> {
    let mut writer = writer();
    writer.write_record(MONTH_COLUMNS)?;
    for sum in sums {
        let money = [sum.outlay, sum.consumed, sum.avoidable].map(|m| m.text(budget.minor));
        let [outlay, consumed, avoidable] = money;
        writer.write_record([
            sum.month.as_str(),
            &sum.category,
            &outlay,
            &consumed,
            &avoidable,
            budget.currency,
        ])?;
    }
    finished(writer)
}

/// Lines end as RFC 4180 has it.
pub(super) fn writer() -> Writer<Vec<u8>> {
    WriterBuilder::new().terminator(Terminator::CRLF).from_writer(Vec::new())
}

pub(super) fn finished(writer: Writer<Vec<u8>>) -> Result<Vec<u8>, ::csv::Error> {
    writer.into_inner().map_err(|error| error.into_error().into())
}

/// Text that a spreadsheet would run as a formula gets an apostrophe in front.
pub fn neutral(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::months;
    use crate::report::months::tests::{row, small};

    fn text(bytes: Result<Vec<u8>, ::csv::Error>) -> String {
        String::from_utf8(bytes.expect("written to memory")).expect("UTF-8")
    }

    #[test]
    fn text_that_would_run_is_neutral() {
        for (from, to) in [
            ("=1+1", "'=1+1"),
            ("+1", "'+1"),
            ("-1", "'-1"),
            ("@x", "'@x"),
            ("\tx", "'\tx"),
            ("\rx", "'\rx"),
            ("a=1", "a=1"),
            ("", ""),
        ] {
            assert_eq!(neutral(from), to);
        }
    }

    #[test]
    fn cells_are_quoted_where_needed_and_amounts_stay_numbers() {
        let mut budget = small();
        budget.rows = vec![BudgetRow { plan: "=x; \"y\"", ..row("2026-03", "resin", -1205) }];
        let file = text(ledger_csv(&budget));
        let line = file.lines().nth(1).expect("one row");
        assert_eq!(
            line,
            "1,2026-03-01,2026-03,1,\"'=x; \"\"y\"\"\",collar,bench,resin,\"resin, grey\",1,mL,0.1,\
             -12.05,-12.05,0.00,-12.05,USD,pay,forecast,no,materials.csv:2"
        );
        assert!(file.ends_with("\r\n"));
    }

    #[test]
    fn the_month_file_has_one_line_a_group() {
        let budget = small();
        let file = text(months_csv(&budget, &months(&budget).expect("fits")));
        assert_eq!(file.lines().count(), 5);
        assert_eq!(file.lines().nth(1), Some("2026-03,resin,0.30,0.00,0.30,USD"));
    }
}
