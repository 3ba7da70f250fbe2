//! The simulation: a plan becomes dated events, in whole seconds and whole millionths.
//!
//! Enters: a [`crate::plan::Shop`] and the route of each part in each iteration. Leaves: [`Event`]s and the dates of each iteration.
//! Here is no money and no text; machines, stock, the person and the calendar are here and nowhere else.

mod bath;
mod beside;
mod builds;
mod clock;
mod event;
mod job;
mod load;
mod luck;
mod made;
mod order;
mod ordering;
mod packing;
mod queue;
mod resumed;
mod run;
mod runs;
mod schedule;
mod state;

pub use bath::BathState;
pub use builds::Crowd;
pub use clock::*;
pub use event::*;
pub use job::taken;
pub use luck::{Luck, Upset};
pub use made::*;
pub use order::*;
pub use packing::*;
pub use run::*;
pub use runs::*;
pub use state::*;
