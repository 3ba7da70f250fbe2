//! What the samples say: chances and ranges of each plan, and what it would be worth to know more.

use super::{Section, tables};
use crate::analysis::{Distribution, Estimate, Sampled, SampledPlan};
use crate::model::{DAY, Exact};
use crate::report::{Subject, Words, letter, percent};

/// Chances and ranges of the shown plans.
pub(super) fn table(subject: &Subject, shown: &[usize]) -> Option<Section> {
    laid_out(subject, shown, &columns(subject))
}

/// Means with their errors and medians of the shown plans.
pub(super) fn means(subject: &Subject, shown: &[usize]) -> Option<Section> {
    let columns: [Column; 6] = [
        ("mean cost", |s, p| money(&s.words(), p.avoidable.mean.value)),
        ("its error", |_, p| format!("{:.1}", p.avoidable.mean.se)),
        ("half below", |s, p| money(&s.words(), p.avoidable.p50)),
        ("outlay", |s, p| range(&p.outlay, |v| money(&s.words(), v))),
        ("mean days", |_, p| format!("{:.1}", p.days.mean.value)),
        ("half below", |_, p| format!("{:.1}", p.days.p50)),
    ];
    laid_out(subject, shown, &columns)
}

fn laid_out(subject: &Subject, shown: &[usize], columns: &[Column]) -> Option<Section> {
    let sampled = subject.answer.sampled.as_ref()?;
    let head = std::iter::once(samples(sampled)).chain(columns.iter().map(|c| c.0.to_owned()));
    let row = |&index: &usize| {
        let plan = sampled.plans.get(index)?;
        let cells = columns.iter().map(|c| (c.1)(subject, plan));
        Some(std::iter::once(tables::marked(subject, index)).chain(cells).collect())
    };
    Section::table(head.collect(), shown.iter().filter_map(row).collect())
}

/// A column: its heading, and what stands in it.
pub(super) type Column = (&'static str, fn(&Subject, &SampledPlan) -> String);

/// The columns of chances and ranges.
pub(super) fn columns(subject: &Subject) -> Vec<Column> {
    let scenario = subject.scenario();
    let mut columns: Vec<Column> = vec![("cheapest", |_, p| percent(p.cheapest.value))];
    columns.push(("fastest", |_, p| percent(p.fastest.value)));
    if scenario.due.is_some() {
        columns.push(("in time", |_, p| chance(p.due)));
    }
    if scenario.budget.is_some() {
        columns.push(("in budget", |_, p| chance(p.budget)));
    }
    columns.push(("cost", |s, p| range(&p.avoidable, |v| money(&s.words(), v))));
    columns.push(("days", |_, p| range(&p.days, |v| format!("{v:.0}"))));
    columns.push(("regret", |s, p| money(&s.words(), p.regret.value)));
    columns
}

fn samples(sampled: &Sampled) -> String {
    let cut = if sampled.samples < sampled.asked { " (stopped)" } else { "" };
    format!("{} samples{cut}", sampled.samples)
}

fn chance(of: Option<Estimate>) -> String {
    of.map_or(String::new(), |c| percent(c.value))
}

/// A tenth is below the first, a tenth above the last.
fn range(of: &Distribution, text: impl Fn(f64) -> String) -> String {
    if of.p10.is_nan() {
        return "-".to_owned();
    }
    format!("{}..{}", text(of.p10), text(of.p90))
}

/// A sampled amount in as many decimals as others.
fn money(words: &Words, value: f64) -> String {
    words.about(value)
}

/// In sentences: the counts drawn, the date, the budget, what knowing everything would be worth.
pub(super) fn sentences(subject: &Subject, all: bool) -> Option<Section> {
    let sampled = subject.answer.sampled.as_ref()?;
    let verdict = subject.answer.verdict.as_ref()?;
    let plan = sampled.plans.get(verdict.plan)?;
    let said = vec![
        format!("{} {}", drawn(sampled), dates(subject, plan)),
        format!("{}{}", worth(subject, sampled), reserve(subject, plan)),
    ];
    let mut section = Section::sentences("Drawn", said)?;
    if all && let crate::report::Body::Sentences(said) = &mut section.body {
        said.extend(details(subject, sampled));
    }
    Some(section)
}

fn drawn(sampled: &Sampled) -> String {
    let counts = &sampled.counts;
    let cut = if sampled.cut > 0.0 {
        format!(", {} cut at the horizon", percent(sampled.cut))
    } else {
        String::new()
    };
    format!("{:.0} to {:.0} iterations (P10..P90){cut}.", counts.p10, counts.p90)
}

fn dates(subject: &Subject, plan: &SampledPlan) -> String {
    let at = |days: f64| {
        let seconds = Exact::of_float(days * DAY as f64).map_or(0, Exact::to_whole);
        subject.words().date(subject.shop.start + seconds)
    };
    let sure = percent(subject.shop.values.exact(subject.scenario().sure).to_f64_lossy());
    if plan.days.p50.is_nan() {
        return "The plan could not be carried out in any sample.".to_owned();
    }
    format!("In hand: half by {}, {sure} by {}.", at(plan.days.p50), at(plan.days.sure))
}

fn worth(subject: &Subject, sampled: &Sampled) -> String {
    let worth = money(&subject.words(), sampled.evpi.value);
    let worst =
        sampled.plans.iter().flat_map(|p| [p.cheapest.se, p.fastest.se]).fold(0.0, f64::max);
    // Two standard errors, in whole percentage points.
    let points = (200.0 * worst).ceil().max(1.0);
    let unit = if points > 1.0 { "points" } else { "point" };
    format!("Knowing all beforehand is worth {worth} (chances to {points} {unit}).")
}

fn reserve(subject: &Subject, plan: &SampledPlan) -> String {
    let words = subject.words();
    let of = &plan.outlay;
    if subject.scenario().budget.is_none() || of.p50.is_nan() {
        return String::new();
    }
    let (half, most) = (money(&words, of.p50), money(&words, of.p80));
    format!(" Outlay: half {half}, 80 % {most}, reserve {}.", money(&words, of.p80 - of.p50))
}

fn details(subject: &Subject, sampled: &Sampled) -> Vec<String> {
    let hidden = subject.answer.plans.len() - sampled.plans.len();
    let mut said = vec![format!(
        "cost, outlay: avoidable cost and money leaving at the drawn count with the final; days: start to in hand; each from P10 to P90. \
         regret: what a plan costs more than the cheapest of each sample, on average. Seed {}.",
        sampled.seed
    )];
    if hidden > 0 {
        said.push(format!("{hidden} dearer plans are not sampled."));
    }
    for (index, plan) in sampled.plans.iter().enumerate().filter(|(_, p)| p.stopped > 0.0) {
        let share = percent(plan.stopped);
        said.push(format!("{} could not be carried out in {share} of the samples.", letter(index)));
    }
    said
}

/// A chance of being in time in the verdict's sentence: `in time with 89 %`.
pub(super) fn due(subject: &Subject, plan: usize) -> Option<(f64, Exact)> {
    let due = subject.answer.sampled.as_ref()?.plans.get(plan)?.due?;
    Some((due.value, subject.shop.values.exact(subject.scenario().sure)))
}
