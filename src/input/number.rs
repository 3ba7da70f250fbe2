//! Numbers and quantities as text: `1.5 L`, `20 min`, `30 per h`, `130 per L`, `38 x 38 x 52 mm`.
//!
//! Enters: the text of a cell or value. Leaves: an exact number in base units, or what is wrong with the text. Nothing passes through
//! binary floating point.

use rust_decimal::Decimal;

use super::decimal::{Numeral, limited, split_number};
use super::unit::{Unit, UnitKind, lookup, split_per};
use crate::diag::{Code, Diagnostic, Place};

/// A number read from text.
#[derive(Clone, PartialEq, Debug)]
pub enum Quantity {
    /// A bare number.
    Bare(Decimal),
    /// A number with a unit, in base units.
    Of(UnitKind, Decimal),
    /// A number per unit (`30 per h`, `130 per L`, `10 mL per h`): the number per base unit of the denominator, and the numerator's
    /// kind if it has a unit. `30 per h` is `Per(None, Time, 30 / 3600)`: kept as numerator and factor so that nothing is divided.
    Per {
        /// The number before `per`, in base units of `of` where it has a unit.
        number: Decimal,
        /// The numerator's kind, if any.
        of: Option<UnitKind>,
        /// The unit after `per`.
        per: Unit,
    },
}

impl Quantity {
    /// What was found, for messages about a wrong dimension: `a volume`, `a bare number`, `time per volume`.
    pub fn describe(&self) -> String {
        match self {
            Quantity::Bare(_) => "a bare number".to_string(),
            Quantity::Of(UnitKind::Pieces, _) => "a number of pieces".to_string(),
            Quantity::Of(kind @ (UnitKind::Area | UnitKind::Energy), _) => {
                format!("an {}", kind.as_str())
            }
            Quantity::Of(kind, _) => format!("a {}", kind.as_str()),
            Quantity::Per { of: None, per, .. } => format!("a number per {}", per.kind.as_str()),
            Quantity::Per { of: Some(of), per, .. } => {
                format!("{} per {}", of.as_str(), per.kind.as_str())
            }
        }
    }
}

/// What is wrong with a text that should be a number, a date, a time or alike; becomes a diagnostic where the place is known.
#[derive(Clone, PartialEq, Debug)]
pub struct NumberProblem {
    /// What kind of problem it is.
    pub code: Code,
    /// What was found and expected, as a message.
    pub message: String,
    /// What to do.
    pub hint: String,
}

impl NumberProblem {
    /// The problem as an error at the place of the text.
    pub fn at(self, place: &Place) -> Diagnostic {
        Diagnostic::error(self.code, place, self.message).hint(self.hint)
    }
}

/// Reads a number with or without a unit. A decimal comma, a thousands separator, a non-finite or over-long number, and an unknown unit
/// are problems that say so. Exact where the number has at most 18 digits; only a density per gallon cannot be exact and is
/// rounded at 28 digits.
pub fn read_quantity(text: &str) -> Result<Quantity, NumberProblem> {
    let Numeral { value, rest } = split_number(text)?;
    if rest.is_empty() {
        return Ok(Quantity::Bare(value));
    }
    if let Some(problem) = several(text, rest) {
        return Err(problem);
    }
    match split_per(rest)? {
        (name, None) => {
            let unit = lookup(name)?;
            Ok(Quantity::Of(unit.kind, times(text, value, unit.factor)?))
        }
        ("", Some(name)) => Ok(Quantity::Per { number: value, of: None, per: lookup(name)? }),
        (of, Some(per)) => rate(text, value, lookup(of)?, lookup(per)?),
    }
}

/// Reads `8 business days` or a bare `8`: a count of business days.
pub fn read_business_days(text: &str) -> Result<Decimal, NumberProblem> {
    let Numeral { value, rest } = split_number(text)?;
    let words = rest.to_lowercase().split_whitespace().collect::<Vec<_>>().join(" ");
    if matches!(words.as_str(), "" | "business day" | "business days") {
        return Ok(value);
    }
    Err(NumberProblem {
        code: Code::WrongDimension,
        message: format!("expected business days, found `{}`", text.trim()),
        hint: "write a count such as `8 business days`; weeks and calendar days are not converted"
            .into(),
    })
}

