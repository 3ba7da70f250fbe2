//! What kind of number a key takes, in which unit it is kept, and between which ends it must lie.

use rust_decimal::Decimal;

use crate::diag::Code;
use crate::input::{NumberProblem, Quantity, Unit, UnitKind};
use crate::model::resolve::limits;
use crate::model::{Dim, Exact, Varies};

/// What a key takes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum NumberKind {
    /// A time.
    Time,
    /// A time in which a person is busy: drawn anew in each iteration.
    Attended,
    /// A volume.
    Volume,
    /// A volume that may be 0.
    Loss,
    /// A length above 0.
    Length,
    /// A length that may be 0.
    Gap,
    /// Thickness of a film, which may be 0.
    Film,
    /// A side of a tub.
    TubSide,
    /// A height in a tub, which may be 0.
    Level,
    /// How deep a piece is immersed, above 0.
    Dip,
    /// Volume per time.
    Evaporation,
    /// An area.
    Area,
    /// A density.
    Density,
    /// Power; a bare number is watts.
    Watts,
    /// Hours of life; a bare number is hours.
    LifeHours,
    /// An amount of money.
    Money,
    /// Money per hour.
    Labour,
    /// Money per kWh.
    Electricity,
    /// Money per litre; a bare number is per litre.
    PerLitre,
    /// Money per kg; a bare number is per kg.
    PerKg,
    /// Money per base unit of a kind that its basis fixes; a bare number is per base unit.
    PriceOf(UnitKind),
    /// Money per unit of a kind that nothing but the text names: a bare number is refused.
    RateOf(UnitKind),
    /// Volume that counts as a kilogram; a bare number is cm3 per kg.
    Divisor,
    /// A mass; a bare number is kg.
    MassStep,
    /// Time per volume; a time is per cm3.
    Pace,
    /// An amount of a supply: volume, mass, area, length or pieces.
    Amount,
    /// An amount above 0.
    Pack,
    /// A whole number from 1.
    Count,
    /// A whole number from 0.
    Uses,
    /// Business days of a lead: a bare one is uncertain upwards.
    Lead,
    /// Business days on the way.
    Days,
    /// A share, 0 to 1.
    Share,
    /// A chance to be right, 0.5 to 1.
    Tells,
    /// A chance to fail, 0 to below 1.
    Failure,
    /// A chance or factor above 0 and up to 1.
    Accept,
    /// A plain number above 0, such as an exchange rate.
    Factor,
}

/// A number in its base unit.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Taken {
    /// Its dimension.
    pub dim: Dim,
    /// The number.
    pub value: Exact,
}

impl NumberKind {
    /// The number of a quantity in the unit it is kept in, inside its range.
    pub fn take(self, quantity: &Quantity, text: &str) -> Result<Taken, NumberProblem> {
        let taken = self.convert(quantity).ok_or_else(|| self.mismatch(quantity, text))?;
        self.in_range(taken, text)?;
        Ok(taken)
    }

    /// When a number of this kind is drawn anew unless stated otherwise.
    pub fn varies(self) -> Varies {
        match self {
            NumberKind::Attended | NumberKind::Lead | NumberKind::Days => Varies::Each,
            _ => Varies::Once,
        }
    }

