//! Sweeps: one scenario under every combination of values of some inputs, all plans at each.
//!
//! Enters: a scenario and the inputs with their values. Leaves: a [`SweepTable`] of rows for any stretch of the grid. A point of the grid is one
//! more vector of numbers ([`crate::plan::Values`]): what is typed is read by the loader once for each value, the points are put together from
//! that. Planning runs: the figures of each row are those of `compare` with the values typed in, to the last digit.

mod carried;
mod frame;
mod grid;
mod roles;
mod table;
mod work;

use std::path::Path;

pub use grid::{Grid, Vary};
pub use table::{RowFigures, SweepRow, SweepTable, Words};

use crate::model::{Input, Scenario, TypedIn, Typist};
use frame::{Frame, Read};

use crate::analysis::follow::is_price;
use crate::analysis::parallel::in_order;

/// The most points a sweep of one scenario may have.
pub const POINTS_LIMIT: u64 = 1_000_000_000;

/// A scenario made ready to be swept.
#[derive(Debug)]
pub struct Sweep {
    typist: Typist,
    grid: Grid,
    /// The scenario as it is, with the values of the inner inputs.
    frame: Frame,
}

impl Sweep {
    /// Reads every value into the scenario that was loaded from a path.
    ///
    /// # Errors
    /// A sentence for a person: an input that is not there, that nothing reads, or of which no value is valid; too large a grid.
    pub fn new(path: &Path, scenario: Scenario, varied: &[Vary]) -> Result<Sweep, String> {
        let typist = Typist::new(path, &scenario);
        let mut outer: Vec<usize> = grid::coupled(varied);
        let mut read: Vec<Read> = Vec::new();
        for (index, vary) in varied.iter().enumerate() {
            let texts: Vec<String> =
                (0..vary.series.numbers.len()).map(|n| vary.series.text(n)).collect();
            let found =
                in_order(texts.len(), |n| typist.number(&[], (vary.key.as_str(), &texts[n])));
            judged(&scenario, vary, &found, outer.contains(&index))?;
            let shapes = found.iter().any(|n| matches!(n, TypedIn::Shaping(_)));
            if shapes && !outer.contains(&index) {
                outer.push(index);
            }
            read.push(found.into_iter().map(frame::number).collect());
        }
        outer.sort_unstable();
        let is_priced = |&index: &usize| {
            let own = |input: &&Input| input.address == varied[index].key;
            let dims = scenario.slots.iter().map(|(_, input)| input).filter(own);
            dims.into_iter().all(|input| is_price(input.dim))
        };
        let prices: Vec<usize> = (0..varied.len()).filter(is_priced).collect();
        let grid = Grid::new(varied, &outer, &prices)?;
        let frame = Frame::new(scenario, &grid, &read);
        Ok(Sweep { typist, grid, frame })
    }

    /// The grid.
    pub fn grid(&self) -> &Grid {
        &self.grid
    }

    /// The scenario as it is.
    pub fn scenario(&self) -> &Scenario {
        &self.frame.scenario
    }

    /// The rows of the points from `from` to before `to`, in order. With `winner` only that of the verdict's plan at each.
    pub fn rows(&self, from: u64, to: u64, winner: bool) -> SweepTable {
        let mut table = SweepTable::default();
        let inner = self.grid.inner_points();
        let mut at = from;
        while at < to {
            let (outer, first) = (at / inner, at % inner);
            let last = inner.min(first + (to - at));
            let base = outer * inner;
            if self.grid.outer().is_empty() {
                self.frame.rows(&self.grid, (first, last), winner, &mut table);
            } else {
                match Frame::typed(&self.typist, &self.grid, &self.frame, outer) {
                    Ok(frame) => {
                        let rows = table.rows.len();
                        frame.rows(&self.grid, (first, last), winner, &mut table);
                        table.rows[rows..].iter_mut().for_each(|row| row.point += base);
                    }
                    Err(why) => (first..last).for_each(|point| table.refuse(base + point, &why)),
                }
            }
            at += last - first;
        }
        table
    }
}

/// Refuses an input that cannot be varied, and one of which no value can be used.
fn judged(
    scenario: &Scenario,
    vary: &Vary,
    found: &[TypedIn],
    coupled: bool,
) -> Result<(), String> {
    let key = &vary.key;
    let today = scenario.slots.iter().find(|(_, input)| input.address == *key);
    let today = today.map(|(_, input)| input.likely);
    let unmoved =
        |n: &TypedIn| matches!(n, TypedIn::Number(v) | TypedIn::Shaping(v) if Some(*v) == today);
    if found.contains(&TypedIn::Unread) || (found.len() > 1 && found.iter().all(unmoved)) {
        return Err(format!(
            "`{key}` is not read from a file but measured or worked out: whatever is typed there changes nothing"
        ));
    }
    let refused = |n: &TypedIn| matches!(n, TypedIn::Refused(_));
    match found.first() {
        Some(TypedIn::Refused(why)) if !coupled && found.iter().all(refused) => {
            Err(format!("no value of `{key}` can be used: {why}"))
        }
        _ => Ok(()),
    }
}
