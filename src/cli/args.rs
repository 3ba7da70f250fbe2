//! The commands as clap reads them, and the arguments that several of them have. What one command alone takes stands beside it.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};

use super::{
    budget, buylist, changes, check, compare, dip, explain, flips, measure, new, prices, record,
    report, setup, sweep,
};
use crate::input::read_date;
use crate::model::Day;

/// Print a part at the bench, or send it out?
#[derive(Debug, Parser)]
#[command(name = "flipcount", version, about, long_about = LONG, after_help = EXIT, max_term_width = 100)]
#[command(propagate_version = true, subcommand_required = true, arg_required_else_help = true)]
pub(super) struct Cli {
    #[command(subcommand)]
    pub command: Command,
}

const LONG: &str = "Print a part at the bench, or send it out?\n\n\
For builders of one-off devices with a resin printer: what each way costs and takes, iteration by iteration, and the \
iteration count at which the answer changes.";

const EXIT: &str = "Begin with:\n  flipcount new my-scenario\n  flipcount compare my-scenario\n\n\
Exit codes: 0 answered, 1 internal fault, 2 usage, 3 bad input, 4 no feasible plan.";

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Write a starter scenario that explains every entry
    #[command(
        after_help = "Examples:\n  flipcount new my-scenario\n  flipcount new my-scenario --full"
    )]
    New(new::Args),
    /// Report every error and warning in a scenario and its price sheets; compute nothing
    #[command(
        after_help = "Examples:\n  flipcount check my-scenario\n  flipcount check my-scenario --lines"
    )]
    Check(check::Args),
    /// Answer: the verdict, the plans side by side, and where the answer changes
    #[command(after_help = "Examples:\n  flipcount compare my-scenario\n  \
flipcount compare my-scenario --iterations 9\n  flipcount compare my-scenario --json > answer.json")]
    Compare(compare::Args),
    /// Say what would change the answer: each input's value at which another plan becomes the best
    #[command(
        after_help = "Examples:\n  flipcount flips my-scenario\n  flipcount flips my-scenario --all\n  \
flipcount flips my-scenario --map -o map.csv\n  flipcount flips my-scenario --map iterations.planned \"final.copies\"\n\n\
The best plan is held against the second best at the planned count, one input changed at a time. --map shows the cheapest plan \
over two inputs, the first to the right, the second downwards."
    )]
    Flips(flips::Args),
    /// Write the dated entries of one plan as CSV, with a summary by month
    #[command(after_help = "Examples:\n  flipcount budget my-scenario > budget.csv\n  \
flipcount budget my-scenario -o budget.csv\n  flipcount budget my-scenario --plan B -o plan-b.csv\n\n\
With -o budget.csv the summary goes to budget-months.csv; its amounts sum to those of the first file.")]
    Budget(budget::Args),
    /// Say what to order by when, up to the planned count, for one plan
    #[command(after_help = "Examples:\n  flipcount buylist my-scenario\n  \
flipcount buylist my-scenario --plan B\n  flipcount buylist my-scenario -o buylist.csv\n\n\
Days to order keep to the leads in the price sheets; dates and packs are those of the plan without surprises.")]
    Buylist(buylist::Args),
    /// Write the answer as files to keep: a page for a browser, the whole answer, the ledger with its months, a workbook and more where asked
    #[command(after_help = "Examples:\n  flipcount report my-scenario\n  \
flipcount report my-scenario --xlsx --markdown\n  flipcount report my-scenario -o for-review --parquet --force\n\n\
The files: report.html (one page with charts, which asks nothing of the network), answer.json (the answer of compare --json), ledger.csv (every entry of the verdict's plan) and ledger-months.csv (its sums by \
month and category); on request report.xlsx, ledger.parquet and report.md. All are written, or none; the same question gives the same \
files.")]
    Report(report::Args),
    /// Say what the verdict's difference to an earlier run comes of, number by number, and which of them tipped it
    #[command(
        after_help = "Examples:\n  flipcount changes my-scenario\n  flipcount changes my-scenario --from 1 --to 3\n\n\
Runs are kept in runs.jsonl beside the scenario by `compare --save` and `report`; run 3 is the one on its third line. Numbers are exchanged \
one at a time, in the order of the files, in the scenario as it stands; what is no number comes first, as one block."
    )]
    Changes(changes::Args),
    /// List every row of the price sheets with its age, and say which prices could change the verdict
    #[command(after_help = "Examples:\n  flipcount prices my-scenario\n  \
flipcount prices my-scenario --today 2026-09-01\n  flipcount prices my-scenario -o prices.csv\n\n\
Age is counted to --today, without it to the start; the clock is not asked. All prices of a row are tried 25 % lower and 25 % higher.")]
    Prices(prices::Args),
    /// Say what to pour into each dye bath for each part, with a drawing of tub, level and piece
    #[command(
        after_help = "Examples:\n  flipcount dip my-scenario\n  flipcount dip my-scenario -o drawings\n\n\
With -o DIR each bath and part gets a drawing, dip-BATH-PART.svg. Where no part can be dipped the exit code is 4."
    )]
    Dip(dip::Args),
    /// Say where a figure comes from, down to the lines of the price sheets
    #[command(after_help = "Examples:\n  flipcount explain my-scenario\n  \
