//! The verdict: which plan, how firmly, and for which parts.

use std::borrow::Cow;

use super::FindOut;
use crate::analysis::follow::PlanResult;
use crate::analysis::sampling::Sampled;
use crate::model::{Exact, Money, PartId, RouteId, RouteKind, Scenario, day_of};
use crate::plan::{Plan, Shop};

/// The verdict over the feasible plans.
#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    /// The plan, by index into [`crate::analysis::Answer::plans`].
    pub plan: usize,
    /// Every plan within `close` of the least cost, that one included, by index.
    pub candidates: Vec<usize>,
    /// True where more than one plan is a candidate, or the samples do not tell the plan from another one.
    pub too_close: bool,
    /// How the due date stands.
    pub due: DueDate,
    /// What can be said for each part, by [`PartId`].
    pub parts: Vec<PartVerdict>,
    /// Where it is too close: the input that would tell the candidates apart.
    pub find_out: Option<FindOut>,
}

/// How the due date stands: by dates without failures, or, where samples were drawn, by the chance of being in time.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum DueDate {
    /// None is given.
    NotAsked,
    /// The verdict is among the plans in time, or in time with the wanted chance; so many plans are not.
    InTime {
        /// Feasible plans that are late.
        late: usize,
    },
    /// No plan is in time; the verdict is the one that is done first, or the likeliest to be in time.
    Missed,
}

/// What is settled for one part.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum PartVerdict {
    /// Every candidate makes it at the bench; by the same route, if one is named.
    Bench(Option<RouteId>),
    /// Every candidate orders it; by the same route, if one is named.
    Order(Option<RouteId>),
    /// The candidates differ.
    Open,
}

/// What the verdict looks at of a plan.
pub trait Ranked {
    /// The plan.
    fn plan(&self) -> &Plan;
    /// Avoidable cost at the planned count, with the final.
    fn avoidable(&self) -> Money;
    /// Seconds from start to in hand, without failures.
    fn seconds(&self) -> i64;
    /// The chance that unproven routes leave of being in hand by `due`; `None` where there are none, or no date.
    fn in_time(&self, shop: &Shop) -> Option<Exact>;
    /// The routes it begins with, which are others than the plan's where unproven ones are better left alone.
    fn intended(&self) -> Cow<'_, [RouteId]>;
}

impl Ranked for PlanResult {
    fn plan(&self) -> &Plan {
        &self.plan
    }

    fn avoidable(&self) -> Money {
        self.decides.avoidable
    }

    fn seconds(&self) -> i64 {
        self.decides.seconds
    }

    fn in_time(&self, shop: &Shop) -> Option<Exact> {
        self.unproven.as_ref()?.best().in_time(shop)
    }

    fn intended(&self) -> Cow<'_, [RouteId]> {
        match &self.unproven {
            Some(unproven) => Cow::Owned(unproven.intended()),
            None => Cow::Borrowed(&self.plan.assign),
        }
    }
}

/// Which plan the verdict names.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Chosen {
    /// The plan, by index.
    pub plan: usize,
    /// Every plan within `close` of the least cost, that one included, by index.
    pub candidates: Vec<usize>,
    /// How the due date stands.
    pub due: DueDate,
}

/// Judges the plans; `None` where there is none.
///
/// Among plans in time the least avoidable cost; among those within `close` of it the fewest days, then the least cost, then the name.
/// If none is in time: the one that is likeliest to be, or, without samples, that is done first. A plan is in time if it reaches the
/// wanted chance (`sure`) in the samples; without samples if its date without failures is.
pub fn judge(shop: &Shop, plans: &[PlanResult], sampled: Option<&Sampled>) -> Option<Verdict> {
    let chance = |i: usize| sampled.and_then(|s| s.plans.get(i)?.due).map(|due| due.value);
    let chosen = choose(shop, plans, &chance)?;
    let Chosen { plan, candidates, due } = chosen;
    let rival = |i: usize| i != plan && sampled.is_some_and(|s| s.cannot_tell(plan, i));
    let reaches = |i: usize| reaches(shop, &plans[i], chance(i));
    let all = (0..plans.len()).filter(|&i| !is_same_as_another(shop, plans, i));
    let blurred = due != DueDate::Missed && all.into_iter().any(|i| reaches(i) && rival(i));
    Some(Verdict {
        plan,
        too_close: candidates.len() > 1 || blurred,
        due,
        parts: parts(shop.scenario, plans, &candidates),
        candidates,
        find_out: None,
    })
}

