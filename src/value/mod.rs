//! Valuation: events become amounts.
//!
//! Enters: a [`crate::plan::Shop`] and the events of a simulation. Leaves: a [`crate::ledger::Ledger`] and what a reader must be told about
//! the prices used. The only place where quantities meet prices.

mod enter;
mod exact;
mod notes;
mod order;

pub use exact::*;
pub use notes::*;
pub use order::*;
