//! A plan carried out once, and what it costs under any prices.
//!
//! A total is a sum of rounded entries, so it falls apart: what no varied price moves is summed once; what rests on the same varied prices is
//! summed once for each combination of their values.

use std::cell::RefCell;
use std::collections::BTreeMap;

use super::Grid;
use super::roles::Roles;
use super::table::Words;
use crate::analysis::follow::{Leg, stop_text, to_planned};
use crate::plan::{Plan, Shop};
use crate::sim::{Event, Memory, Simulation, State, Stop};
use crate::value::{Prices, RoundedTotals, prices_of};

/// Avoidable cost, outlay and consumed value in minor units; or why not, by index of the reason.
pub(super) type Sum = Result<[i64; 3], u32>;

/// Hands a shop and prices with the values of a point to whoever asks.
pub(super) type AtPoint<'a> = dyn FnMut(&mut dyn FnMut(&Shop, &mut Prices)) + 'a;

/// The most combinations of values whose sums are kept.
const MOST_KEPT: usize = 1 << 16;
/// Why a row has no figures where they do not fit its columns.
const TOO_LARGE: &str = "an amount is too large for a table";

/// A plan without unproven routes as far as the planned count, with the final.
pub(super) struct Carried {
    /// Seconds from start to in hand.
    pub seconds: i64,
    /// What no varied price moves.
    fixed: Sum,
    groups: Vec<Group>,
}

/// Events that rest on the same varied prices.
struct Group {
    /// Those prices, by index of the input.
    prices: Vec<usize>,
    events: Vec<Event>,
    /// By combination of their values; empty where there are too many.
    sums: RefCell<Vec<Option<Sum>>>,
}

/// What happens in a plan up to the planned count with the final, and seconds to in hand.
pub(super) fn happens(
    (shop, start): (&Shop, &State),
    plan: &Plan,
    memory: &mut Memory,
) -> Result<(Vec<Event>, i64), Stop> {
    let legs = [Leg::Makes(plan.assign.clone())];
    let pace = plan.pace(shop);
    let mut simulation = Simulation::reuse(std::mem::take(memory), shop, start)
        .with_variants(pace.variants)
        .with_beside(&plan.beside);
    let done = to_planned(&mut simulation, (&legs, pace), shop.done(), |_| Ok(()));
    let events = std::mem::take(&mut simulation.events);
    let in_hand = simulation.dates.last().map_or(shop.start, |d| d.in_hand);
    *memory = simulation.leave();
    done.map(|()| (events, in_hand - shop.start))
}

/// The sum of some events under the prices of a shop.
fn summed(shop: &Shop, prices: &mut Prices, events: &[Event], reasons: &mut Words) -> Sum {
    match prices.rounded(shop, events) {
        Ok(RoundedTotals(money)) => {
            let fits = money.map(i64::try_from);
            match fits {
                [Ok(avoidable), Ok(outlay), Ok(consumed)] => Ok([avoidable, outlay, consumed]),
                _ => Err(reasons.index(TOO_LARGE)),
            }
        }
        Err(stop) => Err(reasons.index(&stop_text(shop.scenario, &stop))),
    }
}

impl Carried {
    /// Sorts what happens in a plan by the varied prices it rests on; `prices` are those of the shop.
    pub fn new(
        (events, seconds): (Vec<Event>, i64),
        shop: &Shop,
        prices: &mut Prices,
        (roles, grid, reasons): (&Roles, &Grid, &mut Words),
    ) -> Carried {
        if roles.prices.is_empty() {
            let fixed = summed(shop, prices, &events, reasons);
            return Carried { seconds, fixed, groups: Vec::new() };
        }
        let mut by_bits: BTreeMap<u64, Vec<Event>> = BTreeMap::new();
        for event in events {
            let mut bits = 0;
            prices_of(shop.scenario, &event, |slot| bits |= roles.bit(slot));
            by_bits.entry(bits).or_default().push(event);
        }
        let unmoved = by_bits.remove(&0).unwrap_or_default();
        let group = |(bits, events): (u64, Vec<Event>)| {
            let of = roles.prices_of(bits);
            let size = of.iter().fold(1usize, |n, &i| n.saturating_mul(grid.size(i)));
            let kept = if size <= MOST_KEPT { size } else { 0 };
            Group { prices: of, events, sums: RefCell::new(vec![None; kept]) }
        };
        Carried {
            seconds,
            fixed: summed(shop, prices, &unmoved, reasons),
            groups: by_bits.into_iter().map(group).collect(),
        }
    }

    /// What it comes to at a point with these values, by index of the input. `at_point` hands a shop and prices with those values on, where
    /// they are needed.
    pub fn sum(
        &self,
        grid: &Grid,
        values: &[usize],
        reasons: &mut Words,
        at_point: &mut AtPoint,
    ) -> Sum {
        let mut total = self.fixed?;
        for group in &self.groups {
            let place = group.prices.iter().fold(0, |n, &i| n * grid.size(i) + values[i]);
            let known = group.sums.borrow().get(place).copied().flatten();
            let sum = known.unwrap_or_else(|| {
                let mut sum = Ok([0; 3]);
                at_point(&mut |shop, prices| sum = summed(shop, prices, &group.events, reasons));
                if let Some(kept) = group.sums.borrow_mut().get_mut(place) {
                    *kept = Some(sum);
                }
                sum
            })?;
            for (total, amount) in total.iter_mut().zip(sum) {
                *total = total.checked_add(amount).ok_or_else(|| reasons.index(TOO_LARGE))?;
            }
        }
        Ok(total)
    }

    /// How much room it takes, in events and sums.
    pub fn room(&self) -> usize {
        self.groups.iter().map(|g| g.events.len() + g.sums.borrow().len() / 3).sum()
    }
}
