//! How often the design turns: `[iterations]`.

use crate::diag::{Code, Diagnostic, Place};
use crate::input::Quantity;
use crate::model::resolve::keys::{ITERATIONS, NumberKind, PLANNED};
use crate::model::resolve::limits;
use crate::model::resolve::reading::{Lit, Load, One, Spread, Table};
use crate::model::{CountDraw, Dim, EVALUATE, Exact, Input, Iterations, REDESIGN, Varies};

/// The horizon is never shorter by itself.
const SHORTEST_HORIZON: i64 = 24;

/// Low, likely and high of the planned count, and how it is drawn.
#[derive(Clone)]
struct Count {
    low: i64,
    likely: i64,
    high: i64,
    drawn: CountDraw,
}

impl Count {
    fn certain(n: i64) -> Count {
        Count::between(n, n, n)
    }

    fn between(low: i64, likely: i64, high: i64) -> Count {
        Count { low, likely, high, drawn: CountDraw::Spread }
    }
}

/// Reads `[iterations]`; `again` is the count asked for on the command line.
pub fn iterations(load: &mut Load, top: &mut Table, again: Option<u32>) -> Iterations {
    let one = top.one("iterations");
    if one.is_none() {
        let hint = "add `[iterations]` with `planned = 6`";
        top.lacks(load, Code::MissingTable, "iterations", hint);
    }
    let nothing = One { place: top.place, lit: Lit::Table(&[]) };
    let lacking = one.is_none();
    let table = Table::new(load, one.unwrap_or(nothing), ITERATIONS, "`[iterations]`")
        .or_else(|| Table::new(load, nothing, ITERATIONS, "`[iterations]`"))
        .expect("an empty table is a table");
    let mut table = table.at("iterations".to_owned());
    let (count, source) = planned(load, &mut table, again, lacking);
    let horizon = horizon(load, &mut table, &count, again);
    let overlap = table.default_of(load, "overlap", Dim::Share, Exact::ZERO);
    Iterations {
        planned: load.add(Input {
            address: table.address_of("planned"),
            source,
            dim: Dim::Count,
            low: count.low.into(),
            likely: count.likely.into(),
            high: count.high.into(),
            varies: Varies::Once,
            assumed: false,
        }),
        drawn: count.drawn,
        horizon,
        evaluate: table.number_or_assumed(load, &EVALUATE),
        redesign: table.number_or_assumed(load, &REDESIGN),
        overlap: table.number_or(load, "overlap", overlap),
        delay_cost_per_day: table.number(load, "delay_cost_per_day"),
    }
}

fn planned(
    load: &mut Load,
    table: &mut Table,
    again: Option<u32>,
    lacking: bool,
) -> (Count, crate::model::SourceId) {
    let typed = load.typed(&table.address_of("planned"));
    let stated = table.one("planned");
    let typed = typed.as_deref().map(|text| One {
        place: stated.map_or(table.place, |one| one.place),
        lit: Lit::Number(text),
    });
    let one = typed.or(stated);
    let mut count = one.and_then(|one| match one.lit {
        Lit::Table(_) => planned_table(load, one),
        _ => whole_count(load, one)
            .map(|n| Count::between(n.div_euclid(2) + n.rem_euclid(2), n, 2 * n)),
    });
    let mut source = match one {
        Some(one) => table.source_of(load, "planned", one.place),
        None => load.source("default: planned".to_owned(), None),
    };
    if one.is_none() && again.is_none() && !lacking {
        table.missing(
            load,
            "planned",
            "state how many iterations you expect, such as `planned = 6`",
        );
    }
    if let Some(n) = again {
        count = Some(Count::certain(i64::from(n).clamp(1, limits::HORIZON)));
        source = load.source("--iterations".to_owned(), None);
    }
    (count.unwrap_or(Count::certain(1)), source)
}

/// A count of iterations: at least 1.
fn whole_count(load: &mut Load, one: One) -> Option<i64> {
    if let Lit::Number(text) = one.lit
        && text.trim_start_matches('+').trim_matches(['0', '.']).is_empty()
    {
        load.error(Code::TooFewIterations, one.place, "zero iterations", "plan at least 1");
        return None;
    }
    one.whole(load, 1, limits::HORIZON)
}

