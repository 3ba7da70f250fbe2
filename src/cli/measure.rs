//! `measure`: volume, area, box and trust of mesh files.

use std::io::{self, IsTerminal};
use std::path::Path;

use indicatif::{ProgressBar, ProgressStyle};

use super::args::Measure as Args;
use super::{BAD_INPUT, Failure, out};
use crate::analysis::{LEAST_EXTENT_MM, MOST_EXTENT_MM, MeasureAsk, Measured, measure_mesh};
use crate::report::{measure_json, measure_view, terminal};

/// Says what the files measure on standard output, in the order given. One that cannot be measured is told on standard error, and the
/// others go on.
pub(super) fn measure(args: &Args) -> Result<(), Failure> {
    let ask = MeasureAsk {
        unit_mm: args.unit.map(super::args::MeshUnit::mm),
        depth_mm: args.depth,
        up: args.up.up(),
    };
    let bar = bar(args.files.len());
    let mut measured: Vec<(String, Measured)> = Vec::with_capacity(args.files.len());
    for file in &args.files {
        let name = name(file);
        match measure_mesh(file, &ask) {
            Ok(found) => {
                if let Some(doubt) = doubt(&found) {
                    bar.suspend(|| out::aside(&format!("flipcount: warning: {name}: {doubt}\n")));
                }
                measured.push((name, found));
            }
            Err(why) => bar.suspend(|| out::aside(&format!("flipcount: {name}: {why}\n"))),
        }
        bar.inc(1);
    }
    bar.finish_and_clear();
    if args.json {
        out::data(measure_json(&measured).map_err(Failure::internal)?.as_bytes())?;
    } else if !measured.is_empty() {
        out::text(&terminal(&measure_view(&measured), out::width()))?;
    }
    if measured.len() == args.files.len() { Ok(()) } else { Err(Failure::said(BAD_INPUT)) }
}

/// How far it is, for several files on a terminal; else nothing is seen of it.
fn bar(files: usize) -> ProgressBar {
    if files < 2 || !io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(files as u64);
    match ProgressStyle::with_template("{bar:30} {pos} of {len} meshes") {
        Ok(style) => bar.with_style(style),
        Err(_) => bar,
    }
}

/// A file's name as it was given, without anything that would move the cursor.
fn name(file: &Path) -> String {
    file.display().to_string().chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

/// A size that makes one doubt the unit.
fn doubt(found: &Measured) -> Option<String> {
    let longest = found.doubtful_extent_mm()?;
    let (than, bound) = if longest < LEAST_EXTENT_MM {
        ("shorter", LEAST_EXTENT_MM)
    } else {
        ("longer", MOST_EXTENT_MM)
    };
    Some(format!(
        "the longest side of its box is {longest} mm, {than} than {bound} mm: the unit may be wrong, see --unit"
    ))
}
