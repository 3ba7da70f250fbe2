//! What a record teaches: chances, print times, hours and resin, each with what was planned, what is to be expected, and why.

use std::collections::BTreeMap;

use super::beta::{Belief, PRIOR_WEIGHT};
use super::evidence::{Evidence, PlannedAndActual, Print, WorkOf, short};
use super::nnls::fit;
use crate::model::{
    Changed, Exact, Learned, Lesson, PrintTime, RouteId, RouteKind, Scenario, Slot,
};

/// A chance to fail is never learnt to be above this: some build must succeed.
const LIKELIEST: f64 = 0.95;
/// Print runs from which on the time before the first layer is fitted too.
const MANY: usize = 5;

/// Everything that can be learnt, by kind and then by route.
pub(super) fn lessons(scenario: &Scenario, evidence: &Evidence) -> Vec<Learned> {
    let mut all = Vec::new();
    for (&route, &(failed, trials)) in &evidence.attempts {
        all.extend(spoil(scenario, route, (failed, trials)));
    }
    all.extend(print_times(scenario, &evidence.prints));
    for (&(route, of), pair) in &evidence.hours {
        all.extend(hours(scenario, (route, of), *pair));
    }
    for (&route, &(pair, solid)) in &evidence.resin {
        all.extend(resin(scenario, route, pair, solid));
    }
    all.sort_by_key(|l| (l.about, l.route));
    all
}

/// Puts what was learnt in the place of what was planned with; a range keeps its proportions.
pub(super) fn apply(scenario: &mut Scenario, learned: &[Learned]) {
    for change in learned.iter().flat_map(|l| &l.changes) {
        let input = scenario.slots.get_mut(change.slot);
        let scale = |value: Exact| match change.old.is_zero() {
            true => change.new,
            false => value * change.new / change.old,
        };
        let most = match input.dim {
            crate::model::Dim::Share => Exact::ONE,
            _ => Exact::from(i64::MAX),
        };
        input.low = scale(input.low).min(change.new);
        input.high = scale(input.high).min(most).max(change.new);
        input.likely = change.new;
    }
}

fn changed(scenario: &Scenario, slot: Slot, new: f64) -> Option<Changed> {
    let old = scenario.slots.likely(slot);
    Some(Changed { slot, old, new: short(new)? })
}

fn spoil(scenario: &Scenario, route: RouteId, (failed, trials): (u32, u32)) -> Option<Learned> {
    let slot = scenario.route(route).steps.first()?.spoil?;
    let chance = scenario.slots.likely(slot).to_f64_lossy();
    let belief = Belief::of(chance, PRIOR_WEIGHT);
    let surprise = belief.surprise(failed, trials);
    let new = belief.after(failed, trials).mean().min(LIKELIEST);
    let runs = if trials == 1 { "print run" } else { "print runs" };
    Some(Learned {
        about: Lesson::Spoil,
        route,
        changes: vec![changed(scenario, slot, new)?],
        evidence: format!("{failed} of {trials} {runs} failed"),
        surprise: Some((surprise.more, surprise.chance)),
        error: None,
    })
}

/// Print times by the numbers they are worked out from: routes that share those are fitted together.
fn print_times(scenario: &Scenario, prints: &[Print]) -> Vec<Learned> {
    let mut groups: BTreeMap<Vec<Slot>, Vec<Print>> = BTreeMap::new();
    for print in prints {
        let RouteKind::Bench(bench) = &scenario.route(print.route).kind else { continue };
        let slots = match bench.print.as_ref().map(|p| p.time) {
            Some(PrintTime::Stated(slot)) => vec![slot],
            Some(PrintTime::Layers { start_up, per_layer, per_volume }) => {
                vec![start_up, per_layer, per_volume]
            }
            None => continue,
        };
        groups.entry(slots).or_default().push(*print);
    }
    groups.into_iter().filter_map(|(slots, prints)| print_time(scenario, &slots, &prints)).collect()
}

fn print_time(scenario: &Scenario, slots: &[Slot], prints: &[Print]) -> Option<Learned> {
    let count = prints.len();
    let old: Vec<f64> = slots.iter().map(|s| scenario.slots.likely(*s).to_f64_lossy()).collect();
    let runs = if count == 1 { "good print run" } else { "good print runs" };
    let fitted = match slots {
        [start_up, ..] if slots.len() == 3 && count > 1 => {
            coefficients(&old, prints, count >= MANY).map(|new| {
                let fixed = if count < MANY { ", start-up as before" } else { "" };
                let _ = start_up;
                (new, format!("fitted to {count} {runs}{fixed}"))
            })
        }
        _ => None,
    };
    let (new, evidence) = match fitted {
        Some(found) => found,
        None => {
            let factor = one_factor(prints)?;
            let new = old.iter().map(|v| v * factor).collect();
            (new, format!("{count} {runs}: {factor:.2} times as long as planned"))
        }
    };
    let predicted = |print: &Print| match new.as_slice() {
        [time] => *time,
        [start, layer, volume] => start + layer * print.layers + volume * print.solid,
        _ => print.planned,
    };
    let squares: f64 = prints.iter().map(|p| (p.actual - predicted(p)).powi(2)).sum();
    let changes: Option<Vec<Changed>> = slots
        .iter()
        .zip(&new)
        .filter(|(slot, _)| !scenario.slots.likely(**slot).is_zero())
        .map(|(slot, new)| changed(scenario, *slot, *new))
        .collect();
    Some(Learned {
        about: Lesson::PrintTime,
        route: prints[0].route,
        changes: changes?,
        evidence,
        surprise: None,
        error: Some((squares / count as f64).sqrt()),
    })
}

