//! The verdict: which plan, how firmly, and for which parts.

use std::cmp::Reverse;

use super::{FindOut, PlanResult, is_same_as_another};
use crate::model::{DAY, Exact, PartId, RouteId, RouteKind, Scenario, day_of};
use crate::plan::Shop;

/// The verdict over the feasible plans.
#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    /// The plan, by index into [`super::Answer::plans`].
    pub plan: usize,
    /// Every plan within `close` of the least cost, that one included, by index.
    pub candidates: Vec<usize>,
    /// True where more than one plan is a candidate.
    pub too_close: bool,
    /// How the due date stands.
    pub due: DueDate,
    /// What can be said for each part, by [`PartId`].
    pub parts: Vec<PartVerdict>,
    /// Where it is too close: the input that would tell the candidates apart.
    pub find_out: Option<FindOut>,
}

/// How the due date stands, by dates without failures.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum DueDate {
    /// None is given.
    NotAsked,
    /// The verdict is among the plans in time; so many plans are not.
    InTime {
        /// Feasible plans that are late.
        late: usize,
    },
    /// No plan is in time with a chance of `sure`; the verdict is the likeliest, which without unproven routes is the one done first.
    Missed,
}

/// What is settled for one part.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum PartVerdict {
    /// Every candidate makes it at the bench; by the same route, if one is named.
    Bench(Option<RouteId>),
    /// Every candidate orders it; by the same route, if one is named.
    Order(Option<RouteId>),
    /// The candidates differ.
    Open,
}

/// Judges the ranked plans; `None` where there is none.
///
/// Among plans in time the least avoidable cost; among those within `close` of it the fewest days, then the least cost, then the name.
/// If none is in time: the likeliest, then the one that is done first.
pub fn judge(shop: &Shop, plans: &[PlanResult]) -> Option<Verdict> {
    let all: Vec<usize> =
        (0..plans.len()).filter(|&i| !is_same_as_another(shop, plans, i)).collect();
    let in_time: Vec<usize> =
        all.iter().copied().filter(|&i| is_in_time(shop, &plans[i])).collect();
    let due = match shop.scenario.due {
        None => DueDate::NotAsked,
        Some(_) if in_time.is_empty() => DueDate::Missed,
        Some(_) => DueDate::InTime { late: plans.iter().filter(|p| !is_in_time(shop, p)).count() },
    };
    let (plan, candidates) = if due == DueDate::Missed {
        // The likeliest; without unproven routes no chance is known and the one that is done first stands for it.
        let first = all.into_iter().min_by_key(|&i| {
            let p = &plans[i];
            let chance = p.in_time(shop).unwrap_or_default();
            (Reverse(chance), p.decides.seconds, p.decides.avoidable, p.plan.name.clone())
        })?;
        (first, vec![first])
    } else {
        let close = shop.values.exact(shop.scenario.close);
        let candidates = within(plans, &in_time, close);
        let best = candidates.iter().copied().min_by_key(|&i| {
            let p = &plans[i];
            (p.decides.seconds, p.decides.avoidable, p.plan.name.clone())
        })?;
        (best, candidates)
    };
    Some(Verdict {
        plan,
        too_close: candidates.len() > 1,
        due,
        parts: parts(shop.scenario, plans, &candidates),
        candidates,
        find_out: None,
    })
}

/// True if the plan is in hand before midnight at the end of the due date, without failures; with unproven routes, with a chance of at
/// least `sure`.
pub fn is_in_time(shop: &Shop, plan: &PlanResult) -> bool {
    let due = shop.scenario.due;
    due.is_none_or(|due| day_of(shop.start + plan.decides.seconds) <= due)
}

/// The plans whose cost is within a share of the least.
fn within(plans: &[PlanResult], among: &[usize], close: Exact) -> Vec<usize> {
    let Some(least) = among.iter().map(|&i| plans[i].decides.avoidable).min() else {
        return Vec::new();
    };
    let limit = least.exact() + least.exact().abs() * close;
    let mut result: Vec<usize> =
        among.iter().copied().filter(|&i| plans[i].decides.avoidable.exact() <= limit).collect();
    result.sort_unstable();
    result
}

fn parts(scenario: &Scenario, plans: &[PlanResult], candidates: &[usize]) -> Vec<PartVerdict> {
    (0..scenario.parts.len())
        .map(PartId::at)
        .map(|part| {
            let routes: Vec<RouteId> =
                candidates.iter().map(|&c| plans[c].intended()[part.index()]).collect();
            settled(scenario, &routes)
        })
        .collect()
}

fn settled(scenario: &Scenario, routes: &[RouteId]) -> PartVerdict {
    let bench = |r: &RouteId| matches!(scenario.route(*r).kind, RouteKind::Bench(_));
    let same = routes.windows(2).all(|w| w[0] == w[1]);
    let route = routes.first().copied().filter(|_| same);
    if routes.iter().all(bench) {
        PartVerdict::Bench(route)
    } else if !routes.iter().any(bench) {
        PartVerdict::Order(route)
    } else {
        PartVerdict::Open
    }
}

/// Days as a number, from seconds.
pub fn days(seconds: i64) -> f64 {
    seconds as f64 / DAY as f64
}
