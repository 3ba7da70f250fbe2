//! Figures in words: money in whole units, quantities, days, dates, lists. For people; files take exact figures.

use crate::model::{
    DAY, Exact, HOUR, MILLION, Moment, Money, Scenario, day_of, second_of_day, weekday,
};
use crate::plan::Shop;

/// Totals below this many units of the currency are shown with decimals.
const SMALL: i64 = 100;
/// Between groups of three digits: a narrow space at which no line breaks.
const GROUP: char = '\u{202f}';
/// Days in a month where no calendar month is known.
const DAYS_PER_MONTH: i64 = 28;

/// Turns figures of one scenario into text.
#[derive(Clone, Copy, Debug)]
pub struct Words<'s> {
    scenario: &'s Scenario,
    start: Moment,
    decimals: u32,
}

impl<'s> Words<'s> {
    /// Words for a scenario whose largest total is given: money has decimals only where totals are small.
    pub fn new(shop: &Shop<'s>, largest: Money) -> Words<'s> {
        let small = largest.exact().abs() < Exact::from(SMALL);
        let decimals = if small { shop.scenario.minor() } else { 0 };
        Words { scenario: shop.scenario, start: shop.start, decimals }
    }

    /// An amount of money without its currency: `1234`, `12 345`, or `3.20` where totals are small.
    pub fn money(&self, amount: Money) -> String {
        let text = amount.exact().to_money(self.decimals).text(self.decimals);
        let plain = text.trim_start_matches('-');
        let sign = if plain.len() < text.len() && plain.contains(|c| c != '0' && c != '.') {
            "-"
        } else {
            ""
        };
        format!("{sign}{}", grouped(plain))
    }

    /// A sampled amount, which is no exact sum: rounded as amounts are shown.
    pub fn about(&self, value: f64) -> String {
        let text = format!("{:.*}", self.decimals as usize, value.abs());
        let sign = if value < 0.0 && text.contains(|c| c != '0' && c != '.') { "-" } else { "" };
        format!("{sign}{}", grouped(&text))
    }

    /// Decimals of amounts as they are shown.
    pub fn decimals(&self) -> u32 {
        self.decimals
    }

    /// The currency's code.
    pub fn currency(&self) -> &'s str {
        &self.scenario.currencies[0].code
    }

    /// A date: `2026-04-07 (Tue)`, or `day 12` where no start is given.
    pub fn date(&self, moment: Moment) -> String {
        match self.scenario.start {
            Some(_) => dated(day_of(moment)),
            None => format!("day {}", self.day_number(moment)),
        }
    }

    /// A date for a column of a file: `2026-04-07`, or `day 12`.
    pub fn plain_date(&self, moment: Moment) -> String {
        match self.scenario.start {
            Some(_) => crate::analysis::date_text(day_of(moment)),
            None => format!("day {}", self.day_number(moment)),
        }
    }

    /// A month for a column of a file: `2026-04`, or `month 1` (28 days each).
    pub fn month(&self, moment: Moment) -> String {
        match self.scenario.start {
            Some(_) => crate::analysis::date_text(day_of(moment)).chars().take(7).collect(),
            None => {
                format!("month {}", (self.day_number(moment) - 1).div_euclid(DAYS_PER_MONTH) + 1)
            }
        }
    }

    /// A moment to the minute as ISO 8601 text; `None` where no start is given.
    pub fn iso_minute(&self, moment: Moment) -> Option<String> {
        self.scenario.start?;
        let second = second_of_day(moment);
        let (hour, minute) = (second / HOUR, second % HOUR / 60);
        Some(format!("{}T{hour:02}:{minute:02}", crate::analysis::date_text(day_of(moment))))
    }

    /// Days from the start: 1 is the day of the first release.
    fn day_number(&self, moment: Moment) -> i64 {
        day_of(moment) - day_of(self.start) + 1
    }
}

/// A day as `2026-04-07 (Tue)`.
pub fn dated(day: i64) -> String {
    const NAMES: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];
    format!("{} ({})", crate::analysis::date_text(day), NAMES[weekday(day)])
}

pub(super) fn grouped(plain: &str) -> String {
    let whole = plain.find('.').unwrap_or(plain.len());
    if whole <= 4 {
        return plain.to_owned();
    }
    let mut text = String::with_capacity(plain.len() + whole / 3);
    for (at, c) in plain.chars().enumerate() {
        if at > 0 && at < whole && (whole - at).is_multiple_of(3) {
            text.push(GROUP);
        }
        text.push(c);
    }
    text
}

