//! The text of a record: its columns, and lines put behind those that are there.
//!
//! Enters: what happened, as texts by column. Leaves: the text of a `record.csv` with lines added at its end. The lines that are there keep
//! every byte. What a text means is not known here.

use std::sync::Arc;

use super::sheet::{Sheet, read_sheet};
use crate::diag::{File, Log};

/// The columns of a record, in the order in which a new one has them.
pub const RECORD_COLUMNS: [&str; 10] = [
    "date",
    "iteration",
    "part",
    "route",
    "what",
    "item",
    "quantity",
    "amount",
    "currency",
    "note",
];

/// One line of a record as text, by column; an empty text leaves its cell empty.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct RecordText {
    /// The texts in the order of [`RECORD_COLUMNS`].
    pub cells: [String; 10],
}

impl RecordText {
    /// The same with a text in a column; a name that is no column changes nothing.
    #[must_use]
    pub fn with(mut self, column: &str, text: impl Into<String>) -> RecordText {
        if let Some(index) = RECORD_COLUMNS.iter().position(|c| *c == column) {
            self.cells[index] = text.into();
        }
        self
    }

    fn cell(&self, column: &str) -> &str {
        let index = RECORD_COLUMNS.iter().position(|c| *c == column);
        index.map_or("", |index| self.cells[index].as_str())
    }
}

/// The text of a record with lines put at its end: `before` is the record so far, `None` where there is none. Separator, line ends and the
/// order of the columns are those it has.
///
/// # Errors
/// The columns a line needs and the record lacks, each once. Nothing can be told of a record without a header line: then all are lacking.
pub fn record_with(
    before: Option<&str>,
    lines: &[RecordText],
) -> Result<String, Vec<&'static str>> {
    let Some(before) = before.filter(|text| !text.trim_start_matches('\u{feff}').trim().is_empty())
    else {
        let mut text = row(RECORD_COLUMNS.iter().copied(), ',');
        text.push('\n');
        for line in lines {
            text.push_str(&row(line.cells.iter().map(String::as_str), ','));
            text.push('\n');
        }
        return Ok(text);
    };
    let sheet = header_of(before);
    let columns: Vec<&str> =
        sheet.iter().flat_map(|s| s.columns.iter().map(|c| c.text.as_str())).collect();
    let lacking = |name: &&&str| {
        !columns.contains(name) && lines.iter().any(|line| !line.cell(name).is_empty())
    };
    let lacking: Vec<&'static str> = RECORD_COLUMNS.iter().filter(lacking).copied().collect();
    if !lacking.is_empty() {
        return Err(lacking);
    }
    let separator = sheet.as_ref().map_or(',', |s| s.separator);
    let end = if before.contains("\r\n") { "\r\n" } else { "\n" };
    let mut text = before.to_owned();
    if !text.ends_with('\n') {
        text.push_str(end);
    }
    for line in lines {
        text.push_str(&row(columns.iter().map(|column| line.cell(column)), separator));
        text.push_str(end);
    }
    Ok(text)
}

/// The header line of a record, with the separator it uses.
fn header_of(text: &str) -> Option<Sheet> {
    // Comments may stand before the header; what comes after it need not be read.
    let text = text.trim_start_matches('\u{feff}');
    let header = text.lines().find(|line| !line.trim().is_empty() && !line.starts_with('#'))?;
    let file = Arc::new(File { path: String::new(), text: header.to_owned() });
    read_sheet(&file, &mut Log::default())
}

/// One line, without its end.
fn row<'t>(cells: impl Iterator<Item = &'t str>, separator: char) -> String {
    let cells: Vec<String> = cells.map(|cell| quoted(cell, separator)).collect();
    cells.join(&separator.to_string())
}

/// A cell as it is written (RFC 4180): in quotes where it needs them; a first cell that begins like a comment, too.
fn quoted(cell: &str, separator: char) -> String {
    let cell = cell.trim();
    let needs = cell.contains([separator, ',', ';', '"', '\n', '\r']) || cell.starts_with('#');
    if needs { format!("\"{}\"", cell.replace('"', "\"\"")) } else { cell.to_owned() }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn line(date: &str, note: &str) -> RecordText {
        RecordText::default().with("date", date).with("iteration", "1").with("note", note)
    }

    fn read(text: &str) -> Sheet {
        let mut log = Log::default();
        let file = Arc::new(File { path: "record.csv".into(), text: text.into() });
        let sheet = read_sheet(&file, &mut log).expect("a sheet");
        assert!(log.found.is_empty(), "{text}: {:?}", log.found);
        sheet
    }

    #[test]
    fn a_new_record_has_its_header() {
        let text = record_with(None, &[line("2026-03-02", "dry, \"hard\"")]).unwrap();
        let header = "date,iteration,part,route,what,item,quantity,amount,currency,note\n";
        assert_eq!(text, format!("{header}2026-03-02,1,,,,,,,,\"dry, \"\"hard\"\"\"\n"));
    }

    #[test]
    fn what_is_there_keeps_every_byte() {
        // Semicolons, carriage returns, another order of columns, no end of the last line.
        let before = "# ours\r\nnote;iteration;date\r\nfirst;1;2026-03-02";
        let text = record_with(Some(before), &[line("2026-03-03", "a;b")]).unwrap();
        assert_eq!(text, format!("{before}\r\n\"a;b\";1;2026-03-03\r\n"));
        assert_eq!(record_with(Some("\u{feff} \n"), &[]).unwrap().lines().count(), 1);
    }

    #[test]
    fn a_column_that_lacks_is_named() {
        let before = "date,iteration\n2026-03-02,1\n";
        assert_eq!(record_with(Some(before), &[line("2026-03-03", "x")]), Err(vec!["note"]));
        assert!(record_with(Some(before), &[line("2026-03-03", "")]).is_ok());
    }

    proptest! {
        /// Whatever is written is read back, however often lines are added.
        #[test]
        fn what_is_written_is_read(notes in prop::collection::vec("[ -~µ€\n\r;,\"#]{0,12}", 1..6)) {
            let mut text: Option<String> = None;
            for note in &notes {
                text = Some(record_with(text.as_deref(), &[line("2026-03-02", note)]).unwrap());
            }
            let sheet = read(&text.unwrap());
            prop_assert_eq!(sheet.rows.len(), notes.len());
            for (row, note) in sheet.rows.iter().zip(&notes) {
                prop_assert_eq!(row.cells[9].text.as_str(), note.trim());
            }
        }
    }
}
