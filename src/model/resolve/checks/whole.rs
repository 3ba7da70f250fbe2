//! Checks that need the whole scenario: steps that fit the opening hours, exchange rates, electricity.

use std::collections::BTreeMap;

use crate::diag::Code;
use crate::model::resolve::reading::Load;
use crate::model::{
    BathKind, CurrencyId, HOUR, ItemPrice, Price, RateRows, RouteKind, Scenario, Slot, SourceId,
    Terms,
};

/// Logs attended work that no span of open hours can hold.
pub fn never_fits(load: &mut Load, scenario: &Scenario) {
    let longest = scenario.hours.longest_span();
    for route in &scenario.routes {
        for step in route.steps.iter().filter(|s| !s.flowing) {
            let slots = [step.attended, step.first_time];
            let what = format!("step `{}` of `{}`", step.name, route.name);
            let hint = if step.per_piece {
                "one piece must fit: split the step"
            } else {
                "split the step into two"
            };
            fits(load, longest, &slots, (&what, hint));
        }
        if let RouteKind::Order(terms) = &route.kind {
            let pairs = [("`order_time`", Some(terms.order_time)), ("`brief`", terms.brief)];
            for (key, slot) in pairs {
                fits(
                    load,
                    longest,
                    &[slot],
                    (&format!("{key} of `{}`", route.name), "state a shorter time or longer hours"),
                );
            }
        }
    }
}

fn fits(load: &mut Load, longest: i64, slots: &[Option<Slot>], (what, hint): (&str, &str)) {
    let seconds: i64 = slots.iter().flatten().map(|s| load.slots.likely(*s).to_whole()).sum();
    if seconds <= longest {
        return;
    }
    let Some(first) = slots.iter().flatten().next() else {
        return;
    };
    let source = load.slots.get(*first).source;
    let Some(place) = load.place_of(source).cloned() else {
        return;
    };
    let message = format!(
        "{what} takes {} and the longest span of open hours is {}",
        hours(seconds),
        hours(longest)
    );
    load.error(Code::NeverFits, &place, message, hint);
}

fn hours(seconds: i64) -> String {
    let minutes = (seconds + 59) / 60;
    match (seconds / HOUR, minutes % 60) {
        (0, _) => format!("{minutes} min"),
        (whole, 0) => format!("{whole} h"),
        (whole, rest) => format!("{whole} h {rest} min"),
    }
}

/// Logs each foreign currency that something used is priced in and that has no exchange rate; the place is the first use.
pub fn exchange_rates(load: &mut Load, scenario: &Scenario) {
    let own = load.currencies.own().to_owned();
    let mut lacking: BTreeMap<u16, SourceId> = BTreeMap::new();
    for (currency, source, rates) in used(scenario) {
        let index = currency.index();
        if index > 0 && rates.get(index).is_none_or(|r| r.0.is_empty()) {
            lacking.entry(currency.0).or_insert(source);
        }
    }
    for (currency, source) in lacking {
        let code = scenario.currencies[usize::from(currency)].code.clone();
        let message = format!("no exchange rate from {code} to {own}");
        if let Some(place) = load.place_of(source).cloned() {
            let hint = format!(
                "add a row `exchange {code}->{own}` to rates.csv: what 1 {code} costs in {own}"
            );
            load.error(Code::NoExchangeRate, &place, message, hint);
        }
    }
}

/// Every currency of a used price, with its source and the exchange rates that hold for it.
fn used(scenario: &Scenario) -> Vec<(CurrencyId, SourceId, &[RateRows])> {
    let mut result: Vec<(CurrencyId, SourceId, &[RateRows])> = Vec::new();
    let shared = scenario.exchange.as_slice();
    let source = |slot: Slot| scenario.slots.get(slot).source;
    let mut price =
        |price: Option<Price>| result.extend(price.map(|p| (p.currency, source(p.value), shared)));
    for index in used_items(scenario) {
        let item = &scenario.items[index];
        match item.price {
            ItemPrice::Pack { price: p, .. } | ItemPrice::PerUnit(p) => price(Some(p)),
            ItemPrice::Unknown => {}
        }
        price(item.delivery_cost);
        price(item.waste_charge_per_l);
    }
    for route in &scenario.routes {
        price(route.buy_first);
        for at in route.steps.iter().filter_map(|s| s.at) {
            let machine = &scenario.equipment[at.index()];
            price(machine.price);
            price(machine.resale);
            price(machine.delivery_cost);
        }
    }
    if let Some(row) = scenario.electricity.0.first().filter(|_| uses_power(scenario)) {
        result.push((scenario.electricity_currency, source(row.value), shared));
    }
    for route in &scenario.routes {
        if let RouteKind::Order(terms) = &route.kind {
            result.extend(of_terms(scenario, terms));
        }
    }
    result
}

fn of_terms<'a>(
    scenario: &Scenario,
    terms: &'a Terms,
) -> Vec<(CurrencyId, SourceId, &'a [RateRows])> {
    let rates = terms.exchange.as_slice();
    let mut result: Vec<_> = terms.rows.iter().map(|r| (r.currency, r.source, rates)).collect();
    result.extend(terms.deliveries.iter().map(|d| (d.currency, d.source, rates)));
    let source = |slot: Slot| scenario.slots.get(slot).source;
    result.extend(
        terms.quotes.iter().map(|q| (q.unit_price.currency, source(q.unit_price.value), rates)),
    );
    result
}

/// Indices of items that a route prints with or consumes, or that its baths hold.
fn used_items(scenario: &Scenario) -> Vec<usize> {
    let mut used = vec![false; scenario.items.len()];
    for route in &scenario.routes {
        let consumes = route.consumes.iter().chain(route.steps.iter().flat_map(|s| &s.consumes));
        let resin = match &route.kind {
            RouteKind::Bench(bench) => bench.print.as_ref().and_then(|p| p.resin),
            RouteKind::Order(_) => None,
        };
        for id in consumes.map(|c| c.item).chain(resin) {
            used[id.index()] = true;
        }
        for (bath, _) in route.steps.iter().filter_map(|s| s.bath) {
            let bath = &scenario.baths[bath.index()];
            used[bath.solvent.index()] = true;
            if let BathKind::Dye(dye) = &bath.kind {
                used[dye.dye.index()] = true;
            }
        }
    }
    (0..used.len()).filter(|&i| used[i]).collect()
}

fn uses_power(scenario: &Scenario) -> bool {
    let steps = scenario.routes.iter().flat_map(|r| &r.steps).filter_map(|s| s.at);
    steps.into_iter().any(|at| {
        let watts = scenario.equipment[at.index()].watts;
        watts.is_some_and(|w| !scenario.slots.get(w).high.is_zero())
    })
}

/// Notes electricity that is used and has no rate.
pub fn electricity(load: &mut Load, scenario: &Scenario) {
    if scenario.electricity.0.is_empty() && uses_power(scenario) {
        load.not_counted("electricity (no rate in rates.csv)".to_owned());
    }
}
