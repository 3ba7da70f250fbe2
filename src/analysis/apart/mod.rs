//! Questions by themselves: no plan is followed and none is compared.
//!
//! Enters: the tables of dye baths and pieces, or a mesh file. Leaves: what to pour and how high it stands ([`DipPlan`]); what a mesh measures
//! ([`Measured`]).

mod dip;
mod measure;

pub use dip::*;
pub use measure::*;
