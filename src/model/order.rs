//! Terms of an outside service: price rows, quotes, delivery, duty, tax, exchange.

use super::{CurrencyId, Day, PartId, Price, Properties, Slot, SourceId, Validity};

/// Orders of one iteration with the same group are one order: same service and delivery level.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct GroupId(pub u16);
super::index_id!(GroupId);

/// An index into [`super::Scenario::calendars`]; 0 is Monday to Friday.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct CalendarId(pub u16);
super::index_id!(CalendarId);

/// Everything an order route needs. The short form (`piece`, `delivery_cost`, `arrives_after`) is one price row per piece with its
/// lead, and one delivery row with no transit.
#[derive(Clone, Debug)]
pub struct Terms {
    /// The service's name; for the short form the route's.
    pub service: String,
    /// The name of the delivery level; empty for none.
    pub delivery: String,
    /// Which orders it shares.
    pub group: GroupId,
    /// Price rows of its service, material, finish and speed, with the columns stated on the route already put in their place.
    pub rows: Vec<PriceRow>,
    /// Quotations for single parts.
    pub quotes: Vec<Quote>,
    /// Rows of the delivery level; empty: delivery is not counted and takes no time.
    pub deliveries: Vec<DeliveryRow>,
    /// Duty as a share.
    pub duty: RateRows,
    /// True where duty is on goods and delivery.
    pub duty_on_delivery: bool,
    /// Tax as a share.
    pub tax: RateRows,
    /// True where tax is recoverable: no entry.
    pub tax_recoverable: bool,
    /// A fee per order, in the scenario's currency.
    pub import_fee: RateRows,
    /// A share of what is paid in another currency.
    pub exchange_fee: RateRows,
    /// Exchange rates into the scenario's currency, by [`CurrencyId`]; empty rows at 0.
    pub exchange: Vec<RateRows>,
    /// Attended time of placing the order.
    pub order_time: Slot,
    /// Attended time per part and iteration before it.
    pub brief: Option<Slot>,
    /// Chance that the lot is wrong and paid by the user.
    pub misread: Option<Slot>,
    /// Chance that the lot is wrong and replaced free.
    pub reject: Option<Slot>,
}

impl Terms {
    /// True where it matters on which day an order is placed: some row is not valid for ever.
    pub fn is_dated(&self) -> bool {
        let rows = self.rows.iter().map(|r| &r.valid);
        let quotes = self.quotes.iter().map(|q| &q.valid);
        let deliveries = self.deliveries.iter().map(|d| &d.valid);
        rows.chain(quotes).chain(deliveries).any(|valid| valid.from.is_some() || valid.to.is_some())
    }
}

/// What a rate of a price row is multiplied by.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Basis {
    /// Each piece; no geometry needed.
    Piece,
    /// The part's volume in cm3.
    PartVolume,
    /// The volume of its box in cm3.
    BoxVolume,
    /// Its surface in cm2.
    Area,
    /// Its mass in g, by the row's density.
    Mass,
}

/// A price row of a service.
#[derive(Clone, Debug)]
pub struct PriceRow {
    /// The sheet line, or the route for the short form.
    pub source: SourceId,
    /// Its days of validity.
    pub valid: Validity,
    /// Smallest quantity of one part it holds for.
    pub from_qty: i64,
    /// Its currency.
    pub currency: CurrencyId,
    /// What the rate is multiplied by.
    pub basis: Basis,
    /// Money per unit of the basis; `None`: not stated, so the piece is not counted.
    pub rate: Option<Slot>,
    /// True where a price per piece stated on the route stands in for `rate`, `basis` and `piece_min`.
    pub stated_piece: bool,
    /// Least price of a piece.
    pub piece_min: Option<Slot>,
    /// Set-up per part line.
    pub setup_per_part: Option<Slot>,
    /// Set-up per order.
    pub setup_per_order: Option<Slot>,
    /// Finish per piece.
    pub finish_per_piece: Option<Slot>,
    /// Least sum of goods of an order.
    pub order_min: Option<Slot>,
    /// Business days until it ships.
    pub lead: Slot,
    /// Second of the day up to which an order counts for that day.
    pub cutoff: Option<i64>,
    /// The service's business days.
    pub calendar: CalendarId,
    /// Density in g/mL.
    pub density: Option<Slot>,
    /// What the sheet states about the finished piece.
    pub properties: Properties,
    /// Greatest box in mm.
    pub max_box: Option<[Slot; 3]>,
}

