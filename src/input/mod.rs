//! Input: files as written. Text goes in; values with their places come out, together with every finding.
//!
//! Nothing here knows a rule of the model: a key's meaning is decided in [`crate::model`].

mod date;
mod decimal;
mod digest;
mod document;
mod file;
mod hardness;
mod lines;
mod number;
mod record;
mod runs;
mod series;
mod sheet;
mod sheet_cells;
mod syntax;
mod unit;

pub use date::*;
pub use digest::*;
pub use document::*;
pub use file::*;
pub use hardness::*;
pub use number::*;
pub use record::*;
pub use runs::*;
pub use series::*;
pub use sheet::*;
pub use sheet_cells::COLUMN_LIMIT;
pub use unit::{Unit, UnitKind, read_unit};