/// Days with one decimal, from seconds.
pub fn days_text(seconds: i64) -> String {
    fixed(Exact::from(seconds) / Exact::from(DAY), 1)
}

/// A number with a fixed count of decimals, rounded half away from zero.
pub fn fixed(value: Exact, decimals: u32) -> String {
    value.to_money(decimals).text(decimals)
}

/// Millilitres as text without the unit, from millionths: whole from 10 on, else one decimal.
pub fn millilitres(millionths: i64) -> String {
    let decimals = u32::from(millionths.abs() < 10 * MILLION && millionths != 0);
    grouped(&fixed(Exact::from_millionths(millionths), decimals))
}

/// A share as a whole percentage: `12 %`; what is not nothing is never shown as nothing.
pub fn percent(share: f64) -> String {
    let whole = (share * 100.0).round();
    if share > 0.0 && whole < 1.0 { "under 1 %".to_owned() } else { format!("{whole:.0} %") }
}

/// A text with its first letter as a capital.
pub fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or(String::new(), |first| first.to_uppercase().chain(chars).collect())
}

/// `a`, `a and b`, `a, b and c`.
pub fn listed<S: AsRef<str>>(words: &[S]) -> String {
    match words {
        [] => String::new(),
        [only] => only.as_ref().to_owned(),
        [head @ .., last] => {
            let head: Vec<&str> = head.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", head.join(", "), last.as_ref())
        }
    }
}

/// Rising counts, runs drawn together: `1-3, 5, 7-9`.
pub fn runs(counts: &[u32]) -> String {
    let mut runs: Vec<(u32, u32)> = Vec::new();
    for &n in counts {
        match runs.last_mut() {
            Some(run) if run.1.checked_add(1) == Some(n) => run.1 = n,
            _ => runs.push((n, n)),
        }
    }
    let texts: Vec<String> = runs
        .into_iter()
        .map(|(from, to)| if from == to { from.to_string() } else { format!("{from}-{to}") })
        .collect();
    texts.join(", ")
}

/// The letter a ranked plan is called by: A is the cheapest; after Z come AA, AB.
pub fn letter(index: usize) -> String {
    let last = ('A'..='Z').nth(index % 26).unwrap_or('A');
    match index / 26 {
        0 => last.to_string(),
        before => format!("{}{last}", letter(before - 1)),
    }
}

/// `one iteration`, `6 iterations`.
pub fn iterations(count: u32) -> String {
    if count == 1 { "1 iteration".to_owned() } else { format!("{count} iterations") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_grouped_from_ten_thousand() {
        assert_eq!(grouped("1234"), "1234");
        assert_eq!(grouped("12345"), "12\u{202f}345");
        assert_eq!(grouped("1234567.50"), "1\u{202f}234\u{202f}567.50");
    }

    #[test]
    fn letters_go_on_after_z() {
        let all: Vec<String> = [0, 1, 25, 26, 27, 701, 702].map(letter).to_vec();
        assert_eq!(all, ["A", "B", "Z", "AA", "AB", "ZZ", "AAA"]);
    }

    #[test]
    fn runs_and_lists() {
        assert_eq!(runs(&[1, 2, 3, 5, 7, 8]), "1-3, 5, 7-8");
        assert_eq!(runs(&[]), "");
        assert_eq!(listed(&["a", "b", "c"]), "a, b and c");
        assert_eq!(listed(&["a"]), "a");
    }

    #[test]
    fn small_figures_keep_a_decimal() {
        assert_eq!(millilitres(9_960_000), "10.0");
        assert_eq!(millilitres(0), "0");
        assert_eq!(millilitres(123_456_789), "123");
        assert_eq!(percent(0.004), "under 1 %");
        assert_eq!(percent(0.0), "0 %");
        assert_eq!(percent(0.125), "13 %");
        assert_eq!(days_text(DAY * 3 / 2), "1.5");
    }

    #[test]
    fn a_date_tells_its_weekday() {
        // 2026-04-07 is day 20550 since 1970-01-01, a Tuesday.
        assert_eq!(dated(20_550), "2026-04-07 (Tue)");
    }
}
