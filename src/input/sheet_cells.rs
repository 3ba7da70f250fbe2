//! Where the cells of a sheet stand: byte ranges of records and cells, aware of quotes.
//!
//! The reader of the `csv` crate says where a record starts and what its cells hold, not where each cell is written. This walk finds
//! the same records and cells (a property test holds the two together) and the slips in quoting that the reader passes over.

use std::ops::Range;

/// Most columns of a sheet; cells beyond are counted but not kept.
pub const COLUMN_LIMIT: usize = 256;

/// A slip in the quoting of a cell.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Slip {
    /// The quote is never closed.
    Open,
    /// Text stands between the closing quote and the separator.
    After,
    /// A quote stands inside a cell that does not begin with one.
    Inside,
}

/// One cell as written, quotes included.
#[derive(Clone, Debug)]
pub(super) struct Located {
    pub span: Range<usize>,
    pub slip: Option<Slip>,
}

/// One record: a row that is neither blank nor a comment.
#[derive(Debug)]
pub(super) struct Record {
    pub cells: Vec<Located>,
    /// How many cells it has, kept or not.
    pub count: usize,
    /// Row number in a spreadsheet, from 1.
    pub row: usize,
}

/// A walk over the records of a text.
pub(super) struct Locator<'a> {
    bytes: &'a [u8],
    separator: u8,
    at: usize,
    row: usize,
}

impl<'a> Locator<'a> {
    pub fn new(text: &'a str, separator: u8) -> Locator<'a> {
        Locator { bytes: text.as_bytes(), separator, at: 0, row: 0 }
    }

    fn peek(&self) -> Option<u8> {
        self.bytes.get(self.at).copied()
    }

    /// Moves behind blank lines and comments, each of which is a row of the spreadsheet.
    fn skip(&mut self) {
        while let Some(byte) = self.peek() {
            match byte {
                b'\r' | b'\n' => self.end_of_line(),
                b'#' => {
                    while self.peek().is_some_and(|b| b != b'\n') {
                        self.at += 1;
                    }
                    self.end_of_line();
                }
                _ => break,
            }
        }
    }

    fn end_of_line(&mut self) {
        self.row += 1;
        let crlf = self.bytes[self.at..].starts_with(b"\r\n");
        self.at = (self.at + if crlf { 2 } else { 1 }).min(self.bytes.len());
    }

    /// Reads one cell and stops before what ends it.
    fn cell(&mut self) -> Located {
        let start = self.at;
        let mut slip = None;
        if self.peek() == Some(b'"') {
            self.at += 1;
            if self.close_quote() {
                slip = (!self.at_end()).then_some(Slip::After);
            } else {
                slip = Some(Slip::Open);
            }
        }
        while !self.at_end() {
            if self.peek() == Some(b'"') {
                slip.get_or_insert(Slip::Inside);
            }
            self.at += 1;
        }
        Located { span: start..self.at, slip }
    }

    fn at_end(&self) -> bool {
        self.peek().is_none_or(|b| b == self.separator || b == b'\n' || b == b'\r')
    }

    /// Moves behind the closing quote; false if there is none. Two quotes are one quote of the text.
    fn close_quote(&mut self) -> bool {
        while let Some(byte) = self.peek() {
            self.at += 1;
            if byte == b'"' {
                if self.peek() != Some(b'"') {
                    return true;
                }
                self.at += 1;
            }
        }
        false
    }
}

impl Iterator for Locator<'_> {
    type Item = Record;

    fn next(&mut self) -> Option<Record> {
        self.skip();
        self.peek()?;
        let mut record = Record { cells: Vec::new(), count: 0, row: self.row + 1 };
        loop {
            let cell = self.cell();
            record.count += 1;
            if record.cells.len() < COLUMN_LIMIT {
                record.cells.push(cell);
            }
            if self.peek() != Some(self.separator) {
                break;
            }
            self.at += 1;
        }
        self.end_of_line();
        Some(record)
    }
}

/// The reader of the `csv` crate with the same rules as [`Locator`].
pub(super) fn csv_reader(text: &str, separator: u8) -> csv::Reader<&[u8]> {
    csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator)
        .comment(Some(b'#'))
        .from_reader(text.as_bytes())
}

