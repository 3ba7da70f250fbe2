//! What kind of number a key takes, in which unit it is kept, and between which ends it must lie.

use rust_decimal::Decimal;

use super::limits;
use crate::diag::Code;
use crate::input::{NumberProblem, Quantity, Unit, UnitKind};
use crate::model::{Dim, Exact, Varies};

/// What a key takes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Measure {
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
pub(super) struct Taken {
    /// Its dimension.
    pub dim: Dim,
    /// The number.
    pub value: Exact,
}

impl Measure {
    /// The number of a quantity in the unit it is kept in, inside its range.
    pub fn take(self, quantity: &Quantity, text: &str) -> Result<Taken, NumberProblem> {
        let taken = self.convert(quantity).ok_or_else(|| self.mismatch(quantity, text))?;
        self.in_range(taken, text)?;
        Ok(taken)
    }

    /// When a number of this kind is drawn anew unless stated otherwise.
    pub fn varies(self) -> Varies {
        match self {
            Measure::Attended | Measure::Lead | Measure::Days => Varies::Each,
            _ => Varies::Once,
        }
    }

    fn convert(self, quantity: &Quantity) -> Option<Taken> {
        use Measure as M;
        let (dim, value) = match (self, quantity) {
            (M::Time | M::Attended, Quantity::Of(UnitKind::Time, v)) => (Dim::Time, *v),
            (M::Volume | M::Loss, Quantity::Of(UnitKind::Volume, v)) => (Dim::Volume, *v),
            (
                M::Length | M::Gap | M::Film | M::TubSide | M::Level | M::Dip,
                Quantity::Of(UnitKind::Length, v),
            ) => (Dim::Length, *v),
            (M::Evaporation, Quantity::Per { of: Some(UnitKind::Volume), number, per }) => {
                (Dim::Ratio, scaled(*number, *per, UnitKind::Time, 3600)?)
            }
            (M::Area, Quantity::Of(UnitKind::Area, v)) => (Dim::Area, *v),
            (M::Density, Quantity::Of(UnitKind::Density, v)) => (Dim::Density, *v),
            (M::Density, Quantity::Per { .. }) => (Dim::Density, density(quantity)?),
            (M::Watts, Quantity::Bare(v) | Quantity::Of(UnitKind::Power, v)) => (Dim::Power, *v),
            (M::LifeHours, Quantity::Bare(v)) => (Dim::Share, *v),
            (M::LifeHours, Quantity::Of(UnitKind::Time, v)) => {
                (Dim::Share, *v / Decimal::from(3600))
            }
            (M::Money, Quantity::Bare(v)) => (Dim::Money, *v),
            (M::Labour, _) => (Dim::Rate, per(quantity, UnitKind::Time, 3600)?),
            (M::Electricity, _) => (Dim::Rate, per(quantity, UnitKind::Energy, 1000)?),
            (M::PerLitre | M::PerKg, Quantity::Bare(v)) => (Dim::Rate, *v),
            (M::PerLitre, _) => (Dim::Rate, per(quantity, UnitKind::Volume, 1000)?),
            (M::PerKg, _) => (Dim::Rate, per(quantity, UnitKind::Mass, 1000)?),
            (M::PriceOf(_), Quantity::Bare(v)) => (Dim::Rate, *v),
            (M::PriceOf(kind) | M::RateOf(kind), _) => (Dim::Rate, per(quantity, kind, 1)?),
            (M::Divisor, Quantity::Bare(v)) => (Dim::Ratio, *v),
            (M::Divisor, Quantity::Per { of: Some(UnitKind::Volume), number, per }) => {
                (Dim::Ratio, scaled(*number, *per, UnitKind::Mass, 1000)?)
            }
            (M::MassStep, Quantity::Bare(v)) => (Dim::Mass, v.checked_mul(Decimal::from(1000))?),
            (M::MassStep, Quantity::Of(UnitKind::Mass, v)) => (Dim::Mass, *v),
            (M::Pace, Quantity::Of(UnitKind::Time, v)) => (Dim::Pace, *v),
            (M::Pace, Quantity::Per { of: Some(UnitKind::Time), number, per }) => {
                (Dim::Pace, scaled(*number, *per, UnitKind::Volume, 1)?)
            }
            (M::Amount | M::Pack, Quantity::Of(kind, v)) => (dim_of(*kind)?, *v),
            (M::Count | M::Uses | M::Lead | M::Days, Quantity::Bare(v)) => (Dim::Count, *v),
            (M::Share | M::Tells | M::Failure | M::Accept | M::Factor, Quantity::Bare(v)) => {
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
                (Measure::RateOf(UnitKind::Volume), Quantity::Bare(_)) => {
                    format!("write `\"{} per L\"` if it is the price of a litre", text.trim())
                }
                _ => format!("write it such as `{}`", self.example()),
            },
        }
    }

