//! Meshes that parts name: a path and a unit go in; volume, area and box come out as numbers, and the mesh itself for dips.
//!
//! What is measured replaces what is stated beside it. A mesh that several parts name is read once.

use std::collections::{BTreeMap, BTreeSet};
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::context::Load;
use super::measure::Measure;
use super::table::Table;
use crate::diag::{Code, Diagnostic, Place, did_you_mean_or_list};
use crate::input::{Quantity, UnitKind};
use crate::mesh::{Check, Format, Mesh, MeshError, MeshUnit, Source, check, read};
use crate::model::solid::{millilitres, millionths};
use crate::model::{Dim, Exact, Input, Slot, Solid, SourceId, Volume};

/// Words for `mesh_unit` and what each is in mm.
pub(super) const UNITS: [(&str, f64); 5] = [
    stated(MeshUnit::Mm),
    stated(MeshUnit::Cm),
    stated(MeshUnit::M),
    stated(MeshUnit::In),
    stated(MeshUnit::Um),
];

const fn stated(unit: MeshUnit) -> (&'static str, f64) {
    (unit.name(), unit.mm())
}

/// Longest side of a box in mm, as of one that is stated.
const LONGEST: i64 = 1_000_000;

/// Between what the longest side of a box usually lies, in mm.
const USUAL: [f64; 2] = [1.0, 2_000.0];

/// Meshes read so far.
#[derive(Default)]
pub(super) struct Meshes {
    /// The folder that paths of meshes start from.
    pub base: PathBuf,
    /// Parts whose mesh was refused: what else they lack follows from that.
    pub refused: BTreeSet<String>,
    /// By path.
    pub read: Readings,
}

/// What was read from meshes, by path.
pub(super) type Readings = BTreeMap<PathBuf, Result<Arc<Reading>, MeshError>>;

/// A mesh and what was found about it.
#[derive(Debug)]
pub(super) struct Reading {
    mesh: Arc<Mesh>,
    check: Check,
}

impl Meshes {
    /// The files that were read.
    pub fn files(&self) -> impl Iterator<Item = &PathBuf> {
        self.read.iter().filter(|(_, read)| read.is_ok()).map(|(path, _)| path)
    }

    fn of(&mut self, path: PathBuf) -> Result<Arc<Reading>, MeshError> {
        let reading = |path: &Path| {
            let mesh = read(&Source::Path(path), Format::of(path)?)?;
            let check = check(&mesh)?;
            Ok(Arc::new(Reading { mesh: Arc::new(mesh), check }))
        };
        self.read.entry(path).or_insert_with_key(|path| reading(path)).clone()
    }
}

/// A part's geometry, stated or measured.
pub(super) struct Geometry {
    /// Volume.
    pub volume: Option<Volume>,
    /// Surface in cm2.
    pub area: Option<Slot>,
    /// Box in mm.
    pub size: Option<[Slot; 3]>,
    /// The mesh, where it can be trusted.
    pub solid: Option<Solid>,
}

/// Measures the mesh a part names, if it names one. What is stated beside it gives way.
pub(super) fn measured(
    load: &mut Load,
    table: &mut Table,
    part: &str,
    stated: Geometry,
) -> Geometry {
    let Some(one) = table.one("mesh") else {
        return stated;
    };
    let words = unit_of(load, table);
    let mesh = one.text(load, super::limits::TEXT).and_then(|text| {
        let reading = found(load, text, one.place)?;
        let unit_mm = settled(load, &reading, words?, table.place_of("mesh_unit"))?;
        let source = load.source(file_name(text), Some(one.place));
        Some(Measured { reading, unit_mm, place: one.place, text, source })
    });
    let geometry = mesh.and_then(|mesh| mesh.geometry(load, table, &stated));
    geometry.unwrap_or_else(|| {
        load.meshes.refused.insert(part.to_owned());
        stated
    })
}

/// The stated unit: its word and what it is in mm. The outer `None` where the word is not known.
fn unit_of(load: &mut Load, table: &mut Table) -> Option<Option<(&'static str, f64)>> {
    let Some(one) = table.one("mesh_unit") else {
        return Some(None);
    };
    let text = one.name(load)?;
    let known = UNITS.iter().find(|(word, _)| *word == text.trim());
    if known.is_none() {
        let message = format!("no unit of a mesh is called `{text}`");
        let hint = did_you_mean_or_list(text, &UNITS.map(|u| u.0));
        load.error(Code::UnknownUnit, one.place, message, hint);
    }
    known.map(|unit| Some(*unit))
}

