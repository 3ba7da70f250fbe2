//! The sheets of services: price rows, delivery levels, quotations.

use std::collections::BTreeSet;

use super::fields::{DeliveryFields, PriceFields, quantity_of};
use super::folder::Sheets;
use crate::diag::{Code, Place, did_you_mean};
use crate::model::resolve::parts::PartNames;
use crate::model::resolve::reading::{
    Load, SheetKind, Table, keyed, no_overlap, stated_currency, validity,
};
use crate::model::resolve::settings::Calendars;
use crate::model::{Basis, CurrencyId, PartId, Price, Quote, SourceId};

/// What selects a price row: service, material, finish, speed.
pub type Offer = [String; 4];

/// A price row as far as its sheet tells.
pub struct PriceLine {
    /// What selects it.
    pub offer: Offer,
    /// Smallest quantity.
    pub from_qty: i64,
    /// Its columns.
    pub fields: PriceFields,
    /// The sheet line.
    pub source: SourceId,
    /// Where that is.
    pub place: Place,
}

/// A delivery level.
pub struct DeliveryLine {
    /// The service.
    pub service: String,
    /// The level.
    pub level: String,
    /// Its columns.
    pub fields: DeliveryFields,
    /// The sheet line.
    pub source: SourceId,
}

/// A quotation.
pub struct QuoteLine {
    /// What selects it.
    pub offer: Offer,
    /// The quotation; its part is known.
    pub quote: Quote,
}

/// Everything the sheets tell about services.
#[derive(Default)]
pub struct Services {
    /// Price rows by offer, quantity and date.
    pub prices: Vec<PriceLine>,
    /// Delivery levels by service and level.
    pub deliveries: Vec<DeliveryLine>,
    /// Quotations by offer, part and quantity.
    pub quotes: Vec<QuoteLine>,
    /// Every offer of the two, in order.
    pub offers: Vec<Offer>,
}

impl Services {
    /// Reads services.csv, delivery.csv and quotes.csv.
    pub fn read(
        load: &mut Load,
        sheets: &Sheets,
        calendars: &Calendars,
        parts: &PartNames,
    ) -> Services {
        let prices = prices(load, sheets, calendars);
        let deliveries = deliveries(load, sheets, calendars);
        let quotes = quotes(load, sheets, parts);
        let mut offers: Vec<Offer> = prices.iter().map(|p| p.offer.clone()).collect();
        offers.extend(quotes.iter().map(|q| q.offer.clone()));
        offers.sort();
        offers.dedup();
        Services { prices, deliveries, quotes, offers }
    }

    /// The delivery levels of a service, in order.
    pub fn levels(&self, service: &str) -> Vec<&str> {
        let of_service = self.deliveries.iter().filter(|d| d.service == service);
        let mut levels: Vec<&str> = of_service.map(|d| d.level.as_str()).collect();
        levels.dedup();
        levels
    }

    /// Names of all services.
    pub fn names(&self) -> Vec<&str> {
        let mut names: Vec<&str> = self.prices.iter().map(|p| p.offer[0].as_str()).collect();
        names.extend(self.deliveries.iter().map(|d| d.service.as_str()));
        names.extend(self.quotes.iter().map(|q| q.offer[0].as_str()));
        names.sort_unstable();
        names.dedup();
        names
    }
}

fn offer_of(key: &[&str]) -> Offer {
    [0, 1, 2, 3].map(|i| key.get(i).map_or_else(String::new, |k| (*k).to_owned()))
}

/// An address of a row: its key, and the first valid day where an earlier row has the same.
fn address(room: &str, taken: &mut BTreeSet<String>, key: String, from: &str) -> String {
    let key = if taken.contains(&key) { format!("{key}|{from}") } else { key };
    let address = format!("{room}[{key}]");
    taken.insert(key);
    address
}

fn prices(load: &mut Load, sheets: &Sheets, calendars: &Calendars) -> Vec<PriceLine> {
    let Some(sheet) = sheets.get(SheetKind::Services) else {
        return Vec::new();
    };
    let mut lines: Vec<PriceLine> = Vec::new();
    let mut taken = BTreeSet::new();
    for (key, row) in keyed(load, sheet) {
        let from = sheet.text(row, "valid_from");
        let quantity = if key[4].is_empty() { "1" } else { key[4] };
        let name =
            address("services", &mut taken, format!("{}|{quantity}", key[..4].join("|")), from);
        let mut table = Table::row(sheet, row, name);
        if table.has("rate") {
            table.missing(load, "basis", "write part_volume, box_volume, area, mass or piece");
        }
        lines.push(PriceLine {
            offer: offer_of(&key),
            from_qty: quantity_of(load, &mut table, "from_qty"),
            fields: PriceFields::read(load, &mut table, calendars, Basis::Piece),
            source: load.source_line(&row.place),
            place: row.place.clone(),
        });
    }
    lines.sort_by(|a, b| {
        (&a.offer, a.from_qty, a.fields.valid.from).cmp(&(
            &b.offer,
            b.from_qty,
            b.fields.valid.from,
        ))
    });
    let spans: Vec<_> =
        lines.iter().map(|l| ((&l.offer, l.from_qty), l.fields.valid, &l.place)).collect();
    no_overlap(load, &spans, "service, material, finish, speed and from_qty");
    lines
}

