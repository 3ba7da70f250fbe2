//! One entry of a ledger, its order among others, and where it counts; and material that moved.
//!
//! They stand here and not with the ledger, for what has happened is part of a scenario with a record.

use std::cmp::Ordering;

use super::{
    BathId, EquipmentId, Exact, ItemId, Moment, Money, PartId, RouteId, RouteKind, Scenario,
    SourceId,
};

/// What an entry is for; in the order in which entries of one moment are listed.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Category {
    /// Printing material.
    Resin,
    /// Solvent.
    Solvent,
    /// Dye.
    Dye,
    /// Other supplies.
    Supplies,
    /// Electricity.
    Electricity,
    /// Wear of a machine.
    Machine,
    /// Own hours.
    Labour,
    /// Disposal.
    Waste,
    /// A machine, or a route's first purchase.
    Purchase,
    /// Ordered pieces.
    Piece,
    /// Set-up of a part line or an order.
    SetUp,
    /// Finish of ordered pieces.
    Finish,
    /// What is missing to an order's minimum.
    Minimum,
    /// Delivery.
    Delivery,
    /// Duty.
    Duty,
    /// Tax.
    Tax,
    /// Import and exchange fees.
    Fee,
    /// Delay.
    Delay,
}

impl Category {
    /// All categories in order.
    pub const ALL: [Category; 18] = [
        Category::Resin,
        Category::Solvent,
        Category::Dye,
        Category::Supplies,
        Category::Electricity,
        Category::Machine,
        Category::Labour,
        Category::Waste,
        Category::Purchase,
        Category::Piece,
        Category::SetUp,
        Category::Finish,
        Category::Minimum,
        Category::Delivery,
        Category::Duty,
        Category::Tax,
        Category::Fee,
        Category::Delay,
    ];

    /// The word used in reports and files.
    pub fn name(self) -> &'static str {
        match self {
            Category::Resin => "resin",
            Category::Solvent => "solvent",
            Category::Dye => "dye",
            Category::Supplies => "supplies",
            Category::Electricity => "electricity",
            Category::Machine => "machine",
            Category::Labour => "labour",
            Category::Waste => "waste",
            Category::Purchase => "purchase",
            Category::Piece => "piece",
            Category::SetUp => "set-up",
            Category::Finish => "finish",
            Category::Minimum => "minimum",
            Category::Delivery => "delivery",
            Category::Duty => "duty",
            Category::Tax => "tax",
            Category::Fee => "fee",
            Category::Delay => "delay",
        }
    }
}

/// How an entry counts; in the order in which entries of one item are listed.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Kind {
    /// Value used up: a share of packs, wear.
    Consume,
    /// Money leaving.
    Pay,
    /// Own hours at their rate.
    Work,
    /// Waiting.
    Wait,
    /// Value that left or entered what is kept.
    Stock,
    /// What a machine can be sold for.
    Resale,
}

impl Kind {
    /// The word used in reports and files.
    pub fn name(self) -> &'static str {
        match self {
            Kind::Consume => "consume",
            Kind::Pay => "pay",
            Kind::Work => "work",
            Kind::Wait => "wait",
            Kind::Stock => "stock",
            Kind::Resale => "resale",
        }
    }
}

/// The three totals.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Total {
    /// Money leaving.
    Outlay,
    /// The cost of the versions made: what they used up, hours and invoices.
    Consumed,
    /// What can still be avoided today; decisions rest on it.
    Avoidable,
}

/// Whether what an entry says has happened.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug, Default)]
pub enum Status {
    /// It has: the record says so.
    Paid,
    /// It is owed: what was ordered and not invoiced yet.
    Committed,
    /// It has not.
    #[default]
    Forecast,
}

impl Status {
    /// The word used in reports and files.
    pub fn name(self) -> &'static str {
        match self {
            Status::Paid => "paid",
            Status::Committed => "committed",
            Status::Forecast => "forecast",
        }
    }
}

/// What an entry is about.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum About {
    /// A material or supply.
    Item(ItemId),
    /// A machine.
    Machine(EquipmentId),
    /// A step of the entry's route.
    Step,
    /// Something with a plain name: `order`, `brief`, `delivery`.
    Named(&'static str),
    /// The service of a route.
    Service(RouteId),
}

