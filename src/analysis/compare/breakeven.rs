//! Break-even: the counts at which the cheaper (or faster) of two plans changes.

use crate::analysis::follow::{CHEAPEST, PlanResult};
use crate::ledger::Total;
use crate::model::Exact;

/// What two plans are compared by.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum By {
    /// Avoidable cost.
    Avoidable,
    /// Outlay.
    Outlay,
    /// Days from start to in hand.
    Days,
}

impl By {
    /// The word used in files.
    pub fn name(self) -> &'static str {
        match self {
            By::Avoidable => "avoidable",
            By::Outlay => "outlay",
            By::Days => "days",
        }
    }
}

/// Where the curves of two plans cross.
#[derive(Clone, Debug, PartialEq)]
pub struct BreakEven {
    /// The first plan, by index into [`crate::analysis::Answer::plans`]; the cheaper at the planned count.
    pub a: usize,
    /// The second plan.
    pub b: usize,
    /// What is compared.
    pub by: By,
    /// Counts at which the order of the two changes.
    pub crossings: Vec<u32>,
    /// The real count at which two straight lines cross; `None` where the curves are not straight or are parallel.
    pub n_star: Option<Exact>,
    /// Counts at which the two differ by no more than `close` of the smaller.
    pub about_equal: Vec<u32>,
    /// The count from which one stays the cheaper to the horizon; `None` where they are equal throughout.
    pub stays_from: Option<u32>,
    /// The one that is cheaper from there on.
    pub cheaper_after: Option<usize>,
}

/// Compares every pair among the six cheapest plans by avoidable cost, outlay and days.
pub fn break_evens(plans: &[PlanResult], close: Exact) -> Vec<BreakEven> {
    let few = plans.len().min(CHEAPEST);
    let mut result = Vec::new();
    for a in 0..few {
        for b in a + 1..few {
            for by in [By::Avoidable, By::Outlay, By::Days] {
                result.push(compare(
                    (a, b),
                    by,
                    &curve(&plans[a], by),
                    &curve(&plans[b], by),
                    close,
                ));
            }
        }
    }
    result
}

fn curve(plan: &PlanResult, by: By) -> Vec<Exact> {
    match by {
        By::Avoidable => plan.curves.money(Total::Avoidable).iter().map(|m| m.exact()).collect(),
        By::Outlay => plan.curves.money(Total::Outlay).iter().map(|m| m.exact()).collect(),
        By::Days => plan.curves.seconds.iter().map(|&s| Exact::from(s)).collect(),
    }
}

fn compare((a, b): (usize, usize), by: By, x: &[Exact], y: &[Exact], close: Exact) -> BreakEven {
    let mut crossings = Vec::new();
    let mut sign = std::cmp::Ordering::Equal;
    for (n, (x, y)) in (1u32..).zip(x.iter().zip(y)) {
        let now = x.cmp(y);
        // Leading ties take the first sign met; later ties keep the sign before them.
        if now.is_eq() || now == sign {
            continue;
        }
        if sign.is_ne() {
            crossings.push(n);
        }
        sign = now;
    }
    let about_equal = (1u32..)
        .zip(x.iter().zip(y))
        .filter(|(_, (x, y))| (**x - **y).abs() <= close * (**x).min(**y).abs())
        .map(|(n, _)| n)
        .collect();
    let stays_from = sign.is_ne().then(|| crossings.last().copied().unwrap_or(1));
    BreakEven {
        a,
        b,
        by,
        n_star: n_star(x, y),
        about_equal,
        stays_from,
        cheaper_after: stays_from.map(|_| if sign.is_lt() { a } else { b }),
        crossings,
    }
}

/// N* = (F_b - F_a) / (v_a - v_b) of two straight lines F + v n; `None` if a curve is not straight or they are parallel. Below 1 one of
/// them is cheaper at every count.
fn n_star(x: &[Exact], y: &[Exact]) -> Option<Exact> {
    let ((fixed_x, each_x), (fixed_y, each_y)) = (straight(x)?, straight(y)?);
    if each_x == each_y {
        return None;
    }
    Some((fixed_y - fixed_x) / (each_x - each_y))
}

/// Fixed part and increment of a straight curve of at least two points.
fn straight(curve: &[Exact]) -> Option<(Exact, Exact)> {
    let each = *curve.get(1)? - curve[0];
    let is_straight = curve.windows(2).all(|w| w[1] - w[0] == each);
    is_straight.then_some((curve[0] - each, each))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve(values: &[i64]) -> Vec<Exact> {
        values.iter().map(|&v| Exact::from(v)).collect()
    }

    fn crossings(x: &[i64], y: &[i64]) -> (Vec<u32>, Option<u32>, Option<usize>) {
        let c = compare((0, 1), By::Avoidable, &curve(x), &curve(y), Exact::ZERO);
        (c.crossings, c.stays_from, c.cheaper_after)
    }

    #[test]
    fn leading_ties_take_the_first_sign_and_a_tie_keeps_the_earlier() {
        assert_eq!(crossings(&[1, 2, 3], &[1, 2, 2]), (vec![], Some(1), Some(1)));
        assert_eq!(crossings(&[1, 3, 4, 4], &[2, 3, 3, 5]), (vec![3, 4], Some(4), Some(0)));
        assert_eq!(crossings(&[1, 3, 3], &[2, 3, 4]), (vec![], Some(1), Some(0)));
        assert_eq!(crossings(&[1, 2], &[1, 2]), (vec![], None, None));
    }

    #[test]
    fn straight_lines_cross_at_n_star() {
        // 21000 + 21.29 n against 526.31 n: 41.58 (Atzeni & Salmi 2012, from memory).
        let cents = |f: i64, v: i64| curve(&(1..=60).map(|n| f + v * n).collect::<Vec<_>>());
        let n = n_star(&cents(2_100_000, 2_129), &cents(0, 52_631)).expect("they meet");
        assert_eq!(n.half_away(2).to_string(), "41.58");
        assert_eq!(n_star(&cents(0, 5), &cents(10, 5)), None);
        assert_eq!(n_star(&curve(&[1, 2, 4]), &curve(&[3, 4, 5])), None);
    }
}
