//! What a generated scenario is: plain numbers, and how they are drawn.

use proptest::collection::vec;
use proptest::option::weighted;
use proptest::prelude::*;

/// A scenario in few numbers.
#[derive(Clone, Debug)]
pub struct Blueprint {
    pub money: Money,
    pub time: Time,
    pub last: Option<Last>,
    pub parts: Vec<PartPlan>,
    pub routes: Vec<RoutePlan>,
    /// Named plans: the route of each part, by number.
    pub plans: Vec<Vec<usize>>,
    pub shop: ShopPlan,
    pub services: Vec<Service>,
    pub rates: Rates,
    /// Boxes and areas are stated.
    pub boxes: bool,
}

/// Currency and labour.
#[derive(Clone, Debug)]
pub struct Money {
    /// Which currency the scenario is in; see `write`.
    pub currency: usize,
    pub labour: Option<u32>,
    pub labour_paid: bool,
    /// Per cent within which costs are about equal.
    pub close: Option<u32>,
    pub delay_cost: Option<u32>,
}

/// Start, iterations and hours.
#[derive(Clone, Debug)]
pub struct Time {
    /// Days after 2 March 2026, and the hour.
    pub start: Option<(u32, u32)>,
    pub planned: u32,
    /// How far the horizon is beyond twice the planned count.
    pub beyond: u32,
    pub evaluate: u32,
    pub redesign: u32,
    /// Per cent.
    pub overlap: Option<u32>,
    /// Which opening hours; see `write`.
    pub hours: usize,
    /// Closed days after the start.
    pub closed: Vec<u32>,
}

/// The final.
#[derive(Clone, Debug)]
pub struct Last {
    pub copies: Option<u32>,
    /// The first part by another route.
    pub assign: Option<usize>,
}

/// A part; tenths of mL and cm2, mm.
#[derive(Clone, Debug)]
pub struct PartPlan {
    pub volume: u32,
    pub area: u32,
    pub size: [u32; 3],
    /// The volume is a share of the box, where boxes are stated.
    pub fill: bool,
    pub copies: u32,
    pub own: Option<u32>,
    /// Must be opaque from this iteration on.
    pub opaque_from: Option<u32>,
}

/// A route.
#[derive(Clone, Debug)]
pub struct RoutePlan {
    pub way: Way,
    pub buy_first: Option<u32>,
    /// Only for the part of this number; never on the first route.
    pub only: Option<usize>,
    pub consumes: Vec<Use>,
}

/// What kind of route.
#[derive(Clone, Debug)]
pub enum Way {
    Short(Short),
    Printed(Printed),
    Crafted(Vec<StepPlan>),
    Plain(Plain, Ordering),
    Served(Served, Ordering),
}

/// The short form of a bench route.
#[derive(Clone, Debug)]
pub struct Short {
    /// Per litre; or a pack.
    pub resin: Option<u32>,
    pub pack: bool,
    pub print_time: u32,
    pub attended: u32,
    pub spoil: Option<u32>,
    pub supports: Option<u32>,
    pub solvent: Option<u32>,
    pub other: Option<u32>,
}

/// A bench route that prints.
#[derive(Clone, Debug)]
pub struct Printed {
    pub material: usize,
    /// Print time by layers, where boxes are stated.
    pub layers: bool,
    pub print_time: u32,
    pub supports: Option<u32>,
    pub loss: Option<u32>,
    pub stand_off: Option<u32>,
    /// Hold added to the print.
    pub cool: Option<u32>,
    pub first: StepPlan,
    pub steps: Vec<StepPlan>,
}

/// The short form of an order route.
#[derive(Clone, Debug)]
pub struct Plain {
    pub piece: u32,
    pub delivery: Option<u32>,
    pub arrives_after: u32,
}

/// An order route of a service.
#[derive(Clone, Debug)]
pub struct Served {
    pub service: usize,
    pub offer: usize,
    pub level: usize,
}

/// What every order route has.
#[derive(Clone, Debug)]
pub struct Ordering {
    pub order_time: Option<u32>,
    pub brief: Option<u32>,
    pub misread: Option<u32>,
    pub reject: Option<u32>,
    pub steps: Vec<StepPlan>,
}

/// A step; minutes and per cent.
#[derive(Clone, Debug)]
pub struct StepPlan {
    pub attended: u32,
    pub per_piece: bool,
    pub first_time: Option<u32>,
    pub hold: HoldPlan,
    pub at: Option<usize>,
    pub spoil: Option<u32>,
    pub spent: Option<u32>,
    pub uses: Vec<Use>,
}

/// A hold.
#[derive(Clone, Debug)]
pub enum HoldPlan {
    None,
    Minutes(u32),
    Overnight,
}

