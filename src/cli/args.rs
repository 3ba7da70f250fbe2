//! The arguments as clap reads them.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;

use crate::analysis::Vary;
use crate::input::{Quantity, UnitKind, read_date, read_quantity, read_series};
use crate::mesh::Up;
use crate::model::{Day, Exact, limits};

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
    New(New),
    /// Report every error and warning in a scenario and its price sheets; compute nothing
    #[command(
        after_help = "Examples:\n  flipcount check my-scenario\n  flipcount check my-scenario --lines"
    )]
    Check(Check),
    /// Answer: the verdict, the plans side by side, and where the answer changes
    #[command(after_help = "Examples:\n  flipcount compare my-scenario\n  \
flipcount compare my-scenario --iterations 9\n  flipcount compare my-scenario --json > answer.json")]
    Compare(Compare),
    /// Say what would change the answer: each input's value at which another plan becomes the best
    #[command(
        after_help = "Examples:\n  flipcount flips my-scenario\n  flipcount flips my-scenario --all\n  \
flipcount flips my-scenario --map -o map.csv\n  flipcount flips my-scenario --map iterations.planned \"final.copies\"\n\n\
The best plan is held against the second best at the planned count, one input changed at a time. --map shows the cheapest plan \
over two inputs, the first to the right, the second downwards."
    )]
    Flips(Flips),
    /// Write the dated entries of one plan as CSV, with a summary by month
    #[command(after_help = "Examples:\n  flipcount budget my-scenario > budget.csv\n  \
flipcount budget my-scenario -o budget.csv\n  flipcount budget my-scenario --plan B -o plan-b.csv\n\n\
With -o budget.csv the summary goes to budget-months.csv; its amounts sum to those of the first file.")]
    Budget(Budget),
    /// Say what to order by when, up to the planned count, for one plan
    #[command(after_help = "Examples:\n  flipcount buylist my-scenario\n  \
flipcount buylist my-scenario --plan B\n  flipcount buylist my-scenario -o buylist.csv\n\n\
Days to order keep to the leads in the price sheets; dates and packs are those of the plan without surprises.")]
    Buylist(Buylist),
    /// Write the answer as files to keep: a page for a browser, the whole answer, the ledger with its months, a workbook and more where asked
    #[command(after_help = "Examples:\n  flipcount report my-scenario\n  \
flipcount report my-scenario --xlsx --markdown\n  flipcount report my-scenario -o for-review --parquet --force\n\n\
The files: report.html (one page with charts, which asks nothing of the network), answer.json (the answer of compare --json), ledger.csv (every entry of the verdict's plan) and ledger-months.csv (its sums by \
month and category); on request report.xlsx, ledger.parquet and report.md. All are written, or none; the same question gives the same \
files.")]
    Report(Report),
    /// Say what the verdict's difference to an earlier run comes of, number by number, and which of them tipped it
    #[command(
        after_help = "Examples:\n  flipcount changes my-scenario\n  flipcount changes my-scenario --from 1 --to 3\n\n\
Runs are kept in runs.jsonl beside the scenario by `compare --save` and `report`; run 3 is the one on its third line. Numbers are exchanged \
one at a time, in the order of the files, in the scenario as it stands; what is no number comes first, as one block."
    )]
    Changes(Changes),
    /// List every row of the price sheets with its age, and say which prices could change the verdict
    #[command(after_help = "Examples:\n  flipcount prices my-scenario\n  \
flipcount prices my-scenario --today 2026-09-01\n  flipcount prices my-scenario -o prices.csv\n\n\
Age is counted to --today, without it to the start; the clock is not asked. All prices of a row are tried 25 % lower and 25 % higher.")]
    Prices(Prices),
    /// Say what to pour into each dye bath for each part, with a drawing of tub, level and piece
    #[command(
        after_help = "Examples:\n  flipcount dip my-scenario\n  flipcount dip my-scenario -o drawings\n\n\
With -o DIR each bath and part gets a drawing, dip-BATH-PART.svg. Where no part can be dipped the exit code is 4."
    )]
    Dip(Dip),
    /// Say where a figure comes from, down to the lines of the price sheets
    #[command(after_help = "Examples:\n  flipcount explain my-scenario\n  \
