//! How a project with a record stands: in sentences, as tables, and as an entry of the document.
//!
//! Enters: a subject whose scenario has a past. Leaves: what was spent, what is to go and what made the difference to the plan, by the
//! verdict's plan; and what the record teaches. Nothing is computed here.

use serde::Serialize;

use super::units::{Units, figure_text};
use super::{
    Section, Subject, View, dated, fixed, input_words, iterations, letter, listed, percent,
};
use crate::analysis::{ItemVariance, Standing, Variances, standing};
use crate::model::{Changed, Dates, Learned, Lesson, Money, Outcome, Past, Scenario};

/// Lessons told in a short view.
const FEW_LESSONS: usize = 2;
/// Decimals of quantities in tables.
const DECIMALS: u32 = 2;

/// How the project stands, in sentences; nothing without a record. With `all`, everything, else what fits a screen.
pub fn progress(subject: &Subject, all: bool) -> Option<Section> {
    let past = subject.scenario().past.as_ref()?;
    let mut said = vec![behind(subject, past)];
    if let Some(stands) = standing_of(subject) {
        said.push(money(subject, &stands));
        said.extend(stands.variances.as_ref().map(|v| difference(subject, v, all)));
    }
    let few = if all { usize::MAX } else { FEW_LESSONS };
    said.extend(lessons(subject, past, few));
    if !past.remarks.is_empty() {
        said.push(format!("Not in the record, taken as planned: {}.", past.remarks.join("; ")));
    }
    Some(Section::sentences("So far", said)?.at_least(2))
}

/// How the project stands by the verdict's plan.
fn standing_of(subject: &Subject) -> Option<Standing> {
    let verdict = subject.answer.verdict.as_ref()?;
    standing(subject.shop, subject.plan(verdict.plan))
}

fn behind(subject: &Subject, past: &Past) -> String {
    let of = |outcome: Outcome| past.outcomes.iter().filter(|o| **o == outcome).count();
    let failed = match of(Outcome::Failed) {
        0 => String::new(),
        n => format!(", {n} of them without a result"),
    };
    let word = match past.done {
        0 => "no iteration is behind".to_owned(),
        1 => format!("1 iteration is behind{failed}"),
        n => format!("{n} iterations are behind{failed}"),
    };
    let state = if past.accepted { ", and the design is accepted" } else { "" };
    let away = past.under_way.lots.len();
    let away = if away == 0 {
        String::new()
    } else {
        format!("; on order: {}", on_order(subject.scenario(), past))
    };
    format!("On {} {word}{state}{away}.", dated(past.today))
}

fn on_order(scenario: &Scenario, past: &Past) -> String {
    let lots: Vec<String> = past
        .under_way
        .lots
        .iter()
        .map(|lot| {
            format!("{} by {}", scenario.part(lot.part).name, scenario.route(lot.route).name)
        })
        .collect();
    listed(&lots)
}

fn money(subject: &Subject, stands: &Standing) -> String {
    let words = subject.words();
    let owed = if stands.committed.is_zero() {
        String::new()
    } else {
        format!(" ({} of it owed)", words.money(stands.committed))
    };
    format!(
        "Spent {}{owed}, to go {}, at completion {} {} (outlay {}, {} and {}).",
        words.money(stands.spent),
        words.money(stands.to_go),
        words.money(stands.at_completion()),
        words.currency(),
        words.money(stands.spent_outlay),
        words.money(stands.to_go_outlay),
        words.money(stands.outlay_at_completion()),
    )
}

fn signed(subject: &Subject, amount: Money) -> String {
    let text = subject.words().money(amount);
    if amount > Money::ZERO { format!("+{text}") } else { text }
}

