//! The desk at which entries are written: amounts are rounded here, once, and nowhere else.

use super::{NoteKind, Notes};
use crate::ledger::{About, Category, Entry, Kind, Movement, Status};
use crate::model::{CurrencyId, Day, Exact, Money, Price, RateRows, SourceId, day_of};
use crate::plan::Shop;
use crate::sim::{Event, Stop};

/// The largest amount an entry may have: up to here sums over any horizon stay exact.
pub(super) const LARGEST: i64 = 1_000_000_000_000_000;

/// One amount before it is rounded.
#[derive(Clone, Copy, Debug)]
pub(super) struct Charge {
    pub category: Category,
    pub about: About,
    pub quantity: Exact,
    pub unit: &'static str,
    pub unit_price: Exact,
    /// The unrounded amount in the scenario's currency. Not always quantity x unit price in this order: divisions come last.
    pub amount: Exact,
    pub kind: Kind,
    pub invoice: bool,
    pub assumed: bool,
    pub source: SourceId,
}

/// Entries and movements as they are written.
pub(super) struct Desk<'s, 'a> {
    pub shop: &'s Shop<'a>,
    pub entries: Vec<Entry>,
    pub movements: Vec<Movement>,
    pub notes: Notes,
}

impl<'s, 'a> Desk<'s, 'a> {
    pub fn new(shop: &'s Shop<'a>) -> Desk<'s, 'a> {
        Desk { shop, entries: Vec::new(), movements: Vec::new(), notes: Notes::default() }
    }

    /// Writes an entry. Zero amounts are written for labour and delivery only.
    pub fn enter(&mut self, event: &Event, charge: Charge) -> Result<(), Stop> {
        if charge.amount.abs() > Exact::from(LARGEST) {
            return Err(Stop::TooLarge { iteration: event.iteration });
        }
        let amount: Money = charge.amount.to_money(self.shop.scenario.minor());
        let always = matches!(charge.category, Category::Labour | Category::Delivery);
        if amount.is_zero() && !always {
            return Ok(());
        }
        self.entries.push(Entry {
            when: event.when,
            iteration: event.iteration,
            part: event.part,
            route: event.route,
            step: event.step,
            category: charge.category,
            about: charge.about,
            quantity: charge.quantity,
            unit: charge.unit,
            unit_price: charge.unit_price,
            amount,
            kind: charge.kind,
            invoice: charge.invoice,
            assumed: charge.assumed,
            source: charge.source,
            status: Status::Forecast,
        });
        Ok(())
    }

    /// The day an event counts on; `None` without a start date.
    pub fn day(&self, event: &Event) -> Option<Day> {
        self.shop.scenario.start.map(|_| day_of(event.when))
    }

    /// A price in the scenario's currency at the rate of the event's day.
    pub fn price(&mut self, price: Price, event: &Event) -> Result<Exact, Stop> {
        let day = self.day(event);
        let rate = rate_on(self.shop, &self.shop.scenario.exchange, price.currency, day)?;
        if let Some((source, true)) = rate.source {
            self.notes.add(NoteKind::Expired, source);
        }
        Ok(self.shop.values.exact(price.value) * rate.value)
    }
}

/// An exchange rate as found.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rate {
    pub value: Exact,
    /// The row, and whether it is past its last valid day; `None` for the scenario's own currency.
    pub source: Option<(SourceId, bool)>,
}

/// What one unit of a currency is in the scenario's on a day.
pub(super) fn rate_on(
    shop: &Shop,
    table: &[RateRows],
    currency: CurrencyId,
    day: Option<Day>,
) -> Result<Rate, Stop> {
    if currency.0 == 0 {
        return Ok(Rate { value: Exact::ONE, source: None });
    }
    let index = currency.index();
    let row = table.get(index).and_then(|rows| rows.on(day));
    row.map(|(row, expired)| Rate {
        value: shop.values.exact(row.value),
        source: Some((row.source, expired)),
    })
    .ok_or_else(|| Stop::NoExchange { currency: shop.scenario.currencies[index].code.clone(), day })
}