    fn convert(self, quantity: &Quantity) -> Option<Taken> {
        use NumberKind as N;
        let (dim, value) = match (self, quantity) {
            (N::Time | N::Attended, Quantity::Of(UnitKind::Time, v)) => (Dim::Time, *v),
            (N::Volume | N::Loss, Quantity::Of(UnitKind::Volume, v)) => (Dim::Volume, *v),
            (
                N::Length | N::Gap | N::Film | N::TubSide | N::Level | N::Dip,
                Quantity::Of(UnitKind::Length, v),
            ) => (Dim::Length, *v),
            (N::Evaporation, Quantity::Per { of: Some(UnitKind::Volume), number, per }) => {
                (Dim::Ratio, scaled(*number, *per, UnitKind::Time, 3600)?)
            }
            (N::Area, Quantity::Of(UnitKind::Area, v)) => (Dim::Area, *v),
            (N::Density, Quantity::Of(UnitKind::Density, v)) => (Dim::Density, *v),
            (N::Density, Quantity::Per { .. }) => (Dim::Density, density(quantity)?),
            (N::Watts, Quantity::Bare(v) | Quantity::Of(UnitKind::Power, v)) => (Dim::Power, *v),
            (N::LifeHours, Quantity::Bare(v)) => (Dim::Share, *v),
            (N::LifeHours, Quantity::Of(UnitKind::Time, v)) => {
                (Dim::Share, *v / Decimal::from(3600))
            }
            (N::Money, Quantity::Bare(v)) => (Dim::Money, *v),
            (N::Labour, _) => (Dim::Rate, per(quantity, UnitKind::Time, 3600)?),
            (N::Electricity, _) => (Dim::Rate, per(quantity, UnitKind::Energy, 1000)?),
            (N::PerLitre | N::PerKg, Quantity::Bare(v)) => (Dim::Rate, *v),
            (N::PerLitre, _) => (Dim::Rate, per(quantity, UnitKind::Volume, 1000)?),
            (N::PerKg, _) => (Dim::Rate, per(quantity, UnitKind::Mass, 1000)?),
            (N::PriceOf(_), Quantity::Bare(v)) => (Dim::Rate, *v),
            (N::PriceOf(kind) | N::RateOf(kind), _) => (Dim::Rate, per(quantity, kind, 1)?),
            (N::Divisor, Quantity::Bare(v)) => (Dim::Ratio, *v),
            (N::Divisor, Quantity::Per { of: Some(UnitKind::Volume), number, per }) => {
                (Dim::Ratio, scaled(*number, *per, UnitKind::Mass, 1000)?)
            }
            (N::MassStep, Quantity::Bare(v)) => (Dim::Mass, v.checked_mul(Decimal::from(1000))?),
            (N::MassStep, Quantity::Of(UnitKind::Mass, v)) => (Dim::Mass, *v),
            (N::Pace, Quantity::Of(UnitKind::Time, v)) => (Dim::Pace, *v),
            (N::Pace, Quantity::Per { of: Some(UnitKind::Time), number, per }) => {
                (Dim::Pace, scaled(*number, *per, UnitKind::Volume, 1)?)
            }
            (N::Amount | N::Pack, Quantity::Of(kind, v)) => (dim_of(*kind)?, *v),
            (N::Count | N::Uses | N::Lead | N::Days, Quantity::Bare(v)) => (Dim::Count, *v),
            (N::Share | N::Tells | N::Failure | N::Accept | N::Factor, Quantity::Bare(v)) => {
                (Dim::Share, *v)
            }
            _ => return None,
        };
        Some(Taken { dim, value: Exact::from(value) })
    }

    fn mismatch(self, quantity: &Quantity, text: &str) -> NumberProblem {
        NumberProblem {
            code: match quantity {
                Quantity::Bare(_) => Code::MissingUnit,
                _ if self.is_bare() => Code::NeedlessUnit,
                _ => Code::WrongDimension,
            },
            message: format!(
                "expected {}, found {}: `{}`",
                self.expected(),
                quantity.describe(),
                text.trim()
            ),
            hint: match (self, quantity) {
                (NumberKind::RateOf(UnitKind::Volume), Quantity::Bare(_)) => {
                    format!("write `\"{} per L\"` if it is the price of a litre", text.trim())
                }
                _ => format!("write it such as `{}`", self.example()),
            },
        }
    }

