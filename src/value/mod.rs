//! Valuation: events become amounts.
//!
//! Enters: a [`crate::plan::Shop`] and the events of a simulation. Leaves: a [`crate::ledger::Ledger`] and what a reader must be told about
//! the prices used; of the fast one [`FastTotals`] or, rounded entry by entry, [`RoundedTotals`]. The only place where quantities meet prices.

mod dated;
mod enter;
mod exact;
mod fast;
mod notes;
mod order;
mod prices;
mod remembered;
mod rests;
mod rounded;

pub use exact::*;
pub use fast::*;
pub use notes::*;
pub use order::*;
pub use prices::*;
pub use rests::prices_of;
pub use rounded::*;

use enter::LARGEST;
use exact::LARGEST_DRAW;
