//! The model part of a 3MF: tags go in, objects and the build come out.
//!
//! Read are unit, objects (meshes or components) and build items of the 3MF Core Specification; `path` of the Production Extension
//! names another model part. Tags of other extensions are passed over, also where they bear the same names.

use std::collections::BTreeMap;

use quick_xml::events::BytesStart;

use super::threemf_parts::{Tag, attribute, part_name};
use super::{MeshUnit, Point};

/// What a model part holds.
#[derive(Default)]
pub(super) struct Model {
    /// Length of its unit in mm.
    pub(super) unit_mm: f64,
    /// Objects by number.
    pub(super) objects: BTreeMap<u64, Object>,
    /// What is to be built.
    pub(super) build: Vec<Placement>,
}

/// One object.
#[derive(Default)]
pub(super) struct Object {
    /// Whether it is a solid of the part, rather than support or a bare surface.
    pub(super) is_model: bool,
    /// Its own vertices.
    pub(super) points: Vec<Point>,
    /// Its own triangles: numbers of vertices, checked to be there.
    pub(super) triangles: Vec<[u32; 3]>,
    /// Other objects it is made of.
    pub(super) components: Vec<Placement>,
}

/// An object put somewhere.
pub(super) struct Placement {
    /// The model part that holds it, if not the same.
    pub(super) part: Option<String>,
    /// Its number.
    pub(super) object: u64,
    /// Where it is put.
    pub(super) transform: Transform,
}

/// Rows of a 4 x 3 matrix: images of x, y, z, then the shift.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Transform(pub(super) [Point; 4]);

impl Transform {
    /// Leaves everything where it is.
    pub(super) const NONE: Self =
        Self([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [0.0; 3]]);

    /// A point moved.
    pub(super) fn apply(&self, [x, y, z]: &Point) -> Point {
        let [i, j, k, shift] = &self.0;
        [0, 1, 2].map(|axis| x * i[axis] + y * j[axis] + z * k[axis] + shift[axis])
    }

    /// First this, then the other.
    pub(super) fn then(&self, outer: &Self) -> Self {
        let [i, j, k, shift] = &self.0;
        let turn = |row: &Point| {
            let [a, b, c, _] = &outer.0;
            [0, 1, 2].map(|axis| row[0] * a[axis] + row[1] * b[axis] + row[2] * c[axis])
        };
        Self([turn(i), turn(j), turn(k), outer.apply(shift)])
    }

    /// Negative where it mirrors, 0 where it flattens.
    pub(super) fn determinant(&self) -> f64 {
        let [i, j, k, _] = &self.0;
        super::sums::dot(i, &super::sums::cross(j, k))
    }
}

/// Takes a model part tag by tag.
#[derive(Default)]
pub(super) struct ModelReader {
    model: Model,
    /// The object that is open, with its number.
    object: Option<(u64, Object)>,
    in_mesh: bool,
    in_build: bool,
    /// Depth of tags of other extensions that are passed over.
    passed: u64,
}

impl ModelReader {
    /// Takes the next tag.
    ///
    /// # Errors
    /// What is wrong with it, in words.
    pub(super) fn tag(&mut self, tag: &Tag<'_>) -> Result<(), String> {
        match tag {
            Tag::Open(tag) => self.open(tag),
            Tag::Close(name) => self.close(name),
        }
    }

    /// The model.
    pub(super) fn finish(self) -> Model {
        self.model
    }

    fn open(&mut self, tag: &BytesStart<'_>) -> Result<(), String> {
        // The core's own tags have no prefix in most files, but may: an extension's tags are known by where they stand.
        let local = tag.local_name();
        let name = local.as_ref();
        if self.passed > 0 || (self.in_mesh && !MESH_TAGS.contains(&name)) {
            self.passed += 1;
            return Ok(());
        }
        match (name, &mut self.object) {
            ("model", None) => self.model.unit_mm = unit(attribute(tag, "unit")?.as_deref())?,
            ("object", None) => self.object = Some(object(tag)?),
            ("mesh", Some(_)) => self.in_mesh = true,
            ("vertex", Some((_, object))) if self.in_mesh => object.points.push(vertex(tag)?),
            ("triangle", Some((_, object))) if self.in_mesh => {
                object.triangles.push(triangle(tag)?);
            }
            ("component", Some((_, object))) => object.components.push(placement(tag)?),
            ("build", None) => self.in_build = true,
            ("item", None) if self.in_build => self.model.build.push(placement(tag)?),
            _ => {}
        }
        Ok(())
    }

