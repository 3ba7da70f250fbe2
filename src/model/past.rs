//! What has happened so far, worked out from the record once: what forecasts start from.
//!
//! All of it is plain: money is in entries, quantities are whole millionths. How it is worked out from the lines of a record is
//! `analysis/rerun`; a simulation only takes it up.

use super::{Day, Entry, Exact, ItemId, Moment, Money, Movement, PartId, RouteId, Slots, SourceId};

/// What has happened of a project up to a day.
#[derive(Clone, Debug)]
pub struct Past {
    /// The day from which on nothing has happened yet.
    pub today: Day,
    /// The moment a forecast begins: the first at which the bench is open then, or the last recorded one.
    pub now: Moment,
    /// Iterations that are behind.
    pub done: u32,
    /// Iterations planned before anything was recorded.
    pub planned: u32,
    /// True where the design is accepted: nothing but the final is left.
    pub accepted: bool,
    /// Dates of the iterations that are behind.
    pub dates: Vec<Dates>,
    /// What came of each of them.
    pub outcomes: Vec<Outcome>,
    /// What was paid or is owed, hours included; in the order of a ledger.
    pub entries: Vec<Entry>,
    /// What was moved.
    pub movements: Vec<Movement>,
    /// Where things stand.
    pub carry: Carry,
    /// What has been done of the iteration after those.
    pub under_way: UnderWay,
    /// The recorded quantities at the prices of the sheets; its sum less that of `entries` is what prices made of it.
    pub flexible: Vec<Entry>,
    /// What the plan says of the same iterations, quantities and prices.
    pub standard: Vec<Entry>,
    /// Millionths of each item that would be in stock after them by the plan.
    pub standard_stock: Vec<i64>,
    /// What the record does not say and was taken as planned, in words.
    pub remarks: Vec<String>,
    /// Every number before anything was learnt from the record.
    pub as_planned: Slots,
    /// What the record teaches.
    pub learned: Vec<Learned>,
    /// True where the forecast goes by that.
    pub applied: bool,
}

/// The dates of one iteration.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Dates {
    /// Its number; planned + 1 for the final.
    pub iteration: u32,
    /// When it was released.
    pub release: Moment,
    /// When its last piece was finished and on the bench.
    pub in_hand: Moment,
    /// When it had been evaluated.
    pub evaluated: Moment,
    /// When the next version was ready.
    pub redesigned: Moment,
}

/// What came of an iteration.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Outcome {
    /// The design is as it must be.
    Accepted,
    /// It must be designed again.
    Redesign,
    /// It came to nothing and told nothing of the design.
    Failed,
    /// It is in hand and has not been looked at.
    Open,
}

/// Where things stand: what a simulation starts from.
#[derive(Clone, Debug, Default)]
pub struct Carry {
    /// When the next version is ready.
    pub release: Moment,
    /// When the last one had been evaluated.
    pub evaluated: Moment,
    /// Millionths of each item in stock.
    pub stock: Vec<i64>,
    /// Items of which something was bought: more comes without waiting for a first delivery.
    pub had: Vec<bool>,
    /// Machines that were used, and so bought where they are bought.
    pub used: Vec<bool>,
    /// What is in each bath.
    pub baths: Vec<InTub>,
    /// Routes that were gone by, and so what they need first was bought.
    pub route_begun: Vec<bool>,
    /// Steps begun before, by route and step.
    pub step_begun: Vec<Vec<bool>>,
}

/// What is in a bath, in millionths of mL.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct InTub {
    /// Solvent.
    pub solvent: i64,
    /// Dye.
    pub dye: i64,
    /// Dissolved resin by item.
    pub resin: Vec<(ItemId, i64)>,
    /// Uses since it was filled.
    pub uses: Exact,
    /// When it was filled; `None` while it stands empty.
    pub filled: Option<Moment>,
}

/// What has been done of the iteration that is under way.
#[derive(Clone, Debug, Default)]
pub struct UnderWay {
    /// Parts that are in hand, by whatever route.
    pub in_hand: Vec<PartId>,
    /// Parts of which a good build has ended: by these routes only what comes after the print is left.
    pub built: Vec<(PartId, RouteId)>,
    /// What is on order.
    pub lots: Vec<OnOrder>,
}

/// A part that is on order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct OnOrder {
    /// The part.
    pub part: PartId,
    /// The route it was ordered by.
    pub route: RouteId,
    /// When it can be used.
    pub arrives: Moment,
    /// What a cancellation would return, in the scenario's currency.
    pub back: Money,
    /// The line of the record.
    pub source: SourceId,
}

impl UnderWay {
    /// True where nothing of the iteration has been done.
    pub fn is_empty(&self) -> bool {
        self.in_hand.is_empty() && self.built.is_empty() && self.lots.is_empty()
    }
}

impl Past {
    /// What was spent or is owed: all that could be avoided before it happened.
    pub fn spent(&self) -> Money {
        self.entries.iter().filter(|e| e.is_cost()).map(|e| e.amount).sum()
    }
}

/// Something the record has taught.
#[derive(Clone, Debug)]
pub struct Learned {
    /// What it is about.
    pub about: Lesson,
    /// The route it was learnt by; of print times the first that prints so.
    pub route: RouteId,
    /// The numbers it changes.
    pub changes: Vec<Changed>,
    /// What it rests on, in words.
    pub evidence: String,
    /// Of a chance: true where there were more failures than expected, and how likely so many or more (so few or fewer) were.
    pub surprise: Option<(bool, f64)>,
    /// Of a fit: what its predictions are off by, in seconds (root of the mean square).
    pub error: Option<f64>,
}

/// What can be learnt.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Lesson {
    /// The chance that a print is spoilt.
    Spoil,
    /// How long printing takes.
    PrintTime,
    /// How long somebody is busy.
    Attended,
    /// How much resin is used.
    Resin,
}

/// A number that is another one now.
#[derive(Clone, Copy, Debug)]
pub struct Changed {
    /// Which.
    pub slot: super::Slot,
    /// What was planned with.
    pub old: Exact,
    /// What the record says.
    pub new: Exact,
}
