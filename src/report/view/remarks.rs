//! What stands beside the figures: switch, what is ruled out, preferences, orders, notes, assumptions.

use super::{Section, pair_sentence, tables};
use crate::analysis::{BreakEven, By, OrderAdvice, Preference};
use crate::model::{Hardness, Want};
use crate::plan::Plan;
use crate::report::{
    AssumedLine, Subject, assumed, baths_left, bought_machines, crowded_dips, ended, final_breaks,
    letter, listed, not_counted, price_notes,
};

/// Lines a short view gives to break-evens and to what is ruled out.
const FEW_PAIRS: usize = 3;
const FEW_RULED_OUT: usize = 3;
/// Remarks of one kind in a short view.
const FEW: usize = 2;
const FEW_NOTES: usize = 4;
const FEW_ASSUMED: usize = 6;

fn most(all: bool, few: usize) -> usize {
    if all { usize::MAX } else { few }
}

/// Break-even against the verdict's plan by cost and days; with `all`, every pair by all three.
pub(super) fn break_even(subject: &Subject, all: bool) -> Option<Section> {
    let without = if subject.has_final() { " without final" } else { "" };
    let unproven = subject.answer.plans.iter().any(|p| p.unproven.is_some());
    // The short view has no room for both.
    let heading = match (unproven, all) {
        (true, true) => format!("Break-even{without}, unproven routes working"),
        (true, false) => "Break-even if it works".to_owned(),
        (false, _) => format!("Break-even{without}"),
    };
    let pairs = &subject.answer.break_even;
    if all {
        let said = pairs.iter().map(|p| format!("{}: {}.", p.by.name(), sentence(subject, p)));
        return Section::sentences(&heading, said.collect());
    }
    let verdict = subject.answer.verdict.as_ref()?.plan;
    let shown = tables::shown(subject, false);
    let with_verdict = |p: &&BreakEven| {
        let told = shown.contains(&p.a) && shown.contains(&p.b);
        p.by == By::Avoidable && told && (p.a == verdict || p.b == verdict)
    };
    let said = pairs.iter().filter(with_verdict).take(FEW_PAIRS).map(|pair| {
        let days = pairs.iter().find(|d| d.by == By::Days && (d.a, d.b) == (pair.a, pair.b));
        let days = days.map_or(String::new(), |d| format!("; {}", in_days(d)));
        format!("{}{days}.", sentence(subject, pair))
    });
    // The nearest rival comes first.
    Some(Section::sentences(&heading, said.collect())?.at_least(1))
}

fn sentence(subject: &Subject, pair: &BreakEven) -> String {
    pair_sentence(pair, &letter, subject.answer.horizon)
}

/// Days in few words, beside a sentence on cost.
fn in_days(pair: &BreakEven) -> String {
    match (pair.crossings.as_slice(), pair.cheaper_after) {
        (_, None) => "as fast".to_owned(),
        ([], Some(faster)) => format!("{} always faster", letter(faster)),
        (many, Some(faster)) => {
            let from = many[many.len() - 1];
            format!("{} faster from {from}", letter(faster))
        }
    }
}

/// The best change of plan on the way, if any; a first plan without a letter is told by its difference from the second.
pub(super) fn switch(subject: &Subject) -> Option<Section> {
    let switch = subject.answer.switch.as_ref()?;
    let words = subject.words();
    let (after, then) = (switch.after, letter(switch.then));
    let same_as = |p: &Plan| p.is_plain() && p.assign == switch.first.assign;
    let same = subject.answer.plans.iter().position(|p| same_as(&p.plan));
    let how = match same {
        Some(index) => format!("{} to iteration {after}, then {then}", letter(index)),
        None if subject.scenario().plans.is_empty() => {
            let other = differing(subject, &switch.first, &subject.plan(switch.then).plan);
            let other: Vec<String> = other.iter().map(|(p, r)| format!("{p} by {r}")).collect();
            format!("{then}, but {} to iteration {after}", listed(&other))
        }
        None => format!("{} to iteration {after}, then {then}", switch.first.name),
    };
    let text = format!(
        "{how}: {} {}, {} less than any plan.",
        words.money(switch.avoidable),
        if subject.plan(switch.then).unproven.is_some() { "expected" } else { "avoidable" },
        words.money(switch.saves),
    );
    Section::sentences("Switch", vec![text])
}

/// The parts that a plan makes otherwise than another, each with its route in the first, by name.
pub(in crate::report) fn differing<'s>(
    subject: &Subject<'s>,
    plan: &Plan,
    other: &Plan,
) -> Vec<(&'s str, &'s str)> {
    let scenario = subject.scenario();
    let parts = scenario.parts.iter().zip(plan.assign.iter().zip(&other.assign));
    parts
        .filter(|(_, (a, b))| a != b)
        .map(|(part, (&route, _))| (part.name.as_str(), scenario.route(route).name.as_str()))
        .collect()
}

