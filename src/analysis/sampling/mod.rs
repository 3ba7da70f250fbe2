//! Sampling: how sure the answer is when what is open is drawn.
//!
//! Enters: a [`Shop`] and the plans of an [`Answer`]. Leaves: a [`Sampled`]: chances, quantiles, regret. Each sample draws what is open and
//! runs every plan with the same draws, so that plans are paired. Samples are worked through in fixed groups and put together in their
//! order: the number of threads changes nothing but the time.

mod estimate;
mod one;

use std::sync::atomic::{AtomicBool, AtomicU32, Ordering};

pub use estimate::{Distribution, Estimate, quantile};
pub use one::Drawing;
use one::{PlanToRun, Sample, Sampler};

use crate::analysis::follow::{CHEAPEST, PlanResult};
use crate::analysis::parallel::on_threads;
use crate::model::{DAY, day_of};
use crate::plan::{Shop, Spreads, Values};

/// So many of the cheapest plans are sampled.
pub const MOST_SAMPLED: usize = 64;
/// Fewer where all samples of all plans would be more than this: they are held in memory.
const MOST_OUTCOMES: usize = 16_000_000;

/// Samples that are worked through as one piece.
const GROUP: u32 = 64;

/// What is asked of a sampled run.
pub struct Asking<'p> {
    /// How many samples.
    pub samples: u32,
    /// The seed of all draws.
    pub seed: u64,
    /// How many threads work; 0 means one for each core.
    pub threads: usize,
    /// Told how many samples are done, now and then, from any thread.
    pub progress: &'p (dyn Fn(u32) + Sync),
    /// Set to end early with what is done so far.
    pub stop: &'p AtomicBool,
}

/// What the samples say.
#[derive(Clone, Debug, PartialEq)]
pub struct Sampled {
    /// Samples drawn; fewer than asked for where the run was ended early.
    pub samples: u32,
    /// Samples asked for.
    pub asked: u32,
    /// The seed.
    pub seed: u64,
    /// Plans by index into [`crate::analysis::Answer::plans`], the first [`MOST_SAMPLED`].
    pub plans: Vec<SampledPlan>,
    /// What knowing everything beforehand would be worth: the least expected regret.
    pub evpi: Estimate,
    /// Iterations before the final.
    pub counts: Distribution,
    /// Share of samples that the horizon cut short.
    pub cut: f64,
    /// What one of the six cheapest plans costs more than another, on average, by both indices: paired, sample by sample.
    pub over: Vec<Vec<Estimate>>,
}

impl Sampled {
    /// True where the mean costs of two of the six cheapest plans differ by less than two standard errors.
    pub fn cannot_tell(&self, a: usize, b: usize) -> bool {
        let over = self.over.get(a).and_then(|row| row.get(b));
        over.is_some_and(|d| d.se > 0.0 && d.value.abs() < 2.0 * d.se)
    }
}

/// What the samples say of one plan. Figures are at each sample's own count, the final included.
#[derive(Clone, Debug, PartialEq)]
pub struct SampledPlan {
    /// The chance to be the cheapest plan.
    pub cheapest: Estimate,
    /// The chance to be the fastest plan.
    pub fastest: Estimate,
    /// The chance to be done by the due date, where there is one.
    pub due: Option<Estimate>,
    /// The chance that the outlay stays within the budget, where there is one.
    pub budget: Option<Estimate>,
    /// Avoidable cost.
    pub avoidable: Distribution,
    /// Outlay.
    pub outlay: Distribution,
    /// Days from start to in hand.
    pub days: Distribution,
    /// Days from the last release to in hand.
    pub last: Distribution,
    /// What the plan costs more than the cheapest of each sample, on average.
    pub regret: Estimate,
    /// Share of samples in which it could not be carried out; they are left out of its figures.
    pub stopped: f64,
}

/// Samples the plans of an answer, cheapest first. `None` where there is nothing to sample or not one sample was finished.
pub fn sample(shop: &Shop, plans: &[PlanResult], asking: &Asking) -> Option<Sampled> {
    let most = MOST_SAMPLED.min(MOST_OUTCOMES / asking.samples.max(1) as usize).max(CHEAPEST);
    let to_run: Vec<PlanToRun> = plans.iter().take(most).map(PlanToRun::of).collect();
    // Where nothing is left to make there is nothing to draw.
    let over = shop.done() > 0 && shop.done() >= shop.planned && shop.scenario.last.is_none();
    if to_run.is_empty() || asking.samples == 0 || over {
        return None;
    }
    let samples = draw(shop, &to_run, asking);
    (!samples.is_empty()).then(|| summary(shop, to_run.len(), asking, &samples))
}

