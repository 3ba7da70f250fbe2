//! Asking: a shop's plans are run, ranked and judged; everything an answer says is put together here.

use super::{
    Answer, Asking, Doubts, NoAnswer, PlanResult, Project, UNPROVEN_LIMIT, Verdict, advice,
    best_switch, break_evens, find_out, in_order, judge, last_safe, look_again, preferences,
    sample, stop_counts, stop_row, stop_text, unproven,
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
    let counts = stop_counts(shop.planned, horizon, shop.done());
    let mut done: Vec<(PlanResult, Vec<Money>)> = Vec::new();
    let mut infeasible: Vec<(Plan, String)> = Vec::new();
    let run = |index: usize| result(shop, &set.whole[index], horizon, &counts);
    for (plan, result) in set.whole.iter().zip(in_order(set.whole.len(), run)) {
        match result {
            Ok(result) => done.push(result),
            Err(reason) => infeasible.push((plan.clone(), reason)),
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
    let verdict = judge(shop, &plans, None).map(|v| with_find_out(shop, &plans, v));
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
            .map(|v| last_safe(shop, &plans[v.plan].plan))
            .unwrap_or_default(),
        verdict,
        infeasible,
        ruled_out: out,
        sampled: None,
        plans,
    })
}

/// The answer with what samples say of it: how sure the date is may change the verdict.
pub fn with_samples(shop: &Shop, answer: Answer, asking: &Asking) -> Answer {
    let Some(sampled) = sample(shop, &answer.plans, asking) else {
        return answer;
    };
    let verdict = judge(shop, &answer.plans, Some(&sampled));
    let same = |v: &&Verdict| {
        let before = answer.verdict.as_ref();
        before.is_some_and(|b| (b.plan, &b.candidates) == (v.plan, &v.candidates))
    };
    let find_out = match verdict.as_ref().filter(same) {
        Some(_) => answer.verdict.as_ref().and_then(|v| v.find_out.clone()),
        None => None,
    };
    let verdict = verdict.map(|v| match &find_out {
        Some(_) => Verdict { find_out, ..v },
        None => with_find_out(shop, &answer.plans, v),
    });
    let chosen = verdict.as_ref().map(|v| advice(shop, &answer.plans[v.plan], &answer.ruled_out));
    Answer { advice: chosen.unwrap_or_default(), verdict, sampled: Some(sampled), ..answer }
}

/// One plan with its cost at some counts, expected where a route is unproven; why not, if it cannot be carried out.
fn result(
    shop: &Shop,
    plan: &Plan,
    horizon: u32,
    counts: &[u32],
) -> Result<(PlanResult, Vec<Money>), String> {
    let doubts = Doubts::of(shop, &plan.assign).list.len();
    if doubts > UNPROVEN_LIMIT {
        return Err(format!(
            "it rests on {doubts} unproven routes; at most {UNPROVEN_LIMIT} are weighed together"
        ));
    }
    let why = |stop| stop_text(shop.scenario, &stop);
    let project = Project::of(shop, plan, horizon, counts).map_err(why)?;
    let mut costs: Vec<Money> = counts.iter().map(|&n| project.cost_at(n)).collect();
    let mut result = project.result(shop, plan.clone());
    if let Some(unproven) = unproven(shop, plan, counts).map_err(why)? {
        result.decides = unproven.best().figures(shop);
        costs.clone_from(&unproven.costs);
        result.unproven = Some(unproven);
    }
    Ok((result, costs))
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

/// The key by which plans are ranked: least avoidable cost, then fewest days, then those that are what they are called, then name.
pub fn rank(plan: &PlanResult) -> (Money, i64, bool, &str) {
    let by_another_name = plan.intended() != plan.plan.assign;
    (plan.decides.avoidable, plan.decides.seconds, by_another_name, &plan.plan.name)
}
