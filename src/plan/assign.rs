//! Plans: assignments of parts to routes.

use super::{RuledOut, Shop};
use crate::model::{Beside, NamedPlan, PartId, RouteId, Scenario, Variants};

/// The most assignments that are tried without named plans.
pub const PLAN_LIMIT: usize = 2_000;

/// The most iterations that are simulated for the curves, all plans together.
pub const ITERATION_LIMIT: usize = 500_000;

/// An assignment of every part to a route.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plan {
    /// Its name: the user's, or `part = route; part = route`.
    pub name: String,
    /// The route of each part, by [`PartId`].
    pub assign: Vec<RouteId>,
    /// Several variants of each part in one iteration, where it has them.
    pub variants: Option<Variants>,
    /// Second routes of parts in the first iterations, by part.
    pub beside: Vec<Beside>,
    /// Why it cannot be the plan for the whole project, if so.
    pub broken: Option<Broken>,
}

/// A must that a plan breaks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Broken {
    /// The first iteration that breaks it (1: the plan can never be used).
    pub iteration: u32,
    /// Why, in words, naming part, route and iteration.
    pub reason: String,
}

/// The plans worth asking about.
#[derive(Clone, Debug, Default)]
pub struct PlanSet {
    /// Plans that meet every must up to the planned count.
    pub whole: Vec<Plan>,
    /// Plans that break a must only from a later iteration: they can be the first plan of a switch.
    pub early: Vec<Plan>,
    /// Named plans that break a must from the first iteration.
    pub never: Vec<Plan>,
}

/// More work than is done for one question.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TooMany {
    /// More assignments than [`PLAN_LIMIT`].
    Plans,
    /// More than [`ITERATION_LIMIT`] iterations: plans times horizon.
    Iterations {
        /// The plans, and the ways in which those on unproven routes can turn out.
        plans: usize,
        /// The horizon.
        horizon: u32,
    },
}

/// The named plans, or every assignment that some part-route pair does not rule out.
///
/// # Errors
/// [`TooMany`] where no plan is named and more than [`PLAN_LIMIT`] assignments are feasible, or the curves of all plans would take more
/// than [`ITERATION_LIMIT`] iterations.
pub fn plans(shop: &Shop, out: &[RuledOut]) -> Result<PlanSet, TooMany> {
    let scenario = shop.scenario;
    if !scenario.plans.is_empty() {
        let mut set = PlanSet::default();
        for named in &scenario.plans {
            set.sort_in(shop, out, Plan::named(named));
        }
        return set.within_reach(shop);
    }
    let allowed = |limit: u32| -> Vec<Vec<RouteId>> {
        super::parts(scenario).map(|(part, _)| routes_for(shop, out, part, limit)).collect()
    };
    let whole = allowed(u32::MAX);
    if combinations(&whole) > PLAN_LIMIT {
        return Err(TooMany::Plans);
    }
    // Those that break a must only later are extra: tried as long as they stay within the same limit.
    let with_early = allowed(2);
    let choices = if combinations(&with_early) > PLAN_LIMIT { whole } else { with_early };
    let mut set = PlanSet::default();
    for assign in product(&choices) {
        set.sort_in(shop, out, Plan::unnamed(scenario, assign));
    }
    set.within_reach(shop)
}

impl Plan {
    /// A plan that only assigns routes, by its usual name.
    pub fn unnamed(scenario: &Scenario, assign: Vec<RouteId>) -> Plan {
        let name = plan_name(scenario, &assign);
        Plan { name, assign, variants: None, beside: Vec::new(), broken: None }
    }

    fn named(plan: &NamedPlan) -> Plan {
        Plan {
            name: plan.name.clone(),
            assign: plan.assign.clone(),
            variants: plan.variants,
            beside: plan.beside.clone(),
            broken: None,
        }
    }
}

impl Plan {
    /// Every part with its routes, by part: the plan's own, up to the last iteration of all, then the second one with its last iteration.
    pub fn ways(&self) -> impl Iterator<Item = (PartId, RouteId, u32)> + '_ {
        let own = self.assign.iter().enumerate().map(|(part, &route)| (PartId::at(part), route));
        own.flat_map(|(part, route)| {
            let second = self.beside.iter().filter(move |b| b.part == part);
            let second = second.map(|b| (b.part, b.route, b.until));
            std::iter::once((part, route, u32::MAX)).chain(second)
        })
    }

    /// True if it is one route for each part in every iteration, and one variant.
    pub fn is_plain(&self) -> bool {
        self.variants.is_none() && self.beside.is_empty()
    }
}

