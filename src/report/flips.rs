//! What changes the answer, in words, as CSV and as JSON; and the map over two inputs.

use serde::Serialize;

use super::csv::{finished, writer};
use super::units::{Unit, Units, decimals, figure_text};
use super::{Section, Subject, View, input_words, iterations, letter, listed, neutral};
use crate::analysis::{Change, DueDate, Flip, FlipInput, FlipMap, Flips, is_in_time};
use crate::model::{Exact, Slot};
use crate::plan::Plan;

/// Rows shown where not all are asked for.
const FEW: usize = 12;
/// Columns of the file.
const COLUMNS: [&str; 9] =
    ["key", "input", "unit", "today", "changes_at", "how", "swing", "currency", "assumed"];

/// A row in words and numbers.
#[derive(Serialize)]
struct FlipRow {
    /// The address of the number; empty for what no single number says.
    key: String,
    input: String,
    unit: String,
    today: Option<f64>,
    changes_at: Option<f64>,
    /// `equal`, `jump` or `never`.
    how: &'static str,
    swing: Option<f64>,
    assumed: bool,
}

/// Turns what was found into words.
struct Say<'a, 's> {
    subject: &'a Subject<'s>,
    flips: &'a Flips,
    units: Units<'s>,
}

impl<'a, 's> Say<'a, 's> {
    fn new(subject: &'a Subject<'s>, flips: &'a Flips) -> Say<'a, 's> {
        Say { subject, flips, units: Units::new(subject.scenario()) }
    }

    fn row(&self, flip: &Flip) -> FlipRow {
        let (key, input, unit, assumed) = self.input(flip);
        let shown = |value: f64| value / unit.size;
        FlipRow {
            key,
            input: self.against(flip, input),
            today: flip.today.map(shown),
            changes_at: flip.change.place().map(shown),
            how: match flip.change {
                Change::Never => "never",
                Change::At(_) => "equal",
                Change::Jumps(_) => "jump",
            },
            swing: flip.swing,
            assumed,
            unit: unit.name,
        }
    }

    fn input(&self, flip: &Flip) -> (String, String, Unit, bool) {
        let scenario = self.subject.scenario();
        let code = self.subject.words().currency();
        let plain = |name: String| Unit { name, size: 1.0 };
        match &flip.input {
            FlipInput::Slot(slot) => {
                let input = scenario.slots.get(*slot);
                (
                    input.address.clone(),
                    input_words(&input.address),
                    self.units.of(*slot),
                    input.assumed,
                )
            }
            FlipInput::Hour => {
                ("labour".to_owned(), input_words("labour"), plain(format!("{code} per h")), false)
            }
            FlipInput::Day => {
                let key = "iterations.delay_cost_per_day";
                (key.to_owned(), input_words(key), plain(format!("{code} per day")), false)
            }
            FlipInput::PieceOutside(part, route) => {
                let (part, route) = (&scenario.part(*part).name, &scenario.route(*route).name);
                let said = format!("price to ask for {part} from {route}");
                (String::new(), said, plain(format!("{code} per piece")), false)
            }
            FlipInput::PiecesOutside(parts) => {
                let names: Vec<&str> =
                    parts.iter().map(|&p| scenario.part(p).name.as_str()).collect();
                let said = format!("price to ask for {}", listed(&names));
                let unit = Unit { name: "% of today's".to_owned(), size: 0.01 };
                (String::new(), said, unit, false)
            }
        }
    }

    /// Names the plan a row is about where it is not the second best.
    fn against(&self, flip: &Flip, input: String) -> String {
        if flip.against == self.flips.second {
            return input;
        }
        let [best, other] = [self.flips.best, flip.against].map(letter);
        format!("{input} ({best} against {other})")
    }

