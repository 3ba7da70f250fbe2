//! A numeral at the start of a text: digits to an exact decimal, and a word on what is not a numeral.
//!
//! Enters: text such as `1.5 L` or `1e3`. Leaves: the number and the rest behind it. A comma is never read as a decimal point and a
//! separator between thousands is never skipped: both could mean two things, so both are problems that name the two.

use rust_decimal::Decimal;

use super::NumberProblem;
use crate::diag::Code;

/// Most significant digits, and most decimals, a number may have.
const MOST_DIGITS: usize = 20;
/// Greatest magnitude of a number, as written and in base units, as a power of ten.
const GREATEST_POWER: u32 = 12;

/// A number and what stands behind it, without outer blanks.
#[derive(Debug)]
pub(super) struct Numeral<'a> {
    pub value: Decimal,
    pub rest: &'a str,
}

/// Reads the number a text begins with.
pub(super) fn split_number(text: &str) -> Result<Numeral<'_>, NumberProblem> {
    let text = text.trim();
    let (negative, unsigned) = split_sign(text);
    let end = numeral_end(unsigned);
    let token = unsigned[..end].trim_end();
    if !token.contains(|c: char| c.is_ascii_digit()) {
        return Err(no_number(text, unsigned));
    }
    let (exponent, rest) = split_exponent(&unsigned[end..]);
    let Some((whole, fraction)) = plain_parts(token) else {
        return Err(separated(text, token));
    };
    let value = decimal(text, whole, fraction, exponent)?;
    Ok(Numeral { value: if negative { -value } else { value }, rest: rest.trim() })
}

fn split_sign(text: &str) -> (bool, &str) {
    match text.chars().next() {
        Some(sign @ ('-' | '−')) => (true, text[sign.len_utf8()..].trim_start()),
        Some('+') => (false, text[1..].trim_start()),
        _ => (false, text),
    }
}

/// Where the run of digits and of what may stand between digits ends. A blank belongs to it only between two digits.
fn numeral_end(text: &str) -> usize {
    let mut end = 0;
    let mut after_digit = false;
    let mut chars = text.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        let next_is_digit = chars.peek().is_some_and(|(_, n)| n.is_ascii_digit());
        let belongs = match c {
            '0'..='9' => true,
            // `60..80` is a range, not a number with two points.
            '.' => !text[at..].starts_with(".."),
            ',' => true,
            '\'' | '’' | '_' | ' ' | '\u{a0}' | '\u{2009}' | '\u{202f}' => {
                after_digit && next_is_digit
            }
            _ => false,
        };
        if !belongs {
            break;
        }
        after_digit = c.is_ascii_digit();
        end = at + c.len_utf8();
    }
    end
}

/// Splits off `e3`, `E-2` and alike; an `e` without digits is the start of a unit.
fn split_exponent(text: &str) -> (i32, &str) {
    let Some(after) = text.strip_prefix(['e', 'E']) else {
        return (0, text);
    };
    let digits_from = after.len() - after.trim_start_matches(['+', '-']).len();
    let digits = after[digits_from..].bytes().take_while(u8::is_ascii_digit).count();
    if digits == 0 || digits_from > 1 {
        return (0, text);
    }
    let end = digits_from + digits;
    let sign = if after.starts_with('-') { -1 } else { 1 };
    // An exponent of more than four digits is beyond every limit in either direction.
    let size = after[digits_from..end].parse::<i32>().unwrap_or(9_999).min(9_999);
    (sign * size, &after[end..])
}

/// The digits before and after the point; `None` where anything but digits and one point stands there.
fn plain_parts(token: &str) -> Option<(&str, &str)> {
    let (whole, fraction) = match token.split_once('.') {
        Some((_, "")) => return None,
        Some(parts) => parts,
        None => (token, ""),
    };
    let all_digits = |part: &str| part.bytes().all(|b| b.is_ascii_digit());
    (all_digits(whole) && all_digits(fraction)).then_some((whole, fraction))
}

fn decimal(
    text: &str,
    whole: &str,
    fraction: &str,
    exponent: i32,
) -> Result<Decimal, NumberProblem> {
    let whole = whole.trim_start_matches('0');
    let fraction =
        if fraction.len() > MOST_DIGITS { fraction.trim_end_matches('0') } else { fraction };
    let digits = format!("{whole}{fraction}");
    let significant = digits.trim_start_matches('0').len();
    if significant == 0 {
        return Ok(Decimal::ZERO);
    }
    if significant > MOST_DIGITS {
        return Err(too_long(text, &format!("{significant} digits")));
    }
    // The lengths are below the size of a file and the exponent below 10000, so these cannot overflow.
    let scale = fraction.len() as i64 - i64::from(exponent);
    if significant as i64 - scale > i64::from(GREATEST_POWER) + 1 {
        return Err(too_big(text));
    }
    if scale > MOST_DIGITS as i64 {
        return Err(too_long(text, &format!("{scale} decimals")));
    }
    let mantissa: i128 = digits.parse().map_err(|_| too_big(text))?;
    let ten = |power: i64| 10_i128.checked_pow(u32::try_from(power).unwrap_or(u32::MAX));
    let (mantissa, scale) = if scale < 0 {
        (ten(-scale).and_then(|t| mantissa.checked_mul(t)), 0)
    } else {
        (Some(mantissa), scale)
    };
    mantissa
        .and_then(|m| {
            Decimal::try_from_i128_with_scale(m, u32::try_from(scale).unwrap_or(u32::MAX)).ok()
        })
        .ok_or_else(|| too_big(text))
        .and_then(|value| limited(text, value))
}

