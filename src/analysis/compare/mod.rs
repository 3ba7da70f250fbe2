//! Plans held against each other: which to take, how firmly, and where that changes with the count.
//!
//! Enters: the [`PlanResult`](super::PlanResult) of every feasible plan and, where some were drawn, what samples say. Leaves: the
//! [`Verdict`] with what to find out where it is too close to call, [`BreakEven`]s, a [`Switch`], [`StopRow`]s, [`Preference`]s.

mod breakeven;
mod find_out;
mod prefer;
mod stops;
mod switching;
mod verdict;

pub use breakeven::*;
pub use find_out::*;
pub use prefer::*;
pub use stops::*;
pub use switching::*;
pub use verdict::*;