fn deliveries(load: &mut Load, sheets: &Sheets, calendars: &Calendars) -> Vec<DeliveryLine> {
    let Some(sheet) = sheets.get(SheetKind::Delivery) else {
        return Vec::new();
    };
    let mut lines: Vec<DeliveryLine> = Vec::new();
    let mut places = Vec::new();
    let mut taken = BTreeSet::new();
    for (key, row) in keyed(load, sheet) {
        let from = sheet.text(row, "valid_from");
        let mut table =
            Table::row(sheet, row, address("delivery", &mut taken, key.join("|"), from));
        lines.push(DeliveryLine {
            service: key[0].to_owned(),
            level: key[1].to_owned(),
            fields: DeliveryFields::read(load, &mut table, calendars),
            source: load.source_line(&row.place),
        });
        places.push(&row.place);
    }
    let spans: Vec<_> = lines
        .iter()
        .zip(places)
        .map(|(l, p)| ((&l.service, &l.level), l.fields.valid, p))
        .collect();
    no_overlap(load, &spans, "service and delivery");
    lines
}

fn quotes(load: &mut Load, sheets: &Sheets, parts: &PartNames) -> Vec<QuoteLine> {
    let Some(sheet) = sheets.get(SheetKind::Quotes) else {
        return Vec::new();
    };
    let mut lines: Vec<(QuoteLine, &Place)> = Vec::new();
    let mut taken = BTreeSet::new();
    for (key, row) in keyed(load, sheet) {
        let from = sheet.text(row, "valid_from");
        let mut table = Table::row(sheet, row, address("quotes", &mut taken, key.join("|"), from));
        let part = quoted_part(load, &mut table, parts);
        if let Some((part, quote)) = part.zip(quote(load, &mut table)) {
            let line = QuoteLine { offer: offer_of(&key), quote: Quote { part, ..quote } };
            lines.push((line, &row.place));
        }
    }
    lines.sort_by(|(a, _), (b, _)| {
        (&a.offer, a.quote.part, a.quote.qty, a.quote.valid.from).cmp(&(
            &b.offer,
            b.quote.part,
            b.quote.qty,
            b.quote.valid.from,
        ))
    });
    let spans: Vec<_> = lines
        .iter()
        .map(|(l, p)| ((&l.offer, l.quote.part, l.quote.qty), l.quote.valid, *p))
        .collect();
    no_overlap(load, &spans, "part and quantity");
    lines.into_iter().map(|(line, _)| line).collect()
}

/// The part a quotation is for. One for a part of another scenario is a warning, one that is nearly a part of this one an error.
fn quoted_part(load: &mut Load, table: &mut Table, parts: &PartNames) -> Option<PartId> {
    let Some(one) = table.one("part") else {
        table.missing(load, "part", "name the part it is for");
        return None;
    };
    let name = one.name(load)?;
    let found = parts.find(name);
    if found.is_none() {
        let message = format!("no part is called `{name}`");
        match did_you_mean(name, parts.0.iter().map(String::as_str)) {
            Some(hint) => load.error(Code::UnknownPart, one.place, message, hint),
            None => load.warn(
                Code::UnknownPart,
                one.place,
                message,
                "the quotation is not used by this scenario",
            ),
        }
    }
    found
}

fn quote(load: &mut Load, table: &mut Table) -> Option<Quote> {
    for column in ["qty", "unit_price"] {
        table.missing(load, column, "a quotation needs a quantity and a price");
    }
    let currency = stated_currency(load, table).unwrap_or(CurrencyId(0));
    let value = table.number(load, "unit_price")?;
    Some(Quote {
        source: load.source_line(table.place),
        valid: validity(load, table),
        part: PartId(0),
        qty: quantity_of(load, table, "qty"),
        unit_price: Price { value, currency },
        lead: table.number(load, "lead"),
        reference: table.text(load, "reference").unwrap_or_default().to_owned(),
    })
}