/// How many times as long as planned, by least squares.
fn one_factor(prints: &[Print]) -> Option<f64> {
    let squares: f64 = prints.iter().map(|p| p.planned * p.planned).sum();
    let shared: f64 = prints.iter().map(|p| p.planned * p.actual).sum();
    (squares > 0.0 && shared > 0.0).then(|| shared / squares)
}

/// Start-up, time per layer and per volume fitted to print runs; what is 0 in the sheet is no part of that machine and stays 0. `None`
/// where the runs are too alike to tell them apart.
fn coefficients(old: &[f64], prints: &[Print], with_start: bool) -> Option<Vec<f64>> {
    let free: Vec<usize> = (0..3).filter(|&c| old[c] > 0.0 && (with_start || c > 0)).collect();
    let column = |print: &Print, c: usize| [1.0, print.layers, print.solid][c];
    let rows: Vec<Vec<f64>> =
        prints.iter().map(|p| free.iter().map(|&c| column(p, c)).collect()).collect();
    let fixed = if with_start { 0.0 } else { old[0] };
    let wanted: Vec<f64> = prints.iter().map(|p| p.actual - fixed).collect();
    let found = fit(&rows, &wanted)?;
    let mut new = old.to_vec();
    for (&c, value) in free.iter().zip(found.coefficients) {
        new[c] = value;
    }
    Some(new)
}

fn hours(
    scenario: &Scenario,
    (route, of): (RouteId, Option<WorkOf>),
    pair: PlannedAndActual,
) -> Option<Learned> {
    let factor = pair.factor()?;
    let row = scenario.route(route);
    let order = match &row.kind {
        RouteKind::Order(terms) => Some(terms),
        RouteKind::Bench(_) => None,
    };
    let steps = row.steps.iter().filter_map(|step| step.attended);
    let slots: Vec<Slot> = match of {
        None => {
            let ordering = order.iter().flat_map(|t| [Some(t.order_time), t.brief]).flatten();
            steps.chain(ordering).collect()
        }
        Some(WorkOf::Step(step)) => {
            row.steps.get(usize::from(step).checked_sub(1)?)?.attended.into_iter().collect()
        }
        Some(WorkOf::Brief) => order?.brief.into_iter().collect(),
        Some(WorkOf::Order) => vec![order?.order_time],
    };
    let changes: Option<Vec<Changed>> = slots
        .into_iter()
        .filter(|slot| !scenario.slots.likely(*slot).is_zero())
        .map(|slot| changed(scenario, slot, scenario.slots.likely(slot).to_f64_lossy() * factor))
        .collect();
    let (planned, actual) = (pair.planned / 3600.0, pair.actual / 3600.0);
    let turns = if pair.count == 1 { "iteration" } else { "iterations" };
    let changes = changes?;
    (!changes.is_empty()).then(|| Learned {
        about: Lesson::Attended,
        route,
        changes,
        evidence: format!(
            "{actual:.2} h in {} {turns}, planned {planned:.2} h: {factor:.2} times as long",
            pair.count
        ),
        surprise: None,
        error: None,
    })
}

/// Supports and loss so that the resin of a print is so many times what was planned.
fn resin(
    scenario: &Scenario,
    route: RouteId,
    pair: PlannedAndActual,
    solid: f64,
) -> Option<Learned> {
    let factor = pair.factor()?;
    let RouteKind::Bench(bench) = &scenario.route(route).kind else { return None };
    let print = bench.print.as_ref()?;
    let old = |slot: Slot| scenario.slots.likely(slot).to_f64_lossy();
    let (supports, loss) = (old(print.supports), old(print.loss));
    if solid <= 0.0 {
        return None;
    }
    let bare = solid / (1.0 + supports);
    let all = factor * (solid + loss);
    // A share of supports lies between none and as much as the part; what that does not cover is lost.
    let new_supports = (factor * (1.0 + supports) - 1.0).clamp(0.0, 1.0);
    let new_loss = (all - bare * (1.0 + new_supports)).max(0.0);
    let changes = [(print.supports, new_supports), (print.loss, new_loss)];
    let changes: Option<Vec<Changed>> =
        changes.into_iter().map(|(slot, new)| changed(scenario, slot, new)).collect();
    let turns = if pair.count == 1 { "iteration" } else { "iterations" };
    Some(Learned {
        about: Lesson::Resin,
        route,
        changes: changes?,
        evidence: format!(
            "{:.0} mL printed with in {} {turns}, planned {:.0} mL for the same runs: {factor:.2} times as much",
            pair.actual, pair.count, pair.planned
        ),
        surprise: None,
        error: None,
    })
}