/// Comma or semicolon, whichever the first row that is neither blank nor a comment has more of, outside quotes.
pub(super) fn detect_separator(text: &str) -> u8 {
    let is_row = |line: &&str| !line.trim().is_empty() && !line.starts_with('#');
    let header = text.split(['\n', '\r']).find(is_row).unwrap_or_default();
    let (mut commas, mut semicolons, mut quoted) = (0, 0, false);
    for byte in header.bytes() {
        match byte {
            b'"' => quoted = !quoted,
            b',' if !quoted => commas += 1,
            b';' if !quoted => semicolons += 1,
            _ => {}
        }
    }
    if semicolons > commas { b';' } else { b',' }
}

/// Name of a spreadsheet cell from its column (from 0) and row (from 1): `C2`, `AA10`.
pub(super) fn cell_name(column: usize, row: usize) -> String {
    let mut letters = Vec::new();
    let mut rest = column + 1;
    while rest > 0 {
        let digit = u8::try_from((rest - 1) % 26).unwrap_or_default();
        letters.push(char::from(b'A' + digit));
        rest = (rest - 1) / 26;
    }
    letters.iter().rev().collect::<String>() + &row.to_string()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn columns_have_letters() {
        let names: Vec<String> = [0, 2, 25, 26, 51, 52, 701, 702].map(|c| cell_name(c, 2)).into();
        assert_eq!(names, ["A2", "C2", "Z2", "AA2", "AZ2", "BA2", "ZZ2", "AAA2"]);
    }

    #[test]
    fn separators_are_counted_outside_quotes() {
        assert_eq!(detect_separator("# a;b;c\n\nitem,\"a;b;c\",pack\n"), b',');
        assert_eq!(detect_separator("item;pack;\"a,b,c\"\r\n"), b';');
        assert_eq!(detect_separator("item\n"), b',');
        assert_eq!(detect_separator(""), b',');
    }

    #[test]
    fn rows_are_counted_as_a_spreadsheet_does() {
        let text = "# note\r\na,b\r\n\r\n\"two\r\nlines\",x\r\ny,z";
        let rows: Vec<usize> = Locator::new(text, b',').map(|r| r.row).collect();
        assert_eq!(rows, [2, 4, 5]);
    }

    #[test]
    fn slips_are_found() {
        let slips = |text: &str| -> Vec<Option<Slip>> {
            Locator::new(text, b',').flat_map(|r| r.cells).map(|c| c.slip).collect()
        };
        assert_eq!(slips("\"a\"\"b\",c"), [None, None]);
        assert_eq!(slips("\"a\" b,c"), [Some(Slip::After), None]);
        assert_eq!(slips("3\" tube, \"x\""), [Some(Slip::Inside), Some(Slip::Inside)]);
        assert_eq!(slips("a,\"b\nc,d"), [None, Some(Slip::Open)]);
    }

    /// The text of a cell that has no slip.
    fn unquoted(raw: &str) -> String {
        match raw.strip_prefix('"').and_then(|r| r.strip_suffix('"')) {
            Some(inner) => inner.replace("\"\"", "\""),
            None => raw.to_string(),
        }
    }

    proptest! {
        #[test]
        fn finds_the_cells_that_the_csv_reader_finds(text in "[ab,;\"#\r\n µ]{0,40}") {
            // The reader takes a comment that ends without a line end for a record; a sheet has such a line at most once, at its end.
            let text = text + "\n";
            for separator in [b',', b';'] {
                let located: Vec<Record> = Locator::new(&text, separator).collect();
                let read: Vec<csv::StringRecord> = csv_reader(&text, separator).records().map(Result::unwrap).collect();
                prop_assert_eq!(located.len(), read.len());
                for (ours, theirs) in located.iter().zip(&read) {
                    prop_assert_eq!(ours.count, theirs.len());
                    for (cell, text_read) in ours.cells.iter().zip(theirs).filter(|(cell, _)| cell.slip.is_none()) {
                        prop_assert_eq!(unquoted(&text[cell.span.clone()]), text_read);
                    }
                }
            }
        }
    }
}