/// The value itself, if its magnitude is within the limit.
pub(super) fn limited(text: &str, value: Decimal) -> Result<Decimal, NumberProblem> {
    if value.abs() > Decimal::from(10_u64.pow(GREATEST_POWER)) {
        return Err(too_big(text));
    }
    Ok(value)
}

pub(super) fn too_big(text: &str) -> NumberProblem {
    NumberProblem {
        code: Code::TooLarge,
        message: format!(
            "number is too large: `{}`, expected at most 10^{GREATEST_POWER} in base units",
            short(text)
        ),
        hint: "base units are s, mL, g, cm2, mm, W; is the unit right, and the number of zeros?"
            .into(),
    }
}

fn too_long(text: &str, found: &str) -> NumberProblem {
    NumberProblem {
        code: Code::TooLong,
        message: format!(
            "number is too long: `{}` has {found}, expected at most {MOST_DIGITS}",
            short(text)
        ),
        hint: "round it to what can be measured".into(),
    }
}

/// A text for a message, cut where it is long.
pub(super) fn short(text: &str) -> String {
    const MOST: usize = 60;
    let text = text.trim();
    match text.char_indices().nth(MOST) {
        Some((at, _)) => format!("{}...", &text[..at]),
        None => text.to_string(),
    }
}

fn no_number(text: &str, unsigned: &str) -> NumberProblem {
    let lower = unsigned.to_lowercase();
    let first = lower.split_whitespace().next().unwrap_or_default();
    if matches!(first, "nan" | "inf" | "infinity" | "∞") {
        return NumberProblem {
            code: Code::NotFinite,
            message: format!("number is not finite: `{}`", short(text)),
            hint: "write a number, or leave the key or cell out".into(),
        };
    }
    let hint = if unsigned.starts_with(['$', '€', '£', '¥']) {
        "leave the currency sign out: the currency is stated once by `currency`"
    } else {
        "write a number, with a unit where one is needed: `1.5 L`, `20 min`, `30 per h`"
    };
    let message = if text.is_empty() {
        "expected a number, found nothing".to_string()
    } else {
        format!("expected a number, found `{}`", short(text))
    };
    NumberProblem { code: Code::BadNumber, message, hint: hint.into() }
}

/// A word on a token that has digits but is not a plain numeral.
fn separated(text: &str, token: &str) -> NumberProblem {
    let commas = token.matches(',').count();
    let points = token.matches('.').count();
    let comma_is_last = token.rfind(',') > token.rfind('.');
    let whole = token.split('.').next().unwrap_or_default();
    if commas == 1
        && comma_is_last
        && !token.ends_with(',')
        && (points > 0 || !could_be_thousands(token))
    {
        return decimal_comma(text, token);
    }
    if commas == 1 && points == 0 && could_be_thousands(token) {
        return either_comma(text, token);
    }
    let groups = match (commas, points) {
        (1.., 0 | 1) if !comma_is_last && grouped(whole, ',') => ",",
        (2.., 0) if grouped(token, ',') => ",",
        (0, 2..) if grouped(token, '.') => ".",
        (0, 0 | 1) if blanks_grouped(whole) => "'’_ \u{a0}\u{2009}\u{202f}",
        _ => {
            return NumberProblem {
                code: Code::BadNumber,
                message: format!("expected a number, found `{}`", short(text)),
                hint: "write digits with at most one decimal point, such as `1.5`".into(),
            };
        }
    };
    thousands(text, token, groups)
}

fn instead(text: &str, token: &str, found: (Code, &str), plain: &str) -> NumberProblem {
    NumberProblem {
        code: found.0,
        message: format!("{} in `{}`", found.1, short(text)),
        hint: format!("write `{}`", short(&text.replacen(token, plain, 1))),
    }
}

fn thousands(text: &str, token: &str, separators: &str) -> NumberProblem {
    let plain: String = token.chars().filter(|c| !separators.contains(*c)).collect();
    instead(text, token, (Code::ThousandsSeparator, "separator between thousands"), &plain)
}

fn decimal_comma(text: &str, token: &str) -> NumberProblem {
    let digits: String = token.chars().filter(|c| c.is_ascii_digit() || *c == ',').collect();
    instead(text, token, (Code::DecimalComma, "decimal comma"), &digits.replace(',', "."))
}

/// `1,000` may mean a thousand or one: the hint names both.
fn either_comma(text: &str, token: &str) -> NumberProblem {
    let mut problem = thousands(text, token, ",");
    let decimal = text.replacen(token, &token.replace(',', "."), 1);
    problem.hint =
        format!("{}, or `{}` if a decimal comma was meant", problem.hint, short(&decimal));
    problem
}

/// `1,000` could be a thousand; `0,125` and `1,5` could not.
fn could_be_thousands(token: &str) -> bool {
    grouped(token, ',') && !token.starts_with('0')
}

/// One to three digits, then one or more groups of three.
fn grouped(token: &str, separator: char) -> bool {
    let digits = |group: &str| group.bytes().all(|b| b.is_ascii_digit());
    token.split_once(separator).is_some_and(|(head, tail)| {
        let tail_fits = tail.split(separator).all(|group| group.len() == 3 && digits(group));
        (1..=3).contains(&head.len()) && digits(head) && tail_fits
    })
}

fn blanks_grouped(whole: &str) -> bool {
    let unified: String = whole.chars().map(|c| if c.is_ascii_digit() { c } else { ' ' }).collect();
    grouped(&unified, ' ')
}