flipcount explain my-scenario avoidable\n  flipcount explain my-scenario \"outlay[B]@3/resin\"\n  \
flipcount explain my-scenario entry:12\n  flipcount explain my-scenario labour\n\n\
Without WHAT it says what can be asked. Figures are shown with at most six decimals; --json has them exact.")]
    Explain(Explain),
    /// Measure meshes (STL, OBJ, 3MF): volume, area, box, and whether the volume can be trusted
    #[command(after_help = "Examples:\n  flipcount measure collar.stl\n  \
flipcount measure collar.stl --depth \"20 mm\" --up -z\n  flipcount measure parts/*.stl --unit in --json > meshes.json\n\n\
A mesh that is not closed, or whose triangles disagree on which side is outside, has no volume that can be trusted: repair it, or \
state `volume` for the part. The Euler number of a closed shell is 2, and 2 less for each hole through it. A file that cannot be \
measured is told on standard error, the others go on, and the exit code is 3.")]
    Measure(Measure),
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
    Sweep(Sweep),
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
    Completions(Completions),
    /// Print the manual page, or write those of all commands
    #[command(after_help = "Examples:\n  flipcount manual > flipcount.1\n  \
flipcount manual -o ~/.local/share/man/man1\n\n\
With -o DIR there is one page for flipcount and one for each command, such as flipcount-compare.1: all are written, or none.")]
    Manual(Manual),
    /// Say what really happened, as a line of the record beside the scenario; on a terminal it asks
    #[command(after_help = "Examples:\n  flipcount record my-scenario\n  \
flipcount record my-scenario --date 2026-03-02 --iteration 1 --route \"my bench\" --what build --item good --quantity 7.2\n  \
flipcount record my-scenario --date 2026-03-04 --iteration 1 --what redesign\n\n\
WHAT is one of ordered (amount; what a cancellation would return in quantity), started, build (good or failed in item, print hours in \
quantity), attended (hours in quantity, the step in item), used (item and quantity), invoice (amount; what was bought in item, how much \
came in quantity), in_hand, accepted, redesign, failed and stopped (the reason in note). A line is added whole or not at all; record.csv \
can also be edited by hand.")]
    Record(Record),
}

#[derive(Debug, Args)]
pub(super) struct New {
    /// Folder to write; it must not exist yet, or be empty
    pub dir: PathBuf,
    /// With price sheets, several parts and every kind of entry
    #[arg(long)]
    pub full: bool,
}

