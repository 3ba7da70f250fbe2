//! `measure`: volume, area, box and trust of mesh files.

use std::io::{self, IsTerminal};
use std::path::{Path, PathBuf};

use clap::ValueEnum;
use clap::builder::PossibleValue;
use indicatif::{ProgressBar, ProgressStyle};

use super::{BAD_INPUT, Failure, out};
use crate::analysis::{LEAST_EXTENT_MM, MOST_EXTENT_MM, MeasureAsk, Measured, measure_mesh};
use crate::input::{Quantity, UnitKind, read_quantity};
use crate::mesh::{MeshUnit, Up};
use crate::model::Exact;
use crate::report::{measure_json, measure_view, terminal};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
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

/// Those that a person states: in feet are only 3MF files, which say so.
impl ValueEnum for MeshUnit {
    fn value_variants<'a>() -> &'a [MeshUnit] {
        &[MeshUnit::Um, MeshUnit::Mm, MeshUnit::Cm, MeshUnit::M, MeshUnit::In]
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        Some(PossibleValue::new(self.name()))
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

/// Says what the files measure on standard output, in the order given. One that cannot be measured is told on standard error, and the
/// others go on.
pub(super) fn measure(args: &Args) -> Result<(), Failure> {
    let ask =
        MeasureAsk { unit_mm: args.unit.map(MeshUnit::mm), depth_mm: args.depth, up: args.up.up() };
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
