//! The ledger: the dated list of entries one plan produces. Every figure of every report is a sum over it.
//!
//! Enters: entries and movements, once. Leaves: them in one order, and sums of them. Nothing here decides an amount.
//! Entries themselves are defined in [`crate::model`]: what has happened belongs to a scenario.

mod balance;
mod fold;

pub use crate::model::{About, Account, Category, Entry, Kind, Movement, SHARED, Status, Total};
pub use balance::*;
pub use fold::*;
