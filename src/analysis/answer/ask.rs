//! Asking: a shop's plans are run, ranked and judged; everything an answer says is put together here.

use super::{Answer, NoAnswer};
use crate::analysis::compare::{
    Verdict, best_switch, break_evens, find_out, judge, preferences, rank, stop_counts, stop_row,
};
use crate::analysis::follow::{PlanResult, carried_out};
use crate::analysis::next::{advice, last_safe, look_again};
use crate::analysis::parallel::in_order;
use crate::analysis::sampling::{Asking, sample};
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
    let (done, mut infeasible) = ranked(shop, &set, horizon, &counts);
    infeasible.extend(broken(shop, &set));
    infeasible.sort_by(|a, b| a.0.name.cmp(&b.0.name));
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
        without: None,
        stale: Vec::new(),
        plans,
    })
}

/// The plan of the verdict alone, as [`answer`] and [`with_samples`] take it; `None` where no plan is feasible. It is followed to the planned
/// count only.
pub fn judged(shop: &Shop, asking: Option<&Asking>) -> Option<PlanResult> {
    let set = plans(shop, &ruled_out(shop)).ok()?;
    let (done, _) = ranked(shop, &set, shop.planned, &[shop.planned]);
    let mut plans: Vec<PlanResult> = done.into_iter().map(|d| d.0).collect();
    let sampled = asking.and_then(|asking| sample(shop, &plans, asking));
    let verdict = judge(shop, &plans, sampled.as_ref())?;
    Some(plans.swap_remove(verdict.plan))
}

/// Plans with their costs at some counts, and those that cannot be carried out with the reason.
type Carried = (Vec<(PlanResult, Vec<Money>)>, Vec<(Plan, String)>);

/// The plans that can be used, cheapest first.
fn ranked(shop: &Shop, set: &PlanSet, horizon: u32, counts: &[u32]) -> Carried {
    let mut done: Vec<(PlanResult, Vec<Money>)> = Vec::new();
    let mut infeasible: Vec<(Plan, String)> = Vec::new();
    let run = |index: usize| carried_out(shop, &set.whole[index], horizon, counts);
    for (plan, result) in set.whole.iter().zip(in_order(set.whole.len(), run)) {
        match result {
            Ok(result) => done.push(result),
            Err(reason) => infeasible.push((plan.clone(), reason)),
        }
    }
    done.sort_by(|a, b| rank(&a.0).cmp(&rank(&b.0)));
    (done, infeasible)
}

/// The answer with what samples say of it: how sure the date is may change the verdict.
///
/// ```
/// use std::sync::atomic::AtomicBool;
///
/// use flipcount::{analysis, plan};
///
/// # let loaded = flipcount::model::load("scenarios/first-look".as_ref(), &Default::default());
/// # let scenario = loaded.scenario.expect("the first look is valid");
/// # let values = plan::Values::planning(&scenario.slots);
/// # let shop = plan::Shop::new(&scenario, &values);
/// # let answer = analysis::answer(&shop).expect("few enough plans");
/// let asking = analysis::Asking {
///     samples: 200,
///     seed: scenario.seed,
///     threads: 1,
///     progress: &|_| {},
///     stop: &AtomicBool::new(false),
/// };
/// let answer = analysis::with_samples(&shop, answer, &asking);
///
/// let sampled = answer.sampled.expect("a plan is feasible");
/// assert_eq!(sampled.samples, 200);
/// // One of the plans is the cheapest in each sample.
/// let chances: f64 = sampled.plans.iter().map(|plan| plan.cheapest.value).sum();
/// assert!((chances - 1.0).abs() < 1e-9);
/// let outlay = &sampled.plans[0].outlay;
/// assert!(outlay.p10 <= outlay.p50 && outlay.p50 <= outlay.p90);
/// ```
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
