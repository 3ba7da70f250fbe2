//! The table as CSV by RFC 4180.

use ::csv::Writer;

use super::columns::{SweepColumns, SweepRows, days};
use crate::analysis::{RowFigures, SweepRow};
use crate::report::csv::{finished, neutral, writer};

/// Writes the table as CSV, stretch by stretch.
#[derive(Debug)]
pub struct SweepCsv {
    head: bool,
    columns: SweepColumns,
}

impl SweepCsv {
    /// Begins.
    pub fn new(columns: SweepColumns) -> SweepCsv {
        SweepCsv { head: true, columns }
    }

    /// The bytes of a stretch; with the head before the first.
    ///
    /// # Errors
    /// Only if the text cannot be written to memory.
    pub fn bytes(&mut self, rows: &SweepRows) -> Result<Vec<u8>, ::csv::Error> {
        let mut file = writer();
        if std::mem::take(&mut self.head) {
            file.write_record(self.columns.names().into_iter().map(neutral))?;
        }
        write(&mut file, rows)?;
        finished(file)
    }
}

fn write(file: &mut Writer<Vec<u8>>, rows: &SweepRows) -> Result<(), ::csv::Error> {
    let scenario = neutral(rows.scenario);
    let texts: Vec<Vec<String>> = rows
        .grid
        .varied()
        .iter()
        .map(|v| v.series.numbers.iter().map(|n| n.normalize().to_string()).collect())
        .collect();
    let plans: Vec<String> = rows.table.plans.list().iter().map(|p| neutral(p)).collect();
    let mut at = (u64::MAX, Vec::new());
    for row in &rows.table.rows {
        if at.0 != row.point {
            at = (row.point, rows.grid.values_at(row.point));
        }
        file.write_field(&scenario)?;
        for (&value, texts) in at.1.iter().zip(&texts) {
            file.write_field(&texts[value])?;
        }
        file.write_field(row.plan.map_or("", |p| plans[p as usize].as_str()))?;
        figures(file, rows, row)?;
        file.write_field(neutral(rows.reason(row).unwrap_or_default()))?;
        file.write_record(None::<&[u8]>)?;
    }
    Ok(())
}

fn figures(
    file: &mut Writer<Vec<u8>>,
    rows: &SweepRows,
    row: &SweepRow,
) -> Result<(), ::csv::Error> {
    let yes = |is: bool| if is { "yes" } else { "no" };
    let Some(figures) = &row.figures else {
        for cell in ["", "", "", "", "", rows.currency, "", ""] {
            file.write_field(cell)?;
        }
        return Ok(());
    };
    let RowFigures { money, verdict, close, in_time, .. } = figures;
    file.write_field(yes(*verdict))?;
    file.write_field(yes(*close))?;
    for &units in money {
        file.write_field(rows.money(units).text(rows.minor))?;
    }
    file.write_field(rows.currency)?;
    file.write_field(days(figures).to_string())?;
    file.write_field(in_time.map_or("", yes))
}
