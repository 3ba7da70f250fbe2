//! The command: what is asked for, one recipe-like function a command, exit codes.
//!
//! Enters: the arguments. Leaves: data on standard output, everything else on standard error, and an exit code. Nothing here computes.

mod args;
mod ask;
mod budget;
mod buylist;
mod changes;
mod check;
mod closed;
mod compare;
mod dip;
mod drawing;
mod exit;
mod explain;
mod flips;
mod interrupt;
mod lock;
mod measure;
mod new;
mod out;
mod pieces;
mod prices;
mod prompt;
mod record;
mod record_file;
mod report;
mod run;
mod runs;
mod scenarios;
mod setup;
mod sweep;
mod waiting;

pub use exit::*;
pub use run::*;
