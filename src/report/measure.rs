//! What meshes measure, as text and as JSON: a block of figures for one file, a table for several, sentences for what is not ordinary.

use serde::Serialize;

use super::{Section, View, listed};
use crate::analysis::{Dipped, Measured};
use crate::mesh::{Format, MeshUnit};

/// Euler numbers shown one by one; more are in the JSON.
const FEW_SHELLS: usize = 8;

/// What files measure, in words. Each comes with its name.
pub fn measure_view(files: &[(String, Measured)]) -> View {
    let (title, sections) = match files {
        [(name, only)] => {
            let title = format!("{name} ({}, unit {})", format_name(only.format), unit(only));
            (title, vec![block(only), Section::sentences("", remarks(only))])
        }
        many => {
            let remarks = many.iter().map(|(name, found)| Section::sentences(name, remarks(found)));
            let title = format!("{} meshes", many.len());
            (title, std::iter::once(table(many)).chain(remarks).collect())
        }
    };
    View { title, sections: sections.into_iter().flatten().collect(), lines: usize::MAX }
}

/// One file: a figure a line.
fn block(found: &Measured) -> Option<Section> {
    let edges = &found.check.edges;
    let area = format!("{} cm2", figure(found.area_cm2()));
    let mut rows = vec![
        ["area", &area].map(str::to_owned),
        ["box along x, y, z".to_owned(), format!("{} mm", box_text(found))],
        ["triangles".to_owned(), found.check.measure.triangles.to_string()],
        ["of them without area".to_owned(), found.check.measure.degenerate.to_string()],
        ["vertices".to_owned(), found.check.vertices.to_string()],
        ["shells".to_owned(), shells(found)],
        ["closed".to_owned(), yes(found.closed()).to_owned()],
        ["open edges".to_owned(), edges.open.to_string()],
        ["non-manifold edges".to_owned(), edges.non_manifold.to_string()],
        ["wrongly wound edges".to_owned(), edges.wrong_winding.to_string()],
    ];
    if let Some(dip) = &found.immersed {
        rows.push([
            format!("below {} mm, {} up", length(dip.depth_mm), dip.up.as_str()),
            below(dip).map_or("not trusted".to_owned(), |volume| format!("{volume} cm3")),
        ]);
        if let Some([_, area]) = dip.below {
            rows.push(["of the area".to_owned(), format!("{} cm2", figure(area))]);
        }
    }
    let volume = volume(found).map_or("not trusted".to_owned(), |volume| format!("{volume} cm3"));
    Section::table(
        vec!["volume".to_owned(), volume],
        rows.into_iter().map(|row| row.to_vec()).collect(),
    )
}

/// Several files: one a row.
fn table(files: &[(String, Measured)]) -> Option<Section> {
    let (_, first) = files.first()?;
    let mut head: Vec<String> =
        ["file", "volume, cm3", "area, cm2", "box, mm", "triangles", "shells", "closed"]
            .map(str::to_owned)
            .to_vec();
    if let Some(dip) = &first.immersed {
        head.push(format!("below {} mm, cm3", length(dip.depth_mm)));
    }
    let rows = files.iter().map(|(name, found)| {
        let no_volume = || "not trusted".to_owned();
        let mut row = vec![
            name.clone(),
            volume(found).unwrap_or_else(no_volume),
            figure(found.area_cm2()),
            box_text(found),
            found.check.measure.triangles.to_string(),
            found.check.shells.len().to_string(),
            yes(found.closed()).to_owned(),
        ];
        row.extend(found.immersed.as_ref().map(|dip| below(dip).unwrap_or_else(no_volume)));
        row
    });
    Section::table(head, rows.collect())
}

/// What is not ordinary about a file.
fn remarks(found: &Measured) -> Vec<String> {
    let check = &found.check;
    let mut said = Vec::new();
    if let Err(why) = found.volume_cm3() {
        said.push(format!("Volume not trusted: {}.", problem(found, &why.to_string())));
    }
    if found.inverted() == Some(true) && found.volume_cm3().is_ok() {
        said.push("Turned inside out as a whole: the volume is the absolute value.".to_owned());
    }
    if found.may_overlap() == Some(true) {
        said.push("Shells may overlap: what they share is counted twice.".to_owned());
    }
    if check.measure.degenerate > 0 {
        said.push(format!("Triangles without area: {}.", check.measure.degenerate));
    }
    if found.left_out > 0 {
        let count = found.left_out;
        said.push(format!("Left out as no solids of the part (supports, surfaces): {count}."));
    }
    if let Some(dip) = found.immersed.filter(|dip| dip.depth_mm >= dip.height_mm) {
        let height = length(dip.height_mm);
        said.push(format!(
            "It is {height} mm tall with {} up: all of it is below.",
            dip.up.as_str()
        ));
    }
    said
}

/// Why there is no volume. An open mesh may be wound wrongly besides.
fn problem(found: &Measured, why: &str) -> String {
    match found.check.edges.wrong_winding {
        0 => why.to_owned(),
        _ if found.closed() => why.to_owned(),
        edges => format!("{why}; wrongly wound edges besides: {edges}"),
    }
}

fn volume(found: &Measured) -> Option<String> {
    found.volume_cm3().ok().map(figure)
}

fn below(dip: &Dipped) -> Option<String> {
    dip.below.map(|[volume, _]| figure(volume))
}

