//! The baths.
//!
//! Enters: the tables `[[bath]]`, and the supplies their solvents and dyes are looked up in. Leaves: [`Baths`], which steps name.

mod list;
mod tubs;

pub use list::{Baths, bath, up};
