//! Answers: from ledgers to a verdict, break-evens, switches and preferences.
//!
//! Enters: a [`crate::plan::Shop`]. Leaves: an [`Answer`]. Every figure in it is a sum over a ledger or a date of a simulation.
//! [`measure_mesh`] alone stands apart: a mesh file enters, a [`Measured`] leaves.
//!
//! One folder for each question, and imports flow one way: a folder takes only from those before it in this list.
//!
//! - `follow`: what one plan comes to, today and under other numbers;
//! - `sampling`: how sure that is when what is open is drawn;
//! - `compare`: which of the plans to take, how firmly, and where that changes with the count;
//! - `next`: what to do then: look again, order, buy;
//! - `answer`: all of it put together;
//! - `explain`: where a figure of it comes from;
//! - `what_if`: what changes it, and what has changed it since another run;
//! - `sweep`: what it is under every combination of some values;
//! - `rerun`: how it goes on from a record;
//! - `apart`: what is asked without a plan: dips, measures of a mesh.

mod answer;
mod apart;
mod compare;
mod explain;
mod follow;
mod next;
mod parallel;
mod rerun;
mod sampling;
mod sweep;
mod what_if;

pub use answer::*;
pub use apart::*;
pub use compare::*;
pub use explain::*;
pub use follow::*;
pub use next::*;
pub use parallel::*;
pub use rerun::*;
pub use sampling::*;
pub use sweep::*;
pub use what_if::*;
