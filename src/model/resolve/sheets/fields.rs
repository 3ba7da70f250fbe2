//! The columns of services.csv and delivery.csv, read from a row or from a route that states them in a row's place.

use crate::input::UnitKind;
use crate::model::resolve::keys::{BASES, NumberKind};
use crate::model::resolve::limits;
use crate::model::resolve::reading::{Load, Table, over, properties, stated_currency, validity};
use crate::model::resolve::settings::Calendars;
use crate::model::{
    Basis, CalendarId, CurrencyId, DeliveryRow, PriceRow, Properties, Slot, SourceId, Validity,
};

/// What a price row, or a route in its place, states.
#[derive(Clone, Default)]
pub struct PriceFields {
    basis: Option<Basis>,
    rate: Option<Slot>,
    /// A price per piece stated on a route.
    piece: Option<Slot>,
    piece_min: Option<Slot>,
    setup_per_part: Option<Slot>,
    /// Set-up per order.
    pub setup_per_order: Option<Slot>,
    finish_per_piece: Option<Slot>,
    /// Least sum of goods.
    pub order_min: Option<Slot>,
    /// Business days until it ships.
    pub lead: Option<Slot>,
    cutoff: Option<i64>,
    calendar: Option<CalendarId>,
    density: Option<Slot>,
    properties: Properties,
    max_box: Option<[Slot; 3]>,
    currency: Option<CurrencyId>,
    /// Days of validity.
    pub valid: Validity,
}

impl PriceFields {
    /// Reads them; `basis` is what a rate without a basis of its own is per.
    pub fn read(
        load: &mut Load,
        table: &mut Table,
        calendars: &Calendars,
        basis: Basis,
    ) -> PriceFields {
        let stated = table.one("basis").and_then(|one| one.choice(load, "basis", &BASES));
        let unit = unit_of(stated.unwrap_or(basis));
        PriceFields {
            basis: stated,
            rate: table.number_as(load, "rate", NumberKind::PriceOf(unit)),
            piece: None,
            piece_min: table.number(load, "piece_min"),
            setup_per_part: table.number(load, "setup_per_part"),
            setup_per_order: table.number(load, "setup_per_order"),
            finish_per_piece: table.number(load, "finish_per_piece"),
            order_min: table.number(load, "order_min"),
            lead: table.number(load, "lead"),
            cutoff: table.one("cutoff").and_then(|one| one.time_of_day(load)),
            calendar: table.one("calendar").map(|one| calendars.id(load, one)),
            density: table.number(load, "density"),
            properties: properties(load, table),
            max_box: table.lengths::<3>(load, "max_box"),
            currency: stated_currency(load, table),
            valid: validity(load, table),
        }
    }

    /// Reads the price of a piece, which only a route can state.
    pub fn read_piece(&mut self, load: &mut Load, table: &mut Table) {
        self.piece = table.number(load, "piece");
    }

    /// True where a route states a price per piece.
    pub fn has_piece(&self) -> bool {
        self.piece.is_some()
    }

    /// The basis a rate stands on.
    pub fn basis(&self) -> Basis {
        self.basis.unwrap_or(Basis::Piece)
    }

    /// These with what a route states put in their place.
    pub fn with(&self, route: &PriceFields) -> PriceFields {
        PriceFields {
            basis: route.basis.or(self.basis),
            rate: route.rate.or(self.rate),
            piece: route.piece.or(self.piece),
            piece_min: route.piece_min.or(self.piece_min),
            setup_per_part: route.setup_per_part.or(self.setup_per_part),
            setup_per_order: route.setup_per_order.or(self.setup_per_order),
            finish_per_piece: route.finish_per_piece.or(self.finish_per_piece),
            order_min: route.order_min.or(self.order_min),
            lead: route.lead.or(self.lead),
            cutoff: route.cutoff.or(self.cutoff),
            calendar: route.calendar.or(self.calendar),
            density: route.density.or(self.density),
            properties: over(&self.properties, &route.properties),
            max_box: route.max_box.or(self.max_box),
            currency: route.currency.or(self.currency),
            valid: over_valid(self.valid, route.valid),
        }
    }

    /// Business days alone, as `arrives_after` counts them: no cutoff, Monday to Friday.
    pub fn arrives_after(&mut self, lead: Slot) {
        self.lead = Some(lead);
        self.cutoff = None;
        self.calendar = Some(CalendarId(0));
    }

    /// The row; `None` without a lead.
    pub fn row(&self, source: SourceId, from_qty: i64) -> Option<PriceRow> {
        let stated_piece = self.piece.is_some();
        Some(PriceRow {
            source,
            valid: self.valid,
            from_qty,
            currency: self.currency.unwrap_or(CurrencyId(0)),
            basis: if stated_piece { Basis::Piece } else { self.basis() },
            rate: self.piece.or(self.rate),
            stated_piece,
            piece_min: if stated_piece { None } else { self.piece_min },
            setup_per_part: self.setup_per_part,
            setup_per_order: self.setup_per_order,
            finish_per_piece: self.finish_per_piece,
            order_min: self.order_min,
            lead: self.lead?,
            cutoff: self.cutoff,
            calendar: self.calendar.unwrap_or(CalendarId(0)),
            density: self.density,
            properties: self.properties.clone(),
            max_box: self.max_box,
        })
    }
}

