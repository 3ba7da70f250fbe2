//! A map: which plan is cheapest under every pair of values of two inputs.

use crate::analysis::answer::Answer;
use crate::analysis::follow::{fast_cost, is_valid, tried_values};
use crate::analysis::parallel::in_order;
use crate::model::{Dim, Exact, Scenario, Slot};
use crate::plan::{Plan, Shop, is_whole, plans, ruled_out};
use crate::value::Prices;

/// Most values on an axis of whole numbers.
const MOST_WHOLE: u32 = 12;
/// Steps to each side of today's size; the outermost are at a quarter and four times.
const STEPS: i32 = 4;

/// The plan that is cheapest somewhere, with its avoidable cost, unrounded.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Cheapest {
    /// By index into [`FlipMap::plans`].
    pub plan: usize,
    /// Avoidable cost at the planned count with the final.
    pub avoidable: f64,
}

/// A map over two inputs.
#[derive(Clone, Debug)]
pub struct FlipMap {
    /// The input that grows to the right.
    pub across: Slot,
    /// Its values in base units, rising.
    pub columns: Vec<f64>,
    /// The input that grows downwards.
    pub down: Slot,
    /// Its values in base units, rising.
    pub rows: Vec<f64>,
    /// The feasible plans as ranked today, then those that are feasible elsewhere on the map.
    pub plans: Vec<Plan>,
    /// By row, then column; `None` where no plan can be carried out.
    pub cells: Vec<Vec<Option<Cheapest>>>,
}

/// Draws the map. Dates are not looked at: the cheapest plan may be late.
pub fn flip_map(shop: &Shop, answer: &Answer, across: Slot, down: Slot) -> FlipMap {
    let (columns, rows) = (axis(shop.scenario, across), axis(shop.scenario, down));
    let mut all: Vec<Plan> = answer.plans.iter().map(|p| p.plan.clone()).collect();
    let today = all.len();
    // A plan that breaks a must from a later iteration on is feasible where fewer are planned.
    if let Ok(set) = plans(shop, &ruled_out(shop)) {
        all.extend(set.early);
    }
    let cell = |index: usize| {
        let tried = [(across, columns[index % columns.len()]), (down, rows[index / columns.len()])];
        cheapest(shop, &all, &tried)
    };
    let cells: Vec<Option<Cheapest>> = in_order(columns.len() * rows.len(), cell);
    let cells: Vec<Vec<Option<Cheapest>>> =
        cells.chunks(columns.len()).map(<[_]>::to_vec).collect();
    let (plans, cells) = without_unseen(all, today, cells);
    FlipMap { across, columns, down, rows, plans, cells }
}

/// Leaves out the plans that are feasible only elsewhere and cheapest nowhere.
fn without_unseen(
    all: Vec<Plan>,
    today: usize,
    mut cells: Vec<Vec<Option<Cheapest>>>,
) -> (Vec<Plan>, Vec<Vec<Option<Cheapest>>>) {
    let seen = |index: usize| cells.iter().flatten().flatten().any(|c| c.plan == index);
    let kept: Vec<usize> = (0..all.len()).filter(|&i| i < today || seen(i)).collect();
    for cell in cells.iter_mut().flatten().flatten() {
        cell.plan = kept.iter().position(|&k| k == cell.plan).unwrap_or(cell.plan);
    }
    (kept.into_iter().map(|index| all[index].clone()).collect(), cells)
}

fn cheapest(shop: &Shop, all: &[Plan], tried: &[(Slot, f64)]) -> Option<Cheapest> {
    let values = tried_values(shop, tried)?;
    let shop = Shop::new(shop.scenario, &values);
    if !is_valid(&shop) {
        return None;
    }
    let out = ruled_out(&shop);
    let mut prices = Prices::new(&shop);
    let mut best: Option<Cheapest> = None;
    for (index, plan) in all.iter().enumerate().filter(|(_, p)| is_whole(&shop, &out, p)) {
        let Some(avoidable) = fast_cost(&shop, &mut prices, plan) else {
            continue;
        };
        if best.is_none_or(|b| avoidable < b.avoidable) {
            best = Some(Cheapest { plan: index, avoidable });
        }
    }
    best
}

/// The values of an axis: whole numbers from 1 to twice today's and not beyond the horizon, thinned to a dozen; shares in tenths; sizes
/// from a quarter to four times today's, or from 0 in even steps where today's is 0.
fn axis(scenario: &Scenario, slot: Slot) -> Vec<f64> {
    let input = scenario.slots.get(slot);
    let today = input.likely.quick_f64();
    let values: Vec<f64> = match input.dim {
        Dim::Count => {
            let twice = (input.likely * Exact::from(2i64)).to_whole();
            let wanted = twice.max(input.high.to_whole()).max(2);
            let bound = if slot == scenario.iterations.planned {
                scenario.iterations.horizon
            } else {
                u32::MAX
            };
            let most = u32::try_from(wanted).unwrap_or(u32::MAX).min(bound);
            let step = most.div_ceil(MOST_WHOLE).max(1);
            (1..=most / step).map(|n| f64::from(n * step)).collect()
        }
        Dim::Share if input.likely <= Exact::ONE => (0..10).map(|n| f64::from(n) / 10.0).collect(),
        _ if today == 0.0 => {
            let unit = if input.dim == Dim::Time { 3600.0 } else { 10.0 };
            (0..=2 * STEPS).map(|n| f64::from(n) * unit).collect()
        }
        _ => (-STEPS..=STEPS).map(|k| today * 2f64.powf(f64::from(k) / 2.0)).collect(),
    };
    with_today(values, today)
}

/// Rising values with today's among them.
fn with_today(mut values: Vec<f64>, today: f64) -> Vec<f64> {
    if !values.iter().any(|v| (v - today).abs() <= 1e-9 * today.abs()) {
        values.push(today);
        values.sort_by(f64::total_cmp);
    }
    values
}
