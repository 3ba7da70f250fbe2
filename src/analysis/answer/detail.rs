//! One plan in detail: what each category comes to after each iteration, and how the steps of the next iteration run.

use super::Answer;
use crate::analysis::follow::{Project, TOTALS};
use crate::analysis::parallel::in_order;
use crate::ledger::{Category, Entry, Ledger, Total, cumulative};
use crate::model::{Moment, Money};
use crate::plan::Shop;
use crate::sim::{Dates, Simulation, StepRun};

/// One plan in detail, its unproven routes working.
#[derive(Clone, Debug)]
pub struct PlanDetail {
    /// The plan, by index into [`Answer::plans`].
    pub plan: usize,
    /// For each category with an entry, the running sums at 1..=horizon in the order of [`TOTALS`]; the final is not in them.
    pub categories: Vec<(Category, [Vec<Money>; 3])>,
    /// How the steps of the next iteration run (the first unless some are behind), in the order in which they start.
    pub runs: Vec<StepRun>,
    /// When that is released and in hand.
    pub first: (Moment, Moment),
}

/// Looks at some plans in detail, in the given order; one that cannot be followed is left out.
pub fn plan_details(shop: &Shop, answer: &Answer, plans: &[usize]) -> Vec<PlanDetail> {
    in_order(plans.len(), |at| detail(shop, answer, plans[at])).into_iter().flatten().collect()
}

fn detail(shop: &Shop, answer: &Answer, index: usize) -> Option<PlanDetail> {
    let plan = &answer.plans.get(index)?.plan;
    let project = Project::of(shop, plan, answer.horizon, &[]).ok()?;
    let (runs, first) = first_iteration(shop, answer, index)?;
    let categories = Category::ALL.into_iter().filter_map(|category| {
        let curve = |total: Total| {
            let counts = |e: &&Entry| e.category == category && e.counts_in(total);
            let all = |ledger: &Ledger| -> Money {
                ledger.entries().iter().filter(counts).map(|e| e.amount).sum()
            };
            let of = project.ledger.entries().iter().filter(counts);
            let of = of.map(|e| (e.iteration, e.amount));
            let mut curve = cumulative(of, answer.horizon, Money::ZERO);
            for (sum, n) in curve.iter_mut().zip(1..) {
                if let Some(open) = project.open_at(n) {
                    *sum += all(&open.rest) - all(&open.late);
                }
            }
            curve
        };
        let curves = TOTALS.map(curve);
        let any = curves.iter().flatten().any(|m| !m.is_zero());
        any.then_some((category, curves))
    });
    Some(PlanDetail { plan: index, categories: categories.collect(), runs, first })
}

/// The next iteration once more, with its steps noted.
fn first_iteration(
    shop: &Shop,
    answer: &Answer,
    index: usize,
) -> Option<(Vec<StepRun>, (Moment, Moment))> {
    if shop.done() >= shop.planned {
        return Some((Vec::new(), (shop.start, shop.start)));
    }
    let plan = &answer.plans[index].plan;
    let variants = plan.pace(shop).variants;
    let mut simulation = Simulation::new(shop).with_variants(variants).with_beside(&plan.beside);
    simulation.runs = Some(Vec::new());
    simulation.iterate(shop.done() + 1, &plan.assign).ok()?;
    let &Dates { release, in_hand, .. } = simulation.dates.first()?;
    Some((simulation.runs?, (release, in_hand)))
}
