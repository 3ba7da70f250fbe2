//! `budget`: the ledger of one plan as CSV, with the summary by month.

use std::path::{Path, PathBuf};

use super::args::{Today, Which};
use super::ask::Asked;
use super::{Failure, NO_PLAN, ask, out};
use crate::analysis::{ledger_of, stop_text};
use crate::diag::did_you_mean;
use crate::model::Overrides;
use crate::report::{Budget, Subject, budget as rows, ledger_csv, letter, months, months_csv};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    pub which: Which,
    /// Plan by its name, or by its letter in `compare`; without it, the verdict's
    #[arg(long, value_name = "NAME")]
    pub plan: Option<String>,
    /// File to write; the summary by month goes beside it
    #[arg(short, long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Replace files that are there
    #[arg(long, requires = "out")]
    pub force: bool,
    #[command(flatten)]
    pub today: Today,
}

/// Said where the ledger is one way among several in which the plan can turn out.
pub(super) const WORKING: &str =
    "the plan rests on an unproven route: its entries are those of the route working\n";

/// Writes the ledger to standard output, or both files.
pub(super) fn budget(args: &Args) -> Result<(), Failure> {
    let target = |path: &Path| out::target(path, args.force);
    let files = match &args.out {
        Some(file) => Some((target(file)?, target(&beside(file))?)),
        None => None,
    };
    let Asked { scenario, log, files: read } =
        ask::resumed(&args.which.path()?, &Overrides::default(), &args.today)?;
    if let Some((ledger, months)) = &files {
        out::refuse_read(ledger, &read)?;
        out::refuse_read(months, &read)?;
    }
    ask::warn(&log);
    ask::answered(&scenario, |shop, answer| {
        let subject = Subject { shop, answer };
        let result = subject.plan(chosen(&subject, args.plan.as_deref())?);
        let plan = &result.plan;
        if result.unproven.is_some() {
            out::aside(WORKING);
        }
        let ledger =
            ledger_of(shop, plan).map_err(|stop| Failure::internal(stop_text(&scenario, &stop)))?;
        let budget = rows(&subject, &plan.name, &ledger);
        match &files {
            None => out::data(&ledger_csv(&budget).map_err(Failure::internal)?),
            Some(files) => write(&budget, files, args.force),
        }
    })
}

/// Both files are written in full before either is put in its place.
fn write(
    budget: &Budget,
    (ledger, summary): &(PathBuf, PathBuf),
    force: bool,
) -> Result<(), Failure> {
    let sums = months(budget).map_err(|error| Failure::internal(error.0))?;
    let bytes = ledger_csv(budget).map_err(Failure::internal)?;
    let first = out::pending(ledger, &bytes, force)?;
    let bytes = months_csv(budget, &sums).map_err(Failure::internal)?;
    let second = out::pending(summary, &bytes, force)?;
    first.put()?;
    second.put()?;
    let rows = budget.rows.len();
    out::aside(&format!(
        "{rows} entries to {}, their months to {}\n",
        ledger.display(),
        summary.display()
    ));
    Ok(())
}

/// `budget.csv` has its months in `budget-months.csv`.
fn beside(file: &Path) -> PathBuf {
    let stem = file.file_stem().unwrap_or_default().to_os_string();
    let mut name = stem;
    name.push("-months");
    if let Some(ending) = file.extension() {
        name.push(".");
        name.push(ending);
    }
    file.with_file_name(name)
}

/// The plan asked for by name or letter, or the verdict's.
pub(super) fn chosen(subject: &Subject, wanted: Option<&str>) -> Result<usize, Failure> {
    let answer = subject.answer;
    let Some(verdict) = &answer.verdict else {
        return Err(Failure {
            code: NO_PLAN,
            message: "no plan is feasible; `flipcount compare` says why".to_owned(),
        });
    };
    let Some(wanted) = wanted else {
        return Ok(verdict.plan);
    };
    let by_name = answer.plans.iter().position(|p| p.plan.name == wanted);
    let by_letter = || (0..answer.plans.len()).find(|&i| letter(i) == wanted);
    by_name.or_else(by_letter).ok_or_else(|| {
        if let Some((_, why)) = answer.infeasible.iter().find(|(p, _)| p.name == wanted) {
            return Failure {
                code: NO_PLAN,
                message: format!("plan `{wanted}` is not feasible: {why}"),
            };
        }
        let names: Vec<&str> = answer.plans.iter().map(|p| p.plan.name.as_str()).collect();
        Failure::usage(no_plan(wanted, &names))
    })
}

/// Says which plans there are, each with its letter, one a line.
fn no_plan(wanted: &str, names: &[&str]) -> String {
    const MOST: usize = 12;
    let near = did_you_mean(wanted, names.iter().copied());
    let near = near.map_or(String::new(), |near| format!("; {near}"));
    let mut text = format!("no plan is called `{wanted}`{near}; there are");
    for (index, name) in names.iter().enumerate().take(MOST) {
        text.push_str(&format!("\n  {}  {name}", letter(index)));
    }
    if names.len() > MOST {
        text.push_str(&format!("\n  and {} more (`flipcount compare --all`)", names.len() - MOST));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plan_that_is_not_there_is_answered_with_letters_and_names() {
        let said = no_plan("benhc", &["bench", "house"]);
        assert_eq!(
            said,
            "no plan is called `benhc`; did you mean `bench`?; there are\n  A  bench\n  B  house"
        );
        let names = vec!["x"; 30];
        assert!(
            no_plan("Z", &names).ends_with("  L  x\n  and 18 more (`flipcount compare --all`)")
        );
    }

    #[test]
    fn the_months_stand_beside_the_ledger() {
        assert_eq!(beside(Path::new("out/b.csv")), Path::new("out/b-months.csv"));
        assert_eq!(beside(Path::new("b")), Path::new("b-months"));
        assert_eq!(beside(Path::new("b.2026.csv")), Path::new("b.2026-months.csv"));
    }
}