    fn cells(&self, row: &FlipRow, name: String) -> Vec<String> {
        let with_unit = |value: f64| {
            let blank = if row.unit.is_empty() { "" } else { " " };
            format!("{}{blank}{}", figure_text(value), row.unit)
        };
        let changes = row.changes_at.map_or("never".to_owned(), figure_text);
        vec![
            if row.assumed { format!("{name} (assumed)") } else { name },
            row.today.map_or("not stated".to_owned(), with_unit),
            if row.how == "jump" { format!("jumps at {changes}") } else { changes },
            row.swing.map_or(String::new(), |s| self.money(s)),
        ]
    }

    fn money(&self, amount: f64) -> String {
        let words = self.subject.words();
        let minor = self.subject.scenario().minor();
        Exact::of_float(amount).map_or(String::new(), |a| words.money(a.to_money(minor)))
    }

    /// The two plans, and which of them the verdict takes.
    fn question(&self) -> Vec<String> {
        let subject = self.subject;
        let [best, second] = [self.flips.best, self.flips.second];
        let mut said = vec![format!(
            "{} is the cheapest{}, {} second: {} {} between them at {}{}.",
            letter(best),
            if self.is_asked() { " in time" } else { "" },
            letter(second),
            self.money(self.flips.less),
            subject.words().currency(),
            iterations(subject.answer.planned),
            if subject.has_final() { " with the final" } else { "" },
        )];
        if !is_in_time(subject.shop, subject.plan(second)) {
            said.push(format!("{} would be late: cost alone is looked at here.", letter(second)));
        }
        if let Some(verdict) = &subject.answer.verdict
            && verdict.plan != best
        {
            said.push(format!(
                "The verdict takes {}: about as cheap, and faster.",
                letter(verdict.plan)
            ));
        }
        said
    }

    /// True where a due date is met by some plan, so that late ones stand back.
    fn is_asked(&self) -> bool {
        let verdict = self.subject.answer.verdict.as_ref();
        verdict.is_some_and(|v| matches!(v.due, DueDate::InTime { late } if late > 0))
    }

    fn plans(&self) -> Vec<String> {
        let mut shown = vec![self.flips.best, self.flips.second];
        shown.extend(self.flips.rows.iter().map(|r| r.against));
        shown.sort_unstable();
        shown.dedup();
        shown.iter().map(|&i| plan_line(i, &self.subject.plan(i).plan)).collect()
    }

    fn names(&self, slots: &[Slot]) -> Vec<&'s str> {
        let scenario = self.subject.scenario();
        slots.iter().map(|&s| scenario.slots.get(s).address.as_str()).collect()
    }

    fn notes(&self, hidden: usize) -> Vec<String> {
        let mut said = vec![
            "\"changes at\" is where the second plan becomes as cheap, the other inputs as today; looked for from a sixteenth to \
             16 times today's value (shares: 0 to 1, iterations: to the horizon)."
                .to_owned(),
        ];
        if self.flips.rows.iter().any(|r| r.swing.is_some()) {
            said.push(
                "\"swing\" is how far the difference moves between the low and the high value stated or assumed."
                    .to_owned(),
            );
        }
        if hidden > 0 {
            said.push(format!("{hidden} more inputs move the difference (--all)."));
        }
        said
    }
}

fn plan_line(index: usize, plan: &Plan) -> String {
    format!("{} = {}", letter(index), plan.name)
}

/// Says what changes the answer: the most telling rows, or all of them by their keys and what has no effect.
pub fn flips_view(subject: &Subject, flips: &Flips, all: bool) -> View {
    let say = Say::new(subject, flips);
    let shown = if all { flips.rows.len() } else { FEW.min(flips.rows.len()) };
    let rows = flips.rows[..shown].iter().map(|flip| {
        let row = say.row(flip);
        let name = if all && !row.key.is_empty() { row.key.clone() } else { row.input.clone() };
        say.cells(&row, name)
    });
    let code = subject.words().currency();
    let head = ["input", "today", "changes at", &format!("swing, {code}")].map(str::to_owned);
    let mut sections = vec![
        Section::sentences("", say.question()),
        Section::sentences("Plans", say.plans()).map(Section::closely),
        Section::table(head.to_vec(), rows.collect()),
        Section::sentences("", say.notes(flips.rows.len() - shown)),
    ];
    let first = say.names(&flips.replace_first);
    if !first.is_empty() {
        let words: Vec<String> = first.iter().map(|a| input_words(a)).collect();
        let text = format!("{}.", words.join("; "));
        sections.push(Section::sentences("Replace first", vec![text]).map(Section::closely));
    }
    if all {
        let [best, second] = [flips.best, flips.second].map(letter);
        let heading = format!("Without effect between {best} and {second}");
        let keys = say.names(&flips.without_effect).join("; ");
        sections.push(
            Section::sentences(&heading, vec![keys]).filter(|_| !flips.without_effect.is_empty()),
        );
    }
    let title = format!("{} (what changes the answer)", subject.scenario().title);
    View { title, sections: sections.into_iter().flatten().collect(), lines: usize::MAX }
}

