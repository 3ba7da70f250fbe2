//! Every key of scenario.toml: its name, what it takes, whether it must be there, and what it means.
//!
//! This is the one declaration of them. [`Table::new`](super::table::Table::new) refuses what is not in it, and the
//! [schema](super::schema) is written from it; a test holds what it says a key takes to what is really read.

mod bath;
mod route;
mod scenario;

pub(super) use bath::{BATH, TUB};
pub(super) use route::{CONSUME, GIVE, ROUTE, STEP, TRIAL};
pub(super) use scenario::{
    CALENDAR, FINAL, HOURS, ITERATIONS, LATER, PART, PLAN, PLANNED, SECOND, SPREAD, TOP, WANTS,
};

use super::measure::Measure;

/// One key of a table.
#[derive(Debug)]
pub(super) struct Key {
    /// Its name.
    pub name: &'static str,
    /// What may stand for it.
    pub takes: Takes,
    /// The `kind` of table it belongs to; `None` where every kind has it.
    pub only: Option<&'static str>,
    /// True where it must be there.
    pub needed: bool,
    /// What it means, for a person who writes the file.
    pub means: &'static str,
}

/// What may stand for a key.
#[derive(Debug)]
pub(super) enum Takes {
    /// A text.
    Text,
    /// `true` or `false`.
    Flag,
    /// A day, or a day and a time.
    Moment,
    /// A day.
    Day,
    /// The time of a day.
    TimeOfDay,
    /// A span of hours of one day.
    Span,
    /// A whole number between two ends.
    Whole(i64, i64),
    /// A number of one of these kinds, alone: without a spread.
    Certain(&'static [Measure]),
    /// A number of one of these kinds, or a table with low, likely and high.
    Number(&'static [Measure]),
    /// So many lengths in one text.
    Lengths(usize),
    /// One of a few words.
    Word(&'static [&'static str]),
    /// A list of such values.
    List(&'static Takes),
    /// A table with these keys.
    Table(&'static [Key]),
    /// A table whose keys are names of the user's own.
    Map(&'static Takes),
    /// Any of these.
    Any(&'static [Takes]),
    /// In a number with a spread: the number itself.
    Itself,
}

/// A key that may be left out.
const fn key(name: &'static str, takes: Takes, means: &'static str) -> Key {
    Key { name, takes, only: None, needed: false, means }
}

impl Key {
    /// The same, which must be there.
    const fn needed(self) -> Key {
        Key { needed: true, ..self }
    }

    /// The same, in tables of this `kind` alone.
    const fn only(self, kind: &'static str) -> Key {
        Key { only: Some(kind), ..self }
    }
}

/// The names of keys.
pub(super) fn names(keys: &[Key]) -> Vec<&'static str> {
    keys.iter().map(|key| key.name).collect()
}

/// The words of a list of words with their meanings.
pub(super) const fn words<T: Copy, const N: usize>(
    list: &[(&'static str, T); N],
) -> [&'static str; N] {
    let mut found = [""; N];
    let mut at = 0;
    while at < N {
        found[at] = list[at].0;
        at += 1;
    }
    found
}
