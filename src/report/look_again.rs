//! When to look again, and how late the last orders can go: as sentences of the view and as entries of the document.

use std::cmp::Ordering;

use serde::Serialize;

use super::view::differing;
use super::{Section, Subject, fixed, input_words, letter, listed};
use crate::analysis::{FailuresInRow, LastSafe, MOST_FAILURES, PriceAt};
use crate::model::{Basis, DAY, Exact};
use crate::plan::Plan;

/// Failures and prices told in a short view, each.
const FEW: usize = 1;

#[derive(Serialize)]
pub(super) struct LookAgainEntry<'s> {
    iterations: Vec<CountEntry<'s>>,
    failures: Vec<FailuresEntry<'s>>,
    prices: Vec<PriceEntry<'s>>,
}

/// The nearest count below or above the planned one with another verdict; a null plan where none is feasible.
#[derive(Serialize)]
struct CountEntry<'s> {
    n: u32,
    change: i64,
    plan: Option<&'s str>,
}

/// Failed builds in a row in iteration 1; null where not so many change the verdict as are tried.
#[derive(Serialize)]
struct FailuresEntry<'s> {
    route: &'s str,
    failures: Option<u32>,
    each: String,
    plan: Option<&'s str>,
}

/// A price in its own currency and unit; null where no price between a sixteenth and sixteen times changes the verdict.
#[derive(Serialize)]
struct PriceEntry<'s> {
    key: &'s str,
    parts: Vec<&'s str>,
    currency: &'s str,
    per: &'static str,
    today: String,
    at: Option<String>,
    plan: Option<&'s str>,
}

/// The last bench day on which the last order by a route can be released; null where the planned release is too late.
#[derive(Serialize)]
pub(super) struct LastSafeEntry<'s> {
    route: &'s str,
    iteration: u32,
    #[serde(rename = "final")]
    last: bool,
    release: Option<String>,
    day: Option<String>,
}

/// The entry of the document on what would change the verdict.
pub(super) fn look_again_entry<'s>(subject: &Subject<'s>) -> LookAgainEntry<'s> {
    let answer = subject.answer;
    let look = &answer.look_again;
    let scenario = subject.scenario();
    let name = |index: usize| answer.plans[index].plan.name.as_str();
    let counts = look.fewer.iter().chain(&look.more).map(|(n, plan)| CountEntry {
        n: *n,
        change: i64::from(*n) - i64::from(answer.planned),
        plan: plan.as_ref().map(|p| p.name.as_str()),
    });
    let failures = look.failures.iter().map(|f| FailuresEntry {
        route: &scenario.route(f.route).name,
        failures: f.change.map(|c| c.0),
        each: f.each.text(scenario.minor()),
        plan: f.change.map(|c| name(c.1)),
    });
    let prices = look.prices.iter().map(|p| PriceEntry {
        key: &p.address,
        parts: parts(subject, p),
        currency: &scenario.currencies[p.currency.index()].code,
        per: per(p.basis),
        today: price_text(subject, p, p.today),
        at: p.change.map(|c| price_text(subject, p, c.0)),
        plan: p.change.map(|c| name(c.1)),
    });
    LookAgainEntry {
        iterations: counts.collect(),
        failures: failures.collect(),
        prices: prices.collect(),
    }
}

/// The entries of the document on last safe days.
pub(super) fn last_safe_entries<'s>(subject: &Subject<'s>) -> Vec<LastSafeEntry<'s>> {
    let words = subject.words();
    let entry = |safe: &LastSafe| LastSafeEntry {
        route: &subject.scenario().route(safe.route).name,
        iteration: safe.iteration,
        last: is_final(subject, safe),
        release: words.iso_minute(safe.release),
        day: safe.day.map(|day| words.plain_date(day * DAY)),
    };
    subject.answer.last_safe.iter().map(entry).collect()
}

/// When to look again; `None` where there is no verdict or nothing near changes it.
pub(super) fn look_again(subject: &Subject, all: bool) -> Option<Section> {
    subject.answer.verdict.as_ref()?;
    let look = &subject.answer.look_again;
    let mut said = counts(subject, all);
    let changing = |f: &&FailuresInRow| all || f.change.is_some();
    let few = if all { usize::MAX } else { FEW };
    said.extend(look.failures.iter().filter(changing).take(few).map(|f| failures(subject, f)));
    let changing = |p: &&PriceAt| all || p.change.is_some();
    said.extend(look.prices.iter().filter(changing).take(few).map(|p| price(subject, p)));
    if all {
        Section::sentences("Look again when", said.iter().map(|s| format!("{s}.")).collect())
    } else {
        Some(Section::joined("Look again when", &said)?.at_least(1))
    }
}

/// Everything near that changes the verdict, a sentence each.
pub(super) fn changing(subject: &Subject) -> Vec<String> {
    let look = &subject.answer.look_again;
    if subject.answer.verdict.is_none() {
        return Vec::new();
    }
    let mut said = counts(subject, false);
    let in_a_row = look.failures.iter().filter(|f| f.change.is_some());
    said.extend(in_a_row.map(|f| failures(subject, f)));
    said.extend(look.prices.iter().filter(|p| p.change.is_some()).map(|p| price(subject, p)));
    said.into_iter().map(|s| format!("{s}.")).collect()
}

