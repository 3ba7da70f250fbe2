//! Lines of text formats: a reader goes in, numbered lines of bounded length come out.

use std::io::{BufRead, Read};

use super::MeshError;

/// The longest line that is read, in bytes.
const MAX_LINE: u64 = 1 << 20;

/// Lines one after another, without their ends. Text need not be UTF-8: only numbers and keywords are looked at.
pub(super) struct Lines<R> {
    reader: R,
    line: Vec<u8>,
    number: u64,
}

impl<R: BufRead> Lines<R> {
    pub(super) fn new(reader: R) -> Self {
        Self { reader, line: Vec::new(), number: 0 }
    }

    /// Number of the line read last, from 1.
    pub(super) fn number(&self) -> u64 {
        self.number
    }

    /// Reads the next line; false at the end.
    pub(super) fn advance(&mut self) -> Result<bool, MeshError> {
        self.line.clear();
        let read = (&mut self.reader).take(MAX_LINE).read_until(b'\n', &mut self.line)?;
        if read == 0 {
            return Ok(false);
        }
        self.number += 1;
        if read as u64 == MAX_LINE && self.line.last() != Some(&b'\n') {
            return Err(MeshError::TooLarge {
                what: "bytes in one line",
                found: MAX_LINE,
                limit: MAX_LINE - 1,
            });
        }
        Ok(true)
    }

    /// The line's words.
    pub(super) fn words(&self) -> impl Iterator<Item = &[u8]> {
        self.line.split(u8::is_ascii_whitespace).filter(|word| !word.is_empty())
    }

    /// The line as it stands.
    pub(super) fn bytes(&self) -> &[u8] {
        &self.line
    }

    /// A finding about this line.
    pub(super) fn wrong(&self, found: &[u8], expected: &'static str) -> MeshError {
        MeshError::Line { line: self.number, found: shown(found), expected }
    }
}

/// Text for a message: at most 40 characters of it, without control characters.
pub(super) fn shown(text: &[u8]) -> String {
    let text = String::from_utf8_lossy(&text[..text.len().min(200)]);
    let clean = |c: char| if c.is_control() { '?' } else { c };
    let mut short: String = text.trim().chars().take(40).map(clean).collect();
    if text.trim().chars().count() > 40 {
        short.push_str("...");
    }
    short
}

/// A finite number with a decimal point.
pub(super) fn number(word: &[u8]) -> Option<f64> {
    let value: f64 = std::str::from_utf8(word).ok()?.parse().ok()?;
    value.is_finite().then_some(value)
}
