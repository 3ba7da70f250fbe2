//! The two charts of the first screen: cost against iterations, and when each plan is in hand.

use maud::{Markup, html};

use super::super::chart::{DateBar, DateBars, Head, Line, LineChart, Mark, date_bars, line_chart};
use super::super::view::pair_sentence;
use super::super::{capital, dated, days_text, letter, listed};
use super::data::total_name;
use super::extras::Page;
use super::frame::{figure, opened, table};
use super::ticks::{count_ticks, day_ticks};
use crate::analysis::{BreakEven, By, TOTALS, days};
use crate::ledger::Total;
use crate::model::{DAY, Exact, Money};

/// Most break-evens that are marked.
const MOST_MARKS: usize = 3;
/// Height of the cost chart.
const HEIGHT: f64 = 262.0;

/// Cumulative cost against iterations, once for each total; the script shows the chosen one.
pub(super) fn cost(page: &Page) -> Markup {
    html! {
        section #cost aria-labelledby="cost-h" {
            h2 #cost-h { "Cost after each iteration" }
            @for total in TOTALS {
                div data-t=(total_name(total)) hidden[total != Total::Avoidable] { (one(page, total)) }
            }
        }
    }
}

fn one(page: &Page, total: Total) -> Markup {
    let name = total_name(total);
    let pairs = pairs(page, total);
    let horizon = page.subject.answer.horizon;
    let points = |curve: &[Money]| -> Vec<(f64, f64)> {
        (1u32..).zip(curve).map(|(n, m)| (f64::from(n), m.exact().to_f64_lossy())).collect()
    };
    let line = |(look, plan): (usize, &crate::analysis::PlanResult)| Line {
        style: look,
        name: page.letter(look),
        key: format!("{look}.{name}"),
        points: points(plan.curves.money(total)),
    };
    let counts = page.subject.answer.sampled.as_ref().map(|s| s.counts);
    let title = format!("{} cost after each iteration", capital(name));
    let chart = LineChart {
        head: Head::new(&format!("cost-{name}"), &title, &desc(page, &pairs)),
        x_name: "iterations".to_owned(),
        y_name: format!("{}, {name}", page.words.currency()),
        x_ticks: count_ticks(horizon),
        lines: page.plans().map(line).collect(),
        band: counts.map(|c| (c.p10, c.p90, format!("likely {:.0} to {:.0}", c.p10, c.p90))),
        marks: pairs.iter().take(MOST_MARKS).filter_map(|p| mark(page, p, total)).collect(),
        now: page.now(),
        upright: true,
        height: HEIGHT,
    };
    figure(&line_chart(&chart), &said(page, &pairs, total), &figures(page, total))
}

/// The pairs that the verdict's plan is in, for totals whose break-evens are known.
fn pairs<'a>(page: &Page<'a>, total: Total) -> Vec<&'a BreakEven> {
    let answer = page.subject.answer;
    let by = match total {
        Total::Avoidable => By::Avoidable,
        Total::Outlay => By::Outlay,
        Total::Consumed => return Vec::new(),
    };
    let Some(verdict) = answer.verdict.as_ref().map(|v| v.plan) else {
        return Vec::new();
    };
    let concerns = |p: &&BreakEven| {
        let other = if p.a == verdict { p.b } else { p.a };
        p.by == by && (p.a == verdict || p.b == verdict) && page.look(other).is_some()
    };
    answer.break_even.iter().filter(concerns).collect()
}

/// The place from which one plan stays cheaper.
fn mark(page: &Page, pair: &BreakEven, total: Total) -> Option<Mark> {
    let (cheaper, from) = (pair.cheaper_after?, pair.stays_from?);
    let other = if cheaper == pair.a { pair.b } else { pair.a };
    if pair.crossings.is_empty() {
        return None;
    }
    let curve = page.subject.plan(cheaper).curves.money(total);
    let y = curve.get(from as usize - 1)?.exact().to_f64_lossy();
    let name = format!("{} below {} from {from}", letter(cheaper), letter(other));
    Some(Mark { x: f64::from(from), y, name })
}

fn desc(page: &Page, pairs: &[&BreakEven]) -> String {
    let letters: Vec<String> = page.shown.iter().map(|&i| letter(i)).collect();
    format!("Lines of plans {}. {}", listed(&letters), break_evens(page, pairs))
}

fn break_evens(page: &Page, pairs: &[&BreakEven]) -> String {
    let horizon = page.subject.answer.horizon;
    let said = pairs.iter().map(|p| format!("{}.", pair_sentence(p, &letter, horizon)));
    said.collect::<Vec<String>>().join(" ")
}

