//! The month summary of a budget: its amounts by month and category, in the order of the ledger.

use super::Budget;
use crate::model::Money;

/// What one month and category sum to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MonthSum {
    /// The month.
    pub month: String,
    /// The category.
    pub category: String,
    /// Its outlay.
    pub outlay: Money,
    /// What is consumed.
    pub consumed: Money,
    /// What is avoidable.
    pub avoidable: Money,
}

/// Why a summary could not be made: an amount does not fit a column of the table engine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoSummary(pub String);

/// Sums a budget by month and category.
///
/// # Errors
/// [`NoSummary`] where an amount is too large for a column.
#[cfg(feature = "frame")]
pub fn months(budget: &Budget) -> Result<Vec<MonthSum>, NoSummary> {
    super::frame::months(budget).map_err(|error| NoSummary(error.to_string()))
}

/// Sums a budget by month and category.
///
/// # Errors
/// None without the feature `frame`.
#[cfg(not(feature = "frame"))]
pub fn months(budget: &Budget) -> Result<Vec<MonthSum>, NoSummary> {
    Ok(folded(budget))
}

/// The same by a plain walk: groups in the order in which they first occur.
pub fn folded(budget: &Budget) -> Vec<MonthSum> {
    let mut sums: Vec<MonthSum> = Vec::new();
    for row in &budget.rows {
        let found = sums.iter().position(|s| s.month == row.month && s.category == row.category);
        let at = found.unwrap_or_else(|| {
            sums.push(MonthSum {
                month: row.month.clone(),
                category: row.category.to_owned(),
                outlay: Money::ZERO,
                consumed: Money::ZERO,
                avoidable: Money::ZERO,
            });
            sums.len() - 1
        });
        sums[at].outlay += row.outlay;
        sums[at].consumed += row.consumed;
        sums[at].avoidable += row.avoidable;
    }
    sums
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::model::Exact;
    use crate::report::BudgetRow;

    /// A row that counts as outlay and avoidable.
    pub fn row(month: &str, category: &'static str, cents: i64) -> BudgetRow<'static> {
        let amount = (Exact::from(cents) / Exact::from(100i64)).to_money(2);
        BudgetRow {
            entry: 1,
            date: format!("{month}-01"),
            month: month.to_owned(),
            iteration: 1,
            plan: "a",
            part: "collar",
            route: "bench",
            category,
            item: "resin, grey",
            quantity: "1".to_owned(),
            unit: "mL",
            unit_price: "0.1".to_owned(),
            amount,
            outlay: amount,
            consumed: Money::ZERO,
            avoidable: amount,
            kind: "pay",
            status: "forecast",
            assumed: false,
            source: "materials.csv:2",
        }
    }

    /// A budget of a few rows over two months.
    pub fn small() -> Budget<'static> {
        let rows = vec![
            row("2026-03", "resin", 10),
            row("2026-03", "labour", -5),
            row("2026-03", "resin", 20),
            row("2026-04", "resin", 1_234_567_890_123),
            row("2026-04", "labour", 0),
        ];
        Budget { currency: "USD", minor: 2, rows }
    }

    #[test]
    fn groups_keep_their_first_order_and_sum_exactly() {
        let sums = months(&small()).expect("small amounts fit");
        let texts: Vec<String> = sums
            .iter()
            .map(|s| {
                format!("{} {} {} {}", s.month, s.category, s.outlay.text(2), s.consumed.text(2))
            })
            .collect();
        assert_eq!(
            texts,
            [
                "2026-03 resin 0.30 0.00",
                "2026-03 labour -0.05 0.00",
                "2026-04 resin 12345678901.23 0.00",
                "2026-04 labour 0.00 0.00"
            ]
        );
    }

    #[test]
    fn the_plain_walk_gives_the_same() {
        assert_eq!(Ok(folded(&small())), months(&small()));
    }
}
