//! What an iteration really took: the plan's events with what the record says in their place.
//!
//! Enters: the events of an iteration as the one simulation has them, and its lines. Leaves: entries of what was paid or is owed, and the same
//! quantities at the prices of the sheets. What the record does not say stays as planned, and is told.

use std::collections::BTreeMap;

use super::said::{builds_of, is_money_of, is_work_of, order_routes, routes_begun, times_ordered};
use super::turns::{Turn, start_of};
use crate::analysis::follow::stop_text;
use crate::ledger::{About, Category, Entry, Kind, Ledger, Movement, Status};
use crate::model::{
    Account, AttendedAt, CurrencyId, Day, Exact, GroupId, Happened, InvoiceOf, ItemClass, ItemId,
    Moment, Money, PartId, RecordLine, RouteId, Scenario, day_of,
};
use crate::plan::Shop;
use crate::sim::{Draw, Event, Fate, Placed, What, WorkAt, place, taken};
use crate::value::{category, unit, value};

/// What one unit of a currency is worth in the scenario's on a day; a record with a currency that has no rate is refused where it is read.
pub(super) fn rate(shop: &Shop, currency: CurrencyId, day: Day) -> Exact {
    if currency == CurrencyId(0) {
        return Exact::ONE;
    }
    let rows = shop.scenario.exchange.get(currency.index());
    let row = rows.and_then(|rows| rows.on(Some(day)).or_else(|| rows.on(None)));
    row.map_or(Exact::ONE, |(row, _)| shop.values.exact(row.value))
}

/// What has really happened, gathered iteration by iteration.
pub(super) struct Books<'s, 'a> {
    shop: &'s Shop<'a>,
    /// The same tables with failures left out: what an order costs once.
    clean: &'s Shop<'a>,
    /// Millionths of each item on the shelf.
    pub stock: Vec<i64>,
    settled: Vec<i64>,
    /// Items of which something came from outside.
    pub had: Vec<bool>,
    last_in_hand: Moment,
    /// What was paid or is owed.
    pub entries: Vec<Entry>,
    /// The same quantities at the prices of the sheets.
    pub flexible: Vec<Entry>,
    /// What was moved.
    pub movements: Vec<Movement>,
    /// What was taken as planned: a kind of thing, and the iterations.
    pub unsaid: BTreeMap<String, Vec<u32>>,
}

/// Money that a line says, in the scenario's currency.
#[derive(Clone, Copy)]
struct Paid {
    amount: Money,
    when: Moment,
    status: Status,
}

impl<'s, 'a> Books<'s, 'a> {
    /// Nothing has happened yet.
    pub fn new(shop: &'s Shop<'a>, clean: &'s Shop<'a>) -> Books<'s, 'a> {
        let stock: Vec<i64> = shop.items.iter().map(|item| item.stock).collect();
        Books {
            shop,
            clean,
            settled: stock.clone(),
            had: vec![false; stock.len()],
            stock,
            last_in_hand: shop.start,
            entries: Vec::new(),
            flexible: Vec::new(),
            movements: Vec::new(),
            unsaid: BTreeMap::new(),
        }
    }

