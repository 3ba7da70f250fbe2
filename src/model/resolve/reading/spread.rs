//! A number with its spread: one value, or low, likely and high.

use super::context::Load;
use super::one::{Lit, One};
use super::table::Table;
use crate::diag::{Code, Place};
use crate::input::{Quantity, read_business_days};
use crate::model::resolve::keys::{NumberKind, SPREAD, Taken, VARIES};
use crate::model::{Dim, Exact, Input, SourceId};

/// The values of one number as written.
#[derive(Clone, Copy)]
pub struct Spread<'a> {
    /// What planning uses.
    pub likely: One<'a>,
    /// The least, where stated.
    pub low: Option<One<'a>>,
    /// The most, where stated.
    pub high: Option<One<'a>>,
    /// When it is drawn anew, where stated.
    pub varies: Option<One<'a>>,
}

impl<'a> Spread<'a> {
    /// A value of the scenario: a number, or a table `{ low, likely, high, varies }`.
    pub fn of(load: &mut Load, one: One<'a>) -> Option<Spread<'a>> {
        if !matches!(one.lit, Lit::Table(_)) {
            return Some(Spread { likely: one, low: None, high: None, varies: None });
        }
        let mut table = Table::new(load, one, SPREAD, "a number")?;
        Spread::in_table(load, &mut table)
    }

    /// A number typed in the place of what is written, its spread included.
    pub fn typed(place: &'a Place, text: &'a str) -> Spread<'a> {
        let likely = One { place, lit: Lit::Cell(text) };
        Spread { likely, low: None, high: None, varies: None }
    }

    /// The spread in a table that may hold more.
    pub fn in_table(load: &mut Load, table: &mut Table<'a>) -> Option<Spread<'a>> {
        let (low, high, varies) = (table.one("low"), table.one("high"), table.one("varies"));
        let likely = table.one("likely");
        if likely.is_none() {
            let hint = "state `likely` beside `low` and `high`: planning uses it";
            table.lacks(load, Code::LowLikelyHigh, "likely", hint);
        }
        Some(Spread { likely: likely.or(low).or(high)?, low, high, varies })
    }

    /// The number; whatever is faulty is logged and replaced.
    pub fn input(
        &self,
        load: &mut Load,
        kind: NumberKind,
        address: String,
        source: SourceId,
    ) -> Input {
        let likely = taken(load, self.likely, kind);
        let low = self.low.and_then(|one| taken(load, one, kind));
        let high = self.high.and_then(|one| taken(load, one, kind));
        if kind == NumberKind::Failure && likely.is_some_and(|t| t.value == Exact::ONE) {
            let message = "a chance of 1 means it never succeeds";
            load.error(Code::OutOfRange, self.likely.place, message, "state a chance below 1");
        }
        let varies = self.varies.and_then(|one| one.choice(load, "way to vary", &VARIES));
        let placeholder =
            Taken { dim: likely.or(low).or(high).map_or(Dim::Share, |t| t.dim), value: Exact::ONE };
        let main = likely.unwrap_or(placeholder);
        let mut input = Input {
            address,
            source,
            dim: main.dim,
            low: low.unwrap_or(main).value,
            likely: main.value,
            high: high.unwrap_or(main).value,
            varies: varies.unwrap_or(kind.varies()),
            assumed: false,
        };
        if likely.is_some() {
            self.check_order(load, &input, [low, high]);
        }
        if kind == NumberKind::Lead && self.low.is_none() && self.high.is_none() {
            // Suppliers are late more often than early; see the table of assumed values.
            input.high = input.likely * Exact::from(16i64) / Exact::from(10i64);
        }
        input
    }

    fn check_order(&self, load: &mut Load, input: &Input, ends: [Option<Taken>; 2]) {
        if ends.into_iter().flatten().any(|end| end.dim != input.dim) {
            let message = "low, likely and high are of different kinds";
            load.error(
                Code::MixedUnits,
                self.likely.place,
                message,
                "give all three the same kind of unit",
            );
        } else if input.low > input.likely || input.likely > input.high {
            let message = "low, likely and high do not rise";
            load.error(
                Code::LowLikelyHigh,
                self.likely.place,
                message,
                "low <= likely <= high is needed",
            );
        }
    }
}

fn taken(load: &mut Load, one: One, kind: NumberKind) -> Option<Taken> {
    let (quantity, text) = match (kind, one.lit) {
        // `8 business days` beside a bare 8.
        (NumberKind::Lead | NumberKind::Days, Lit::Text(text) | Lit::Cell(text)) => {
            let days = read_business_days(text).map_err(|p| load.log.push(p.at(one.place)));
            (Quantity::Bare(days.ok()?), text)
        }
        _ => one.quantity(load)?,
    };
    let taken = kind.take(&quantity, text);
    taken.map_err(|problem| load.log.push(problem.at(one.place))).ok()
}
