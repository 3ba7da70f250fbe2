//! The rows of the price sheets with their age, as a view, as CSV and as JSON; and those that are out of date, for other views.

use serde::Serialize;

use super::csv::{finished, writer};
use super::units::{Units, figure_text};
use super::{Section, Subject, View, dated, letter, neutral};
use crate::analysis::{OLD_DAYS, RowAge, RowState, date_text};
use crate::model::{Day, SheetRow};

/// Columns of the file.
const COLUMNS: [&str; 13] = [
    "row",
    "what",
    "price",
    "unit",
    "valid_from",
    "valid_to",
    "state",
    "age_days",
    "days_left",
    "stale",
    "less_25_percent",
    "more_25_percent",
    "source",
];
/// Stale rows told in a short view.
const FEW: usize = 1;

/// The rows of a scenario's sheets, and the day their age is counted to.
#[derive(Clone, Copy, Debug)]
pub struct PriceRows<'p> {
    /// The scenario and its answer.
    pub subject: Subject<'p>,
    /// The day; `None` where none is known.
    pub day: Option<Day>,
    /// The rows.
    pub rows: &'p [RowAge],
}

/// A row in words and numbers.
#[derive(Serialize)]
struct AgedRow<'s> {
    row: &'s str,
    what: &'s str,
    /// Its first price, in `unit`; null where it has none, or no route uses it.
    price: Option<f64>,
    unit: String,
    valid_from: Option<String>,
    valid_to: Option<String>,
    /// `holds`, `ended`, `replaced`, `not yet` or `undated`.
    state: &'static str,
    age_days: Option<i64>,
    days_left: Option<i64>,
    stale: bool,
    /// The plan that becomes the verdict with its prices a quarter lower; null where that changes nothing.
    less_25_percent: Option<&'s str>,
    /// The same a quarter higher.
    more_25_percent: Option<&'s str>,
    source: &'s str,
}

#[derive(Serialize)]
struct Document<'s> {
    scenario: &'s str,
    day: Option<String>,
    rows: Vec<AgedRow<'s>>,
}

impl<'s> PriceRows<'s> {
    fn sheet_row(&self, row: &RowAge) -> &'s SheetRow {
        &self.subject.scenario().sheet_rows[row.row]
    }

    fn row(&self, units: &Units, row: &RowAge) -> AgedRow<'s> {
        let (scenario, of) = (self.subject.scenario(), self.sheet_row(row));
        // A rate that no route uses has no unit.
        let known = row.prices.first().filter(|slot| units.knows(**slot));
        let price = known.map(|&slot| {
            let unit = units.of(slot);
            (scenario.slots.likely(slot).quick_f64() / unit.size, unit.name)
        });
        let tip = |percent: i64| {
            let tip = row.tips.iter().find(|tip| tip.0 == percent);
            tip.map(|tip| self.subject.plan(tip.1).plan.name.as_str())
        };
        AgedRow {
            row: &of.line,
            what: &of.name,
            unit: price.as_ref().map_or(String::new(), |p| p.1.clone()),
            price: price.map(|p| p.0),
            valid_from: of.valid.from.map(date_text),
            valid_to: of.valid.to.map(date_text),
            state: state(of, row.state),
            age_days: row.age,
            days_left: row.left,
            stale: row.is_stale(),
            less_25_percent: tip(-25),
            more_25_percent: tip(25),
            source: &of.said,
        }
    }

    fn rows(&self) -> Vec<AgedRow<'s>> {
        let units = Units::new(self.subject.scenario());
        self.rows.iter().map(|row| self.row(&units, row)).collect()
    }
}

fn state(of: &SheetRow, state: RowState) -> &'static str {
    match state {
        RowState::Holds if of.valid.from.is_none() && of.valid.to.is_none() => "undated",
        RowState::Holds => "holds",
        RowState::Ended => "ended",
        RowState::Replaced => "replaced",
        RowState::NotYet => "not yet",
    }
}

/// Says how old every row is, and which prices could change the verdict.
pub fn prices_view(prices: &PriceRows) -> View {
    let head = ["row", "what", "price", "age, days", "ends", "25 % change"];
    let rows = prices.rows.iter().zip(prices.rows()).map(|(age, row)| cells(age, row));
    let table = Section::table(head.map(str::to_owned).to_vec(), rows.collect());
    let none = || Section::sentences("", vec!["There are no price sheets.".to_owned()]);
    let day = match prices.day {
        Some(day) => format!("on {}", dated(day)),
        None => "no day to count from: give --today".to_owned(),
    };
    let mut notes = vec![format!(
        "Age is counted from the first valid day. Marked (!): {OLD_DAYS} days and older, or ended without another row in its place."
    )];
    if prices.subject.answer.verdict.is_some() {
        notes.push(
            "25 % change: the plan that becomes the verdict with all prices of the row so much lower or higher, by its letter in `compare`."
                .to_owned(),
        );
    }
    let sections = [
        table.map(|t| t.with_words(&[1])).or_else(none),
        Section::sentences("Notes", notes).filter(|_| !prices.rows.is_empty()),
    ];
    let title = format!("{} (rows of the price sheets, {day})", prices.subject.scenario().title);
    View { title, sections: sections.into_iter().flatten().collect(), lines: usize::MAX }
}