/// Both directions in one part: `iterations come to 4 (B) or 7 (C)`.
fn counts(subject: &Subject, all: bool) -> Vec<String> {
    let look = &subject.answer.look_again;
    let one = |(n, plan): &(u32, Option<Plan>)| match plan {
        Some(plan) => format!("{n} ({})", called(subject, plan)),
        None => format!("{n} (no plan is feasible)"),
    };
    let said: Vec<String> = look.fewer.iter().chain(&look.more).map(one).collect();
    if !said.is_empty() {
        return vec![format!("iterations come to {}", said.join(" or "))];
    }
    let never = format!("iterations: the same plan at every count to {}", subject.answer.horizon);
    if all { vec![never] } else { Vec::new() }
}

/// A plan by its letter, or by what it makes otherwise than the verdict's plan.
fn called(subject: &Subject, plan: &Plan) -> String {
    let answer = subject.answer;
    let same = |p: &Plan| p.is_plain() && p.assign == plan.assign;
    if let Some(index) = answer.plans.iter().position(|p| same(&p.plan)) {
        return letter(index);
    }
    let verdict = answer.verdict.as_ref().map(|v| &answer.plans[v.plan].plan);
    match verdict {
        Some(verdict) if subject.scenario().plans.is_empty() => {
            let other = differing(subject, plan, verdict);
            let other: Vec<String> = other.iter().map(|(p, r)| format!("{p} by {r}")).collect();
            listed(&other)
        }
        _ => plan.name.clone(),
    }
}

fn failures(subject: &Subject, row: &FailuresInRow) -> String {
    let route = &subject.scenario().route(row.route).name;
    let each = format!("about {}", subject.words().money(row.each));
    match row.change {
        Some((1, plan)) => format!("the first build by {route} fails ({each}; {})", letter(plan)),
        Some((times, plan)) => {
            format!("builds by {route} fail {times} times in a row ({each} each; {})", letter(plan))
        }
        None => {
            format!(
                "builds by {route}: {MOST_FAILURES} failures in a row change nothing ({each} each)"
            )
        }
    }
}

fn parts<'s>(subject: &Subject<'s>, price: &PriceAt) -> Vec<&'s str> {
    let mut parts: Vec<&str> = price
        .paid_by
        .iter()
        .map(|&(part, _)| subject.scenario().part(part).name.as_str())
        .collect();
    parts.dedup();
    parts
}

/// What a price is of, in few letters.
fn per(basis: Basis) -> &'static str {
    match basis {
        Basis::Piece => "piece",
        Basis::PartVolume | Basis::BoxVolume => "cm3",
        Basis::Area => "cm2",
        Basis::Mass => "g",
    }
}

/// A price of a piece in minor units, another with two decimals more.
fn price_text(subject: &Subject, price: &PriceAt, value: Exact) -> String {
    let minor = subject.scenario().currencies[price.currency.index()].minor;
    if price.basis == Basis::Piece {
        return fixed(value, minor);
    }
    // A rate is shown on the side where the verdict has changed.
    let decimals = minor + 2;
    let half = (0..decimals).fold(Exact::ONE / Exact::from(2i64), |h, _| h / Exact::from(10i64));
    let shown = match value.cmp(&price.today) {
        Ordering::Greater => value + half,
        Ordering::Less => value - half,
        Ordering::Equal => value,
    };
    fixed(shown, decimals)
}

fn price(subject: &Subject, price: &PriceAt) -> String {
    let text = |value| price_text(subject, price, value);
    let whose = if price.quoted {
        format!("the quotation for {}", listed(&parts(subject, price)))
    } else if price.basis == Basis::Piece {
        let route = price.paid_by.first().map_or("", |p| &subject.scenario().route(p.1).name);
        format!("a piece by {route}")
    } else {
        input_words(&price.address)
    };
    let code = match price.currency.index() {
        0 => String::new(),
        other => format!(" {}", subject.scenario().currencies[other].code),
    };
    let today = text(price.today);
    match price.change {
        Some((at, plan)) => {
            let way = if at > price.today { "or more" } else { "or less" };
            format!("{whose} comes to {}{code} {way} (now {today}; {})", text(at), letter(plan))
        }
        None => {
            format!("{whose} (now {today}{code}): no price from a sixteenth to 16 times changes it")
        }
    }
}

fn is_final(subject: &Subject, safe: &LastSafe) -> bool {
    safe.iteration > subject.answer.planned
}

/// How late the last orders can be released.
pub(super) fn last_safe(subject: &Subject) -> Option<Section> {
    let words = subject.words();
    let said: Vec<String> = subject
        .answer
        .last_safe
        .iter()
        .map(|safe| {
            let route = &subject.scenario().route(safe.route).name;
            let turn = if is_final(subject, safe) {
                "the final".to_owned()
            } else {
                format!("iteration {}", safe.iteration)
            };
            let planned = words.plain_date(safe.release);
            match safe.day {
                Some(day) => {
                    let day = words.date(day * DAY);
                    format!("{day} for {turn} by {route} (planned {planned})")
                }
                None => format!("none for {turn} by {route}: planned {planned} is too late"),
            }
        })
        .collect();
    Section::joined("Last safe release", &said)
}