    /// What the key takes, in words.
    pub fn expected(self) -> &'static str {
        use Measure as M;
        match self {
            M::Time | M::Attended => "a time",
            M::Volume | M::Loss => "a volume",
            M::Length | M::Gap | M::Film | M::TubSide | M::Level | M::Dip => "a length",
            M::Evaporation => "a volume per time",
            M::Area => "an area",
            M::Density => "a density",
            M::Watts => "watts",
            M::LifeHours => "hours",
            M::Money => "an amount of money",
            M::Labour => "money per hour",
            M::Electricity => "money per kWh",
            M::PerLitre => "money per litre",
            M::PerKg => "money per kg",
            M::PriceOf(UnitKind::Volume) | M::RateOf(UnitKind::Volume) => "money per volume",
            M::PriceOf(UnitKind::Mass) | M::RateOf(UnitKind::Mass) => "money per mass",
            M::PriceOf(UnitKind::Area) | M::RateOf(UnitKind::Area) => "money per area",
            M::PriceOf(UnitKind::Length) | M::RateOf(UnitKind::Length) => "money per length",
            M::PriceOf(_) | M::RateOf(_) => "money per piece",
            M::Divisor => "a volume per kg",
            M::MassStep => "a mass",
            M::Pace => "a time per cm3",
            M::Amount | M::Pack => "a volume, mass, area, length or number of pieces",
            M::Count | M::Uses => "a whole number",
            M::Lead | M::Days => "a number of business days",
            M::Share | M::Failure | M::Accept => "a share between 0 and 1",
            M::Tells => "a share between 0.5 and 1",
            M::Factor => "a number",
        }
    }

    /// True where no unit is written.
    fn is_bare(self) -> bool {
        use Measure as M;
        self.is_whole()
            || matches!(self, M::Money | M::Share | M::Tells | M::Failure | M::Accept | M::Factor)
    }

    /// How one is written; where two are shown, with "` or `" between.
    pub fn example(self) -> &'static str {
        use Measure as M;
        match self {
            M::Time | M::Attended => "20 min",
            M::Volume | M::Loss => "92 cm3",
            M::Length | M::Gap | M::TubSide | M::Level | M::Dip => "5 mm",
            M::Film => "0.06 mm",
            M::Evaporation => "10 mL per h",
            M::Area => "96 cm2",
            M::Density => "1.09 g/mL",
            M::Watts => "60",
            M::LifeHours => "2000",
            M::Money => "148.00",
            M::Labour => "30 per h",
            M::Electricity => "0.24 per kWh",
            M::PerLitre => "1.80",
            M::PerKg => "3.20",
            M::PriceOf(UnitKind::Volume) | M::RateOf(UnitKind::Volume) => "130 per L",
            M::PriceOf(UnitKind::Mass) | M::RateOf(UnitKind::Mass) => "0.08 per g",
            M::PriceOf(UnitKind::Area) | M::RateOf(UnitKind::Area) => "0.05 per cm2",
            M::PriceOf(UnitKind::Length) | M::RateOf(UnitKind::Length) => "2 per m",
            M::PriceOf(_) | M::RateOf(_) => "0.06 per pcs",
            M::Divisor => "5000",
            M::MassStep => "0.5",
            M::Pace => "2 s per cm3",
            M::Amount | M::Pack => "4 pcs` or `80 mL",
            M::Count | M::Uses => "6",
            M::Lead | M::Days => "8",
            M::Share | M::Failure | M::Accept => "0.12",
            M::Tells => "0.9",
            M::Factor => "1.08",
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
        if self == Measure::TubSide && value < Exact::ONE {
            let message = format!("a side of a tub below 1 mm: `{text}`");
            return fault(Code::OutOfRange, message, "check the number and its unit");
        }
        let share =
            matches!(self, Measure::Share | Measure::Tells | Measure::Failure | Measure::Accept);
        if share && value > Exact::ONE {
            let message = format!("share is outside 0 to 1: `{text}`");
            return fault(Code::NotAShare, message, "7 % is written 0.07");
        }
        if self == Measure::Tells && value + value < Exact::ONE {
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
        matches!(self, Measure::Count | Measure::Uses | Measure::Lead | Measure::Days)
    }

    fn above_zero(self) -> bool {
        matches!(
            self,
            Measure::Volume
                | Measure::Length
                | Measure::Dip
                | Measure::Area
                | Measure::Density
                | Measure::LifeHours
                | Measure::Divisor
                | Measure::MassStep
                | Measure::Pack
                | Measure::Count
                | Measure::Accept
                | Measure::Factor
        )
    }

    fn most(self, dim: Dim) -> i64 {
        match (self, dim) {
            (Measure::Count | Measure::Uses, _) => limits::COPIES,
            (Measure::Film, _) => limits::FILM,
            (Measure::TubSide | Measure::Level | Measure::Dip, _) => limits::TUB,
            (Measure::Evaporation, _) => limits::EVAPORATION,
            (Measure::Lead | Measure::Days, _) => limits::LEAD_DAYS,
            (Measure::Density, _) => 1_000,
            (_, Dim::Time) => limits::TIME,
            (_, Dim::Money | Dim::Rate) => limits::MONEY,
            _ => limits::QUANTITY,
        }
    }

    fn largest(self, most: i64) -> String {
        match self {
            Measure::Time | Measure::Attended => "time, 10 years".to_owned(),
            _ if self.is_whole() => format!("count, {most}"),
            Measure::Film | Measure::TubSide | Measure::Level | Measure::Dip => {
                format!("length here, {most} mm")
            }
            Measure::Evaporation => format!("rate, {} L per h", most / 1000),
            _ => format!("value, {most} in base units"),
        }
    }
}

