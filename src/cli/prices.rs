//! `prices`: every row of the price sheets with its age, and which of them could change the verdict.

use super::args::{Today, Which};
use super::ask::Asked;
use super::{Failure, ask, out};
use crate::analysis::{row_ages, with_tips};
use crate::model::Overrides;
use crate::report::{PriceRows, Subject, prices_csv, prices_json, prices_view, terminal};
use std::path::PathBuf;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    pub which: Which,
    #[command(flatten)]
    pub today: Today,
    /// The rows as one JSON document
    #[arg(long, conflicts_with = "out")]
    pub json: bool,
    /// CSV file to write in place of the table
    #[arg(short, long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Replace a file that is there
    #[arg(long, requires = "out")]
    pub force: bool,
}

/// The rows on standard output, or as CSV in a file.
pub(super) fn prices(args: &Args) -> Result<(), Failure> {
    let file = args.out.as_ref().map(|path| out::target(path, args.force)).transpose()?;
    let Asked { scenario, log, files: read } =
        ask::aged(&args.which.path()?, &Overrides::default(), &args.today)?;
    if let Some(file) = &file {
        out::refuse_read(file, &read)?;
    }
    ask::warn(&log);
    let day = args.today.day(&scenario);
    ask::answered(&scenario, |shop, answer| {
        let rows = with_tips(shop, answer, row_ages(&scenario, day));
        let prices = PriceRows { subject: Subject { shop, answer }, day, rows: &rows };
        if let Some(file) = &file {
            let bytes = prices_csv(&prices).map_err(Failure::internal)?;
            out::pending(file, &bytes, args.force)?.put()?;
            out::aside(&format!("{} rows to {}\n", rows.len(), file.display()));
            Ok(())
        } else if args.json {
            out::data(prices_json(&prices).map_err(Failure::internal)?.as_bytes())
        } else {
            out::text(&terminal(&prices_view(&prices), out::width()))
        }
    })
}
