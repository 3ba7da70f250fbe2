//! `compare`: the verdict and the comparison.

use std::path::Path;

use super::args::Compare;
use super::ask::Asked;
use super::budget::chosen;
use super::{Failure, NO_PLAN, ask, out};
use crate::analysis::stop_text;
use crate::diag::Log;
use crate::input::{read_document, read_file};
use crate::model::{Overrides, Scenario};
use crate::report::{
    Detail, Subject, filled, json, plan_view, progress_view, terminal, view, wide_view,
};

/// Answers on standard output. No feasible plan is an answer too, with a code of its own.
pub(super) fn compare(args: &Compare) -> Result<(), Failure> {
    let overrides = Overrides { iterations: args.iterations, copies: args.copies };
    let path = args.which.path()?;
    if args.filled {
        let Asked { scenario, log, .. } = ask::loaded(&path, &overrides)?;
        ask::warn(&log);
        return spell_out(&path, &scenario);
    }
    let Asked { scenario, log, .. } = ask::resumed(&path, &overrides, &args.today)?;
    ask::warn(&log);
    if args.wide || args.plan.is_some() {
        return by_plan(args, &scenario);
    }
    if args.variances && scenario.past.is_none() {
        return Err(Failure::usage(
            "--variances compares with a record, and there is no record.csv beside the scenario",
        ));
    }
    ask::sampled(&scenario, &args.sampling, |shop, answer| {
        let subject = Subject { shop, answer };
        if args.variances {
            return out::text(&terminal(&progress_view(&subject), out::width()));
        }
        if args.json {
            let text = json(&subject, ask::warnings(&log)).map_err(Failure::internal)?;
            out::data(text.as_bytes())?;
        } else {
            let detail = if args.all { Detail::All } else { Detail::Short };
            out::text(&terminal(&view(&subject, detail), out::width()))?;
        }
        if answer.plans.is_empty() { Err(Failure::said(NO_PLAN)) } else { Ok(()) }
    })
}

/// The plans by category, or one of them iteration by iteration.
fn by_plan(args: &Compare, scenario: &Scenario) -> Result<(), Failure> {
    ask::answered(scenario, |shop, answer| {
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
