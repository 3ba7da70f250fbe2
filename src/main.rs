//! The command `flipcount`: see [`flipcount::cli`].

use std::process::ExitCode;

fn main() -> ExitCode {
    flipcount::cli::run(std::env::args_os())
}
