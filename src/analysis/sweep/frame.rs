//! One reading of a scenario's files, with the values of the inputs that leave the rest of it as it is.

use std::sync::Arc;

use super::Grid;
use super::roles::Roles;
use super::table::SweepTable;
use super::work::Work;
use crate::model::{Exact, Scenario, Slot, TypedIn, TypedText, Typist, scenario_or_why};
use crate::plan::Values;

/// What a typed value is: a number in base units, or why the scenario is not valid with it.
pub(super) type Read = Vec<Result<Exact, String>>;

/// A scenario as read, and what the values of the varied inputs are in it, by index.
#[derive(Debug)]
pub(super) struct Frame {
    pub scenario: Scenario,
    /// Its numbers as they are.
    pub base: Values,
    pub roles: Roles,
    slots: Vec<Vec<Slot>>,
    read: Arc<[Read]>,
    /// True where every value of the inner inputs is valid.
    all_read: bool,
}

/// A value of an input that leaves the rest as it is.
pub(super) fn number(typed: TypedIn) -> Result<Exact, String> {
    match typed {
        TypedIn::Number(value) => Ok(value),
        TypedIn::Refused(why) => Err(why),
        // Those are read anew with every combination, or refused before.
        TypedIn::Shaping(_) | TypedIn::Unread => {
            Err("it decides how the files are read".to_owned())
        }
    }
}

impl Frame {
    /// The scenario as it is.
    pub fn new(scenario: Scenario, grid: &Grid, read: &[Read]) -> Frame {
        Frame::with(scenario, grid, read.into())
    }

    fn with(scenario: Scenario, grid: &Grid, read: Arc<[Read]>) -> Frame {
        let at = |key: &str| {
            let found = scenario.slots.iter().filter(|(_, input)| input.address == key);
            found.map(|(slot, _)| slot).collect()
        };
        let slots: Vec<Vec<Slot>> = grid.varied().iter().map(|vary| at(&vary.key)).collect();
        Frame {
            base: Values::planning(&scenario.slots),
            roles: Roles::new(&scenario, grid, &slots),
            all_read: grid.inner().iter().all(|&index| read[index].iter().all(Result::is_ok)),
            slots,
            scenario,
            read,
        }
    }

    /// The scenario with a combination of the outer inputs typed in; why not, if it is not valid.
    pub fn typed(typist: &Typist, grid: &Grid, base: &Frame, outer: u64) -> Result<Frame, String> {
        let mut texts: Vec<(&str, String)> = Vec::new();
        grid.turn(outer, grid.outer(), |index, value| {
            let vary = &grid.varied()[index];
            texts.push((&vary.key, vary.series.text(value)));
        });
        let typed: Vec<TypedText> = texts.iter().map(|(key, text)| (*key, text.as_str())).collect();
        let scenario = scenario_or_why(typist.load(&typed))?;
        let read = inner_values(typist, grid, &base.read, &typed);
        Ok(Frame::with(scenario, grid, read))
    }

    /// Adds the rows of some of the points inside it.
    pub fn rows(
        &self,
        grid: &Grid,
        (first, last): (u64, u64),
        winner: bool,
        table: &mut SweepTable,
    ) {
        let begin = table.rows.len();
        let mut values = vec![0; grid.varied().len()];
        // Points at which the same happens, and only prices differ, come together.
        let mut points: Vec<(u64, u64)> = Vec::new();
        for point in first..last {
            grid.inner_values(point, &mut values);
            if let Some(why) = self.refused(grid, &values) {
                table.refuse(point, &why);
                continue;
            }
            let moving = self.roles.moving.iter();
            let world = moving.fold(0, |n, &i| n * grid.size(i) as u64 + values[i] as u64);
            points.push((world, point));
        }
        points.sort_unstable();
        let mut work = Work::new(self, grid);
        for world in points.chunk_by(|a, b| a.0 == b.0) {
            work.rows(world, winner, table);
        }
        table.rows[begin..].sort_by_key(|row| row.point);
    }

    /// Why a point is not valid: the first of its values that is not.
    fn refused(&self, grid: &Grid, values: &[usize]) -> Option<String> {
        if self.all_read {
            return None;
        }
        grid.inner().iter().find_map(|&index| {
            let why = self.read[index][values[index]].as_ref().err()?;
            Some(format!("{}: {why}", grid.varied()[index].key))
        })
    }

    /// Puts the value of an input into its places.
    pub fn put(&self, values: &mut Values, index: usize, value: usize) {
        if let Ok(number) = &self.read[index][value] {
            for &slot in &self.slots[index] {
                values.set(&self.scenario.slots, slot, *number);
            }
        }
    }
}

/// The values of the inner inputs where outer ones are typed in: those of the scenario as it is, unless the first or the last of an input
/// shows that they are others.
fn inner_values(
    typist: &Typist,
    grid: &Grid,
    base: &Arc<[Read]>,
    typed: &[TypedText],
) -> Arc<[Read]> {
    let now = |index: usize, value: usize| {
        let vary = &grid.varied()[index];
        number(typist.number(typed, (&vary.key, &vary.series.text(value))))
    };
    let last = |index: usize| grid.varied()[index].series.numbers.len() - 1;
    let same = |&&index: &&usize| [0, last(index)].iter().all(|&n| now(index, n) == base[index][n]);
    let others: Vec<usize> = grid.inner().iter().filter(|index| !same(index)).copied().collect();
    if others.is_empty() {
        return Arc::clone(base);
    }
    let mut read = base.to_vec();
    for index in others {
        read[index] = (0..=last(index)).map(|n| now(index, n)).collect();
    }
    read.into()
}
