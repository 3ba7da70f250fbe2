//! What is said: sentences and tables as values, without formatting.
//!
//! Enters: a [`crate::report::Subject`]. Leaves: a [`View`], sections in the order a reader needs them, the verdict first. Plans are
//! called by letters in the order of their ranking; a legend says which is which.

mod assemble;
mod breakeven;
mod cautions;
mod full;
mod page;
mod parts;
mod remarks;
mod sampled;
mod tables;
mod unproven;
mod verdict;
mod wide;

pub(in crate::report) use assemble::plan_text;
pub use assemble::*;
pub use breakeven::*;
pub use cautions::*;
pub(in crate::report) use page::{beside_figures, sampled_cells, sampled_said};
pub use parts::*;
pub(in crate::report) use remarks::differing;
pub use remarks::want_text;
pub use verdict::*;
pub use wide::*;