/// Which scenario.
#[derive(Debug, Args)]
pub(super) struct Which {
    /// Scenario folder or its scenario.toml; without it, the scenario.toml of the current folder
    pub scenario: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(super) struct Check {
    #[command(flatten)]
    pub which: Which,
    /// One line for each finding, for editors
    #[arg(long)]
    pub lines: bool,
}

#[derive(Debug, Args)]
pub(super) struct Compare {
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
const MOST_THREADS: i64 = 256;

/// Most iterations that can be asked for: what a scenario may state.
const MOST_ITERATIONS: i64 = limits::HORIZON;
/// Most copies that can be asked for: what a scenario may state.
const MOST_COPIES: i64 = limits::COPIES;

#[derive(Debug, Args)]
pub(super) struct Flips {
    #[command(flatten)]
    pub which: Which,
    /// Every input by its key, those without effect too
    #[arg(long, conflicts_with_all = ["map", "json"])]
    pub all: bool,
    /// The cheapest plan over two inputs; without keys, iterations and the worth of an hour
    #[arg(long, value_names = ["KEY", "KEY"], num_args = 0..=2)]
    pub map: Option<Vec<String>>,
    /// The table as one JSON document
    #[arg(long, conflicts_with_all = ["map", "output"])]
    pub json: bool,
    /// CSV file to write beside, with every row of the table or every cell of the map
    #[arg(short, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// Replace a file that is there
    #[arg(long, requires = "output")]
    pub force: bool,
    #[command(flatten)]
    pub today: Today,
}

#[derive(Debug, Args)]
pub(super) struct Budget {
    #[command(flatten)]
    pub which: Which,
    /// Plan by its name, or by its letter in `compare`; without it, the verdict's
    #[arg(long, value_name = "NAME")]
    pub plan: Option<String>,
    /// File to write; the summary by month goes beside it
    #[arg(short, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// Replace files that are there
    #[arg(long, requires = "output")]
    pub force: bool,
    #[command(flatten)]
    pub today: Today,
}

#[derive(Debug, Args)]
pub(super) struct Buylist {
    #[command(flatten)]
    pub which: Which,
    /// Plan by its name, or by its letter in `compare`; without it, the verdict's
    #[arg(long, value_name = "NAME")]
    pub plan: Option<String>,
    /// The list as one JSON document
    #[arg(long, conflicts_with = "output")]
    pub json: bool,
    /// CSV file to write in place of the table
    #[arg(short, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// Replace a file that is there
    #[arg(long, requires = "output")]
    pub force: bool,
    #[command(flatten)]
    pub today: Today,
}

#[derive(Debug, Args)]
pub(super) struct Report {
    #[command(flatten)]
    pub which: Which,
    /// Folder to write into, made where it is missing; without it, reports/NAME in the current folder
    #[arg(short, value_name = "DIR")]
    pub output: Option<PathBuf>,
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

#[derive(Debug, Args)]
pub(super) struct Changes {
    #[command(flatten)]
    pub which: Which,
    /// The older run, by its line in runs.jsonl; without it, the last
    #[arg(long, value_name = "N")]
    pub from: Option<usize>,
    /// The newer run; without it, the scenario as it stands
    #[arg(long, value_name = "N")]
    pub to: Option<usize>,
    /// The changes as one JSON document
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub(super) struct Prices {
    #[command(flatten)]
    pub which: Which,
    #[command(flatten)]
    pub today: Today,
    /// The rows as one JSON document
    #[arg(long, conflicts_with = "output")]
    pub json: bool,
    /// CSV file to write in place of the table
    #[arg(short, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// Replace a file that is there
    #[arg(long, requires = "output")]
    pub force: bool,
}

#[derive(Debug, Args)]
pub(super) struct Dip {
    #[command(flatten)]
    pub which: Which,
    /// Folder for the drawings, one SVG file for each bath and part
    #[arg(short, value_name = "DIR")]
    pub output: Option<PathBuf>,
    /// Replace files that are there
    #[arg(long, requires = "output")]
    pub force: bool,
}

#[derive(Debug, Args)]
pub(super) struct Explain {
    /// Scenario folder or its scenario.toml
    pub scenario: PathBuf,
    /// A figure, an entry or an input; without it, what can be asked
    pub what: Option<String>,
    /// Everything: every entry, down to what is stated
    #[arg(long, conflicts_with = "json")]
    pub all: bool,
    /// The whole tree as one JSON document
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub today: Today,
}

#[derive(Debug, Args)]
pub(super) struct Record {
    #[command(flatten)]
    pub which: Which,
    /// Write what the record teaches into copies of your files, in this new folder; nothing of yours is changed
    #[arg(long, value_name = "DIR", conflicts_with_all = ["what", "date", "iteration", "part", "route", "item", "quantity", "amount", "currency", "note"])]
    pub learned: Option<PathBuf>,
    /// What happened: ordered, started, build, attended, used, invoice, in_hand, accepted, redesign, failed or stopped
    #[arg(long, value_name = "WHAT")]
    pub what: Option<String>,
    /// The day, such as 2026-03-02, or the moment, such as 2026-03-02T14:30
    #[arg(long, value_name = "DATE")]
    pub date: Option<String>,
    /// The iteration it belongs to, from 1
    #[arg(long, value_name = "N")]
    pub iteration: Option<String>,
    /// The part it is about; without it, all parts of the iteration
    #[arg(long, value_name = "NAME")]
    pub part: Option<String>,
    /// The route it is about
    #[arg(long, value_name = "NAME")]
    pub route: Option<String>,
    /// A material, supply or machine, the step of `attended`, or good or failed for `build`
    #[arg(long, value_name = "NAME")]
    pub item: Option<String>,
    /// How much, with its unit; hours are bare numbers
    #[arg(long, value_name = "QUANTITY")]
    pub quantity: Option<String>,
    /// Money, as a bare number
    #[arg(long, value_name = "MONEY")]
    pub amount: Option<String>,
    /// The currency of the amount; without it, the scenario's
    #[arg(long, value_name = "CODE")]
    pub currency: Option<String>,
    /// Anything else worth remembering, such as the reason of a failure
    #[arg(long, value_name = "TEXT")]
    pub note: Option<String>,
}

#[derive(Debug, Args)]
pub(super) struct Measure {
    /// Mesh files: .stl, .obj or .3mf
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// One JSON array, an object a file, with all figures
    #[arg(long)]
    pub json: bool,
    /// Unit of the files' coordinates; without it mm, or what a 3MF states. A 3MF that states another one is an error
    #[arg(long, value_enum, value_name = "UNIT")]
    pub unit: Option<MeshUnit>,
    /// The volume below a level this far above the lowest point too, such as "20 mm"
    #[arg(long, value_name = "LENGTH", value_parser = depth, allow_hyphen_values = true)]
    pub depth: Option<f64>,
    /// The axis that points up for --depth, or `shortest` for that along which the box is shortest
    #[arg(long, value_name = "AXIS", default_value = "z", value_parser = pose, allow_hyphen_values = true)]
    pub up: Pose,
}

#[derive(Debug, Args)]
pub(super) struct Sweep {
    /// Scenario folders, folders of scenario folders, or patterns of such with * and ?
    #[arg(required = true, value_name = "SCENARIO")]
    pub scenarios: Vec<String>,
    /// An input and its values; several make a grid
    #[arg(long, required = true, value_name = "KEY=VALUES", value_parser = vary)]
    pub vary: Vec<Vary>,
    /// The table to write, by its ending as CSV or Parquet; without it the pivot alone is shown
    #[arg(short, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// Only the row of the verdict's plan at each point
    #[arg(long, requires = "output")]
    pub winner: bool,
    /// CSV file to write with every cell of the pivot
    #[arg(long, value_name = "FILE")]
    pub pivot: Option<PathBuf>,
    /// Work on so many threads; without it on every core. It changes nothing but the time
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=MOST_THREADS))]
    pub threads: Option<u16>,
    /// Replace files that are there, and do away with pieces of another question
    #[arg(long)]
    pub force: bool,
}

/// An input and its values. Keys may hold equals signs, values never do.
fn vary(text: &str) -> Result<Vary, String> {
    let (key, values) =
        text.rsplit_once('=').ok_or("expected KEY=VALUES, such as `iterations.planned=1..24`")?;
    let series = read_series(values)?;
    Ok(Vary { key: key.trim().to_owned(), series })
}

#[derive(Debug, Args)]
pub(super) struct Completions {
    /// The shell
    #[arg(value_enum)]
    pub shell: Shell,
}

#[derive(Debug, Args)]
pub(super) struct Manual {
    /// Folder for the pages, made where it is missing
    #[arg(short, value_name = "DIR")]
    pub output: Option<PathBuf>,
    /// Replace files that are there
    #[arg(long, requires = "output")]
    pub force: bool,
}

/// A unit of length that mesh files are drawn in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum MeshUnit {
    Um,
    Mm,
    Cm,
    M,
    In,
}

