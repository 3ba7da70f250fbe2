//! The columns of the table, and a row as what stands in them.

use crate::analysis::{Grid, RowFigures, SweepRow, SweepTable, Vary};
use crate::model::{DAY, Exact, Money};

/// Columns before those of the inputs.
const BEFORE: [&str; 1] = ["scenario"];
/// Columns behind them.
const BEHIND: [&str; 10] = [
    "plan",
    "verdict",
    "close",
    "avoidable",
    "outlay",
    "consumed",
    "currency",
    "days",
    "in_time",
    "reason",
];
/// Decimals of days.
const DECIMALS: u32 = 6;

/// What a sweep's table has in its head: the same for all its scenarios.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SweepColumns {
    /// Names of the columns of the inputs: the key, and the unit where one was typed.
    pub inputs: Vec<String>,
    /// Decimals of the columns of money: the most that one of the currencies has.
    pub minor: u32,
}

impl SweepColumns {
    /// The columns of a question.
    pub fn new(varied: &[Vary], minor: u32) -> SweepColumns {
        let name = |vary: &Vary| match vary.series.unit.as_str() {
            "" => vary.key.clone(),
            unit => format!("{} ({unit})", vary.key),
        };
        SweepColumns { inputs: varied.iter().map(name).collect(), minor }
    }

    /// The names of all columns.
    pub fn names(&self) -> Vec<&str> {
        let inputs = self.inputs.iter().map(String::as_str);
        BEFORE.into_iter().chain(inputs).chain(BEHIND).collect()
    }
}

/// A stretch of rows of one scenario.
#[derive(Clone, Copy, Debug)]
pub struct SweepRows<'s> {
    /// The scenario as it was named.
    pub scenario: &'s str,
    /// Its currency.
    pub currency: &'s str,
    /// Decimals of its currency.
    pub minor: u32,
    /// Its grid.
    pub grid: &'s Grid,
    /// The rows.
    pub table: &'s SweepTable,
}

impl<'s> SweepRows<'s> {
    /// The name of a row's plan.
    pub(super) fn plan(&self, row: &SweepRow) -> Option<&'s str> {
        row.plan.map(|plan| self.table.plans.get(plan))
    }

    /// Why a row has no figures.
    pub(super) fn reason(&self, row: &SweepRow) -> Option<&'s str> {
        row.reason.map(|reason| self.table.reasons.get(reason))
    }

    /// The values of each input as binary floats.
    #[cfg(feature = "frame")]
    pub(in crate::report) fn numbers(&self) -> Vec<Vec<f64>> {
        let floats = |vary: &Vary| {
            let numbers = vary.series.numbers.iter();
            numbers.map(|&n| Exact::from(n).to_f64_lossy()).collect()
        };
        self.grid.varied().iter().map(floats).collect()
    }

    /// An amount of minor units.
    pub(super) fn money(&self, units: i64) -> Money {
        Money::of_minor_units(units.into(), self.minor).unwrap_or_default()
    }
}

/// Days from start to in hand, to six decimals.
pub(in crate::report) fn days(figures: &RowFigures) -> Exact {
    (Exact::from(figures.seconds) / Exact::from(DAY)).half_away(DECIMALS)
}
