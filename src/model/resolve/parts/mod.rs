//! The parts.
//!
//! Enters: the tables `[[part]]` and the meshes they name. Leaves: parts with their numbers, measured or stated, with what they must be, and
//! [`PartNames`] to look them up by.

mod list;
mod meshes;
mod needs;

pub use list::{PartNames, parts};
