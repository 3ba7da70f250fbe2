//! `sweep`: many questions at once, as one long table and a pivot of its winners.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::atomic::Ordering;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Instant;

use super::args::MOST_THREADS;
use super::ask::Asked;
use super::interrupt::{self, INTERRUPTED};
use super::pieces::Pieces;
use super::waiting::Bar;
use super::{BAD_INPUT, Failure, NO_PLAN, ask, out, scenarios};
use crate::analysis::{Sweep, SweepTable, Vary, streamed};
use crate::diag::{Severity, did_you_mean, render};
use crate::input::{fingerprint, hex, read_series, sha256};
use crate::model::{Loaded, Overrides, Scenario, load};
use crate::report::{
    PARQUET, Pivot, SweepColumns, SweepCsv, SweepParquet, SweepRows, pivot_csv, pivot_view,
    terminal,
};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Scenario folders, folders of scenario folders, or patterns of such with * and ?
    #[arg(required = true, value_name = "SCENARIO")]
    pub scenarios: Vec<String>,
    /// An input and its values; several make a grid
    #[arg(long, required = true, value_name = "KEY=VALUES", value_parser = vary)]
    pub vary: Vec<Vary>,
    /// The table to write, by its ending as CSV or Parquet; without it the pivot alone is shown
    #[arg(short, long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Only the row of the verdict's plan at each point
    #[arg(long, requires = "out")]
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

/// Seconds a piece should take: what is lost at most when the program is ended.
const PIECE_SECONDS: f64 = 1.0;
/// The most points of a piece.
const PIECE_POINTS: u64 = 8_192;
/// The most rows of a piece.
const PIECE_ROWS: u64 = 65_536;
/// Points by which the length of a piece is measured out.
const TRIED: u64 = 16;
/// Scenarios that are kept ready.
const READY: usize = 8;

/// Writes the table piece by piece, then shows the pivot.
pub(super) fn sweep(args: &Args) -> Result<(), Failure> {
    let files = Files::of(args)?;
    let question = Question::read(args)?;
    for file in files.output.iter().chain(&files.pivot) {
        out::refuse_read(file, &question.files)?;
    }
    let size = question.piece_points(args.winner);
    let stated = question.lines(args);
    let pieces = match &files.output {
        None => None,
        Some(output) => {
            Some(Pieces::open(output, &stated, &[format!("{PIECE} = {size}")], args.force)?)
        }
    };
    let size = pieces.as_ref().and_then(|p| stated_size(&p.question)).unwrap_or(size);
    let run = Run { question: &question, args, size, pieces: pieces.as_ref() };
    let (pivot, won) = run.all(&files)?;
    if let Some(pieces) = pieces {
        pieces.done();
    }
    if let (Some(file), Some(pivot)) = (&files.pivot, &pivot) {
        let csv = pivot_csv(pivot).map_err(Failure::internal)?;
        out::pending(file, &csv, args.force)?.put()?;
    }
    match &pivot {
        Some(pivot) => out::text(&terminal(&pivot_view(pivot, &question.title()), out::width()))?,
        None => out::aside("flipcount: the pivot would have too many cells and is left out\n"),
    }
    if won {
        return Ok(());
    }
    let message =
        "no plan can be carried out at any point; the column `reason` says why".to_owned();
    Err(Failure { code: NO_PLAN, message })
}

/// The line of the question that states how many points a piece has.
const PIECE: &str = "points of a piece";

fn stated_size(question: &[String]) -> Option<u64> {
    let stated = question.iter().find_map(|line| line.strip_prefix(PIECE)?.strip_prefix(" = "));
    stated?.parse().ok().filter(|&points| points > 0)
}

/// Where the results go.
struct Files {
    output: Option<PathBuf>,
    is_parquet: bool,
    pivot: Option<PathBuf>,
}

impl Files {
    fn of(args: &Args) -> Result<Files, Failure> {
        let target = |file: &PathBuf| out::target(file, args.force);
        let ends = |ending: &str| {
            let is =
                |path: &PathBuf| path.extension().is_some_and(|e| e.eq_ignore_ascii_case(ending));
            args.out.as_ref().is_some_and(is)
        };
        let is_parquet = ends("parquet");
        if let Some(output) = args.out.as_ref().filter(|_| !is_parquet && !ends("csv")) {
            let shown = output.display();
            return Err(Failure::usage(format!(
                "{shown} ends neither with .csv nor with .parquet; nothing was written"
            )));
        }
        if is_parquet && !PARQUET {
            return Err(Failure::usage(
                "this build writes no Parquet (it is without the feature `frame`); name a file that ends with .csv",
            ));
        }
        if let Some(pivot) = args.pivot.as_ref().filter(|p| !out::folder_of(p).is_dir()) {
            let (shown, folder) = (pivot.display(), out::folder_of(pivot).display());
            let message = format!("cannot write {shown}: make the folder {folder} first");
            return Err(Failure::usage(message));
        }
        Ok(Files {
            output: args.out.as_ref().map(target).transpose()?,
            is_parquet,
            pivot: args.pivot.as_ref().map(target).transpose()?,
        })
    }
}

