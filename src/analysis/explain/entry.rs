//! One entry of a ledger: quantity x unit price, rounded once, each down to what is stated.

use super::{How, Node, Origin, Story, bath, material, order, time};
use crate::ledger::{Category, Entry, Kind};
use crate::model::{CurrencyId, DAY, Day, Exact, HOUR, ItemId, Price, RateRows, Slot, day_of};
use crate::plan::Shop;
use crate::sim::{Draw, Event, What};

/// The scenario's currency.
pub(super) fn own<'s>(shop: &Shop<'s>) -> &'s str {
    &shop.scenario.currencies[0].code
}

/// A price in the scenario's currency at the rate of an event's day.
pub(super) fn price(story: &Story, event: &Event, price: Price, label: &str) -> Node {
    let shop = story.shop;
    let code = &shop.scenario.currencies[price.currency.index()].code;
    let node = Node::input(shop, price.value, label).in_unit(code);
    let day = shop.scenario.start.map(|_| day_of(event.when));
    rated(shop, node, (&shop.scenario.exchange, price.currency), day)
}

/// An amount in another currency times the rate that holds on a day.
pub(super) fn rated(
    shop: &Shop,
    node: Node,
    (table, currency): (&[RateRows], CurrencyId),
    day: Option<Day>,
) -> Node {
    if currency.0 == 0 {
        return node;
    }
    let row = table.get(currency.index()).and_then(|rows| rows.on(day));
    let Some((row, _)) = row else {
        return node;
    };
    let rate = Node::input(shop, row.value, "exchange rate of that day");
    Node::of(How::Product, "converted", own(shop), vec![node, rate])
}

impl Story<'_, '_> {
    /// An entry by its index: rounded, from quantity and unit price.
    pub fn entry(&self, index: usize) -> Option<Node> {
        let (entry, event) = self.entries.get(index)?;
        let (unit, minor) = (own(self.shop), self.shop.scenario.minor());
        let amount = self.amount(entry, *event);
        let label = self.title(entry);
        let amount = Node::of(How::Product, "amount before it is rounded", unit, amount);
        Some(Node::of(How::Rounded(minor), label, unit, vec![amount]))
    }

    /// What an entry is, in words.
    pub fn title(&self, entry: &Entry) -> String {
        let item = entry.item(self.shop.scenario);
        format!("{} {item}, {}", entry.category.name(), self.place(entry))
    }

    /// Where an entry belongs, in words: part, route, iteration, date and kind.
    pub(super) fn place(&self, entry: &Entry) -> String {
        let scenario = self.shop.scenario;
        let part = entry.part.map(|p| scenario.part(p).name.as_str());
        let route = entry.route.map(|r| scenario.route(r).name.as_str());
        let whose = match (part, route) {
            (Some(part), Some(route)) => format!("{part} by {route}, "),
            (None, Some(route)) => format!("{route}, "),
            (Some(part), None) => format!("{part}, "),
            (None, None) => String::new(),
        };
        let (turn, date) = (self.turn(entry.iteration), self.date(entry.when));
        format!("{whose}{turn}, {date} ({})", entry.kind.name())
    }

    /// Quantity and unit price of an entry. What cannot be told apart any further is what happened.
    fn amount(&self, entry: &Entry, event: usize) -> Vec<Node> {
        let (quantity, unit_price) = self.factors(entry, event).unzip();
        let currency = own(self.shop);
        let quantity = held_to(quantity, entry.quantity, || {
            Node::happened("quantity", entry.quantity, entry.unit)
        });
        let unit_price = held_to(unit_price, entry.unit_price, || Node {
            from: Origin::Source(entry.source),
            ..Node::happened("unit price", entry.unit_price, currency)
        });
        vec![quantity, unit_price]
    }

    fn factors(&self, entry: &Entry, index: usize) -> Option<(Node, Node)> {
        let event = self.events.get(index)?;
        let shop = self.shop;
        match &event.what {
            What::Work { at, seconds, once, .. } => {
                let labour = shop.scenario.labour.map(|slot| self.labour(slot));
                let none =
                    || Node::happened("no price of an hour is stated", Exact::ZERO, own(shop));
                Some((time::work(self, index, *at, (*seconds, *once)), labour.unwrap_or_else(none)))
            }
            What::Machine { equipment, seconds, once, .. } => {
                let machine = &shop.scenario.equipment[equipment.index()];
                let ran = time::machine(self, event, (*seconds, *once));
                match entry.category {
                    Category::Electricity => self.electricity(event, machine.watts?, ran),
                    _ => self.wear(event, machine, ran),
                }
            }
            What::Draw(draw) => self.draw(entry, index, draw),
            What::Emptied(id, mixture) => {
                let solvent = shop.bath(*id).solvent;
                let charge = shop.scenario.items[solvent.index()].waste_charge_per_l?;
                let charge = price(self, event, charge, "charge for a litre");
                Some((bath::emptied(self, index, *id, *mixture), charge))
            }
            What::Purchase(id) => {
                let machine = &shop.scenario.equipment[id.index()];
                self.purchase(entry, event, (machine.price?, machine.resale, machine.delivery_cost))
            }
            What::BuyFirst => {
                let first = shop.scenario.route(event.route?).buy_first?;
                Some((one(""), price(self, event, first, "first purchase")))
            }
            What::Order(placed) => order::charge(self, placed, entry),
            What::Wait(seconds) => self.waited(event, *seconds),
            What::Kept(id, fallen) => self.kept(index, *id, *fallen),
            What::Move { .. } | What::Cancelled(_) => None,
        }
    }

