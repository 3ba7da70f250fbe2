//! `changes`: what the verdict's difference to an earlier run comes of.

use std::path::Path;
use std::sync::atomic::AtomicBool;

use super::args::{SAMPLES, Sampling, Today, Which};
use super::ask::Asked;
use super::{BAD_INPUT, Failure, ask, out, runs};
use crate::analysis::{Asking, changes as compared, run_of};
use crate::input::{RUNS_FILE, Run, Runs};
use crate::model::{Overrides, Scenario};
use crate::report::{Between, changes_json, changes_view, terminal};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    pub which: Which,
    /// The older run, by its line in runs.jsonl; without it, the last
    #[arg(long, value_name = "N")]
    pub from: Option<usize>,
    /// The newer run; without it, the scenario as it stands
    #[arg(long, value_name = "N")]
    pub to: Option<usize>,
    /// The changes as one JSON document
    #[arg(long)]
    pub json: bool,
}

/// Says on standard output what changed between two runs, or since one.
pub(super) fn changes(args: &Args) -> Result<(), Failure> {
    let path = args.which.path()?;
    let Asked { scenario, log, files } =
        ask::aged(&path, &Overrides::default(), &Today::default())?;
    let file = runs::file(&path);
    let runs = runs::kept(&file)?;
    let (from, before) = picked(&runs, args.from, &file)?;
    let to = args.to.map(|line| picked(&runs, Some(line), &file)).transpose()?;
    ask::warn(&log);
    let now = match to {
        Some(_) => None,
        None => Some(ask::answered(&scenario, |shop, answer| {
            let verdict = answer.verdict.as_ref().map(|v| &answer.plans[v.plan]);
            let options = runs::options(&SAMPLED, scenario.seed, scenario.due.is_some());
            Ok(run_of(shop, verdict, ("changes", options), &files))
        })?),
    };
    let Some(after) = now.as_ref().or(to.map(|t| t.1)) else {
        return Err(Failure::internal("there is neither a run nor a verdict"));
    };
    said(args, &scenario, ((from, before), (to.map(|t| t.0), after)))
}

/// How the answer of today is drawn.
const SAMPLED: Sampling = Sampling { samples: SAMPLES, seed: None, threads: None };

type Pair<'r> = ((usize, &'r Run), (Option<usize>, &'r Run));

fn said(
    args: &Args,
    scenario: &Scenario,
    ((from, before), (to, after)): Pair,
) -> Result<(), Failure> {
    let number = |key: &str| after.options.get(key).and_then(|text| text.parse::<u64>().ok());
    let asking = Asking {
        samples: number("samples").and_then(|n| u32::try_from(n).ok()).unwrap_or(0).min(SAMPLES),
        seed: number("seed").unwrap_or(scenario.seed),
        threads: 0,
        progress: &|_| {},
        stop: &AtomicBool::new(false),
    };
    let found = compared(scenario, (before, after), &asking)
        .map_err(|message| Failure { code: BAD_INPUT, message })?;
    let between = Between { scenario, changes: &found, runs: (before, after), from, to };
    if args.json {
        out::data(changes_json(&between).map_err(Failure::internal)?.as_bytes())
    } else {
        out::text(&terminal(&changes_view(&between), out::width()))
    }
}

/// A run by the number of its line; without one, the last.
fn picked<'r>(
    runs: &'r Runs,
    line: Option<usize>,
    file: &Path,
) -> Result<(usize, &'r Run), Failure> {
    let shown = file.display();
    let Some((last, run)) = runs.good.last() else {
        return Err(Failure::usage(format!(
            "no run is kept in {shown}; `flipcount compare --save` and `flipcount report` keep one"
        )));
    };
    let Some(line) = line else {
        return Ok((*last, run));
    };
    runs.number(line).map(|run| (line, run)).ok_or_else(|| {
        if runs.broken.iter().any(|broken| broken.0 == line) {
            return Failure::usage(format!("line {line} of {RUNS_FILE} is no run"));
        }
        let known: Vec<String> = runs.good.iter().map(|run| run.0.to_string()).collect();
        let known = if known.len() > 12 { format!("1 to {last}") } else { known.join(", ") };
        Failure::usage(format!("there is no run {line} in {shown}; there are {known}"))
    })
}
