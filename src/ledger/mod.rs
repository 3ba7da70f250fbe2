//! The ledger: the dated list of entries one plan produces. Every figure of every report is a sum over it.
//!
//! Enters: entries and movements, once. Leaves: them in one order, and sums of them. Nothing here decides an amount.

mod balance;
mod entry;
mod fold;

pub use crate::sim::Account;
pub use balance::*;
pub use entry::*;
pub use fold::*;
