//! Order routes: the short form, and rows of a service's sheets with what the route states put in their place.

use super::agreement::note_stated;
use super::offers::{level, offer};
use super::world::World;
use crate::diag::Code;
use crate::model::resolve::reading::{Load, SheetKind, Table};
use crate::model::resolve::sheets::{DELIVERY_COLUMNS, DeliveryFields, Offer, PriceFields};
use crate::model::{Basis, DeliveryRow, GroupId, ORDER_TIME, PriceRow, Quote, SourceId, Terms};

/// Reads the terms of an order route.
pub fn order(load: &mut Load, world: &mut World, table: &mut Table, name: &str) -> Terms {
    check_short_keys(load, table);
    let after = table.number(load, "arrives_after");
    let offer = if table.has("service") { offer(load, world, table) } else { None };
    world.asked.extend(offer.clone());
    let basis = first_basis(world, offer.as_ref());
    let mut own = PriceFields::read(load, table, world.calendars, basis);
    own.read_piece(load, table);
    let mut parcel = DeliveryFields::read(load, table, world.calendars);
    if let Some(lead) = after {
        own.arrives_after(lead);
        parcel.arrives_at_once();
    }
    let own_row = OwnRow { load, table, name, after: after.is_some() };
    let (service, rows, quotes) = own_row.prices(world, offer.as_ref(), &own);
    let (delivery, deliveries) =
        deliveries(load, world, table, (name, &service), (&parcel, after.is_some()));
    note_stated(load, world, table, (name, &service, &delivery), (&own, &parcel));
    terms(load, world, table, Lines { service, delivery, rows, quotes, deliveries })
}

/// `arrives_after` stands for lead and delivery time together; `delivery_cost` for the columns of a parcel's price.
fn check_short_keys(load: &mut Load, table: &Table) {
    let pairs = [
        ("arrives_after", "lead", "delete `arrives_after`, or `lead`"),
        ("arrives_after", "delivery", "delete `arrives_after`, or `delivery`"),
        ("arrives_after", "transit", "delete `arrives_after`, or `transit`"),
        ("arrives_after", "arrives", "delete `arrives_after`, or `arrives`"),
        ("arrives_after", "cutoff", "delete `arrives_after`, or `cutoff`"),
        ("arrives_after", "calendar", "delete `arrives_after`, or `calendar`"),
        ("piece", "rate", "delete `rate`: the price of a piece is stated"),
        ("delivery_cost", "base", "delete `base`: the price of a parcel is stated"),
    ];
    for (short, detail, hint) in pairs {
        if table.has(short) && table.has(detail) {
            load.conflict(
                Code::ConflictingKeys,
                (short, table.place_of(short)),
                (detail, table.place_of(detail)),
                hint,
            );
        }
    }
}

/// The basis a rate on the route is read by: that of the first row it would use.
fn first_basis(world: &World, offer: Option<&Offer>) -> Basis {
    let line = world.services.prices.iter().find(|l| Some(&l.offer) == offer);
    line.map_or(Basis::Piece, |l| l.fields.basis())
}

struct OwnRow<'l, 't, 'a> {
    load: &'l mut Load,
    table: &'t mut Table<'a>,
    name: &'t str,
    after: bool,
}