/// What is ruled out and why; named plans included.
pub(super) fn ruled_out(subject: &Subject, all: bool) -> Option<Section> {
    let scenario = subject.scenario();
    let pairs = subject.answer.ruled_out.iter().map(|o| {
        format!("{} by {}: {}.", scenario.part(o.part).name, scenario.route(o.route).name, o.reason)
    });
    let plans =
        subject.answer.infeasible.iter().map(|(p, why)| format!("plan `{}`: {why}.", p.name));
    let mut said: Vec<String> = plans.chain(pairs).collect();
    if !all && said.len() > FEW_RULED_OUT {
        let more = said.len() - FEW_RULED_OUT;
        said.truncate(FEW_RULED_OUT);
        if let Some(last) = said.last_mut() {
            last.push_str(&format!(" And {more} more (--all)."));
        }
    }
    Section::sentences("Ruled out", said)
}

/// What each preference costs.
pub(super) fn preferences(subject: &Subject, all: bool) -> Option<Section> {
    let said = subject.answer.preferences.iter().map(|p| preference(subject, p)).collect();
    Section::joined_few("Preferred", said, most(all, FEW))
}

fn preference(subject: &Subject, preference: &Preference) -> String {
    let part = &subject.scenario().part(preference.part).name;
    let want = want_text(&preference.need.want);
    match preference.cheapest {
        None => format!("{part} {want}: no plan has it"),
        Some((plan, more)) => {
            format!("{part} {want} +{} ({})", subject.words().money(more), letter(plan))
        }
    }
}

/// A wanted property in words.
pub fn want_text(want: &Want) -> String {
    match want {
        Want::Hardness(h) => format!("of hardness {}", hardness_text(h)),
        Want::Opaque(true) => "opaque".to_owned(),
        Want::Opaque(false) => "see-through".to_owned(),
        Want::Colour(colour) => format!("in {colour}"),
        Want::SkinStatement(true) => "with a statement on skin contact on file".to_owned(),
        Want::SkinStatement(false) => "without a statement on skin contact".to_owned(),
        Want::Lead(most) => format!("with a lead of at most {most} business days"),
    }
}

fn hardness_text(h: &Hardness) -> String {
    if h.low == h.high {
        format!("{}{}", h.low, h.scale)
    } else {
        format!("{}{}..{}{}", h.low, h.scale, h.high, h.scale)
    }
}

/// Orders that could be better filled.
pub(super) fn advice(subject: &Subject, all: bool) -> Option<Section> {
    let said = subject.answer.advice.iter().map(|a| advice_text(subject, a)).collect();
    Section::joined_few("Orders", said, most(all, FEW))
}

fn advice_text(subject: &Subject, advice: &OrderAdvice) -> String {
    let (scenario, words) = (subject.scenario(), subject.words());
    match advice {
        OrderAdvice::More { part, route, copies, cost, instead, less } => format!(
            "{instead} of {} from {} cost {}, less than the {} for {copies}",
            scenario.part(*part).name,
            scenario.route(*route).name,
            words.money(*less),
            words.money(*cost),
        ),
        OrderAdvice::Along { part, route, adds } => format!(
            "sending {} along to {} adds {} to the order",
            scenario.part(*part).name,
            scenario.route(*route).name,
            words.money(*adds),
        ),
    }
}

/// Notes on a final that breaks a rule, prices, flat curves, bought machines and what is left in baths.
pub(super) fn notes(subject: &Subject, all: bool) -> Option<Section> {
    let mut said = final_breaks(subject);
    said.extend(price_notes(subject));
    said.extend(ended(subject));
    said.extend(crowded_dips(subject));
    said.extend(bought_machines(subject));
    // Beside samples a short view has no room for what is left over.
    if all || subject.answer.sampled.is_none() {
        said.extend(baths_left(subject));
    }
    Section::joined_few("Notes", said, most(all, FEW_NOTES))
}

/// What was assumed; with `all`, every value with its address.
pub(super) fn assumed_values(subject: &Subject, all: bool) -> Option<Section> {
    let lines = assumed(subject);
    if all {
        let said = lines.iter().map(|l| format!("{}: {}", l.address, l.with_range())).collect();
        return Section::sentences("Assumed", said);
    }
    let mut said: Vec<String> = Vec::new();
    for line in &lines {
        let text = brief(line);
        if !said.contains(&text) {
            said.push(text);
        }
    }
    Section::joined_few("Assumed", said, FEW_ASSUMED)
}

fn brief(line: &AssumedLine) -> String {
    format!("{} {}", line.key(), line.with_range())
}

/// What is in no total.
pub(super) fn uncounted(subject: &Subject, all: bool) -> Option<Section> {
    Section::joined_few("Not counted", not_counted(subject), most(all, FEW_NOTES))
}
