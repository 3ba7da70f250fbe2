//! The tools of reading: one value, one table or row, one number, and the state of one loading.
//!
//! Enters: TOML nodes and the rows of sheets, as [`input`](crate::input) leaves them, and the declarations of [`keys`](super::keys). Leaves:
//! texts, days, flags, [slots](crate::model::Slot) and what sums them up ([`Load`]); what cannot be read is logged with its place and replaced by
//! a placeholder. What a value is for is not known here.

mod assume;
mod context;
mod currency;
mod mesh_files;
mod named;
mod one;
mod price_sheet;
mod properties;
mod rows;
mod spread;
mod table;
mod typed;

pub use context::{Load, line_of};
pub use currency::{currency, currency_id};
pub use mesh_files::{Reading, Readings};
pub use named::{Named, named};
pub use one::{Lit, One};
pub use price_sheet::{PriceSheet, SPECS, SheetKind, Spec};
pub use properties::{hardness, over, properties};
pub use rows::{keyed, no_overlap, one_row_each, stated_currency, validity};
pub use spread::Spread;
pub use table::Table;
pub use typed::Typed;
