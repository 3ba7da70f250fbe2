//! The simulation: a plan becomes dated events, in whole seconds and whole millionths.
//!
//! Enters: a [`crate::plan::Shop`] and the route of each part in each iteration. Leaves: [`Event`]s and the dates of each iteration.
//! Here is no money and no text; machines, stock, the person and the calendar are here and nowhere else.

mod clock;
mod event;
mod job;
mod order;
mod run;
mod schedule;
mod state;

pub use clock::*;
pub use event::*;
pub use order::*;
pub use run::*;
pub use state::*;
