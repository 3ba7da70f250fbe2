//! The table of a sweep by the polars engine: row groups of a Parquet file, one after another.
//!
//! Enters: stretches of rows. Leaves: bytes. Cuts of the stretches leave no trace: a group ends after so many rows.

use std::cell::RefCell;
use std::io::{self, Write};
use std::rc::Rc;
use std::sync::Arc;

use polars::prelude::{
    Column, DataFrame, Int128Chunked, IntoColumn, NewChunkedArray, PolarsResult, SchemaExt,
};
use polars_parquet::write::{Encoding, FileWriter, get_dtype_encoding, row_group_iter};

use super::frame::{KNOWN, PRECISION, options};
use super::sweep::days;
use super::{SweepColumns, SweepRows};
use crate::analysis::{SweepRow, Words};

/// Bytes on their way out.
#[derive(Clone, Default)]
struct Bytes(Rc<RefCell<Vec<u8>>>);

impl Write for Bytes {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.borrow_mut().extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// A file that grows.
pub(super) struct File {
    writer: FileWriter<Bytes>,
    bytes: Bytes,
    encodings: Arc<[Vec<Encoding>]>,
    columns: SweepColumns,
    rows: Rows,
}

/// Rows that are not yet in a group, column by column.
#[derive(Default)]
struct Rows {
    words: Words,
    scenario: Vec<u32>,
    currency: Vec<u32>,
    inputs: Vec<Vec<f64>>,
    plan: Vec<Option<u32>>,
    reason: Vec<Option<u32>>,
    money: [Vec<Option<i128>>; 3],
    days: Vec<Option<f64>>,
    verdict: Vec<Option<bool>>,
    close: Vec<Option<bool>>,
    in_time: Vec<Option<bool>>,
}

impl File {
    /// Begins a file with these columns.
    pub fn new(columns: &SweepColumns) -> PolarsResult<File> {
        let rows = Rows { inputs: vec![Vec::new(); columns.inputs.len()], ..Rows::default() };
        let schema = rows.frame(columns, 0)?.schema().to_arrow(KNOWN);
        let encodings = schema.iter_values().map(|f| get_dtype_encoding(&f.dtype)).collect();
        let bytes = Bytes::default();
        let writer = FileWriter::try_new(bytes.clone(), schema, options())?;
        Ok(File { writer, bytes, encodings, columns: columns.clone(), rows })
    }

    /// Takes a stretch of rows in.
    pub fn push(&mut self, from: &SweepRows) {
        self.rows.push(from, self.columns.minor);
    }

    /// Writes every group of `size` rows that is full, and returns the bytes so far.
    pub fn groups(&mut self, size: usize) -> PolarsResult<Vec<u8>> {
        while self.rows.len() >= size {
            self.group(size)?;
        }
        Ok(self.take())
    }

    /// Writes what is left, and the end of the file.
    pub fn end(mut self) -> PolarsResult<Vec<u8>> {
        let left = self.rows.len();
        if left > 0 {
            self.group(left)?;
        }
        self.writer.end(None)?;
        Ok(self.take())
    }

    fn take(&self) -> Vec<u8> {
        self.bytes.0.take()
    }

    fn group(&mut self, size: usize) -> PolarsResult<()> {
        let mut frame = self.rows.frame(&self.columns, size)?;
        self.rows.drop_first(size);
        frame.rechunk_mut();
        for batch in frame.iter_chunks(KNOWN, false).filter(|b| !b.is_empty()) {
            let fields = self.writer.parquet_schema().fields().to_vec();
            let rows = batch.len() as u64;
            let encodings = self.encodings.to_vec();
            self.writer.write(rows, row_group_iter(batch, encodings.into(), fields, options()))?;
        }
        Ok(())
    }
}

impl Rows {
    fn len(&self) -> usize {
        self.scenario.len()
    }

