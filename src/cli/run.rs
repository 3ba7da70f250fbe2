//! The way from arguments to an exit code.

use std::ffi::OsString;
use std::process::ExitCode;

use clap::Parser;

use super::args::{Cli, Command};
use super::{
    ANSWERED, Failure, USAGE, budget, buylist, changes, check, compare, dip, explain, flips,
    measure, new, out, prices, record, report, setup, sweep,
};

/// Runs the command that the arguments name (the first is the program's own name) and returns its exit code.
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    let code = match Cli::try_parse_from(args) {
        Ok(cli) => ended(guarded(&cli.command)),
        Err(error) => {
            // Help and version are asked for: they are printed to standard output and are a success.
            match error.print() {
                _ if error.use_stderr() => USAGE,
                printed => ended(printed.map_err(Failure::from)),
            }
        }
    };
    ExitCode::from(code)
}

/// A panic is a fault of the program: it ends with the code that says so, after what the panic itself has printed.
fn guarded(command: &Command) -> Result<(), Failure> {
    std::panic::catch_unwind(|| dispatch(command)).unwrap_or_else(|_| {
        Err(Failure::internal("internal fault; nothing of the answer is to be trusted"))
    })
}

fn dispatch(command: &Command) -> Result<(), Failure> {
    match command {
        Command::New(args) => new::new(args),
        Command::Check(args) => check::check(args),
        Command::Compare(args) => compare::compare(args),
        Command::Flips(args) => flips::flips(args),
        Command::Budget(args) => budget::budget(args),
        Command::Report(args) => report::report(args),
        Command::Buylist(args) => buylist::buylist(args),
        Command::Changes(args) => changes::changes(args),
        Command::Prices(args) => prices::prices(args),
        Command::Dip(args) => dip::dip(args),
        Command::Explain(args) => explain::explain(args),
        Command::Measure(args) => measure::measure(args),
        Command::Sweep(args) => sweep::sweep(args),
        Command::Schema => setup::schema(),
        Command::Completions(args) => setup::completions(args),
        Command::Manual(args) => setup::manual(args),
        Command::Record(args) => record::record(args),
    }
}

fn ended(result: Result<(), Failure>) -> u8 {
    match result {
        Ok(()) => ANSWERED,
        Err(failure) => {
            if !failure.message.is_empty() {
                out::aside(&format!("flipcount: {}\n", failure.message));
            }
            failure.code
        }
    }
}
