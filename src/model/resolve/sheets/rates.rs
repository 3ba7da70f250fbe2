//! Named rates: electricity, tax, duty, fees and exchange, with and without a service.

use super::folder::Sheets;
use crate::diag::{Code, Place, did_you_mean};
use crate::input::{Quantity, read_quantity};
use crate::model::resolve::keys::{DUTY_BASES, NumberKind};
use crate::model::resolve::reading::{
    Lit, Load, One, SheetKind, Spread, Table, currency, keyed, no_overlap, stated_currency,
    validity,
};
use crate::model::{CurrencyId, Day, RateRow, RateRows, Slot, Validity, row_on};

/// Rates that have one name; exchange rates name two currencies.
const NAMES: [&str; 7] =
    ["electricity", "tax", "duty", "duty_on", "import_fee", "tax_recoverable", "exchange_fee"];

/// One row of rates.csv.
struct Rate {
    /// Its name, blanks made single: `exchange EUR->USD`.
    name: String,
    /// The service it is for; empty for all.
    service: String,
    /// A number, or a text as yes or no.
    value: Value,
    valid: Validity,
    currency: Option<CurrencyId>,
    place: Place,
    source: crate::model::SourceId,
}

#[derive(Clone, Copy)]
enum Value {
    Number(Slot),
    Flag(bool),
}

/// The rows of rates.csv.
#[derive(Default)]
pub struct Rates {
    rows: Vec<Rate>,
}

impl Rates {
    /// Reads rates.csv.
    pub fn read(load: &mut Load, sheets: &Sheets) -> Rates {
        let Some(sheet) = sheets.get(SheetKind::Rates) else {
            return Rates::default();
        };
        let keyed = keyed(load, sheet);
        let mut rates = Rates::default();
        for (index, (key, row)) in keyed.iter().enumerate() {
            let again = index > 0 && keyed[index - 1].0 == *key;
            let Some(name) = rate_name(load, key[0], &row.place) else {
                continue;
            };
            let mut address = name.clone();
            if !key[1].is_empty() {
                address = format!("{address}|{}", key[1]);
            }
            if again {
                address = format!("{address}|{}", sheet.text(row, "valid_from"));
            }
            let mut table = Table::row(sheet, row, format!("rates[{address}]"));
            rates.rows.extend(rate(load, &mut table, name, key[1]));
        }
        // Blanks inside a name do not count, so equal names may stand apart in the file's order.
        rates.rows.sort_by(|a, b| {
            (&a.name, &a.service, a.valid.from).cmp(&(&b.name, &b.service, b.valid.from))
        });
        let spans: Vec<_> =
            rates.rows.iter().map(|r| ((&r.name, &r.service), r.valid, &r.place)).collect();
        no_overlap(load, &spans, "rate");
        rates
    }

    /// The rows of a rate for a service: its own if it has any, else those without a service.
    fn rows(&self, name: &str, service: &str) -> Vec<&Rate> {
        let of = |service: &str| -> Vec<&Rate> {
            self.rows.iter().filter(|r| r.name == name && r.service == service).collect()
        };
        let own = if service.is_empty() { Vec::new() } else { of(service) };
        if own.is_empty() { of("") } else { own }
    }

    /// The dated values of a rate for a service; an empty service stands for none.
    pub fn of(&self, name: &str, service: &str) -> RateRows {
        let number = |rate: &&Rate| match rate.value {
            Value::Number(value) => Some(RateRow { value, valid: rate.valid, source: rate.source }),
            Value::Flag(_) => None,
        };
        RateRows(self.rows(name, service).iter().filter_map(number).collect())
    }

    /// A rate that is yes or no, as it holds on the start day.
    pub fn flag(&self, name: &str, service: &str, day: Option<Day>) -> bool {
        let rows = self.rows(name, service);
        let chosen = row_on(rows.iter().enumerate().map(|(i, r)| (i, &r.valid)), day);
        chosen.is_some_and(|c| matches!(rows[c.index].value, Value::Flag(true)))
    }

    /// Exchange rates into the scenario's currency, by currency; none for its own.
    pub fn exchange(&self, load: &Load, service: &str) -> Vec<RateRows> {
        let own = load.currencies.own();
        let rate = |code: &str| self.of(&format!("exchange {code}->{own}"), service);
        load.currencies
            .list
            .iter()
            .enumerate()
            .map(|(index, c)| if index == 0 { RateRows::default() } else { rate(&c.code) })
            .collect()
    }

    /// The currency of the electricity rate; all its rows must share one.
    pub fn electricity_currency(&self, load: &mut Load) -> CurrencyId {
        let rows = self.rows("electricity", "");
        let Some(first) = rows.first() else {
            return CurrencyId(0);
        };
        let id = first.currency.unwrap_or(CurrencyId(0));
        for other in &rows[1..] {
            if other.currency.unwrap_or(CurrencyId(0)) != id {
                let message = "rows for electricity are in two currencies";
                load.error(Code::MustAgree, &other.place, message, "give all of them one currency");
            }
        }
        id
    }

