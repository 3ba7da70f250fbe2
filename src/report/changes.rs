//! What changed between two runs, as a view and as JSON.

use serde::Serialize;

use super::json::days;
use super::units::{Units, figure_text};
use super::words::grouped;
use super::{Section, View, fixed, input_words, listed};
use crate::analysis::{Came, Changes, Moved, Number, Other};
use crate::input::Run;
use crate::model::{DAY, Exact, Scenario};

/// What is no number stands under this name.
const OTHERS: &str = "what is no number";
/// Texts are shown so long.
const TEXT: usize = 40;
/// Changes that are no numbers, told one by one.
const MOST: usize = 20;

/// Two runs of a scenario and what is between them.
#[derive(Clone, Copy, Debug)]
pub struct Between<'b> {
    /// The scenario as it stands.
    pub scenario: &'b Scenario,
    /// What changed.
    pub changes: &'b Changes,
    /// The older run and the newer one.
    pub runs: (&'b Run, &'b Run),
    /// The number of the older run.
    pub from: usize,
    /// The number of the newer one; `None` for the scenario as it stands.
    pub to: Option<usize>,
}

impl Between<'_> {
    fn newer(&self) -> String {
        self.to.map_or_else(|| "now".to_owned(), |line| format!("run {line}"))
    }

    fn money(&self, amount: Exact) -> String {
        grouped(&fixed(amount, self.scenario.minor()))
    }

    fn more(&self, amount: Exact) -> String {
        let sign = if amount > Exact::ZERO { "+" } else { "" };
        format!("{sign}{}", self.money(amount))
    }

    /// What a verdict was, in one sentence.
    fn came(&self, name: &str, came: Option<&Came>, run: &Run) -> String {
        let Some(came) = came else {
            return format!("{name}: no plan was feasible.");
        };
        let code = &run.currency;
        let at = run.verdict.as_ref().and_then(|v| v.in_hand.as_ref());
        let days = exact_days(came.seconds);
        let at = at.map_or(format!("after {days} days"), |at| format!("on {at} after {days} days"));
        format!(
            "{name}: {}: {} {code} avoidable, outlay {}, in hand {at}.",
            came.plan,
            self.money(came.avoidable),
            self.money(came.outlay),
        )
    }

    /// The whole difference, and what tipped the verdict.
    fn difference(&self) -> Vec<String> {
        let changes = self.changes;
        let (Some(was), Some(is)) = (&changes.before, &changes.after) else {
            return vec!["Without two verdicts no amounts can be attributed.".to_owned()];
        };
        let mut said = vec![format!(
            "Difference: {} avoidable, outlay {}, {} days.",
            self.more(is.avoidable - was.avoidable),
            self.more(is.outlay - was.outlay),
            more_days(is.seconds - was.seconds)
        )];
        said.push(match changes.tipped {
            Some(index) => {
                let what = self.name(&changes.moved[index], true);
                format!("The verdict is another plan; tipped by: {what}.")
            }
            None => "The verdict is the same plan.".to_owned(),
        });
        said
    }

    /// What moved, in words.
    fn name(&self, moved: &Moved, with_key: bool) -> String {
        let mut names: Vec<String> = Vec::new();
        if moved.others {
            names.push(OTHERS.to_owned());
        }
        names.extend(moved.numbers.iter().map(|number| {
            let input = self.scenario.slots.get(number.slot);
            let words = input_words(&input.address);
            let source = self.scenario.source(input.source);
            let place = source.split(' ').next().filter(|p| with_key && p.contains(':'));
            place.map_or(words.clone(), |place| format!("{words} ({place})"))
        }));
        listed(&names)
    }

    /// A plan by the verdict it is, or by its name.
    fn whose(&self, plan: &str) -> String {
        let is = |came: &Option<Came>| came.as_ref().is_some_and(|came| came.plan == plan);
        if is(&self.changes.after) {
            format!("that of {}", self.newer())
        } else if is(&self.changes.before) {
            format!("that of run {}", self.from)
        } else {
            plan.to_owned()
        }
    }

    fn values(&self, moved: &Moved) -> [String; 2] {
        let units = Units::new(self.scenario);
        match moved.numbers.as_slice() {
            [number] => shown(&units, number),
            _ => [String::new(), String::new()],
        }
    }
}

