//! The long table of a sweep as CSV and Parquet, and the pivot of its winners.
//!
//! Enters: stretches of rows, in order, of one scenario after another. Leaves: the bytes of a file, grown as they come, and a [`Pivot`]. The
//! same rows give the same bytes, however they were cut into stretches.

mod columns;
mod csv;
mod parquet;
mod pivot;

#[cfg(feature = "frame")]
pub(in crate::report) use columns::days;
pub use columns::{SweepColumns, SweepRows};
pub use csv::SweepCsv;
pub use parquet::SweepParquet;
pub use pivot::{Pivot, pivot_csv, pivot_view};
