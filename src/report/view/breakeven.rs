//! Break-even in plain sentences, from the raw crossings.

use super::NameOf;
use crate::analysis::{BreakEven, By};
use crate::model::Exact;
use crate::report::runs;

/// What to call the better one.
fn better(by: By) -> &'static str {
    match by {
        By::Avoidable | By::Outlay => "cheaper",
        By::Days => "faster",
    }
}

/// One pair in a sentence without its full stop: `B is cheaper up to 3, A stays cheaper from 4`.
pub fn pair_sentence(pair: &BreakEven, name: NameOf, horizon: u32) -> String {
    let all_equal = pair.about_equal.len() == horizon as usize;
    let (Some(from), Some(after)) = (pair.stays_from, pair.cheaper_after) else {
        return format!("{} and {} are equal throughout", name(pair.a), name(pair.b));
    };
    let other = if after == pair.a { pair.b } else { pair.a };
    let word = better(pair.by);
    let mut said = match pair.crossings.as_slice() {
        [] => format!("{} is {word} than {} at every count to {horizon}", name(after), name(other)),
        [_] => format!(
            "{} is {word} up to {}, {} stays {word} from {from}",
            name(other),
            from - 1,
            name(after)
        ),
        many => several(pair, many, after, name),
    };
    if all_equal {
        said.push_str(" (about equal)");
    } else if !pair.about_equal.is_empty() {
        said.push_str(&format!(" (about equal at {})", runs(&pair.about_equal)));
    }
    if let Some(n) = pair.n_star.filter(|&n| n >= Exact::ONE) {
        said.push_str(&format!("; straight lines meet at {}", n.half_away(2)));
    }
    said
}

/// The one that leads first, then each change.
fn several(pair: &BreakEven, crossings: &[u32], after: usize, name: NameOf) -> String {
    let other = if after == pair.a { pair.b } else { pair.a };
    let word = better(pair.by);
    let last = crossings.len() - 1;
    // Leaders alternate; counted back from the end, the last is known.
    let leader = |back: usize| if back.is_multiple_of(2) { after } else { other };
    let mut said = format!("{} is {word} at first", name(leader(crossings.len())));
    for (at, n) in crossings.iter().enumerate() {
        let who = name(leader(last - at));
        if at == last {
            said.push_str(&format!(", {who} stays {word} from {n}"));
        } else {
            said.push_str(&format!(", {who} from {n}"));
        }
    }
    said
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::letter;

    fn pair(crossings: &[u32], stays_from: Option<u32>, cheaper_after: Option<usize>) -> BreakEven {
        BreakEven {
            a: 0,
            b: 1,
            by: By::Avoidable,
            crossings: crossings.to_vec(),
            n_star: None,
            about_equal: Vec::new(),
            stays_from,
            cheaper_after,
        }
    }

    fn said(pair: &BreakEven) -> String {
        pair_sentence(pair, &letter, 24)
    }

    #[test]
    fn from_none_to_many_crossings() {
        assert_eq!(said(&pair(&[], None, None)), "A and B are equal throughout");
        assert_eq!(said(&pair(&[], Some(1), Some(1))), "B is cheaper than A at every count to 24");
        assert_eq!(
            said(&pair(&[4], Some(4), Some(0))),
            "B is cheaper up to 3, A stays cheaper from 4"
        );
        assert_eq!(
            said(&pair(&[3, 5], Some(5), Some(0))),
            "A is cheaper at first, B from 3, A stays cheaper from 5"
        );
        assert_eq!(
            said(&pair(&[2, 3, 5], Some(5), Some(0))),
            "B is cheaper at first, A from 2, B from 3, A stays cheaper from 5"
        );
    }

    #[test]
    fn about_equal_counts_are_named_as_runs() {
        let near = BreakEven { about_equal: vec![3, 4, 5, 8], ..pair(&[4], Some(4), Some(1)) };
        assert_eq!(
            said(&near),
            "A is cheaper up to 3, B stays cheaper from 4 (about equal at 3-5, 8)"
        );
        let all = BreakEven {
            about_equal: (1..=24).collect(),
            by: By::Days,
            ..pair(&[], Some(1), Some(0))
        };
        assert_eq!(said(&all), "A is faster than B at every count to 24 (about equal)");
    }
}