    /// What the key takes, in words.
    pub fn expected(self) -> &'static str {
        use NumberKind as N;
        match self {
            N::Time | N::Attended => "a time",
            N::Volume | N::Loss => "a volume",
            N::Length | N::Gap | N::Film | N::TubSide | N::Level | N::Dip => "a length",
            N::Evaporation => "a volume per time",
            N::Area => "an area",
            N::Density => "a density",
            N::Watts => "watts",
            N::LifeHours => "hours",
            N::Money => "an amount of money",
            N::Labour => "money per hour",
            N::Electricity => "money per kWh",
            N::PerLitre => "money per litre",
            N::PerKg => "money per kg",
            N::PriceOf(UnitKind::Volume) | N::RateOf(UnitKind::Volume) => "money per volume",
            N::PriceOf(UnitKind::Mass) | N::RateOf(UnitKind::Mass) => "money per mass",
            N::PriceOf(UnitKind::Area) | N::RateOf(UnitKind::Area) => "money per area",
            N::PriceOf(UnitKind::Length) | N::RateOf(UnitKind::Length) => "money per length",
            N::PriceOf(_) | N::RateOf(_) => "money per piece",
            N::Divisor => "a volume per kg",
            N::MassStep => "a mass",
            N::Pace => "a time per cm3",
            N::Amount | N::Pack => "a volume, mass, area, length or number of pieces",
            N::Count | N::Uses => "a whole number",
            N::Lead | N::Days => "a number of business days",
            N::Share | N::Failure | N::Accept => "a share between 0 and 1",
            N::Tells => "a share between 0.5 and 1",
            N::Factor => "a number",
        }
    }

    /// True where no unit is written.
    fn is_bare(self) -> bool {
        use NumberKind as N;
        self.is_whole()
            || matches!(self, N::Money | N::Share | N::Tells | N::Failure | N::Accept | N::Factor)
    }

    /// How one is written; where two are shown, with "` or `" between.
    pub fn example(self) -> &'static str {
        use NumberKind as N;
        match self {
            N::Time | N::Attended => "20 min",
            N::Volume | N::Loss => "92 cm3",
            N::Length | N::Gap | N::TubSide | N::Level | N::Dip => "5 mm",
            N::Film => "0.06 mm",
            N::Evaporation => "10 mL per h",
            N::Area => "96 cm2",
            N::Density => "1.09 g/mL",
            N::Watts => "60",
            N::LifeHours => "2000",
            N::Money => "148.00",
            N::Labour => "30 per h",
            N::Electricity => "0.24 per kWh",
            N::PerLitre => "1.80",
            N::PerKg => "3.20",
            N::PriceOf(UnitKind::Volume) | N::RateOf(UnitKind::Volume) => "130 per L",
            N::PriceOf(UnitKind::Mass) | N::RateOf(UnitKind::Mass) => "0.08 per g",
            N::PriceOf(UnitKind::Area) | N::RateOf(UnitKind::Area) => "0.05 per cm2",
            N::PriceOf(UnitKind::Length) | N::RateOf(UnitKind::Length) => "2 per m",
            N::PriceOf(_) | N::RateOf(_) => "0.06 per pcs",
            N::Divisor => "5000",
            N::MassStep => "0.5",
            N::Pace => "2 s per cm3",
            N::Amount | N::Pack => "4 pcs` or `80 mL",
            N::Count | N::Uses => "6",
            N::Lead | N::Days => "8",
            N::Share | N::Failure | N::Accept => "0.12",
            N::Tells => "0.9",
            N::Factor => "1.08",
        }
    }

    fn in_range(self, taken: Taken, text: &str) -> Result<(), NumberProblem> {
        let (value, text) = (taken.value, text.trim());
        let fault = |code, message: String, hint: &str| {
            Err(NumberProblem { code, message, hint: hint.to_owned() })
        };
        if value < Exact::ZERO {
            let message = format!("number is negative: `{text}`");
            return fault(Code::BelowZero, message, "did a minus slip in?");
        }
        if self.is_whole() && !value.decimal().fract().is_zero() {
            let message = format!("expected a whole number, found `{text}`");
            return fault(Code::NotWhole, message, "leave the decimals out");
        }
        if value.is_zero() && self.above_zero() {
            let message = format!("expected {} above 0, found `{text}`", self.expected());
            return fault(Code::NotAboveZero, message, "write a number above 0");
        }
        if self == NumberKind::TubSide && value < Exact::ONE {
            let message = format!("a side of a tub below 1 mm: `{text}`");
            return fault(Code::OutOfRange, message, "check the number and its unit");
        }
        let share = matches!(
            self,
            NumberKind::Share | NumberKind::Tells | NumberKind::Failure | NumberKind::Accept
        );
        if share && value > Exact::ONE {
            let message = format!("share is outside 0 to 1: `{text}`");
            return fault(Code::NotAShare, message, "7 % is written 0.07");
        }
        if self == NumberKind::Tells && value + value < Exact::ONE {
            let message = format!("a result that is right with less than 0.5: `{text}`");
            let hint = "0.5 tells nothing, 1 tells all; below 0.5 the opposite would be told";
            return fault(Code::OutOfRange, message, hint);
        }
        let most = self.most(taken.dim);
        if !share && value > Exact::from(most) {
            let message = format!("`{text}` is above the largest {}", self.largest(most));
            return fault(Code::TooLarge, message, "check the number and its unit");
        }
        Ok(())
    }

    fn is_whole(self) -> bool {
        matches!(self, NumberKind::Count | NumberKind::Uses | NumberKind::Lead | NumberKind::Days)
    }

    fn above_zero(self) -> bool {
        matches!(
            self,
            NumberKind::Volume
                | NumberKind::Length
                | NumberKind::Dip
                | NumberKind::Area
                | NumberKind::Density
                | NumberKind::LifeHours
                | NumberKind::Divisor
                | NumberKind::MassStep
                | NumberKind::Pack
                | NumberKind::Count
                | NumberKind::Accept
                | NumberKind::Factor
        )
    }

    fn most(self, dim: Dim) -> i64 {
        match (self, dim) {
            (NumberKind::Count | NumberKind::Uses, _) => limits::COPIES,
            (NumberKind::Film, _) => limits::FILM,
            (NumberKind::TubSide | NumberKind::Level | NumberKind::Dip, _) => limits::TUB,
            (NumberKind::Evaporation, _) => limits::EVAPORATION,
            (NumberKind::Lead | NumberKind::Days, _) => limits::LEAD_DAYS,
            (NumberKind::Density, _) => 1_000,
            (_, Dim::Time) => limits::TIME,
            (_, Dim::Money | Dim::Rate) => limits::MONEY,
            _ => limits::QUANTITY,
        }
    }

    fn largest(self, most: i64) -> String {
        match self {
            NumberKind::Time | NumberKind::Attended => "time, 10 years".to_owned(),
            _ if self.is_whole() => format!("count, {most}"),
            NumberKind::Film | NumberKind::TubSide | NumberKind::Level | NumberKind::Dip => {
                format!("length here, {most} mm")
            }
            NumberKind::Evaporation => format!("rate, {} L per h", most / 1000),
            _ => format!("value, {most} in base units"),
        }
    }
}