/// A supply used: which, how much in tenths, per what.
#[derive(Clone, Debug)]
pub struct Use {
    pub item: usize,
    pub amount: u32,
    pub per: usize,
}

/// What is on the shelf and the floor.
#[derive(Clone, Debug)]
pub struct ShopPlan {
    pub materials: Vec<Stocked>,
    pub supplies: Vec<Stocked>,
    pub machines: Vec<Machine>,
}

/// A material or supply; amounts in tenths of its unit.
#[derive(Clone, Debug)]
pub struct Stocked {
    /// What it counts in and what it is; see `write`.
    pub kind: usize,
    /// A pack's content; `None`: paid by use.
    pub pack: Option<u32>,
    pub price: u32,
    /// The pack is stated as mass.
    pub by_mass: bool,
    pub stock: Option<u32>,
    pub keep: Option<u32>,
    pub lead: Option<u32>,
    pub delivery: Option<u32>,
    pub foreign: bool,
    pub opaque: bool,
}

/// A machine.
#[derive(Clone, Debug)]
pub struct Machine {
    /// None, wear or buy.
    pub charge: usize,
    pub price: u32,
    /// Per cent of the price.
    pub resale: Option<u32>,
    pub life: u32,
    pub watts: Option<u32>,
    /// Days after the start.
    pub down: Vec<u32>,
    pub lead: Option<u32>,
    pub delivery: Option<u32>,
}

/// An outside service.
#[derive(Clone, Debug)]
pub struct Service {
    pub offers: Vec<Offer>,
    pub levels: Vec<Level>,
    pub quotes: Vec<QuotePlan>,
    pub foreign: bool,
    /// Works by a calendar of its own.
    pub calendar: bool,
    /// Hour of the cutoff.
    pub cutoff: Option<u32>,
}

/// A price row with its breaks.
#[derive(Clone, Debug)]
pub struct Offer {
    pub basis: usize,
    pub rate: u32,
    /// A break: from how many, and per cent of the price.
    pub tier: Option<(u32, u32)>,
    /// From this day after the start the price is so many per cent.
    pub later: Option<(u32, u32)>,
    pub piece_min: Option<u32>,
    pub setup_part: Option<u32>,
    pub setup_order: Option<u32>,
    pub finish: Option<u32>,
    pub order_min: Option<u32>,
    pub lead: u32,
    pub opaque: bool,
}

/// A delivery level.
#[derive(Clone, Debug)]
pub struct Level {
    pub base: u32,
    pub per_kg: Option<u32>,
    pub divisor: Option<u32>,
    pub mass_step: Option<u32>,
    pub transit: Option<u32>,
    pub arrives: Option<u32>,
    pub calendar: bool,
}

/// A quotation.
#[derive(Clone, Debug)]
pub struct QuotePlan {
    pub offer: usize,
    pub part: usize,
    pub qty: u32,
    pub price: u32,
    pub lead: Option<u32>,
    /// Valid for so many days after the start.
    pub until: Option<u32>,
}

/// Named rates; per cent.
#[derive(Clone, Debug)]
pub struct Rates {
    pub electricity: Option<u32>,
    pub tax: Option<u32>,
    pub recoverable: bool,
    pub duty: Option<u32>,
    pub duty_on_delivery: bool,
    pub import_fee: Option<u32>,
    pub exchange: u32,
    /// From this day after the start the exchange rate is another.
    pub exchange_later: Option<(u32, u32)>,
    pub exchange_fee: Option<u32>,
}

/// Every scenario the tests are held against.
pub fn blueprint() -> impl Strategy<Value = Blueprint> {
    let who = (money(), time(), weighted(0.4, last()), any::<bool>());
    let what = (vec(part(), 1..=3), vec(route(), 1..=3), weighted(0.3, plans()));
    let with = (shop(), vec(service(), 1..=2), rates());
    (who, what, with).prop_map(|((money, time, last, boxes), (parts, routes, plans), (shop, services, rates))| {
        Blueprint { money, time, last, parts, routes, plans: plans.unwrap_or_default(), shop, services, rates, boxes }
    })
}

fn money() -> impl Strategy<Value = Money> {
    let labour = weighted(0.9, 0u32..6_000);
    (0usize..4, labour, weighted_flag(0.2), weighted(0.5, 0u32..20), weighted(0.3, 1u32..5_000)).prop_map(
        |(currency, labour, labour_paid, close, delay_cost)| Money { currency, labour, labour_paid, close, delay_cost },
    )
}