/// The unit a rate of a basis is per.
fn unit_of(basis: Basis) -> UnitKind {
    match basis {
        Basis::Piece => UnitKind::Pieces,
        Basis::PartVolume | Basis::BoxVolume => UnitKind::Volume,
        Basis::Area => UnitKind::Area,
        Basis::Mass => UnitKind::Mass,
    }
}

fn over_valid(base: Validity, stated: Validity) -> Validity {
    Validity { from: stated.from.or(base.from), to: stated.to.or(base.to) }
}

/// What a delivery row, or a route in its place, states.
#[derive(Clone, Default)]
pub struct DeliveryFields {
    base: Option<Slot>,
    /// Money per kg.
    pub per_kg: Option<Slot>,
    /// cm3 per kg.
    pub divisor: Option<Slot>,
    mass_step: Option<Slot>,
    transit: Option<Slot>,
    arrives: Option<i64>,
    calendar: Option<CalendarId>,
    /// A fixed price of the parcel, stated on a route: nothing is added by mass.
    fixed: bool,
    currency: Option<CurrencyId>,
    /// Days of validity.
    pub valid: Validity,
}

/// Columns of delivery.csv that a route may state, and its own words for them.
pub const DELIVERY_COLUMNS: [&str; 7] =
    ["delivery_cost", "base", "per_kg", "divisor", "mass_step", "transit", "arrives"];

impl DeliveryFields {
    /// Reads them.
    pub fn read(load: &mut Load, table: &mut Table, calendars: &Calendars) -> DeliveryFields {
        let fixed = table.has("delivery_cost");
        let cost = table.number(load, "delivery_cost");
        DeliveryFields {
            base: table.number(load, "base").or(cost),
            per_kg: table.number(load, "per_kg"),
            divisor: table.number(load, "divisor"),
            mass_step: table.number(load, "mass_step"),
            transit: table.number(load, "transit"),
            arrives: table.one("arrives").and_then(|one| one.time_of_day(load)),
            calendar: table.one("calendar").map(|one| calendars.id(load, one)),
            fixed,
            currency: stated_currency(load, table),
            valid: validity(load, table),
        }
    }

    /// These with what a route states put in their place.
    pub fn with(&self, route: &DeliveryFields) -> DeliveryFields {
        DeliveryFields {
            base: route.base.or(self.base),
            per_kg: if route.fixed { route.per_kg } else { route.per_kg.or(self.per_kg) },
            divisor: route.divisor.or(self.divisor),
            mass_step: route.mass_step.or(self.mass_step),
            transit: route.transit.or(self.transit),
            arrives: route.arrives.or(self.arrives),
            calendar: route.calendar.or(self.calendar),
            fixed: route.fixed || self.fixed,
            currency: route.currency.or(self.currency),
            valid: over_valid(self.valid, route.valid),
        }
    }

    /// Arrival on the day it ships, as `arrives_after` counts.
    pub fn arrives_at_once(&mut self) {
        self.transit = None;
        self.arrives = None;
        self.calendar = Some(CalendarId(0));
    }

    /// The numbers by column, to compare routes that share a parcel.
    pub fn columns(&self) -> [(&'static str, Option<Slot>); 5] {
        [
            (if self.fixed { "delivery_cost" } else { "base" }, self.base),
            ("per_kg", self.per_kg),
            ("divisor", self.divisor),
            ("mass_step", self.mass_step),
            ("transit", self.transit),
        ]
    }

    /// The second of the day at which it arrives, where stated.
    pub fn arrives(&self) -> Option<i64> {
        self.arrives
    }

    /// The row; it arrives at an assumed time of day where none is stated.
    pub fn row(&self, source: SourceId) -> DeliveryRow {
        DeliveryRow {
            source,
            valid: self.valid,
            currency: self.currency.unwrap_or(CurrencyId(0)),
            base: self.base,
            per_kg: self.per_kg,
            divisor: self.divisor,
            mass_step: self.mass_step,
            transit: self.transit,
            arrives: self.arrives.unwrap_or(crate::model::ARRIVES),
            calendar: self.calendar.unwrap_or(CalendarId(0)),
        }
    }
}

/// A smallest quantity: 1 where the cell is empty.
pub fn quantity_of(load: &mut Load, table: &mut Table, key: &str) -> i64 {
    table.one(key).and_then(|one| one.whole(load, 1, limits::COPIES)).unwrap_or(1)
}
