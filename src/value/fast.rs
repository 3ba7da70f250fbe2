//! Fast valuation: binary floats, totals alone, nothing rounded. What samples, sweeps and threshold probes rest on.
//!
//! It follows `exact` entry by entry. An order is worked out exactly once (by [`order_cost`]) and remembered; everything else is a
//! multiplication with a price that [`Prices`] has ready. No entry is kept, nothing is noted.

use super::order::order_cost;
use super::prices::{MachineSums, Prices, Sum};
use super::remembered::Known;
use super::{LARGEST, LARGEST_DRAW};
use crate::model::{Day, MILLION, Moment, Price, day_of};
use crate::plan::Shop;
use crate::sim::{Draw, Event, Placed, Stop, What};

/// The three totals of some events, unrounded, in the scenario's currency.
///
/// Each differs from the sum of the exact entries by at most `roundings` times half a minor unit and 10^-9 of `absolute`.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct FastTotals {
    /// What can still be avoided.
    pub avoidable: f64,
    /// Money that leaves.
    pub outlay: f64,
    /// What the versions use up.
    pub consumed: f64,
    /// Amounts other than zero: each would be rounded once in an exact valuation.
    pub roundings: u32,
    /// The sum of the absolute amounts.
    pub absolute: f64,
}

impl std::ops::AddAssign for FastTotals {
    fn add_assign(&mut self, other: FastTotals) {
        self.avoidable += other.avoidable;
        self.outlay += other.outlay;
        self.consumed += other.consumed;
        self.roundings += other.roundings;
        self.absolute += other.absolute;
    }
}

/// In which totals an amount counts.
#[derive(Clone, Copy)]
enum In {
    /// What a pack or a machine loses by use.
    Consumed,
    /// Packs, purchases and their delivery.
    Paid,
    /// Invoices, electricity, disposal, and hours that are paid.
    PaidAndConsumed,
    /// Own hours.
    Worked,
    /// Waiting, stock, resale.
    Avoided,
}

impl Prices {
    /// The totals of some events.
    ///
    /// # Errors
    /// As [`super::value`]: [`Stop::NoExchange`] and [`Stop::TooLarge`], at the same event.
    pub fn totals(&mut self, shop: &Shop, events: &[Event]) -> Result<FastTotals, Stop> {
        let mut till = Till { prices: self, shop, totals: FastTotals::default() };
        for event in events {
            till.value(event)?;
        }
        Ok(till.totals)
    }
}

/// Where amounts are summed.
struct Till<'p, 's, 'a> {
    prices: &'p mut Prices,
    shop: &'s Shop<'a>,
    totals: FastTotals,
}

