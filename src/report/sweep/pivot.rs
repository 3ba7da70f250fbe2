//! The pivot of a sweep: which plan the verdict names, over the first two things that differ from point to point.
//!
//! Enters: the rows as they come. Leaves: a table for a terminal, and a CSV file with every cell. Scenarios come first where there are several, then
//! the inputs in the order in which they were given.

use std::collections::BTreeMap;

use super::SweepRows;
use crate::analysis::{Vary, Words};
use crate::report::csv::{finished, neutral, writer};
use crate::report::{Section, View, letter, percent};

/// The most rows and columns that a terminal shows.
const MOST: [usize; 2] = [30, 10];
/// The most cells of a pivot.
const MOST_CELLS: usize = 4_000_000;

/// What differs from point to point.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Source {
    Scenario,
    Input(usize),
}

/// A direction of the table.
#[derive(Clone, Debug)]
struct Side {
    source: Source,
    name: String,
    values: Vec<String>,
}

/// How often each plan is the verdict's in a cell; `None` stands for points without one.
#[derive(Clone, Debug, Default)]
struct Cell {
    won: Vec<(Option<u32>, u32)>,
    /// Avoidable cost of the verdict's plan at the last point.
    avoidable: Option<String>,
}

impl Cell {
    fn points(&self) -> u32 {
        self.won.iter().map(|w| w.1).sum()
    }

    /// What most points name; of equals the one met first.
    fn most(&self) -> Option<(Option<u32>, u32)> {
        self.won.iter().copied().reduce(|best, next| if next.1 > best.1 { next } else { best })
    }
}

/// Counts of verdicts.
#[derive(Clone, Debug)]
pub struct Pivot {
    sides: Vec<Side>,
    /// Inputs that vary beside the sides.
    beside: usize,
    plans: Words,
    cells: BTreeMap<(u32, u32), Cell>,
    points: u64,
}

impl Pivot {
    /// Begins; `None` where it would have too many cells.
    pub fn new(scenarios: &[String], varied: &[Vary], columns: &[String]) -> Option<Pivot> {
        let mut sides: Vec<Side> = Vec::new();
        if scenarios.len() > 1 {
            let (source, name) = (Source::Scenario, "scenario".to_owned());
            sides.push(Side { source, name, values: scenarios.to_vec() });
        }
        for (index, (vary, name)) in varied.iter().zip(columns).enumerate() {
            let numbers = &vary.series.numbers;
            if numbers.len() > 1 {
                let values = numbers.iter().map(|n| n.normalize().to_string()).collect();
                sides.push(Side { source: Source::Input(index), name: name.clone(), values });
            }
        }
        let beside = sides.len().saturating_sub(2);
        sides.truncate(2);
        let cells = sides.iter().fold(1usize, |n, side| n.saturating_mul(side.values.len()));
        (cells <= MOST_CELLS).then(|| Pivot {
            sides,
            beside,
            plans: Words::default(),
            cells: BTreeMap::new(),
            points: 0,
        })
    }

    /// Counts a stretch of rows of the scenario with this number. A stretch holds all rows of its points.
    pub fn add(&mut self, scenario: usize, rows: &SweepRows) {
        for of_point in rows.table.rows.chunk_by(|a, b| a.point == b.point) {
            let values = rows.grid.values_at(of_point[0].point);
            let place = |side: Option<&Side>| match side.map(|side| side.source) {
                Some(Source::Scenario) => scenario,
                Some(Source::Input(index)) => values[index],
                None => 0,
            };
            let at = [self.sides.first(), self.sides.get(1)]
                .map(|side| u32::try_from(place(side)).unwrap_or(u32::MAX));
            let verdict = of_point.iter().find(|row| row.figures.is_some_and(|f| f.verdict));
            let plan = verdict.and_then(|row| rows.plan(row)).map(|name| self.plans.index(name));
            let cell = self.cells.entry((at[0], at[1])).or_default();
            match cell.won.iter_mut().find(|w| w.0 == plan) {
                Some(won) => won.1 += 1,
                None => cell.won.push((plan, 1)),
            }
            if self.sides.len() < 2 {
                let money = verdict.and_then(|row| row.figures).map(|f| rows.money(f.money[0]));
                cell.avoidable = money.map(|m| format!("{} {}", m.text(rows.minor), rows.currency));
            }
            self.points += 1;
        }
    }

    /// Plans by index, those that win most first.
    fn ranking(&self) -> Vec<(u32, u64)> {
        let mut won = vec![0u64; self.plans.list().len()];
        for (plan, points) in self.cells.values().flat_map(|c| &c.won) {
            if let Some(plan) = plan {
                won[*plan as usize] += u64::from(*points);
            }
        }
        let mut ranking: Vec<(u32, u64)> = (0u32..).zip(won).collect();
        ranking.sort_by(|a, b| {
            b.1.cmp(&a.1).then_with(|| self.plans.get(a.0).cmp(self.plans.get(b.0)))
        });
        ranking
    }
}

