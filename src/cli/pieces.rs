//! The pieces of a sweep beside its output: what is done stays done when the program is ended, and the same command goes on from there.
//!
//! A folder `FILE.pieces` holds the question and each finished stretch of rows, written whole or not at all. The table is put together from them
//! and from nothing else, so one that was interrupted is the same as one that was not.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use super::{Failure, out};
use crate::analysis::{RowFigures, SweepRow, SweepTable};

/// The file that says what is asked.
const QUESTION: &str = "question.txt";
/// The file that one program at a time holds.
const LOCK: &str = "lock";
/// What every piece begins with: its kind and the version of its layout.
const MAGIC: &[u8; 8] = b"fcpiece2";

/// The folder of pieces of one output.
pub(super) struct Pieces {
    folder: PathBuf,
    /// Held until the end.
    _lock: File,
    /// Lines of the question, as they are on disk.
    pub question: Vec<String>,
}

/// Where the pieces of an output lie.
pub(super) fn folder_beside(output: &Path) -> PathBuf {
    let mut name = output.file_name().unwrap_or_default().to_os_string();
    name.push(".pieces");
    output.with_file_name(name)
}

impl Pieces {
    /// Goes on with what is there, or begins. What is there must answer the same question, whose lines the first of the two lists states; the
    /// second one is added to them where it begins. With `anew` pieces of another question are done away with.
    pub(super) fn open(
        output: &Path,
        question: &[String],
        more: &[String],
        anew: bool,
    ) -> Result<Pieces, Failure> {
        let folder = folder_beside(output);
        let cannot = |error: &io::Error| out::cannot_begin(error, out::folder_of(&folder), output);
        if let Err(error) = fs::create_dir(&folder)
            && error.kind() != io::ErrorKind::AlreadyExists
        {
            return Err(cannot(&error));
        }
        let lock = File::create(folder.join(LOCK)).map_err(|error| cannot(&error))?;
        if lock.try_lock().is_err() {
            let shown = folder.display();
            return Err(Failure::usage(format!(
                "another sweep is at work in {shown}; wait for it, or name another file"
            )));
        }
        let mut pieces = Pieces { folder, _lock: lock, question: Vec::new() };
        let known = fs::read_to_string(pieces.folder.join(QUESTION)).ok();
        if let Some(lines) = known.map(|text| text.lines().map(str::to_owned).collect::<Vec<_>>()) {
            match pieces.hold(&lines, question) {
                Ok(()) => {
                    pieces.question = lines;
                    pieces.sweep_out(|name| name.starts_with(out::HIDDEN));
                    return Ok(pieces);
                }
                Err(failure) if !anew => return Err(failure),
                Err(_) => {}
            }
        }
        pieces.sweep_out(|_| true);
        pieces.question = question.iter().chain(more).cloned().collect();
        let mut text = pieces.question.join("\n");
        text.push('\n');
        pieces.write(QUESTION, text.as_bytes())?;
        Ok(pieces)
    }

    /// Where the table is written until it is whole.
    pub(super) fn folder(&self) -> &Path {
        &self.folder
    }

    /// Refuses pieces of another question, and says in what it differs.
    fn hold(&self, lines: &[String], question: &[String]) -> Result<(), Failure> {
        let differs = question.iter().enumerate().find(|&(at, line)| lines.get(at) != Some(line));
        let Some((at, line)) = differs else {
            return if lines.len() == question.len() + 1 {
                Ok(())
            } else {
                Err(self.other("it had more scenarios"))
            };
        };
        let (topic, now) = line.split_once(" = ").unwrap_or((line, ""));
        let then = lines.get(at).and_then(|l| l.split_once(" = ")).filter(|(t, _)| *t == topic);
        let what = match then {
            Some((_, then)) if topic.starts_with("scenario") => {
                let name =
                    |text: &str| text.rsplit_once(' ').map_or(text, |(name, _)| name).to_owned();
                if name(then) == name(now) {
                    format!("`{}` or a file it names has changed since", name(now))
                } else {
                    format!("{topic} was `{}` then and is `{}` now", name(then), name(now))
                }
            }
            Some((_, then)) => format!("{topic} was `{then}` then and is `{now}` now"),
            None => format!("`{topic}` is new"),
        };
        Err(self.other(&what))
    }

    fn other(&self, what: &str) -> Failure {
        Failure::usage(format!(
            "{} holds pieces of another question: {what}; nothing was written. Ask as before to go on, name another file, or begin anew \
             with --force",
            self.folder.display()
        ))
    }

    /// A finished piece; `None` where it is not there or not whole.
    pub(super) fn read(&self, number: usize) -> Option<SweepTable> {
        decoded(&fs::read(self.folder.join(name(number))).ok()?)
    }

    /// How many pieces are there.
    pub(super) fn count(&self) -> usize {
        let entries = fs::read_dir(&self.folder).into_iter().flatten().flatten();
        entries.filter(|e| e.file_name().to_string_lossy().ends_with(ENDING)).count()
    }

    /// Keeps a finished piece.
    pub(super) fn keep(&self, number: usize, table: &SweepTable) -> Result<(), Failure> {
        self.write(&name(number), &encoded(table))
    }

    fn write(&self, name: &str, bytes: &[u8]) -> Result<(), Failure> {
        out::pending(&self.folder.join(name), bytes, true)?.put()
    }

    /// All is done: nothing is left of the folder.
    pub(super) fn done(self) {
        self.sweep_out(|_| true);
        let _ = fs::remove_file(self.folder.join(LOCK));
        let _ = fs::remove_dir(&self.folder);
    }