fn time() -> impl Strategy<Value = Time> {
    let dates = (weighted(0.7, (0u32..7, 6u32..20)), 1u32..=3, 0u32..3);
    let design = (0u32..200, 0u32..900, weighted(0.4, 0u32..=100));
    let bench = (0usize..3, vec(0u32..20, 0..3));
    (dates, design, bench).prop_map(
        |((start, planned, beyond), (evaluate, redesign, overlap), (hours, closed))| Time {
            start, planned, beyond, evaluate, redesign, overlap, hours, closed,
        },
    )
}

fn last() -> impl Strategy<Value = Last> {
    (weighted(0.5, 1u32..5), weighted(0.4, 0usize..4)).prop_map(|(copies, assign)| Last { copies, assign })
}

fn plans() -> impl Strategy<Value = Vec<Vec<usize>>> {
    vec(vec(0usize..4, 3), 1..4)
}

fn part() -> impl Strategy<Value = PartPlan> {
    let solid = (1u32..1_500, 1u32..3_000, [5u32..120, 5u32..90, 5u32..100], weighted_flag(0.2));
    (solid, 1u32..=5, weighted(0.4, 1u32..=3), weighted(0.1, 1u32..=4)).prop_map(
        |((volume, area, size, fill), copies, own, opaque_from)| PartPlan {
            volume, area, size, fill, copies, own, opaque_from,
        },
    )
}

fn route() -> impl Strategy<Value = RoutePlan> {
    (way(), weighted(0.3, 1u32..20_000), weighted(0.15, 0usize..3), vec(a_use(), 0..5)).prop_map(
        |(way, buy_first, only, consumes)| RoutePlan { way, buy_first, only, consumes },
    )
}

fn way() -> impl Strategy<Value = Way> {
    prop_oneof![
        1 => short().prop_map(Way::Short),
        1 => vec(step(), 1..4).prop_map(Way::Crafted),
        3 => printed().prop_map(Way::Printed),
        1 => (plain(), ordering()).prop_map(|(plain, ordering)| Way::Plain(plain, ordering)),
        4 => (served(), ordering()).prop_map(|(served, ordering)| Way::Served(served, ordering)),
    ]
}

fn short() -> impl Strategy<Value = Short> {
    let resin = (weighted(0.9, 1u32..30_000), weighted_flag(0.3));
    let times = (1u32..900, 0u32..400, weighted(0.7, 0u32..600));
    let used = (weighted(0.7, 0u32..30), weighted(0.7, 0u32..50), weighted(0.7, 0u32..2_000));
    (resin, times, used).prop_map(
        |((resin, pack), (print_time, attended, other), (spoil, supports, solvent))| Short {
            resin, pack, print_time, attended, spoil, supports, solvent, other,
        },
    )
}

fn printed() -> impl Strategy<Value = Printed> {
    let run = (0usize..3, any::<bool>(), 1u32..900, weighted(0.2, 1u32..60));
    let resin = (weighted(0.8, 0u32..50), weighted(0.8, 0u32..300), weighted(0.6, 0u32..8));
    (run, resin, step(), vec(step(), 0..4)).prop_map(
        |((material, layers, print_time, cool), (supports, loss, stand_off), first, steps)| Printed {
            material, layers, print_time, supports, loss, stand_off, cool, first, steps,
        },
    )
}

fn plain() -> impl Strategy<Value = Plain> {
    (1u32..30_000, weighted(0.8, 0u32..4_000), 0u32..9)
        .prop_map(|(piece, delivery, arrives_after)| Plain { piece, delivery, arrives_after })
}

fn served() -> impl Strategy<Value = Served> {
    (0usize..2, 0usize..2, 0usize..2).prop_map(|(service, offer, level)| Served { service, offer, level })
}

fn ordering() -> impl Strategy<Value = Ordering> {
    let work = (weighted(0.7, 0u32..60), weighted(0.3, 1u32..40));
    (work, weighted(0.3, 0u32..30), weighted(0.3, 0u32..30), vec(step(), 0..2)).prop_map(
        |((order_time, brief), misread, reject, steps)| Ordering { order_time, brief, misread, reject, steps },
    )
}

fn step() -> impl Strategy<Value = StepPlan> {
    let work = (0u32..60, weighted_flag(0.25), weighted(0.2, 1u32..60));
    let hold = prop_oneof![
        3 => Just(HoldPlan::None),
        4 => (1u32..300).prop_map(HoldPlan::Minutes),
        2 => Just(HoldPlan::Overnight),
    ];
    let fails = (weighted(0.4, 0u32..25), weighted(0.5, 0u32..=100));
    (work, hold, weighted(0.5, 0usize..3), fails, vec(a_use(), 0..2)).prop_map(
        |((attended, per_piece, first_time), hold, at, (spoil, spent), uses)| StepPlan {
            attended, per_piece, first_time, hold, at, spoil, spent, uses,
        },
    )
}