fn difference(subject: &Subject, v: &Variances, all: bool) -> String {
    let (more, words) = (v.expected - v.planned, subject.words());
    let total = if more > Money::ZERO {
        format!("{} more than planned", words.money(more))
    } else if more.is_zero() {
        "As much as planned".to_owned()
    } else {
        format!("{} less than planned", words.money(more.abs()))
    };
    let counts = match v.counts {
        (first, now) if first == now => String::new(),
        (first, now) => format!(" ({first} planned at first, {now} now)"),
    };
    let how = if all { "" } else { " (--variances)" };
    format!(
        "{total} ({}): prices {}, quantities {}, iterations {}{counts}{how}.",
        words.money(v.planned),
        signed(subject, v.price),
        signed(subject, v.quantity),
        signed(subject, v.iterations),
    )
}

/// What a lesson is about, in words.
fn about(lesson: Lesson) -> &'static str {
    match lesson {
        Lesson::Spoil => "chance that a print is spoilt",
        Lesson::PrintTime => "print time",
        Lesson::Attended => "attended time",
        Lesson::Resin => "resin",
    }
}

fn lessons(subject: &Subject, past: &Past, few: usize) -> Option<String> {
    let scenario = subject.scenario();
    let mut told: Vec<String> = past.learned.iter().map(|l| lesson(scenario, l)).collect();
    let more = told.len().saturating_sub(few);
    if more > 0 {
        told.truncate(few);
        told.push(format!("{more} more (--variances)"));
    }
    let how = if past.applied { "Learnt" } else { "Learnt, and not applied" };
    (!told.is_empty()).then(|| format!("{how}: {}.", told.join("; ")))
}

fn lesson(scenario: &Scenario, learned: &Learned) -> String {
    let units = Units::new(scenario);
    let changes: Vec<String> = learned.changes.iter().take(1).map(|c| change(&units, c)).collect();
    let route = &scenario.route(learned.route).name;
    let more = match learned.changes.len() {
        0 | 1 => "",
        _ => " and more",
    };
    let (what, evidence) = (about(learned.about), &learned.evidence);
    let surprise = surprise(learned).map_or(String::new(), |s| format!(", {s}"));
    format!("{what}, {route}: {}{more} ({evidence}{surprise})", changes.join(", "))
}

fn change(units: &Units, change: &Changed) -> String {
    let unit = units.of(change.slot);
    let shown = |value: crate::model::Exact| figure_text(value.quick_f64() / unit.size);
    let name = if unit.name.is_empty() { String::new() } else { format!(" {}", unit.name) };
    format!("{} \u{2192} {}{name}", shown(change.old), shown(change.new))
}

fn surprise(learned: &Learned) -> Option<String> {
    let (more, chance) = learned.surprise?;
    let word = if more { "many or more" } else { "few or fewer" };
    Some(format!("so {word} had a chance of {}", percent(chance)))
}

/// The variances of what is behind by item, with what sums to the total; nothing without a record.
pub fn variance_table(subject: &Subject) -> Option<Section> {
    let stands = standing_of(subject)?;
    let v = stands.variances.as_ref()?;
    let head = [
        "more than planned",
        "planned",
        "recorded",
        "by the sheets",
        "price",
        "quantity",
        "iterations",
    ];
    let money = |m: Money| m.text(subject.scenario().minor());
    let row = |i: &ItemVariance| {
        let (planned, recorded) = match i.quantities {
            Some((planned, actual, unit)) => {
                let shown = |q| format!("{} {unit}", fixed(q, DECIMALS));
                (
                    format!("{} ({})", money(i.planned), shown(planned)),
                    format!("{} ({})", money(i.actual), shown(actual)),
                )
            }
            None => (money(i.planned), money(i.actual)),
        };
        vec![
            i.name.clone(),
            planned,
            recorded,
            money(i.at_list),
            money(i.price()),
            money(i.quantity()),
            String::new(),
        ]
    };
    let mut rows: Vec<Vec<String>> = v.items.iter().map(row).collect();
    let none = String::new;
    rows.push(vec![
        "still to go".to_owned(),
        none(),
        none(),
        none(),
        none(),
        money(v.to_go),
        none(),
    ]);
    let counts = format!("{} in place of {}", iterations(v.counts.1), v.counts.0);
    rows.push(vec![counts, none(), none(), none(), none(), none(), money(v.iterations)]);
    rows.push(vec![
        format!("together {}", money(v.expected - v.planned)),
        money(v.planned),
        money(v.expected),
        none(),
        money(v.price),
        money(v.quantity),
        money(v.iterations),
    ]);
    Section::table(head.map(str::to_owned).to_vec(), rows)
}