/// Reads the mesh at a path; what is wrong with it is logged.
fn found(load: &mut Load, text: &str, place: &Place) -> Option<Arc<Reading>> {
    let path = load.meshes.base.join(text);
    let gone = path.metadata().err().map(|error| error.kind());
    if matches!(gone, Some(ErrorKind::NotFound | ErrorKind::NotADirectory)) {
        let message = format!("there is no mesh `{text}`");
        let hint = "check the path: it starts from the folder of scenario.toml";
        load.error(Code::FileMissing, place, message, hint);
        return None;
    }
    match load.meshes.of(path) {
        Ok(reading) => Some(reading),
        Err(error) => {
            let message = format!("mesh `{text}`: {}", error.message());
            load.error(Code::MeshUnreadable, place, message, error.hint());
            None
        }
    }
}

/// What a unit of the mesh is in mm. A file that says so itself must not be contradicted.
fn settled(
    load: &mut Load,
    reading: &Reading,
    stated: Option<(&'static str, f64)>,
    place: &Place,
) -> Option<f64> {
    let own = reading.mesh.unit_mm();
    if let (Some((word, mm)), Some(own)) = (stated, own)
        && (mm - own).abs() > 1e-9 * own
    {
        let message =
            format!("`mesh_unit` is `{word}`, but the 3MF says that its unit is {own} mm");
        load.error(Code::ConflictingGeometry, place, message, "delete `mesh_unit`: the file knows");
        return None;
    }
    Some(own.or(stated.map(|s| s.1)).unwrap_or(1.0))
}

/// The name of a file without its folders, whichever way its slashes lean.
fn file_name(text: &str) -> String {
    text.rsplit(['/', '\\']).next().unwrap_or(text).to_owned()
}

/// A mesh as a part names it.
struct Measured<'a> {
    reading: Arc<Reading>,
    unit_mm: f64,
    place: &'a Place,
    text: &'a str,
    source: SourceId,
}

