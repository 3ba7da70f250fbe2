//! Switch plans: one plan for the first iterations, another from there on.

use super::{PlanResult, Project, in_order};
use crate::ledger::Total;
use crate::model::{Money, RouteId};
use crate::plan::{Plan, Shop};
use crate::sim::State;

/// The best switch, if it is strictly cheaper than every plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Switch {
    /// The plan to begin with; it may break a must later on, and so need not be among the plans.
    pub first: Plan,
    /// The plan to go on with, by index into [`super::Answer::plans`].
    pub then: usize,
    /// The last iteration of the first plan.
    pub after: u32,
    /// Avoidable cost at the planned count, the final included.
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
/// after k = 1..planned-1 iterations. Shared stock and machines, one simulation each. Ties go to the smaller k.
///
/// `plans` are ranked; `early` are plans that break a must only later on.
pub(super) fn best_switch(shop: &Shop, plans: &[PlanResult], early: &[Plan]) -> Option<Switch> {
    if shop.planned < 2 {
        return None;
    }
    let least = plans.first()?.decides.avoidable;
    let cheapest: Vec<&Plan> = plans.iter().take(super::CHEAPEST).map(|p| &p.plan).collect();
    let mut firsts: Vec<First> =
        cheapest.iter().copied().chain(early).filter_map(|plan| First::new(shop, plan)).collect();
    firsts.sort_by(|a, b| (a.total, &a.plan.name).cmp(&(b.total, &b.plan.name)));
    let found = best_of(shop, &firsts, &cheapest, least)?;
    Some(Switch {
        first: firsts[found.first].plan.clone(),
        then: found.then,
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
    let of_count = |index: usize| {
        let after = u32::try_from(index + 1).unwrap_or(u32::MAX);
        best_after(shop, (firsts, then), after, least)
    };
    let found = in_order(shop.planned as usize - 1, of_count);
    // The first of the least: ties go to the smaller k.
    found.into_iter().flatten().reduce(|best, f| if f.cost < best.cost { f } else { best })
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
        .filter(|&(rank, &i)| rank < super::CHEAPEST || is_cheapest(i))
        .map(|(_, &i)| i)
        .collect()
}

fn cost(shop: &Shop, first: &First, then: &[RouteId], k: u32) -> Option<Money> {
    let begun = first.costs[k as usize - 1];
    let rest = super::project::cost_from(shop, then, first.state(k).clone(), k)?;
    Some(begun + rest)
}
