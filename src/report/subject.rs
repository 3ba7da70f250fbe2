//! What a report is about: a scenario and its answer, side by side.

use std::collections::BTreeSet;

use super::Words;
use crate::analysis::{Answer, PlanResult};
use crate::model::{Route, RouteId, Scenario};
use crate::plan::{Plan, Shop};

/// A scenario, its tables and its answer.
#[derive(Clone, Copy, Debug)]
pub struct Subject<'s> {
    /// The tables the answer was computed from.
    pub shop: &'s Shop<'s>,
    /// The answer.
    pub answer: &'s Answer,
}

impl<'s> Subject<'s> {
    /// The scenario.
    pub fn scenario(&self) -> &'s Scenario {
        self.shop.scenario
    }

    /// Figures in words, money in as many decimals as the totals of the plans ask for.
    pub fn words(&self) -> Words<'s> {
        let totals = self.answer.plans.iter().map(|p| p.decides.avoidable);
        Words::new(self.shop, totals.max().unwrap_or_default())
    }

    /// True where a final is asked for, so that the figures that decide hold it.
    pub fn has_final(&self) -> bool {
        self.scenario().last.is_some()
    }

    /// A plan by its index in the ranking.
    pub fn plan(&self, index: usize) -> &'s PlanResult {
        &self.answer.plans[index]
    }

    /// The routes some feasible plan uses, in the order of their names; those of a switch, of the final and of what
    /// may take an unproven one's place included.
    pub fn used_routes(&self) -> Vec<(RouteId, &'s Route)> {
        let plans = self.answer.plans.iter().map(|p| &p.plan);
        let switch = self.answer.switch.as_ref().map(|s| &s.first);
        let mut used: BTreeSet<RouteId> =
            plans.chain(switch).flat_map(|p| p.ways().map(|way| way.1)).collect();
        for route in used.clone() {
            used.extend(self.shop.doubt(route).map(|unproven| unproven.fallback));
        }
        if let Some(last) = self.scenario().last.as_ref().filter(|_| !used.is_empty()) {
            used.extend(last.assign.iter().map(|a| a.1));
        }
        used.into_iter().map(|id| (id, self.scenario().route(id))).collect()
    }

    /// What a plan has beside its routes, in words: `2 variants at once, 4 iterations` or `collar also by print house to iteration 2`; `None` for a
    /// plan that has nothing.
    pub fn extras_of(&self, plan: &Plan) -> Option<String> {
        let scenario = self.scenario();
        let second = plan.beside.iter().map(|b| {
            let (part, route) = (&scenario.part(b.part).name, &scenario.route(b.route).name);
            format!("{part} also by {route} to iteration {}", b.until)
        });
        let second: Vec<String> = second.collect();
        if second.is_empty() { self.variants_of(plan) } else { Some(second.join("; ")) }
    }

    fn variants_of(&self, plan: &Plan) -> Option<String> {
        let pace = plan.variants.map(|_| plan.pace(self.shop))?;
        let of = if pace.variants == 1 { "variant" } else { "variants" };
        let count = super::iterations(pace.planned(self.answer.planned));
        Some(format!("{} {of} at once, {count}", pace.variants))
    }

    /// The names of a plan's routes in the order of the parts.
    pub fn routes_of(&self, plan: &Plan) -> Vec<&'s str> {
        plan.assign.iter().map(|&r| self.scenario().route(r).name.as_str()).collect()
    }
}
