//! Units of measure: the table from a unit's name to its kind and factor.
//!
//! Enters: the text of a unit, such as `mL`, `cm³`, `fl oz`, `per kWh`. Leaves: its kind and what one of it is in base units. The
//! factors of US customary units follow from the exact definitions 1 in = 25.4 mm, 1 lb = 453.59237 g, 1 gal = 231 in3.

use rust_decimal::Decimal;

use self::UnitKind::{Area, Energy, Length, Mass, Pieces, Power, Time, Volume};
use super::NumberProblem;
use crate::diag::{Code, did_you_mean};

/// What a quantity measures, as far as its unit tells.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum UnitKind {
    /// Seconds.
    Time,
    /// Millilitres.
    Volume,
    /// Grams.
    Mass,
    /// Square centimetres.
    Area,
    /// Millimetres.
    Length,
    /// Pieces (`pcs`).
    Pieces,
    /// Watts.
    Power,
    /// Watt hours.
    Energy,
    /// Grams per millilitre.
    Density,
}

impl UnitKind {
    /// All of them.
    pub const ALL: [UnitKind; 9] =
        [Time, Volume, Mass, Area, Length, Pieces, Power, Energy, UnitKind::Density];

    /// The kind as a person calls it: `time`, `volume`, ...
    pub const fn as_str(self) -> &'static str {
        match self {
            UnitKind::Time => "time",
            UnitKind::Volume => "volume",
            UnitKind::Mass => "mass",
            UnitKind::Area => "area",
            UnitKind::Length => "length",
            UnitKind::Pieces => "pieces",
            UnitKind::Power => "power",
            UnitKind::Energy => "energy",
            UnitKind::Density => "density",
        }
    }

    /// A quantity of this kind, to show how one is written.
    pub const fn example(self) -> &'static str {
        match self {
            UnitKind::Time => "20 min",
            UnitKind::Volume => "1.5 L",
            UnitKind::Mass => "250 g",
            UnitKind::Area => "96 cm2",
            UnitKind::Length => "0.1 mm",
            UnitKind::Pieces => "4 pcs",
            UnitKind::Power => "60 W",
            UnitKind::Energy => "2 kWh",
            UnitKind::Density => "1.09 g/mL",
        }
    }
}

/// A unit: its kind and what one of it is in the base unit of that kind.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Unit {
    /// The kind.
    pub kind: UnitKind,
    /// How many base units one is; exact.
    pub factor: Decimal,
}

/// One line of the table: symbols (upper and lower case matter), words (they do not), kind, factor as digits and decimals.
struct Known {
    symbols: &'static [&'static str],
    words: &'static [&'static str],
    kind: UnitKind,
    factor: (i64, u32),
}

const fn known(
    kind: UnitKind,
    factor: (i64, u32),
    symbols: &'static [&'static str],
    words: &'static [&'static str],
) -> Known {
    Known { symbols, words, kind, factor }
}

