//! What closed routes cost: as a section of the view and as an entry of the document.

use serde::Serialize;

use super::json::days;
use super::{Section, Subject, days_text, listed, percent};
use crate::analysis::Without;
use crate::model::{Money, PartId, RouteId};

/// What the verdict was with routes that are closed, and how far the one without them is from it; null where no plan is left.
#[derive(Serialize)]
pub(super) struct WithoutEntry<'s> {
    routes: Vec<ClosedEntry<'s>>,
    plan_before: &'s str,
    avoidable_before: String,
    outlay_before: String,
    days_before: f64,
    costs_more: Option<String>,
    outlay_more: Option<String>,
    days_later: Option<f64>,
    moved: Vec<MovedEntry<'s>>,
}

#[derive(Serialize)]
struct ClosedEntry<'s> {
    route: &'s str,
    reason: &'s str,
}

/// A part that is made otherwise than before.
#[derive(Serialize)]
struct MovedEntry<'s> {
    part: &'s str,
    from: &'s str,
    to: &'s str,
}

/// The entry of the document.
pub(super) fn without_entry<'s>(subject: &Subject<'s>) -> Option<WithoutEntry<'s>> {
    let without = subject.answer.without.as_ref()?;
    let scenario = subject.scenario();
    let (before, minor) = (without.figures, scenario.minor());
    let now = subject.answer.verdict.as_ref().map(|v| subject.plan(v.plan));
    let moved = now.map(|now| without.moved(&now.plan)).unwrap_or_default();
    let name = |route: RouteId| scenario.route(route).name.as_str();
    Some(WithoutEntry {
        routes: without
            .routes
            .iter()
            .map(|&route| ClosedEntry { route: name(route), reason: reason(subject, route) })
            .collect(),
        plan_before: &without.plan.name,
        avoidable_before: before.avoidable.text(minor),
        outlay_before: before.outlay.text(minor),
        days_before: days(before.seconds),
        costs_more: now.map(|n| (n.decides.avoidable - before.avoidable).text(minor)),
        outlay_more: now.map(|n| (n.decides.outlay - before.outlay).text(minor)),
        days_later: now.map(|n| days(n.decides.seconds - before.seconds)),
        moved: moved
            .into_iter()
            .map(|(part, from, to)| MovedEntry {
                part: &scenario.part(part).name,
                from: name(from),
                to: name(to),
            })
            .collect(),
    })
}

fn reason<'s>(subject: &Subject<'s>, route: RouteId) -> &'s str {
    subject.scenario().route(route).closed.as_deref().unwrap_or_default()
}

/// What closed routes cost; `None` where none is closed, or nothing is known of it.
pub(super) fn without(subject: &Subject) -> Option<Section> {
    let without = subject.answer.without.as_ref()?;
    let closed = without.routes.iter().map(|&route| {
        format!("{} ({})", subject.scenario().route(route).name, reason(subject, route))
    });
    let closed = listed(&closed.collect::<Vec<String>>());
    Section::sentences("Without", vec![format!("{closed}: {}.", lost(subject, without))])
}

/// What is lost: money, then days, then who makes what.
fn lost(subject: &Subject, without: &Without) -> String {
    let (words, start) = (subject.words(), subject.shop.start);
    let before = without.figures;
    let was = words.date(start + before.seconds);
    let Some(verdict) = &subject.answer.verdict else {
        let cost = words.money(before.avoidable);
        return format!("no plan is left; it was {cost} avoidable, in hand on {was}");
    };
    let now = subject.plan(verdict.plan);
    let moved = without.moved(&now.plan);
    if moved.is_empty() && now.decides == before {
        return "nothing is lost, the verdict is the same with it".to_owned();
    }
    let days = match now.decides.seconds - before.seconds {
        0 => "as fast".to_owned(),
        late if late > 0 => format!("{} days later than {was}", days_text(late)),
        early => format!("{} days earlier than {was}", days_text(-early)),
    };
    let outlay = now.decides.outlay - before.outlay;
    let outlay = format!("outlay {}{}", sign(outlay), words.money(outlay.abs()));
    let money = more(subject, now.decides.avoidable - before.avoidable, before.avoidable);
    let moved = together(subject, &moved);
    let moved = if moved.is_empty() { String::new() } else { format!("; {}", moved.join("; ")) };
    format!("{money} ({outlay}), {days}{moved}")
}

/// Who makes what now; parts that change from one route to one other are told together.
fn together(subject: &Subject, moved: &[(PartId, RouteId, RouteId)]) -> Vec<String> {
    let scenario = subject.scenario();
    let mut ways: Vec<(RouteId, RouteId)> = moved.iter().map(|m| (m.1, m.2)).collect();
    ways.sort_unstable();
    ways.dedup();
    let said = ways.into_iter().map(|(from, to)| {
        let parts = moved.iter().filter(|m| (m.1, m.2) == (from, to));
        let parts: Vec<&str> = parts.map(|m| scenario.part(m.0).name.as_str()).collect();
        let [from, to] = [from, to].map(|route| scenario.route(route).name.as_str());
        format!("{} by {to} in place of {from}", listed(&parts))
    });
    said.collect()
}

fn more(subject: &Subject, more: Money, of: Money) -> String {
    if more.is_zero() {
        return "as cheap".to_owned();
    }
    let share = if of.is_zero() {
        String::new()
    } else {
        format!(", {}", percent((more.exact().abs() / of.exact().abs()).to_f64_lossy()))
    };
    let word = if more > Money::ZERO { "more" } else { "less" };
    format!("{} {word}{share}", subject.words().money(more.abs()))
}

fn sign(amount: Money) -> &'static str {
    if amount < Money::ZERO { "-" } else { "+" }
}
