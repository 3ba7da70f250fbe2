//! What a sweep leaves: rows, with names and reasons beside them.

use std::collections::BTreeMap;

/// One plan at one point, or why there is none.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SweepRow {
    /// The point.
    pub point: u64,
    /// The plan, by index into [`SweepTable::plans`]; `None` where no plan is to be told of.
    pub plan: Option<u32>,
    /// What it comes to; `None` where it cannot be carried out.
    pub figures: Option<RowFigures>,
    /// Why there are no figures, by index into [`SweepTable::reasons`].
    pub reason: Option<u32>,
}

/// What a plan comes to at a point, at the planned count with the final.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct RowFigures {
    /// Avoidable cost, outlay and consumed value in minor units.
    pub money: [i64; 3],
    /// Seconds from start to in hand, without failures.
    pub seconds: i64,
    /// True for the plan the verdict names.
    pub verdict: bool,
    /// True where it is within `close` of the cheapest in time.
    pub close: bool,
    /// True where it is in time; `None` without a due date.
    pub in_time: Option<bool>,
}

/// Rows of a stretch of the grid, in its order, plans by name at each point.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct SweepTable {
    /// The rows.
    pub rows: Vec<SweepRow>,
    /// Names of plans.
    pub plans: Words,
    /// Reasons.
    pub reasons: Words,
}

impl SweepTable {
    /// A point without figures.
    pub(super) fn refuse(&mut self, point: u64, why: &str) {
        let reason = Some(self.reasons.index(why));
        self.rows.push(SweepRow { point, plan: None, figures: None, reason });
    }
}

/// Texts, each once, in the order they were met.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Words {
    list: Vec<String>,
    places: BTreeMap<String, u32>,
}

impl Words {
    /// The index of a text, which is added if it is not there.
    pub fn index(&mut self, text: &str) -> u32 {
        if let Some(&index) = self.places.get(text) {
            return index;
        }
        let index = u32::try_from(self.list.len()).unwrap_or(u32::MAX);
        self.list.push(text.to_owned());
        self.places.insert(text.to_owned(), index);
        index
    }

    /// The text at an index; empty where there is none.
    pub fn get(&self, index: u32) -> &str {
        self.list.get(index as usize).map_or("", String::as_str)
    }

    /// All of them.
    pub fn list(&self) -> &[String] {
        &self.list
    }
}
