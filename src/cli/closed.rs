//! Routes that can no longer be used: closed in the scenario, or left out by `--without`. Beside the answer stands what there was with them.

use std::path::Path;

use super::args::{Sampling, Today};
use super::{Failure, ask};
use crate::analysis::{Answer, Without, settle, stale};
use crate::diag::did_you_mean_or_list;
use crate::model::{Day, Loaded, Overrides, Scenario, load};
use crate::plan::Shop;

/// Why a route left out by the command line is closed.
const LEFT_OUT: &str = "left out by --without";

/// A scenario, and the same with routes that are closed in it open, where there are such.
pub(super) struct Beside {
    /// The scenario that is asked.
    pub scenario: Scenario,
    open: Option<Scenario>,
    /// The day on which prices have their age.
    day: Option<Day>,
}

/// Closes routes by name. What they are compared with is the scenario as it was; where none is named, the scenario with the routes open
/// that it closes, if it is valid so (what a closed route lacks is no error).
pub(super) fn beside(
    (path, overrides, today): (&Path, &Overrides, &Today),
    scenario: Scenario,
    without: &[String],
) -> Result<Beside, Failure> {
    let day = today.day(&scenario);
    if without.is_empty() {
        let some = scenario.routes.iter().any(|route| route.closed.is_some());
        let again = || match load(path, &Overrides { reopened: true, ..*overrides }) {
            Loaded { scenario: Some(mut scenario), log, .. } if !log.has_errors() => {
                settle(&mut scenario, today.resume(overrides)).ok().map(|()| scenario)
            }
            _ => None,
        };
        let open = if some { again() } else { None };
        return Ok(Beside { scenario, open, day });
    }
    let mut now = scenario.clone();
    for name in without {
        let found = now.routes.iter_mut().find(|route| route.name == *name);
        match found {
            Some(route) => route.closed = Some(route.closed.take().unwrap_or(LEFT_OUT.to_owned())),
            None => {
                let known: Vec<&str> = scenario.routes.iter().map(|r| r.name.as_str()).collect();
                let hint = did_you_mean_or_list(name, &known);
                return Err(Failure::usage(format!("no route is called `{name}`; {hint}")));
            }
        }
    }
    Ok(Beside { scenario: now, open: Some(scenario), day })
}

impl Beside {
    /// Answers the scenario with samples, beside it what closed routes cost and which prices are out of date, and hands it on with its
    /// tables.
    pub(super) fn sampled<T>(
        &self,
        sampling: &Sampling,
        then: impl FnOnce(&Shop, &Answer) -> Result<T, Failure>,
    ) -> Result<T, Failure> {
        // Too many plans with the routes is no reason to leave the question unanswered.
        let had = self.open.as_ref().and_then(|open| {
            let with = |_: &Shop, answer: &Answer| Ok(Without::new(&self.scenario, open, answer));
            // Without a due date samples change no verdict.
            let samples = if open.due.is_some() { sampling.samples } else { 0 };
            ask::sampled(open, &Sampling { samples, ..*sampling }, with).ok().flatten()
        });
        let complete = |shop: &Shop, answer: Answer| {
            let stale = stale(shop, &answer, self.day);
            Answer { without: had, stale, ..answer }
        };
        ask::completed(&self.scenario, sampling, complete, then)
    }
}