    fn scenario(&self) -> &'a Scenario {
        self.shop.scenario
    }

    /// An iteration that is behind: what the plan has of it, with what its lines say in its place.
    pub fn close(&mut self, turn: &Turn, planned: &[Event]) {
        let end = turn.outcome.map(|o| o.1).or(turn.in_hand).unwrap_or(turn.began);
        self.bought(turn);
        let ordered = self.orders(turn, planned);
        let mut events = self.kept(turn, planned, &ordered);
        self.adjust_draws(turn, &mut events);
        events.extend(self.recorded(turn));
        // It may have gone faster than planned.
        events.iter_mut().for_each(|event| event.when = event.when.min(end));
        self.enter(turn.n, events);
        let in_hand = turn.in_hand.unwrap_or(end);
        self.settle(turn.n, in_hand);
    }

    /// What has been done of the iteration under way: its lines alone.
    pub fn open(&mut self, turn: &Turn, now: Moment, begun: &[bool]) {
        self.bought(turn);
        self.orders(turn, &[]);
        let mut events = self.first_purchases(turn, begun);
        self.adjust_draws(turn, &mut events);
        events.extend(self.recorded(turn));
        self.enter(turn.n, events);
        self.settle(turn.n, now);
    }

    /// What waiting has cost up to a moment, and what stocks have fallen by.
    pub fn settle(&mut self, iteration: u32, at: Moment) {
        let event = |what| Event { when: at, iteration, part: None, route: None, step: 0, what };
        let mut events = Vec::new();
        if self.scenario().iterations.delay_cost_per_day.is_some() && at > self.last_in_hand {
            events.push(event(What::Wait(at - self.last_in_hand)));
        }
        for (index, item) in self.shop.items.iter().enumerate() {
            let fallen = self.settled[index] - self.stock[index];
            if !item.keep.is_zero() && fallen != 0 {
                events.push(event(What::Kept(ItemId::at(index), fallen)));
            }
        }
        self.settled.clone_from(&self.stock);
        self.last_in_hand = self.last_in_hand.max(at);
        self.enter(iteration, events);
    }

    /// Takes draws from the shelf and values everything.
    fn enter(&mut self, iteration: u32, mut events: Vec<Event>) {
        for event in &mut events {
            if let What::Draw(draw) = &mut event.what {
                let index = draw.item.index();
                *draw = taken(*draw, self.shop, &mut self.stock[index]);
                self.had[index] |= draw.bought > 0;
            }
        }
        match value(self.shop, &events) {
            Ok(valued) => {
                self.movements.extend(valued.ledger.movements());
                let paid = |e: &Entry| Entry { status: Status::Paid, ..e.clone() };
                let entries: Vec<Entry> = valued.ledger.entries().iter().map(paid).collect();
                self.flexible.extend(entries.iter().cloned());
                self.entries.extend(entries);
            }
            Err(stop) => {
                let why = stop_text(self.scenario(), &stop);
                self.unsaid.entry(format!("what has no price: {why}")).or_default().push(iteration);
            }
        }
    }

    fn unsaid(&mut self, what: &str, n: u32) {
        let all = self.unsaid.entry(what.to_owned()).or_default();
        if all.last() != Some(&n) {
            all.push(n);
        }
    }

    // ---- money ----

    /// An amount of a line in the scenario's currency, at the rate of its day.
    fn money(&self, line: &RecordLine, amount: Exact, currency: CurrencyId) -> Money {
        let scenario = self.scenario();
        (amount * self.rate(currency, line.day)).to_money(scenario.minor())
    }

    fn rate(&self, currency: CurrencyId, day: Day) -> Exact {
        rate(self.shop, currency, day)
    }

    fn entry(&self, line: &RecordLine, paid: Paid, about: (Category, About)) -> Entry {
        Entry {
            when: paid.when,
            iteration: line.iteration,
            part: line.part,
            route: line.route,
            step: 0,
            category: about.0,
            about: about.1,
            quantity: Exact::ONE,
            unit: "",
            unit_price: paid.amount.exact(),
            amount: paid.amount,
            kind: Kind::Pay,
            invoice: about.0 == Category::Piece,
            assumed: false,
            source: line.source,
            status: paid.status,
        }
    }

    /// Materials, supplies and machines that were invoiced: what was paid, and what the sheets would have said.
    fn bought(&mut self, turn: &Turn) {
        for line in &turn.lines {
            let Happened::Invoice { amount, currency, of } = line.what else { continue };
            let when = start_of(self.scenario(), line);
            let amount = self.money(line, amount, currency);
            let paid = Paid { amount, when, status: Status::Paid };
            match of {
                InvoiceOf::Item(item, came) => self.came(line, paid, (item, came)),
                InvoiceOf::Machine(id) => {
                    let machine = &self.scenario().equipment[id.index()];
                    let about = (Category::Purchase, About::Machine(id));
                    let entry = Entry { unit: "pcs", ..self.entry(line, paid, about) };
                    let minor = self.scenario().minor();
                    let price = machine.price.map(|price| {
                        self.shop.values.exact(price.value) * self.rate(price.currency, line.day)
                    });
                    let price = price.map_or(amount, |price| price.to_money(minor));
                    self.flexible.push(Entry { amount: price, ..entry.clone() });
                    self.entries.push(entry);
                }
                InvoiceOf::Order => {}
            }
        }
    }

    /// Goods that came with an invoice stand on the shelf before anything is drawn.
    fn came(&mut self, line: &RecordLine, paid: Paid, (id, came): (ItemId, i64)) {
        let (shop, scenario) = (self.shop, self.scenario());
        let (item, table) = (&scenario.items[id.index()], shop.item(id));
        self.stock[id.index()] += came;
        self.had[id.index()] = true;
        self.movements.push(Movement {
            when: paid.when,
            iteration: line.iteration,
            item: id,
            amount: came,
            from: Account::Supplier,
            to: Account::Stock,
        });
        let content = Exact::from_millionths(came);
        let (quantity, unit) = match table.pack {
            Some(pack) => (content / Exact::from_millionths(pack), "packs"),
            None => (content, unit(item.dim)),
        };
        let each = match quantity.is_zero() {
            true => paid.amount.exact(),
            false => paid.amount.exact() / quantity,
        };
        let about = (category(item.class), About::Item(id));
        let entry = Entry { quantity, unit, unit_price: each, ..self.entry(line, paid, about) };
        let price = |price: crate::model::Price| {
            shop.values.exact(price.value) * self.rate(price.currency, line.day)
        };
        let listed = table.price.map(|p| quantity * price(p));
        let delivery = item.delivery_cost.filter(|_| table.pack.is_some()).map(price);
        let listed = listed.map(|listed| listed + delivery.unwrap_or(Exact::ZERO));
        let at_list = listed.map_or(paid.amount, |listed| listed.to_money(scenario.minor()));
        self.flexible.push(Entry { amount: at_list, ..entry.clone() });
        self.entries.push(entry);
    }

    /// Orders of which the record has the money. Returns the groups whose planned entries it replaces.
    fn orders(&mut self, turn: &Turn, planned: &[Event]) -> Vec<GroupId> {
        let mut groups: Vec<GroupId> = Vec::new();
        for route in order_routes(turn) {
            let lines: Vec<&RecordLine> =
                turn.lines.iter().copied().filter(|l| is_money_of(turn, l, route)).collect();
            if lines.is_empty() {
                continue;
            }
            let entries = self.order_entries(turn, (route, &lines));
            let Some(terms) = self.shop.terms(route) else { continue };
            if !groups.contains(&terms.group) {
                groups.push(terms.group);
                let at_list = self.at_list(turn, (route, &lines), planned);
                self.flexible.extend(at_list.unwrap_or_else(|| entries.clone()));
            }
            self.entries.extend(entries);
        }
        let placed = |group: &GroupId| {
            planned
                .iter()
                .any(|e| matches!(&e.what, What::Order(p) if self.group(p) == Some(*group)))
        };
        let all = planned.iter().filter_map(|e| match &e.what {
            What::Order(placed) => self.group(placed),
            _ => None,
        });
        let unsaid = all.into_iter().any(|group| !groups.contains(&group));
        groups.retain(placed);
        if unsaid {
            self.unsaid("what orders cost", turn.n);
        }
        groups
    }

    fn group(&self, placed: &Placed) -> Option<GroupId> {
        Some(self.shop.terms(placed.lines.first()?.route)?.group)
    }

    /// What was invoiced of a route's orders, and what is owed beside that.
    fn order_entries(&self, turn: &Turn, (route, lines): (RouteId, &[&RecordLine])) -> Vec<Entry> {
        let about = (Category::Piece, About::Service(route));
        let (mut entries, mut ordered, mut invoiced) = (Vec::new(), Money::ZERO, Money::ZERO);
        let mut last: Option<&RecordLine> = None;
        for line in lines {
            let when = start_of(self.scenario(), line);
            match line.what {
                Happened::Invoice { amount, currency, .. } => {
                    let amount = self.money(line, amount, currency);
                    invoiced += amount;
                    let paid = Paid { amount, when, status: Status::Paid };
                    entries.push(self.entry(line, paid, about));
                }
                Happened::Ordered { amount, currency, .. } => {
                    ordered += self.money(line, amount, currency);
                    last = Some(line);
                }
                _ => {}
            }
        }
        let of_route = turn.made.iter().filter(|m| m.1 == route);
        let there = of_route.clone().all(|m| turn.there.contains(&m.0)) || turn.outcome.is_some();
        // What is in hand and invoiced is settled, whatever was agreed before.
        let owed = match invoiced.is_zero() {
            true => ordered,
            false if there => Money::ZERO,
            false => (ordered - invoiced).max(Money::ZERO),
        };
        if let Some(line) = last.filter(|_| !owed.is_zero()) {
            let when = start_of(self.scenario(), line);
            let paid = Paid { amount: owed, when, status: Status::Committed };
            entries.push(self.entry(line, paid, about));
        }
        for entry in &mut entries {
            entry.route = Some(route);
        }
        entries
    }

    /// What the orders of a route's group would have cost by the sheets, as often as something was ordered.
    fn at_list(
        &self,
        turn: &Turn,
        (route, lines): (RouteId, &[&RecordLine]),
        planned: &[Event],
    ) -> Option<Vec<Entry>> {
        let group = self.shop.terms(route)?.group;
        let is_order = |l: &&&RecordLine| matches!(l.what, Happened::Ordered { .. });
        let first = lines.iter().find(is_order).or(lines.first())?;
        let when = start_of(self.scenario(), first);
        let of_plan = planned.iter().find_map(|e| match &e.what {
            What::Order(placed) if self.group(placed) == Some(group) => Some(e.clone()),
            _ => None,
        });
        let event = of_plan.or_else(|| {
            let of_group = |m: &&(PartId, RouteId)| {
                self.shop.terms(m.1).is_some_and(|terms| terms.group == group)
            };
            let wanted: Vec<(PartId, RouteId, i64)> = turn
                .made
                .iter()
                .filter(of_group)
                .map(|&(part, route)| (part, route, self.shop.part(part).copies))
                .collect();
            let placed = place(self.shop, wanted.into_iter(), Some(day_of(when))).ok()?;
            let what = What::Order(Box::new(placed));
            let (part, route) = (None, Some(route));
            Some(Event { when, iteration: turn.n, part, route, step: 0, what })
        })?;
        let times = times_ordered(turn, lines);
        let once = value(self.clean, [&event]).ok()?.ledger;
        let paid = |e: &Entry| Entry { status: Status::Paid, when, ..e.clone() };
        let once: Vec<Entry> = once.entries().iter().map(paid).collect();
        Some((0..times).flat_map(|_| once.iter().cloned()).collect())
    }

    // ---- events ----

    /// The plan's events without those that lines replace.
    fn kept(&mut self, turn: &Turn, planned: &[Event], ordered: &[GroupId]) -> Vec<Event> {
        let scenario = self.scenario();
        let (mut hours, mut prints) = (false, false);
        let mut events = Vec::new();
        for event in planned {
            let keep = match &event.what {
                What::Wait(_) | What::Kept(..) => false,
                What::Order(placed) => !self.group(placed).is_some_and(|g| ordered.contains(&g)),
                What::Purchase(id) => {
                    let about = |l: &&RecordLine| matches!(l.what, Happened::Invoice { of: InvoiceOf::Machine(m), .. } if m == *id);
                    !turn.lines.iter().any(about)
                }
                What::Work { at, seconds, .. } => {
                    let said = turn.lines.iter().any(|l| is_work_of(scenario, l, event, *at));
                    hours |= !said && *seconds > 0;
                    !said
                }
                What::Machine { .. } => {
                    let is_print = event.step == 1 && event.route.is_some_and(|r| self.prints(r));
                    let said =
                        is_print && event.route.is_some_and(|r| builds_of(turn, r).is_some());
                    prints |= is_print && !said;
                    !said
                }
                _ => true,
            };
            if keep {
                events.push(event.clone());
            }
        }
        if hours {
            self.unsaid("attended hours", turn.n);
        }
        if prints {
            self.unsaid("print hours", turn.n);
        }
        events
    }

    fn prints(&self, route: RouteId) -> bool {
        self.shop.route(route).print.is_some()
    }

    /// Hours at the bench and at machines as recorded.
    fn recorded(&self, turn: &Turn) -> Vec<Event> {
        let scenario = self.scenario();
        let mut events = Vec::new();
        for line in &turn.lines {
            let when = start_of(scenario, line);
            let (iteration, part) = (turn.n, line.part);
            let only = match turn.routes_of(line)[..] {
                [only] => Some(only),
                _ => line.route,
            };
            let stamp = |step, route, what| Event { when, iteration, part, route, step, what };
            match line.what {
                Happened::Attended { seconds, at } => {
                    let (step, route, at) = match at {
                        None => (0, only, WorkAt::Recorded),
                        Some(AttendedAt::Brief) => (0, only, WorkAt::Brief),
                        Some(AttendedAt::Order) => (0, only, WorkAt::OrderTime),
                        Some(AttendedAt::Step(route, step)) => (step, Some(route), WorkAt::Step),
                    };
                    let what = What::Work { at, seconds, times: Exact::ONE, once: 0 };
                    events.push(stamp(step, route, what));
                }
                Happened::Build { seconds: Some(seconds), .. } => {
                    let route = only.filter(|r| builds_of(turn, *r).is_some());
                    let printer = route.and_then(|r| self.shop.route(r).steps.first()?.at);
                    if let Some(equipment) = printer {
                        let what = What::Machine { equipment, seconds, times: Exact::ONE, once: 0 };
                        events.push(stamp(1, route, what));
                    }
                }
                _ => {}
            }
        }
        events
    }

    /// What is bought once with the first use of a route or machine.
    fn first_purchases(&self, turn: &Turn, begun: &[bool]) -> Vec<Event> {
        let mut events = Vec::new();
        for route in routes_begun(turn) {
            let row = self.scenario().route(route);
            if begun[route.index()] || row.buy_first.is_none() {
                continue;
            }
            let (part, what) = (None, What::BuyFirst);
            let (when, iteration, step) = (turn.began, turn.n, 0);
            events.push(Event { when, iteration, part, route: Some(route), step, what });
        }
        events
    }

    /// Puts recorded quantities in the place of planned draws.
    fn adjust_draws(&mut self, turn: &Turn, events: &mut Vec<Event>) {
        let mut said: Vec<ItemId> = Vec::new();
        let lines: Vec<(&RecordLine, ItemId, i64)> = turn
            .lines
            .iter()
            .filter_map(|l| match l.what {
                Happened::Used { item, amount } => Some((*l, item, amount)),
                _ => None,
            })
            .collect();
        for &(_, item, _) in &lines {
            if said.contains(&item) {
                continue;
            }
            said.push(item);
            let of: Vec<&(&RecordLine, ItemId, i64)> =
                lines.iter().filter(|l| l.1 == item).collect();
            let pooled = of.iter().any(|l| l.0.route.is_none());
            let mut routes: Vec<Option<RouteId>> =
                of.iter().map(|l| l.0.route.filter(|_| !pooled)).collect();
            routes.sort_unstable();
            routes.dedup();
            for route in routes {
                let mine = of.iter().filter(|l| pooled || l.0.route == route);
                let recorded: i64 = mine.clone().map(|l| l.2).sum();
                if let Some(first) = mine.clone().next() {
                    self.adjust(events, (first.0, item, route), recorded);
                }
            }
        }
        let open = |e: &&Event| matches!(&e.what, What::Draw(d) if !said.contains(&d.item));
        let names: Vec<String> = events.iter().filter(open).map(|e| self.drawn_name(e)).collect();
        names.iter().for_each(|name| self.unsaid(name, turn.n));
    }

    /// What a draw is of, in words: supplies are many and small, and told as one.
    fn drawn_name(&self, event: &Event) -> String {
        let What::Draw(draw) = &event.what else { return String::new() };
        let item = &self.scenario().items[draw.item.index()];
        match item.class {
            ItemClass::Supply => "supplies".to_owned(),
            _ => item.name.clone(),
        }
    }

    fn adjust(
        &self,
        events: &mut Vec<Event>,
        (line, item, route): (&RecordLine, ItemId, Option<RouteId>),
        recorded: i64,
    ) {
        let is_of = |e: &Event| match &e.what {
            What::Draw(d) => d.item == item && (route.is_none() || e.route == route),
            _ => false,
        };
        let drawn = |e: &Event| match &e.what {
            What::Draw(d) => d.amount,
            _ => 0,
        };
        let planned: i64 = events.iter().filter(|e| is_of(e)).map(drawn).sum();
        for event in events.iter_mut().filter(|e| is_of(e)) {
            if let What::Draw(draw) = &mut event.what {
                draw.assumed = false;
            }
        }
        if recorded > planned {
            let to = match self.scenario().items[item.index()].class {
                // More than the plan: with a good print nothing more is in the parts.
                ItemClass::Resin => Fate::Print(0),
                _ => Fate::Used,
            };
            let amount = recorded - planned;
            let draw = Draw { item, amount, packs: 0, bought: 0, to, assumed: false };
            let (when, iteration) = (start_of(self.scenario(), line), line.iteration);
            let (part, what) = (line.part, What::Draw(draw));
            events.push(Event { when, iteration, part, route: line.route, step: 0, what });
            return;
        }
        let mut less = planned - recorded;
        // What is in a bath is there: less poured means that less was lost from it, so that goes last.
        for in_bath in [false, true] {
            let mut returned = Vec::new();
            for event in events.iter_mut().rev().filter(|e| is_of(e)) {
                let What::Draw(draw) = &mut event.what else { continue };
                if matches!(draw.to, Fate::Bath(_)) != in_bath {
                    continue;
                }
                let cut = less.min(draw.amount);
                less -= cut;
                draw.amount -= cut;
                match &mut draw.to {
                    Fate::Print(good) => *good = (*good).min(draw.amount),
                    Fate::Bath(bath) if cut > 0 => {
                        let (from, to) = (Account::Evaporated, Account::Bath(*bath));
                        let what = What::Move { item, amount: cut, from, to };
                        returned.push(Event { what, ..event.clone() });
                    }
                    _ => {}
                }
            }
            events.extend(returned);
        }
        events.retain(|e| !matches!(&e.what, What::Draw(d) if d.amount == 0));
    }

    /// What was paid or is owed in the order of a ledger, and what moved.
    pub fn ordered(&self) -> Ledger {
        Ledger::new(self.entries.clone(), self.movements.clone(), self.scenario())
    }
}
