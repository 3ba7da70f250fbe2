//! The ledger as a table of the polars engine: grouped and summed there, with decimal columns throughout, and written as Parquet.
//!
//! Enters: a [`Budget`]. Leaves: its month summary, its Parquet file. With `frame_sweep` the only file that knows the engine.

use polars::prelude::{
    Column, CompatLevel, DataFrame, DataType, Int128Chunked, IntoColumn, NewChunkedArray,
    PolarsError, PolarsResult, SchemaExt,
};
use polars_parquet::write::{
    CompressionOptions, FileWriter, StatisticsOptions, Version, WriteOptions, get_dtype_encoding,
    row_group_iter,
};

use super::{Budget, BudgetRow, LEDGER_COLUMNS, MonthSum, PRICE_DECIMALS, QUANTITY_DECIMALS};
use crate::model::Money;

/// Digits a column of amounts may hold: the most a 128-bit decimal offers.
pub(super) const PRECISION: usize = 38;

/// Text in the layout that older readers know too.
pub(super) const KNOWN: CompatLevel = CompatLevel::oldest();

/// The columns the summary needs, as a table.
fn table(budget: &Budget) -> PolarsResult<DataFrame> {
    let months: Vec<&str> = budget.rows.iter().map(|r| r.month.as_str()).collect();
    let categories: Vec<&str> = budget.rows.iter().map(|r| r.category).collect();
    let money = |name: &str, of: fn(&BudgetRow) -> Money| {
        let values: Vec<i128> =
            budget.rows.iter().map(|r| of(r).minor_units(budget.minor)).collect();
        decimals(name, &values, budget.minor)
    };
    DataFrame::new_infer_height(vec![
        Column::new("month".into(), months),
        Column::new("category".into(), categories),
        money("outlay", |r| r.outlay)?,
        money("consumed", |r| r.consumed)?,
        money("avoidable", |r| r.avoidable)?,
    ])
}

/// Sums by month and category, groups in the order in which they first occur.
pub(super) fn months(budget: &Budget) -> PolarsResult<Vec<MonthSum>> {
    let frame = table(budget)?;
    let groups = frame.group_by_stable(["month", "category"])?;
    // It names the results `NAME_sum`.
    #[expect(deprecated, reason = "the only aggregation left on groups of an eager table")]
    let sums = groups.select(["outlay", "consumed", "avoidable"]).sum()?;
    let (outlay, consumed, avoidable) = (
        amounts(&sums, "outlay_sum")?,
        amounts(&sums, "consumed_sum")?,
        amounts(&sums, "avoidable_sum")?,
    );
    let (month, category) = (sums.column("month")?.str()?, sums.column("category")?.str()?);
    // No row is without a month or category, so no group is.
    let texts = month
        .iter()
        .map(Option::unwrap_or_default)
        .zip(category.iter().map(Option::unwrap_or_default));
    let money = outlay.into_iter().zip(consumed).zip(avoidable);
    let sums =
        texts.zip(money).map(|((month, category), ((outlay, consumed), avoidable))| MonthSum {
            month: month.to_owned(),
            category: category.to_owned(),
            outlay,
            consumed,
            avoidable,
        });
    Ok(sums.collect())
}

/// The whole ledger as a Parquet file with the columns of the CSV file: amounts as decimals of the currency's digits, quantities and prices as
/// decimals of a fixed scale, the rest as whole numbers, truth values and text. The pages are packed by Snappy, which every reader knows.
pub(super) fn parquet(budget: &Budget) -> PolarsResult<Vec<u8>> {
    let mut frame = ledger(budget)?;
    frame.rechunk_mut();
    let schema = frame.schema().to_arrow(KNOWN);
    let encodings: Vec<_> = schema.iter_values().map(|f| get_dtype_encoding(&f.dtype)).collect();
    let mut file = FileWriter::try_new(Vec::new(), schema, options())?;
    for batch in frame.iter_chunks(KNOWN, false).filter(|b| !b.is_empty()) {
        let fields = file.parquet_schema().fields().to_vec();
        let rows = batch.len() as u64;
        file.write(rows, row_group_iter(batch, encodings.clone().into(), fields, options()))?;
    }
    file.end(None)?;
    Ok(file.into_inner())
}