/// One scenario of the question.
struct Swept {
    path: PathBuf,
    /// As it stands in the table.
    label: String,
    currency: String,
    minor: u32,
    points: u64,
    fingerprint: String,
}

/// Everything that is asked.
struct Question {
    varied: Vec<Vary>,
    scenarios: Vec<Swept>,
    columns: SweepColumns,
    files: BTreeSet<PathBuf>,
    title: String,
    ready: Mutex<BTreeMap<usize, Arc<Sweep>>>,
}

impl Question {
    /// Loads every scenario once: whatever is wrong with any of them is told before anything is computed.
    fn read(args: &Args) -> Result<Question, Failure> {
        let mut keys = BTreeSet::new();
        if let Some(twice) = args.vary.iter().find(|vary| !keys.insert(&vary.key)) {
            return Err(Failure::usage(format!("`{}` is varied twice", twice.key)));
        }
        let paths = scenarios::scenarios(&args.scenarios)?;
        let single = paths.len() == 1;
        let mut question = Question {
            varied: args.vary.clone(),
            scenarios: Vec::new(),
            columns: SweepColumns::new(&args.vary, 0),
            files: BTreeSet::new(),
            title: String::new(),
            ready: Mutex::default(),
        };
        let (mut faulty, mut warnings) = (false, 0);
        for path in paths {
            let Loaded { scenario, log, files } = load(&path, &Overrides::default());
            let Some(scenario) = scenario.filter(|_| !log.has_errors()) else {
                out::aside(&render(&log.found, out::look()));
                faulty = true;
                continue;
            };
            if single {
                ask::warn(&log);
            }
            if scenario.record.is_some() {
                out::aside(&format!(
                    "flipcount: {}: a sweep asks from the start, its record is left out\n",
                    path.display()
                ));
            }
            warnings += log.found.iter().filter(|d| d.severity == Severity::Warning).count();
            question.add(path, Asked { scenario, log, files })?;
        }
        if faulty {
            return Err(Failure::said(BAD_INPUT));
        }
        if !single && warnings > 0 {
            out::aside(&format!(
                "flipcount: {warnings} warnings; `flipcount check SCENARIO` tells them\n"
            ));
        }
        Ok(question)
    }

    fn add(&mut self, path: PathBuf, asked: Asked) -> Result<(), Failure> {
        let Asked { scenario, files, .. } = asked;
        let label = label(&path);
        self.knows_keys(&scenario, &label)?;
        let minor = scenario.minor();
        self.columns.minor = self.columns.minor.max(minor);
        let currency = scenario.currencies[0].code.clone();
        self.title.clone_from(&scenario.title);
        let sweep = Sweep::new(&path, scenario, &self.varied)
            .map_err(|why| Failure::usage(format!("{label}: {why}")))?;
        let points = sweep.grid().points();
        let fingerprint = fingerprint(&files);
        let index = self.scenarios.len();
        self.files.extend(files);
        self.scenarios.push(Swept { path, label, currency, minor, points, fingerprint });
        self.keep(index, Arc::new(sweep));
        Ok(())
    }

    fn knows_keys(&self, scenario: &Scenario, label: &str) -> Result<(), Failure> {
        let addresses = || scenario.slots.iter().map(|(_, input)| input.address.as_str());
        let unknown = self.varied.iter().find(|vary| addresses().all(|a| a != vary.key));
        let Some(Vary { key, .. }) = unknown else {
            return Ok(());
        };
        let near = did_you_mean(key, addresses());
        let near = near.unwrap_or_else(|| "`flipcount flips --all` lists them".to_owned());
        Err(Failure::usage(format!("no input is called `{key}` in {label}; {near}")))
    }

    fn keep(&self, index: usize, sweep: Arc<Sweep>) {
        let mut ready = self.ready.lock().unwrap_or_else(PoisonError::into_inner);
        if ready.len() >= READY
            && let Some(&first) = ready.keys().next()
        {
            ready.remove(&first);
        }
        ready.insert(index, sweep);
    }