/// One entry of the ledger.
#[derive(Clone, Debug)]
pub struct Entry {
    /// When it counts.
    pub when: Moment,
    /// Iteration; planned + 1 for the final.
    pub iteration: u32,
    /// The part, or `None` for shared.
    pub part: Option<PartId>,
    /// The route, or `None` where no single one is concerned.
    pub route: Option<RouteId>,
    /// Number of the step, from 1; 0 for none.
    pub step: u16,
    /// What it is for.
    pub category: Category,
    /// What it is about.
    pub about: About,
    /// How much, in `unit`.
    pub quantity: Exact,
    /// The unit: `mL`, `g`, `pcs`, `h`, `kWh`, `packs`, `days`, or empty.
    pub unit: &'static str,
    /// Price of one unit in the scenario's currency, unrounded.
    pub unit_price: Exact,
    /// Rounded once.
    pub amount: Money,
    /// How it counts.
    pub kind: Kind,
    /// True for what an outside service invoices.
    pub invoice: bool,
    /// True where an assumed number is in the amount.
    pub assumed: bool,
    /// The sheet line, scenario key or rule the price comes from.
    pub source: SourceId,
    /// Whether it has happened.
    pub status: Status,
}

impl Entry {
    /// True if the entry counts in a total.
    pub fn counts_in(&self, total: Total) -> bool {
        match total {
            Total::Outlay => self.kind == Kind::Pay,
            // What has happened, or is owed, cannot be avoided any more.
            Total::Avoidable => self.status == Status::Forecast && self.is_cost(),
            Total::Consumed => match self.category {
                Category::Labour | Category::Electricity | Category::Waste => true,
                _ => self.kind == Kind::Consume || self.invoice,
            },
        }
    }

    /// True for what an entry costs when it happens: all that could be avoided before.
    pub fn is_cost(&self) -> bool {
        self.kind != Kind::Consume
    }

    /// What the entry is about, in words.
    pub fn item<'a>(&self, scenario: &'a Scenario) -> &'a str {
        match self.about {
            About::Item(id) => &scenario.items[id.index()].name,
            About::Machine(id) => &scenario.equipment[id.index()].name,
            About::Named(name) => name,
            About::Service(route) => match &scenario.route(route).kind {
                RouteKind::Order(terms) => &terms.service,
                RouteKind::Bench(_) => &scenario.route(route).name,
            },
            About::Step => self
                .route
                .and_then(|r| scenario.route(r).steps.get(usize::from(self.step).saturating_sub(1)))
                .map_or("", |s| &s.name),
        }
    }

    /// The part's name, or `shared`.
    pub fn part_name<'a>(&self, scenario: &'a Scenario) -> &'a str {
        self.part.map_or(SHARED, |p| &scenario.part(p).name)
    }

    /// The route's name; empty where no single route is concerned.
    pub fn route_name<'a>(&self, scenario: &'a Scenario) -> &'a str {
        self.route.map_or("", |r| &scenario.route(r).name)
    }

    /// The one order of entries: when, iteration, part, route, step, category, item, kind.
    pub fn order(&self, other: &Entry, scenario: &Scenario) -> Ordering {
        self.when
            .cmp(&other.when)
            .then(self.iteration.cmp(&other.iteration))
            .then_with(|| self.part_name(scenario).cmp(other.part_name(scenario)))
            .then_with(|| self.route_name(scenario).cmp(other.route_name(scenario)))
            .then(self.step.cmp(&other.step))
            .then(self.category.cmp(&other.category))
            .then_with(|| self.item(scenario).cmp(other.item(scenario)))
            .then(self.kind.cmp(&other.kind))
    }
}

/// What stands in the part column of an entry that several parts share.
pub const SHARED: &str = "shared";

/// Where material can be.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Account {
    /// With the supplier, before it is bought.
    Supplier,
    /// On the shelf.
    Stock,
    /// In good pieces and their supports.
    Parts,
    /// Discarded: failed builds, what each build loses, emptied baths.
    Waste,
    /// Used up by a step.
    Used,
    /// In a bath.
    Bath(BathId),
    /// Left a bath on a piece.
    DraggedOut,
    /// Gone into the air.
    Evaporated,
}

/// Material that moved, in millionths of the item's unit.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Movement {
    /// When.
    pub when: Moment,
    /// In which iteration.
    pub iteration: u32,
    /// What.
    pub item: ItemId,
    /// How much.
    pub amount: i64,
    /// From where.
    pub from: Account,
    /// To where.
    pub to: Account,
}
