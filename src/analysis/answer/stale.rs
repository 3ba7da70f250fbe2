//! How old the rows of the price sheets are on a stated day, and which of them could change the verdict.
//!
//! Enters: a scenario, a day, and an answer with its verdict. Leaves: the state of each row, and the plan that the rule of the verdict takes
//! (see [`judge`](crate::analysis::judge)) with all prices of a row a quarter lower or higher. The clock is never asked.

use std::collections::BTreeMap;

use super::Answer;
use crate::analysis::compare::{DueDate, is_in_time, is_same_as_another};
use crate::analysis::follow::{CHEAPEST, fast_cost, is_price, tried_values};
use crate::analysis::next::taken;
use crate::analysis::parallel::in_order;
use crate::model::{Day, Exact, Scenario, Slot, Validity};
use crate::plan::Shop;
use crate::value::Prices;

/// Rows that began to hold so many days ago, or more, count as old: half a year. Common practice, no source.
pub const OLD_DAYS: i64 = 180;

/// Prices are tried a quarter lower and a quarter higher, in percent.
pub const SWINGS: [i64; 2] = [-25, 25];

/// How a row of a sheet stands on a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RowState {
    /// It holds, or says nothing of when.
    Holds,
    /// It is past its last valid day.
    Ended,
    /// It is past its last valid day, and another row for the same holds.
    Replaced,
    /// It is not valid yet.
    NotYet,
}

/// A row of a sheet on a day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RowAge {
    /// Index into [`Scenario::sheet_rows`].
    pub row: usize,
    /// How it stands; without a day every row holds.
    pub state: RowState,
    /// Days since its first valid day; `None` where that, or the day, is not stated, or it is not valid yet.
    pub age: Option<i64>,
    /// Days to its last valid day; negative where that is past.
    pub left: Option<i64>,
    /// Its prices; none where nothing reads the row.
    pub prices: Vec<Slot>,
    /// By how many percent all its prices would have to change, of [`SWINGS`], for another plan to become the verdict, with that plan by
    /// index into [`Answer::plans`].
    pub tips: Vec<(i64, usize)>,
}

impl RowAge {
    /// True where it should be asked for anew: ended and not replaced, or old.
    pub fn is_stale(&self) -> bool {
        match self.state {
            RowState::Ended => true,
            RowState::Holds => self.age.is_some_and(|age| age >= OLD_DAYS),
            RowState::Replaced | RowState::NotYet => false,
        }
    }
}

/// Every row of the sheets as it stands on a day.
pub fn row_ages(scenario: &Scenario, day: Option<Day>) -> Vec<RowAge> {
    let mut prices = prices(scenario);
    let rows = &scenario.sheet_rows;
    let sheet = |line: &str| line.split(':').next().unwrap_or_default().to_owned();
    // Rows of one kind for the same thing follow each other in time.
    let mut holding: BTreeMap<(String, &str), bool> = BTreeMap::new();
    for row in rows {
        let holds = day.is_some_and(|day| state(&row.valid, day) == RowState::Holds);
        *holding.entry((sheet(&row.line), &row.name)).or_default() |= holds;
    }
    let age = |(index, row): (usize, &crate::model::SheetRow)| {
        let replaced = holding.get(&(sheet(&row.line), row.name.as_str())).copied();
        let stands = day.map_or(RowState::Holds, |day| match state(&row.valid, day) {
            RowState::Ended if replaced.unwrap_or_default() => RowState::Replaced,
            state => state,
        });
        RowAge {
            row: index,
            state: stands,
            age: day.zip(row.valid.from).map(|(day, from)| day - from).filter(|&age| age >= 0),
            left: day.zip(row.valid.to).map(|(day, to)| to - day),
            prices: prices.remove(row.line.as_str()).unwrap_or_default(),
            tips: Vec::new(),
        }
    };
    rows.iter().enumerate().map(age).collect()
}