const TABLE: &[Known] = &[
    known(Time, (1, 0), &["s", "sec"], &["second", "seconds"]),
    known(Time, (60, 0), &["min"], &["mins", "minute", "minutes"]),
    known(Time, (3_600, 0), &["h", "hr", "hrs"], &["hour", "hours"]),
    known(Time, (86_400, 0), &["d"], &["day", "days"]),
    known(Time, (604_800, 0), &["wk"], &["week", "weeks"]),
    known(Volume, (1, 3), &["uL", "ul", "mm3"], &["cu mm"]),
    known(
        Volume,
        (1, 0),
        &["mL", "ml", "cm3", "cc"],
        &["millilitre", "millilitres", "milliliter", "milliliters"],
    ),
    known(
        Volume,
        (10, 0),
        &["cL", "cl"],
        &["centilitre", "centilitres", "centiliter", "centiliters"],
    ),
    known(Volume, (100, 0), &["dL", "dl"], &["decilitre", "decilitres", "deciliter", "deciliters"]),
    known(Volume, (1_000, 0), &["L", "l", "dm3"], &["litre", "litres", "liter", "liters"]),
    known(Volume, (1_000_000, 0), &["m3"], &[]),
    known(Volume, (16_387_064, 6), &["in3"], &["cu in", "cubic inch", "cubic inches"]),
    known(Volume, (28_316_846_592, 6), &["ft3"], &["cu ft", "cubic foot", "cubic feet"]),
    known(Volume, (295_735_295_625, 10), &["fl oz", "floz"], &["fluid ounce", "fluid ounces"]),
    known(Volume, (473_176_473, 6), &["pt"], &["pint", "pints"]),
    known(Volume, (946_352_946, 6), &["qt"], &["quart", "quarts"]),
    known(Volume, (3_785_411_784, 6), &["gal"], &["us gal", "gallon", "gallons"]),
    known(Mass, (1, 3), &["mg"], &["milligram", "milligrams"]),
    known(Mass, (1, 0), &["g"], &["gram", "grams"]),
    known(Mass, (1_000, 0), &["kg"], &["kilogram", "kilograms", "kilo", "kilos"]),
    known(Mass, (28_349_523_125, 9), &["oz"], &["ounce", "ounces"]),
    known(Mass, (45_359_237, 5), &["lb", "lbs"], &["pound", "pounds"]),
    known(Area, (1, 2), &["mm2"], &["sq mm"]),
    known(Area, (1, 0), &["cm2"], &["sq cm"]),
    known(Area, (100, 0), &["dm2"], &[]),
    known(Area, (10_000, 0), &["m2"], &["sq m"]),
    known(Area, (64_516, 4), &["in2"], &["sq in", "square inch", "square inches"]),
    known(Area, (9_290_304, 4), &["ft2"], &["sq ft", "square foot", "square feet"]),
    known(Length, (1, 3), &["um"], &["micron", "microns", "micrometre", "micrometer"]),
    known(Length, (1, 0), &["mm"], &["millimetre", "millimetres", "millimeter", "millimeters"]),
    known(Length, (10, 0), &["cm"], &["centimetre", "centimetres", "centimeter", "centimeters"]),
    known(Length, (1_000, 0), &["m"], &["metre", "metres", "meter", "meters"]),
    known(Length, (254, 4), &["mil"], &["mils", "thou"]),
    known(Length, (254, 1), &["in"], &["inch", "inches"]),
    known(Length, (3_048, 1), &["ft"], &["foot", "feet"]),
    known(Pieces, (1, 0), &["pcs", "pc"], &["piece", "pieces"]),
    known(Power, (1, 0), &["W"], &["watt", "watts"]),
    known(Power, (1_000, 0), &["kW"], &["kilowatt", "kilowatts"]),
    known(Energy, (1, 0), &["Wh", "W h"], &["watt hour", "watt hours"]),
    known(Energy, (1_000, 0), &["kWh", "kW h"], &["kilowatt hour", "kilowatt hours"]),
];

/// Reads the name of one unit, with or without `per` or `/` before it: `kWh`, `per kWh`, `/L`.
pub fn read_unit(text: &str) -> Result<Unit, NumberProblem> {
    let (before, after) = split_per(text.trim())?;
    match (before, after) {
        (name, None) | ("", Some(name)) => lookup(name),
        (_, Some(_)) => Err(NumberProblem {
            code: Code::WrongDimension,
            message: format!("expected one unit, found `{}`", text.trim()),
            hint: "name one unit, such as `per kWh` or `per h`".into(),
        }),
    }
}

/// Splits at `/` or at the word `per`; `None` where there is neither. Two of them have no single meaning.
pub(super) fn split_per(text: &str) -> Result<(&str, Option<&str>), NumberProblem> {
    let mut cuts = text.match_indices('/').map(|(at, _)| (at, at + 1)).chain(per_words(text));
    let Some((end, start)) = cuts.next() else {
        return Ok((text, None));
    };
    if cuts.next().is_some() {
        return Err(NumberProblem {
            code: Code::UnknownUnit,
            message: format!("`{}` has more than one `per` or `/`", text.trim()),
            hint: "write one, such as `30 per h` or `1.09 g/mL`".into(),
        });
    }
    Ok((text[..end].trim(), Some(text[start..].trim())))
}

