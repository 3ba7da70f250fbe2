//! Lists and ranges of numbers: `3,4,5`, `1..24`, `10..60/5 min`.
//!
//! Enters: the text. Leaves: the numbers in their order, with their one unit, or a sentence that says what is wrong.

use rust_decimal::Decimal;

use super::decimal::{Numeral, split_number};

/// The most numbers one series may have.
pub const SERIES_LIMIT: usize = 10_000;

/// Numbers with one unit.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Series {
    /// As written, in their order, each once.
    pub numbers: Vec<Decimal>,
    /// The unit of all; empty where none is written.
    pub unit: String,
}

impl Series {
    /// A number as it would stand in a file: `20 min`, `0.12`.
    pub fn text(&self, index: usize) -> String {
        let number = self.numbers[index].normalize();
        if self.unit.is_empty() { number.to_string() } else { format!("{number} {}", self.unit) }
    }
}

/// Reads numbers and ranges with commas between. `A..B` goes from A in steps of 1, `A..B/S` in steps of S, to the last that is not above B. A
/// unit stands behind any of them and holds for all.
///
/// # Errors
/// A sentence for whoever typed it.
pub fn read_series(text: &str) -> Result<Series, String> {
    let mut series = Series { numbers: Vec::new(), unit: String::new() };
    for item in text.split(',') {
        match item.split_once("..") {
            Some((from, rest)) => range(&mut series, item, (from, rest))?,
            None => {
                let number = number(&mut series, item)?;
                series.numbers.push(number);
            }
        }
        if series.numbers.len() > SERIES_LIMIT {
            return Err(too_many(text));
        }
    }
    let mut sorted = series.numbers.clone();
    sorted.sort_unstable();
    match sorted.windows(2).find(|pair| pair[0] == pair[1]) {
        Some(pair) => Err(format!("`{}` stands twice in `{text}`", pair[0].normalize())),
        None => Ok(series),
    }
}

fn too_many(text: &str) -> String {
    format!("`{text}` has more than {SERIES_LIMIT} values: take a larger step")
}

/// One number; its unit, if it has one, is that of all.
fn number(series: &mut Series, text: &str) -> Result<Decimal, String> {
    let Numeral { value, rest } = split_number(text).map_err(|problem| {
        format!("{}; write numbers such as `3,4,5`, `1..24` or `10..60/5 min`", problem.message)
    })?;
    if !rest.is_empty() {
        if series.unit.is_empty() {
            rest.clone_into(&mut series.unit);
        } else if series.unit != rest {
            return Err(format!("two units, `{}` and `{rest}`: write one, once", series.unit));
        }
    }
    Ok(value)
}

fn range(series: &mut Series, item: &str, (from, rest): (&str, &str)) -> Result<(), String> {
    let first = number(series, from)?;
    // A slash before a digit begins the step; any other is part of a unit, as in `g/mL`.
    let is_step = |&at: &usize| {
        rest[at + 1..].trim_start().starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c))
    };
    let slash = rest.match_indices('/').map(|(at, _)| at).find(is_step);
    let (to, step) = match slash {
        Some(at) => (number(series, &rest[..at])?, number(series, &rest[at + 1..])?),
        None => (number(series, rest)?, Decimal::ONE),
    };
    let item = item.trim();
    if step <= Decimal::ZERO {
        return Err(format!("the step of `{item}` is not above 0"));
    }
    if to < first {
        return Err(format!("`{item}` falls: write the smaller number first"));
    }
    let steps = (to - first).checked_div(step).map(|count| count.floor());
    let Some(steps) = steps.and_then(|count| usize::try_from(count).ok()) else {
        return Err(too_many(item));
    };
    if steps >= SERIES_LIMIT {
        return Err(too_many(item));
    }
    series.numbers.extend((0..=steps).map(|n| first + step * Decimal::from(n)));
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> (Vec<String>, String) {
        let series = read_series(text).unwrap_or_else(|why| panic!("{text}: {why}"));
        (series.numbers.iter().map(|n| n.normalize().to_string()).collect(), series.unit)
    }

    #[test]
    fn lists_and_ranges() {
        let cases: [(&str, &[&str], &str); 9] = [
            ("3,4,5", &["3", "4", "5"], ""),
            ("1..4", &["1", "2", "3", "4"], ""),
            ("10..60/25 min", &["10", "35", "60"], "min"),
            ("10..64/25min", &["10", "35", "60"], "min"),
            ("0..0.3/0.1", &["0", "0.1", "0.2", "0.3"], ""),
            ("20 .. 22 per h", &["20", "21", "22"], "per h"),
            ("1.0..1.1/0.05 g/mL", &["1", "1.05", "1.1"], "g/mL"),
            ("8, 1..3, 12 h", &["8", "1", "2", "3", "12"], "h"),
            ("5..5", &["5"], ""),
        ];
        for (text, numbers, unit) in cases {
            assert_eq!(
                read(text),
                (numbers.iter().map(ToString::to_string).collect(), unit.into())
            );
        }
        let series = read_series("5..6 min").expect("a range");
        assert_eq!(series.text(1), "6 min");
    }

    #[test]
    fn what_is_no_series_is_told() {
        for (text, told) in [
            ("", "expected a number"),
            ("3,,4", "expected a number"),
            ("3..", "expected a number"),
            ("5..3", "falls"),
            ("1..3/0", "not above 0"),
            ("1..3/-1", "not above 0"),
            ("1 h..3 min", "two units"),
            ("3,3.0", "twice"),
            ("1..3,2", "twice"),
            ("0..1/0.000001", "more than 10000"),
            ("1..1e12", "more than 10000"),
        ] {
            let why = read_series(text).expect_err(text);
            assert!(why.contains(told), "{text}: {why}");
        }
    }
}
