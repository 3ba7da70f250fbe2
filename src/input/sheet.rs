//! A price sheet as rows of cells with places.
//!
//! Enters: the text of a CSV file. Leaves: column names and rows, each cell with line, column, column name and spreadsheet cell, and
//! every slip in the file's form. What a column means is not known here.

use std::ops::Range;
use std::sync::Arc;

use super::lines::Lines;
use super::sheet_cells::{
    COLUMN_LIMIT, Located, Locator, Record, Slip, cell_name, csv_reader, detect_separator,
};
use crate::diag::{Code, Diagnostic, File, Log, Place};

/// Most cells of a sheet, rows times columns.
pub const CELL_LIMIT: usize = 1_000_000;

/// One price sheet.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// The file.
    pub file: Arc<File>,
    /// What stands between cells, as detected: comma or semicolon.
    pub separator: char,
    /// Column names in order, each with the place of its header cell.
    pub columns: Vec<Cell>,
    /// The rows, comments and blank lines left out.
    pub rows: Vec<Row>,
}

/// One row.
#[derive(Clone, Debug)]
pub struct Row {
    /// The place of the whole row (its first cell's line).
    pub place: Place,
    /// One cell per column of the sheet; a missing trailing cell is empty.
    pub cells: Vec<Cell>,
}

/// One cell: trimmed text with its place (line, column, column name, spreadsheet cell).
#[derive(Clone, Debug)]
pub struct Cell {
    /// The text without outer blanks.
    pub text: String,
    /// Where it is.
    pub place: Place,
}

impl Sheet {
    /// The cell of a row in a named column; `None` where the sheet lacks the column or the cell is empty.
    pub fn cell<'a>(&self, row: &'a Row, column: &str) -> Option<&'a Cell> {
        let index = self.columns.iter().position(|c| c.text == column)?;
        row.cells.get(index).filter(|c| !c.text.is_empty())
    }

    /// The header cell of a named column.
    pub fn column(&self, name: &str) -> Option<&Cell> {
        self.columns.iter().find(|column| column.text == name)
    }
}

/// Reads a sheet: UTF-8 (a byte-order mark is removed by [`super::read_file`]), LF or CRLF, comma or semicolon. Every error is logged.
/// A row with more cells than columns is left out, for none of its cells can be trusted. `None` where there is no header line or the
/// sheet is too large.
pub fn read_sheet(file: &Arc<File>, log: &mut Log) -> Option<Sheet> {
    let separator = detect_separator(&file.text);
    let mut reading = Reading { file, lines: Lines::new(file), columns: Vec::new(), log };
    let mut records = Records {
        locator: Locator::new(&file.text, separator),
        reader: csv_reader(&file.text, separator),
        file,
    };
    let Some((header, names)) = records.next() else {
        reading.complain(
            Code::EmptyFile,
            &reading.lines.whole(),
            "sheet has no header line",
            "write the column names in its first line",
        );
        return None;
    };
    reading.header(&header, names)?;
    let mut rows = Vec::new();
    for (record, texts) in records {
        if rows.len() * reading.columns.len() >= CELL_LIMIT {
            let message = format!("sheet has more than {CELL_LIMIT} cells");
            let place = reading.place_of(&record);
            reading.complain(Code::TooMany, &place, message, "take out rows that are not used");
            return None;
        }
        rows.extend(reading.row(&record, texts));
    }
    Some(Sheet {
        file: Arc::clone(file),
        separator: char::from(separator),
        columns: reading.columns,
        rows,
    })
}

/// The records with their texts: places from the locator, texts from the reader, in step.
struct Records<'a> {
    locator: Locator<'a>,
    reader: csv::Reader<&'a [u8]>,
    file: &'a File,
}

impl Iterator for Records<'_> {
    type Item = (Record, Vec<String>);

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            let record = self.locator.next()?;
            let mut read = csv::StringRecord::new();
            // The text is UTF-8 in memory and rows may differ in length, so the reader has no reason to fail.
            let in_step =
                self.reader.read_record(&mut read).unwrap_or(false) && read.len() == record.count;
            let raw = |cell: &Located| {
                self.file.text.get(cell.span.clone()).unwrap_or_default().to_string()
            };
            let text = |(index, cell): (usize, &Located)| match read.get(index) {
                Some(text) if in_step => text.trim().to_string(),
                _ => raw(cell),
            };
            let texts: Vec<String> = record.cells.iter().enumerate().map(text).collect();
            // A spreadsheet saves a blank line or a comment with a separator for each column.
            let filled = texts.iter().filter(|text| !text.is_empty()).count();
            let is_note = filled == 1 && texts.first().is_some_and(|text| text.starts_with('#'));
            if (filled > 0 && !is_note) || record.count > COLUMN_LIMIT {
                return Some((record, texts));
            }
        }
    }
}

