//! `compare`: the verdict and the comparison.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use super::args::{Sampling, Today, Which};
use super::ask::Asked;
use super::budget::chosen;
use super::{Failure, NO_PLAN, ask, closed, out, runs};
use crate::analysis::{run_of, stop_text};
use crate::diag::Log;
use crate::input::{read_document, read_file};
use crate::model::{Overrides, Scenario, limits};
use crate::report::{
    Detail, Subject, filled, json, plan_view, progress_view, terminal, view, wide_view,
};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    pub which: Which,
    /// The whole answer as one JSON document
    #[arg(long, conflicts_with = "all")]
    pub json: bool,
    /// Say everything: all plans, pairs, values and the curves
    #[arg(long)]
    pub all: bool,
    /// The plans by category, in each total
    #[arg(long, conflicts_with = "json")]
    pub wide: bool,
    /// How a project with a record stands: prices, quantities and iterations against the plan, item by item, and what was learnt
    #[arg(long, conflicts_with_all = ["json", "wide", "plan", "filled"])]
    pub variances: bool,
    /// The dates and the cost of one plan, iteration by iteration, by its name or letter
    #[arg(long, value_name = "NAME", conflicts_with_all = ["json", "wide"])]
    pub plan: Option<String>,
    /// Print the scenario with every assumption spelled out, ready to edit, and compute nothing
    #[arg(long, conflicts_with_all = ["json", "all", "wide", "plan", "iterations", "copies", "without", "today", "samples", "seed", "threads"])]
    pub filled: bool,
    /// Ask again with so many iterations planned
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=MOST_ITERATIONS))]
    pub iterations: Option<u32>,
    /// Ask again with so many copies of every part
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=MOST_COPIES))]
    pub copies: Option<u32>,
    /// Ask again without this route: what is best then, what it costs more and when it is in hand. It can be given several times
    #[arg(long, value_name = "ROUTE")]
    pub without: Vec<String>,
    /// Keep this run in runs.jsonl beside the scenario, for `flipcount changes`
    #[arg(long, conflicts_with_all = ["wide", "plan", "filled"])]
    pub save: bool,
    #[command(flatten)]
    pub sampling: Sampling,
    #[command(flatten)]
    pub today: Today,
}

/// Most iterations that can be asked for: what a scenario may state.
const MOST_ITERATIONS: i64 = limits::HORIZON;
/// Most copies that can be asked for: what a scenario may state.
const MOST_COPIES: i64 = limits::COPIES;

/// Answers on standard output. No feasible plan is an answer too, with a code of its own.
pub(super) fn compare(args: &Args) -> Result<(), Failure> {
    let overrides =
        Overrides { iterations: args.iterations, copies: args.copies, ..Overrides::default() };
    let path = args.which.path()?;
    if args.filled {
        let Asked { scenario, log, .. } = ask::loaded(&path, &overrides)?;
        ask::warn(&log);
        return spell_out(&path, &scenario);
    }
    let Asked { scenario, log, files } = ask::aged(&path, &overrides, &args.today)?;
    ask::warn(&log);
    let beside = closed::beside((&path, &overrides, &args.today), scenario, &args.without)?;
    if args.wide || args.plan.is_some() {
        return by_plan(args, &beside.scenario);
    }
    if args.variances && beside.scenario.past.is_none() {
        return Err(Failure::usage(
            "--variances compares with a record, and there is no record.csv beside the scenario",
        ));
    }
    beside.sampled(&args.sampling, |shop, answer| {
        let subject = Subject { shop, answer };
        if args.variances {
            return out::text(&terminal(&progress_view(&subject), out::width()));
        }
        // A reader that leaves early loses no run.
        let kept = if args.save { kept(args, &path, &subject, &files) } else { Ok(()) };
        if args.json {
            let text = json(&subject, ask::warnings(&log)).map_err(Failure::internal)?;
            out::data(text.as_bytes())?;
        } else {
            let detail = if args.all { Detail::All } else { Detail::Short };
            out::text(&terminal(&view(&subject, detail), out::width()))?;
        }
        kept?;
        if answer.plans.is_empty() { Err(Failure::said(NO_PLAN)) } else { Ok(()) }
    })
}

/// Keeps the run.
fn kept(
    args: &Args,
    path: &Path,
    subject: &Subject,
    files: &BTreeSet<PathBuf>,
) -> Result<(), Failure> {
    let verdict = subject.answer.verdict.as_ref().map(|v| subject.plan(v.plan));
    let asked = ("compare", options(args, subject.scenario()));
    runs::keep(path, &run_of(subject.shop, verdict, asked, files))
}

/// What was asked beside the scenario.
fn options(args: &Args, scenario: &Scenario) -> BTreeMap<String, String> {
    let mut options = runs::options(&args.sampling, scenario.seed, scenario.due.is_some());
    let counts = [("iterations", args.iterations), ("copies", args.copies)];
    let counts = counts.into_iter().filter_map(|(name, n)| Some((name.to_owned(), n?.to_string())));
    options.extend(counts);
    if !args.without.is_empty() {
        options.insert("without".to_owned(), args.without.join("; "));
    }
    options
}

/// The plans by category, or one of them iteration by iteration.
fn by_plan(args: &Args, scenario: &Scenario) -> Result<(), Failure> {
    ask::sampled(scenario, &args.sampling, |shop, answer| {
        let subject = Subject { shop, answer };
        let (width, index) = (out::width(), chosen(&subject, args.plan.as_deref())?);
        let said = match &args.plan {
            Some(_) => plan_view(&subject, index, (args.all, width)),
            None => wide_view(&subject, (args.all, width))
                .map_err(|stop| Failure::internal(stop_text(scenario, &stop)))?,
        };
        out::text(&terminal(&said, width))
    })
}

/// Prints the scenario's own text with what was assumed.
fn spell_out(path: &Path, scenario: &Scenario) -> Result<(), Failure> {
    let file = if path.is_dir() { path.join(ask::SCENARIO_FILE) } else { path.to_owned() };
    let mut log = Log::default();
    let read = read_file(&file, &mut log).and_then(|f| Some((read_document(&f, &mut log)?, f)));
    let Some((document, file)) = read else {
        return Err(Failure::internal(format!("{} changed while it was read", file.display())));
    };
    out::data(filled(&file.text, &document, scenario).as_bytes())
}
