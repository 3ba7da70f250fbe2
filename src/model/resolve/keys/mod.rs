//! Every key of scenario.toml and every column of the sheets: its name, what it takes, whether it must be there, and what it means.
//!
//! Enters: nothing; this is the one declaration of them. Leaves: lists of [`Key`], what a number of a [`NumberKind`] may be, and the schema,
//! which is written from both. [`Table::new`](super::reading::Table::new) refuses a key that is not declared, and
//! [`PriceSheet`](super::reading::PriceSheet) a column; a number is read as the kind it is declared to be. Tests hold what is declared to what
//! is really read, and README.md to it.

mod bath;
mod number;
mod record;
mod route;
mod scenario;
mod schema;
mod sheet;
mod words;

pub use bath::{BATH, TUB};
pub use number::{NumberKind, Taken, dim_of};
pub use record::{RECORD, WHATS, What};
pub use route::{CONSUME, GIVE, ROUTE, STEP, TRIAL};
pub use scenario::{
    CALENDAR, FINAL, HOURS, ITERATIONS, LATER, PART, PLAN, PLANNED, SECOND, SPREAD, TOP, WANTS,
};
pub use schema::scenario_schema;
pub use sheet::{
    DELIVERY, EQUIPMENT, EVERYWHERE, MATERIALS, PRINT_TIME, QUOTES, RATES, SERVICES, SUPPLIES,
};
pub use words::{
    BASES, BATH_WORDS, BathWord, CHARGES, CLASSES, DUTY_BASES, FULL, OVERNIGHT, PER_PIECE, PERS,
    RESULTS, ROUTE_WORDS, RouteWord, SHAPES, Shape, UNITS, UPS, VARIES,
};

/// One key of a table, or one column of a sheet.
#[derive(Debug)]
pub struct Key {
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
pub enum Takes {
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
    Certain(&'static [NumberKind]),
    /// A number of one of these kinds, or a table with low, likely and high.
    Number(&'static [NumberKind]),
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

impl Takes {
    /// The kind of number it takes, where it is one kind.
    pub fn number_kind(&self) -> Option<NumberKind> {
        match self {
            Takes::Certain([one]) | Takes::Number([one]) => Some(*one),
            Takes::Any(all) => {
                let mut numbers = all.iter().filter(|takes| takes.is_number());
                numbers.next().filter(|_| numbers.next().is_none()).and_then(Takes::number_kind)
            }
            _ => None,
        }
    }

    /// True where it takes numbers of a kind.
    pub fn takes_number(&self, kind: NumberKind) -> bool {
        match self {
            Takes::Certain(all) | Takes::Number(all) => all.contains(&kind),
            Takes::Any(all) => all.iter().any(|takes| takes.takes_number(kind)),
            _ => false,
        }
    }

    /// True where it takes numbers that may have a spread.
    pub fn has_spread(&self) -> bool {
        match self {
            Takes::Number(_) => true,
            Takes::Any(all) => all.iter().any(Takes::has_spread),
            _ => false,
        }
    }

    fn is_number(&self) -> bool {
        matches!(self, Takes::Certain(_) | Takes::Number(_))
    }
}

/// The key of a name.
pub fn find(keys: &'static [Key], name: &str) -> Option<&'static Key> {
    keys.iter().find(|key| key.name == name)
}

/// The names of keys.
pub fn names(keys: &[Key]) -> Vec<&'static str> {
    keys.iter().map(|key| key.name).collect()
}

/// The words of a list of words with their meanings.
pub const fn words<T: Copy, const N: usize>(list: &[(&'static str, T); N]) -> [&'static str; N] {
    let mut found = [""; N];
    let mut at = 0;
    while at < N {
        found[at] = list[at].0;
        at += 1;
    }
    found
}