flipcount explain my-scenario avoidable\n  flipcount explain my-scenario \"outlay[B]@3/resin\"\n  \
flipcount explain my-scenario entry:12\n  flipcount explain my-scenario labour\n\n\
Without WHAT it says what can be asked. Figures are shown with at most six decimals; --json has them exact.")]
    Explain(explain::Args),
    /// Measure meshes (STL, OBJ, 3MF): volume, area, box, and whether the volume can be trusted
    #[command(after_help = "Examples:\n  flipcount measure collar.stl\n  \
flipcount measure collar.stl --depth \"20 mm\" --up -z\n  flipcount measure parts/*.stl --unit in --json > meshes.json\n\n\
A mesh that is not closed, or whose triangles disagree on which side is outside, has no volume that can be trusted: repair it, or \
state `volume` for the part. The Euler number of a closed shell is 2, and 2 less for each hole through it. A file that cannot be \
measured is told on standard error, the others go on, and the exit code is 3.")]
    Measure(measure::Args),
    /// Ask many questions at once: every combination of values of some inputs, over one or many scenarios, as one long table
    #[command(
        after_help = "Examples:\n  flipcount sweep my-scenario --vary \"labour=20..60/5 per h\"\n  \
flipcount sweep my-scenario --vary iterations.planned=1..24 --vary \"labour=20,40,60 per h\" -o table.csv\n  \
flipcount sweep workshop/ --vary \"iterations.redesign=1..14 h\" -o table.parquet --winner\n\n\
VALUES are numbers and ranges with commas between: 3,4,5 or 1..24 or 10..60/5 min. A range goes from its first number in steps of 1, or of \
what follows the slash, to the last that is not above its second. A unit stands once and holds for all; values are those that could stand in the file. \
Several --vary make a grid, the last turning fastest, prices faster than all else. KEY is an address as `flipcount flips --all` lists them.\n\n\
A sweep that was ended goes on where it was: ask the same again. Until it is done FILE.pieces holds what is finished."
    )]
    Sweep(sweep::Args),
    /// Print the JSON Schema of scenario.toml, by which an editor completes and checks as you type
    #[command(after_help = "Examples:\n  flipcount schema > scenario.schema.json\n\n\
Many editors for TOML read a first line `#:schema scenario.schema.json`; to flipcount it is a comment. What the schema cannot say \
(names that must exist, dimensions, keys that exclude each other) `flipcount check` does.")]
    Schema,
    /// Print what a shell needs to complete commands and options
    #[command(
        after_help = "Examples:\n  flipcount completions bash > ~/.local/share/bash-completion/completions/flipcount\n  \
flipcount completions fish > ~/.config/fish/completions/flipcount.fish"
    )]
    Completions(setup::Completions),
    /// Print the manual page, or write those of all commands
    #[command(after_help = "Examples:\n  flipcount manual > flipcount.1\n  \
flipcount manual -o ~/.local/share/man/man1\n\n\
With -o DIR there is one page for flipcount and one for each command, such as flipcount-compare.1: all are written, or none.")]
    Manual(setup::Manual),
    /// Say what really happened, as a line of the record beside the scenario; on a terminal it asks
    #[command(after_help = "Examples:\n  flipcount record my-scenario\n  \
flipcount record my-scenario --date 2026-03-02 --iteration 1 --route \"my bench\" --what build --item good --quantity 7.2\n  \
flipcount record my-scenario --date 2026-03-04 --iteration 1 --what redesign\n\n\
WHAT is one of ordered (amount; what a cancellation would return in quantity), started, build (good or failed in item, print hours in \
quantity), attended (hours in quantity, the step in item), used (item and quantity), invoice (amount; what was bought in item, how much \
came in quantity), in_hand, accepted, redesign, failed and stopped (the reason in note). A line is added whole or not at all; record.csv \
can also be edited by hand.")]
    Record(record::Args),
}

/// Which scenario.
#[derive(Debug, Args)]
pub(super) struct Which {
    /// Scenario folder or its scenario.toml; without it, the scenario.toml of the current folder
    pub scenario: Option<PathBuf>,
}

/// From where a project with a record goes on.
#[derive(Clone, Debug, Default, Args)]
pub(super) struct Today {
    /// Today, such as 2026-03-20: a project with a record goes on from then, and prices are as old as they are then; without it, the last
    /// day of the record, else the start
    #[arg(long, value_name = "DATE", value_parser = day)]
    pub today: Option<Day>,
    /// Forecast by the numbers planned with, whatever the record teaches
    #[arg(long)]
    pub as_planned: bool,
}

/// How what is uncertain is drawn.
#[derive(Debug, Args)]
pub(super) struct Sampling {
    /// Draw what is uncertain so often; 0 plans with the likely values alone
    #[arg(long, value_name = "N", default_value_t = SAMPLES, value_parser = clap::value_parser!(u32).range(0..=MOST_SAMPLES))]
    pub samples: u32,
    /// Draw with this seed in place of the scenario's
    #[arg(long, value_name = "N")]
    pub seed: Option<u64>,
    /// Draw on so many threads; without it on every core. It changes nothing but the time
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=MOST_THREADS))]
    pub threads: Option<u16>,
}

/// Samples unless told.
pub(super) const SAMPLES: u32 = 4_000;
/// Most samples that can be asked for.
const MOST_SAMPLES: i64 = 2_000_000;
/// Most threads that can be asked for.
pub(super) const MOST_THREADS: i64 = 256;

/// A day.
fn day(text: &str) -> Result<Day, String> {
    read_date(text).map_err(|problem| format!("{}; {}", problem.message, problem.hint))
}
