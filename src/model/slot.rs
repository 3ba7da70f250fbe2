//! Slots: every number the user stated, or that is assumed, has one place in one table.
//!
//! A run reads numbers only through slots, so a planning run, a draw, a sweep point and a threshold probe differ in nothing but the
//! vector of numbers they read (see `plan::Values`).

use super::Exact;

/// The place of one number in [`Slots`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Slot(u32);

impl Slot {
    fn at(index: usize) -> Slot {
        Slot(u32::try_from(index).unwrap_or(u32::MAX))
    }

    /// The index into any vector that is laid out like [`Slots`].
    pub fn index(self) -> usize {
        self.0 as usize
    }
}

/// What a number measures, and so the unit it is kept in.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Dim {
    /// Time in seconds.
    Time,
    /// Volume in mL (= cm3).
    Volume,
    /// Mass in g.
    Mass,
    /// Area in cm2.
    Area,
    /// Length in mm.
    Length,
    /// A number of pieces, possibly broken.
    Pieces,
    /// A whole number: iterations, copies, business days.
    Count,
    /// A plain number, 0..1 for shares and chances.
    Share,
    /// Power in W.
    Power,
    /// Density in g/mL.
    Density,
    /// An amount of money in some currency.
    Money,
    /// Money per unit of another dimension: per mL, per hour of labour, per kWh, per cm2, per piece, per kg.
    Rate,
    /// Time per unit of another dimension: seconds per mL of resin.
    Pace,
    /// Volume per time or per mass: mL per hour, cm3 per kg.
    Ratio,
}

/// When an uncertain number is drawn anew.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Varies {
    /// Once for the whole project.
    Once,
    /// In each iteration.
    Each,
}

/// Where a number or an entry comes from: an index into [`super::Scenario::sources`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct SourceId(pub u32);

/// One number with its spread and where it comes from.
#[derive(Clone, Debug)]
pub struct Input {
    /// The address by which the user names this number, such as `part[sensor collar].volume`.
    pub address: String,
    /// Where it is written, or the rule that assumed it.
    pub source: SourceId,
    /// Its dimension, hence its unit.
    pub dim: Dim,
    /// The least it may be.
    pub low: Exact,
    /// The value planning uses.
    pub likely: Exact,
    /// The most it may be.
    pub high: Exact,
    /// When it is drawn anew in a sampled run.
    pub varies: Varies,
    /// True where the user did not state it.
    pub assumed: bool,
}

impl Input {
    /// A number without a spread that was stated, measured or follows from a default.
    pub fn certain(address: String, source: SourceId, dim: Dim, value: Exact) -> Input {
        Input {
            address,
            source,
            dim,
            low: value,
            likely: value,
            high: value,
            varies: Varies::Once,
            assumed: false,
        }
    }
}

/// All numbers of a scenario, in the order they were read.
#[derive(Clone, Debug, Default)]
pub struct Slots {
    inputs: Vec<Input>,
}

impl Slots {
    /// Adds a number and returns its slot.
    pub fn add(&mut self, input: Input) -> Slot {
        let slot = Slot::at(self.inputs.len());
        self.inputs.push(input);
        slot
    }

    /// The number in a slot.
    pub fn get(&self, slot: Slot) -> &Input {
        &self.inputs[slot.index()]
    }

    /// The number in a slot, to be changed while a scenario is put together.
    pub fn get_mut(&mut self, slot: Slot) -> &mut Input {
        &mut self.inputs[slot.index()]
    }

    /// The value planning uses.
    pub fn likely(&self, slot: Slot) -> Exact {
        self.get(slot).likely
    }

    /// All numbers in order.
    pub fn iter(&self) -> impl Iterator<Item = (Slot, &Input)> {
        self.inputs.iter().enumerate().map(|(index, input)| (Slot::at(index), input))
    }

    /// How many numbers there are.
    pub fn len(&self) -> usize {
        self.inputs.len()
    }

    /// True where no number was read.
    pub fn is_empty(&self) -> bool {
        self.inputs.is_empty()
    }
}
