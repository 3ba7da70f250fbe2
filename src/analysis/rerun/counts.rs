//! How many iterations there will be, now that some are behind.

use super::turns::Turn;
use crate::model::{
    CountDraw, Dim, Exact, Happened, Input, Outcome, PartId, Scenario, Slot, SourceId, limits,
};

/// What the record says of the count.
#[derive(Clone, Copy, Debug)]
pub(super) struct Progress {
    /// Iterations that are behind.
    pub done: u32,
    /// Those among them that told nothing of the design.
    pub failed: u32,
    /// True where the design is accepted.
    pub accepted: bool,
}

impl Progress {
    /// What the iterations that are behind say.
    pub fn of(done: &[Turn]) -> Progress {
        let is = |turn: &&Turn, outcome: Outcome| turn.outcome.is_some_and(|o| o.0 == outcome);
        let count = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        Progress {
            done: count(done.len()),
            failed: count(done.iter().filter(|t| is(t, Outcome::Failed)).count()),
            accepted: done.last().is_some_and(|t| is(&t, Outcome::Accepted)),
        }
    }
}

/// Puts the count that is to be expected now in the place of the planned one. Iterations that told nothing of the design are made once more; an
/// accepted design needs no other. `asked` is the count of the command line: it stands, but not below what is behind.
pub(super) fn expect(scenario: &mut Scenario, turns: &[Turn], now: Progress, asked: Option<u32>) {
    let slot = scenario.iterations.planned;
    let input = scenario.slots.get(slot).clone();
    let [low, likely, high] = [input.low, input.likely, input.high].map(Exact::to_whole);
    let (done, failed) = (i64::from(now.done), i64::from(now.failed));
    let least = done + 1;
    let (low, likely, high) = match (asked, &scenario.iterations.drawn) {
        (Some(n), _) => {
            let n = i64::from(n).max(done).max(1);
            (n, n, n)
        }
        _ if now.accepted => (done, done, done),
        // Accepted with a chance each time: what is behind says nothing of what is to come.
        (None, CountDraw::Accepted(chance)) if done > 0 => {
            let n = done + (Exact::ONE / *chance).ceil().max(1);
            (n, n, n)
        }
        (None, CountDraw::Table(rows)) if done > 0 => {
            let rows = rows_after(rows, now.done, now.failed);
            let n = mean(&rows).max(least);
            scenario.iterations.drawn = match rows.is_empty() {
                true => CountDraw::Spread,
                false => CountDraw::Table(rows),
            };
            (n, n, n)
        }
        _ => {
            let at_least = |n: i64| (n + failed).max(least);
            (at_least(low), at_least(likely), at_least(high))
        }
    };
    if asked.is_some() || now.accepted {
        scenario.iterations.drawn = CountDraw::Spread;
    }
    let [low, likely, high] = [low, likely, high].map(|n| n.clamp(1, limits::HORIZON));
    let planned = scenario.slots.get_mut(slot);
    (planned.low, planned.likely, planned.high) = (low.into(), likely.into(), high.into());
    let needed = u32::try_from(likely).unwrap_or(1);
    scenario.iterations.horizon = scenario.iterations.horizon.max(needed);
    own_counts(scenario, turns, failed, likely);
}

/// The rows of a table of counts that are still possible, their chances again summing to 1.
fn rows_after(rows: &[(u32, Exact)], done: u32, failed: u32) -> Vec<(u32, Exact)> {
    let later = rows.iter().map(|&(n, chance)| (n + failed, chance)).filter(|r| r.0 > done);
    let left: Vec<(u32, Exact)> = later.collect();
    let sum: Exact = left.iter().map(|r| r.1).sum();
    if sum.is_zero() {
        return Vec::new();
    }
    left.into_iter().map(|(n, chance)| (n, chance / sum)).collect()
}

fn mean(rows: &[(u32, Exact)]) -> i64 {
    rows.iter().map(|&(n, chance)| Exact::from(i64::from(n)) * chance).sum::<Exact>().ceil()
}

/// Counts of single parts: an accepted part is not made again, one that must be designed again is made at least once more.
fn own_counts(scenario: &mut Scenario, turns: &[Turn], failed: i64, planned: i64) {
    for part in (0..scenario.parts.len()).map(PartId::at) {
        let word = |turn: &Turn| {
            let of_part = turn.lines.iter().rev().filter(|line| line.is_outcome());
            let mut of_part = of_part.filter(|line| line.part == Some(part));
            of_part.next().map(|line| (turn.n, line.what, line.source))
        };
        let said = turns.iter().rev().find_map(word);
        let own = scenario.part(part).iterations;
        let count = own.map(|slot| scenario.slots.likely(slot).to_whole() + failed);
        let count = match (said, count) {
            (Some((n, Happened::Accepted, source)), _) => Some((i64::from(n), Some(source))),
            (Some((n, _, source)), Some(count)) => {
                Some((count.max(i64::from(n) + 1), Some(source)))
            }
            (_, count) => count.map(|count| (count, None)),
        };
        if let Some((count, source)) = count {
            set_count(scenario, (part, own), count.clamp(1, planned.max(1)), source);
        }
    }
}

fn set_count(
    scenario: &mut Scenario,
    (part, own): (PartId, Option<Slot>),
    count: i64,
    source: Option<SourceId>,
) {
    let value = Exact::from(count);
    match own {
        Some(slot) => {
            let input = scenario.slots.get_mut(slot);
            (input.low, input.likely, input.high) = (value, value, value);
        }
        None => {
            let address = format!("part[{}].iterations", scenario.part(part).name);
            let source = source.unwrap_or(SourceId(0));
            let slot = scenario.slots.add(Input::certain(address, source, Dim::Count, value));
            scenario.parts[part.index()].iterations = Some(slot);
        }
    }
}
