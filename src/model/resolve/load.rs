//! From a folder to a scenario: the recipe.

use std::collections::BTreeSet;
use std::io::ErrorKind;
use std::mem;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::build::resolve;
use super::reading::Load;
use super::record::record;
use super::settings::Overrides;
use crate::diag::{Code, Diagnostic, File, Log, Place};
use crate::input::{read_document, read_file};
use crate::model::Scenario;

/// What loading leaves.
#[derive(Debug)]
pub struct Loaded {
    /// The scenario; `None` if anything in the files is an error.
    pub scenario: Option<Scenario>,
    /// Every finding, in the order of the files and lines.
    pub log: Log,
    /// The files that numbers and rows were read from.
    pub files: BTreeSet<PathBuf>,
}

/// Loads a scenario folder, or its scenario.toml, with the price sheets it names.
///
/// Every error of every file is in the log: nothing stops at the first.
pub fn load(path: &Path, overrides: &Overrides) -> Loaded {
    load_with_record(path, overrides, None)
}

/// The same with a text in the place of the record beside the scenario: what it would be.
pub fn load_with_record(path: &Path, overrides: &Overrides, text: Option<&str>) -> Loaded {
    loaded(path, (overrides, text), &mut Load::default())
}

/// The same with what is known before.
pub(super) fn loaded(
    path: &Path,
    (overrides, record): (&Overrides, Option<&str>),
    load: &mut Load,
) -> Loaded {
    let scenario = read(path, (overrides, record), load);
    let log = ordered(mem::take(&mut load.log));
    let files = load.files();
    let scenario = scenario.filter(|_| !log.has_errors()).map(|mut scenario| {
        scenario.slots = mem::take(&mut load.slots);
        scenario.not_counted = mem::take(&mut load.not_counted);
        (scenario.sources, scenario.places) = load.take_sources();
        scenario
    });
    Loaded { scenario, log, files }
}

fn read(
    path: &Path,
    (overrides, text): (&Overrides, Option<&str>),
    load: &mut Load,
) -> Option<Scenario> {
    let path = if path.is_dir() { path.join("scenario.toml") } else { path.to_owned() };
    if let Some(finding) = not_there(&path) {
        load.log.push(finding);
        return None;
    }
    let file = read_file(&path, &mut load.log)?;
    let document = read_document(&file, &mut load.log)?;
    let broken = load.log.has_errors();
    let mut scenario = resolve(load, &document, &path, overrides);
    if broken {
        // What a syntax error hides would be reported missing.
        load.log.found.retain(|d| !d.code.is_a_lack());
    }
    if let Some(scenario) = &mut scenario {
        let folder = path.parent().unwrap_or(Path::new(""));
        let (before, faulty) = (load.log.found.len(), load.log.has_errors());
        scenario.record = record(load, folder, scenario, text);
        if faulty {
            // A name may be unknown for no other reason than that what bears it is faulty.
            let mut index = 0;
            load.log.found.retain(|d| {
                index += 1;
                index <= before || !d.code.is_unknown_name()
            });
        }
    }
    scenario
}

/// A scenario that is not there, with what to do about it: most likely its folder is mistyped.
fn not_there(path: &Path) -> Option<Diagnostic> {
    match path.symlink_metadata() {
        Err(error) if matches!(error.kind(), ErrorKind::NotFound | ErrorKind::NotADirectory) => {}
        // What is there and cannot be read is told where it is read.
        _ => return None,
    }
    let name = path.display().to_string();
    let (message, hint) = match path.parent() {
        Some(folder) if path.ends_with("scenario.toml") && folder.is_dir() => (
            "there is no scenario.toml in this folder",
            "name another folder; `flipcount new DIR` writes one to start from",
        ),
        _ => (
            "there is no such folder or file",
            "name a folder with a scenario.toml; `flipcount new DIR` writes one to start from",
        ),
    };
    let file = Arc::new(File { path: name, text: String::new() });
    let place = Place { file, span: 0..0, line: 0, column: 0, cell: None };
    Some(Diagnostic::error(Code::FileMissing, &place, message).hint(hint))
}

/// Findings by file, the scenario first and the sheets by name, then by place; what was found twice is said once.
fn ordered(mut log: Log) -> Log {
    let mut seen = BTreeSet::new();
    let mut found = mem::take(&mut log.found);
    found
        .retain(|finding| seen.insert((place_key(finding), finding.code, finding.message.clone())));
    found.sort_by_key(place_key);
    log.found = found;
    log
}

/// Sheet or scenario, path, line and byte.
fn place_key(finding: &Diagnostic) -> (bool, String, usize, usize) {
    finding.place.as_ref().map_or((true, String::new(), 0, 0), |place| {
        let path = place.file.path.clone();
        (path.ends_with(".csv"), path, place.line, place.span.start)
    })
}
