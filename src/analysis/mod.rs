//! Answers: from ledgers to a verdict, break-evens, switches and preferences.
//!
//! Enters: a [`crate::plan::Shop`]. Leaves: an [`Answer`]. Every figure in it is a sum over a ledger or a date of a simulation.
//! [`measure_mesh`] alone stands apart: a mesh file enters, a [`Measured`] leaves.

mod answer;
mod ask;
mod breakeven;
mod buy_list;
mod curves;
mod detail;
mod dip;
mod explain;
mod failure;
mod find_out;
mod flips;
mod last_safe;
mod look_again;
mod map;
mod measure;
mod open;
mod orders;
mod parallel;
mod policy;
mod prefer;
mod probe;
mod project;
mod rerun;
mod sampling;
mod scan;
mod stops;
mod switching;
mod unproven;
mod verdict;

pub use answer::*;
pub use ask::*;
pub use breakeven::*;
pub use buy_list::*;
pub use curves::*;
pub use detail::*;
pub use dip::*;
pub use explain::*;
pub use failure::*;
pub use find_out::*;
pub use flips::*;
pub use last_safe::*;
pub use look_again::*;
pub use map::*;
pub use measure::*;
pub use orders::*;
pub use parallel::*;
pub use policy::*;
pub use prefer::*;
pub use project::*;
pub use rerun::*;
pub use sampling::*;
pub use scan::Change;
pub use stops::*;
pub use switching::*;
pub use unproven::*;
pub use verdict::*;
