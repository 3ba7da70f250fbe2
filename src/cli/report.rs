//! `report`: the answer as files to keep and to hand on, a page first; all of them or none.

use std::path::{Path, PathBuf};

use super::args::{Sampling, Today, Which};
use super::ask::Asked;
use super::budget::{WORKING, chosen};
use super::{Failure, ask, closed, out, runs};
use crate::analysis::{flip_map, flips, ledger_of, plan_details, run_of, stop_text};
use crate::input::fingerprint;
use crate::ledger::Ledger;
use crate::model::Overrides;
use crate::report::{
    Book, Budget, Detail, PARQUET, PageExtras, Subject, budget as rows, json, ledger_csv,
    ledger_parquet, markdown, months, months_csv, page, page_plans, view, workbook,
};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    pub which: Which,
    /// Folder to write into, made where it is missing; without it, reports/NAME in the current folder
    #[arg(short, long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// An Excel workbook too: verdict, plans, curves with charts, ledger, months; its totals are formulas
    #[arg(long)]
    pub xlsx: bool,
    /// The ledger as Parquet too, with exact decimals
    #[arg(long)]
    pub parquet: bool,
    /// The report as Markdown too
    #[arg(long)]
    pub markdown: bool,
    #[command(flatten)]
    pub sampling: Sampling,
    /// Replace files that are there
    #[arg(long)]
    pub force: bool,
    #[command(flatten)]
    pub today: Today,
}

/// The file of the whole ledger.
const LEDGER: &str = "ledger.csv";
/// The folder of reports where none is named.
const REPORTS: &str = "reports";

/// Writes the files of the report into its folder.
pub(super) fn report(args: &Args) -> Result<(), Failure> {
    if args.parquet && !PARQUET {
        return Err(Failure::usage(
            "--parquet: this build is without the table engine (feature `frame`); ledger.csv holds the same entries",
        ));
    }
    let path = args.which.path()?;
    let overrides = Overrides::default();
    let Asked { scenario, log, files: read } = ask::aged(&path, &overrides, &args.today)?;
    let folder = args.out.clone().unwrap_or_else(|| Path::new(REPORTS).join(&scenario.name));
    out::folder(&folder)?;
    let asked = FILES.iter().filter(|file| (file.asked)(args));
    let mut places = Vec::new();
    for file in asked {
        let place = out::target(&folder.join(file.name), args.force)?;
        out::refuse_read(&place, &read)?;
        places.push((file, place));
    }
    ask::warn(&log);
    let (warnings, hash) = (ask::warnings(&log), fingerprint(&read));
    let beside = closed::beside((&path, &overrides, &args.today), scenario, &[])?;
    beside.sampled(&args.sampling, |shop, answer| {
        let subject = Subject { shop, answer };
        let index = chosen(&subject, None)?;
        let result = subject.plan(index);
        if result.unproven.is_some() {
            out::aside(WORKING);
        }
        let ledger = ledger_of(shop, &result.plan)
            .map_err(|stop| Failure::internal(stop_text(shop.scenario, &stop)))?;
        let budget = rows(&subject, &result.plan.name, &ledger);
        let made = Made {
            subject: &subject,
            warnings: &warnings,
            hash: &hash,
            index,
            ledger: &ledger,
            budget: &budget,
        };
        let written: Result<Vec<(PathBuf, Vec<u8>)>, Failure> =
            places.iter().map(|(file, place)| Ok((place.clone(), (file.bytes)(&made)?))).collect();
        out::put_all(&folder, &written?, args.force)?;
        said(&folder, args);
        let options =
            runs::options(&args.sampling, shop.scenario.seed, shop.scenario.due.is_some());
        runs::keep(&path, &run_of(shop, Some(result), ("report", options), &read))
    })
}

/// What files are made from.
struct Made<'a, 's> {
    subject: &'a Subject<'s>,
    /// The findings of loading.
    warnings: &'a [String],
    /// The fingerprint of the scenario's files.
    hash: &'a str,
    /// The verdict's plan.
    index: usize,
    /// Its ledger.
    ledger: &'a Ledger,
    /// The same as rows.
    budget: &'a Budget<'s>,
}

/// A file of a report.
struct OneFile {
    /// Its name, the same in every report.
    name: &'static str,
    /// Whether it is wanted.
    asked: fn(&Args) -> bool,
    /// What is in it.
    bytes: fn(&Made) -> Result<Vec<u8>, Failure>,
}

/// Every file a report can have, those that each has first.
const FILES: [OneFile; 7] = [
    OneFile { name: "report.html", asked: |_| true, bytes: |made| Ok(html(made).into_bytes()) },
    OneFile {
        name: "answer.json",
        asked: |_| true,
        bytes: |made| {
            let text = json(made.subject, made.warnings.to_vec()).map_err(Failure::internal)?;
            Ok(text.into_bytes())
        },
    },
    OneFile {
        name: LEDGER,
        asked: |_| true,
        bytes: |made| ledger_csv(made.budget).map_err(Failure::internal),
    },
    OneFile {
        name: "ledger-months.csv",
        asked: |_| true,
        bytes: |made| {
            let sums = months(made.budget).map_err(|error| Failure::internal(error.0))?;
            months_csv(made.budget, &sums).map_err(Failure::internal)
        },
    },
    OneFile { name: "report.xlsx", asked: |args| args.xlsx, bytes: xlsx },
    OneFile {
        name: "ledger.parquet",
        asked: |args| args.parquet,
        bytes: |made| ledger_parquet(made.budget).map_err(|error| Failure::internal(error.0)),
    },
    OneFile {
        name: "report.md",
        asked: |args| args.markdown,
        bytes: |made| Ok(markdown(&view(made.subject, Detail::All)).into_bytes()),
    },
];

fn html(made: &Made) -> String {
    let (subject, shop, answer) = (made.subject, made.subject.shop, made.subject.answer);
    let scenario = subject.scenario();
    let map = scenario.labour.map(|hour| flip_map(shop, answer, scenario.iterations.planned, hour));
    let found = flips(shop, answer);
    let extras = PageExtras {
        details: &plan_details(shop, answer, &page_plans(subject)),
        ledger: Some(made.ledger),
        flips: found.as_ref(),
        map: map.as_ref(),
        warnings: made.warnings,
        hash: made.hash,
        ledger_file: LEDGER,
    };
    page(subject, &extras)
}

fn xlsx(made: &Made) -> Result<Vec<u8>, Failure> {
    let sums = months(made.budget).map_err(|error| Failure::internal(error.0))?;
    let book = Book {
        subject: made.subject,
        view: &view(made.subject, Detail::All),
        plan: made.index,
        budget: made.budget,
        months: &sums,
    };
    workbook(&book).map_err(Failure::internal)
}

/// Says what was written, and what lies beside it from an earlier time.
fn said(folder: &Path, args: &Args) {
    let shown = folder.display();
    let (new, old): (Vec<&OneFile>, Vec<&OneFile>) =
        FILES.iter().partition(|file| (file.asked)(args));
    let new: Vec<&str> = new.into_iter().map(|file| file.name).collect();
    out::aside(&format!("report to {shown}: {}\n", new.join(", ")));
    for file in old.into_iter().filter(|file| folder.join(file.name).exists()) {
        out::aside(&format!(
            "{} there is of an earlier report: not asked for, left as it is\n",
            file.name
        ));
    }
}