/// How Parquet is written.
pub(super) fn options() -> WriteOptions {
    WriteOptions {
        statistics: StatisticsOptions::default(),
        version: Version::V1,
        compression: CompressionOptions::Snappy,
        data_page_size: None,
    }
}

/// Every column of the ledger file.
fn ledger(budget: &Budget) -> PolarsResult<DataFrame> {
    let columns = LEDGER_COLUMNS.iter().map(|name| column(budget, name));
    DataFrame::new_infer_height(columns.collect::<PolarsResult<Vec<_>>>()?)
}

fn column(budget: &Budget, name: &str) -> PolarsResult<Column> {
    let rows = &budget.rows;
    let text = |of: for<'a> fn(&'a BudgetRow<'a>) -> &'a str| {
        Ok(Column::new(name.into(), rows.iter().map(|r| of(r).to_owned()).collect::<Vec<_>>()))
    };
    let money = |of: fn(&BudgetRow) -> Money| {
        let values: Vec<i128> = rows.iter().map(|r| of(r).minor_units(budget.minor)).collect();
        decimals(name, &values, budget.minor)
    };
    match name {
        "entry" => {
            let numbers: Vec<u64> = rows.iter().map(|r| r.entry as u64).collect();
            Ok(Column::new(name.into(), numbers))
        }
        "iteration" => {
            Ok(Column::new(name.into(), rows.iter().map(|r| r.iteration).collect::<Vec<_>>()))
        }
        "assumed" => {
            Ok(Column::new(name.into(), rows.iter().map(|r| r.assumed).collect::<Vec<_>>()))
        }
        "quantity" => scaled(name, rows.iter().map(|r| r.quantity.as_str()), QUANTITY_DECIMALS),
        "unit_price" => scaled(name, rows.iter().map(|r| r.unit_price.as_str()), PRICE_DECIMALS),
        "amount" => money(|r| r.amount),
        "outlay" => money(|r| r.outlay),
        "consumed" => money(|r| r.consumed),
        "avoidable" => money(|r| r.avoidable),
        "date" => text(|r| &r.date),
        "month" => text(|r| &r.month),
        "plan" => text(|r| r.plan),
        "part" => text(|r| r.part),
        "route" => text(|r| r.route),
        "category" => text(|r| r.category),
        "item" => text(|r| r.item),
        "unit" => text(|r| r.unit),
        "kind" => text(|r| r.kind),
        "source" => text(|r| r.source),
        "currency" => Ok(Column::new(name.into(), vec![budget.currency; rows.len()])),
        _ => text(|r| r.status),
    }
}

/// A column of plain decimals, brought to one scale.
fn scaled<'a>(
    name: &str,
    texts: impl Iterator<Item = &'a str>,
    scale: u32,
) -> PolarsResult<Column> {
    let whole = |text: &str| -> Option<i128> {
        let value: rust_decimal::Decimal = text.parse().ok()?;
        let more = scale.checked_sub(value.scale())?;
        value.mantissa().checked_mul(10i128.checked_pow(more)?)
    };
    let values: Option<Vec<i128>> = texts.map(whole).collect();
    let values = values.ok_or_else(|| {
        PolarsError::ComputeError(format!("a value of `{name}` does not fit its column").into())
    })?;
    decimals(name, &values, scale)
}

/// A column of decimals; what does not fit is refused, and no value passes through a float.
fn decimals(name: &str, values: &[i128], minor: u32) -> PolarsResult<Column> {
    let plain = Int128Chunked::from_slice(name.into(), values);
    Ok(plain.into_decimal(PRECISION, minor as usize)?.into_column())
}

