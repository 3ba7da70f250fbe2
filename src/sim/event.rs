//! Events: what happened when, how much, and how often it counts. No money.

use std::sync::Arc;

pub use crate::model::{Account, Dates};
use crate::model::{BathId, Chosen, Day, EquipmentId, Exact, ItemId, Moment, PartId, RouteId};

/// Something that happened. `part` and `route` are `None` where it is shared by several.
#[derive(Clone, Debug)]
pub struct Event {
    /// When it counts.
    pub when: Moment,
    /// In which iteration; planned + 1 for the final.
    pub iteration: u32,
    /// The part it is for.
    pub part: Option<PartId>,
    /// The route it is for.
    pub route: Option<RouteId>,
    /// The number of the step, from 1; 0 where it is no step.
    pub step: u16,
    /// What it is.
    pub what: What,
}

/// When an event counts and what it is for: all of it but what happened.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stamp {
    pub when: Moment,
    pub iteration: u32,
    pub part: Option<PartId>,
    pub route: Option<RouteId>,
    pub step: u16,
}

impl Stamp {
    /// The event that this happened.
    #[inline]
    pub fn of(self, what: What) -> Event {
        let Stamp { when, iteration, part, route, step } = self;
        Event { when, iteration, part, route, step, what }
    }
}

/// What happened.
#[derive(Clone, Debug)]
pub enum What {
    /// Attended time.
    Work {
        /// At what.
        at: WorkAt,
        /// Seconds, pieces already counted.
        seconds: i64,
        /// How often they count.
        times: Exact,
        /// Seconds that count once (`first_time`).
        once: i64,
    },
    /// A machine ran.
    Machine {
        /// Which.
        equipment: EquipmentId,
        /// For how many seconds.
        seconds: i64,
        /// How often they count.
        times: Exact,
        /// Seconds that count once (`first_time` of a step without a hold).
        once: i64,
    },
    /// Something was drawn from stock.
    Draw(Draw),
    /// Material moved without money: out of a bath on a piece, into the air, from bath to bath.
    Move {
        /// What.
        item: ItemId,
        /// Millionths of mL.
        amount: i64,
        /// From where.
        from: Account,
        /// To where.
        to: Account,
    },
    /// A bath was emptied; so many millionths of mL of mixture are to be disposed of.
    Emptied(BathId, i64),
    /// A machine was bought.
    Purchase(EquipmentId),
    /// The route's first purchase.
    BuyFirst,
    /// An order was placed.
    Order(Box<Placed>),
    /// So many seconds since the last in hand.
    Wait(i64),
    /// What was on order is not wanted any more: the order by its index among those under way.
    Cancelled(usize),
    /// At an in hand, the stock of an item had fallen by so many millionths since the last.
    Kept(ItemId, i64),
}

/// What attended time is spent on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum WorkAt {
    /// The step of the event.
    Step,
    /// Explaining a version to the service.
    Brief,
    /// Placing an order.
    OrderTime,
    /// Whatever it was: the record tells the hours alone.
    Recorded,
}

/// Where a draw goes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Fate {
    /// So much of it into good pieces and their supports; the rest is discarded.
    Print(i64),
    /// Into a bath.
    Bath(BathId),
    /// Used up by the step.
    Used,
}

/// A draw from stock, in millionths of the item's unit.
#[derive(Clone, Copy, Debug)]
pub struct Draw {
    /// The item.
    pub item: ItemId,
    /// How much.
    pub amount: i64,
    /// Packs bought for it; 0 where the stock covers it, it is paid by use, or it has no price.
    pub packs: i64,
    /// What came from outside for it: the content of the packs, what is paid by use, or what was missing and has no price.
    pub bought: i64,
    /// Where it goes.
    pub to: Fate,
    /// True where the amount rests on an assumed number.
    pub assumed: bool,
}

/// An order as placed.
#[derive(Clone, Debug)]
pub struct Placed {
    /// Its part lines, by part; the same orders share them.
    pub lines: Arc<[Line]>,
    /// The delivery row, by index into the terms of the first line's route.
    pub delivery: Option<Chosen>,
    /// How often order-level charges count: the largest of the lines' routes.
    pub repeats: Exact,
    /// The day it was placed; `None` without a start date: every row counts as valid.
    pub day: Option<Day>,
}

/// One part of an order.
#[derive(Clone, Copy, Debug)]
pub struct Line {
    /// The part.
    pub part: PartId,
    /// Its route; routes of one order share service and delivery level.
    pub route: RouteId,
    /// How many.
    pub copies: i64,
    /// What prices it.
    pub price: crate::plan::LinePrice,
}

/// Why a plan cannot be simulated to the end.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Stop {
    /// No price holds for a part on the day it is ordered.
    NoPrice {
        /// The part.
        part: PartId,
        /// Its route.
        route: RouteId,
        /// The iteration.
        iteration: u32,
        /// The day.
        day: Option<Day>,
    },
    /// Builds wait for each other; each with its route, the step it waits to start, and the equipment.
    Deadlock {
        /// The iteration.
        iteration: u32,
        /// Route, step number and equipment of each build that waits.
        waiting: Vec<(RouteId, usize, EquipmentId)>,
    },
    /// Attempt after attempt fails.
    Hopeless {
        /// The route.
        route: RouteId,
        /// The iteration.
        iteration: u32,
    },
    /// No exchange rate holds on the day of an entry.
    NoExchange {
        /// The currency, by its code.
        currency: String,
        /// The day.
        day: Option<Day>,
    },
    /// A part that the final assigns to a route does not fit its plate, its printer or its tub.
    NoRoom {
        /// The part.
        part: PartId,
        /// The route.
        route: RouteId,
        /// The iteration.
        iteration: u32,
        /// Why, in words.
        why: String,
    },
    /// The pieces of one build cannot be dipped together.
    Dip {
        /// The route.
        route: RouteId,
        /// The bath.
        bath: BathId,
        /// The iteration.
        iteration: u32,
        /// Why, in words.
        why: String,
    },
    /// The project runs past the year 9999.
    TooLate {
        /// The iteration.
        iteration: u32,
    },
    /// An amount or a quantity left the range in which sums stay exact.
    TooLarge {
        /// The iteration.
        iteration: u32,
    },
}