/// A row as the page shows it.
pub(super) struct FlipLine {
    /// What it is, its value today, where the answer changes, its swing.
    pub cells: Vec<String>,
    /// Its least and greatest value as multiples of today's.
    pub range: Option<(f64, f64)>,
    /// Where the answer changes, as a multiple of today's value.
    pub change: Option<f64>,
}

/// The two plans that are held against each other, in sentences, and every row.
pub(super) fn flip_lines(subject: &Subject, flips: &Flips) -> (Vec<String>, Vec<FlipLine>) {
    let say = Say::new(subject, flips);
    let line = |flip: &Flip| {
        let row = say.row(flip);
        let name = row.input.clone();
        let times = |value: f64| flip.today.filter(|t| *t > 0.0).map(|today| value / today);
        let range = match flip.input {
            FlipInput::Slot(slot) => {
                let input = subject.scenario().slots.get(slot);
                let ends = [input.low, input.high].map(|v| times(v.quick_f64()));
                ends[0].zip(ends[1]).filter(|_| input.low < input.high)
            }
            _ => None,
        };
        let change = flip.change.place().and_then(times);
        FlipLine { cells: say.cells(&row, name), range, change }
    };
    (say.question(), flips.rows.iter().map(line).collect())
}

/// Every row as CSV with one header line.
///
/// # Errors
/// Only if the text cannot be written to memory.
pub fn flips_csv(subject: &Subject, flips: &Flips) -> Result<Vec<u8>, ::csv::Error> {
    let say = Say::new(subject, flips);
    let mut file = writer();
    file.write_record(COLUMNS)?;
    for flip in &flips.rows {
        let row = say.row(flip);
        let number = |value: Option<f64>| value.map_or(String::new(), plain);
        file.write_record([
            neutral(&row.key),
            neutral(&row.input),
            row.unit,
            number(row.today),
            number(row.changes_at),
            row.how.to_owned(),
            number(row.swing),
            subject.words().currency().to_owned(),
            if row.assumed { "yes" } else { "no" }.to_owned(),
        ])?;
    }
    finished(file)
}

/// A number for a file: nine significant digits.
fn plain(value: f64) -> String {
    let decimals = if value == 0.0 { 0 } else { decimals(value, 9) };
    let text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// Everything as one document.
#[derive(Serialize)]
struct Document<'s> {
    scenario: &'s str,
    currency: &'s str,
    planned: u32,
    best: &'s str,
    second: &'s str,
    difference: f64,
    rows: Vec<FlipRow>,
    replace_first: Vec<&'s str>,
    without_effect: Vec<&'s str>,
}

