//! From the moment an order is placed to the moment its pieces can be used.

use super::{Clock, Line, Placed};
use crate::model::{
    DAY, Day, DeliveryRow, Exact, Moment, PartId, PriceRow, RouteId, Slot, Terms, day_of,
    second_of_day,
};
use crate::plan::{Shop, delivery_on, delivery_row, line_price};

/// Prices an order of one group on a day: (part, route, copies) by part, not empty.
///
/// # Errors
/// The index of the first line for which no price holds.
pub fn place(
    shop: &Shop,
    wanted: impl ExactSizeIterator<Item = (PartId, RouteId, i64)>,
    day: Option<Day>,
) -> Result<Placed, usize> {
    let mut lines = Vec::with_capacity(wanted.len());
    for (index, (part, route, copies)) in wanted.enumerate() {
        let price = shop
            .terms(route)
            .and_then(|terms| line_price(terms, part, copies, day))
            .ok_or(index)?;
        lines.push(Line { part, route, copies, price });
    }
    let repeats = lines.iter().map(|l| shop.route(l.route).repeats).max();
    let delivery =
        lines.first().and_then(|l| shop.terms(l.route)).and_then(|terms| delivery_on(terms, day));
    let lines = lines.into();
    Ok(Placed { lines, delivery, repeats: repeats.unwrap_or(Exact::ONE), day })
}

/// What decides when an order ships: the longest lead with its row's calendar and the earliest cutoff.
struct Shipping {
    lead: i64,
    calendar: usize,
    cutoff: Option<i64>,
}

/// The moment the pieces of an order placed at `at` can be used.
///
/// Day 0 is the day of placing if it is a business day of the service and not past the cutoff, else the next one; the order ships `lead`
/// business days after it and arrives `transit` carrier days after that, at the stated time of day. An arrival before the moment of
/// placing moves to the carrier's next day. If the bench is closed on arrival, the pieces can be used at its next opening.
pub fn usable(shop: &Shop, placed: &Placed, at: Moment) -> Moment {
    let scenario = shop.scenario;
    let ship = shipping(shop, placed);
    let service = &scenario.calendars[ship.calendar];
    let in_time = ship.cutoff.is_none_or(|cutoff| second_of_day(at) <= cutoff);
    let today = day_of(at);
    let day0 = if in_time { service.on_or_after(today) } else { service.on_or_after(today + 1) };
    let ships = service.after(day0, ship.lead);
    let arrival = match delivery_of(shop, placed) {
        None => at.max(ships * DAY),
        Some(row) => arrival(shop, row, ships, at),
    };
    Clock::new(&scenario.hours).next_open(arrival)
}

fn arrival(shop: &Shop, row: &DeliveryRow, ships: i64, at: Moment) -> Moment {
    let carrier = &shop.scenario.calendars[row.calendar.index()];
    let day = carrier.after(ships, shop.values.whole_or_zero(row.transit));
    let arrival = day * DAY + row.arrives;
    if arrival >= at { arrival } else { carrier.on_or_after(day + 1) * DAY + row.arrives }
}

fn delivery_of<'a>(shop: &Shop<'a>, placed: &Placed) -> Option<&'a DeliveryRow> {
    delivery_row(shop.terms(placed.lines[0].route)?, placed.delivery)
}

fn shipping(shop: &Shop, placed: &Placed) -> Shipping {
    let mut result = Shipping { lead: -1, calendar: 0, cutoff: None };
    for line in placed.lines.iter() {
        let Some(terms) = shop.terms(line.route) else {
            continue;
        };
        let row = line.price.row(terms);
        let lead = shop.values.whole_or_zero(lead_slot(line, terms, row));
        if lead > result.lead {
            result.lead = lead;
            result.calendar = row.map_or(0, |r| r.calendar.index());
        }
        result.cutoff = earliest(result.cutoff, row.and_then(|r| r.cutoff));
    }
    result
}

fn lead_slot(line: &Line, terms: &Terms, row: Option<&PriceRow>) -> Option<Slot> {
    line.price.quote(terms).and_then(|q| q.lead).or_else(|| row.map(|r| r.lead))
}

fn earliest(a: Option<i64>, b: Option<i64>) -> Option<i64> {
    match (a, b) {
        (Some(a), Some(b)) => Some(a.min(b)),
        (a, b) => a.or(b),
    }
}
