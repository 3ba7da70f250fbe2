//! What is lost where a route fails: the verdict there was with it beside the one there is without.
//!
//! Enters: the answer with every route open. Leaves: a [`Without`], which goes into the answer without them. The second best itself is
//! that answer's own verdict.

use super::Answer;
use crate::analysis::follow::Figures;
use crate::model::{PartId, RouteId, Scenario};
use crate::plan::Plan;

/// The verdict there was with routes that are closed now.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Without {
    /// The routes that are closed now, by name.
    pub routes: Vec<RouteId>,
    /// The verdict's plan with them.
    pub plan: Plan,
    /// Its figures at the planned count, with the final.
    pub figures: Figures,
}

impl Without {
    /// What the verdict was with routes open that are closed in `now`; `None` where no route is, or nothing was feasible.
    pub fn new(now: &Scenario, open: &Scenario, answer: &Answer) -> Option<Without> {
        let before = &answer.plans[answer.verdict.as_ref()?.plan];
        let both = now.routes.iter().zip(&open.routes).enumerate();
        let shut = both.filter(|(_, (now, open))| now.closed.is_some() && open.closed.is_none());
        let routes: Vec<RouteId> = shut.map(|(index, _)| RouteId::at(index)).collect();
        let figures = before.decides;
        (!routes.is_empty()).then(|| Without { routes, plan: before.plan.clone(), figures })
    }

    /// The parts that another plan makes otherwise, each with its route before and in that plan, by part.
    pub fn moved(&self, now: &Plan) -> Vec<(PartId, RouteId, RouteId)> {
        let both = self.plan.assign.iter().zip(&now.assign).enumerate();
        both.filter(|(_, (before, now))| before != now)
            .map(|(part, (&before, &now))| (PartId::at(part), before, now))
            .collect()
    }
}
