//! Asking: a shop's plans are run, ranked and judged; everything an answer says is put together here.

use super::{
    Answer, NoAnswer, PlanResult, Project, Verdict, advice, best_switch, break_evens, find_out,
    in_order, judge, last_safe, look_again, preferences, stop_counts, stop_row, stop_text,
};
use crate::model::Money;
use crate::plan::{Plan, PlanSet, Shop, plans, ruled_out};

/// Answers the scenario a shop was made from.
///
/// # Errors
/// [`NoAnswer::TooManyPlans`] where plans must be named. That no plan is feasible is an answer, not an error.
pub fn answer(shop: &Shop) -> Result<Answer, NoAnswer> {
    let horizon = shop.scenario.iterations.horizon;
    let out = ruled_out(shop);
    let set = plans(shop, &out).map_err(NoAnswer::TooManyPlans)?;
    let counts = stop_counts(shop.planned, horizon);
    let mut done: Vec<(PlanResult, Vec<Money>)> = Vec::new();
    let mut infeasible: Vec<(Plan, String)> = Vec::new();
    let run = |index: usize| {
        let plan = &set.whole[index];
        let project = Project::run(shop, &plan.assign, horizon, &counts)?;
        let costs: Vec<Money> = counts.iter().map(|&n| project.cost_at(n)).collect();
        Ok((project.result(shop, plan.clone()), costs))
    };
    for (plan, result) in set.whole.iter().zip(in_order(set.whole.len(), run)) {
        match result {
            Ok(result) => done.push(result),
            Err(stop) => infeasible.push((plan.clone(), stop_text(shop.scenario, &stop))),
        }
    }
    infeasible.extend(broken(shop, &set));
    infeasible.sort_by(|a, b| a.0.name.cmp(&b.0.name));
    done.sort_by(|a, b| rank(&a.0).cmp(&rank(&b.0)));
    let stops = counts
        .iter()
        .enumerate()
        .filter_map(|(at, &n)| stop_row(n, done.iter().map(|(_, costs)| costs[at]).collect()));
    let stops = stops.collect();
    let plans: Vec<PlanResult> = done.into_iter().map(|d| d.0).collect();
    let verdict = judge(shop, &plans).map(|v| with_find_out(shop, &plans, v));
    Ok(Answer {
        planned: shop.planned,
        horizon,
        break_even: break_evens(&plans, shop.values.exact(shop.scenario.close)),
        switch: best_switch(shop, &plans, &set.early),
        stops,
        preferences: preferences(shop, &plans),
        advice: verdict.as_ref().map(|v| advice(shop, &plans[v.plan], &out)).unwrap_or_default(),
        look_again: verdict
            .as_ref()
            .map(|v| look_again(shop, &plans, &set.early, v))
            .unwrap_or_default(),
        last_safe: verdict
            .as_ref()
            .map(|v| last_safe(shop, &plans[v.plan].plan.assign))
            .unwrap_or_default(),
        verdict,
        infeasible,
        ruled_out: out,
        plans,
    })
}

/// Named plans that break a must, with the reason. Unnamed assignments of that kind are told by what is ruled out.
fn broken<'p>(shop: &Shop, set: &'p PlanSet) -> impl Iterator<Item = (Plan, String)> + 'p {
    let named = !shop.scenario.plans.is_empty();
    set.early
        .iter()
        .chain(&set.never)
        .filter(move |_| named)
        .filter_map(|p| Some((p.clone(), p.broken.as_ref()?.reason.clone())))
}

fn with_find_out(shop: &Shop, plans: &[PlanResult], verdict: Verdict) -> Verdict {
    let other = verdict.candidates.iter().copied().find(|&c| c != verdict.plan);
    Verdict {
        find_out: other.and_then(|o| find_out(shop, &plans[verdict.plan], &plans[o])),
        ..verdict
    }
}

/// The key by which plans are ranked: least avoidable cost, then fewest days, then name.
pub fn rank(plan: &PlanResult) -> (Money, i64, &str) {
    (plan.decides.avoidable, plan.decides.seconds, &plan.plan.name)
}