    /// A scenario made ready, from memory or from its files.
    fn sweep(&self, index: usize) -> Result<Arc<Sweep>, Failure> {
        let known = self.ready.lock().unwrap_or_else(PoisonError::into_inner).get(&index).cloned();
        if let Some(sweep) = known {
            return Ok(sweep);
        }
        let swept = &self.scenarios[index];
        let Loaded { scenario, files, .. } = load(&swept.path, &Overrides::default());
        let changed =
            || Failure::usage(format!("{} changed while it was swept; ask again", swept.label));
        let scenario = scenario.filter(|_| fingerprint(&files) == swept.fingerprint);
        let scenario = scenario.ok_or_else(changed)?;
        let sweep = Sweep::new(&swept.path, scenario, &self.varied).map_err(|_| changed())?;
        let sweep = Arc::new(sweep);
        self.keep(index, Arc::clone(&sweep));
        Ok(sweep)
    }

    fn points(&self) -> u64 {
        self.scenarios.iter().map(|s| s.points).sum()
    }

    /// How many points a piece should have: a second's work.
    fn piece_points(&self, winner: bool) -> u64 {
        let Some((first, Ok(sweep))) = self.scenarios.first().map(|s| (s, self.sweep(0))) else {
            return PIECE_POINTS;
        };
        let tried = first.points.clamp(1, TRIED);
        let begun = Instant::now();
        let rows = sweep.rows(0, tried, winner).rows.len() as u64;
        let each = begun.elapsed().as_secs_f64() / tried as f64;
        let mut points = PIECE_POINTS;
        while points > 1
            && (points as f64 * each > PIECE_SECONDS || points * rows > PIECE_ROWS * tried)
        {
            points /= 2;
        }
        points
    }

    /// The question line by line, as it is held against that of pieces that are there.
    fn lines(&self, args: &Args) -> Vec<String> {
        let mut lines = vec![
            format!("flipcount = {}", env!("CARGO_PKG_VERSION")),
            format!("rows = {}", if args.winner { "the verdict's plan" } else { "every plan" }),
        ];
        for vary in &self.varied {
            let numbers: Vec<String> =
                (0..vary.series.numbers.len()).map(|n| vary.series.text(n)).collect();
            lines.push(format!("vary {} = {}", vary.key, shortened(&numbers.join(", "))));
        }
        let all = self.scenarios.iter().enumerate();
        lines.extend(
            all.map(|(n, s)| format!("scenario {} = {} {}", n + 1, s.label, s.fingerprint)),
        );
        lines.iter().map(|line| line.replace(['\n', '\r'], " ")).collect()
    }

    fn title(&self) -> String {
        let points = self.points();
        match self.scenarios.len() {
            1 => format!("{} ({points} points, planning runs)", self.title),
            many => format!("{many} scenarios ({points} points, planning runs)"),
        }
    }
}

/// A long text by its beginning and its digest.
fn shortened(text: &str) -> String {
    const MOST: usize = 100;
    if text.chars().count() <= MOST {
        return text.to_owned();
    }
    let begin: String = text.chars().take(MOST).collect();
    format!("{begin}... ({})", &hex(&sha256(text.as_bytes()))[..16])
}

/// A scenario as it is named in the table: its folder as it was given.
fn label(path: &Path) -> String {
    let folder = if path.ends_with(ask::SCENARIO_FILE) { out::folder_of(path) } else { path };
    folder.display().to_string()
}

/// The work.
struct Run<'q> {
    question: &'q Question,
    args: &'q Args,
    /// Points of a piece.
    size: u64,
    pieces: Option<&'q Pieces>,
}

/// A stretch of points of one scenario.
#[derive(Clone, Copy)]
struct Piece {
    number: usize,
    scenario: usize,
    from: u64,
    to: u64,
}

