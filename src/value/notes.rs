//! What a reader must be told about the prices a valuation used.

use std::collections::BTreeMap;

use crate::model::SourceId;

/// What is to be told about a price.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum NoteKind {
    /// Every row was past its last valid day; the latest was used.
    Expired,
    /// A quotation was used for a later version than it was given for.
    EarlierVersion,
    /// The charge by mass of a delivery could not be computed: no density or no box.
    DeliveryByMass,
    /// A rate is not valid yet on the day it was wanted; it was left out.
    NotYetValid,
    /// The one price of an item or machine was used before its first valid day.
    Early,
}

/// Notes with how often each came up.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Notes(BTreeMap<(NoteKind, SourceId), u32>);

impl Notes {
    /// Adds one.
    pub fn add(&mut self, kind: NoteKind, source: SourceId) {
        *self.0.entry((kind, source)).or_default() += 1;
    }

    /// All notes in order, each with its count.
    pub fn iter(&self) -> impl Iterator<Item = (NoteKind, SourceId, u32)> + '_ {
        self.0.iter().map(|(&(kind, source), &count)| (kind, source, count))
    }

    /// Adds those of another valuation.
    pub fn merge(&mut self, other: &Notes) {
        for (kind, source, count) in other.iter() {
            *self.0.entry((kind, source)).or_default() += count;
        }
    }
}
