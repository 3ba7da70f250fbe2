//! The table as Parquet. The table engine writes it; here it is only asked for.

use super::columns::{SweepColumns, SweepRows};
use crate::report::NoParquet;

/// Rows of one group of the file.
#[cfg(feature = "frame")]
const GROUP: usize = 1 << 17;

/// Writes the table as Parquet, a row group whenever enough rows have come.
pub struct SweepParquet {
    #[cfg(feature = "frame")]
    file: crate::report::frame_sweep::File,
}

#[cfg(feature = "frame")]
impl SweepParquet {
    /// Begins.
    ///
    /// # Errors
    /// [`NoParquet`] where the engine refuses the columns.
    pub fn new(columns: &SweepColumns) -> Result<SweepParquet, NoParquet> {
        let file = crate::report::frame_sweep::File::new(columns).map_err(no)?;
        Ok(SweepParquet { file })
    }

    /// The bytes that a stretch adds to the file; none until a group is full.
    ///
    /// # Errors
    /// [`NoParquet`] where the engine refuses them.
    pub fn bytes(&mut self, rows: &SweepRows) -> Result<Vec<u8>, NoParquet> {
        self.file.push(rows);
        self.file.groups(GROUP).map_err(no)
    }

    /// The bytes that end the file.
    ///
    /// # Errors
    /// [`NoParquet`] where the engine refuses them.
    pub fn end(self) -> Result<Vec<u8>, NoParquet> {
        self.file.end().map_err(no)
    }
}

#[cfg(feature = "frame")]
fn no(error: impl ToString) -> NoParquet {
    NoParquet(error.to_string())
}

#[cfg(not(feature = "frame"))]
impl SweepParquet {
    /// Begins.
    ///
    /// # Errors
    /// [`NoParquet`] always: this build is without the feature `frame`.
    pub fn new(_columns: &SweepColumns) -> Result<SweepParquet, NoParquet> {
        Err(NoParquet("this build is without the table engine (feature `frame`)".to_owned()))
    }

    /// Never called.
    ///
    /// # Errors
    /// None.
    pub fn bytes(&mut self, _rows: &SweepRows) -> Result<Vec<u8>, NoParquet> {
        Ok(Vec::new())
    }

    /// Never called.
    ///
    /// # Errors
    /// None.
    pub fn end(self) -> Result<Vec<u8>, NoParquet> {
        Ok(Vec::new())
    }
}
