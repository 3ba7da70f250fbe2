//! `report`: the answer as one page for a browser.

use std::fs;

use super::args::Report as Args;
use super::{Failure, ask, out};
use crate::analysis::{flip_map, flips, ledger_of, plan_details};
use crate::input::fingerprint;
use crate::model::Overrides;
use crate::report::{PageExtras, Subject, page, page_plans};

/// Writes the page into a folder.
pub(super) fn report(args: &Args) -> Result<(), Failure> {
    let asked = ask::loaded(&args.which.path()?, &Overrides::default())?;
    let (scenario, warnings) = (&asked.scenario, ask::warnings(&asked.log));
    fs::create_dir_all(&args.output)?;
    let file = out::target(&args.output.join("report.html"), args.force)?;
    ask::sampled(scenario, &args.sampling, |shop, answer| {
        let subject = Subject { shop, answer };
        let map = scenario.labour.filter(|_| !answer.plans.is_empty());
        let map = map.map(|hour| flip_map(shop, answer, scenario.iterations.planned, hour));
        let verdict = answer.verdict.as_ref().map(|v| &subject.plan(v.plan).plan);
        let ledger = verdict.and_then(|plan| ledger_of(shop, plan).ok());
        let found = flips(shop, answer);
        let extras = PageExtras {
            details: &plan_details(shop, answer, &page_plans(&subject)),
            ledger: ledger.as_ref(),
            flips: found.as_ref(),
            map: map.as_ref(),
            warnings: &warnings,
            hash: &fingerprint(&asked.files),
            ledger_file: "ledger.csv",
        };
        out::pending(&file, page(&subject, &extras).as_bytes(), args.force)?.put()
    })
}