/// Byte ranges of the word `per` standing alone.
fn per_words(text: &str) -> impl Iterator<Item = (usize, usize)> + '_ {
    let edge = |c: Option<char>| c.is_none_or(char::is_whitespace);
    text.match_indices("per").map(|(at, word)| (at, at + word.len())).filter(
        move |&(start, end)| {
            edge(text[..start].chars().next_back()) && edge(text[end..].chars().next())
        },
    )
}

/// Finds a unit by its name.
pub(super) fn lookup(name: &str) -> Result<Unit, NumberProblem> {
    let plain = plain_name(name);
    let lower = plain.to_lowercase();
    let hit = TABLE
        .iter()
        .find(|k| k.symbols.contains(&plain.as_str()))
        .or_else(|| TABLE.iter().find(|k| k.words.contains(&lower.as_str())));
    match hit {
        Some(k) => Ok(Unit { kind: k.kind, factor: Decimal::new(k.factor.0, k.factor.1) }),
        None => Err(unknown(name, &plain)),
    }
}

/// The name in plain letters: `cm³` and `cm^3` become `cm3`, `µm` becomes `um`, `fl. oz.` becomes `fl oz`.
fn plain_name(name: &str) -> String {
    let letters: String = name
        .chars()
        .filter(|c| !matches!(c, '.' | '^'))
        .map(|c| match c {
            '²' => '2',
            '³' => '3',
            'µ' | 'μ' => 'u',
            other => other,
        })
        .collect();
    letters.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn unknown(name: &str, plain: &str) -> NumberProblem {
    let hint = if plain.is_empty() {
        "name a unit after `per`, such as `per h` or `per L`".to_string()
    } else if plain.contains('%') {
        "write a share as a number from 0 to 1, without quotes: 12 % is 0.12".to_string()
    } else if plain.to_lowercase().starts_with("business day") {
        "business days are understood in `arrives_after`, `lead` and `transit` only".to_string()
    } else if is_currency(plain) {
        "leave the currency out: it is stated once by `currency`".to_string()
    } else if plain.starts_with(|c: char| c.is_ascii_digit()) {
        "give one number for one unit: `3.60 per L`, not per so many".to_string()
    } else {
        let all = TABLE.iter().flat_map(|k| k.symbols.iter().chain(k.words)).copied();
        did_you_mean(plain, all).unwrap_or_else(|| {
            "known are s min h d wk, mL cL L cm3 in3 fl oz pt qt gal, mg g kg oz lb, mm2 cm2 m2 in2, um mm cm m in ft mil, pcs, W kW Wh kWh"
                .to_string()
        })
    };
    NumberProblem {
        code: Code::UnknownUnit,
        message: format!("unknown unit `{}`", name.trim()),
        hint,
    }
}

fn is_currency(plain: &str) -> bool {
    let is_code = plain.len() == 3 && plain.chars().all(|c| c.is_ascii_uppercase());
    is_code || plain.contains(['$', '€', '£', '¥'])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn factor(name: &str) -> Decimal {
        lookup(name).unwrap().factor
    }

    /// Rounds to seven significant digits, as the table of NIST SP 811 prints most factors.
    fn seven(value: Decimal) -> Decimal {
        value
            .round_sf_with_strategy(7, rust_decimal::RoundingStrategy::MidpointAwayFromZero)
            .unwrap()
            .normalize()
    }

    fn number(text: &str) -> Decimal {
        Decimal::from_scientific(text).or_else(|_| text.parse()).unwrap().normalize()
    }

    #[test]
    fn factors_agree_with_nist_sp_811() {
        // NIST Special Publication 811 (2008), Appendix B.8, seven significant digits.
        let thousand = Decimal::ONE_THOUSAND;
        let million = thousand * thousand;
        let rows = [
            ("gallon (US) to L", factor("gal") / thousand, "3.785412"),
            ("fluid ounce (US) to mL", factor("fl oz"), "29.57353"),
            ("quart (US liquid) to L", factor("qt") / thousand, "0.9463529"),
            ("pint (US liquid) to L", factor("pt") / thousand, "0.4731765"),
            ("inch to cm", factor("in") / factor("cm"), "2.54"),
            ("foot to m", factor("ft") / factor("m"), "0.3048"),
            ("mil to mm", factor("mil"), "0.0254"),
            ("pound (avoirdupois) to kg", factor("lb") / thousand, "0.4535924"),
            ("ounce (avoirdupois) to g", factor("oz"), "28.34952"),
            ("cubic inch to m3", factor("in3") / million, "1.638706e-5"),
            ("cubic foot to m3", factor("ft3") / million, "0.02831685"),
            // 1 Wh is 3600 W s, so this is kWh in MJ.
            ("kilowatt hour to MJ", factor("kWh") * factor("h") / million, "3.6"),
            ("pound per gallon (US) to kg/L", factor("lb") / factor("gal"), "0.1198264"),
        ];
        for (what, ours, published) in rows {
            assert_eq!(seven(ours), number(published), "{what}");
        }
    }

    #[test]
    fn customary_units_are_exact() {
        // NIST Handbook 44, Appendix C: exact values.
        assert_eq!(factor("gal") / factor("L"), number("3.785411784"));
        assert_eq!(factor("fl oz"), number("29.5735295625"));
        assert_eq!(factor("in3"), number("16.387064"));
        assert_eq!(factor("oz"), number("28.349523125"));
        assert_eq!(factor("pt"), number("473.176473"));
        // And they follow from the three definitions.
        let inch = number("2.54");
        assert_eq!(factor("in3"), inch * inch * inch);
        assert_eq!(factor("in2"), inch * inch);
        assert_eq!(factor("gal"), factor("in3") * Decimal::from(231));
        assert_eq!(factor("qt") * Decimal::from(4), factor("gal"));
        assert_eq!(factor("pt") * Decimal::from(8), factor("gal"));
        assert_eq!(factor("fl oz") * Decimal::from(128), factor("gal"));
        assert_eq!(factor("oz") * Decimal::from(16), factor("lb"));
        assert_eq!(factor("ft"), factor("in") * Decimal::from(12));
        assert_eq!(factor("ft3"), factor("in3") * Decimal::from(1_728));
        assert_eq!(factor("ft2"), factor("in2") * Decimal::from(144));
        assert_eq!(factor("mil") * Decimal::ONE_THOUSAND, factor("in"));
    }

    #[test]
    fn no_name_stands_twice_in_the_table() {
        let mut names: Vec<&str> =
            TABLE.iter().flat_map(|k| k.symbols.iter().chain(k.words)).copied().collect();
        let count = names.len();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), count);
    }

    #[test]
    fn usual_signs_and_spellings_are_known() {
        for (text, same) in [
            ("cm³", "cm3"),
            ("cm^3", "cm3"),
            ("cm²", "cm2"),
            ("µm", "um"),
            ("μm", "um"),
            ("fl. oz.", "fl oz"),
            ("Hours", "h"),
        ] {
            assert_eq!(lookup(text), lookup(same), "{text}");
        }
        assert_eq!(read_unit("per kWh"), lookup("kWh"));
        assert_eq!(read_unit("/ L"), lookup("L"));
        assert_eq!(read_unit(" kg "), lookup("kg"));
    }

    #[test]
    fn unknown_units_tell_the_nearest_or_what_to_do() {
        let hint = |name| lookup(name).unwrap_err().hint;
        assert!(hint("KG").contains("`kg`"), "{}", hint("KG"));
        assert!(hint("litrs").contains("`litr"), "{}", hint("litrs"));
        assert!(hint("%").contains("0.12"));
        assert!(hint("USD").contains("currency"));
        assert!(hint("furlongs").contains("known are"));
        assert!(hint("").contains("after `per`"));
        assert_eq!(read_unit("g per mL").unwrap_err().code, Code::WrongDimension);
        assert_eq!(read_unit("g per mL per h").unwrap_err().code, Code::UnknownUnit);
    }
}
