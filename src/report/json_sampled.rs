//! The sampled part of the JSON document.

use super::json_types::{DistributionEntry, SampledEntry, SampledPlanEntry};
use crate::analysis::{Answer, Distribution, Estimate, Sampled, SampledPlan};

/// What the samples of an answer say.
pub(super) fn sampled<'s>(answer: &'s Answer, sampled: &Sampled) -> SampledEntry<'s> {
    let plans = answer.plans.iter().zip(&sampled.plans);
    SampledEntry {
        samples: sampled.samples,
        asked: sampled.asked,
        seed: sampled.seed,
        plans: plans.map(|(result, plan)| entry(&result.plan.name, plan)).collect(),
        evpi: rounded(sampled.evpi.value),
        evpi_se: rounded(sampled.evpi.se),
        iterations: figures(&sampled.counts),
        cut: rounded(sampled.cut),
    }
}

fn entry<'s>(name: &'s str, plan: &SampledPlan) -> SampledPlanEntry<'s> {
    let value = |of: Option<Estimate>| of.map(|e| rounded(e.value));
    let error = |of: Option<Estimate>| of.map(|e| rounded(e.se));
    let some = |of: &Distribution| (plan.stopped < 1.0).then(|| figures(of));
    SampledPlanEntry {
        name,
        p_cheapest: rounded(plan.cheapest.value),
        p_cheapest_se: rounded(plan.cheapest.se),
        p_fastest: rounded(plan.fastest.value),
        p_fastest_se: rounded(plan.fastest.se),
        p_due: value(plan.due),
        p_due_se: error(plan.due),
        p_budget: value(plan.budget),
        p_budget_se: error(plan.budget),
        avoidable: some(&plan.avoidable),
        outlay: some(&plan.outlay),
        days: some(&plan.days),
        regret: rounded(plan.regret.value),
        regret_se: rounded(plan.regret.se),
        stopped: rounded(plan.stopped),
    }
}

fn figures(of: &Distribution) -> DistributionEntry {
    DistributionEntry {
        mean: rounded(of.mean.value),
        se: rounded(of.mean.se),
        p10: rounded(of.p10),
        p50: rounded(of.p50),
        p80: rounded(of.p80),
        p90: rounded(of.p90),
    }
}

/// Six decimals.
fn rounded(value: f64) -> f64 {
    (value * 1e6).round() / 1e6
}