/// Reads `38 x 38 x 52 mm` or `190 x 120 mm`: two or three lengths in mm.
pub fn read_lengths(text: &str, count: usize) -> Result<Vec<Decimal>, NumberProblem> {
    let pieces: Vec<&str> = text.split(['x', 'X', '×', '*']).map(str::trim).collect();
    if pieces.len() != count {
        return Err(wrong_count(text, count, pieces.len()));
    }
    let numerals = pieces.iter().map(|piece| split_number(piece)).collect::<Result<Vec<_>, _>>()?;
    // A unit after the last number holds for those that have none of their own.
    let common = numerals.last().map_or("", |numeral| numeral.rest);
    numerals.iter().map(|numeral| length(text, numeral, common)).collect()
}

fn length(text: &str, numeral: &Numeral<'_>, common: &str) -> Result<Decimal, NumberProblem> {
    let name = if numeral.rest.is_empty() { common } else { numeral.rest };
    let wrong = |code: Code, found: &str| NumberProblem {
        code,
        message: format!("expected lengths with a unit, found {found}: `{}`", text.trim()),
        hint: "write a unit of length after the last number, such as `38 x 38 x 52 mm`".into(),
    };
    if name.is_empty() {
        return Err(wrong(Code::MissingUnit, "bare numbers"));
    }
    let unit = lookup(name)?;
    if unit.kind != UnitKind::Length {
        return Err(wrong(Code::WrongDimension, unit.kind.as_str()));
    }
    times(text, numeral.value, unit.factor)
}

fn wrong_count(text: &str, count: usize, found: usize) -> NumberProblem {
    let example = if count == 2 { "190 x 120 mm" } else { "38 x 38 x 52 mm" };
    NumberProblem {
        code: Code::BadLengths,
        message: format!("expected {count} lengths, found {found}: `{}`", text.trim()),
        hint: format!("write them with x between and the unit last: `{example}`"),
    }
}

/// More than one number where one is expected, such as a box or a range.
fn several(text: &str, rest: &str) -> Option<NumberProblem> {
    let after = rest.trim_start_matches(['x', 'X', '×', '*', '-', '–', '~', '.']).trim_start();
    let is_range = after.len() < rest.len() && after.starts_with(|c: char| c.is_ascii_digit());
    let starts_anew = rest.starts_with(|c: char| c.is_ascii_digit());
    (is_range || starts_anew).then(|| NumberProblem {
        code: Code::BadNumber,
        message: format!("expected one number, found several: `{}`", text.trim()),
        hint: "write one number; a doubtful one is `{ low = ..., likely = ..., high = ... }`"
            .into(),
    })
}

/// A number of one unit per another; a mass per volume is a density.
fn rate(text: &str, value: Decimal, of: Unit, per: Unit) -> Result<Quantity, NumberProblem> {
    let number = times(text, value, of.factor)?;
    if of.kind == UnitKind::Mass && per.kind == UnitKind::Volume {
        let density =
            number.checked_div(per.factor).ok_or_else(|| super::decimal::too_big(text))?;
        return limited(text, density).map(|value| Quantity::Of(UnitKind::Density, value));
    }
    Ok(Quantity::Per { number, of: Some(of.kind), per })
}