struct Reading<'a> {
    file: &'a Arc<File>,
    lines: Lines,
    columns: Vec<Cell>,
    log: &'a mut Log,
}

impl Reading<'_> {
    fn complain(
        &mut self,
        code: Code,
        place: &Place,
        message: impl Into<String>,
        hint: impl Into<String>,
    ) {
        self.log.push(Diagnostic::error(code, place, message).hint(hint));
    }

    /// Takes the column names. `None` where there are too many.
    fn header(&mut self, record: &Record, names: Vec<String>) -> Option<()> {
        if record.count > COLUMN_LIMIT {
            let message =
                format!("sheet has {} columns, expected at most {COLUMN_LIMIT}", record.count);
            self.complain(Code::TooMany, &self.place_of(record), message, "is it the right file?");
            return None;
        }
        let used = names.iter().rposition(|name| !name.is_empty()).map_or(0, |last| last + 1);
        for (index, name) in names.into_iter().enumerate().take(used) {
            let mut place = self.lines.place(self.shown(&record.cells[index]));
            place.cell = Some((name.clone(), cell_name(index, record.row)));
            self.columns.push(Cell { text: name, place });
        }
        self.slips(record);
        self.check_names();
        Some(())
    }

    fn check_names(&mut self) {
        let tabs = "separate the columns with commas or semicolons: save the sheet as CSV";
        let mut found = Vec::new();
        for (index, column) in self.columns.iter().enumerate() {
            let name = &column.text;
            if name.is_empty() {
                let hint = "name it, or remove the separator that is too many";
                found.push(
                    Diagnostic::error(Code::CsvSyntax, &column.place, "column without a name")
                        .hint(hint),
                );
            } else if name.contains('\t') {
                found.push(
                    Diagnostic::error(
                        Code::CsvSyntax,
                        &column.place,
                        "columns are separated by tabs",
                    )
                    .hint(tabs),
                );
            } else if let Some(first) =
                self.columns[..index].iter().find(|earlier| earlier.text == *name)
            {
                let message = format!("column `{name}` is there twice");
                let finding = Diagnostic::error(Code::DuplicateColumn, &column.place, message);
                found.push(
                    finding.see(&first.place, "the first").hint("rename or remove one of them"),
                );
            }
        }
        found.into_iter().for_each(|finding| self.log.push(finding));
    }

    /// Takes a row; `None` where it has more cells than there are columns.
    fn row(&mut self, record: &Record, texts: Vec<String>) -> Option<Row> {
        let slipped = self.slips(record);
        let used = texts.iter().rposition(|text| !text.is_empty()).map_or(0, |last| last + 1);
        if used > self.columns.len() || record.count > COLUMN_LIMIT {
            // A slip in quoting shifts the cells, so one finding is enough.
            if !slipped {
                self.too_many(record, &texts);
            }
            return None;
        }
        let place = self.place_of(record);
        let end = place.span.end;
        let mut texts = texts.into_iter();
        let cells = (0..self.columns.len()).map(|index| {
            let span = record.cells.get(index).map_or(end..end, |cell| self.shown(cell));
            Cell {
                text: texts.next().unwrap_or_default(),
                place: self.cell_place(index, record.row, span),
            }
        });
        Some(Row { cells: cells.collect(), place })
    }

    fn cell_place(&self, index: usize, row: usize, span: Range<usize>) -> Place {
        let mut place = self.lines.place(span);
        place.cell =
            self.columns.get(index).map(|column| (column.text.clone(), cell_name(index, row)));
        place
    }

    fn place_of(&self, record: &Record) -> Place {
        let start = record.cells.first().map_or(0, |cell| cell.span.start);
        let end = record.cells.last().map_or(start, |cell| cell.span.end);
        self.lines.place(start..end)
    }

    /// The range of a cell without outer blanks.
    fn shown(&self, cell: &Located) -> Range<usize> {
        let raw = self.file.text.get(cell.span.clone()).unwrap_or_default();
        let start = cell.span.start + (raw.len() - raw.trim_start().len());
        start..start + raw.trim().len()
    }

    /// Logs slips in quoting; true if there were any.
    fn slips(&mut self, record: &Record) -> bool {
        let mut any = false;
        for (index, cell) in record.cells.iter().enumerate() {
            let Some(slip) = cell.slip else { continue };
            any = true;
            let span = self.shown(cell);
            let blank_first =
                span.start > cell.span.start && self.file.text[span.clone()].starts_with('"');
            let (message, hint) = match slip {
                Slip::Open => (
                    "quote is opened and never closed",
                    "close it at the end of the cell; a quote inside is written twice",
                ),
                Slip::After => (
                    "text after the closing quote",
                    "a quote inside a quoted cell is written twice: `\"\"`",
                ),
                Slip::Inside if blank_first => (
                    "blank before the opening quote",
                    "remove the blank between separator and quote",
                ),
                Slip::Inside => (
                    "quote inside a cell",
                    "put the whole cell in quotes and write the quote inside twice: `\"3\"\" tube\"`",
                ),
            };
            // An open quote swallows the rest of the file: its first line is enough to show.
            let line_end = self.lines.line_at(span.start).end;
            let place = self.cell_place(index, record.row, span.start..span.end.min(line_end));
            self.complain(Code::CsvSyntax, &place, message, hint);
        }
        any
    }

    /// More cells than columns: a decimal comma or a text with a comma, most often.
    fn too_many(&mut self, record: &Record, texts: &[String]) {
        let columns = self.columns.len();
        let message =
            format!("row has {} cells, expected {columns} as in the header line", record.count);
        let suspect = (1..texts.len()).find(|&i| is_cut_number(&texts[i - 1], &texts[i]));
        let dates = (1..texts.len()).find(|&i| is_date(&texts[i - 1]) && is_date(&texts[i]));
        let (index, hint) = match suspect.or(dates) {
            Some(i) if suspect.is_none() => {
                (i - 1, "separate the dates of one cell with blanks, without commas".to_string())
            }
            Some(i) => {
                let (left, right) = (&texts[i - 1], &texts[i]);
                (
                    i - 1,
                    format!(
                        "is `{left},{right}` one number? then write `{left}.{right}`; a text with a comma needs double quotes"
                    ),
                )
            }
            None => {
                (columns, "put a text that contains the separator in double quotes".to_string())
            }
        };
        let Some(cell) = record.cells.get(index) else {
            return;
        };
        let last = record
            .cells
            .get(if suspect.or(dates).is_some() { index + 1 } else { index })
            .unwrap_or(cell);
        let place =
            self.cell_place(index, record.row, self.shown(cell).start..self.shown(last).end);
        self.complain(Code::CsvSyntax, &place, message, hint);
    }
}

