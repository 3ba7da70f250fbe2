//! The diagnostic value, its place, and the log that collects them.

use std::collections::BTreeSet;
use std::ops::Range;
use std::sync::Arc;

use super::Code;

/// How bad a finding is.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Severity {
    /// The answer cannot be computed.
    Error,
    /// The answer stands, but a person should look.
    Warning,
}

/// A file that was read: its name as the user knows it, and its text.
#[derive(Debug)]
pub struct File {
    /// Path as shown, relative to where the user is.
    pub path: String,
    /// Its text (lossy where it is not UTF-8).
    pub text: String,
}

/// Where something is written.
#[derive(Clone, Debug)]
pub struct Place {
    /// The file.
    pub file: Arc<File>,
    /// Byte range in the file's text; empty for the file as a whole.
    pub span: Range<usize>,
    /// Line, from 1; 0 for the file as a whole.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// Name of the sheet's column and its spreadsheet cell, such as `("pack_price", "C2")`.
    pub cell: Option<(String, String)>,
}

/// One finding.
#[derive(Clone, Debug)]
pub struct Diagnostic {
    /// What kind of finding it is.
    pub code: Code,
    /// How bad it is.
    pub severity: Severity,
    /// What was found and what was expected: a lower-case fragment, offending value in backticks, no full stop.
    pub message: String,
    /// Where; `None` only where no file is concerned.
    pub place: Option<Place>,
    /// Other places that matter, with a word on each.
    pub related: Vec<(Place, String)>,
    /// What to do next.
    pub hint: Option<String>,
}

impl Diagnostic {
    /// An error at a place.
    pub fn error(code: Code, place: &Place, message: impl Into<String>) -> Diagnostic {
        Diagnostic {
            code,
            severity: Severity::Error,
            message: message.into(),
            place: Some(place.clone()),
            related: Vec::new(),
            hint: None,
        }
    }

    /// A warning at a place.
    pub fn warning(code: Code, place: &Place, message: impl Into<String>) -> Diagnostic {
        Diagnostic { severity: Severity::Warning, ..Diagnostic::error(code, place, message) }
    }

    /// The same with a hint.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Diagnostic {
        self.hint = Some(hint.into());
        self
    }

    /// The same with another place that matters.
    #[must_use]
    pub fn see(mut self, place: &Place, word: impl Into<String>) -> Diagnostic {
        self.related.push((place.clone(), word.into()));
        self
    }
}

/// Findings as they are collected.
#[derive(Clone, Debug, Default)]
pub struct Log {
    /// All findings so far.
    pub found: Vec<Diagnostic>,
    /// Lines that could not be read, by path.
    broken: BTreeSet<(String, usize)>,
}

impl Log {
    /// Adds one. What is found in a line that could not be read follows from that, and is left out.
    pub fn push(&mut self, diagnostic: Diagnostic) {
        let line = diagnostic.place.as_ref().map(|place| (place.file.path.clone(), place.line));
        if line.is_none_or(|line| !self.broken.contains(&line)) {
            self.found.push(diagnostic);
        }
    }

    /// Adds a finding on a line that could not be read: what stands in for its content says nothing.
    pub fn push_broken(&mut self, diagnostic: Diagnostic) {
        let line = diagnostic.place.as_ref().map(|place| (place.file.path.clone(), place.line));
        self.push(diagnostic);
        self.broken.extend(line);
    }

    /// True if a finding of this kind is among them.
    pub fn has(&self, code: Code) -> bool {
        self.found.iter().any(|d| d.code == code)
    }

    /// True if an error is among them.
    pub fn has_errors(&self) -> bool {
        self.found.iter().any(|d| d.severity == Severity::Error)
    }
}
