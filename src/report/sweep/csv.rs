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
    let mut own = Figures::default();
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
        figures(file, &mut own, rows, row)?;
        file.write_field(neutral(rows.reason(row).unwrap_or_default()))?;
        file.write_record(None::<&[u8]>)?;
    }
    Ok(())
}

/// Texts of figures, in room that is kept from row to row.
#[derive(Default)]
struct Figures {
    amount: String,
    digits: itoa::Buffer,
    /// The days of the row before, which most rows share.
    days: Option<(i64, String)>,
}

impl Figures {
    /// An amount of minor units with exactly `minor` decimals, as [`Money::text`](crate::model::Money::text) has it.
    fn amount(&mut self, units: i64, minor: u32) -> &str {
        let digits = self.digits.format(units.unsigned_abs());
        let decimals = minor as usize;
        self.amount.clear();
        if units < 0 {
            self.amount.push('-');
        }
        let zeros = (decimals + 1).saturating_sub(digits.len());
        self.amount.extend(std::iter::repeat_n('0', zeros));
        self.amount.push_str(digits);
        if decimals > 0 {
            self.amount.insert(self.amount.len() - decimals, '.');
        }
        &self.amount
    }

    fn days(&mut self, figures: &RowFigures) -> &str {
        let known = self.days.take().filter(|known| known.0 == figures.seconds);
        let text = known.map_or_else(|| days(figures).to_string(), |known| known.1);
        &self.days.insert((figures.seconds, text)).1
    }
}

fn figures(
    file: &mut Writer<Vec<u8>>,
    texts: &mut Figures,
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
        file.write_field(texts.amount(units, rows.minor))?;
    }
    file.write_field(rows.currency)?;
    file.write_field(texts.days(figures))?;
    file.write_field(in_time.map_or("", yes))
}

#[cfg(test)]
mod tests {
    use super::Figures;
    use crate::model::Money;

    #[test]
    fn amounts_are_those_of_money() {
        let mut figures = Figures::default();
        for units in [0, 1, -1, 9, 10, -10, 99, 100, 12_345, -99_999, i64::MAX, i64::MIN] {
            for minor in 0..=4 {
                let money = Money::of_minor_units(units.into(), minor).expect("it fits");
                assert_eq!(figures.amount(units, minor), money.text(minor), "{units} {minor}");
            }
        }
    }
}