fn shells(found: &Measured) -> String {
    let shells = &found.check.shells;
    let mut euler: Vec<String> =
        shells.iter().take(FEW_SHELLS).map(|shell| shell.euler().to_string()).collect();
    if shells.len() > FEW_SHELLS {
        euler.push(format!("{} more", shells.len() - FEW_SHELLS));
    }
    match shells.len() {
        0 => "0".to_owned(),
        1 => format!("1 (Euler number {})", euler[0]),
        many => format!("{many} (Euler numbers {})", listed(&euler)),
    }
}

fn box_text(found: &Measured) -> String {
    found.box_mm().map(length).join(" x ")
}

fn unit(found: &Measured) -> String {
    let same = |mm: f64| (mm - found.unit_mm).abs() <= 1e-9 * mm;
    let known = MeshUnit::ALL.into_iter().find(|unit| same(unit.mm()));
    known.map_or_else(|| format!("{} mm", found.unit_mm), |unit| unit.name().to_owned())
}

const fn format_name(format: Format) -> &'static str {
    match format {
        Format::Stl => "STL",
        Format::Obj => "OBJ",
        Format::ThreeMf => "3MF",
    }
}

const fn yes(what: bool) -> &'static str {
    if what { "yes" } else { "no" }
}

/// Four or more digits that count, and never fewer than one decimal; powers of ten where plain digits would be many.
fn figure(value: f64) -> String {
    let size = value.abs();
    if size == 0.0 {
        return "0".to_owned();
    }
    if !(1e-6..1e9).contains(&size) {
        return format!("{value:.3e}");
    }
    let decimals = [1000.0, 100.0, 10.0, 1.0, 0.1, 0.01, 0.001, 0.0001, 0.000_01]
        .iter()
        .position(|&step| size >= step)
        .map_or(9, |at| at.max(1));
    format!("{value:.decimals$}")
}

/// As [`figure`], to a hundredth and without trailing zeros: `80`, `34.5`.
fn length(mm: f64) -> String {
    let text = if (0.1..1e6).contains(&mm.abs()) { format!("{mm:.2}") } else { figure(mm) };
    match text.contains('.') && !text.contains('e') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}

#[derive(Serialize)]
struct FileEntry<'a> {
    file: &'a str,
    format: &'static str,
    unit_mm: f64,
    volume_cm3: Option<f64>,
    problem: Option<String>,
    area_cm2: f64,
    box_mm: [f64; 3],
    triangles: u64,
    vertices: u64,
    degenerate: u64,
    shells: usize,
    euler: Vec<i64>,
    closed: bool,
    edges: EdgesEntry,
    inverted: Option<bool>,
    may_overlap: Option<bool>,
    left_out: u64,
    immersed: Option<ImmersedEntry>,
}

#[derive(Serialize)]
struct EdgesEntry {
    open: u64,
    non_manifold: u64,
    wrong_winding: u64,
}

#[derive(Serialize)]
struct ImmersedEntry {
    up: &'static str,
    height_mm: f64,
    depth_mm: f64,
    volume_cm3: Option<f64>,
    area_cm2: Option<f64>,
}

/// What files measure as a JSON array, one object a file, ending in a line feed.
///
/// # Errors
/// Only if a number has no form in JSON, which no finite figure is.
pub fn measure_json(files: &[(String, Measured)]) -> Result<String, serde_json::Error> {
    let entries: Vec<FileEntry> = files.iter().map(|(name, found)| entry(name, found)).collect();
    let mut text = serde_json::to_string_pretty(&entries)?;
    text.push('\n');
    Ok(text)
}

fn entry<'a>(file: &'a str, found: &Measured) -> FileEntry<'a> {
    let (check, volume) = (&found.check, found.volume_cm3());
    let edges = &check.edges;
    FileEntry {
        file,
        format: match found.format {
            Format::Stl => "stl",
            Format::Obj => "obj",
            Format::ThreeMf => "3mf",
        },
        unit_mm: found.unit_mm,
        problem: volume.as_ref().err().map(|why| problem(found, &why.to_string())),
        volume_cm3: volume.ok(),
        area_cm2: found.area_cm2(),
        box_mm: found.box_mm(),
        triangles: check.measure.triangles,
        vertices: check.vertices,
        degenerate: check.measure.degenerate,
        shells: check.shells.len(),
        euler: check.shells.iter().map(crate::mesh::Shell::euler).collect(),
        closed: found.closed(),
        edges: EdgesEntry {
            open: edges.open,
            non_manifold: edges.non_manifold,
            wrong_winding: edges.wrong_winding,
        },
        inverted: found.inverted(),
        may_overlap: found.may_overlap(),
        left_out: found.left_out,
        immersed: found.immersed.map(|dip| ImmersedEntry {
            up: dip.up.as_str(),
            height_mm: dip.height_mm,
            depth_mm: dip.depth_mm,
            volume_cm3: dip.below.map(|[volume, _]| volume),
            area_cm2: dip.below.map(|[_, area]| area),
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_keep_the_digits_that_count() {
        let shown = [0.0, 12_345.67, 123.456, 12.3456, 1.234_567, 0.012_345_6, 1e-9, 2.5e12];
        let texts = ["0", "12345.7", "123.5", "12.35", "1.235", "0.01235", "1.000e-9", "2.500e12"];
        assert_eq!(shown.map(figure), texts);
    }

    #[test]
    fn lengths_have_no_trailing_zeros() {
        assert_eq!(
            [80.0, 34.5, 0.25, 0.01, 100.0, 0.0].map(length),
            ["80", "34.5", "0.25", "0.01", "100", "0"]
        );
    }
}