impl Measured<'_> {
    /// Volume, area and box as numbers; `None` where the mesh is refused.
    fn geometry(&self, load: &mut Load, table: &Table, stated: &Geometry) -> Option<Geometry> {
        let size = self.size(load)?;
        self.remarks(load, size);
        let kept = match stated.volume {
            Some(Volume::Stated(slot)) => Some(slot),
            _ => None,
        };
        let volume = match self.reading.check.volume() {
            Ok(volume) => {
                Some(self.taken(load, Measure::Volume, millilitres(volume, self.unit_mm))?)
            }
            Err(error) => {
                self.untrusted(load, &error, kept)?;
                None
            }
        };
        let area = self.reading.check.measure.area * self.unit_mm * self.unit_mm / 100.0;
        let area = self.taken(load, Measure::Area, millionths(area))?;
        let mut axes = ["x", "y", "z"].into_iter();
        let size = size.map(|side| (format!("box.{}", axes.next().unwrap_or_default()), side));
        let mut index = 0;
        let size = size.map(|(key, side)| {
            let slot = stated.size.map(|s| s[index]);
            index += 1;
            self.put(load, (table, &key), (Dim::Length, side), slot)
        });
        Some(Geometry {
            volume: match volume {
                Some(v) => {
                    let slot = self.put(load, (table, "volume"), (Dim::Volume, v), kept);
                    Some(Volume::Stated(slot))
                }
                None => stated.volume,
            },
            area: Some(self.put(load, (table, "area"), (Dim::Area, area), stated.area)),
            size: Some(size),
            solid: volume.map(|v| Solid::new(self.reading.mesh.clone(), self.unit_mm, v)),
        })
    }

    /// The sides of the box in mm.
    fn size(&self, load: &mut Load) -> Option<[Exact; 3]> {
        let sides = self.reading.check.measure.bounds.size().map(|side| side * self.unit_mm);
        let mut taken = [Exact::ZERO; 3];
        for (side, taken) in sides.into_iter().zip(&mut taken) {
            let side = millionths(side).filter(|side| *side <= Exact::from(LONGEST));
            *taken = self.taken(load, Measure::Length, side)?;
        }
        Some(taken)
    }

    /// A measured number, held against what the key of its kind takes when it is stated.
    fn taken(&self, load: &mut Load, measure: Measure, value: Option<Exact>) -> Option<Exact> {
        let (kind, unit) = match measure {
            Measure::Volume => (UnitKind::Volume, "mL"),
            Measure::Area => (UnitKind::Area, "cm2"),
            _ => (UnitKind::Length, "mm"),
        };
        let Some(value) = value else {
            let message = format!("mesh `{}` is too large to be a part", self.text);
            load.error(Code::TooLarge, self.place, message, "check `mesh_unit`");
            return None;
        };
        let quantity = Quantity::Of(kind, value.decimal());
        match measure.take(&quantity, &format!("{value} {unit}")) {
            Ok(_) => Some(value),
            Err(mut problem) => {
                problem.message =
                    format!("measured from mesh `{}`: {}", self.text, problem.message);
                "check `mesh_unit`, or export the part again".clone_into(&mut problem.hint);
                load.log.push(problem.at(self.place));
                None
            }
        }
    }

    /// Says what a mesh lacks to be trusted. `None` where it is refused: where no volume is stated.
    fn untrusted(&self, load: &mut Load, error: &MeshError, stated: Option<Slot>) -> Option<()> {
        let message = format!("mesh `{}`: {}", self.text, error.message());
        if stated.is_none() {
            load.error(Code::MeshNotSolid, self.place, message, error.hint());
            return None;
        }
        let message = format!("{message}; the stated `volume` counts, area and box are the mesh's");
        let hint = "repair the mesh in your modelling program; until then a dip is an estimate";
        load.warn(Code::MeshNotSolid, self.place, message, hint);
        Some(())
    }

    /// What a person should look at.
    fn remarks(&self, load: &mut Load, size: [Exact; 3]) {
        let (check, trusted) = (&self.reading.check, self.reading.check.volume().is_ok());
        let longest = size.into_iter().max().unwrap_or(Exact::ZERO);
        if !(USUAL[0]..=USUAL[1]).contains(&longest.to_f64_lossy()) {
            let [x, y, z] = size;
            self.doubt(
                load,
                &format!("the box is {x} x {y} x {z} mm: the unit may be wrong"),
                "state `mesh_unit`: \"mm\", \"cm\", \"m\", \"in\" or \"um\"",
            );
        }
        if trusted && check.inverted {
            let hint = "its volume counts all the same; turn its triangles round in your modelling program";
            self.doubt(load, "the mesh is inside out", hint);
        }
        if trusted && check.may_overlap {
            let hint =
                "where shells share space, the sum of their volumes is too large: unite them";
            self.doubt(load, "shells of the mesh may overlap", hint);
        }
        if self.reading.mesh.left_out() > 0 {
            let what =
                format!("{} objects are no solids and are left out", self.reading.mesh.left_out());
            self.doubt(load, &what, "check that nothing of the part is missing");
        }
    }

    fn doubt(&self, load: &mut Load, what: &str, hint: &str) {
        let message = format!("mesh `{}`: {what}", self.text);
        load.warn(Code::MeshDoubtful, self.place, message, hint);
    }

    /// Puts a measured number into the slot of the stated one, or into a new one.
    fn put(
        &self,
        load: &mut Load,
        (table, key): (&Table, &str),
        (dim, value): (Dim, Exact),
        stated: Option<Slot>,
    ) -> Slot {
        let input = Input::certain(table.address_of(key), self.source, dim, value);
        let Some(slot) = stated else {
            return load.add(input);
        };
        let likely = load.slots.likely(slot);
        let apart = (likely - value).abs() * Exact::from(50i64) > value;
        if apart && !load.faulty.contains(&slot) {
            self.apart(load, slot, (key, likely), value);
        }
        *load.slots.get_mut(slot) = input;
        slot
    }

    /// Says that what is stated is more than 2 % off.
    fn apart(&self, load: &mut Load, slot: Slot, (key, stated): (&str, Exact), value: Exact) {
        let unit = match load.slots.get(slot).dim {
            Dim::Volume => "mL",
            Dim::Area => "cm2",
            _ => "mm",
        };
        let message = format!(
            "`{key}` is stated as {stated} {unit}, but mesh `{}` measures {value}",
            self.text
        );
        let source = load.slots.get(slot).source;
        let place = load.place_of(source).unwrap_or(self.place).clone();
        let finding = Diagnostic::warning(Code::MeshDoubtful, &place, message);
        let hint = "the measured figure counts; delete the stated one, or check `mesh_unit`";
        load.log.push(finding.see(self.place, "the mesh").hint(hint));
    }
}
