//! One reading of a scenario's files, with the values of the inputs that leave the rest of it as it is.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::Grid;
use super::point::{SweepTable, World};
use crate::analysis::probe::is_price;
use crate::model::{Exact, Scenario, Slot, TypedIn, TypedText, Typist, scenario_or_why};
use crate::plan::Values;

/// What a typed value is: a number in base units, or why the scenario is not valid with it.
pub(super) type Read = Vec<Result<Exact, String>>;

/// A scenario as read, and what the values of the varied inputs are in it, by index.
#[derive(Debug)]
pub(super) struct Frame {
    pub scenario: Scenario,
    base: Values,
    slots: Vec<Vec<Slot>>,
    read: Arc<[Read]>,
}

/// A value of an input that leaves the rest as it is.
pub(super) fn number(typed: TypedIn) -> Result<Exact, String> {
    match typed {
        TypedIn::Number(value) => Ok(value),
        TypedIn::Refused(why) => Err(why),
        // Those are read anew with every combination, or refused before.
        TypedIn::Shaping | TypedIn::Unread => Err("it decides how the files are read".to_owned()),
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
        Frame {
            slots: grid.varied().iter().map(|vary| at(&vary.key)).collect(),
            base: Values::planning(&scenario.slots),
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
        let is_priced = |&&index: &&usize| {
            let dims = self.slots[index].iter().map(|&slot| self.scenario.slots.get(slot).dim);
            dims.into_iter().all(is_price)
        };
        let (prices, moving): (Vec<&usize>, Vec<&usize>) = grid.inner().iter().partition(is_priced);
        // Points at which the same happens, and only prices differ, are worked out together.
        let mut worlds: BTreeMap<Vec<usize>, Vec<u64>> = BTreeMap::new();
        let begin = table.rows.len();
        for point in first..last {
            let values = grid.inner_values_at(point);
            if let Some(why) = self.refused(grid, &values) {
                table.refuse(point, &why);
                continue;
            }
            let key = moving.iter().map(|&&index| values[index]).collect();
            worlds.entry(key).or_default().push(point);
        }
        let mut priced = self.base.clone();
        for points in worlds.into_values() {
            let mut values = self.base.clone();
            let at = grid.inner_values_at(points[0]);
            moving.iter().for_each(|&&index| self.put(&mut values, index, at[index]));
            moving.iter().for_each(|&&index| self.put(&mut priced, index, at[index]));
            let world = World::new(&self.scenario, &values, table);
            for point in points {
                let at = grid.inner_values_at(point);
                prices.iter().for_each(|&&index| self.put(&mut priced, index, at[index]));
                world.rows(&priced, (point, winner), table);
            }
        }
        table.rows[begin..].sort_by_key(|row| row.point);
    }

    /// Why a point is not valid: the first of its values that is not.
    fn refused(&self, grid: &Grid, values: &[usize]) -> Option<String> {
        grid.inner().iter().find_map(|&index| {
            let why = self.read[index][values[index]].as_ref().err()?;
            Some(format!("{}: {why}", grid.varied()[index].key))
        })
    }

    fn put(&self, values: &mut Values, index: usize, value: usize) {
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
