//! `compare`: the verdict and the comparison.

use super::args::Compare;
use super::{Failure, NO_PLAN, ask, out};
use crate::model::Overrides;
use crate::report::{Detail, Subject, json, terminal, view};

/// Answers on standard output. No feasible plan is an answer too, with a code of its own.
pub(super) fn compare(args: &Compare) -> Result<(), Failure> {
    let overrides = Overrides { iterations: args.iterations, copies: args.copies };
    let (scenario, log) = ask::loaded(&args.which.path()?, &overrides)?;
    ask::answered(&scenario, |shop, answer| {
        let subject = Subject { shop, answer };
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