impl Run<'_> {
    /// The pieces before each scenario, and all at the end.
    fn offsets(&self) -> Vec<u64> {
        let mut offsets = vec![0];
        for swept in &self.question.scenarios {
            offsets.push(offsets[offsets.len() - 1] + swept.points.div_ceil(self.size));
        }
        offsets
    }

    fn piece(&self, offsets: &[u64], number: usize) -> Piece {
        let scenario = offsets.partition_point(|&before| before <= number as u64) - 1;
        let from = (number as u64 - offsets[scenario]) * self.size;
        let to = (from + self.size).min(self.question.scenarios[scenario].points);
        Piece { number, scenario, from, to }
    }

    /// A piece from disk, or worked out and kept there.
    fn work(&self, piece: Piece) -> Result<(Piece, Arc<Sweep>, SweepTable), Failure> {
        let sweep = self.question.sweep(piece.scenario)?;
        if let Some(table) = self.pieces.and_then(|pieces| pieces.read(piece.number)) {
            return Ok((piece, sweep, table));
        }
        let table = sweep.rows(piece.from, piece.to, self.args.winner);
        if let Some(pieces) = self.pieces {
            pieces.keep(piece.number, &table)?;
        }
        Ok((piece, sweep, table))
    }

    /// All pieces, into the table and the pivot. Returns the pivot, and whether any point has a verdict.
    fn all(&self, files: &Files) -> Result<(Option<Pivot>, bool), Failure> {
        let question = self.question;
        let labels: Vec<String> = question.scenarios.iter().map(|s| s.label.clone()).collect();
        let mut pivot = Pivot::new(&labels, &question.varied, &question.columns.inputs);
        let mut table = match (&files.output, self.pieces) {
            (Some(output), Some(pieces)) => {
                Some(TableFile::begin(self, output, pieces, files.is_parquet)?)
            }
            _ => None,
        };
        let offsets = self.offsets();
        let count = usize::try_from(offsets[offsets.len() - 1]).unwrap_or(usize::MAX);
        self.tell_what_is_there(count);
        let (points, mut done, mut won, mut rows) = (question.points(), 0, false, 0);
        let bar = Bar::new(points, "points");
        let mut failed = None;
        let threads = self.args.threads.map_or(0, usize::from);
        let work = |number| self.work(self.piece(&offsets, number));
        interrupt::heeded(|stop| {
            streamed(threads, count, work, |piece| {
                let taken = piece.and_then(|(piece, sweep, stretch)| {
                    let swept = &question.scenarios[piece.scenario];
                    let (scenario, currency) = (swept.label.as_str(), swept.currency.as_str());
                    let (grid, minor) = (sweep.grid(), swept.minor);
                    let of = SweepRows { scenario, currency, minor, grid, table: &stretch };
                    if let Some(pivot) = &mut pivot {
                        pivot.add(piece.scenario, &of);
                    }
                    won |= stretch.rows.iter().any(|row| row.figures.is_some_and(|f| f.verdict));
                    rows += stretch.rows.len();
                    done += piece.to - piece.from;
                    bar.at(done);
                    table.as_mut().map_or(Ok(()), |table| table.add(&of))
                });
                failed = taken.err();
                failed.is_none() && !stop.load(Ordering::Relaxed)
            });
        });
        bar.end();
        if let Some(failure) = failed {
            return Err(failure);
        }
        if done < points {
            return Err(self.interrupted(done, points));
        }
        if let (Some(table), Some(output)) = (table, &files.output) {
            table.end()?;
            out::aside(&format!("{rows} rows to {}\n", output.display()));
        }
        Ok((pivot, won))
    }

    fn tell_what_is_there(&self, count: usize) {
        let there = self.pieces.map_or(0, Pieces::count);
        if there > 0 {
            out::aside(&format!("flipcount: going on, {there} of {count} pieces are there\n"));
        }
    }

    fn interrupted(&self, done: u64, points: u64) -> Failure {
        let rest = match self.pieces {
            Some(_) => "; ask the same again to go on",
            None => "; with -o FILE it could go on from there",
        };
        let message = format!("stopped after {done} of {points} points{rest}");
        Failure { code: INTERRUPTED, message }
    }
}

/// The table on its way to its place.
struct TableFile {
    file: out::Pending,
    how: How,
}

/// How it is written.
enum How {
    Csv(SweepCsv),
    Parquet(Box<SweepParquet>),
}

impl TableFile {
    fn begin(
        run: &Run,
        output: &Path,
        pieces: &Pieces,
        parquet: bool,
    ) -> Result<TableFile, Failure> {
        let columns = &run.question.columns;
        let how = if parquet {
            How::Parquet(Box::new(
                SweepParquet::new(columns).map_err(|no| Failure::internal(no.0))?,
            ))
        } else {
            How::Csv(SweepCsv::new(columns.clone()))
        };
        let file = out::begun(pieces.folder(), output, run.args.force)?;
        Ok(TableFile { file, how })
    }

    fn add(&mut self, rows: &SweepRows) -> Result<(), Failure> {
        let bytes = match &mut self.how {
            How::Csv(csv) => csv.bytes(rows).map_err(Failure::internal)?,
            How::Parquet(parquet) => parquet.bytes(rows).map_err(|no| Failure::internal(no.0))?,
        };
        self.file.add(&bytes)
    }

    fn end(mut self) -> Result<(), Failure> {
        if let How::Parquet(parquet) = self.how {
            self.file.add(&parquet.end().map_err(|no| Failure::internal(no.0))?)?;
        }
        self.file.whole()?.put()
    }
}