impl PlanSet {
    fn within_reach(self, shop: &Shop) -> Result<PlanSet, TooMany> {
        let horizon = shop.scenario.iterations.horizon;
        let plans = self.whole.iter().map(|p| 1 + outcomes(shop, &p.assign)).sum::<usize>();
        if plans.saturating_mul(horizon as usize) > ITERATION_LIMIT {
            return Err(TooMany::Iterations { plans, horizon });
        }
        Ok(self)
    }

    fn sort_in(&mut self, shop: &Shop, out: &[RuledOut], plan: Plan) {
        let broken = broken(shop, out, &plan);
        let list = match &broken {
            None => &mut self.whole,
            Some(b) if b.iteration > 1 => &mut self.early,
            Some(_) => &mut self.never,
        };
        list.push(Plan { broken, ..plan });
    }
}

/// How many different ways a plan's unproven routes can turn out: each is skipped, used or tried, and works or not.
fn outcomes(shop: &Shop, assign: &[RouteId]) -> usize {
    let mut unproven: Vec<RouteId> = assign.to_vec();
    unproven.retain(|&route| shop.doubt(route).is_some());
    unproven.sort_unstable();
    unproven.dedup();
    match u32::try_from(unproven.len()) {
        Ok(0) => 0,
        // More are not weighed at all.
        Ok(count) if count <= 3 => 6usize.pow(count),
        _ => 0,
    }
}

/// Unnamed plans are called `part = route; part = route`, parts by name.
pub fn plan_name(scenario: &Scenario, assign: &[RouteId]) -> String {
    let pairs: Vec<String> = super::parts(scenario)
        .zip(assign)
        .map(|((_, part), &route)| format!("{} = {}", part.name, scenario.route(route).name))
        .collect();
    pairs.join("; ")
}

/// Routes meant for a part and not ruled out before iteration `from` (or at all within the planned count).
fn routes_for(shop: &Shop, out: &[RuledOut], part: PartId, from: u32) -> Vec<RouteId> {
    let scenario = shop.scenario;
    (0..scenario.routes.len())
        .map(RouteId::at)
        .filter(|&route| scenario.route(route).is_for(part))
        .filter(|&route| match first_break(shop, (out, shop.planned), part, route) {
            None => true,
            Some(o) => o.from_iteration >= from,
        })
        .collect()
}

/// The first rule a pair breaks in an iteration the part is made in, up to a planned count.
fn first_break<'a>(
    shop: &Shop,
    (out, planned): (&'a [RuledOut], u32),
    part: PartId,
    route: RouteId,
) -> Option<&'a RuledOut> {
    let last = shop.part(part).count.map_or(planned, |c| c.min(planned));
    out.iter()
        .filter(|o| o.part == part && o.route == route && o.from_iteration <= last)
        .min_by_key(|o| o.from_iteration)
}

fn broken(shop: &Shop, out: &[RuledOut], plan: &Plan) -> Option<Broken> {
    let scenario = shop.scenario;
    let planned = plan.pace(shop).planned(shop.planned);
    plan.ways()
        .filter_map(|(part, route, until)| {
            if scenario.route(route).is_for(part) {
                first_break(shop, (out, planned.min(until)), part, route).cloned()
            } else {
                let reason = "the route is not for this part".to_owned();
                Some(RuledOut { part, route, from_iteration: 1, reason })
            }
        })
        .min_by_key(|o| o.from_iteration)
        .map(|o| Broken {
            iteration: o.from_iteration,
            reason: format!(
                "{} by {}: {}",
                scenario.part(o.part).name,
                scenario.route(o.route).name,
                o.reason
            ),
        })
}

/// True if a plan meets every must and fits every limit up to the planned count.
pub fn is_whole(shop: &Shop, out: &[RuledOut], plan: &Plan) -> bool {
    broken(shop, out, plan).is_none()
}

fn combinations(choices: &[Vec<RouteId>]) -> usize {
    choices.iter().fold(1usize, |n, c| n.saturating_mul(c.len()))
}

/// Every combination of one route per part, the last part turning fastest.
fn product(choices: &[Vec<RouteId>]) -> Vec<Vec<RouteId>> {
    choices.iter().fold(vec![Vec::new()], |partial, routes| {
        partial
            .iter()
            .flat_map(|head| {
                routes.iter().map(move |&route| {
                    let mut assign = head.clone();
                    assign.push(route);
                    assign
                })
            })
            .collect()
    })
}
