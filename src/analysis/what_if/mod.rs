//! What if numbers were others: which of them change the answer, and what changed between two runs.
//!
//! Enters: a shop with its [`Answer`](super::Answer), or two kept runs with the scenario as it stands. Leaves: the value of each input at
//! which the answer changes ([`Flips`]), a map over two inputs ([`FlipMap`]), the difference of two verdicts number by number ([`Changes`]).

mod changes;
mod changes_named;
mod flips;
mod inert;
mod map;
mod scan;

pub use changes::*;
pub use changes_named::Other;
pub use flips::*;
pub use map::*;
pub use scan::Change;