/// A quotation for one part.
#[derive(Clone, Debug)]
pub struct Quote {
    /// The sheet line.
    pub source: SourceId,
    /// Its days of validity.
    pub valid: Validity,
    /// The part it is for.
    pub part: PartId,
    /// Smallest quantity it holds for.
    pub qty: i64,
    /// Price of one piece.
    pub unit_price: Price,
    /// Business days until it ships, where stated.
    pub lead: Option<Slot>,
    /// The quotation's reference.
    pub reference: String,
}

/// A delivery level of a service.
#[derive(Clone, Debug)]
pub struct DeliveryRow {
    /// The sheet line, or the route for the short form.
    pub source: SourceId,
    /// Its days of validity.
    pub valid: Validity,
    /// Its currency.
    pub currency: CurrencyId,
    /// Fixed price of a parcel; absent: 0.
    pub base: Option<Slot>,
    /// Money per kg of chargeable mass.
    pub per_kg: Option<Slot>,
    /// cm3 that count as one kg.
    pub divisor: Option<Slot>,
    /// Step to which the chargeable mass is rounded up, in g.
    pub mass_step: Option<Slot>,
    /// Carrier business days on the way; absent: 0.
    pub transit: Option<Slot>,
    /// Second of the day at which it arrives.
    pub arrives: i64,
    /// The carrier's business days.
    pub calendar: CalendarId,
}

/// One dated value of a named rate.
#[derive(Clone, Copy, Debug)]
pub struct RateRow {
    /// The value.
    pub value: Slot,
    /// Its days of validity.
    pub valid: Validity,
    /// The sheet line.
    pub source: SourceId,
}

/// The dated values of one rate; empty where it is not stated.
#[derive(Clone, Debug, Default)]
pub struct RateRows(pub Vec<RateRow>);

/// A dated choice among rows: which one, and whether it had to be taken although it is past its last valid day.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Chosen {
    /// Index of the row.
    pub index: usize,
    /// True where every row was past its last valid day and the latest was taken.
    pub expired: bool,
}

/// The row that holds on a day: not yet valid ones are dropped; among the rest those not past their last day, the one valid
/// from the latest; if all are past, the one that ended last, flagged. Without a day (no start date) every row counts as valid and the
/// latest first day wins.
pub fn row_on<'a>(
    valid: impl Iterator<Item = (usize, &'a Validity)>,
    day: Option<Day>,
) -> Option<Chosen> {
    let mut best: Option<(bool, Option<Day>, usize)> = None;
    for (index, v) in valid {
        let candidate = match day {
            None => (true, v.from, index),
            Some(day) if v.from.is_some_and(|from| from > day) => continue,
            Some(day) => match v.to {
                Some(to) if to < day => (false, Some(to), index),
                _ => (true, v.from, index),
            },
        };
        let better = best.is_none_or(|b| (candidate.0, candidate.1) > (b.0, b.1));
        if better {
            best = Some(candidate);
        }
    }
    best.map(|(current, _, index)| Chosen { index, expired: !current })
}

impl RateRows {
    /// The value that holds on a day, if any (see [`row_on`]).
    pub fn on(&self, day: Option<Day>) -> Option<(&RateRow, bool)> {
        let chosen = row_on(self.0.iter().enumerate().map(|(i, r)| (i, &r.valid)), day)?;
        Some((&self.0[chosen.index], chosen.expired))
    }
}
