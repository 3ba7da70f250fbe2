//! What a generated scenario is: plain numbers.

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
    /// Boxes are stated.
    pub boxes: bool,
    /// Areas are stated beside boxes.
    pub areas: bool,
    pub room: Room,
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

/// What there is to print on and to wash and dye in.
#[derive(Clone, Debug)]
pub struct Room {
    /// Length and width of the plate and its greatest height in mm.
    pub plate: Option<[u32; 2]>,
    pub height: Option<u32>,
    /// Plate and tubs as drawn, even where that rules parts out; else large enough for every part.
    pub tight: bool,
    /// One or two, used in this order.
    pub washes: Vec<WashPlan>,
    /// Used after them; only where boxes are stated.
    pub dyes: Vec<DyePlan>,
    /// What the baths hold where no supply of the list is a solvent or a dye.
    pub solvent: Stocked,
    pub dye: Stocked,
}

/// What every bath has: mm in hundredths, mL per hour in tenths.
#[derive(Clone, Debug)]
pub struct BathPlan {
    pub limit: Option<u32>,
    pub film: Option<u32>,
    pub evaporates: Option<u32>,
}

/// A wash bath; mL, per cent, tenths of mL.
#[derive(Clone, Debug)]
pub struct WashPlan {
    pub bath: BathPlan,
    pub fill: u32,
    pub retire: Option<u32>,
    pub resin_film: Option<u32>,
    pub carry: Option<u32>,
    pub over: Option<u32>,
    /// Resin in it and uses behind it at the start.
    pub resin_now: Option<u32>,
    pub uses_now: Option<u32>,
}

/// A dye bath; mm and mL.
#[derive(Clone, Debug)]
pub struct DyePlan {
    pub bath: BathPlan,
    /// Thousandths.
    pub share: u32,
    pub round: bool,
    /// Width of a tight box tub, and depth of a tight one.
    pub narrow: u32,
    pub shallow: u32,
    /// How much wider it is at the rim.
    pub draft: u32,
    /// Volume and height.
    pub displacers: Option<(u32, u32)>,
    pub raise: Option<u32>,
    /// `None`: in full.
    pub depth: Option<u32>,
    pub cover: Option<u32>,
    pub freeboard: Option<u32>,
    pub stir: Option<u32>,
    /// Days.
    pub keeps: Option<u32>,
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
#[expect(clippy::large_enum_variant, reason = "a description is made once and only read")]
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
    /// Which way up; see `routes`.
    pub up: Option<usize>,
    /// Tenths of mm.
    pub gap: Option<u32>,
    /// Film on supports, per cent of the part's area.
    pub support_area: Option<u32>,
    /// Hold added to the print.
    pub cool: Option<u32>,
    pub first: StepPlan,
    /// Steps in every wash bath there is, one after the other.
    pub washed: Option<[StepPlan; 2]>,
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
    /// Which machine, bath or both; see `routes`.
    pub at: Option<usize>,
    /// Which way up in a dye bath.
    pub pose: Option<usize>,
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
    /// Per litre of what is disposed of.
    pub waste: Option<u32>,
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