/// Every number the record has changed, with what it rests on; nothing where it has taught nothing.
pub fn learned_table(subject: &Subject) -> Option<Section> {
    let scenario = subject.scenario();
    let past = scenario.past.as_ref()?;
    let units = Units::new(scenario);
    let mut rows = Vec::new();
    for learned in &past.learned {
        for (at, changed) in learned.changes.iter().enumerate() {
            let unit = units.of(changed.slot);
            let shown = |value: crate::model::Exact| {
                format!("{} {}", figure_text(value.quick_f64() / unit.size), unit.name)
                    .trim()
                    .to_owned()
            };
            let why = if at == 0 { reasons(learned) } else { "the same".to_owned() };
            let address = &scenario.slots.get(changed.slot).address;
            rows.push(vec![address.clone(), shown(changed.old), shown(changed.new), why]);
        }
    }
    let head = ["learnt", "planned", "expected", "because"].map(str::to_owned).to_vec();
    Some(Section::table(head, rows)?.with_words(&[3]))
}

fn reasons(learned: &Learned) -> String {
    let mut why = learned.evidence.clone();
    if let Some(surprise) = surprise(learned) {
        why.push_str(&format!("; {surprise}"));
    }
    if let Some(error) = learned.error {
        why.push_str(&format!("; predictions are off by {}", minutes(error)));
    }
    why
}

fn minutes(seconds: f64) -> String {
    if seconds < 60.0 { format!("{seconds:.0} s") } else { format!("{:.1} min", seconds / 60.0) }
}

/// The iterations that are behind: dates and what came of them.
pub fn behind_table(subject: &Subject) -> Option<Section> {
    let past = subject.scenario().past.as_ref()?;
    let words = subject.words();
    let cost = |n: u32| -> Money {
        let own = past.entries.iter().filter(|e| e.iteration == n && e.is_cost());
        own.map(|e| e.amount).sum()
    };
    let row = |(date, outcome): (&Dates, &Outcome)| {
        vec![
            format!("iteration {}", date.iteration),
            words.plain_date(date.release),
            words.plain_date(date.in_hand),
            outcome_word(*outcome).to_owned(),
            cost(date.iteration).text(subject.scenario().minor()),
        ]
    };
    let rows = past.dates.iter().zip(&past.outcomes).map(row).collect();
    let head = ["behind", "begun", "in hand", "outcome", "spent"].map(str::to_owned).to_vec();
    Some(Section::table(head, rows)?.with_words(&[3]))
}

fn outcome_word(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Accepted => "accepted",
        Outcome::Redesign => "redesign",
        Outcome::Failed => "failed",
        Outcome::Open => "in hand",
    }
}

/// Everything about how the project stands, as a view of its own.
pub fn progress_view(subject: &Subject) -> View {
    let plan = subject.answer.verdict.as_ref().map(|v| format!(", plan {}", letter(v.plan)));
    let sections = progress_sections(subject);
    let title = format!("{}: how it stands{}", subject.scenario().title, plan.unwrap_or_default());
    View { title, sections, lines: usize::MAX }
}

/// The sections of how a project stands; none without a record.
pub fn progress_sections(subject: &Subject) -> Vec<Section> {
    let all = [
        progress(subject, true),
        behind_table(subject),
        variance_table(subject),
        learned_table(subject),
    ];
    all.into_iter().flatten().collect()
}

// ---- the document ----

#[derive(Serialize)]
pub(super) struct RecordEntry<'s> {
    today: String,
    done: u32,
    accepted: bool,
    planned_at_first: u32,
    outcomes: Vec<&'static str>,
    spent: String,
    committed: String,
    to_go: String,
    at_completion: String,
    outlay: OutlayEntry,
    variances: Option<VariancesEntry>,
    learned: Vec<LearnedEntry<'s>>,
    learned_applied: bool,
    as_planned: &'s [String],
}

