//! `check`: every error and warning of a scenario and its sheets.

use super::args::Which;
use super::{BAD_INPUT, Failure, out};
use crate::analysis::{Resume, settle};
use crate::diag::{render, render_lines, summary};
use crate::model::{Overrides, load};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    pub which: Which,
    /// One line for each finding, for editors
    #[arg(long)]
    pub lines: bool,
}

/// Reports what is found; an error ends with the code of bad input.
pub(super) fn check(args: &Args) -> Result<(), Failure> {
    let mut loaded = load(&args.which.path()?, &Overrides::default());
    // Lines of a record may each be sound and not fit together.
    if let Some(scenario) = &mut loaded.scenario
        && let Err(found) = settle(scenario, Resume::default())
    {
        loaded.log.found.extend(found);
    }
    let found = &loaded.log.found;
    let text = if args.lines { render_lines(found) } else { render(found, out::look()) };
    out::aside(&text);
    if found.is_empty() {
        out::aside(&format!("{}\n", summary(found)));
    }
    if loaded.log.has_errors() || loaded.scenario.is_none() {
        Err(Failure::said(BAD_INPUT))
    } else {
        Ok(())
    }
}