impl OwnRow<'_, '_, '_> {
    /// Service, price rows and quotations of the route.
    fn prices(
        mut self,
        world: &World,
        offer: Option<&Offer>,
        own: &PriceFields,
    ) -> (String, Vec<PriceRow>, Vec<Quote>) {
        let service = self.table.name(self.load, "service").map(str::to_owned);
        let Some(offer) = offer else {
            let rows = if service.is_some() { self.alone(own) } else { self.short(own) };
            return (service.unwrap_or_else(|| self.name.to_owned()), rows, Vec::new());
        };
        let mut rows = Vec::new();
        for line in world.services.prices.iter().filter(|l| l.offer == *offer) {
            let mut fields = line.fields.with(own);
            if let Some(lead) = own.lead.filter(|_| self.after) {
                fields.arrives_after(lead);
            }
            match fields.row(line.source, line.from_qty) {
                Some(row) => rows.push(row),
                // A sheet without the column is one finding already.
                None if world.sheets.has_column(SheetKind::Services, "lead") => {
                    let hint =
                        "fill in the business days until it ships, or state `lead` on the route";
                    self.load.error(Code::MissingKey, &line.place, "`lead` is missing", hint);
                }
                None => {}
            }
        }
        if rows.iter().any(|r| r.rate.is_none()) {
            self.load.not_counted(format!("pieces of `{}` (no rate in services.csv)", self.name));
        }
        // A price per piece on the route overrides what the sheets say, quotations among it.
        let of_offer =
            world.services.quotes.iter().filter(|q| q.offer == *offer && !own.has_piece());
        (offer[0].clone(), rows, of_offer.map(|q| q.quote.clone()).collect())
    }

    /// The one row of the short form.
    fn short(&mut self, own: &PriceFields) -> Vec<PriceRow> {
        if !self.table.has("rate") {
            self.table.missing(
                self.load,
                "piece",
                "state the price of one piece, or name a `service` of services.csv",
            );
        }
        self.alone(own)
    }

    fn alone(&mut self, own: &PriceFields) -> Vec<PriceRow> {
        if !self.table.has("lead") && !self.table.has("service") {
            let hint =
                "state when it arrives, such as `arrives_after = \"8 business days\"`, or `lead`";
            self.table.missing(self.load, "arrives_after", hint);
        }
        let source = self.load.source_line(self.table.place);
        own.row(source, 1).into_iter().collect()
    }
}

/// Delivery level and rows of the route.
fn deliveries(
    load: &mut Load,
    world: &World,
    table: &mut Table,
    (route, service): (&str, &str),
    (own, after): (&DeliveryFields, bool),
) -> (String, Vec<DeliveryRow>) {
    let short = !table.has("service");
    let levels = if short { Vec::new() } else { world.services.levels(service) };
    let level = if short { None } else { level(load, world, table, &levels, after) };
    let mut rows: Vec<DeliveryRow> = Vec::new();
    for line in world
        .services
        .deliveries
        .iter()
        .filter(|d| d.service == service && Some(&d.level) == level.as_ref())
    {
        let mut fields = line.fields.with(own);
        if after {
            fields.arrives_at_once();
        }
        let row = fields.row(line.source);
        if row.transit.is_none() && !after {
            no_transit(load, line.source);
        }
        rows.push(row);
    }
    let stated = DELIVERY_COLUMNS.iter().any(|c| table.has(c));
    if rows.is_empty() && (short || stated || after) {
        let source: SourceId = load.source_line(table.place);
        rows.push(own.row(source));
    }
    if !rows.iter().any(|r| r.base.is_some()) {
        let why = if short { "no price stated" } else { "no price in delivery.csv" };
        load.not_counted(format!("delivery of `{route}` ({why})"));
    }
    (level.unwrap_or_default(), rows)
}

/// Warns of a row that would arrive on the day it ships only because nobody filled a cell in.
fn no_transit(load: &mut Load, source: SourceId) {
    if let Some(place) = load.place_of(source).cloned() {
        let message = "no transit stated: counted as the day it ships";
        let hint = "fill in the carrier's business days on the way, 0 if there are none";
        load.warn(Code::MissingKey, &place, message, hint);
    }
}

struct Lines {
    service: String,
    delivery: String,
    rows: Vec<PriceRow>,
    quotes: Vec<Quote>,
    deliveries: Vec<DeliveryRow>,
}

fn terms(load: &mut Load, world: &World, table: &mut Table, lines: Lines) -> Terms {
    let service = lines.service.as_str();
    let rates = &world.rates;
    Terms {
        group: GroupId(0),
        duty: rates.of("duty", service),
        duty_on_delivery: rates.flag("duty_on", service, world.start_day),
        tax: rates.of("tax", service),
        tax_recoverable: rates.flag("tax_recoverable", service, world.start_day),
        import_fee: rates.of("import_fee", service),
        exchange_fee: rates.of("exchange_fee", service),
        exchange: Vec::new(),
        order_time: table.number_or_assumed(load, &ORDER_TIME),
        brief: table.number(load, "brief"),
        misread: table.number(load, "misread"),
        reject: table.number(load, "reject"),
        service: lines.service,
        delivery: lines.delivery,
        rows: lines.rows,
        quotes: lines.quotes,
        deliveries: lines.deliveries,
    }
}