/// The dimension of an amount of a supply.
pub fn dim_of(kind: UnitKind) -> Option<Dim> {
    match kind {
        UnitKind::Volume => Some(Dim::Volume),
        UnitKind::Mass => Some(Dim::Mass),
        UnitKind::Area => Some(Dim::Area),
        UnitKind::Length => Some(Dim::Length),
        UnitKind::Pieces => Some(Dim::Pieces),
        UnitKind::Time | UnitKind::Power | UnitKind::Energy | UnitKind::Density => None,
    }
}

/// The number of `number per unit` for `base` base units of the wanted kind: `30 per h` per 3600 s is 30.
fn per(quantity: &Quantity, kind: UnitKind, base: i64) -> Option<Decimal> {
    match quantity {
        Quantity::Per { number, of: None, per } => scaled(*number, *per, kind, base),
        _ => None,
    }
}

fn scaled(number: Decimal, unit: Unit, kind: UnitKind, base: i64) -> Option<Decimal> {
    if unit.kind != kind {
        return None;
    }
    // Multiplied first: `0.5 per min` per hour is 0.5 x 3600 / 60, exact.
    let base = Decimal::from(base);
    if unit.factor == base {
        return Some(number);
    }
    number.checked_mul(base)?.checked_div(unit.factor)
}

