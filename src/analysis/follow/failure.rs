//! What a failure would mean: how likely one is in an iteration, and how many days it adds.

use super::days;
use crate::model::{Exact, RouteId, RouteKind};
use crate::plan::{Plan, Shop};
use crate::sim::{Luck, Simulation, Upset};

/// The risk of the next iteration: the first, in which every part is made, unless some are behind.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Failure {
    /// Chance of at least one failure: a spoilt build, a wrong lot.
    pub chance: f64,
    /// Days one failure adds to the in hand, averaged over where it can happen by how likely it is there.
    pub days: f64,
}

/// Looks at the next iteration of a plan, the first unless some are behind: each place where it can fail is made to fail once.
pub fn failure(shop: &Shop, plan: &Plan) -> Failure {
    if shop.done() >= shop.planned {
        return Failure::default();
    }
    let places = places(shop, plan);
    let passing: f64 = places.iter().map(|p| 1.0 - p.1).product();
    let sum: f64 = places.iter().map(|p| p.1).sum();
    if sum <= 0.0 {
        return Failure::default();
    }
    let clean = in_hand(shop, plan, None);
    let added: f64 = places
        .iter()
        .map(|&(upset, chance)| {
            let late = in_hand(shop, plan, Some(upset));
            chance * clean.zip(late).map_or(0.0, |(c, l)| days(l - c))
        })
        .sum();
    Failure { chance: 1.0 - passing, days: added / sum }
}

/// When the next iteration is in hand, with a failure put in or without one.
pub fn in_hand(shop: &Shop, plan: &Plan, upset: Option<Upset>) -> Option<i64> {
    let variants = plan.pace(shop).variants;
    let mut simulation = Simulation::new(shop).with_variants(variants).with_beside(&plan.beside);
    simulation.trust(upset.map_or(Luck::Clean, Luck::One));
    simulation.iterate(shop.done() + 1, &plan.assign).ok()?;
    simulation.dates.first().map(|d| d.in_hand)
}

/// Every place where an iteration can fail, with its chance.
pub fn places(shop: &Shop, plan: &Plan) -> Vec<(Upset, f64)> {
    let mut routes: Vec<RouteId> = plan.ways().map(|way| way.1).collect();
    routes.sort_unstable();
    routes.dedup();
    let mut result = Vec::new();
    for route in routes {
        if let RouteKind::Order(terms) = &shop.scenario.route(route).kind {
            let good = |slot| Exact::ONE - shop.values.exact_or_zero(slot);
            let wrong = Exact::ONE - good(terms.misread) * good(terms.reject);
            result.push((Upset { route, step: None }, wrong.to_f64_lossy()));
        }
        for (step, table) in shop.route(route).steps.iter().enumerate() {
            result.push((Upset { route, step: Some(step) }, table.spoil.to_f64_lossy()));
        }
    }
    result.retain(|r| r.1 > 0.0);
    result
}