/// The dimension of an amount of a supply.
pub(super) fn dim_of(kind: UnitKind) -> Option<Dim> {
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

    fn take(measure: Measure, text: &str) -> Result<(Dim, String), Code> {
        let quantity = read_quantity(text).map_err(|p| p.code)?;
        let taken = measure.take(&quantity, text).map_err(|p| p.code)?;
        Ok((taken.dim, taken.value.to_string()))
    }

    fn is(dim: Dim, value: &str) -> Result<(Dim, String), Code> {
        Ok((dim, value.to_owned()))
    }

    #[test]
    fn rates_are_kept_per_the_unit_people_think_in() {
        assert_eq!(take(Measure::Labour, "30 per h"), is(Dim::Rate, "30"));
        assert_eq!(take(Measure::Labour, "0.5 per min"), is(Dim::Rate, "30"));
        let volume = Measure::PriceOf(UnitKind::Volume);
        assert_eq!(take(volume, "130 per L"), is(Dim::Rate, "0.13"));
        assert_eq!(take(volume, "1.35"), is(Dim::Rate, "1.35"));
        let stated = Measure::RateOf(UnitKind::Volume);
        assert_eq!(take(stated, "130 per L"), is(Dim::Rate, "0.13"));
        assert_eq!(take(stated, "130"), Err(Code::MissingUnit));
        assert_eq!(take(Measure::RateOf(UnitKind::Mass), "0.08"), Err(Code::MissingUnit));
        assert_eq!(take(Measure::Electricity, "0.24 per kWh"), is(Dim::Rate, "0.24"));
        assert_eq!(take(Measure::PerKg, "3.20"), is(Dim::Rate, "3.2"));
        assert_eq!(take(Measure::PerLitre, "1.80 per L"), is(Dim::Rate, "1.8"));
        assert_eq!(take(Measure::MassStep, "0.5"), is(Dim::Mass, "500"));
        assert_eq!(take(Measure::LifeHours, "2000"), is(Dim::Share, "2000"));
        assert_eq!(take(Measure::Pace, "9 s"), is(Dim::Pace, "9"));
    }

    #[test]
    fn ends_of_ranges() {
        assert_eq!(take(Measure::Failure, "1.2"), Err(Code::NotAShare));
        assert_eq!(take(Measure::Share, "-0.1"), Err(Code::BelowZero));
        assert_eq!(take(Measure::Count, "2.5"), Err(Code::NotWhole));
        assert_eq!(take(Measure::Count, "0"), Err(Code::NotAboveZero));
        assert_eq!(take(Measure::Time, "0 min"), is(Dim::Time, "0"));
        assert_eq!(take(Measure::Time, "4000 d"), Err(Code::TooLarge));
        assert_eq!(take(Measure::Money, "2000000000"), Err(Code::TooLarge));
        assert_eq!(take(Measure::Volume, "92 g"), Err(Code::WrongDimension));
        assert_eq!(take(Measure::Time, "7"), Err(Code::MissingUnit));
    }
}
