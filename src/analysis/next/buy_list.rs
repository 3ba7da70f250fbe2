//! The buy list: what a plan orders up to the planned count, the final included, and by when.
//!
//! Enters: a shop and a plan. Leaves: one line for everything that is bought in an iteration. What is bought, and what it
//! costs, are the events of the plan's own simulation and their `pay` entries; only the day to order is worked out here.

use crate::ledger::Total;
use crate::model::{Day, EquipmentId, Exact, ItemId, Moment, Money, PartId, RouteId, day_of};
use crate::plan::{Plan, Shop};
use crate::sim::{Clock, Draw, Event, Placed, Simulation, Stop, What, usable};
use crate::value::{unit, value};

/// What a line of the list is about.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Bought {
    /// A material or supply.
    Item(ItemId),
    /// A machine.
    Machine(EquipmentId),
    /// A route's first purchase.
    First(RouteId),
    /// An order to the service of this route.
    Order(RouteId),
}

/// One line: everything of one kind that is bought in one iteration.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BuyLine {
    /// The last day to order. Of several draws in the iteration the first decides.
    pub order_by: Day,
    /// When goods are needed: the first draw or use. For an order to a service: when its pieces can be used.
    pub there: Moment,
    /// The iteration; planned + 1 for the final.
    pub iteration: u32,
    /// What.
    pub what: Bought,
    /// How many of `unit`.
    pub quantity: Exact,
    /// `packs` (or `pack`), `pcs`, or the unit of what is paid by use.
    pub unit: &'static str,
    /// What all packs hold, in the item's own unit; `None` for what comes in no packs.
    pub content: Option<(Exact, &'static str)>,
    /// What leaves the account for it, delivery of goods and every charge of an order included.
    pub cost: Money,
    /// False where a price is missing, so that the cost is not or not wholly counted.
    pub counted: bool,
    /// The parts it is for, rising; empty where a build holds several.
    pub parts: Vec<PartId>,
    /// The routes it is for, rising.
    pub routes: Vec<RouteId>,
}

/// Lists what a plan orders, by the last day to order it.
///
/// # Errors
/// [`Stop`] where the plan cannot be carried out.
pub fn buy_list(shop: &Shop, plan: &Plan) -> Result<Vec<BuyLine>, Stop> {
    let pace = plan.pace(shop);
    let mut simulation =
        Simulation::new(shop).with_variants(pace.variants).with_beside(&plan.beside);
    for n in shop.done() + 1..=pace.planned(shop.planned) {
        simulation.iterate(n, &plan.assign)?;
    }
    let last = match simulation.last(shop.planned.saturating_add(1), &plan.assign)? {
        None => simulation.ended()?,
        last => last,
    };
    let mut lines: Vec<BuyLine> = Vec::new();
    for event in simulation.events.iter().chain(last.iter().flat_map(|l| &l.events)) {
        let Some(mut line) = line(shop, event) else {
            continue;
        };
        line.cost = value(shop, [event])?.ledger.total(Total::Outlay, u32::MAX);
        let same = |l: &&mut BuyLine| (l.iteration, l.what) == (line.iteration, line.what);
        match lines.iter_mut().find(same) {
            Some(found) => found.add(&line),
            None => lines.push(line),
        }
    }
    lines.iter_mut().for_each(BuyLine::tidy);
    // Equal lines keep the order in which they happen.
    lines.sort_by_key(|l| (l.order_by, l.there, l.iteration));
    Ok(lines)
}

/// What an event buys, its cost left out; `None` where nothing is bought.
fn line(shop: &Shop, event: &Event) -> Option<BuyLine> {
    let plain = BuyLine {
        order_by: day_of(event.when),
        there: event.when,
        iteration: event.iteration,
        what: Bought::First(event.route.unwrap_or(RouteId(0))),
        quantity: Exact::ONE,
        unit: "pcs",
        content: None,
        cost: Money::ZERO,
        counted: true,
        parts: event.part.into_iter().collect(),
        routes: event.route.into_iter().collect(),
    };
    match &event.what {
        What::Draw(draw) if draw.bought > 0 => Some(drawn(shop, draw, plain)),
        What::Purchase(id) => {
            let machine = &shop.scenario.equipment[id.index()];
            let lead = machine.lead.map(|slot| shop.values.whole(slot));
            Some(BuyLine {
                order_by: order_by(shop, lead, event.when),
                what: Bought::Machine(*id),
                counted: machine.price.is_some(),
                ..plain
            })
        }
        What::BuyFirst => Some(BuyLine { unit: "", ..plain }),
        What::Order(placed) => Some(ordered(shop, placed, plain)),
        _ => None,
    }
}

