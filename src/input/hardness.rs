//! Hardness and yes or no as text.
//!
//! Enters: `70A`, `60A..80A`, `yes`. Leaves: numbers on one Shore scale (ISO 868, ASTM D2240), a truth value.

use rust_decimal::Decimal;

use super::NumberProblem;
use super::decimal::{Numeral, short, split_number};
use crate::diag::Code;

/// A hardness as written: one number or a range on one scale.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct HardnessText {
    /// Letters of the scale, upper case, such as `A`, `D`, `OO`.
    pub scale: String,
    /// Lower end, 0 to 100.
    pub low: Decimal,
    /// Upper end, 0 to 100; equal to the lower end where one number is written.
    pub high: Decimal,
}

/// Reads `70A`, `70 A`, `Shore 70A`, `60A..80A` or `60..80A`.
pub fn read_hardness(text: &str) -> Result<HardnessText, NumberProblem> {
    let plain = without_word(text.trim());
    let Some((low, high)) = plain.split_once("..") else {
        let (value, scale) = one(text, plain)?;
        return Ok(HardnessText {
            scale: scale.ok_or_else(|| unreadable(text))?,
            low: value,
            high: value,
        });
    };
    let (low, low_scale) = one(text, low)?;
    let (high, high_scale) = one(text, high)?;
    let scale = high_scale.ok_or_else(|| unreadable(text))?;
    if low_scale.is_some_and(|other| other != scale) {
        return Err(problem(
            Code::BadHardness,
            format!("hardness on two scales: `{}`", short(text)),
            "give both ends on one scale",
        ));
    }
    if low > high {
        let message = format!("hardness range does not rise: `{}`", short(text));
        return Err(problem(
            Code::LowLikelyHigh,
            message,
            "write the lower number first, such as `60A..80A`",
        ));
    }
    Ok(HardnessText { scale, low, high })
}

/// Reads `yes`, `no`, `true` or `false`, upper and lower case alike.
pub fn read_yes_no(text: &str) -> Result<bool, NumberProblem> {
    match text.trim().to_lowercase().as_str() {
        "yes" | "true" => Ok(true),
        "no" | "false" => Ok(false),
        _ => Err(problem(
            Code::WrongType,
            format!("expected yes or no, found `{}`", short(text)),
            "write `yes` or `no`",
        )),
    }
}

/// The text without the word `Shore` before it.
fn without_word(text: &str) -> &str {
    match text.get(..5) {
        Some(word) if word.eq_ignore_ascii_case("shore") => text[5..].trim_start(),
        _ => text,
    }
}

/// One number from 0 to 100 with the letters of its scale, if there are any.
fn one(whole: &str, text: &str) -> Result<(Decimal, Option<String>), NumberProblem> {
    let Numeral { value, rest } = split_number(text).map_err(|found| match found.code {
        Code::BadNumber => unreadable(whole),
        _ => found,
    })?;
    if rest.len() > 3 || !rest.chars().all(|c| c.is_ascii_alphabetic()) {
        return Err(unreadable(whole));
    }
    if value < Decimal::ZERO || value > Decimal::ONE_HUNDRED {
        let message = format!("hardness is out of range: `{}`, expected 0 to 100", short(whole));
        return Err(problem(Code::OutOfRange, message, "Shore scales run from 0 to 100"));
    }
    Ok((value, (!rest.is_empty()).then(|| rest.to_ascii_uppercase())))
}

fn unreadable(text: &str) -> NumberProblem {
    let message = format!("expected a hardness with its scale, found `{}`", short(text));
    problem(
        Code::BadHardness,
        message,
        "write number and letter of the Shore scale, such as `70A` or `60A..80A`",
    )
}

fn problem(code: Code, message: String, hint: &str) -> NumberProblem {
    NumberProblem { code, message, hint: hint.into() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hardness(scale: &str, low: i64, high: i64) -> Result<HardnessText, NumberProblem> {
        Ok(HardnessText { scale: scale.into(), low: low.into(), high: high.into() })
    }

    #[test]
    fn one_number_or_a_range() {
        assert_eq!(read_hardness("70A"), hardness("A", 70, 70));
        assert_eq!(read_hardness(" shore 70 a "), hardness("A", 70, 70));
        assert_eq!(read_hardness("60A..80A"), hardness("A", 60, 80));
        assert_eq!(read_hardness("60 .. 80D"), hardness("D", 60, 80));
        assert_eq!(read_hardness("30OO"), hardness("OO", 30, 30));
    }

    #[test]
    fn what_is_no_hardness_says_so() {
        for (text, code) in [
            ("70", Code::BadHardness),
            ("soft", Code::BadHardness),
            ("", Code::BadHardness),
            ("60A..80D", Code::BadHardness),
            ("60A..80", Code::BadHardness),
            ("80A..60A", Code::LowLikelyHigh),
            ("120A", Code::OutOfRange),
            ("-5A", Code::OutOfRange),
            ("70,5A", Code::DecimalComma),
            ("Shoré", Code::BadHardness),
        ] {
            assert_eq!(read_hardness(text).unwrap_err().code, code, "{text}");
        }
    }

    #[test]
    fn yes_and_no() {
        assert_eq!(read_yes_no("Yes"), Ok(true));
        assert_eq!(read_yes_no("FALSE"), Ok(false));
        assert_eq!(read_yes_no("maybe").unwrap_err().code, Code::WrongType);
    }
}
