//! The steps of the next iteration (the first unless some are behind), plan by plan: what runs when, and what waits for what.

use maud::{Markup, html};

use super::super::chart::{Head, Piece, PieceKind, Strip, StripRow, strip};
use super::super::listed;
use super::extras::Page;
use super::frame::{figure, opened, table};
use super::ticks::day_ticks;
use crate::analysis::{PlanDetail, days};
use crate::model::{HOUR, Moment, Scenario, second_of_day};
use crate::sim::{RunAt, StepRun, Wait};

/// Rows that are drawn for a plan.
const ROWS: usize = 12;
/// Lines in a plan's table.
const LINES: usize = 80;
/// Parts named together.
const PARTS: usize = 3;

/// The section.
pub(super) fn steps(page: &Page) -> Markup {
    let next = page.subject.shop.done() + 1;
    if next > page.subject.answer.planned {
        return html! {};
    }
    html! {
        section #steps aria-labelledby="steps-h" {
            h2 #steps-h { "One iteration, step by step" }
            p.said {
                "Iteration " (next) " without failures. "
                span.sw.hand {} " attended " span.sw.alone {} " runs by itself " span.sw.hatch {} " with service and carrier "
                span.sw.waits {} " waits. Numbers are those of the steps; what each waits for stands in the figures."
            }
            div.panels { @for look in 0..page.shown.len() {
                @if let Some(detail) = page.detail(look) { (plan(page, look, detail)) }
            } }
        }
    }
}

fn plan(page: &Page, look: usize, detail: &PlanDetail) -> Markup {
    let rows = rows(page, detail);
    let length = days(detail.first.1 - detail.first.0);
    let hidden = rows.len().saturating_sub(ROWS);
    let chart = Strip {
        head: Head::new(
            &format!("steps-{look}"),
            &format!("Steps of plan {}", page.letter(look)),
            "One row a build or order; all runs stand in the figures.",
        ),
        ticks: day_ticks(page.subject, length, 5.0),
        days: length,
        rows: rows.into_iter().take(ROWS).collect(),
    };
    let more = if hidden > 0 {
        format!("{hidden} more rows stand in the figures.")
    } else {
        String::new()
    };
    html! {
        div {
            h3 { "Plan " (page.letter(look)) ": in hand " (page.words.date(detail.first.1)) }
            (figure(&strip(&chart), &more, &opened("Figures", &figures(page, look, detail))))
        }
    }
}

/// Whose row a run stands in: a build, or the route of what is ordered.
fn same_row(a: &StepRun, b: &StepRun) -> bool {
    match (a.build, b.build) {
        (Some(a), Some(b)) => a == b,
        (None, None) => a.route == b.route,
        _ => false,
    }
}

fn rows(page: &Page, detail: &PlanDetail) -> Vec<StripRow> {
    let mut groups: Vec<Vec<&StepRun>> = Vec::new();
    for run in &detail.runs {
        match groups.iter_mut().find(|group| same_row(group[0], run)) {
            Some(group) => group.push(run),
            None => groups.push(vec![run]),
        }
    }
    groups.iter().map(|group| row(page, detail, group)).collect()
}

fn row(page: &Page, detail: &PlanDetail, group: &[&StepRun]) -> StripRow {
    let scenario = page.subject.scenario();
    let at = |moment: Moment| days(moment - detail.first.0);
    let mut pieces = Vec::new();
    for run in group {
        let number = match run.at {
            RunAt::Step(number) => Some(number.to_string()),
            _ => None,
        };
        let piece = |kind, from: Moment, to: Moment, number: Option<String>| Piece {
            kind,
            from: at(from),
            to: at(to),
            number,
        };
        if run.start > run.ready {
            let wait = run.wait.map(|wait| wait_text(scenario, wait));
            pieces.push(piece(PieceKind::Waits, run.ready, run.start, wait));
        }
        if run.at == RunAt::Away {
            pieces.push(piece(PieceKind::Away, run.start, run.end, None));
            continue;
        }
        let only_hold = run.attended == run.start;
        if run.end > run.attended {
            let number = number.clone().filter(|_| only_hold);
            pieces.push(piece(PieceKind::Alone, run.attended, run.end, number));
        }
        if !only_hold || run.end == run.start {
            pieces.push(piece(PieceKind::Attended, run.start, run.attended, number));
        }
    }
    let mut parts: Vec<&str> =
        group.iter().flat_map(|r| &r.parts).map(|&p| scenario.part(p).name.as_str()).collect();
    parts.sort_unstable();
    parts.dedup();
    StripRow { name: format!("{} ({})", few(&parts), scenario.route(group[0].route).name), pieces }
}

fn few(parts: &[&str]) -> String {
    match parts.len().saturating_sub(PARTS) {
        0 => listed(parts),
        more => format!("{} and {more} more", parts[..PARTS].join(", ")),
    }
}

fn figures(page: &Page, look: usize, detail: &PlanDetail) -> Markup {
    let head = ["step", "parts", "ready", "starts", "ends", "waits for"].map(str::to_owned);
    let rows: Vec<Vec<String>> =
        detail.runs.iter().take(LINES).map(|run| line(page, run)).collect();
    let next = page.subject.shop.done() + 1;
    let name = format!("Steps of iteration {next}, plan {}", page.letter(look));
    let hidden = detail.runs.len().saturating_sub(LINES);
    html! {
        (table(&name, &head, &rows, &[1, 5]))
        @if hidden > 0 { p { (hidden) " more steps are not listed." } }
    }
}

fn line(page: &Page, run: &StepRun) -> Vec<String> {
    let scenario = page.subject.scenario();
    let parts: Vec<&str> = run.parts.iter().map(|&p| scenario.part(p).name.as_str()).collect();
    vec![
        step_name(scenario, run),
        few(&parts),
        minute(page, run.ready),
        minute(page, run.start),
        minute(page, run.end),
        run.wait
            .filter(|_| run.start > run.ready)
            .map_or(String::new(), |w| wait_text(scenario, w)),
    ]
}

fn step_name(scenario: &Scenario, run: &StepRun) -> String {
    match run.at {
        RunAt::Step(number) => {
            let steps = &scenario.route(run.route).steps;
            let name =
                steps.get(usize::from(number).saturating_sub(1)).map_or("", |s| s.name.as_str());
            format!("{number} {name}")
        }
        RunAt::Brief => "brief".to_owned(),
        RunAt::Ordering => "place the order".to_owned(),
        RunAt::Away => "made and sent".to_owned(),
    }
}

fn wait_text(scenario: &Scenario, wait: Wait) -> String {
    match wait {
        Wait::Machine(id) => scenario.equipment[id.index()].name.clone(),
        Wait::Bath(id) => scenario.baths[id.index()].name.clone(),
        Wait::Goods => "ordered goods".to_owned(),
        Wait::Person => "the person".to_owned(),
        Wait::Hours => "opening hours".to_owned(),
    }
}

/// A date with the minute.
fn minute(page: &Page, moment: Moment) -> String {
    let second = second_of_day(moment);
    format!("{} {:02}:{:02}", page.words.plain_date(moment), second / HOUR, second % HOUR / 60)
}
