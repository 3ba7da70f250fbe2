//! `buylist`: what to order by when.

use std::path::PathBuf;

use super::args::{Today, Which};
use super::ask::Asked;
use super::budget::chosen;
use super::{Failure, ask, out};
use crate::analysis::{buy_list, stop_text};
use crate::model::Overrides;
use crate::report::{BuyList, Subject, buy_list_csv, buy_list_json, buy_list_view, terminal};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    pub which: Which,
    /// Plan by its name, or by its letter in `compare`; without it, the verdict's
    #[arg(long, value_name = "NAME")]
    pub plan: Option<String>,
    /// The list as one JSON document
    #[arg(long, conflicts_with = "out")]
    pub json: bool,
    /// CSV file to write in place of the table
    #[arg(short, long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Replace a file that is there
    #[arg(long, requires = "out")]
    pub force: bool,
    #[command(flatten)]
    pub today: Today,
}

/// The list on standard output, or as CSV in a file.
pub(super) fn buylist(args: &Args) -> Result<(), Failure> {
    let file = args.out.as_ref().map(|path| out::target(path, args.force)).transpose()?;
    let Asked { scenario, log, files: read } =
        ask::resumed(&args.which.path()?, &Overrides::default(), &args.today)?;
    if let Some(file) = &file {
        out::refuse_read(file, &read)?;
    }
    ask::warn(&log);
    ask::answered(&scenario, |shop, answer| {
        let subject = Subject { shop, answer };
        let index = chosen(&subject, args.plan.as_deref())?;
        let lines = buy_list(shop, &subject.plan(index).plan)
            .map_err(|stop| Failure::internal(stop_text(&scenario, &stop)))?;
        let list = BuyList { subject, index, lines: &lines };
        if let Some(file) = &file {
            let bytes = buy_list_csv(&list).map_err(Failure::internal)?;
            out::pending(file, &bytes, args.force)?.put()?;
            out::aside(&format!("{} lines to {}\n", lines.len(), file.display()));
            Ok(())
        } else if args.json {
            out::data(buy_list_json(&list).map_err(Failure::internal)?.as_bytes())
        } else {
            out::text(&terminal(&buy_list_view(&list), out::width()))
        }
    })
}
