//! What each preference costs.

use crate::analysis::follow::PlanResult;
use crate::model::{Money, Need, PartId};
use crate::plan::{Shop, satisfies};

/// One preference of one part.
#[derive(Clone, Debug)]
pub struct Preference {
    /// The part.
    pub part: PartId,
    /// What is preferred.
    pub need: Need,
    /// The cheapest plan that has it, by index, and what it costs more than the cheapest plan; `None` where no plan has it.
    pub cheapest: Option<(usize, Money)>,
}

/// Every preference of every part. `plans` are ranked.
pub fn preferences(shop: &Shop, plans: &[PlanResult]) -> Vec<Preference> {
    let least = plans.first().map(|p| p.decides.avoidable);
    crate::plan::parts(shop.scenario)
        .flat_map(|(id, part)| part.prefer.iter().map(move |need| (id, need)))
        .map(|(part, need)| {
            let has = |p: &PlanResult| satisfies(shop, part, p.plan.assign[part.index()], need);
            let cheapest = plans.iter().position(has);
            Preference {
                part,
                need: need.clone(),
                cheapest: cheapest
                    .zip(least)
                    .map(|(i, least)| (i, plans[i].decides.avoidable - least)),
            }
        })
        .collect()
}