/// Indices of so many of some values, evenly spread, the first and the last among them.
fn spread(count: usize, most: usize) -> Vec<usize> {
    if count <= most {
        return (0..count).collect();
    }
    (0..most).map(|n| n * (count - 1) / (most - 1)).collect()
}

/// Says the pivot.
pub fn pivot_view(pivot: &Pivot, title: &str) -> View {
    let ranking = pivot.ranking();
    let letter_of = |plan: Option<u32>| match plan {
        Some(plan) => letter(ranking.iter().position(|r| r.0 == plan).unwrap_or(0)),
        None => "-".to_owned(),
    };
    let text = |cell: Option<&Cell>| {
        let Some((plan, points)) = cell.and_then(Cell::most) else {
            return String::new();
        };
        let all = cell.map_or(0, Cell::points);
        let share = f64::from(points) / f64::from(all);
        if points == all {
            letter_of(plan)
        } else {
            format!("{} {}", letter_of(plan), percent(share))
        }
    };
    let table = match pivot.sides.as_slice() {
        [] => None,
        [down] => one_side(pivot, down, text),
        [down, across, ..] => two_sides(pivot, (down, across), text),
    };
    let named = ranking.iter().enumerate().map(|(at, &(plan, points))| {
        let share = percent(points as f64 / pivot.points.max(1) as f64);
        format!("{}: {} ({share} of the points)", letter(at), pivot.plans.get(plan))
    });
    let mut said = Vec::new();
    if let [down, across, ..] = pivot.sides.as_slice() {
        said.push(format!("Downwards: {}. To the right: {}.", down.name, across.name));
    }
    if pivot.beside > 0 {
        said.push("A share stands where the other inputs change the verdict: so much of the cell names that plan.".to_owned());
    }
    if pivot.sides.iter().zip(MOST).any(|(side, most)| side.values.len() > most) {
        said.push("Not all values are shown; `--pivot FILE` writes every one.".to_owned());
    }
    let none = |c: &Cell| c.won.iter().any(|w| w.0.is_none());
    if pivot.cells.values().any(none) {
        said.push(
            "\"-\": no plan can be carried out there; the column `reason` of the table says why."
                .to_owned(),
        );
    }
    let sections = [
        Section::sentences("", said),
        table,
        Section::sentences("Plans of the verdict", named.collect()),
    ];
    View {
        title: title.to_owned(),
        sections: sections.into_iter().flatten().collect(),
        lines: usize::MAX,
    }
}

fn one_side(pivot: &Pivot, down: &Side, text: impl Fn(Option<&Cell>) -> String) -> Option<Section> {
    let single = pivot.cells.values().all(|c| c.points() == 1);
    let mut head = vec![down.name.clone(), "plan".to_owned()];
    if single {
        head.push("avoidable".to_owned());
    }
    let rows = spread(down.values.len(), MOST[0]).into_iter().map(|row| {
        let cell = pivot.cells.get(&(index(row), 0));
        let mut cells = vec![down.values[row].clone(), text(cell)];
        if single {
            cells.push(cell.and_then(|c| c.avoidable.clone()).unwrap_or_default());
        }
        cells
    });
    Section::table(head, rows.collect())
}

fn two_sides(
    pivot: &Pivot,
    (down, across): (&Side, &Side),
    text: impl Fn(Option<&Cell>) -> String,
) -> Option<Section> {
    let columns = spread(across.values.len(), MOST[1]);
    let head = columns.iter().map(|&c| across.values[c].clone());
    let rows = spread(down.values.len(), MOST[0]).into_iter().map(|row| {
        let cells = columns.iter().map(|&c| text(pivot.cells.get(&(index(row), index(c)))));
        std::iter::once(down.values[row].clone()).chain(cells).collect()
    });
    Section::table(std::iter::once(String::new()).chain(head).collect(), rows.collect())
}

fn index(at: usize) -> u32 {
    u32::try_from(at).unwrap_or(u32::MAX)
}

/// Every cell as CSV: one line for each plan that the verdict names in it.
///
/// # Errors
/// Only if the text cannot be written to memory.
pub fn pivot_csv(pivot: &Pivot) -> Result<Vec<u8>, ::csv::Error> {
    let mut file = writer();
    let names = pivot.sides.iter().map(|side| neutral(&side.name));
    let behind = ["plan", "points", "of"].into_iter().map(str::to_owned);
    file.write_record(names.chain(behind))?;
    for (at, cell) in &pivot.cells {
        let of = cell.points().to_string();
        let place = [at.0, at.1];
        let values: Vec<String> = pivot
            .sides
            .iter()
            .zip(place)
            .map(|(side, at)| match side.source {
                Source::Scenario => neutral(&side.values[at as usize]),
                Source::Input(_) => side.values[at as usize].clone(),
            })
            .collect();
        for (plan, points) in &cell.won {
            let plan = plan.map_or(String::new(), |plan| neutral(pivot.plans.get(plan)));
            let behind = [plan, points.to_string(), of.clone()];
            file.write_record(values.iter().cloned().chain(behind))?;
        }
    }
    finished(file)
}
