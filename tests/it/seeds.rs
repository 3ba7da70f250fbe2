//! What the fuzzers found, and seeds written for them, on the stable compiler: `tests/fuzz/TARGET` holds one input a file. A finding is
//! named after what was wrong.

use std::fs;

use flipcount::mesh::Format;

use crate::fuzzed::{self, Ground};
use crate::help::project;

/// Gives every seed of a target to what it asks.
fn each(target: &str, ask: impl Fn(&[u8])) {
    let entries = fs::read_dir(project("tests/fuzz").join(target)).expect("seeds of a target");
    let mut paths: Vec<_> = entries.flatten().map(|entry| entry.path()).collect();
    paths.sort();
    assert!(!paths.is_empty(), "{target} has seeds");
    for path in paths {
        println!("{}", path.display());
        ask(&fs::read(&path).expect("a seed"));
    }
}

#[test]
fn seeds_of_scenario() {
    let ground = Ground::new(&project(""));
    each("scenario", |seed| ground.scenario_text(seed));
}

#[test]
fn seeds_of_sheets() {
    let ground = Ground::new(&project(""));
    each("sheets", |seed| ground.sheet(seed));
}

#[test]
fn seeds_of_record() {
    let ground = Ground::new(&project(""));
    each("record", |seed| ground.record(seed));
}

#[test]
fn seeds_of_meshes() {
    each("stl", |seed| fuzzed::mesh(seed, Format::Stl));
    each("obj", |seed| fuzzed::mesh(seed, Format::Obj));
    each("threemf", fuzzed::threemf);
}

#[test]
fn seeds_of_units() {
    each("units", fuzzed::units);
}