fn cells(age: &RowAge, row: AgedRow) -> Vec<String> {
    let price = match row.price {
        Some(price) => format!("{} {}", figure_text(price), row.unit).trim_end().to_owned(),
        None if age.prices.is_empty() => "none".to_owned(),
        None => "not used".to_owned(),
    };
    let mark = if row.stale { " !" } else { "" };
    let days = match (row.state, row.age_days) {
        ("not yet", _) => format!("from {}", row.valid_from.as_deref().unwrap_or_default()),
        (_, Some(days)) => format!("{days}{mark}"),
        (_, None) => row.state.to_owned(),
    };
    let ends = match (row.state, row.valid_to) {
        (_, None) => String::new(),
        ("ended" | "replaced", Some(to)) => format!("{} {to}", row.state),
        (_, Some(to)) => to,
    };
    let tips = age.tips.iter().map(|&(percent, plan)| format!("{percent:+}: {}", letter(plan)));
    let tips = tips.collect::<Vec<String>>().join(", ");
    vec![row.row.to_owned(), row.what.to_owned(), price, days, ends, tips]
}

/// The rows as CSV with one header line.
///
/// # Errors
/// Only if the text cannot be written to memory.
pub fn prices_csv(prices: &PriceRows) -> Result<Vec<u8>, ::csv::Error> {
    let mut writer = writer();
    writer.write_record(COLUMNS)?;
    let number = |n: Option<i64>| n.map_or(String::new(), |n| n.to_string());
    for row in prices.rows() {
        writer.write_record([
            row.row,
            &neutral(row.what),
            &row.price.map_or(String::new(), |p| p.to_string()),
            &row.unit,
            row.valid_from.as_deref().unwrap_or(""),
            row.valid_to.as_deref().unwrap_or(""),
            row.state,
            &number(row.age_days),
            &number(row.days_left),
            if row.stale { "yes" } else { "no" },
            &neutral(row.less_25_percent.unwrap_or("")),
            &neutral(row.more_25_percent.unwrap_or("")),
            &neutral(row.source),
        ])?;
    }
    finished(writer)
}

/// The rows as one JSON document, ending in a line feed.
///
/// # Errors
/// Only if a number has no form in JSON, which no finite figure is.
pub fn prices_json(prices: &PriceRows) -> Result<String, serde_json::Error> {
    let scenario = &prices.subject.scenario().name;
    let document = Document { scenario, day: prices.day.map(date_text), rows: prices.rows() };
    let mut text = serde_json::to_string_pretty(&document)?;
    text.push('\n');
    Ok(text)
}

/// A row that is out of date and could change the verdict.
#[derive(Serialize)]
pub(super) struct StaleEntry<'s> {
    row: &'s str,
    what: &'s str,
    /// True where it ended, false where it is old.
    ended: bool,
    days: i64,
    less_25_percent: Option<&'s str>,
    more_25_percent: Option<&'s str>,
}

/// The entries of the document on rows that are out of date.
pub(super) fn stale_entries<'s>(subject: &Subject<'s>) -> Vec<StaleEntry<'s>> {
    let entry = |row: &RowAge| {
        let of = &subject.scenario().sheet_rows[row.row];
        let tip = |percent: i64| {
            let tip = row.tips.iter().find(|tip| tip.0 == percent);
            tip.map(|tip| subject.plan(tip.1).plan.name.as_str())
        };
        StaleEntry {
            row: &of.line,
            what: &of.name,
            ended: row.state == RowState::Ended,
            days: days(row),
            less_25_percent: tip(-25),
            more_25_percent: tip(25),
        }
    };
    subject.answer.stale.iter().map(entry).collect()
}

/// Days since it ended, or since it began to hold.
fn days(row: &RowAge) -> i64 {
    match row.state {
        RowState::Ended => -row.left.unwrap_or_default(),
        _ => row.age.unwrap_or_default(),
    }
}

/// Prices to ask for anew: out of date, and a quarter more or less would change the verdict. `None` where there are none.
pub(super) fn stale(subject: &Subject, all: bool) -> Option<Section> {
    let said = subject.answer.stale.iter().map(|row| {
        let of = &subject.scenario().sheet_rows[row.row];
        let how = match row.state {
            RowState::Ended => format!("ended {} days ago", days(row)),
            _ => format!("{} days old", days(row)),
        };
        let tips = row.tips.iter().map(|&(percent, plan)| {
            let way = if percent < 0 { "less" } else { "more" };
            format!("{} % {way} makes it {}", percent.abs(), letter(plan))
        });
        let tips: Vec<String> = tips.collect();
        format!("{} {how}: {}", of.line, tips.join(", "))
    });
    Section::joined_few("Stale prices", said.collect(), if all { usize::MAX } else { FEW })
}