fn a_use() -> impl Strategy<Value = Use> {
    (0usize..3, 1u32..300, 0usize..7).prop_map(|(item, amount, per)| Use { item, amount, per })
}

fn shop() -> impl Strategy<Value = ShopPlan> {
    (vec(stocked(), 1..=2), vec(stocked(), 1..=3), vec(machine(), 3))
        .prop_map(|(materials, supplies, machines)| ShopPlan { materials, supplies, machines })
}

fn stocked() -> impl Strategy<Value = Stocked> {
    let paid = (weighted(0.85, 1u32..10_000), 0u32..15_000, weighted_flag(0.2), weighted_flag(0.2));
    let held = (weighted(0.4, 0u32..9_000), weighted(0.3, 0u32..=100));
    (0usize..4, paid, held, weighted(0.3, 0u32..6), weighted(0.4, 0u32..1_500), any::<bool>()).prop_map(
        |(kind, (pack, price, by_mass, foreign), (stock, keep), lead, delivery, opaque)| Stocked {
            kind, pack, price, by_mass, stock, keep, lead, delivery, foreign, opaque,
        },
    )
}

fn machine() -> impl Strategy<Value = Machine> {
    let paid = (0usize..3, 1u32..90_000, weighted(0.5, 0u32..=100), 1u32..3_000);
    let there = (vec(0u32..25, 0..3), weighted(0.2, 0u32..6), weighted(0.3, 0u32..3_000));
    (paid, weighted(0.6, 0u32..900), there).prop_map(
        |((charge, price, resale, life), watts, (down, lead, delivery))| Machine {
            charge, price, resale, life, watts, down, lead, delivery,
        },
    )
}

fn service() -> impl Strategy<Value = Service> {
    let lists = (vec(offer(), 1..=2), vec(level(), 1..=2), vec(quote(), 0..3));
    (lists, weighted_flag(0.4), weighted_flag(0.4), weighted(0.5, 8u32..18)).prop_map(
        |((offers, levels, quotes), foreign, calendar, cutoff)| Service { offers, levels, quotes, foreign, calendar, cutoff },
    )
}

fn offer() -> impl Strategy<Value = Offer> {
    let price = (0usize..5, 1u32..400, weighted(0.4, (2u32..5, 50u32..100)), weighted(0.3, (1u32..20, 80u32..130)));
    let lines = (weighted(0.3, 1u32..6_000), weighted(0.5, 1u32..3_000), weighted(0.5, 1u32..3_000));
    let more = (weighted(0.3, 1u32..1_000), weighted(0.4, 1u32..30_000), 0u32..8, any::<bool>());
    (price, lines, more).prop_map(
        |((basis, rate, tier, later), (piece_min, setup_part, setup_order), (finish, order_min, lead, opaque))| Offer {
            basis, rate, tier, later, piece_min, setup_part, setup_order, finish, order_min, lead, opaque,
        },
    )
}

fn level() -> impl Strategy<Value = Level> {
    let price = (0u32..3_000, weighted(0.6, 1u32..1_000), weighted(0.5, 1_000u32..8_000), weighted(0.5, 1u32..20));
    (price, weighted(0.8, 0u32..5), weighted(0.7, 6u32..20), weighted_flag(0.4)).prop_map(
        |((base, per_kg, divisor, mass_step), transit, arrives, calendar)| Level {
            base, per_kg, divisor, mass_step, transit, arrives, calendar,
        },
    )
}

fn quote() -> impl Strategy<Value = QuotePlan> {
    ((0usize..2, 0usize..3), 1u32..5, 1u32..20_000, weighted(0.5, 0u32..8), weighted(0.4, 1u32..20)).prop_map(
        |((offer, part), qty, price, lead, until)| QuotePlan { offer, part, qty, price, lead, until },
    )
}

fn rates() -> impl Strategy<Value = Rates> {
    let power = weighted(0.8, 1u32..90);
    let levies = (weighted(0.5, 0u32..25), weighted_flag(0.2), weighted(0.4, 0u32..20), any::<bool>());
    let exchange = (50u32..200, weighted(0.4, (1u32..20, 50u32..200)), weighted(0.5, 0u32..5));
    (power, levies, weighted(0.3, 1u32..2_000), exchange).prop_map(
        |(electricity, (tax, recoverable, duty, duty_on_delivery), import_fee, (exchange, exchange_later, exchange_fee))| {
            Rates {
                electricity, tax, recoverable, duty, duty_on_delivery, import_fee, exchange, exchange_later, exchange_fee,
            }
        },
    )
}

fn weighted_flag(chance: f64) -> impl Strategy<Value = bool> {
    proptest::bool::weighted(chance)
}
