//! Parts: one thing to be made, and its geometry.

use super::{Need, Slot, Solid, SourceId};

/// An index into [`super::Scenario::parts`]; parts are in the order of their names.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct PartId(pub u16);
super::index_id!(PartId);

/// Where a part's volume comes from.
#[derive(Clone, Copy, Debug)]
pub enum Volume {
    /// Stated, or measured from a mesh, in mL.
    Stated(Slot),
    /// A share of the box's volume.
    ShareOfBox(Slot),
}

/// One thing to be made.
#[derive(Clone, Debug)]
pub struct Part {
    /// Its name.
    pub name: String,
    /// How many in each iteration that makes it.
    pub copies: Slot,
    /// Volume, where known.
    pub volume: Option<Volume>,
    /// Surface in cm2, where stated or measured.
    pub area: Option<Slot>,
    /// Box x, y, z in mm as drawn, where stated or measured.
    pub size: Option<[Slot; 3]>,
    /// Its mesh, where one is named and can be trusted.
    pub mesh: Option<Solid>,
    /// In how many iterations it is made; absent: in each.
    pub iterations: Option<Slot>,
    /// What it must be.
    pub must: Vec<Need>,
    /// What it should rather be.
    pub prefer: Vec<Need>,
    /// Where it is written.
    pub source: SourceId,
}