    /// Logs rows for services that nothing else names: an error where a known one is near, else a warning.
    pub fn check_services(&self, load: &mut Load, known: &[&str]) {
        for rate in self
            .rows
            .iter()
            .filter(|r| !r.service.is_empty() && !known.contains(&r.service.as_str()))
        {
            let message = format!("no service is called `{}`", rate.service);
            match did_you_mean(&rate.service, known.iter().copied()) {
                Some(hint) => load.error(Code::UnknownService, &rate.place, message, hint),
                None => load.warn(
                    Code::UnknownService,
                    &rate.place,
                    message,
                    "the row is not used by this scenario",
                ),
            }
        }
    }
}

/// The name with single blanks, if it is known.
fn rate_name(load: &mut Load, text: &str, place: &Place) -> Option<String> {
    let name = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if NAMES.contains(&name.as_str()) {
        return Some(name);
    }
    let Some(pair) = name.strip_prefix("exchange ").and_then(|rest| rest.split_once("->")) else {
        let mut known = NAMES.to_vec();
        known.push("exchange EUR->USD");
        load.unknown_name(Code::UnknownRate, place, "rate", (text, &known));
        return None;
    };
    let mut codes = Vec::new();
    for code in [pair.0, pair.1] {
        match currency(code) {
            Ok(found) => codes.push(found.code),
            Err(problem) => load.log.push(problem.at(place)),
        }
    }
    if codes.len() == 2 && codes[0] == codes[1] {
        let message = format!("an exchange of {} into itself", codes[0]);
        let hint = "name two currencies, such as `exchange EUR->USD`, or delete the row";
        load.error(Code::ExchangeIntoItself, place, message, hint);
        return None;
    }
    (codes.len() == 2).then(|| format!("exchange {}", codes.join("->")))
}

fn rate(load: &mut Load, table: &mut Table, name: String, service: &str) -> Option<Rate> {
    let currency = stated_currency(load, table);
    let valid = validity(load, table);
    if name == "electricity" && !service.is_empty() {
        load.error(
            Code::KeyUnused,
            table.place_of("service"),
            "electricity has no service",
            "empty `service`",
        );
        return None;
    }
    if name == "import_fee" && currency.is_some_and(|id| id != CurrencyId(0)) {
        let message = "an import fee is in the scenario's currency";
        load.error(
            Code::KeyUnused,
            table.place_of("currency"),
            message,
            "convert it, and empty `currency`",
        );
    }
    let value = match name.as_str() {
        "duty_on" => Value::Flag(table.one("value")?.choice(load, "basis of duty", &DUTY_BASES)?),
        "tax_recoverable" => Value::Flag(table.flag(load, "value")?),
        _ => Value::Number(number(load, table, &name)?),
    };
    let source = load.source_line(table.place);
    Some(Rate {
        name,
        service: service.to_owned(),
        value,
        valid,
        currency,
        place: table.place.clone(),
        source,
    })
}

fn number(load: &mut Load, table: &mut Table, name: &str) -> Option<Slot> {
    table.missing(load, "value", "fill it in");
    let likely = table.one("value")?;
    let unit = table.one("unit");
    let kind = match name {
        "electricity" => NumberKind::Electricity,
        "tax" | "duty" | "exchange_fee" => NumberKind::Share,
        "import_fee" => NumberKind::Money,
        _ => NumberKind::Factor,
    };
    if kind != NumberKind::Electricity {
        let Some(unit) = unit.filter(|u| !harmless(name, u)) else {
            return table.number_as(load, "value", kind);
        };
        let message = format!("`{name}` has no unit");
        load.error(Code::NeedlessUnit, unit.place, message, "empty `unit`; 7 % is the value 0.07");
        return None;
    }
    // The unit stands in a column of its own.
    let joined = |one: One| match (one.lit, unit.map(|u| u.lit)) {
        (Lit::Cell(value), Some(Lit::Cell(unit))) => format!("{value} {unit}"),
        (Lit::Cell(value), _) => value.to_owned(),
        _ => String::new(),
    };
    let (low, high) = (table.one("value_low"), table.one("value_high"));
    let texts = [Some(likely), low, high].map(|one| one.map(|o| (joined(o), o.place)));
    let [likely, low, high] = texts
        .each_ref()
        .map(|t| t.as_ref().map(|(text, place)| One { place, lit: Lit::Cell(text) }));
    let likely = likely?;
    let address = table.address_of("value");
    let typed = load.typed(&address).map(|text| match unit.map(|u| u.lit) {
        Some(Lit::Cell(unit)) if is_bare(&text) => format!("{text} {unit}"),
        _ => text.to_string(),
    });
    let spread = match &typed {
        Some(text) => Spread::typed(likely.place, text),
        None => Spread { likely, low, high, varies: table.one("value_varies") },
    };
    let source = table.source_of(load, "value", likely.place);
    let input = spread.input(load, kind, address, source);
    Some(load.add(input))
}

/// True for a number without a unit.
fn is_bare(text: &str) -> bool {
    matches!(read_quantity(text), Ok(Quantity::Bare(_)))
}

/// Units that say nothing new.
fn harmless(name: &str, unit: &One) -> bool {
    let Lit::Cell(text) = unit.lit else {
        return true;
    };
    match name {
        "import_fee" => text == "per order",
        "tax" | "duty" | "exchange_fee" => text == "share",
        _ => name
            .trim_start_matches("exchange ")
            .split_once("->")
            .is_some_and(|(a, b)| *text == format!("{b} per {a}")),
    }
}