/// All samples in order, up to the first group that was not begun.
fn draw(shop: &Shop, to_run: &[PlanToRun], asking: &Asking) -> Vec<Sample> {
    let spreads = Spreads::new(shop.scenario);
    let likely = Values::planning(&shop.scenario.slots);
    let done = AtomicU32::new(0);
    let group = |index: usize| {
        if asking.stop.load(Ordering::Relaxed) {
            return None;
        }
        let from = u32::try_from(index).unwrap_or(u32::MAX).saturating_mul(GROUP);
        let to = from.saturating_add(GROUP).min(asking.samples);
        let mut sampler = Sampler::new((shop.scenario, &likely), &spreads, to_run, asking.seed);
        let samples: Vec<Sample> = (from..to).map(|number| sampler.run(number)).collect();
        let so_far = done.fetch_add(to - from, Ordering::Relaxed) + (to - from);
        (asking.progress)(so_far);
        Some(samples)
    };
    let groups = asking.samples.div_ceil(GROUP) as usize;
    on_threads(asking.threads, groups, group).into_iter().map_while(|g| g).flatten().collect()
}

fn summary(shop: &Shop, plans: usize, asking: &Asking, samples: &[Sample]) -> Sampled {
    let best = |of: fn(&Drawing) -> f64| -> Vec<usize> {
        let first_least = |s: &Sample| {
            let least = |best: usize, i: usize| {
                if of(&s.outcomes[i]) < of(&s.outcomes[best]) { i } else { best }
            };
            (1..plans).fold(0, least)
        };
        samples.iter().map(first_least).collect()
    };
    let cheapest = best(|o| o.avoidable);
    let fastest = best(|o| o.seconds as f64);
    let plans: Vec<SampledPlan> = (0..plans)
        .map(|plan| {
            let chance = |of: &[usize]| {
                let hits = of.iter().filter(|&&b| b == plan).count();
                Estimate::of_chance(hits, samples.len())
            };
            SampledPlan {
                cheapest: chance(&cheapest),
                fastest: chance(&fastest),
                ..one_plan(shop, samples, &cheapest, plan)
            }
        })
        .collect();
    let least = |a: &Estimate, b: &Estimate| a.value.total_cmp(&b.value);
    Sampled {
        samples: u32::try_from(samples.len()).unwrap_or(u32::MAX),
        asked: asking.samples,
        seed: asking.seed,
        evpi: plans.iter().map(|p| p.regret).min_by(least).unwrap_or_default(),
        counts: Distribution::new(samples.iter().map(|s| f64::from(s.count)).collect(), sure(shop)),
        cut: samples.iter().filter(|s| s.cut).count() as f64 / samples.len() as f64,
        over: over(samples, plans.len().min(CHEAPEST)),
        plans,
    }
}

/// The paired differences among the cheapest plans, over the samples in which both could be carried out.
fn over(samples: &[Sample], plans: usize) -> Vec<Vec<Estimate>> {
    let mean = |a: usize, b: usize| {
        let over = samples.iter().map(move |s| s.outcomes[a].avoidable - s.outcomes[b].avoidable);
        Estimate::of_mean(over.filter(|d| d.is_finite()))
    };
    (0..plans).map(|a| (0..plans).map(|b| mean(a, b)).collect()).collect()
}

fn sure(shop: &Shop) -> f64 {
    shop.values.exact(shop.scenario.sure).to_f64_lossy()
}

fn one_plan(shop: &Shop, samples: &[Sample], cheapest: &[usize], plan: usize) -> SampledPlan {
    let done: Vec<(&Sample, &Drawing, usize)> = samples
        .iter()
        .zip(cheapest)
        .map(|(s, &best)| (s, &s.outcomes[plan], best))
        .filter(|(_, o, _)| o.is_done())
        .collect();
    let of = |figure: fn(&Drawing) -> f64| {
        Distribution::new(done.iter().map(|(_, o, _)| figure(o)).collect(), sure(shop))
    };
    let regret = done.iter().map(|&(s, o, best)| o.avoidable - s.outcomes[best].avoidable);
    // What could not be carried out is neither in time nor within the budget.
    let chance = |holds: &dyn Fn(&Drawing) -> bool| {
        Estimate::of_chance(done.iter().filter(|(_, o, _)| holds(o)).count(), samples.len())
    };
    let start = shop.start;
    let budget = shop.scenario.budget.map(|slot| shop.values.exact(slot).to_f64_lossy());
    SampledPlan {
        cheapest: Estimate::default(),
        fastest: Estimate::default(),
        due: shop.scenario.due.map(|due| chance(&|o| day_of(start + o.seconds) <= due)),
        budget: budget.map(|budget| chance(&|o| o.outlay <= budget)),
        avoidable: of(|o| o.avoidable),
        outlay: of(|o| o.outlay),
        days: of(|o| o.seconds as f64 / DAY as f64),
        last: of(|o| o.last as f64 / DAY as f64),
        regret: Estimate::of_mean(regret),
        stopped: 1.0 - done.len() as f64 / samples.len() as f64,
    }
}