#[derive(Serialize)]
struct OutlayEntry {
    spent: String,
    to_go: String,
    at_completion: String,
}

#[derive(Serialize)]
struct VariancesEntry {
    planned: String,
    expected: String,
    total: String,
    price: String,
    quantity: String,
    iterations: String,
    to_go: String,
    items: Vec<ItemEntry>,
}

#[derive(Serialize)]
struct ItemEntry {
    item: String,
    planned: String,
    by_the_sheets: String,
    recorded: String,
    price: String,
    quantity: String,
    planned_quantity: Option<String>,
    recorded_quantity: Option<String>,
    unit: Option<&'static str>,
}

#[derive(Serialize)]
struct LearnedEntry<'s> {
    about: &'static str,
    route: &'s str,
    changes: Vec<ChangedEntry<'s>>,
    evidence: &'s str,
    /// The chance of so many failures or more, or so few or fewer.
    surprise: Option<f64>,
    /// What predictions are off by, in seconds.
    off_by_s: Option<f64>,
}

#[derive(Serialize)]
struct ChangedEntry<'s> {
    key: &'s str,
    what: String,
    old: String,
    new: String,
}

/// How the project stands, for the document; `None` without a record or a verdict.
pub(super) fn record_entry<'s>(subject: &Subject<'s>) -> Option<RecordEntry<'s>> {
    let scenario = subject.scenario();
    let past = scenario.past.as_ref()?;
    let stands = standing_of(subject)?;
    let money = |m: Money| m.text(scenario.minor());
    Some(RecordEntry {
        today: crate::analysis::date_text(past.today),
        done: past.done,
        accepted: past.accepted,
        planned_at_first: past.planned,
        outcomes: past.outcomes.iter().map(|o| outcome_word(*o)).collect(),
        spent: money(stands.spent),
        committed: money(stands.committed),
        to_go: money(stands.to_go),
        at_completion: money(stands.at_completion()),
        outlay: OutlayEntry {
            spent: money(stands.spent_outlay),
            to_go: money(stands.to_go_outlay),
            at_completion: money(stands.outlay_at_completion()),
        },
        variances: stands.variances.as_ref().map(|v| variances_entry(v, &money)),
        learned: past.learned.iter().map(|l| learned_entry(scenario, l)).collect(),
        learned_applied: past.applied,
        as_planned: &past.remarks,
    })
}

fn variances_entry(v: &Variances, money: &dyn Fn(Money) -> String) -> VariancesEntry {
    let item = |i: &ItemVariance| ItemEntry {
        item: i.name.clone(),
        planned: money(i.planned),
        by_the_sheets: money(i.at_list),
        recorded: money(i.actual),
        price: money(i.price()),
        quantity: money(i.quantity()),
        planned_quantity: i.quantities.map(|q| q.0.half_away(6).to_string()),
        recorded_quantity: i.quantities.map(|q| q.1.half_away(6).to_string()),
        unit: i.quantities.map(|q| q.2),
    };
    VariancesEntry {
        planned: money(v.planned),
        expected: money(v.expected),
        total: money(v.expected - v.planned),
        price: money(v.price),
        quantity: money(v.quantity),
        iterations: money(v.iterations),
        to_go: money(v.to_go),
        items: v.items.iter().map(item).collect(),
    }
}

fn learned_entry<'s>(scenario: &'s Scenario, learned: &'s Learned) -> LearnedEntry<'s> {
    let change = |c: &Changed| {
        let key = scenario.slots.get(c.slot).address.as_str();
        ChangedEntry { key, what: input_words(key), old: c.old.to_string(), new: c.new.to_string() }
    };
    LearnedEntry {
        about: about(learned.about),
        route: &scenario.route(learned.route).name,
        changes: learned.changes.iter().map(change).collect(),
        evidence: &learned.evidence,
        surprise: learned.surprise.map(|s| s.1),
        off_by_s: learned.error,
    }
}
