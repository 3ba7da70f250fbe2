//! The plans side by side: after the chosen count, at the planned one with the final, and in the samples; and what moves the figures.

use maud::{Markup, html};

use super::super::chart::marker;
use super::super::terminal::clean;
use super::super::view::{plan_text, sampled_cells, sampled_said};
use super::super::{days_text, fixed, letter, percent};
use super::extras::Page;
use super::frame::{opened, sentences, wide};
use super::sources;
use crate::analysis::PlanResult;
use crate::ledger::Total;

/// The slider and the choice of total; hidden until the script can answer them.
pub(super) fn controls(page: &Page) -> Markup {
    let answer = page.subject.answer;
    let totals = [
        ("avoidable", "avoidable", true),
        ("outlay", "outlay", false),
        ("consumed", "consumed", false),
    ];
    html! {
        form #ask hidden aria-label="Count and total" {
            div.slide {
                label for="n" { "After " output #no for="n" { (answer.planned) } " iterations" }
                input #n type="range" min="1" max=(answer.horizon) value=(answer.planned) step="1";
                button #back type="button" { "Planned: " (answer.planned) }
            }
            fieldset {
                legend { "Total" }
                @for (value, name, chosen) in totals {
                    label { input type="radio" name="t" value=(value) checked[chosen]; " " (name) }
                }
            }
        }
    }
}

/// The table of plans.
pub(super) fn plans(page: &Page) -> Markup {
    let (heads, cells) = sampled_cells(page.subject, &page.shown);
    let hidden = page.subject.answer.plans.len() - page.shown.len();
    html! {
        section #plans aria-labelledby="plans-h" {
            h2 #plans-h { "Plans" }
            (wide("Plans", &table(page, &heads, &cells)))
            p.said { (below(page, !heads.is_empty())) @if hidden > 0 { " " (hidden) " more plans: flipcount compare --all." } }
            (opened("What the columns mean", &sentences(&meanings(page))))
        }
    }
}

fn table(page: &Page, heads: &[&str], cells: &[Vec<String>]) -> Markup {
    let answer = page.subject.answer;
    let verdict = answer.verdict.as_ref().map(|v| v.plan);
    html! {
        table.plans {
            thead {
                tr {
                    td colspan="2" {}
                    th.group scope="colgroup" colspan="4" { "After " span data-f="n" { (answer.planned) } (page.without_final()) }
                    th.group scope="colgroup" colspan="4" { "At " (page.at_planned()) }
                    @if !heads.is_empty() {
                        th.group scope="colgroup" colspan=(heads.len()) { "In the samples, with the drawn count" }
                    }
                }
                tr {
                    th scope="col" { "plan" } th scope="col" { "what it does" }
                    th.r scope="col" { span data-f="t" { "avoidable" } }
                    @for name in ["days", "in hand", "own hours"] { th.r scope="col" { (name) } }
                    @for name in ["avoidable", "outlay", "in hand", "risk"] { th.r scope="col" { (name) } }
                    @for name in heads { th.r scope="col" { (name) } }
                }
            }
            tbody {
                @for ((look, plan), sampled) in page.plans().zip(cells) {
                    tr.chosen[verdict == Some(page.shown[look])] {
                        (name(page, look, verdict))
                        (moving(page, look, plan))
                        (fixed_cells(page, look, plan))
                        @for cell in sampled { td.r { (cell) } }
                    }
                }
            }
        }
    }
}

fn name(page: &Page, look: usize, verdict: Option<usize>) -> Markup {
    let index = page.shown[look];
    let chosen = verdict == Some(index);
    html! {
        th.letter scope="row" {
            (marker(look)) " " (page.letter(look))
            @if chosen { span.pick { "verdict" } }
            @if page.subject.plan(index).unproven.is_some() { span.pick { "unproven" } }
        }
        td.what {
            @for part in plan_text(page.subject, index).split(" | ") { span { (clean(part)) } }
        }
    }
}

/// Cells that follow the slider and the choice of total.
fn moving(page: &Page, look: usize, plan: &PlanResult) -> Markup {
    let now = page.now();
    let curves = &plan.curves;
    let key = |name: &str| format!("{look}.{name}");
    let money = curves.avoidable.get(now).map_or(String::new(), |&m| page.words.money(m));
    let seconds = curves.seconds.get(now).copied().unwrap_or(0);
    let hours = curves.attended.get(now).map_or(String::new(), |&h| fixed(h, 1));
    html! {
        td.r.on data-f=(key("total")) { (money) }
        td.r data-f=(key("days")) { (days_text(seconds)) }
        td.r data-f=(key("date")) { (page.words.plain_date(page.subject.shop.start + seconds)) }
        td.r data-f=(key("hours")) { (hours) }
    }
}

fn fixed_cells(page: &Page, look: usize, plan: &PlanResult) -> Markup {
    let decides = plan.decides;
    let money = |total, amount| sources::link(look, total, &page.words.money(amount));
    html! {
        td.r { b { (money(Total::Avoidable, decides.avoidable)) } }
        td.r { (money(Total::Outlay, decides.outlay)) }
        td.r { (page.words.plain_date(page.subject.shop.start + decides.seconds)) }
        td.r { (percent(plan.failure.chance)) }
    }
}

fn below(page: &Page, sampled: bool) -> String {
    let chosen = page.subject.answer.verdict.as_ref().map(|v| letter(v.plan));
    let chosen = chosen.map_or(String::new(), |l| format!("The verdict takes {l}. "));
    let unproven = page.plans().any(|(_, p)| p.unproven.is_some());
    let working = if unproven {
        " Of a plan marked unproven the first group is that of the route working, the second what is expected."
    } else {
        ""
    };
    let stays = if sampled { "and the samples do not" } else { "do not" };
    format!(
        "{chosen}The first group follows the slider; the figures at {} {stays}.{working}",
        page.at_planned()
    )
}

fn meanings(page: &Page) -> Vec<String> {
    let words = [
        "avoidable: what can still be avoided today: outlay, own hours at their rate, waiting, and value taken from stock; decisions rest on it",
        "outlay: money that leaves the account",
        "consumed: what the versions cost: material used, wear, own hours, invoices, electricity, disposal",
        "days: from the first release to the last piece in hand, without failures",
        "own hours: attended time, failed attempts expected in it",
        "risk: chance of at least one failure in an iteration",
    ];
    let mut said: Vec<String> = words.map(str::to_owned).to_vec();
    said.extend(sampled_said(page.subject));
    said
}