/// Mass per volume written with other units than the reader's own densities.
fn density(quantity: &Quantity) -> Option<Decimal> {
    match quantity {
        Quantity::Per { number, of: Some(UnitKind::Mass), per } => {
            scaled(*number, *per, UnitKind::Volume, 1)
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::read_quantity;

    fn take(kind: NumberKind, text: &str) -> Result<(Dim, String), Code> {
        let quantity = read_quantity(text).map_err(|p| p.code)?;
        let taken = kind.take(&quantity, text).map_err(|p| p.code)?;
        Ok((taken.dim, taken.value.to_string()))
    }

    fn is(dim: Dim, value: &str) -> Result<(Dim, String), Code> {
        Ok((dim, value.to_owned()))
    }

    #[test]
    fn rates_are_kept_per_the_unit_people_think_in() {
        assert_eq!(take(NumberKind::Labour, "30 per h"), is(Dim::Rate, "30"));
        assert_eq!(take(NumberKind::Labour, "0.5 per min"), is(Dim::Rate, "30"));
        let volume = NumberKind::PriceOf(UnitKind::Volume);
        assert_eq!(take(volume, "130 per L"), is(Dim::Rate, "0.13"));
        assert_eq!(take(volume, "1.35"), is(Dim::Rate, "1.35"));
        let stated = NumberKind::RateOf(UnitKind::Volume);
        assert_eq!(take(stated, "130 per L"), is(Dim::Rate, "0.13"));
        assert_eq!(take(stated, "130"), Err(Code::MissingUnit));
        assert_eq!(take(NumberKind::RateOf(UnitKind::Mass), "0.08"), Err(Code::MissingUnit));
        assert_eq!(take(NumberKind::Electricity, "0.24 per kWh"), is(Dim::Rate, "0.24"));
        assert_eq!(take(NumberKind::PerKg, "3.20"), is(Dim::Rate, "3.2"));
        assert_eq!(take(NumberKind::PerLitre, "1.80 per L"), is(Dim::Rate, "1.8"));
        assert_eq!(take(NumberKind::MassStep, "0.5"), is(Dim::Mass, "500"));
        assert_eq!(take(NumberKind::LifeHours, "2000"), is(Dim::Share, "2000"));
        assert_eq!(take(NumberKind::Pace, "9 s"), is(Dim::Pace, "9"));
    }

    #[test]
    fn ends_of_ranges() {
        assert_eq!(take(NumberKind::Failure, "1.2"), Err(Code::NotAShare));
        assert_eq!(take(NumberKind::Share, "-0.1"), Err(Code::BelowZero));
        assert_eq!(take(NumberKind::Count, "2.5"), Err(Code::NotWhole));
        assert_eq!(take(NumberKind::Count, "0"), Err(Code::NotAboveZero));
        assert_eq!(take(NumberKind::Time, "0 min"), is(Dim::Time, "0"));
        assert_eq!(take(NumberKind::Time, "4000 d"), Err(Code::TooLarge));
        assert_eq!(take(NumberKind::Money, "2000000000"), Err(Code::TooLarge));
        assert_eq!(take(NumberKind::Volume, "92 g"), Err(Code::WrongDimension));
        assert_eq!(take(NumberKind::Time, "7"), Err(Code::MissingUnit));
    }
}
