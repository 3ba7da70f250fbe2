//! What it has cost if the work ends sooner or later than planned.

use crate::model::Money;

/// The cost of every plan if the work ends after `n` iterations, the final included where one is asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StopRow {
    /// The count.
    pub n: u32,
    /// Avoidable cost of each plan, by index into [`crate::analysis::Answer::plans`].
    pub costs: Vec<Money>,
    /// The cheapest plan there.
    pub cheapest: usize,
}

/// The counts looked at: 1, 2, 3, planned, one and a half times planned (rounded up) and twice planned, within the horizon. Where
/// iterations are behind: as many as are `done`, one and two more, and the same of planned.
pub fn stop_counts(planned: u32, horizon: u32, done: u32) -> Vec<u32> {
    let half_more = planned.saturating_add(planned.div_ceil(2));
    let mut counts = vec![planned, half_more, planned.saturating_mul(2)];
    let first = done.max(1);
    counts.extend([first, first + 1, first + 2]);
    counts.retain(|&n| n <= horizon);
    counts.sort_unstable();
    counts.dedup();
    counts
}

/// The row of one count from each plan's cost there.
pub fn stop_row(n: u32, costs: Vec<Money>) -> Option<StopRow> {
    let cheapest = (0..costs.len()).min_by_key(|&i| (costs[i], i))?;
    Some(StopRow { n, costs, cheapest })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_and_a_half_is_rounded_up_and_the_horizon_ends_it() {
        assert_eq!(stop_counts(5, 24, 0), [1, 2, 3, 5, 8, 10]);
        assert_eq!(stop_counts(2, 24, 0), [1, 2, 3, 4]);
        assert_eq!(stop_counts(20, 24, 0), [1, 2, 3, 20]);
        assert_eq!(stop_counts(6, 24, 4), [4, 5, 6, 9, 12]);
    }
}
