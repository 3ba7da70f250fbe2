//! Plans: a scenario and one vector of numbers become flat tables that a simulation can run on.
//!
//! Enters: a valid [`crate::model::Scenario`] and the [`Values`] of its slots. Leaves: a [`Shop`] (tables common to all plans), the
//! [`Plan`]s worth asking about, and what is ruled out with its reason. No dates are computed here and no money.

mod assign;
mod bath;
mod executions;
mod fit;
mod key;
mod pace;
mod pert;
mod prices;
mod print;
mod room;
mod shop;
mod spreads;
mod tabled;
mod touched;
mod tub;
mod values;

pub use assign::*;
pub use bath::*;
pub use executions::*;
pub use fit::*;
pub use key::*;
pub use pace::*;
pub use pert::*;
pub use prices::*;
pub use print::*;
pub use room::*;
pub use shop::*;
pub use spreads::*;
pub use tabled::tabled;
pub use touched::*;
pub use tub::*;
pub use values::*;
