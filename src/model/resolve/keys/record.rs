//! Columns of record.csv, the words of its column `what`, and which columns say more in a line of each.

use super::Takes::{Any, Certain, Moment, Text, Whole, Word};
use super::number::NumberKind as N;
use super::{Key, key, words};
use crate::model::resolve::limits;

/// Columns of record.csv, in the order of [`RECORD_COLUMNS`](crate::input::RECORD_COLUMNS), by which lines are written.
pub const RECORD: &[Key] = &[
    key("date", Moment, "when it was: a day, or a day and a time").needed(),
    key("iteration", Whole(1, limits::HORIZON), "the iteration it belongs to").needed(),
    key("part", Text, "the part; absent: all of the iteration"),
    key("route", Text, "the route; absent: the one named last for each part"),
    key("what", Word(const { &words(&WHATS) }), "what the line is about").needed(),
    key("item", Text, "what was used or bought, the step, or how a print run ended"),
    key(
        "quantity",
        Any(&[Certain(&[N::Time]), Certain(&[N::Amount]), Certain(&[N::Money])]),
        "hours, how much of the item, or what a cancellation would return",
    ),
    key("amount", Certain(&[N::Money]), "money paid or owed"),
    key("currency", Text, "ISO 4217 code of the money; absent: the scenario's"),
    key("note", Text, "a note, for you"),
];

/// What a line is about, as it is written in the column `what`.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum What {
    /// An order was placed.
    Ordered,
    /// Work began.
    Started,
    /// A print run ended.
    Build,
    /// Somebody was busy.
    Attended,
    /// Material was used up.
    Used,
    /// Money was paid.
    Invoice,
    /// It is finished.
    InHand,
    /// It was looked at and found good.
    Accepted,
    /// It was looked at and is changed.
    Redesign,
    /// It came to nothing.
    Failed,
    /// It was given up.
    Stopped,
}

/// Words of `what`.
pub const WHATS: [(&str, What); 11] = [
    ("ordered", What::Ordered),
    ("started", What::Started),
    ("build", What::Build),
    ("attended", What::Attended),
    ("used", What::Used),
    ("invoice", What::Invoice),
    ("in_hand", What::InHand),
    ("accepted", What::Accepted),
    ("redesign", What::Redesign),
    ("failed", What::Failed),
    ("stopped", What::Stopped),
];

impl What {
    /// How it is written.
    pub fn word(self) -> &'static str {
        WHATS.iter().find(|w| w.1 == self).map_or("", |w| w.0)
    }

    /// The columns that say more, beside date, iteration, part, route and note.
    pub fn columns(self) -> &'static [&'static str] {
        match self {
            What::Ordered => &["quantity", "amount", "currency"],
            What::Build | What::Attended | What::Used => &["item", "quantity"],
            What::Invoice => &["item", "quantity", "amount", "currency"],
            _ => &[],
        }
    }
}