fn drawn(shop: &Shop, draw: &Draw, plain: BuyLine) -> BuyLine {
    let item = shop.item(draw.item);
    let row = &shop.scenario.items[draw.item.index()];
    let (own, lead) = (unit(row.dim), row.lead.map(|slot| shop.values.whole(slot)));
    let bought = Exact::from_millionths(draw.bought);
    let in_packs = item.pack.is_some();
    BuyLine {
        order_by: order_by(shop, lead, plain.there),
        what: Bought::Item(draw.item),
        quantity: if in_packs { Exact::from(draw.packs) } else { bought },
        unit: if in_packs { "packs" } else { own },
        content: in_packs.then_some((bought, own)),
        counted: item.price.is_some(),
        ..plain
    }
}

fn ordered(shop: &Shop, placed: &Placed, plain: BuyLine) -> BuyLine {
    let lacks = |l: &crate::sim::Line| {
        let Some(terms) = shop.terms(l.route) else {
            return false;
        };
        l.price.quote.is_none() && l.price.row(terms).is_none_or(|row| row.rate.is_none())
    };
    BuyLine {
        there: usable(shop, placed, plain.there),
        what: Bought::Order(placed.lines[0].route),
        quantity: placed.lines.iter().map(|l| Exact::from(l.copies)).sum(),
        counted: !placed.lines.iter().any(lacks),
        parts: placed.lines.iter().map(|l| l.part).collect(),
        routes: placed.lines.iter().map(|l| l.route).collect(),
        ..plain
    }
}

impl BuyLine {
    /// Adds what is bought for a later draw of the same iteration.
    fn add(&mut self, later: &BuyLine) {
        self.order_by = self.order_by.min(later.order_by);
        self.there = self.there.min(later.there);
        self.quantity = self.quantity + later.quantity;
        self.cost += later.cost;
        self.counted &= later.counted;
        if let (Some(content), Some(more)) = (&mut self.content, later.content) {
            content.0 = content.0 + more.0;
        }
        // A build of several parts names none: then the routes say what it is for.
        let all_named = !self.parts.is_empty() && !later.parts.is_empty();
        self.parts = if all_named { [&self.parts[..], &later.parts].concat() } else { Vec::new() };
        self.routes.extend(&later.routes);
    }

    fn tidy(&mut self) {
        self.parts.sort_unstable();
        self.parts.dedup();
        self.routes.sort_unstable();
        self.routes.dedup();
        if self.unit == "packs" && self.quantity == Exact::ONE {
            self.unit = "pack";
        }
    }
}

/// The last day on which goods can be ordered to be there for `need`: the last business day (Monday to Friday) from which the lead, and
/// the first opening of the day it ends on, come no later; never before the start, or today. Without a lead the day of the need.
fn order_by(shop: &Shop, lead: Option<i64>, need: Moment) -> Day {
    let Some(lead) = lead else {
        return day_of(need);
    };
    let calendar = &shop.scenario.calendars[0];
    let clock = Clock::new(&shop.scenario.hours);
    // Nothing can be ordered on a day that is behind.
    let first = shop.scenario.past.as_ref().map_or(day_of(shop.start), |past| past.today);
    let before = |mut day: Day| {
        while day > first && !calendar.is_open(day) {
            day -= 1;
        }
        day
    };
    // So many business days before the need is the latest it can be; a closed bench may ask for more.
    let mut day = before(day_of(need));
    for _ in 0..lead {
        day = before(day - 1);
        if day <= first {
            return first;
        }
    }
    while day > first && clock.opening_of(calendar.after(day, lead)) > need {
        day = before(day - 1);
    }
    day.max(first)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_later_draw_joins_the_line() {
        let line = |order_by, parts: &[u16]| BuyLine {
            order_by,
            there: order_by * 86_400,
            iteration: 1,
            what: Bought::Item(ItemId(0)),
            quantity: Exact::ONE,
            unit: "packs",
            content: Some((Exact::from(500i64), "mL")),
            cost: Money::ZERO,
            counted: true,
            parts: parts.iter().map(|&p| PartId(p)).collect(),
            routes: vec![RouteId(1)],
        };
        let mut one = line(10, &[2]);
        one.add(&line(9, &[1]));
        one.tidy();
        assert_eq!((one.order_by, one.quantity), (9, Exact::from(2i64)));
        assert_eq!(one.content, Some((Exact::from(1000i64), "mL")));
        assert_eq!((one.parts.as_slice(), one.unit), (&[PartId(1), PartId(2)][..], "packs"));
        one.add(&line(11, &[]));
        one.tidy();
        assert!(one.parts.is_empty(), "a shared build names no part");
        assert_eq!(one.routes, [RouteId(1)]);
        let mut single = line(10, &[1]);
        single.tidy();
        assert_eq!(single.unit, "pack");
    }
}
