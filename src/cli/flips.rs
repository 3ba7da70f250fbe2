//! `flips`: what would change the answer, and the map over two inputs.

use std::path::{Path, PathBuf};

use super::args::{Today, Which};
use super::ask::Asked;
use super::{Failure, NO_PLAN, ask, out};
use crate::analysis::{flip_map, flips as table};
use crate::diag::did_you_mean;
use crate::model::{Overrides, Scenario, Slot};
use crate::report::{
    Subject, View, flips_csv, flips_json, flips_view, map_csv, map_view, terminal,
};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    pub which: Which,
    /// Every input by its key, those without effect too
    #[arg(long, conflicts_with_all = ["map", "json"])]
    pub all: bool,
    /// The cheapest plan over two inputs; without keys, iterations and the worth of an hour
    #[arg(long, value_names = ["KEY", "KEY"], num_args = 0..=2)]
    pub map: Option<Vec<String>>,
    /// The table as one JSON document
    #[arg(long, conflicts_with_all = ["map", "out"])]
    pub json: bool,
    /// CSV file to write beside, with every row of the table or every cell of the map
    #[arg(short, long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Replace a file that is there
    #[arg(long, requires = "out")]
    pub force: bool,
    #[command(flatten)]
    pub today: Today,
}

/// The axes of a map where none are named.
const AXES: [&str; 2] = ["iterations.planned", "labour"];

/// Says the table or the map on standard output, and writes it as CSV where asked.
pub(super) fn flips(args: &Args) -> Result<(), Failure> {
    let file = args.out.as_deref().map(|file| out::target(file, args.force)).transpose()?;
    let Asked { scenario, log, files: read } =
        ask::resumed(&args.which.path()?, &Overrides::default(), &args.today)?;
    if let Some(file) = &file {
        out::refuse_read(file, &read)?;
    }
    let axes = args.map.as_deref().map(|keys| axes(&scenario, keys)).transpose()?;
    ask::warn(&log);
    ask::answered(&scenario, |shop, answer| {
        let subject = Subject { shop, answer };
        if answer.plans.is_empty() {
            return Err(Failure {
                code: NO_PLAN,
                message: "no plan is feasible; `flipcount compare` says why".to_owned(),
            });
        }
        if let Some([across, down]) = axes {
            let map = flip_map(shop, answer, across, down);
            let csv = map_csv(&subject, &map).map_err(Failure::internal)?;
            return said(&map_view(&subject, &map), file.as_ref(), &csv, args);
        }
        let Some(found) = table(shop, answer) else {
            return out::text("Only one plan is feasible: no input changes which is best.\n");
        };
        if args.json {
            let text = flips_json(&subject, &found).map_err(Failure::internal)?;
            return out::data(text.as_bytes());
        }
        let csv = flips_csv(&subject, &found).map_err(Failure::internal)?;
        said(&flips_view(&subject, &found, args.all), file.as_ref(), &csv, args)
    })
}

/// The file first: where it cannot be written nothing is said.
fn said(view: &View, file: Option<&PathBuf>, csv: &[u8], args: &Args) -> Result<(), Failure> {
    if let Some(file) = file {
        out::pending(file, csv, args.force)?.put()?;
    }
    out::text(&terminal(view, out::width()))?;
    if let Some(file) = file {
        out::aside(&format!("{} rows to {}\n", rows(csv), Path::display(file)));
    }
    Ok(())
}

/// Lines after the header.
fn rows(csv: &[u8]) -> usize {
    csv.iter().filter(|&&b| b == b'\n').count().saturating_sub(1)
}

/// The two inputs of a map.
fn axes(scenario: &Scenario, keys: &[String]) -> Result<[Slot; 2], Failure> {
    let slot = |key: &str| {
        let all = || scenario.slots.iter().map(|(_, input)| input.address.as_str());
        let found = scenario.slots.iter().find(|(_, input)| input.address == key);
        found.map(|(slot, _)| slot).ok_or_else(|| {
            let near = did_you_mean(key, all());
            let near = near.unwrap_or_else(|| "`flipcount flips --all` lists them".to_owned());
            Failure::usage(format!("no input is called `{key}` here; {near}"))
        })
    };
    match keys {
        [] => Ok([slot(AXES[0])?, slot(AXES[1])?]),
        [across, down] if across != down => Ok([slot(across)?, slot(down)?]),
        _ => Err(Failure::usage(
            "--map takes two different inputs, or none: iterations and the worth of an hour",
        )),
    }
}