/// A column of sums as money.
fn amounts(frame: &DataFrame, name: &str) -> PolarsResult<Vec<Money>> {
    let column = frame.column(name)?;
    let DataType::Decimal(_, scale) = column.dtype() else {
        return Err(PolarsError::SchemaMismatch(
            format!("`{name}` is no column of decimals").into(),
        ));
    };
    let minor = u32::try_from(*scale).unwrap_or(0);
    let values = column.decimal()?.physical();
    values.into_no_null_iter().map(|value| money(value, minor)).collect()
}

fn money(value: i128, minor: u32) -> PolarsResult<Money> {
    Money::of_minor_units(value, minor)
        .ok_or_else(|| PolarsError::ComputeError("a sum is above 28 digits".into()))
}

#[cfg(test)]
mod tests {
    use std::io::Cursor;

    use polars_io::prelude::{CsvReadOptions, SerReader};
    use polars_parquet::read::{ParquetType, read_metadata};

    use super::*;
    use crate::report::ledger_csv;
    use crate::report::months::tests::{row, small};

    #[test]
    fn parquet_holds_every_row_and_column() {
        let budget = small();
        let bytes = parquet(&budget).expect("small amounts fit");
        assert_eq!(Some(bytes.clone()), parquet(&budget).ok(), "the same bytes again");
        let file = read_metadata(&mut Cursor::new(&bytes)).expect("a footer");
        assert_eq!(file.num_rows, 5);
        let names: Vec<&str> = file.schema().fields().iter().map(ParquetType::name).collect();
        assert_eq!(names, LEDGER_COLUMNS);
        let types: Vec<String> =
            ledger(&budget).expect("a table").dtypes().iter().map(ToString::to_string).collect();
        assert_eq!((types[0].as_str(), types[9].as_str()), ("u64", "decimal[38,6]"));
        assert_eq!((types[11].as_str(), types[12].as_str()), ("decimal[38,15]", "decimal[38,2]"));
    }

    #[test]
    fn no_entries_are_a_file_too() {
        let budget = Budget { rows: Vec::new(), ..small() };
        let bytes = parquet(&budget).expect("nothing fits");
        assert_eq!(read_metadata(&mut Cursor::new(&bytes)).expect("a footer").num_rows, 0);
    }

    #[test]
    fn what_does_not_fit_is_refused() {
        let mut budget = small();
        budget.rows[0].quantity = "0.1234567".to_owned();
        assert!(parquet(&budget).is_err(), "a seventh decimal would be lost");
        budget.rows[0].quantity = "79228162514264337593543950335".to_owned();
        assert!(parquet(&budget).is_ok(), "29 digits and six decimals are 35");
    }

    #[test]
    fn the_csv_file_is_read_back_by_the_engine() {
        let mut budget = small();
        let names = ["=1+1", "a \"b\", c", "two\r\nlines", "\u{202e}\u{200f}turned", "semi;colon"];
        for (row, name) in budget.rows.iter_mut().zip(names) {
            row.plan = name;
        }
        let file = ledger_csv(&budget).expect("written to memory");
        let types = vec![DataType::String; LEDGER_COLUMNS.len()];
        let frame = CsvReadOptions::default()
            .with_dtype_overwrite(Some(types.into()))
            .into_reader_with_file_handle(Cursor::new(file))
            .finish()
            .expect("a table");
        let column = |name: &str| -> Vec<String> {
            let texts = frame.column(name).expect("a column").str().expect("text").iter();
            texts.map(|t| t.unwrap_or_default().to_owned()).collect()
        };
        let mut plans = names.map(str::to_owned);
        plans[0].insert(0, '\'');
        assert_eq!(column("plan"), plans);
        let amounts: Vec<String> = budget.rows.iter().map(|r| r.amount.text(2)).collect();
        assert_eq!(column("amount"), amounts);
        assert_eq!(frame.shape(), (5, LEDGER_COLUMNS.len()));
        assert_eq!(row("2026-03", "resin", 1).item, column("item")[0]);
    }
}
