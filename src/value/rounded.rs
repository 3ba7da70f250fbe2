//! Rounded valuation: the totals of a ledger to the last digit, at the speed of binary floats.
//!
//! Each amount is worked out as a float and rounded to whole minor units, as its entry would be. A float that is so near a tie, or so large,
//! that it may round otherwise than the exact amount does is not trusted: its event is valued exactly. So the sums are those of
//! [`super::value`], always.

use super::exact::value;
use super::fast::{In, Tally, Till};
use super::prices::Prices;
use super::remembered::KnownCost;
use super::{LARGEST, Valued};
use crate::ledger::Total;
use crate::model::Exact;
use crate::plan::Shop;
use crate::sim::{Event, Placed, Stop};

/// So near a tie, in minor units, a float is not trusted; it carries errors of some 10^-15 of itself.
const NEAR: f64 = 1e-5;
/// Nor is a larger one.
const TRUSTED: f64 = 1e9;

/// The totals of some events: the sums of their rounded entries.
///
/// In minor units: what can still be avoided, the money that leaves, what the versions use up.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct RoundedTotals(pub [i128; 3]);

impl Prices {
    /// The totals of some events, equal to those of the ledger that [`super::value`] writes. The prices must be those of the shop.
    ///
    /// # Errors
    /// As [`super::value`].
    pub fn rounded(&mut self, shop: &Shop, events: &[Event]) -> Result<RoundedTotals, Stop> {
        let minor = shop.scenario.minor();
        let totals = Minor { scale: 10f64.powi(minor.cast_signed()), minor, ..Minor::default() };
        let mut till = Till { prices: self, shop, totals };
        for event in events {
            till.value(event)?;
            if till.totals.doubt {
                till.totals.event = exactly(shop, event)?;
            }
            till.totals.settle();
        }
        Ok(RoundedTotals(till.totals.sums))
    }
}

/// Sums of rounded amounts, in minor units: avoidable, outlay, consumed.
#[derive(Default)]
struct Minor {
    scale: f64,
    minor: u32,
    sums: [i128; 3],
    /// Of the event at hand.
    event: [i128; 3],
    /// True where a float of the event at hand is not trusted.
    doubt: bool,
}

impl Minor {
    fn settle(&mut self) {
        self.sums.iter_mut().zip(self.event).for_each(|(sum, amount)| *sum += amount);
        self.event = [0; 3];
        self.doubt = false;
    }
}

impl Tally for Minor {
    #[inline]
    #[expect(clippy::cast_possible_truncation, reason = "smaller than what is trusted")]
    fn amount(&mut self, whither: In, amount: f64) {
        let size = amount.abs() * self.scale;
        let whole = (size + 0.5).floor();
        // The distance to the tie below or above.
        let beside = size + 0.5 - whole;
        if size > TRUSTED || !(NEAR..=1.0 - NEAR).contains(&beside) {
            self.doubt = true;
            return;
        }
        let whole = i128::from(if amount < 0.0 { -whole } else { whole } as i64);
        for (sum, counts) in self.event.iter_mut().zip(whither.counts()) {
            *sum += if counts { whole } else { 0 };
        }
    }

    fn order(&mut self, shop: &Shop, placed: &Placed, cost: &mut KnownCost) -> f64 {
        let lines = placed.lines.iter().map(|line| shop.route(line.route).repeats);
        let repeats = || lines.clone().chain([placed.repeats]);
        let known = cost.entered.take().filter(|(of, _)| of.iter().copied().eq(repeats()));
        let (of, sum) = known.unwrap_or_else(|| {
            let of: Vec<Exact> = repeats().collect();
            let whole = of[of.len() - 1];
            let entry = |&(line, amount): &(Option<usize>, Exact)| {
                let paid = (amount * line.map_or(whole, |l| of[l])).to_money(self.minor);
                paid.minor_units(self.minor)
            };
            let sum: i128 = cost.charges.iter().map(entry).sum();
            (of, sum)
        });
        let most = of.iter().copied().fold(Exact::ONE, Exact::max).quick_f64();
        let largest = cost.lines.iter().chain([&cost.whole]).map(|k| k.largest).fold(0.0, f64::max);
        cost.entered = Some((of, sum));
        self.event.iter_mut().for_each(|total| *total += sum);
        // What is refused is refused by the exact valuation: a float may be a hair beyond.
        self.doubt |= largest * most * 2.0 > LARGEST as f64;
        0.0
    }
}

/// The three totals of one event, from its entries.
fn exactly(shop: &Shop, event: &Event) -> Result<[i128; 3], Stop> {
    let Valued { ledger, .. } = value(shop, [event])?;
    let minor = shop.scenario.minor();
    let of = |total| ledger.total(total, u32::MAX).minor_units(minor);
    Ok([Total::Avoidable, Total::Outlay, Total::Consumed].map(of))
}