fn planned_table(load: &mut Load, one: One) -> Option<Count> {
    let mut table = Table::new(load, one, PLANNED, "`planned`")?;
    let ways: Vec<&str> =
        ["likely", "accept_chance", "chances"].into_iter().filter(|k| table.has(k)).collect();
    if let [first, second, ..] = ways[..] {
        let places = (table.place_of(first), table.place_of(second));
        load.conflict(
            Code::ConflictingKeys,
            (first, places.0),
            (second, places.1),
            "state the count in one way and delete the other",
        );
        return None;
    }
    if let Some(chance) = table.one("accept_chance") {
        return accept_chance(load, chance, table);
    }
    if let Some(chances) = table.one("chances") {
        let count = count_table(load, chances);
        table.finish(load, "`chances` states the whole spread");
        return count;
    }
    let spread = Spread::in_table(load, &mut table)?;
    if let Some(varies) = spread.varies {
        // The count is of the project as a whole.
        varies.choice(load, "way to vary a count", &[("once", ())]);
    }
    let read = |load: &mut Load, one: One| whole_count(load, one);
    let likely = read(load, spread.likely);
    let low = spread.low.and_then(|o| read(load, o));
    let high = spread.high.and_then(|o| read(load, o));
    let likely = likely?;
    let count = Count::between(low.unwrap_or(likely), likely, high.unwrap_or(likely));
    if count.low > count.likely || count.likely > count.high {
        let message = "low, likely and high do not rise";
        load.error(
            Code::LowLikelyHigh,
            spread.likely.place,
            message,
            "low <= likely <= high is needed",
        );
    }
    Some(count)
}

/// `{ accept_chance = p }`: a geometric count, planned at 1/p rounded up.
fn accept_chance(load: &mut Load, chance: One, table: Table) -> Option<Count> {
    let (quantity, text) = chance.quantity(load)?;
    table.finish(load, "`accept_chance` states the whole spread");
    match NumberKind::Accept.take(&quantity, text) {
        Ok(taken) => {
            let n = (Exact::ONE / taken.value).ceil();
            if n > limits::HORIZON {
                let message = format!("an accept_chance of `{text}` means {n} iterations");
                load.error(
                    Code::TooLarge,
                    chance.place,
                    message,
                    format!("at most {} can be planned", limits::HORIZON),
                );
            }
            let drawn = CountDraw::Accepted(taken.value);
            Some(Count { drawn, ..Count::certain(n.clamp(1, limits::HORIZON)) })
        }
        Err(problem) => {
            load.log.push(problem.at(chance.place));
            None
        }
    }
}

/// `{ chances = { "4" = 0.3, "6" = 0.7 } }`: planned at the mean, rounded up.
fn count_table(load: &mut Load, one: One) -> Option<Count> {
    let Lit::Table(entries) = one.lit else {
        one.wrong_type(
            load,
            "a table of counts and chances",
            "write it such as `{ \"4\" = 0.3, \"6\" = 0.7 }`",
        );
        return None;
    };
    let (mut mean, mut sum) = (Exact::ZERO, Exact::ZERO);
    let mut rows: Vec<(u32, Exact)> = Vec::new();
    for entry in entries {
        let count =
            whole_count(load, One { place: &entry.key_place, lit: Lit::Number(&entry.key) });
        let chance = chance(load, One::from(&entry.node));
        let (count, chance) = (count?, chance?);
        mean = mean + Exact::from(count) * chance;
        sum = sum + chance;
        rows.push((u32::try_from(count).unwrap_or(u32::MAX), chance));
    }
    rows.sort_unstable_by_key(|r| r.0);
    if sum != Exact::ONE {
        let message = format!("the chances sum to {sum}, expected 1");
        load.error(
            Code::ConflictingNumbers,
            one.place,
            message,
            "correct them so that they sum to 1",
        );
        return None;
    }
    Some(Count { drawn: CountDraw::Table(rows), ..Count::certain(mean.ceil().max(1)) })
}

fn chance(load: &mut Load, one: One) -> Option<Exact> {
    let (quantity, text): (Quantity, &str) = one.quantity(load)?;
    match NumberKind::Share.take(&quantity, text) {
        Ok(taken) => Some(taken.value),
        Err(problem) => {
            load.log.push(problem.at(one.place));
            None
        }
    }
}

fn horizon(load: &mut Load, table: &mut Table, count: &Count, again: Option<u32>) -> u32 {
    let by_itself = SHORTEST_HORIZON.max(2 * count.likely).max(count.high).min(limits::HORIZON);
    let stated = table
        .one("horizon")
        .and_then(|one| Some((one.whole(load, 1, limits::HORIZON)?, one.place)));
    let value = match stated {
        None => by_itself,
        // `--iterations` asks about more than the file does: the horizon follows.
        Some((value, _)) if again.is_some() => value.max(count.likely),
        Some((value, place)) => {
            if value < count.likely {
                too_short(load, place, table.place_of("planned"), value, count.likely);
            }
            value.max(count.likely)
        }
    };
    u32::try_from(value).unwrap_or(1)
}

fn too_short(load: &mut Load, place: &Place, planned: &Place, value: i64, likely: i64) {
    let message = format!("horizon {value} is below the {likely} iterations planned");
    let finding =
        Diagnostic::error(Code::HorizonTooShort, place, message).see(planned, "planned here");
    load.log.push(finding.hint(format!("state at least {likely}, or delete it")));
}
