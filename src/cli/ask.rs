//! From a scenario on disk to its answer: what commands that need an answer have in common.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use super::args::{SAMPLES, Sampling, Today, Which};
use super::{BAD_INPUT, Failure, drawing, out};
use crate::analysis::{Answer, NoAnswer, Resume, answer, settle};
use crate::diag::{Log, Severity, render, render_asides};
use crate::model::{Loaded, Overrides, Scenario, load};
use crate::plan::{ITERATION_LIMIT, PLAN_LIMIT, Shop, TooMany, Values};

/// The scenario's file name, looked for where no scenario is named.
pub(super) const SCENARIO_FILE: &str = "scenario.toml";

impl Which {
    /// The scenario that is meant.
    pub(super) fn path(&self) -> Result<PathBuf, Failure> {
        match &self.scenario {
            Some(path) => Ok(path.clone()),
            None if Path::new(SCENARIO_FILE).is_file() => Ok(PathBuf::from(".")),
            None => Err(Failure::usage(
                "no scenario here: write one with `flipcount new my-scenario`, then `flipcount compare my-scenario`",
            )),
        }
    }
}

/// A scenario without errors.
pub(super) struct Asked {
    /// The scenario.
    pub scenario: Scenario,
    /// Its warnings.
    pub log: Log,
    /// The files it was read from.
    pub files: BTreeSet<PathBuf>,
}

/// A scenario that can be asked, with the warnings of loading. Errors are said at once and end the command.
pub(super) fn loaded(path: &Path, overrides: &Overrides) -> Result<Asked, Failure> {
    let Loaded { scenario, log, files } = load(path, overrides);
    match scenario {
        Some(scenario) if !log.has_errors() => Ok(Asked { scenario, log, files }),
        _ => Err(refused(&log)),
    }
}

/// The same, going on from what is recorded.
pub(super) fn resumed(path: &Path, overrides: &Overrides, today: &Today) -> Result<Asked, Failure> {
    let mut asked = loaded(path, overrides)?;
    let resume = Resume {
        today: today.today,
        iterations: overrides.iterations,
        as_planned: today.as_planned,
    };
    if today.today.is_some() && asked.scenario.record.is_none() {
        return Err(Failure::usage(
            "--today is the day from which a project with a record goes on, and there is no record.csv beside the scenario",
        ));
    }
    match settle(&mut asked.scenario, resume) {
        Ok(()) => Ok(asked),
        Err(found) => {
            asked.log.found.extend(found);
            Err(refused(&asked.log))
        }
    }
}

/// Says every finding.
fn refused(log: &Log) -> Failure {
    out::aside(&render(&log.found, out::look()));
    Failure::said(BAD_INPUT)
}

/// Says the warnings of loading on standard error, one line each, of one file no more than errors are.
pub(super) fn warn(log: &Log) {
    out::aside(&render_asides(&log.found));
}

/// The findings of loading, one line each.
pub(super) fn warnings(log: &Log) -> Vec<String> {
    let warnings: Vec<_> = log.found.iter().filter(|d| d.severity == Severity::Warning).collect();
    warnings
        .iter()
        .map(|d| {
            let place =
                d.place.as_ref().map_or(String::new(), |p| format!("{}:{}: ", p.file.path, p.line));
            let hint = d.hint.as_ref().map_or(String::new(), |hint| format!("; {hint}"));
            format!("{place}{}{hint}", d.message)
        })
        .collect()
}

/// Answers a scenario as `compare` does unless told otherwise, and hands it on with its tables. Without a due date samples cannot change
/// which plan the verdict names, so none are drawn.
pub(super) fn answered<T>(
    scenario: &Scenario,
    then: impl FnOnce(&Shop, &Answer) -> Result<T, Failure>,
) -> Result<T, Failure> {
    let samples = if scenario.due.is_some() { SAMPLES } else { 0 };
    sampled(scenario, &Sampling { samples, seed: None, threads: None }, then)
}

/// Answers a scenario with samples and hands it on with its tables.
pub(super) fn sampled<T>(
    scenario: &Scenario,
    sampling: &Sampling,
    then: impl FnOnce(&Shop, &Answer) -> Result<T, Failure>,
) -> Result<T, Failure> {
    let values = Values::planning(&scenario.slots);
    let shop = Shop::new(scenario, &values);
    match answer(&shop) {
        Ok(answer) => then(&shop, &drawing::with_samples(&shop, answer, sampling)),
        Err(NoAnswer::TooManyPlans(many)) => Err(Failure {
            code: BAD_INPUT,
            message: match many {
                TooMany::Plans => format!(
                    "more than {PLAN_LIMIT} ways to make all parts: name those to compare with [[plan]] tables, or cut them \
                     down with `for` on routes"
                ),
                TooMany::Iterations { plans, horizon } => format!(
                    "{plans} plans and outcomes to a horizon of {horizon} are more than {ITERATION_LIMIT} iterations: name fewer plans with \
                     [[plan]] tables, or shorten `horizon`"
                ),
            },
        }),
    }
}
