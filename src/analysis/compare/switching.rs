//! Switch plans: one plan for the first iterations, another from there on.

use crate::analysis::follow::{CHEAPEST, Doubts, PlanResult, Project, cost_from};
use crate::analysis::parallel::in_order;
use crate::ledger::Total;
use crate::model::{Money, RouteId};
use crate::plan::{Plan, Shop};
use crate::sim::State;

/// The best switch, if it is strictly cheaper than every plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Switch {
    /// The plan to begin with; it may break a must later on, and so need not be among the plans.
    pub first: Plan,
    /// The plan to go on with, by index into [`crate::analysis::Answer::plans`].
    pub then: usize,
    /// The last iteration of the first plan.
    pub after: u32,
    /// Avoidable cost at the planned count, the final included; expected where the second plan rests on an unproven route, which is then
    /// committed to.
    pub avoidable: Money,
    /// How much less than the best plan.
    pub saves: Money,
}

/// A plan to begin with: its states, and what it has cost after each iteration.
struct First<'p> {
    plan: &'p Plan,
    states: Vec<State>,
    costs: Vec<Money>,
    total: Money,
}

impl First<'_> {
    fn new<'p>(shop: &Shop, plan: &'p Plan) -> Option<First<'p>> {
        let project = Project::run(shop, &plan.assign, shop.planned, &[shop.planned]).ok()?;
        Some(First {
            plan,
            costs: project.ledger.curve(Total::Avoidable, shop.planned),
            total: project.cost_at(shop.planned),
            states: project.states,
        })
    }

    fn meets_musts_to(&self, k: u32) -> bool {
        self.plan.broken.as_ref().is_none_or(|b| b.iteration > k)
    }

    /// The state after iteration `k`, or the last there is where nothing is made any more.
    fn state(&self, k: u32) -> &State {
        let index = (k as usize).min(self.states.len() - 1);
        &self.states[index]
    }
}

/// Tries ordered pairs: first the six cheapest plans, and for each k the six cheapest that meet every must up to k; then the six cheapest;
/// after k = 1..planned-1 iterations, those behind left out. Shared stock and machines, one simulation each. Ties go to the smaller k.
///
/// A switch may go to an unproven route, not begin with one.
///
/// `plans` are ranked; `early` are plans that break a must only later on.
pub fn best_switch(shop: &Shop, plans: &[PlanResult], early: &[Plan]) -> Option<Switch> {
    if shop.planned < shop.done() + 2 {
        return None;
    }
    let least = plans.first()?.decides.avoidable;
    // Plans with variants count their iterations otherwise, and two routes for a part are one way to go on already. What fails is known
    // after iteration 1: a switch begins with proven routes.
    let single = || plans.iter().map(|p| &p.plan).filter(|p| p.is_plain());
    let is_proven = |p: &&Plan| Doubts::of(shop, &p.assign).list.is_empty();
    let cheapest: Vec<&Plan> = single().take(CHEAPEST).collect();
    let early = early.iter().filter(|p| p.is_plain() && is_proven(p));
    let mut firsts: Vec<First> = single()
        .filter(is_proven)
        .take(CHEAPEST)
        .chain(early)
        .filter_map(|plan| First::new(shop, plan))
        .collect();
    firsts.sort_by(|a, b| (a.total, &a.plan.name).cmp(&(b.total, &b.plan.name)));
    let found = best_of(shop, &firsts, &cheapest, least)?;
    let then = plans.iter().position(|p| p.plan.name == cheapest[found.then].name)?;
    Some(Switch {
        first: firsts[found.first].plan.clone(),
        then,
        after: found.after,
        avoidable: found.cost,
        saves: least - found.cost,
    })
}

#[derive(Clone, Copy)]
struct Found {
    cost: Money,
    after: u32,
    first: usize,
    then: usize,
}

fn best_of(shop: &Shop, firsts: &[First], then: &[&Plan], least: Money) -> Option<Found> {
    let affordable = affordable_counts(shop.planned, firsts.len() * then.len());
    let least_count = shop.done() + 1;
    let (mut from, mut to) = (least_count, shop.planned - 1);
    loop {
        let step = (to - from).div_ceil(affordable).max(1);
        let counts: Vec<u32> = (from..=to).step_by(step as usize).collect();
        let found = in_order(counts.len(), |i| best_after(shop, (firsts, then), counts[i], least));
        // The first of the least: ties go to the smaller k.
        let best =
            found.into_iter().flatten().reduce(|a, b| if b.cost < a.cost { b } else { a })?;
        if step == 1 {
            return Some(best);
        }
        from = best.after.saturating_sub(step).max(least_count);
        to = best.after.saturating_add(step).min(shop.planned - 1);
    }
}

/// Iterations simulated in one search for a switch.
const EFFORT: usize = 2_000_000;

/// How many counts k can be tried at once. Each costs a simulation of what is left for every pair, so trying all of them grows with the
/// square of the planned count: up to some hundred iterations all are tried, beyond that evenly spaced ones, then those round the best.
fn affordable_counts(planned: u32, pairs: usize) -> u32 {
    let each = (pairs * planned as usize / 2).max(1);
    u32::try_from((EFFORT / each).max(8)).unwrap_or(u32::MAX)
}

fn best_after(
    shop: &Shop,
    (firsts, then): (&[First], &[&Plan]),
    after: u32,
    least: Money,
) -> Option<Found> {
    let mut best: Option<Found> = None;
    for first in candidates(firsts, then, after) {
        for (index, plan) in then.iter().enumerate() {
            if plan.assign == firsts[first].plan.assign {
                continue;
            }
            let Some(cost) = cost(shop, &firsts[first], &plan.assign, after) else {
                continue;
            };
            if cost < best.map_or(least, |b| b.cost) {
                best = Some(Found { cost, after, first, then: index });
            }
        }
    }
    best
}

/// Who may begin and hand over after iteration `k`, cheapest first.
fn candidates(firsts: &[First], cheapest: &[&Plan], k: u32) -> Vec<usize> {
    let meets: Vec<usize> = (0..firsts.len()).filter(|&i| firsts[i].meets_musts_to(k)).collect();
    let is_cheapest = |i: usize| cheapest.iter().any(|p| p.name == firsts[i].plan.name);
    meets
        .iter()
        .enumerate()
        .filter(|&(rank, &i)| rank < CHEAPEST || is_cheapest(i))
        .map(|(_, &i)| i)
        .collect()
}

fn cost(shop: &Shop, first: &First, then: &[RouteId], k: u32) -> Option<Money> {
    let begun = first.costs[k as usize - 1];
    let rest = cost_from(shop, then, first.state(k), k)?;
    Some((begun.exact() + rest).to_money(shop.scenario.minor()))
}

#[cfg(test)]
mod tests {
    use super::affordable_counts;

    #[test]
    fn every_count_is_tried_unless_there_are_very_many() {
        assert!(affordable_counts(6, 36) > 6);
        assert!(affordable_counts(200, 72) > 200);
        assert_eq!(affordable_counts(5_000, 72), 11);
    }
}
