//! From a folder to a scenario: the recipe.

use std::collections::BTreeSet;
use std::mem;
use std::path::Path;

use super::build::resolve;
use super::context::Load;
use crate::diag::{Code, Diagnostic, Log};
use crate::input::{read_document, read_file};
use crate::model::Scenario;

/// Numbers that the command line puts in the place of the file's.
#[derive(Clone, Copy, Debug, Default)]
pub struct Overrides {
    /// Iterations planned, certain; own counts are cut at it and the horizon is raised to it.
    pub iterations: Option<u32>,
    /// Copies of every part in each iteration.
    pub copies: Option<u32>,
}

/// What loading leaves.
#[derive(Debug)]
pub struct Loaded {
    /// The scenario; `None` if anything in the files is an error.
    pub scenario: Option<Scenario>,
    /// Every finding, in the order of the files and lines.
    pub log: Log,
}

/// Loads a scenario folder, or its scenario.toml, with the price sheets it names.
///
/// Every error of every file is in the log: nothing stops at the first.
pub fn load(path: &Path, overrides: &Overrides) -> Loaded {
    let mut load = Load::default();
    let scenario = read(path, overrides, &mut load);
    let log = ordered(mem::take(&mut load.log));
    let scenario = scenario.filter(|_| !log.has_errors()).map(|mut scenario| {
        scenario.slots = mem::take(&mut load.slots);
        scenario.not_counted = mem::take(&mut load.not_counted);
        scenario.sources = load.into_sources();
        scenario
    });
    Loaded { scenario, log }
}

fn read(path: &Path, overrides: &Overrides, load: &mut Load) -> Option<Scenario> {
    let path = if path.is_dir() { path.join("scenario.toml") } else { path.to_owned() };
    let file = read_file(&path, &mut load.log)?;
    let document = read_document(&file, &mut load.log)?;
    let broken = load.log.has_errors();
    let scenario = resolve(load, &document, &path, overrides);
    if broken {
        // What a syntax error hides would be reported missing.
        load.log.found.retain(|d| !matches!(d.code, Code::MissingKey | Code::MissingGeometry));
    }
    scenario
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
