//! Days on an axis, with their dates.

use super::super::Subject;
use crate::model::{DAY, day_of};

/// Steps between two dates on an axis, in days: weeks where they are long enough.
const STEPS: [i64; 12] = [1, 2, 7, 14, 28, 56, 91, 182, 364, 728, 1820, 3640];

/// Round days from the start on, as the axis counts them (0 is the first release), with their dates.
pub(super) fn day_ticks(subject: &Subject, days: f64, most: f64) -> Vec<(f64, String)> {
    let wanted = days / most.max(1.0);
    let step = STEPS.into_iter().find(|s| *s as f64 >= wanted).unwrap_or(36_400);
    let start = subject.shop.start;
    let first = day_of(start);
    (0..60i64)
        .map(|index| first + index * step)
        .map(|day| (((day * DAY - start) as f64 / DAY as f64).max(0.0), day))
        .take_while(|(at, _)| *at <= days)
        .map(|(at, day)| (at, name(subject, day, step)))
        .collect()
}

/// `2 Mar`, with the year where steps are long; `day 15` without a start.
fn name(subject: &Subject, day: i64, step: i64) -> String {
    if subject.scenario().start.is_none() {
        return format!("day {}", day - day_of(subject.shop.start) + 1);
    }
    let date = i32::try_from(day).ok().and_then(chrono::NaiveDate::from_epoch_days);
    let form = if step < 91 { "%-d %b" } else { "%b %Y" };
    date.map_or(String::new(), |date| date.format(form).to_string())
}

/// Counts at an axis of iterations: the first, then round ones.
pub(super) fn count_ticks(horizon: u32) -> Vec<(f64, String)> {
    let step = [1u32, 2, 5, 10, 20, 50, 100, 200].into_iter().find(|s| horizon / s <= 12);
    let step = step.unwrap_or(500);
    let round = (1..=horizon / step).map(|n| n * step).filter(|n| *n > 1);
    std::iter::once(1).chain(round).map(|n| (f64::from(n), n.to_string())).collect()
}

#[cfg(test)]
mod tests {
    use super::count_ticks;

    #[test]
    fn counts_are_round_and_begin_at_one() {
        let at = |horizon| -> Vec<f64> { count_ticks(horizon).iter().map(|t| t.0).collect() };
        assert_eq!(at(6), [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]);
        assert_eq!(
            at(24),
            [1.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0, 18.0, 20.0, 22.0, 24.0]
        );
        assert_eq!(at(1), [1.0]);
        assert_eq!(at(200).len(), 11);
    }
}