/// True where a cell is, or ends with, a date such as `2026-03-18`.
fn is_date(text: &str) -> bool {
    text.split_whitespace().next_back().is_some_and(|word| super::read_date(word).is_ok())
}

/// True where two neighbouring cells look like one number cut at its decimal comma: `1` and `5 L`.
fn is_cut_number(left: &str, right: &str) -> bool {
    let whole = left.strip_prefix('-').unwrap_or(left);
    let digits = right.bytes().take_while(u8::is_ascii_digit).count();
    let unit = &right[digits..];
    let is_whole = !whole.is_empty() && whole.bytes().all(|b| b.is_ascii_digit());
    // `190 x 120 mm` is lengths of its own.
    let is_lengths = unit.trim_start().starts_with(['x', 'X', '×', '*']);
    is_whole
        && digits > 0
        && !is_lengths
        && (unit.is_empty() || unit.starts_with(|c: char| c == ' ' || c.is_alphabetic()))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn read(text: &str) -> (Option<Sheet>, Log) {
        let mut log = Log::default();
        let sheet = read_sheet(
            &Arc::new(File { path: "materials.csv".into(), text: text.into() }),
            &mut log,
        );
        (sheet, log)
    }

    fn good(text: &str) -> Sheet {
        let (sheet, log) = read(text);
        assert!(log.found.is_empty(), "{:?}", log.found);
        sheet.unwrap()
    }

    /// Code, line, column, spreadsheet cell and hint of the only finding.
    fn only(text: &str) -> (Code, usize, usize, String, String) {
        let (_, mut log) = read(text);
        assert_eq!(log.found.len(), 1, "{text}: {:?}", log.found);
        let finding = log.found.remove(0);
        let place = finding.place.unwrap();
        (
            finding.code,
            place.line,
            place.column,
            place.cell.map_or_else(String::new, |c| c.1),
            finding.hint.unwrap(),
        )
    }

    const SHEET: &str = "# prices\r\nmaterial,pack,pack_price\r\n\r\n\"soft resin, 70A\", 1 L ,138.00\r\n\"two\r\nlines\",,5\r\nlast";

    #[test]
    fn cells_have_line_column_name_and_spreadsheet_cell() {
        let sheet = good(SHEET);
        assert_eq!(sheet.rows.len(), 3);
        let pack = sheet.cell(&sheet.rows[0], "pack").unwrap();
        assert_eq!((pack.text.as_str(), pack.place.line, pack.place.column), ("1 L", 4, 20));
        assert_eq!(pack.place.cell, Some(("pack".into(), "B4".into())));
        assert_eq!(&SHEET[pack.place.span.clone()], "1 L");
        assert_eq!(sheet.cell(&sheet.rows[0], "material").unwrap().text, "soft resin, 70A");
        let price = sheet.cell(&sheet.rows[1], "pack_price").unwrap();
        assert_eq!((price.place.line, price.place.cell.clone().unwrap().1.as_str()), (6, "C5"));
        assert!(sheet.cell(&sheet.rows[1], "pack").is_none());
        assert_eq!(sheet.rows[2].cells.len(), 3);
        assert_eq!(sheet.rows[2].cells[0].place.cell.clone().unwrap().1, "A6");
        assert!(sheet.cell(&sheet.rows[2], "no such column").is_none());
    }

    #[test]
    fn a_semicolon_separates_where_the_header_has_it() {
        let sheet = good("item;pack;pack_price\nglue, clear;1 L;3.50\n");
        assert_eq!(sheet.separator, ';');
        assert_eq!(sheet.cell(&sheet.rows[0], "item").unwrap().text, "glue, clear");
        assert_eq!(good("item\nx\n").separator, ',');
    }

    #[test]
    fn trailing_separators_blank_rows_and_notes_of_a_spreadsheet_do_no_harm() {
        let sheet = good("# note,,,\nitem,pack,,\nx,1 L,,\n,,,\n\"# another, longer note\",,,\n");
        assert_eq!((sheet.columns.len(), sheet.rows.len()), (2, 1));
    }

    #[test]
    fn a_decimal_comma_without_quotes_is_pointed_at() {
        let found = only("item,pack,pack_price\nglue,1,5 L,3.50\n");
        assert_eq!((found.0, found.1, found.2, found.3.as_str()), (Code::CsvSyntax, 2, 6, "B2"));
        assert!(found.4.contains("`1,5 L`") && found.4.contains("`1.5 L`"), "{}", found.4);
        let found = only("item,note\nglue,for wood, and cork\n");
        assert_eq!((found.0, found.2), (Code::CsvSyntax, 16));
        assert!(found.4.contains("double quotes"));
    }

    #[test]
    fn slips_in_the_form_are_named() {
        assert_eq!(only("item,pack,item\nx,1,2\n").0, Code::DuplicateColumn);
        assert_eq!(only("item,,pack\nx,,1 L\n").3, "B1");
        assert_eq!(only("item\tpack\nx\t1 L\n").0, Code::CsvSyntax);
        assert_eq!(only("item,pack\nx,\"1 L\ny,2 L\n").2, 3);
        assert!(only("item,pack\ntube 3\" wide,1 L\n").4.contains("whole cell"));
        assert!(only("item,pack\nx, \"1 L\"\n").4.contains("blank"));
        assert!(only("item,pack\n\"x\"y,1 L\n").4.contains("twice"));
        assert_eq!(only("# nothing\n\n").0, Code::EmptyFile);
    }

    #[test]
    fn every_bad_row_is_reported() {
        let (sheet, log) = read("a,b\n1,2,3\nx,y\n4,5,6\n");
        assert_eq!(log.found.len(), 2);
        assert_eq!(sheet.unwrap().rows.len(), 1);
    }

    #[test]
    fn limits_hold() {
        let wide = "a,".repeat(COLUMN_LIMIT + 1) + "a\n";
        assert_eq!(only(&wide).0, Code::TooMany);
        let (_, log) = read(&("a,b\n".to_string() + &"x,y\n".repeat(CELL_LIMIT / 2 + 1)));
        assert_eq!(log.found[0].code, Code::TooMany);
        let (_, log) = read(&("a,b\n".to_string() + &",".repeat(COLUMN_LIMIT * 2) + "x\n"));
        assert_eq!(log.found[0].code, Code::CsvSyntax);
    }

    proptest! {
        #[test]
        fn arbitrary_text_never_panics(text in "\\PC{0,80}") {
            read(&text);
        }

        #[test]
        fn every_cell_is_where_its_place_says(text in "(a|b|µ|,|;|\"|#|\r|\n| |[0-9]){0,60}") {
            let (Some(sheet), log) = read(&text) else { return Ok(()) };
            if log.has_errors() {
                return Ok(());
            }
            for cell in sheet.rows.iter().flat_map(|row| &row.cells) {
                let raw = &text[cell.place.span.clone()];
                let plain = raw.strip_prefix('"').and_then(|r| r.strip_suffix('"')).map(|r| r.replace("\"\"", "\""));
                let plain = plain.as_deref().unwrap_or(raw).trim().to_string();
                prop_assert_eq!(&plain, &cell.text);
                prop_assert!(cell.place.line >= 1 && cell.place.column >= 1);
            }
        }
    }
}
