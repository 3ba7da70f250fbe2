//! Units of a scenario's numbers: what a price is in and for what, beside the units of quantities.

use std::collections::BTreeMap;

use super::assumed::unit;
use crate::model::{
    Basis, CurrencyId, Dim, Exact, Input, ItemPrice, Price, RateRows, RouteKind, Scenario, Slot,
    Terms,
};

/// A unit in words, and how many base units it is.
#[derive(Clone, Debug, PartialEq)]
pub struct Unit {
    /// Its name; empty for a plain number.
    pub name: String,
    /// Base units in one of it.
    pub size: f64,
}

/// The units of all prices of a scenario; those of quantities follow from the number itself.
#[derive(Clone, Debug)]
pub struct Units<'s> {
    scenario: &'s Scenario,
    prices: BTreeMap<Slot, Unit>,
}

impl<'s> Units<'s> {
    /// Gathers them.
    pub fn new(scenario: &'s Scenario) -> Units<'s> {
        let mut units = Units { scenario, prices: BTreeMap::new() };
        units.general();
        units.stock();
        for route in &scenario.routes {
            units.money(route.buy_first);
            if let RouteKind::Order(terms) = &route.kind {
                units.terms(terms);
            }
        }
        units
    }

    /// False for a rate that nothing of the scenario uses: what it is for cannot be told.
    pub fn knows(&self, slot: Slot) -> bool {
        self.scenario.slots.get(slot).dim != Dim::Rate || self.prices.contains_key(&slot)
    }

    /// The unit in which a number is shown.
    pub fn of(&self, slot: Slot) -> Unit {
        if let Some(unit) = self.prices.get(&slot) {
            return unit.clone();
        }
        let input = self.scenario.slots.get(slot);
        let name = match input.dim {
            Dim::Money => self.code(CurrencyId(0)).to_owned(),
            Dim::Count if is_lead(input) => "business days".to_owned(),
            Dim::Share if input.address.ends_with(".life_hours") => "h".to_owned(),
            Dim::Ratio if input.address.ends_with(".divisor") => "cm3 per kg".to_owned(),
            Dim::Pace => "s per cm3".to_owned(),
            // Paces of a printer are a few seconds for each layer.
            Dim::Time if input.likely < Exact::from(60i64) => "s".to_owned(),
            _ => {
                let (name, size) = unit(input);
                return Unit { name: name.to_owned(), size: size.quick_f64() };
            }
        };
        Unit { name, size: 1.0 }
    }

    fn code(&self, currency: CurrencyId) -> &'s str {
        self.scenario.currencies.get(usize::from(currency.0)).map_or("", |c| &c.code)
    }

    fn put(&mut self, slot: Slot, currency: CurrencyId, per: &str, size: f64) {
        let code = self.code(currency);
        let name = if per.is_empty() { code.to_owned() } else { format!("{code} per {per}") };
        self.prices.insert(slot, Unit { name, size });
    }

    fn money(&mut self, price: Option<Price>) {
        if let Some(price) = price {
            self.put(price.value, price.currency, "", 1.0);
        }
    }

    fn rows(&mut self, rows: &RateRows, currency: CurrencyId, per: &str) {
        for row in &rows.0 {
            self.put(row.value, currency, per, 1.0);
        }
    }

    fn general(&mut self) {
        let scenario = self.scenario;
        let own = CurrencyId(0);
        if let Some(slot) = scenario.labour {
            self.put(slot, own, "h", 1.0);
        }
        if let Some(slot) = scenario.iterations.delay_cost_per_day {
            self.put(slot, own, "day", 1.0);
        }
        self.rows(&scenario.electricity, scenario.electricity_currency, "kWh");
        for (index, rows) in scenario.exchange.iter().enumerate() {
            let other = CurrencyId(u16::try_from(index).unwrap_or(0));
            let per = self.code(other);
            self.rows(rows, own, per);
        }
    }

    fn stock(&mut self) {
        for item in &self.scenario.items {
            match item.price {
                ItemPrice::Unknown => {}
                ItemPrice::Pack { price, .. } => self.money(Some(price)),
                ItemPrice::PerUnit(price) => {
                    let (per, size) = match item.dim {
                        Dim::Volume => ("L", 1e-3),
                        Dim::Mass => ("kg", 1e-3),
                        Dim::Area => ("cm2", 1.0),
                        Dim::Length => ("m", 1e-3),
                        _ => ("piece", 1.0),
                    };
                    self.put(price.value, price.currency, per, size);
                }
            }
            self.money(item.delivery_cost);
            if let Some(price) = item.waste_charge_per_l {
                self.put(price.value, price.currency, "L", 1.0);
            }
        }
        for machine in &self.scenario.equipment {
            [machine.price, machine.resale, machine.delivery_cost]
                .into_iter()
                .for_each(|price| self.money(price));
        }
    }

    fn terms(&mut self, terms: &Terms) {
        for row in &terms.rows {
            let per = match row.basis {
                Basis::Piece => "piece",
                Basis::PartVolume | Basis::BoxVolume => "cm3",
                Basis::Area => "cm2",
                Basis::Mass => "g",
            };
            if let Some(rate) = row.rate {
                self.put(rate, row.currency, per, 1.0);
            }
            for slot in [row.piece_min, row.finish_per_piece].into_iter().flatten() {
                self.put(slot, row.currency, "piece", 1.0);
            }
            let whole = [row.setup_per_part, row.setup_per_order, row.order_min];
            for slot in whole.into_iter().flatten() {
                self.put(slot, row.currency, "", 1.0);
            }
        }
        for quote in &terms.quotes {
            self.put(quote.unit_price.value, quote.unit_price.currency, "piece", 1.0);
        }
        for row in &terms.deliveries {
            if let Some(base) = row.base {
                self.put(base, row.currency, "", 1.0);
            }
            if let Some(per_kg) = row.per_kg {
                self.put(per_kg, row.currency, "kg", 1.0);
            }
        }
        self.rows(&terms.import_fee, CurrencyId(0), "order");
    }
}

fn is_lead(input: &Input) -> bool {
    [".lead", ".transit", ".arrives_after"].iter().any(|key| input.address.ends_with(key))
}

/// A number for a person: whole from 1000 on, else four significant digits, without idle zeros.
pub fn figure_text(value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return "0".to_owned();
    }
    let decimals = decimals(value, 4);
    let text = format!("{value:.decimals$}");
    let plain =
        if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    super::words::grouped(plain)
}

/// Decimals that show so many significant digits, at most fifteen; those before the point are always shown.
pub(super) fn decimals(value: f64, digits: i32) -> usize {
    const MOST: usize = 15;
    let least = 10f64.powi(digits - 1);
    let mut size = value.abs();
    let mut decimals = 0;
    while size < least && decimals < MOST {
        size *= 10.0;
        decimals += 1;
    }
    decimals
}

#[cfg(test)]
mod tests {
    use super::figure_text;

    #[test]
    fn figures_have_four_digits_at_most_after_which_they_are_whole() {
        let texts = [0.0, 31.196_2, 0.071_234_5, 125.0, 1234.56, 12_345.6, 0.1, 99.996];
        let shown = texts.map(figure_text);
        assert_eq!(shown, ["0", "31.2", "0.07123", "125", "1235", "12\u{202f}346", "0.1", "100"]);
    }
}
