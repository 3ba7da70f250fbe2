//! Exit codes, and why a command ends without an answer.

use std::fmt::Display;
use std::io;

/// The question was answered.
pub const ANSWERED: u8 = 0;
/// A fault of the program or of the machine, not of the question.
pub const INTERNAL: u8 = 1;
/// The command was not used as meant; nothing was done.
pub const USAGE: u8 = 2;
/// A file that was read is wrong; every finding is on standard error.
pub const BAD_INPUT: u8 = 3;
/// The question is fine, and no plan is feasible.
pub const NO_PLAN: u8 = 4;

/// Why a command ends early.
#[derive(Debug)]
pub(super) struct Failure {
    /// The exit code.
    pub code: u8,
    /// What to say on standard error; empty where everything is said.
    pub message: String,
}

impl Failure {
    /// Not used as meant.
    pub(super) fn usage(message: impl Into<String>) -> Failure {
        Failure { code: USAGE, message: message.into() }
    }

    /// A fault of the program or of the machine.
    pub(super) fn internal(message: impl Display) -> Failure {
        Failure { code: INTERNAL, message: message.to_string() }
    }

    /// Everything is said; only the code is left.
    pub(super) fn said(code: u8) -> Failure {
        Failure { code, message: String::new() }
    }
}

impl From<io::Error> for Failure {
    fn from(error: io::Error) -> Failure {
        // Whoever reads has enough: `flipcount compare . | head -3` is a success.
        match error.kind() {
            io::ErrorKind::BrokenPipe => Failure::said(ANSWERED),
            _ => Failure::internal(format!("cannot write the answer: {error}")),
        }
    }
}