    fn push(&mut self, from: &SweepRows, minor: u32) {
        let words = &mut self.words;
        let (scenario, currency) = (words.index(from.scenario), words.index(from.currency));
        let plans: Vec<u32> = from.table.plans.list().iter().map(|p| words.index(p)).collect();
        let reasons: Vec<u32> = from.table.reasons.list().iter().map(|r| words.index(r)).collect();
        // All currencies share the columns of money.
        let scale = 10i128.pow(minor.saturating_sub(from.minor));
        let numbers = from.numbers();
        let mut at = (u64::MAX, Vec::new());
        for row in &from.table.rows {
            if at.0 != row.point {
                at = (row.point, from.grid.values_at(row.point));
            }
            self.scenario.push(scenario);
            self.currency.push(currency);
            for ((column, &value), numbers) in self.inputs.iter_mut().zip(&at.1).zip(&numbers) {
                column.push(numbers[value]);
            }
            self.plan.push(row.plan.map(|p| plans[p as usize]));
            self.reason.push(row.reason.map(|r| reasons[r as usize]));
            self.figures(row, scale);
        }
    }

    fn figures(&mut self, row: &SweepRow, scale: i128) {
        let figures = row.figures.as_ref();
        for (index, column) in self.money.iter_mut().enumerate() {
            column.push(figures.map(|f| i128::from(f.money[index]) * scale));
        }
        self.days.push(figures.map(|f| days(f).to_f64_lossy()));
        self.verdict.push(figures.map(|f| f.verdict));
        self.close.push(figures.map(|f| f.close));
        self.in_time.push(figures.and_then(|f| f.in_time));
    }

    /// The first rows as a table.
    fn frame(&self, columns: &SweepColumns, size: usize) -> PolarsResult<DataFrame> {
        let text = |ids: &[u32]| -> Vec<&str> { ids.iter().map(|&i| self.words.get(i)).collect() };
        let some = |ids: &[Option<u32>]| -> Vec<Option<&str>> {
            ids.iter().map(|id| id.map(|i| self.words.get(i))).collect()
        };
        let names = columns.names();
        let (first, behind) = (names[0], &names[1 + columns.inputs.len()..]);
        let mut all = vec![Column::new(first.into(), text(&self.scenario[..size]))];
        for (name, values) in columns.inputs.iter().zip(&self.inputs) {
            all.push(Column::new(name.into(), &values[..size]));
        }
        for &name in behind {
            all.push(match name {
                "plan" => Column::new(name.into(), some(&self.plan[..size])),
                "verdict" => Column::new(name.into(), &self.verdict[..size]),
                "close" => Column::new(name.into(), &self.close[..size]),
                "avoidable" => self.money(name, 0, (size, columns.minor))?,
                "outlay" => self.money(name, 1, (size, columns.minor))?,
                "consumed" => self.money(name, 2, (size, columns.minor))?,
                "currency" => Column::new(name.into(), text(&self.currency[..size])),
                "days" => Column::new(name.into(), &self.days[..size]),
                "in_time" => Column::new(name.into(), &self.in_time[..size]),
                _ => Column::new(name.into(), some(&self.reason[..size])),
            });
        }
        DataFrame::new_infer_height(all)
    }

    fn money(&self, name: &str, of: usize, (size, minor): (usize, u32)) -> PolarsResult<Column> {
        let plain = Int128Chunked::from_slice_options(name.into(), &self.money[of][..size]);
        Ok(plain.into_decimal(PRECISION, minor as usize)?.into_column())
    }

    fn drop_first(&mut self, size: usize) {
        fn cut<T>(column: &mut Vec<T>, size: usize) {
            column.drain(..size);
        }
        cut(&mut self.scenario, size);
        cut(&mut self.currency, size);
        self.inputs.iter_mut().for_each(|column| cut(column, size));
        cut(&mut self.plan, size);
        cut(&mut self.reason, size);
        self.money.iter_mut().for_each(|column| cut(column, size));
        cut(&mut self.days, size);
        cut(&mut self.verdict, size);
        cut(&mut self.close, size);
        cut(&mut self.in_time, size);
        if self.scenario.is_empty() {
            self.words = Words::default();
        }
    }
}
