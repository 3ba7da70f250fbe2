//! `record`: what really happened, as lines behind those that are there.

use std::io::{self, IsTerminal};
use std::path::{Path, PathBuf};

use super::args::Record as Args;
use super::keep::{Kept, kept};
use super::prompt::Prompt;
use super::{BAD_INPUT, Failure, ask, out};
use crate::analysis::{Resume, settle};
use crate::diag::{Log, render};
use crate::input::{RecordText, record_with};
use crate::model::{Loaded, Overrides, load_with_record, record_words};

/// Adds a line from the options, or lines from a conversation where someone sits at the terminal.
pub(super) fn record(args: &Args) -> Result<(), Failure> {
    let path = args.which.path()?;
    let folder = folder_of(&path);
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
        return Err(Failure::said(BAD_INPUT));
    }
    kept.replace(&text)?;
    let (count, shown) = (lines.len(), kept.path().display());
    let word = if count == 1 { "line" } else { "lines" };
    out::aside(&format!("{count} {word} to {shown}\n"));
    Ok(())
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
        let (shown, names) = (kept.path().display(), lacking.join("`, `"));
        Failure::usage(format!(
            "{shown} lacks the column `{names}`: add it to the header line; nothing was recorded"
        ))
    })
}

/// What is wrong in a scenario whose record has this text.
fn checked(path: &Path, text: &str) -> Result<(), Log> {
    let text = text.trim_start_matches('\u{feff}');
    let Loaded { scenario, mut log, .. } =
        load_with_record(path, &Overrides::default(), Some(text));
    let Some(mut scenario) = scenario.filter(|_| !log.has_errors()) else {
        return Err(log);
    };
    settle(&mut scenario, Resume::default()).map_err(|found| {
        log.found.extend(found);
        log
    })
}

/// Asks for everything that happened. The record is not held meanwhile: others may write.
fn talked(args: &Args, path: &Path, folder: &Path) -> Result<Vec<RecordText>, Failure> {
    let asked = ask::loaded(path, &Overrides::default())?;
    let before = kept(folder)?.text()?;
    let check = |lines: &[RecordText]| -> Result<(), String> {
        let text = record_with(before.as_deref(), lines).map_err(|lacking| {
            format!("the record lacks the column `{}`\n", lacking.join("`, `"))
        })?;
        checked(path, &text).map_err(|log| render(&log.found, out::look()))
    };
    let (input, output) = (io::stdin().lock(), io::stderr().lock());
    Prompt::new(input, output, &asked.scenario, &check).talk(&line(args)).map_err(|error| {
        Failure::internal(format!("the conversation ended early: {error}; nothing was recorded"))
    })
}