/// The values of a number before and after; where the likely one stayed, its range.
fn shown(units: &Units, number: &Number) -> [String; 2] {
    let unit = units.of(number.slot);
    let blank = if unit.name.is_empty() { "" } else { " " };
    let text = |v: Exact| figure_text(v.quick_f64() / unit.size);
    let only_range = number.before[1] == number.after[1];
    [number.before, number.after].map(|[low, likely, high]| {
        if only_range {
            format!("{}..{}{blank}{}", text(low), text(high), unit.name)
        } else {
            format!("{}{blank}{}", text(likely), unit.name)
        }
    })
}

fn exact_days(seconds: i64) -> String {
    fixed(Exact::from(seconds) / Exact::from(DAY), 1)
}

fn more_days(seconds: i64) -> String {
    let sign = if seconds > 0 { "+" } else { "" };
    format!("{sign}{}", exact_days(seconds))
}

/// Says what changed between two runs.
pub fn changes_view(between: &Between) -> View {
    let changes = between.changes;
    let (older, newer) = (format!("run {}", between.from), between.newer());
    let title = format!("{} (what changed from {older} to {newer})", between.scenario.title);
    let sections = if changes.is_empty() {
        let earlier = if between.from > 1 { "; --from names an earlier run" } else { "" };
        vec![Section::sentences("", vec![format!("Nothing that can matter changed{earlier}.")])]
    } else {
        let capital = |text: &str| text[..1].to_uppercase() + &text[1..];
        let mut said = vec![
            between.came(&capital(&older), changes.before.as_ref(), between.runs.0),
            between.came(&capital(&newer), changes.after.as_ref(), between.runs.1),
        ];
        said.extend(between.difference());
        vec![Section::sentences("", said), table(between), others(between)]
    };
    View { title, sections: sections.into_iter().flatten().collect(), lines: usize::MAX }
}

fn table(between: &Between) -> Option<Section> {
    let head = ["change", "before", "after", "avoidable", "outlay", "days", "plan"];
    let changes = between.changes;
    let known = changes.before.is_some() && changes.after.is_some();
    let row = |(index, moved): (usize, &Moved)| {
        let mark = if changes.tipped == Some(index) { ">" } else { " " };
        let [before, after] = between.values(moved);
        let figure = |text: String| if known { text } else { String::new() };
        vec![
            format!("{mark} {}", between.name(moved, false)),
            before,
            after,
            figure(between.more(moved.avoidable)),
            figure(between.more(moved.outlay)),
            figure(more_days(moved.seconds)),
            moved.plan.as_ref().map_or(String::new(), |plan| between.whose(plan)),
        ]
    };
    let mut rows: Vec<Vec<String>> = changes.moved.iter().enumerate().map(row).collect();
    if rows.is_empty() {
        return None;
    }
    if known {
        let sum = |of: fn(&Moved) -> Exact| changes.moved.iter().map(of).sum::<Exact>();
        rows.push(vec![
            "  in all".to_owned(),
            String::new(),
            String::new(),
            between.more(sum(|m| m.avoidable)),
            between.more(sum(|m| m.outlay)),
            more_days(changes.moved.iter().map(|m| m.seconds).sum()),
            String::new(),
        ]);
    }
    Some(Section::table(head.map(str::to_owned).to_vec(), rows)?.with_words(&[6]))
}

fn others(between: &Between) -> Option<Section> {
    let mut said: Vec<String> = between
        .changes
        .others
        .iter()
        .take(MOST)
        .map(|other| format!("{}.", other_text(other)))
        .collect();
    let more = between.changes.others.len() - said.len();
    if more > 0 {
        said.push(format!("And {more} more (--json has all)."));
    }
    Section::sentences("No numbers", said)
}

fn other_text(other: &Other) -> String {
    let said = |text: &Option<String>| match text {
        None => "nothing".to_owned(),
        Some(text) if text.chars().count() > TEXT => {
            format!("`{}...`", text.chars().take(TEXT).collect::<String>())
        }
        Some(text) => format!("`{text}`"),
    };
    match other {
        Other::Came(key) => format!("new: {}", thing(key)),
        Other::Went(key) => format!("gone: {}", thing(key)),
        Other::Text { key, before, after } => {
            format!("{}: {} before, {} after", text_words(key), said(before), said(after))
        }
        Other::File(name) => format!("{name} has another content"),
        Other::Asked { option, before, after } => {
            format!("--{option}: {} before, {} after", said(before), said(after))
        }
        Other::Version { before, after } => format!("flipcount {before} before, {after} after"),
    }
}