impl MeshUnit {
    /// Its length in mm.
    pub(super) const fn mm(self) -> f64 {
        match self {
            MeshUnit::Um => 0.001,
            MeshUnit::Mm => 1.0,
            MeshUnit::Cm => 10.0,
            MeshUnit::M => 1000.0,
            MeshUnit::In => 25.4,
        }
    }
}

/// How a mesh stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Pose {
    /// With this axis up.
    Axis(Up),
    /// With the axis up along which its box is shortest.
    Shortest,
}

impl Pose {
    /// The axis, `None` for the shortest.
    pub(super) const fn up(self) -> Option<Up> {
        match self {
            Pose::Axis(up) => Some(up),
            Pose::Shortest => None,
        }
    }
}

fn pose(text: &str) -> Result<Pose, String> {
    if text.trim().eq_ignore_ascii_case("shortest") {
        return Ok(Pose::Shortest);
    }
    Up::parse(text)
        .map(Pose::Axis)
        .ok_or_else(|| "expected x, -x, y, -y, z, -z or shortest".to_owned())
}

/// A day.
fn day(text: &str) -> Result<Day, String> {
    read_date(text).map_err(|problem| format!("{}; {}", problem.message, problem.hint))
}

/// A length from 0 on, in mm.
fn depth(text: &str) -> Result<f64, String> {
    match read_quantity(text) {
        Ok(Quantity::Of(UnitKind::Length, mm)) if !mm.is_sign_negative() => {
            Ok(Exact::from(mm).to_f64_lossy())
        }
        Ok(Quantity::Of(UnitKind::Length, _)) => {
            Err("expected a length from 0 on, above the lowest point".to_owned())
        }
        Ok(other) => {
            Err(format!("expected a length such as \"20 mm\", found {}", other.describe()))
        }
        Err(problem) => Err(format!("{}; {}", problem.message, problem.hint)),
    }
}