    fn waited(&self, event: &Event, seconds: i64) -> Option<(Node, Node)> {
        let slot = self.shop.scenario.iterations.delay_cost_per_day?;
        let label = format!("from the in hand before to {}", self.moment(event.when));
        let time = Node::happened(label, seconds, "s");
        let days = Node::of(How::InUnits(DAY), "days waited", "days", vec![time]);
        Some((days, Node::input(self.shop, slot, "cost of a day").in_unit(own(self.shop))))
    }

    fn kept(&self, index: usize, id: ItemId, fallen: i64) -> Option<(Node, Node)> {
        let item = &self.shop.scenario.items[id.index()];
        let unit = material::unit_price(self, &self.events[index], id)?;
        let keep = material::keep(self.shop, item, id);
        let code = unit.unit.clone();
        let value = Node::of(How::Product, "value of a unit", &code, vec![unit, keep]);
        Some((material::fallen(self, index, id, fallen), value))
    }

    fn labour(&self, slot: Slot) -> Node {
        Node::input(self.shop, slot, "worth of an hour")
            .in_unit(&format!("{} per h", own(self.shop)))
    }

    fn electricity(&self, event: &Event, watts: Slot, ran: Node) -> Option<(Node, Node)> {
        let scenario = self.shop.scenario;
        let day = scenario.start.map(|_| day_of(event.when));
        let (row, _) = scenario.electricity.on(day)?;
        let watts = Node::input(self.shop, watts, "power");
        let energy = Node::of(How::Product, "power x running time", "Ws", vec![watts, ran]);
        let energy = Node::of(How::InUnits(1000 * HOUR), "energy", "kWh", vec![energy]);
        let currency = scenario.electricity_currency;
        let rate = price(self, event, Price { value: row.value, currency }, "price of a kWh");
        Some((energy, rate))
    }

    fn wear(
        &self,
        event: &Event,
        machine: &crate::model::Equipment,
        ran: Node,
    ) -> Option<(Node, Node)> {
        let hours = Node::of(How::InUnits(HOUR), "hours it ran", "h", vec![ran]);
        let mut worn = vec![price(self, event, machine.price?, "price of the machine")];
        worn.extend(machine.resale.map(|resale| price(self, event, resale, "resale")));
        let worn = Node::of_some(How::Difference, "value it loses", own(self.shop), worn);
        let life = Node::input(self.shop, machine.life_hours?, "hours of its life").in_unit("h");
        let unit = format!("{} per h", own(self.shop));
        Some((hours, Node::of(How::Quotient, "wear of an hour", &unit, vec![worn, life])))
    }

    fn draw(&self, entry: &Entry, index: usize, draw: &Draw) -> Option<(Node, Node)> {
        let (shop, event) = (self.shop, &self.events[index]);
        let item = &shop.scenario.items[draw.item.index()];
        if entry.category == Category::Delivery {
            let cost = price(self, event, item.delivery_cost?, "delivery of what is bought");
            return Some((one(""), cost));
        }
        if entry.kind == Kind::Pay && shop.item(draw.item).pack.is_some() {
            let pack = price(self, event, shop.item(draw.item).price?, "price of a pack");
            return Some((material::packs(self, index, draw), pack));
        }
        let unit = material::unit_price(self, event, draw.item)?;
        Some((material::drawn(self, index, draw), unit))
    }

    fn purchase(
        &self,
        entry: &Entry,
        event: &Event,
        (cost, resale, delivery): (Price, Option<Price>, Option<Price>),
    ) -> Option<(Node, Node)> {
        Some(match (entry.category, entry.kind) {
            (Category::Delivery, _) => (one(""), price(self, event, delivery?, "delivery")),
            (_, Kind::Resale) => {
                let back = Node::happened("comes back", -Exact::ONE, "");
                let resale = price(self, event, resale?, "resale");
                let unit = own(self.shop);
                (one("pcs"), Node::of(How::Product, "resale", unit, vec![back, resale]))
            }
            _ => (one("pcs"), price(self, event, cost, "price of the machine")),
        })
    }
}

fn one(unit: &str) -> Node {
    Node::happened("once", 1i64, unit)
}

/// A figure if it is what the ledger has, to the last of 15 decimals; else the ledger's own, as it is.
fn held_to(found: Option<Node>, ledger: Exact, otherwise: impl FnOnce() -> Node) -> Node {
    const NEAR: u32 = 15;
    match found {
        Some(node) if (node.value - ledger).half_away(NEAR).is_zero() => node,
        _ => otherwise(),
    }
}