/// What changes the answer as one JSON document, ending in a line feed.
///
/// # Errors
/// Only if a number has no form in JSON, which no finite figure is.
pub fn flips_json(subject: &Subject, flips: &Flips) -> Result<String, serde_json::Error> {
    let say = Say::new(subject, flips);
    let rounded = |value: f64| plain(value).parse().unwrap_or(value);
    let rows = flips.rows.iter().map(|flip| {
        let row = say.row(flip);
        FlipRow {
            today: row.today.map(rounded),
            changes_at: row.changes_at.map(rounded),
            swing: row.swing.map(rounded),
            ..row
        }
    });
    let document = Document {
        scenario: &subject.scenario().name,
        currency: subject.words().currency(),
        planned: subject.answer.planned,
        best: &subject.plan(flips.best).plan.name,
        second: &subject.plan(flips.second).plan.name,
        difference: rounded(flips.less),
        rows: rows.collect(),
        replace_first: say.names(&flips.replace_first),
        without_effect: say.names(&flips.without_effect),
    };
    let mut text = serde_json::to_string_pretty(&document)?;
    text.push('\n');
    Ok(text)
}

/// Draws a map as a table: the first input grows to the right, the second downwards.
pub fn map_view(subject: &Subject, map: &FlipMap) -> View {
    let scenario = subject.scenario();
    let units = Units::new(scenario);
    let [across, down] = [map.across, map.down].map(|slot| {
        let unit = units.of(slot);
        let name = input_words(&scenario.slots.get(slot).address);
        let said = if unit.name.is_empty() { name } else { format!("{name}, {}", unit.name) };
        (said, unit.size, scenario.slots.get(slot).likely.quick_f64())
    });
    let marked = |value: f64, (_, size, today): &(String, f64, f64)| {
        let here = (value - today).abs() <= 1e-9 * today.abs();
        format!("{}{}", if here { ">" } else { "" }, figure_text(value / size))
    };
    let head: Vec<String> = std::iter::once(String::new())
        .chain(map.columns.iter().map(|&v| marked(v, &across)))
        .collect();
    let rows = map.rows.iter().zip(&map.cells).map(|(&value, cells)| {
        let letters = cells.iter().map(|c| c.map_or("-".to_owned(), |c| letter(c.plan)));
        std::iter::once(marked(value, &down)).chain(letters).collect()
    });
    let seen = |i: &usize| map.cells.iter().flatten().flatten().any(|c| c.plan == *i);
    let legend: Vec<String> =
        (0..map.plans.len()).filter(seen).map(|i| plan_line(i, &map.plans[i])).collect();
    let mut axes = vec![
        format!("To the right: {}.", across.0),
        format!("Downwards: {}. \">\" marks today's values.", down.0),
    ];
    if map.cells.iter().flatten().any(Option::is_none) {
        axes.push("\"-\": no plan can be carried out there, or a part's own count is above the planned one.".to_owned());
    }
    let sections = [
        Section::sentences("", axes),
        Section::table(head, rows.collect()),
        Section::sentences("Cheapest", legend),
    ];
    let title = format!("{} (cheapest plan over two inputs, late ones too)", scenario.title);
    View { title, sections: sections.into_iter().flatten().collect(), lines: usize::MAX }
}

/// A map as CSV: one line a cell, in the units of the terminal's map.
///
/// # Errors
/// Only if the text cannot be written to memory.
pub fn map_csv(subject: &Subject, map: &FlipMap) -> Result<Vec<u8>, ::csv::Error> {
    let scenario = subject.scenario();
    let units = Units::new(scenario);
    let axes = [map.across, map.down];
    let [across, down] = axes.map(|slot| units.of(slot));
    let [right, below] = axes.map(|slot| neutral(&scenario.slots.get(slot).address));
    let mut file = writer();
    file.write_record([&*right, "unit", &*below, "unit", "plan", "avoidable", "currency"])?;
    for (&row, cells) in map.rows.iter().zip(&map.cells) {
        for (&column, cell) in map.columns.iter().zip(cells) {
            let cost = cell.and_then(|c| Exact::of_float(c.avoidable));
            file.write_record([
                plain(column / across.size),
                across.name.clone(),
                plain(row / down.size),
                down.name.clone(),
                cell.map_or(String::new(), |c| neutral(&map.plans[c.plan].name)),
                cost.map_or(String::new(), |c| c.to_money(scenario.minor()).text(scenario.minor())),
                subject.words().currency().to_owned(),
            ])?;
        }
    }
    finished(file)
}
