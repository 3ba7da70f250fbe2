//! Lines and columns of a text, found fast for many places.

use std::ops::Range;
use std::sync::Arc;

use crate::diag::{File, Place};

/// Bytes between two points at which the count of characters is kept: a column costs at most so many bytes of reading.
const STRIDE: usize = 1_024;

/// Where the lines of a file start.
pub(super) struct Lines {
    file: Arc<File>,
    starts: Vec<usize>,
    /// Characters before each multiple of [`STRIDE`] bytes.
    counts: Vec<usize>,
}

impl Lines {
    pub fn new(file: &Arc<File>) -> Lines {
        let bytes = file.text.as_bytes();
        let after = |(at, byte): (usize, &u8)| {
            let ends = *byte == b'\n' || (*byte == b'\r' && bytes.get(at + 1) != Some(&b'\n'));
            ends.then_some(at + 1)
        };
        let starts = std::iter::once(0).chain(bytes.iter().enumerate().filter_map(after)).collect();
        let mut counts = vec![0];
        let mut total = 0;
        for chunk in bytes.chunks(STRIDE) {
            total += characters(chunk);
            counts.push(total);
        }
        Lines { file: Arc::clone(file), starts, counts }
    }

    /// The place of a byte range; a range outside the text is moved to its end.
    pub fn place(&self, span: Range<usize>) -> Place {
        let length = self.file.text.len();
        let start = span.start.min(length);
        let span = start..span.end.clamp(start, length);
        let line = self.line_of(start);
        let column = self.before(start) - self.before(self.starts[line]) + 1;
        Place { file: Arc::clone(&self.file), span, line: line + 1, column, cell: None }
    }

    /// The file as a whole.
    pub fn whole(&self) -> Place {
        Place { file: Arc::clone(&self.file), span: 0..0, line: 0, column: 0, cell: None }
    }

    /// The range of the line a byte lies in, without its end.
    pub fn line_at(&self, at: usize) -> Range<usize> {
        let line = self.line_of(at);
        let end = self.starts.get(line + 1).copied().unwrap_or(self.file.text.len());
        let text = &self.file.text[self.starts[line]..end];
        self.starts[line]..self.starts[line] + text.trim_end_matches(['\n', '\r']).len()
    }

    /// Index of the line a byte lies in; the first line starts at 0, so there always is one.
    fn line_of(&self, at: usize) -> usize {
        self.starts.partition_point(|start| *start <= at).saturating_sub(1)
    }

    /// Characters before a byte.
    fn before(&self, at: usize) -> usize {
        let kept = at / STRIDE;
        let tail = self.file.text.as_bytes().get(kept * STRIDE..at).unwrap_or_default();
        self.counts.get(kept).copied().unwrap_or_default() + characters(tail)
    }
}

/// Characters that begin in these bytes of UTF-8.
fn characters(bytes: &[u8]) -> usize {
    bytes.iter().filter(|byte| **byte & 0xc0 != 0x80).count()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(text: &str) -> Lines {
        Lines::new(&Arc::new(File { path: "x".into(), text: text.into() }))
    }

    #[test]
    fn columns_count_characters_on_every_kind_of_line_end() {
        let text = "a\r\nµµ b\nc\rd";
        let lines = lines(text);
        let at = |wanted: &str| {
            let start = text.find(wanted).unwrap();
            let place = lines.place(start..start + 1);
            (place.line, place.column)
        };
        assert_eq!(at("a"), (1, 1));
        assert_eq!(at("b"), (2, 4));
        assert_eq!(at("c"), (3, 1));
        assert_eq!(at("d"), (4, 1));
        assert_eq!(&text[lines.line_at(text.find('b').unwrap())], "µµ b");
    }

    #[test]
    fn long_lines_agree_with_plain_counting() {
        let text = format!("x\n{}", "äb".repeat(2_000));
        let lines = lines(&text);
        for (at, _) in text.char_indices().step_by(7) {
            let start = text[..at].rfind('\n').map_or(0, |n| n + 1);
            assert_eq!(lines.place(at..at).column, text[start..at].chars().count() + 1);
        }
    }

    #[test]
    fn a_span_outside_is_moved_inside() {
        let place = lines("ab\ncd").place(90..95);
        assert_eq!((place.span, place.line, place.column), (5..5, 2, 3));
    }
}
