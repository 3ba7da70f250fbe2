//! What really happened: the lines of `record.csv` as meant.

use crate::diag::Place;

use super::{CurrencyId, Day, EquipmentId, Exact, ItemId, Moment, PartId, RouteId, SourceId};

/// Everything recorded of a project, in the order of the file.
#[derive(Clone, Debug, Default)]
pub struct Record {
    /// Its lines.
    pub lines: Vec<RecordLine>,
}

/// One line.
#[derive(Clone, Debug)]
pub struct RecordLine {
    /// The day.
    pub day: Day,
    /// The second of the day, where a time is stated.
    pub second: Option<i64>,
    /// The iteration, from 1.
    pub iteration: u32,
    /// The part, where one is named.
    pub part: Option<PartId>,
    /// The route, where one is named.
    pub route: Option<RouteId>,
    /// What happened.
    pub what: Happened,
    /// The note, as it is.
    pub note: String,
    /// Where it is written: `record.csv:7`.
    pub source: SourceId,
    /// The same as a place.
    pub place: Place,
}

/// What a line says.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Happened {
    /// Something was ordered: what it costs, and what of that a cancellation would return.
    Ordered {
        /// What is owed, in `currency`.
        amount: Exact,
        /// What a cancellation would return, in `currency`.
        back: Exact,
        /// The currency of both.
        currency: CurrencyId,
    },
    /// Work on it began.
    Started,
    /// A print run ended.
    Build {
        /// Seconds it took, where stated.
        seconds: Option<i64>,
        /// True where its pieces can be used.
        good: bool,
    },
    /// Somebody was busy.
    Attended {
        /// For so many seconds.
        seconds: i64,
        /// At what; `None` for all of it.
        at: Option<AttendedAt>,
    },
    /// Something was used up.
    Used {
        /// What.
        item: ItemId,
        /// Millionths of its unit.
        amount: i64,
    },
    /// Money was paid.
    Invoice {
        /// How much, in `currency`.
        amount: Exact,
        /// Its currency.
        currency: CurrencyId,
        /// What for.
        of: InvoiceOf,
    },
    /// It was finished and on the bench.
    InHand,
    /// It is as it must be.
    Accepted,
    /// It was looked at, and must be designed again.
    Redesign,
    /// It came to nothing and tells nothing of the design; the reason is in the note.
    Failed,
    /// The work ended before it was in hand; the reason is in the note.
    Stopped,
}

/// At what somebody was busy.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum AttendedAt {
    /// The steps that are called as this one of this route, by its number from 1.
    Step(RouteId, u16),
    /// Explaining a version to the service.
    Brief,
    /// Placing an order.
    Order,
}

/// What an invoice is for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum InvoiceOf {
    /// An order of the line's route: its pieces and what the service charges with them.
    Order,
    /// A material or supply: so many millionths of its unit came for it.
    Item(ItemId, i64),
    /// A machine.
    Machine(EquipmentId),
}

impl RecordLine {
    /// The moment of the line where its time is stated; else the given second of its day.
    pub fn moment(&self, otherwise: i64) -> Moment {
        self.day * super::DAY + self.second.unwrap_or(otherwise)
    }

    /// True for a line that ends an iteration.
    pub fn is_outcome(&self) -> bool {
        matches!(
            self.what,
            Happened::Accepted | Happened::Redesign | Happened::Failed | Happened::Stopped
        )
    }
}

impl Record {
    /// The last day with a line.
    pub fn last_day(&self) -> Option<Day> {
        self.lines.iter().map(|line| line.day).max()
    }
}
