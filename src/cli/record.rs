//! `record`: what really happened, as lines behind those that are there.

use std::io::{self, IsTerminal};
use std::path::{Path, PathBuf};

use super::args::{Today, Which};
use super::prompt::Prompt;
use super::record_file::{Kept, kept};
use super::{BAD_INPUT, Failure, ask, out};
use crate::analysis::{Resume, settle};
use crate::diag::{Log, render};
use crate::input::{RecordText, read_document, read_file, record_with};
use crate::model::{Loaded, Overrides, Scenario, load_with_record, record_words};
use crate::report::taught;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
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

/// Adds a line from the options, or lines from a conversation where someone sits at the terminal.
pub(super) fn record(args: &Args) -> Result<(), Failure> {
    let path = args.which.path()?;
    let folder = folder_of(&path);
    if let Some(target) = &args.learned {
        return learned(&path, target);
    }
    let lines = if args.what.is_some() {
        vec![line(args)]
    } else if io::stdin().is_terminal() && io::stderr().is_terminal() {
        talked(args, &path, &folder)?
    } else {
        let words: Vec<&str> = record_words().collect();
        return Err(Failure::usage(format!(
            "say what happened with --what: {}; on a terminal `flipcount record` asks for all of it",
            words.join(", ")
        )));
    };
    if lines.is_empty() {
        out::aside("nothing was recorded\n");
        return Ok(());
    }
    let kept = kept(&folder)?;
    let text = joined(&kept, &lines)?;
    if let Err(log) = checked(&path, &text) {
        out::aside(&render(&log.found, out::look()));
        out::aside("flipcount: nothing was recorded\n");
        if args.what.is_none() {
            out::aside(&said_in_vain(&lines));
        }
        return Err(Failure::said(BAD_INPUT));
    }
    kept.replace(&text).inspect_err(|_| {
        if args.what.is_none() {
            out::aside(&said_in_vain(&lines));
        }
    })?;
    let (count, shown) = (lines.len(), kept.named().display());
    let word = if count == 1 { "line" } else { "lines" };
    out::aside(&format!("{count} {word} to {shown}\n"));
    Ok(())
}

/// Writes the files that hold what the record has taught, with it in them, into a folder of their own.
fn learned(path: &Path, target: &Path) -> Result<(), Failure> {
    let asked = ask::resumed(path, &Overrides::default(), &Today::default())?;
    let file = if path.is_dir() { path.join(ask::SCENARIO_FILE) } else { path.to_owned() };
    let mut log = Log::default();
    let read = read_file(&file, &mut log).and_then(|f| Some((read_document(&f, &mut log)?, f)));
    let Some((document, file)) = read else {
        return Err(Failure::internal(format!("{} changed while it was read", file.display())));
    };
    let taught = taught(&asked.scenario, (&file, &document));
    for by_hand in &taught.by_hand {
        out::aside(&format!("to be changed by hand: {by_hand}\n"));
    }
    if taught.files.is_empty() {
        out::aside("the record teaches nothing that could be written; nothing was written\n");
        return Ok(());
    }
    out::folder(target)?;
    let place = |(name, text): &(String, String)| {
        let place = out::target(&target.join(name), false)?;
        out::refuse_read(&place, &asked.files)?;
        Ok((place, text.clone().into_bytes()))
    };
    let files: Result<Vec<(PathBuf, Vec<u8>)>, Failure> = taught.files.iter().map(place).collect();
    out::put_all(target, &files?, false)?;
    let names: Vec<&str> = taught.files.iter().map(|f| f.0.as_str()).collect();
    let (count, shown) = (taught.count, target.display());
    out::aside(&format!(
        "{count} numbers to {shown}: {}; put them in the place of yours if you agree\n",
        names.join(", ")
    ));
    Ok(())
}

/// What a conversation has brought, so that nobody has to say it twice.
fn said_in_vain(lines: &[RecordText]) -> String {
    let text = record_with(None, lines).unwrap_or_default();
    let rows: String = text.lines().skip(1).map(|line| format!("  {line}\n")).collect();
    format!("what was said, as lines of the record, to be put right and kept there:\n{rows}")
}

/// The folder a scenario lies in.
fn folder_of(path: &Path) -> PathBuf {
    if path.is_dir() {
        return path.to_owned();
    }
    path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new(".")).to_owned()
}

/// The line the options say.
fn line(args: &Args) -> RecordText {
    let columns = [
        ("date", &args.date),
        ("iteration", &args.iteration),
        ("part", &args.part),
        ("route", &args.route),
        ("what", &args.what),
        ("item", &args.item),
        ("quantity", &args.quantity),
        ("amount", &args.amount),
        ("currency", &args.currency),
        ("note", &args.note),
    ];
    columns.into_iter().fold(RecordText::default(), |line, (column, text)| {
        line.with(column, text.as_deref().unwrap_or_default())
    })
}

/// The text of the record with lines added.
fn joined(kept: &Kept, lines: &[RecordText]) -> Result<String, Failure> {
    record_with(kept.text()?.as_deref(), lines).map_err(|lacking| {
        let (shown, names) = (kept.named().display(), lacking.join("`, `"));
        Failure::usage(format!(
            "{shown} lacks the column `{names}`: add it to the header line; nothing was recorded"
        ))
    })
}

/// What is wrong in a scenario whose record has this text.
fn checked(path: &Path, text: &str) -> Result<(), Log> {
    let (mut scenario, mut log) = understood(path, text)?;
    settle(&mut scenario, Resume::default()).map_err(|found| {
        log.found.extend(found);
        log
    })
}

/// A scenario whose record has this text, and its warnings, if every line can be understood by itself.
fn understood(path: &Path, text: &str) -> Result<(Scenario, Log), Log> {
    let text = text.trim_start_matches('\u{feff}');
    let Loaded { scenario, log, .. } = load_with_record(path, &Overrides::default(), Some(text));
    match scenario {
        Some(scenario) if !log.has_errors() => Ok((scenario, log)),
        _ => Err(log),
    }
}

/// Asks for everything that happened. The record is not held meanwhile: others may write.
fn talked(args: &Args, path: &Path, folder: &Path) -> Result<Vec<RecordText>, Failure> {
    let asked = ask::loaded(path, &Overrides::default())?;
    let before = kept(folder)?.text()?;
    let check = |lines: &[RecordText]| -> Result<(), String> {
        let text = record_with(before.as_deref(), lines).map_err(|lacking| {
            format!("the record lacks the column `{}`\n", lacking.join("`, `"))
        })?;
        understood(path, &text).map(drop).map_err(|log| render(&log.found, out::look()))
    };
    let (input, output) = (io::stdin().lock(), io::stderr().lock());
    Prompt::new(input, output, &asked.scenario, &check).talk(&line(args)).map_err(|error| {
        Failure::internal(format!("the conversation ended early: {error}; nothing was recorded"))
    })
}