    /// Removes files of ours. What a person put there stays.
    fn sweep_out(&self, which: impl Fn(&str) -> bool) {
        for entry in fs::read_dir(&self.folder).into_iter().flatten().flatten() {
            let name = entry.file_name();
            let name = name.to_string_lossy();
            let ours = name == QUESTION || name.ends_with(ENDING) || name.starts_with(out::HIDDEN);
            if ours && which(&name) {
                let _ = fs::remove_file(entry.path());
            }
        }
    }
}

/// What the names of pieces end with.
const ENDING: &str = ".piece";

fn name(number: usize) -> String {
    format!("{number:08}{ENDING}")
}

fn encoded(table: &SweepTable) -> Vec<u8> {
    let mut bytes = MAGIC.to_vec();
    for words in [&table.plans, &table.reasons] {
        let list = words.list();
        let _ = bytes.write_all(&(list.len() as u64).to_le_bytes());
        for text in list {
            let _ = bytes.write_all(&(text.len() as u64).to_le_bytes());
            let _ = bytes.write_all(text.as_bytes());
        }
    }
    let _ = bytes.write_all(&(table.rows.len() as u64).to_le_bytes());
    for row in &table.rows {
        encode_row(row, &mut bytes);
    }
    // A damaged piece is known by its check sum.
    let sum = crc32fast::hash(&bytes);
    bytes.extend(sum.to_le_bytes());
    bytes
}

/// Bits of a row.
const HAS_FIGURES: u8 = 1;
const VERDICT: u8 = 2;
const CLOSE: u8 = 4;
const HAS_DATE: u8 = 8;
const IN_TIME: u8 = 16;

fn encode_row(row: &SweepRow, bytes: &mut Vec<u8>) {
    let figures = row.figures.unwrap_or_default();
    let bit = |bit: u8, is: bool| if is { bit } else { 0 };
    let bits = bit(HAS_FIGURES, row.figures.is_some())
        | bit(VERDICT, figures.verdict)
        | bit(CLOSE, figures.close)
        | bit(HAS_DATE, figures.in_time.is_some())
        | bit(IN_TIME, figures.in_time == Some(true));
    bytes.extend(row.point.to_le_bytes());
    bytes.push(bits);
    for word in [row.plan, row.reason] {
        bytes.extend(word.unwrap_or(u32::MAX).to_le_bytes());
    }
    if row.figures.is_some() {
        figures.money.iter().for_each(|amount| bytes.extend(amount.to_le_bytes()));
        bytes.extend(figures.seconds.to_le_bytes());
    }
}

/// Bytes that are read from the front.
struct Reading<'b>(&'b [u8]);

impl<'b> Reading<'b> {
    fn take<const N: usize>(&mut self) -> Option<[u8; N]> {
        let (first, rest) = self.0.split_first_chunk::<N>()?;
        self.0 = rest;
        Some(*first)
    }

    fn count(&mut self) -> Option<usize> {
        usize::try_from(u64::from_le_bytes(self.take()?)).ok()
    }

    fn text(&mut self) -> Option<&'b str> {
        let length = self.count()?;
        let (text, rest) = self.0.split_at_checked(length)?;
        self.0 = rest;
        std::str::from_utf8(text).ok()
    }

    fn word(&mut self) -> Option<Option<u32>> {
        let word = u32::from_le_bytes(self.take()?);
        Some((word != u32::MAX).then_some(word))
    }

    fn row(&mut self) -> Option<SweepRow> {
        let point = u64::from_le_bytes(self.take()?);
        let [bits] = self.take()?;
        let is = |bit: u8| bits & bit != 0;
        let (plan, reason) = (self.word()?, self.word()?);
        let figures = if is(HAS_FIGURES) {
            let mut number = || Some(i64::from_le_bytes(self.take()?));
            Some(RowFigures {
                money: [number()?, number()?, number()?],
                seconds: number()?,
                verdict: is(VERDICT),
                close: is(CLOSE),
                in_time: is(HAS_DATE).then(|| is(IN_TIME)),
            })
        } else {
            None
        };
        Some(SweepRow { point, plan, figures, reason })
    }
}

fn decoded(bytes: &[u8]) -> Option<SweepTable> {
    let (body, own) = bytes.split_last_chunk::<4>()?;
    if u32::from_le_bytes(*own) != crc32fast::hash(body) {
        return None;
    }
    let mut reading = Reading(body);
    if reading.take::<8>()? != *MAGIC {
        return None;
    }
    let mut table = SweepTable::default();
    for words in [&mut table.plans, &mut table.reasons] {
        for _ in 0..reading.count()? {
            words.index(reading.text()?);
        }
    }
    for _ in 0..reading.count()? {
        table.rows.push(reading.row()?);
    }
    reading.0.is_empty().then_some(table)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table() -> SweepTable {
        let mut table = SweepTable::default();
        let (plan, reason) = (table.plans.index("a = b"), table.reasons.index("why; not"));
        let figures = RowFigures {
            money: [-1, 2, i64::MAX],
            seconds: 86_400,
            verdict: true,
            close: false,
            in_time: Some(false),
        };
        table.rows = vec![
            SweepRow { point: 7, plan: Some(plan), figures: Some(figures), reason: None },
            SweepRow { point: u64::MAX, plan: None, figures: None, reason: Some(reason) },
        ];
        table
    }

    #[test]
    fn a_piece_comes_back_as_it_was() {
        assert_eq!(decoded(&encoded(&table())), Some(table()));
        assert_eq!(decoded(&encoded(&SweepTable::default())), Some(SweepTable::default()));
    }

    #[test]
    fn a_damaged_piece_is_none() {
        let bytes = encoded(&table());
        for at in 0..bytes.len() {
            let mut damaged = bytes.clone();
            damaged[at] ^= 1;
            assert_eq!(decoded(&damaged), None, "byte {at}");
            assert_eq!(decoded(&bytes[..at]), None, "cut at {at}");
        }
    }
}