fn state(valid: &Validity, day: Day) -> RowState {
    match valid {
        Validity { from: Some(from), .. } if *from > day => RowState::NotYet,
        Validity { to: Some(to), .. } if *to < day => RowState::Ended,
        _ => RowState::Holds,
    }
}

/// The prices of each row, by file and line; rates are prices too.
fn prices(scenario: &Scenario) -> BTreeMap<&str, Vec<Slot>> {
    let mut result: BTreeMap<&str, Vec<Slot>> = BTreeMap::new();
    for (slot, input) in scenario.slots.iter() {
        let line = scenario.source(input.source).split(' ').next().unwrap_or_default();
        if is_price(input.dim) || line.starts_with("rates.csv:") {
            result.entry(line).or_default().push(slot);
        }
    }
    result
}

/// The rows with what their prices could do to the verdict.
pub fn with_tips(shop: &Shop, answer: &Answer, mut rows: Vec<RowAge>) -> Vec<RowAge> {
    let Some(rivals) = rivals(shop, answer) else {
        return rows;
    };
    let tips = in_order(rows.len(), |index| {
        let other = |percent: i64| {
            Some((percent, tipped(shop, answer, &rivals, (&rows[index].prices, percent))?))
        };
        SWINGS.into_iter().filter_map(other).collect()
    });
    rows.iter_mut().zip(tips).for_each(|(row, tips): (_, Vec<(i64, usize)>)| row.tips = tips);
    rows
}

/// The rows that are out of date on a day and could change the verdict.
pub fn stale(shop: &Shop, answer: &Answer, day: Option<Day>) -> Vec<RowAge> {
    let mut rows = row_ages(shop.scenario, day);
    rows.retain(|row| row.is_stale() && !row.prices.is_empty());
    let mut rows = with_tips(shop, answer, rows);
    rows.retain(|row| !row.tips.is_empty());
    rows
}

/// The verdict's plan and the cheapest that could take its place, by index; `None` where cost does not decide, or the rule that decides
/// without samples would take another plan today.
fn rivals(shop: &Shop, answer: &Answer) -> Option<Vec<usize>> {
    let verdict = answer.verdict.as_ref().filter(|v| v.due != DueDate::Missed)?;
    let sure = shop.values.exact(shop.scenario.sure).to_f64_lossy();
    let reaches = |index: usize| {
        let drawn = answer.sampled.as_ref().and_then(|s| s.plans.get(index)?.due);
        is_in_time(shop, &answer.plans[index]) && drawn.is_none_or(|due| due.value >= sure)
    };
    let others = (0..answer.plans.len()).filter(|&i| {
        i != verdict.plan && reaches(i) && !is_same_as_another(shop, &answer.plans, i)
    });
    let who: Vec<usize> = std::iter::once(verdict.plan).chain(others.take(CHEAPEST)).collect();
    let today = tipped(shop, answer, &who, (&[], 0));
    today.is_none().then_some(who)
}

/// The plan that becomes the verdict with prices changed by so many percent, if it is another one.
fn tipped(
    shop: &Shop,
    answer: &Answer,
    who: &[usize],
    (slots, percent): (&[Slot], i64),
) -> Option<usize> {
    if slots.is_empty() && percent != 0 {
        return None;
    }
    let factor = (100.0 + percent as f64) / 100.0;
    let tried: Vec<(Slot, f64)> =
        slots.iter().map(|&s| (s, shop.values.exact(s).quick_f64() * factor)).collect();
    let values = tried_values(shop, &tried)?;
    let changed = Shop::new(shop.scenario, &values);
    let mut prices = Prices::new(&changed);
    let standing = who.iter().map(|&index| {
        let plan = &answer.plans[index];
        let cost = fast_cost(&changed, &mut prices, &plan.plan).and_then(Exact::of_float);
        let cost = cost.map_or(plan.decides.avoidable, |c| c.to_money(shop.scenario.minor()));
        (plan.plan.clone(), cost, plan.decides.seconds)
    });
    let standing: Vec<_> = standing.collect();
    taken(&changed, standing.into_iter()).filter(|&at| at != 0).map(|at| who[at])
}