    fn close(&mut self, name: &str) -> Result<(), String> {
        if self.passed > 0 {
            self.passed -= 1;
            return Ok(());
        }
        match name {
            "mesh" => self.in_mesh = false,
            "build" => self.in_build = false,
            "object" => {
                if let Some((id, object)) = self.object.take() {
                    check_numbers(id, &object)?;
                    if self.model.objects.insert(id, object).is_some() {
                        return Err(format!("two objects with the number {id}"));
                    }
                }
            }
            _ => {}
        }
        Ok(())
    }
}

/// The tags inside of a mesh that count; all others there belong to extensions, with all that is in them.
const MESH_TAGS: [&str; 4] = ["vertices", "vertex", "triangles", "triangle"];

fn check_numbers(id: u64, object: &Object) -> Result<(), String> {
    let known = object.points.len();
    for (number, triangle) in (1_u64..).zip(&object.triangles) {
        if let Some(vertex) = triangle.iter().find(|&&vertex| vertex as usize >= known) {
            return Err(format!(
                "triangle {number} of object {id} names vertex {vertex}, but there are {known}, numbered from 0"
            ));
        }
    }
    Ok(())
}

fn unit(name: Option<&str>) -> Result<f64, String> {
    let Some(name) = name else {
        return Ok(MeshUnit::Mm.mm());
    };
    let known = MeshUnit::ALL.into_iter().find(|unit| unit.name_in_3mf() == name);
    known.map(MeshUnit::mm).ok_or_else(|| {
        format!(
            "unit `{}`, expected micron, millimeter, centimeter, inch, foot or meter",
            super::text::shown(name.as_bytes())
        )
    })
}

fn object(tag: &BytesStart<'_>) -> Result<(u64, Object), String> {
    let id = whole(tag, "id")?;
    let kind = attribute(tag, "type")?;
    let object =
        Object { is_model: matches!(kind.as_deref(), None | Some("model")), ..Object::default() };
    Ok((id, object))
}

fn placement(tag: &BytesStart<'_>) -> Result<Placement, String> {
    Ok(Placement {
        part: attribute(tag, "path")?.map(|path| part_name(&path)),
        object: whole(tag, "objectid")?,
        transform: match attribute(tag, "transform")? {
            None => Transform::NONE,
            Some(text) => transform(&text)?,
        },
    })
}

fn transform(text: &str) -> Result<Transform, String> {
    let wrong = || {
        format!(
            "transform `{}`, expected twelve finite numbers",
            super::text::shown(text.as_bytes())
        )
    };
    let numbers: Vec<f64> = text
        .split_ascii_whitespace()
        .map(|word| super::text::number(word.as_bytes()))
        .collect::<Option<_>>()
        .ok_or_else(wrong)?;
    match numbers.as_chunks() {
        ([i, j, k, shift], []) => Ok(Transform([*i, *j, *k, *shift])),
        _ => Err(wrong()),
    }
}

/// A vertex, by far the most frequent tag: its three attributes in one pass.
fn vertex(tag: &BytesStart<'_>) -> Result<Point, String> {
    let found = three(tag, ["x", "y", "z"], |text| super::text::number(text.as_bytes()))?;
    found.ok_or_else(|| "a vertex without three finite coordinates".to_owned())
}

fn triangle(tag: &BytesStart<'_>) -> Result<[u32; 3], String> {
    let found = three(tag, ["v1", "v2", "v3"], |text| text.parse().ok())?;
    found.ok_or_else(|| "a triangle without three vertex numbers".to_owned())
}

fn three<T: Copy>(
    tag: &BytesStart<'_>,
    names: [&str; 3],
    read: impl Fn(&str) -> Option<T>,
) -> Result<Option<[T; 3]>, String> {
    let mut found = [None; 3];
    for attribute in tag.attributes().with_checks(false) {
        let attribute = attribute.map_err(|error| error.to_string())?;
        if let Some(place) = names.iter().position(|name| attribute.key.as_ref() == *name) {
            found[place] = read(attribute.value.trim());
        }
    }
    let [Some(a), Some(b), Some(c)] = found else {
        return Ok(None);
    };
    Ok(Some([a, b, c]))
}

fn whole(tag: &BytesStart<'_>, name: &str) -> Result<u64, String> {
    let text = attribute(tag, name)?.unwrap_or_default();
    text.parse().map_err(|_| {
        format!("`{name}` is `{}`, expected a whole number", super::text::shown(text.as_bytes()))
    })
}
