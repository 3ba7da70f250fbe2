//! The ledger as a table of the polars engine: grouped and summed there, with decimal columns throughout.
//!
//! Enters: a [`Budget`]. Leaves: its month summary. The only file that knows the engine.

use polars::prelude::{
    Column, DataFrame, DataType, Int128Chunked, IntoColumn, NewChunkedArray, PolarsError,
    PolarsResult,
};

use super::{Budget, BudgetRow, MonthSum};
use crate::model::{Exact, Money};

/// Digits a column of amounts may hold: the most a 128-bit decimal offers.
const PRECISION: usize = 38;

/// The columns the summary needs, as a table.
fn table(budget: &Budget) -> PolarsResult<DataFrame> {
    let months: Vec<&str> = budget.rows.iter().map(|r| r.month.as_str()).collect();
    let categories: Vec<&str> = budget.rows.iter().map(|r| r.category).collect();
    let money = |name: &str, of: fn(&BudgetRow) -> Money| {
        let values: Vec<i128> = budget.rows.iter().map(|r| mantissa(of(r), budget.minor)).collect();
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
    // The only aggregation left on groups of an eager table; it names the results `NAME_sum`.
    #[allow(deprecated)]
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

/// An amount as a whole number of its currency's minor unit.
fn mantissa(amount: Money, minor: u32) -> i128 {
    let mut value = amount.exact().decimal();
    value.rescale(minor);
    value.mantissa()
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
    let decimal = rust_decimal::Decimal::try_from_i128_with_scale(value, minor)
        .map_err(|error| PolarsError::ComputeError(error.to_string().into()))?;
    Ok(Exact::from(decimal).to_money(minor))
}
