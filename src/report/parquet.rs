//! The ledger as a Parquet file, for whoever reads many of them with an engine of their own.
//!
//! Enters: a [`Budget`]. Leaves: the bytes of a file with the columns of the CSV file. The table engine writes it.

use super::Budget;

/// True where this build can write Parquet: with the feature `frame`.
pub const PARQUET: bool = cfg!(feature = "frame");

/// Why no Parquet could be written: an amount does not fit its column, or the build has no table engine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoParquet(pub String);

/// The ledger as the bytes of a Parquet file, the same for the same ledger.
///
/// # Errors
/// [`NoParquet`] where a number does not fit its column.
#[cfg(feature = "frame")]
pub fn ledger_parquet(budget: &Budget) -> Result<Vec<u8>, NoParquet> {
    super::frame::parquet(budget).map_err(|error| NoParquet(error.to_string()))
}

/// The ledger as the bytes of a Parquet file.
///
/// # Errors
/// [`NoParquet`] always: this build is without the feature `frame`.
#[cfg(not(feature = "frame"))]
pub fn ledger_parquet(_budget: &Budget) -> Result<Vec<u8>, NoParquet> {
    Err(NoParquet("this build is without the table engine (feature `frame`)".to_owned()))
}