/// The rule of [`judge`]: which plan, and what is about equal. `chance` is the chance of being in time by samples, where they are drawn.
pub fn choose<R: Ranked>(
    shop: &Shop,
    plans: &[R],
    chance: &impl Fn(usize) -> Option<f64>,
) -> Option<Chosen> {
    let all: Vec<usize> =
        (0..plans.len()).filter(|&i| !is_same_as_another(shop, plans, i)).collect();
    let reaches = |i: &usize| reaches(shop, &plans[*i], chance(*i));
    let in_time: Vec<usize> = all.iter().copied().filter(reaches).collect();
    let due = match shop.scenario.due {
        None => DueDate::NotAsked,
        Some(_) if in_time.is_empty() => DueDate::Missed,
        Some(_) => DueDate::InTime { late: plans.iter().filter(|p| !is_in_time(shop, *p)).count() },
    };
    let quickest = |a: &usize, b: &usize| {
        let key =
            |i: usize| (plans[i].seconds(), plans[i].avoidable(), plans[i].plan().name.as_str());
        key(*a).cmp(&key(*b))
    };
    if due == DueDate::Missed {
        // The likeliest; where no chance is known the one that is done first stands for it.
        let likelihood = |i: usize| match chance(i) {
            Some(chance) => chance,
            None => plans[i].in_time(shop).unwrap_or_default().to_f64_lossy(),
        };
        let best = all.iter().map(|&i| likelihood(i)).fold(0.0, f64::max);
        let likeliest = |i: &usize| likelihood(*i) >= best;
        let plan = all.into_iter().filter(likeliest).min_by(quickest)?;
        return Some(Chosen { plan, candidates: vec![plan], due });
    }
    let candidates = within(plans, &in_time, shop.values.exact(shop.scenario.close));
    let plan = candidates.iter().copied().min_by(quickest)?;
    Some(Chosen { plan, candidates, due })
}

/// True if a plan is in time with the wanted chance: in the samples, or, without any, by its date without failures.
fn reaches(shop: &Shop, plan: &impl Ranked, chance: Option<f64>) -> bool {
    match chance {
        Some(chance) => chance >= shop.values.exact(shop.scenario.sure).to_f64_lossy(),
        None => is_in_time(shop, plan),
    }
}

/// True if the plan is in hand before midnight at the end of the due date, without failures; with unproven routes, with a chance of at
/// least `sure`.
pub fn is_in_time(shop: &Shop, plan: &impl Ranked) -> bool {
    let due = shop.scenario.due;
    due.is_none_or(|due| day_of(shop.start + plan.seconds()) <= due)
}

/// The plans whose cost is within a share of the least.
fn within<R: Ranked>(plans: &[R], among: &[usize], close: Exact) -> Vec<usize> {
    let Some(least) = among.iter().map(|&i| plans[i].avoidable()).min() else {
        return Vec::new();
    };
    let limit = least.exact() + least.exact().abs() * close;
    let near = |i: &usize| plans[*i].avoidable().exact() <= limit;
    let mut result: Vec<usize> = among.iter().copied().filter(near).collect();
    result.sort_unstable();
    result
}

fn parts(scenario: &Scenario, plans: &[PlanResult], candidates: &[usize]) -> Vec<PartVerdict> {
    (0..scenario.parts.len())
        .map(PartId::at)
        .map(|part| {
            let routes: Vec<RouteId> =
                candidates.iter().map(|&c| plans[c].intended()[part.index()]).collect();
            settled(scenario, &routes)
        })
        .collect()
}

fn settled(scenario: &Scenario, routes: &[RouteId]) -> PartVerdict {
    let bench = |r: &RouteId| matches!(scenario.route(*r).kind, RouteKind::Bench(_));
    let same = routes.windows(2).all(|w| w[0] == w[1]);
    let route = routes.first().copied().filter(|_| same);
    if routes.iter().all(bench) {
        PartVerdict::Bench(route)
    } else if !routes.iter().any(bench) {
        PartVerdict::Order(route)
    } else {
        PartVerdict::Open
    }
}

/// The key by which plans are ranked: least avoidable cost, then fewest days, then those that are what they are called, then name.
pub fn rank(plan: &PlanResult) -> (Money, i64, bool, &str) {
    let by_another_name = *plan.intended() != *plan.plan.assign;
    (plan.decides.avoidable, plan.decides.seconds, by_another_name, &plan.plan.name)
}

/// True for a plan whose best policy leaves an unproven route alone, where the plan without that route is there too: it is the same plan
/// by another name.
pub fn is_same_as_another<R: Ranked>(shop: &Shop, plans: &[R], index: usize) -> bool {
    let plan = plans[index].plan();
    let intended = plans[index].intended();
    if *intended == *plan.assign {
        return false;
    }
    let pace = plan.pace(shop);
    let same = |p: &Plan| p.assign == *intended && p.pace(shop) == pace && p.beside.is_empty();
    plans.iter().any(|p| same(p.plan()))
}