impl Till<'_, '_, '_> {
    #[inline]
    fn value(&mut self, event: &Event) -> Result<(), Stop> {
        match &event.what {
            What::Work { seconds, times, once, .. } => {
                let counted = *seconds as f64 * times.quick_f64() + *once as f64;
                let whither =
                    if self.prices.labour_paid { In::PaidAndConsumed } else { In::Worked };
                self.enter(event, whither, counted * self.prices.labour)
            }
            What::Machine { equipment, seconds, times, once } => {
                let ran = *seconds as f64 * times.quick_f64() + *once as f64;
                self.ran(event, equipment.index(), ran)
            }
            What::Draw(draw) => self.draw(event, draw),
            What::Move { .. } => Ok(()),
            What::Emptied(bath, mixture) => {
                let solvent = self.shop.bath(*bath).solvent;
                let item = &self.shop.scenario.items[solvent.index()];
                let litres = *mixture as f64 / (1000 * MILLION) as f64;
                self.paid(event, item.waste_charge_per_l, (In::PaidAndConsumed, litres))
            }
            What::Purchase(id) => {
                let machine = &self.shop.scenario.equipment[id.index()];
                if machine.price.is_none() {
                    return Ok(());
                }
                self.paid(event, machine.price, (In::Paid, 1.0))?;
                self.paid(event, machine.resale, (In::Avoided, -1.0))?;
                self.paid(event, machine.delivery_cost, (In::Paid, 1.0))
            }
            What::BuyFirst => {
                let price = event.route.and_then(|r| self.shop.scenario.route(r).buy_first);
                self.paid(event, price, (In::Paid, 1.0))
            }
            What::Order(placed) => self.order(event, placed),
            What::Wait(seconds) => {
                self.enter(event, In::Avoided, *seconds as f64 * self.prices.delay)
            }
            What::Kept(item, fallen) => match &self.prices.items[item.index()] {
                Some(sums) if sums.packs => {
                    let packs = *fallen as f64 * sums.share * sums.keep;
                    let amount = packs * self.here(sums.price, event.when)?;
                    self.enter(event, In::Avoided, amount)
                }
                _ => Ok(()),
            },
            What::Cancelled(index) => {
                let past = self.shop.scenario.past.as_ref();
                let lot = past.and_then(|past| past.under_way.lots.get(*index));
                let back = lot.map_or(0.0, |lot| lot.back.exact().to_f64_lossy());
                self.enter(event, In::PaidAndConsumed, -back)
            }
        }
    }

    #[inline]
    fn enter(&mut self, event: &Event, whither: In, amount: f64) -> Result<(), Stop> {
        let size = amount.abs();
        if size > LARGEST as f64 {
            return Err(Stop::TooLarge { iteration: event.iteration });
        }
        self.totals.absolute += size;
        self.totals.roundings += u32::from(amount != 0.0);
        if !matches!(whither, In::Consumed) {
            self.totals.avoidable += amount;
        }
        if matches!(whither, In::Paid | In::PaidAndConsumed) {
            self.totals.outlay += amount;
        }
        if matches!(whither, In::Consumed | In::PaidAndConsumed | In::Worked) {
            self.totals.consumed += amount;
        }
        Ok(())
    }

    /// An amount in the scenario's currency at the rate of a moment's day.
    #[inline]
    fn here(&self, sum: Sum, when: Moment) -> Result<f64, Stop> {
        if sum.currency.0 == 0 { Ok(sum.value) } else { self.converted(sum, when) }
    }

    fn converted(&self, sum: Sum, when: Moment) -> Result<f64, Stop> {
        let (index, day) = (sum.currency.index(), self.day(when));
        let rate = self.prices.exchange.get(index).and_then(|rows| rows.on(day));
        let no_rate = || {
            let currency = self.shop.scenario.currencies[index].code.clone();
            Stop::NoExchange { currency, day }
        };
        rate.map(|rate| sum.value * rate).ok_or_else(no_rate)
    }

    fn day(&self, when: Moment) -> Option<Day> {
        self.prices.has_start.then(|| day_of(when))
    }

    /// So many times a price that is rarely asked for, if there is one.
    fn paid(
        &mut self,
        event: &Event,
        price: Option<Price>,
        (whither, times): (In, f64),
    ) -> Result<(), Stop> {
        let Some(price) = price else {
            return Ok(());
        };
        let price = self.here(Sum::of(price, self.shop.values), event.when)?;
        self.enter(event, whither, price * times)
    }

    /// Electricity and wear.
    fn ran(&mut self, event: &Event, machine: usize, seconds: f64) -> Result<(), Stop> {
        let MachineSums { power, wear } = self.prices.machines[machine];
        if let Some(power) = power
            && let Some(rate) = self.prices.electricity.on(self.day(event.when))
        {
            let sum = Sum { value: rate, currency: self.prices.electricity_currency };
            let price = self.here(sum, event.when)?;
            self.enter(event, In::PaidAndConsumed, power * seconds * price)?;
        }
        let Some((price, resale, share)) = wear else {
            return Ok(());
        };
        let mut lost = self.here(price, event.when)?;
        if let Some(resale) = resale {
            lost -= self.here(resale, event.when)?;
        }
        self.enter(event, In::Consumed, lost * share * seconds)
    }

    fn draw(&mut self, event: &Event, draw: &Draw) -> Result<(), Stop> {
        if draw.amount.max(draw.bought) > LARGEST_DRAW {
            return Err(Stop::TooLarge { iteration: event.iteration });
        }
        let Some(sums) = &self.prices.items[draw.item.index()] else {
            return Ok(());
        };
        let (in_packs, share) = (sums.packs, sums.share);
        let price = self.here(sums.price, event.when)?;
        let used = draw.amount as f64 * share * price;
        self.enter(event, In::Consumed, used)?;
        if !in_packs {
            let paid = draw.bought as f64 * share * price;
            return self.enter(event, In::Paid, paid);
        }
        if draw.packs == 0 {
            return Ok(());
        }
        self.enter(event, In::Paid, draw.packs as f64 * price)?;
        let delivery = self.shop.scenario.items[draw.item.index()].delivery_cost;
        self.paid(event, delivery, (In::Paid, 1.0))
    }

    /// An order, from memory where the same was placed before under the same rates.
    fn order(&mut self, event: &Event, placed: &Placed) -> Result<(), Stop> {
        let known = match self.prices.costs.find(placed, &self.prices.epochs) {
            Some(known) => known,
            None => {
                let cost = order_cost(self.shop, placed)?;
                self.prices.costs.keep(placed, &self.prices.epochs, &cost)
            }
        };
        let mut largest: f64 = 0.0;
        let mut add = |part: &Known, repeats: f64| {
            let amount = part.sum * repeats;
            largest = largest.max(part.largest * repeats);
            self.totals.roundings += part.count;
            self.totals.absolute += amount;
            self.totals.avoidable += amount;
            self.totals.outlay += amount;
            self.totals.consumed += amount;
        };
        let cost = self.prices.costs.get(known);
        for (line, part) in placed.lines.iter().zip(&cost.lines) {
            add(part, self.shop.route(line.route).repeats.quick_f64());
        }
        add(&cost.whole, placed.repeats.quick_f64());
        if largest > LARGEST as f64 {
            return Err(Stop::TooLarge { iteration: event.iteration });
        }
        Ok(())
    }
}
