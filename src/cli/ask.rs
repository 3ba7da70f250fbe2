//! From a scenario on disk to its answer: what `compare` and `budget` have in common.

use std::path::{Path, PathBuf};

use super::args::Which;
use super::{BAD_INPUT, Failure, out};
use crate::analysis::{Answer, NoAnswer, answer};
use crate::diag::{Log, Severity, render, render_lines};
use crate::model::{Loaded, Overrides, Scenario, load};
use crate::plan::{PLAN_LIMIT, Shop, Values};

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

/// A scenario that can be asked, with what was found on the way: no errors.
pub(super) fn loaded(path: &Path, overrides: &Overrides) -> Result<(Scenario, Log), Failure> {
    let Loaded { scenario, log } = load(path, overrides);
    match scenario {
        Some(scenario) if !log.has_errors() => {
            out::aside(&render_lines(&log.found));
            Ok((scenario, log))
        }
        _ => {
            out::aside(&render(&log.found, out::look()));
            Err(Failure::said(BAD_INPUT))
        }
    }
}

/// The findings of loading, one line each.
pub(super) fn warnings(log: &Log) -> Vec<String> {
    let warnings: Vec<_> = log.found.iter().filter(|d| d.severity == Severity::Warning).collect();
    warnings
        .iter()
        .map(|d| {
            let place =
                d.place.as_ref().map_or(String::new(), |p| format!("{}:{}: ", p.file.path, p.line));
            format!("{place}{}", d.message)
        })
        .collect()
}

/// Answers a scenario and hands it on with its tables.
pub(super) fn answered<T>(
    scenario: &Scenario,
    then: impl FnOnce(&Shop, &Answer) -> Result<T, Failure>,
) -> Result<T, Failure> {
    let values = Values::planning(&scenario.slots);
    let shop = Shop::new(scenario, &values);
    match answer(&shop) {
        Ok(answer) => then(&shop, &answer),
        Err(NoAnswer::TooManyPlans(many)) => Err(Failure {
            code: BAD_INPUT,
            message: format!(
                "{} ways to make all parts, more than the {PLAN_LIMIT} that are tried: name those to compare with [[plan]] \
                 tables, or cut them down with `for` on routes",
                many.count
            ),
        }),
    }
}
