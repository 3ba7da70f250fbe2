//! The ledger of one plan as rows of a budget file: every figure exact, ready to be written.

use super::Subject;
use crate::ledger::{Entry, Ledger, Total};
use crate::model::{Exact, Moment, Money, Scenario};

/// Decimals of quantities.
pub const QUANTITY_DECIMALS: u32 = 6;
/// Decimals of unit prices: enough to recompute an amount of any size that is summed exactly.
pub const PRICE_DECIMALS: u32 = 15;

/// One plan's ledger as a table.
#[derive(Clone, Debug)]
pub struct Budget<'s> {
    /// The currency of every amount.
    pub currency: &'s str,
    /// Decimals of every amount.
    pub minor: u32,
    /// The rows in the order of the ledger.
    pub rows: Vec<BudgetRow<'s>>,
}

/// One entry as a row.
#[derive(Clone, Debug)]
pub struct BudgetRow<'s> {
    /// Its number, from 1.
    pub entry: usize,
    /// Its date: `2026-03-02`, or `day 3`.
    pub date: String,
    /// Its month: `2026-03`, or `month 1`.
    pub month: String,
    /// Its iteration; planned + 1 for the final.
    pub iteration: u32,
    /// The plan's name.
    pub plan: &'s str,
    /// The part's name, or `shared`.
    pub part: &'s str,
    /// The route's name, or `shared`.
    pub route: &'s str,
    /// What it is for.
    pub category: &'static str,
    /// What it is about.
    pub item: &'s str,
    /// How much, as plain decimal.
    pub quantity: String,
    /// The unit of the quantity.
    pub unit: &'static str,
    /// Price of a unit, as plain decimal.
    pub unit_price: String,
    /// The amount.
    pub amount: Money,
    /// The amount where the entry counts as outlay, else 0.
    pub outlay: Money,
    /// The amount where it counts as consumed, else 0.
    pub consumed: Money,
    /// The amount where it counts as avoidable, else 0.
    pub avoidable: Money,
    /// How it counts.
    pub kind: &'static str,
    /// Whether it has happened: `paid`, `committed` or `forecast`.
    pub status: &'static str,
    /// Whether an assumed number is in it.
    pub assumed: bool,
    /// Where the price comes from.
    pub source: &'s str,
}

/// Lays out the ledger of a plan.
pub fn budget<'s>(subject: &Subject<'s>, plan: &'s str, ledger: &Ledger) -> Budget<'s> {
    let scenario = subject.scenario();
    let words = subject.words();
    let dated = |when: Moment| (words.plain_date(when), words.month(when));
    let rows = ledger.entries().iter().enumerate().map(|(index, entry)| {
        let (date, month) = dated(entry.when);
        BudgetRow { entry: index + 1, date, month, plan, ..row(scenario, entry) }
    });
    Budget { currency: &scenario.currencies[0].code, minor: scenario.minor(), rows: rows.collect() }
}

fn row<'s>(scenario: &'s Scenario, entry: &Entry) -> BudgetRow<'s> {
    let counted = |total| {
        if entry.counts_in(total) { entry.amount } else { Money::ZERO }
    };
    BudgetRow {
        entry: 0,
        date: String::new(),
        month: String::new(),
        iteration: entry.iteration,
        plan: "",
        part: entry.part_name(scenario),
        route: entry.route_name(scenario),
        category: entry.category.name(),
        item: entry.item(scenario),
        quantity: plain(entry.quantity, QUANTITY_DECIMALS),
        unit: entry.unit,
        unit_price: plain(entry.unit_price, PRICE_DECIMALS),
        amount: entry.amount,
        outlay: counted(Total::Outlay),
        consumed: counted(Total::Consumed),
        avoidable: counted(Total::Avoidable),
        kind: entry.kind.name(),
        status: entry.status.name(),
        assumed: entry.assumed,
        source: scenario.source(entry.source),
    }
}

/// A number without exponent, with at most so many decimals.
fn plain(value: Exact, decimals: u32) -> String {
    value.half_away(decimals).to_string()
}