fn said(page: &Page, pairs: &[&BreakEven], total: Total) -> String {
    let last = if page.subject.has_final() { "The final is not in the lines. " } else { "" };
    let band = match &page.subject.answer.sampled {
        Some(_) => "Shaded: the counts of four in five samples (P10 to P90). ",
        None => "",
    };
    let working = page.plans().any(|(_, p)| p.unproven.is_some());
    let working = if working { "Lines are those of unproven routes working. " } else { "" };
    let crossings = match total {
        Total::Consumed => "Break-evens are worked out for avoidable cost and outlay.".to_owned(),
        _ => break_evens(page, pairs),
    };
    format!("{last}{band}{working}{crossings}")
}

fn figures(page: &Page, total: Total) -> Markup {
    let head = std::iter::once("iterations".to_owned())
        .chain(page.shown.iter().map(|&i| format!("{}, {}", letter(i), page.words.currency())));
    let row = |n: usize| {
        let cells = page.plans().map(|(_, p)| {
            let at = p.curves.money(total).get(n);
            at.map_or(String::new(), |&m| page.words.money(m))
        });
        std::iter::once((n + 1).to_string()).chain(cells).collect()
    };
    let rows: Vec<Vec<String>> = (0..page.subject.answer.horizon as usize).map(row).collect();
    let head: Vec<String> = head.collect();
    let name = format!("{} cost after each iteration", capital(total_name(total)));
    opened("Figures", &table(&name, &head, &rows, &[]))
}

/// When each plan is in hand, with the due date and the range of the samples.
pub(super) fn dates(page: &Page) -> Markup {
    let subject = page.subject;
    let start = subject.shop.start;
    let bars: Vec<DateBar> = page.plans().map(|(look, _)| bar(page, look)).collect();
    let due = subject.scenario().due.map(|due| {
        let at = ((due + 1) * DAY - start) as f64 / DAY as f64;
        (at, format!("due {}", dated(due)))
    });
    let ends = bars.iter().flat_map(|b| [b.clean, b.drawn.map_or(0.0, |d| d[2])]);
    let most = ends.filter(|e| e.is_finite()).fold(due.as_ref().map_or(0.0, |d| d.0), f64::max);
    let sampled = subject.answer.sampled.is_some();
    let desc = if sampled {
        "For each plan a bar to the date without failures and a line from P10 to P90 of the samples, P50 marked."
    } else {
        "For each plan a bar to the date without failures."
    };
    let chart = DateBars {
        head: Head::new("dates-c", "When each plan is in hand", desc),
        ticks: day_ticks(subject, most, 6.0),
        due,
        bars,
    };
    let said = format!(
        "Bars: in hand without failures at {}. {}Not moved by the slider.",
        page.at_planned(),
        if sampled { "Lines below: P10 to P90 of the samples, dot at P50. " } else { "" }
    );
    html! {
        section #dates aria-labelledby="dates-h" {
            h2 #dates-h { "In hand" }
            (figure(&date_bars(&chart), &said, &date_figures(page)))
        }
    }
}

fn bar(page: &Page, look: usize) -> DateBar {
    let index = page.shown[look];
    let plan = page.subject.plan(index);
    let sampled = page.subject.answer.sampled.as_ref().and_then(|s| s.plans.get(index));
    let drawn = sampled.map(|s| [s.days.p10, s.days.p50, s.days.p90]);
    DateBar {
        style: look,
        name: page.letter(look),
        clean: days(plan.decides.seconds),
        drawn: drawn.filter(|d| d.iter().all(|v| v.is_finite())),
        said: page.words.date(page.subject.shop.start + plan.decides.seconds),
    }
}

fn date_figures(page: &Page) -> Markup {
    let head = ["plan", "in hand", "days", "P10", "P50", "P90"].map(str::to_owned);
    let row = |(look, plan): (usize, &crate::analysis::PlanResult)| {
        let one = bar(page, look);
        let drawn = one.drawn.map(|d| d.map(|days| day(page, days)));
        let drawn = drawn.unwrap_or_default();
        let mut row = vec![one.name, one.said, days_text(plan.decides.seconds)];
        row.extend(drawn);
        row
    };
    let rows: Vec<Vec<String>> = page.plans().map(row).collect();
    opened("Figures", &table("When each plan is in hand", &head, &rows, &[]))
}

/// The date so many days after the start.
fn day(page: &Page, days: f64) -> String {
    let seconds = Exact::of_float(days * DAY as f64).map_or(0, Exact::to_whole);
    page.words.plain_date(page.subject.shop.start + seconds)
}