/// A text by its whole key and what it belongs to: `must.opaque` of part `collar`.
fn text_words(key: &str) -> String {
    match key.rsplit_once("].") {
        Some((owner, rest)) => format!("{rest} of {}", thing(&format!("{owner}]"))),
        None => key.to_owned(),
    }
}

/// A thing, or a number of one: `route[x]` is route `x`.
fn thing(key: &str) -> String {
    let words = input_words(key);
    words.strip_prefix("value of ").map(str::to_owned).unwrap_or(words)
}

#[derive(Serialize)]
struct Document<'s> {
    scenario: &'s str,
    currency: &'s str,
    from: usize,
    /// Null for the scenario as it stands.
    to: Option<usize>,
    before: Option<CameEntry<'s>>,
    after: Option<CameEntry<'s>>,
    /// Null where one of the verdicts is missing.
    difference: Option<Difference>,
    changes: Vec<Entry<'s>>,
    /// The index, from 1, of the change that tipped the verdict; null where the plan is the same.
    tipped: Option<usize>,
    no_numbers: Vec<String>,
}

#[derive(Serialize)]
struct CameEntry<'s> {
    plan: &'s str,
    assign: &'s std::collections::BTreeMap<String, String>,
    avoidable: String,
    outlay: String,
    days: f64,
}

#[derive(Serialize)]
struct Difference {
    avoidable: String,
    outlay: String,
    days: f64,
}

#[derive(Serialize)]
struct Entry<'s> {
    /// The numbers exchanged; empty for what is no number.
    numbers: Vec<NumberEntry<'s>>,
    /// True where what is no number is in it.
    others: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    moved: Option<Difference>,
    /// The plan of the verdict after it; null where it stays the same.
    plan: Option<&'s str>,
}

/// A number in the unit it is shown in; low, likely and high.
#[derive(Serialize)]
struct NumberEntry<'s> {
    key: &'s str,
    source: &'s str,
    unit: String,
    before: [f64; 3],
    after: [f64; 3],
}

/// The changes as one JSON document, ending in a line feed.
///
/// # Errors
/// Only if a number has no form in JSON, which no finite figure is.
pub fn changes_json(between: &Between) -> Result<String, serde_json::Error> {
    let changes = between.changes;
    let units = Units::new(between.scenario);
    let minor = between.scenario.minor();
    let difference = |avoidable, outlay, seconds| Difference {
        avoidable: fixed(avoidable, minor),
        outlay: fixed(outlay, minor),
        days: days(seconds),
    };
    let known = changes.before.as_ref().zip(changes.after.as_ref());
    let entry = |moved: &'_ Moved| difference(moved.avoidable, moved.outlay, moved.seconds);
    let document = Document {
        scenario: &between.scenario.name,
        currency: &between.runs.1.currency,
        from: between.from,
        to: between.to,
        before: changes.before.as_ref().map(|c| came_entry(c, minor)),
        after: changes.after.as_ref().map(|c| came_entry(c, minor)),
        difference: known.map(|(a, b)| {
            difference(b.avoidable - a.avoidable, b.outlay - a.outlay, b.seconds - a.seconds)
        }),
        changes: changes
            .moved
            .iter()
            .map(|moved| Entry {
                numbers: moved.numbers.iter().map(|n| number(between, &units, n)).collect(),
                others: moved.others,
                moved: known.map(|_| entry(moved)),
                plan: moved.plan.as_deref(),
            })
            .collect(),
        tipped: changes.tipped.map(|index| index + 1),
        no_numbers: changes.others.iter().map(other_text).collect(),
    };
    let mut text = serde_json::to_string_pretty(&document)?;
    text.push('\n');
    Ok(text)
}

fn came_entry(came: &Came, minor: u32) -> CameEntry<'_> {
    CameEntry {
        plan: &came.plan,
        assign: &came.assign,
        avoidable: fixed(came.avoidable, minor),
        outlay: fixed(came.outlay, minor),
        days: days(came.seconds),
    }
}

fn number<'s>(between: &Between<'s>, units: &Units, number: &Number) -> NumberEntry<'s> {
    let input = between.scenario.slots.get(number.slot);
    let unit = units.of(number.slot);
    let in_unit = |spread: [Exact; 3]| spread.map(|v| v.quick_f64() / unit.size);
    NumberEntry {
        key: &input.address,
        source: between.scenario.source(input.source),
        before: in_unit(number.before),
        after: in_unit(number.after),
        unit: unit.name,
    }
}