fn times(text: &str, value: Decimal, factor: Decimal) -> Result<Decimal, NumberProblem> {
    let product = value.checked_mul(factor).ok_or_else(|| super::decimal::too_big(text))?;
    limited(text, product)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn d(text: &str) -> Decimal {
        text.parse().unwrap()
    }

    fn of(text: &str) -> (UnitKind, Decimal) {
        match read_quantity(text) {
            Ok(Quantity::Of(kind, value)) => (kind, value),
            other => panic!("{text}: {other:?}"),
        }
    }

    fn problem(text: &str) -> NumberProblem {
        read_quantity(text).expect_err(text)
    }

    #[test]
    fn quantities_come_in_base_units() {
        for (text, kind, value) in [
            ("1.5 L", UnitKind::Volume, "1500"),
            ("92cm3", UnitKind::Volume, "92"),
            ("12 fl oz", UnitKind::Volume, "354.88235475"),
            ("2 gal", UnitKind::Volume, "7570.823568"),
            ("20 min", UnitKind::Time, "1200"),
            ("30 d", UnitKind::Time, "2592000"),
            ("0.05 mm", UnitKind::Length, "0.05"),
            ("100 µm", UnitKind::Length, "0.1"),
            ("96 cm²", UnitKind::Area, "96"),
            ("2 lb", UnitKind::Mass, "907.18474"),
            ("4 pcs", UnitKind::Pieces, "4"),
            ("60 W", UnitKind::Power, "60"),
            ("1 kWh", UnitKind::Energy, "1000"),
            ("1.09 g/mL", UnitKind::Density, "1.09"),
            ("1.09 kg per L", UnitKind::Density, "1.09"),
            ("785 kg/m3", UnitKind::Density, "0.785"),
            ("-3 mm", UnitKind::Length, "-3"),
            ("−3 mm", UnitKind::Length, "-3"),
        ] {
            assert_eq!(of(text), (kind, d(value)), "{text}");
        }
    }

    #[test]
    fn rates_keep_the_unit_they_are_per() {
        for text in ["30 per h", "30/h", "30 / h", " 30 per hour "] {
            let Ok(Quantity::Per { number, of: None, per }) = read_quantity(text) else {
                panic!("{text}")
            };
            assert_eq!((number, per.kind, per.factor), (d("30"), UnitKind::Time, d("3600")));
        }
        let Ok(Quantity::Per { number, of, per }) = read_quantity("10 mL per h") else { panic!() };
        assert_eq!((number, of, per.kind), (d("10"), Some(UnitKind::Volume), UnitKind::Time));
    }

    #[test]
    fn bare_numbers_keep_every_digit() {
        for text in ["148.00", "0.1", "12345678901.123456789", ".5", "0", "-0", "1000000000000"] {
            assert_eq!(read_quantity(text), Ok(Quantity::Bare(d(text))), "{text}");
        }
        let Ok(Quantity::Bare(cents)) = read_quantity("148.00") else { panic!() };
        assert_eq!(cents.to_string(), "148.00");
        assert_eq!(read_quantity("1e3"), Ok(Quantity::Bare(d("1000"))));
        assert_eq!(read_quantity("6.0E-3"), Ok(Quantity::Bare(d("0.006"))));
        assert_eq!(of("1e3 mm"), (UnitKind::Length, d("1000")));
    }

    #[test]
    fn a_decimal_comma_is_never_read() {
        for (text, hint) in [
            ("1,5 L", "write `1.5 L`"),
            ("0,125", "write `0.125`"),
            ("1.234,5 mL", "write `1234.5 mL`"),
            ("148,00", "write `148.00`"),
            ("-0,5", "write `-0.5`"),
        ] {
            let found = problem(text);
            assert_eq!((found.code, found.hint.as_str()), (Code::DecimalComma, hint), "{text}");
        }
    }

    #[test]
    fn a_thousands_separator_is_never_skipped() {
        for (text, hint) in [
            ("1,000", "write `1000`, or `1.000` if a decimal comma was meant"),
            ("1,000.50", "write `1000.50`"),
            ("1,000,000 mL", "write `1000000 mL`"),
            ("1.000.000", "write `1000000`"),
            ("1 000 mL", "write `1000 mL`"),
            ("1'000", "write `1000`"),
            ("1_000", "write `1000`"),
            ("1\u{202f}000 g", "write `1000 g`"),
        ] {
            let found = problem(text);
            assert_eq!(
                (found.code, found.hint.as_str()),
                (Code::ThousandsSeparator, hint),
                "{text}"
            );
        }
    }

    #[test]
    fn what_is_no_number_says_why() {
        for (text, code) in [
            ("", Code::BadNumber),
            ("seven", Code::BadNumber),
            ("5.", Code::BadNumber),
            ("1.2.3", Code::BadNumber),
            ("1,2,3", Code::BadNumber),
            ("5,", Code::BadNumber),
            ("12 34", Code::BadNumber),
            ("38 x 38 x 52 mm", Code::BadNumber),
            ("4-6 h", Code::BadNumber),
            ("--5", Code::BadNumber),
            ("$30", Code::BadNumber),
            ("nan", Code::NotFinite),
            ("-inf", Code::NotFinite),
            ("Infinity", Code::NotFinite),
            ("123456789012345678901", Code::TooLong),
            ("0.123456789012345678901", Code::TooLong),
            ("1e-30", Code::TooLong),
            ("1000000000001", Code::TooLarge),
            ("1e400", Code::TooLarge),
            ("1e99999999999999999999", Code::TooLarge),
            ("900000000000 km", Code::UnknownUnit),
            ("900000000000 m", Code::TooLarge),
            ("5 L per", Code::UnknownUnit),
            ("12 %", Code::UnknownUnit),
            ("5 business days", Code::UnknownUnit),
        ] {
            assert_eq!(problem(text).code, code, "{text}");
        }
    }

    #[test]
    fn business_days() {
        assert_eq!(read_business_days("8 business days"), Ok(d("8")));
        assert_eq!(read_business_days("1 Business  day"), Ok(d("1")));
        assert_eq!(read_business_days("8"), Ok(d("8")));
        assert_eq!(read_business_days("2 wk").unwrap_err().code, Code::WrongDimension);
        assert_eq!(read_business_days("2,5").unwrap_err().code, Code::DecimalComma);
    }

    #[test]
    fn lengths() {
        let all = |text, count| {
            read_lengths(text, count)
                .map(|v| v.iter().map(Decimal::to_string).collect::<Vec<_>>().join(" "))
        };
        assert_eq!(all("38 x 38 x 52 mm", 3).unwrap(), "38 38 52");
        assert_eq!(all("190x120mm", 2).unwrap(), "190 120");
        assert_eq!(all("19 cm × 120 mm", 2).unwrap(), "190 120");
        assert_eq!(all("1.5 X 2 in", 2).unwrap(), "38.10 50.8");
        for (text, code) in [
            ("38 x 38 mm", Code::BadLengths),
            ("38 x 38 x 52", Code::MissingUnit),
            ("38 x 38 x 52 mL", Code::WrongDimension),
            ("38 x 38 x 52,5 mm", Code::DecimalComma),
            ("38 x x 52 mm", Code::BadNumber),
            ("", Code::BadLengths),
            ("38 x 38 x 52 mn", Code::UnknownUnit),
        ] {
            assert_eq!(read_lengths(text, 3).unwrap_err().code, code, "{text}");
        }
    }

    proptest! {
        #[test]
        fn arbitrary_text_never_panics(text in "\\PC{0,40}") {
            let _ = read_quantity(&text);
            let _ = read_lengths(&text, 3);
            let _ = read_business_days(&text);
            let _ = crate::input::read_hardness(&text);
            let _ = crate::input::read_moment(&text);
            let _ = crate::input::read_span(&text);
        }

        #[test]
        fn arbitrary_number_like_text_never_panics(text in "[-+−]?[0-9.,' _eE]{0,30}( ?(L|per|/|x|mm|µ|h|%)){0,3}") {
            let _ = read_quantity(&text);
            let _ = read_lengths(&text, 2);
        }

        #[test]
        fn a_number_that_is_read_is_the_number_that_is_written(whole in 0_u64..1_000_000, fraction in 0_u64..1_000_000) {
            let text = format!("{whole}.{fraction:06}");
            let number = Decimal::new(i64::try_from(whole * 1_000_000 + fraction).unwrap(), 6);
            prop_assert_eq!(read_quantity(&text), Ok(Quantity::Bare(number)));
        }

        #[test]
        fn converted_numbers_are_within_the_limit(text in "[0-9]{1,25}e?[0-9]{0,2} (m3|gal|wk|m|lb/gal|g/uL)") {
            if let Ok(Quantity::Of(_, value)) = read_quantity(&text) {
                prop_assert!(value <= Decimal::from(1_000_000_000_000_u64));
            }
        }
    }
}
