//! What the user meant: money, quantities, parts, routes, price sheets, calendars.
//!
//! Enters: raw values with their places (from [`crate::input`]). Leaves: a [`Scenario`] that is valid by construction: names are
//! ids, every number is a [`Slot`], every currency has a rate. Nothing here computes a result.

/// Conversions between an id and the index it stands for.
macro_rules! index_id {
    ($id:ident) => {
        impl $id {
            /// The id of an index. Loading keeps every table below 65,536 rows.
            pub fn at(index: usize) -> $id {
                $id(u16::try_from(index).unwrap_or(u16::MAX))
            }

            /// The index it stands for.
            pub fn index(self) -> usize {
                usize::from(self.0)
            }
        }
    };
}
use index_id;

mod assumed;
mod bath;
mod calendar;
mod entry;
mod exact;
mod need;
mod order;
mod part;
mod past;
mod record;
mod resolve;
mod route;
mod scenario;
mod slot;
mod solid;
mod stock;

pub use assumed::*;
pub use bath::*;
pub use calendar::*;
pub use entry::*;
pub use exact::*;
pub use need::*;
pub use order::*;
pub use part::*;
pub use past::*;
pub use record::*;
pub use resolve::{Loaded, Overrides, RECORD_FILE, limits, load, load_with_record, record_words};
pub use route::*;
pub use scenario::*;
pub use slot::*;
pub use solid::Solid;
pub use stock::*;
