//! The answer put together, and what is added to it where it is asked for.
//!
//! Enters: a [`Shop`](crate::plan::Shop). Leaves: an [`Answer`]; then what samples, ages of prices and closed routes say of it, and its plans
//! in detail.

mod ask;
mod detail;
mod stale;
mod whole;
mod without;

pub(super) use ask::judged;
pub use ask::{answer, with_samples};
pub use detail::*;
pub use stale::*;
pub use whole::*;
pub use without::*;
