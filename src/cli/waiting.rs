//! While a person waits: how far it is.

use std::io::{self, IsTerminal};
use std::time::Duration;

use indicatif::{ProgressBar, ProgressStyle};

/// Nothing is shown of what takes less than this.
const PATIENCE: Duration = Duration::from_millis(400);

/// How far it is, on a terminal; else nothing is seen of it.
pub(super) struct Bar(ProgressBar);

impl Bar {
    /// So many things of a kind, such as `samples`.
    pub(super) fn new(count: u64, things: &str) -> Bar {
        if !io::stderr().is_terminal() {
            return Bar(ProgressBar::hidden());
        }
        let bar = ProgressBar::new(count);
        let template = format!("{{bar:30}} {{pos}} of {{len}} {things}, {{eta}} left");
        Bar(match ProgressStyle::with_template(&template) {
            Ok(style) => bar.with_style(style),
            Err(_) => bar,
        })
    }

    /// So many are done.
    pub(super) fn at(&self, done: u64) {
        if self.0.is_hidden() || self.0.elapsed() > PATIENCE {
            self.0.set_position(done);
        }
    }

    /// Takes it away.
    pub(super) fn end(&self) {
        self.0.finish_and_clear();
    }
}
