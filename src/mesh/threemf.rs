//! 3MF: an archive goes in; a mesh of everything in its build, in the model's unit, comes out.
//!
//! Every item of the build is placed by its transform, through components of any depth; each placed mesh is welded by itself, so that
//! solids that touch stay apart. A transform that mirrors turns the triangles' order too, so that outside stays outside. Supports and
//! bare surfaces are left out and counted. Objects that contain themselves are refused, and the number of placed objects and
//! triangles is limited: a few lines of components can name billions.

use std::collections::BTreeMap;

use super::source::MAX_FILE_BYTES;
use super::threemf_model::{Model, ModelReader, Object, Placement, Transform};
use super::threemf_parts::{Archive, MAX_INFLATED_BYTES, MAX_PLACED};
use super::{Mesh, MeshError, Source, Welder};

/// As many triangles as the largest STL holds.
const MOST_TRIANGLES: u64 = MAX_FILE_BYTES / 50;

/// How deep components may be nested.
const MOST_LEVELS: usize = 100;

/// Reads a 3MF.
///
/// # Errors
/// When it is not a zip archive, a part is missing or not well-formed, an object is missing or contains itself, a limit is passed,
/// or nothing is to be built.
pub(super) fn read(source: &Source<'_>) -> Result<Mesh, MeshError> {
    read_within(source, MAX_INFLATED_BYTES)
}

/// As [`read`], inflating at most `limit` bytes.
fn read_within(source: &Source<'_>, limit: u64) -> Result<Mesh, MeshError> {
    let mut archive = Archive::open(source, limit)?;
    let root = archive.root()?;
    let parts = load(&mut archive, &root)?;
    let mut build = Build {
        parts: &parts,
        welder: Welder::default(),
        open: Vec::new(),
        placed: 0,
        triangles: 0,
        left_out: 0,
    };
    let model = part(&parts, &root)?;
    for item in &model.build {
        build.place(&root, item, &Transform::NONE)?;
    }
    let left_out = build.left_out;
    let mut mesh = build.welder.finish()?;
    mesh.unit_mm = Some(model.unit_mm);
    mesh.left_out = left_out;
    Ok(mesh)
}

type Parts = BTreeMap<String, Model>;

/// The root model and all model parts it names. All are read once, whatever names them.
fn load(archive: &mut Archive<'_>, root: &str) -> Result<Parts, MeshError> {
    let mut parts = Parts::new();
    let mut wanted = vec![root.to_owned()];
    while let Some(name) = wanted.pop() {
        if parts.contains_key(&name) {
            continue;
        }
        let mut reader = ModelReader::default();
        archive.walk(&name, &mut |tag, _| reader.tag(tag))?;
        let model = reader.finish();
        let components = model.objects.values().flat_map(|object| &object.components);
        wanted
            .extend(components.chain(&model.build).filter_map(|placement| placement.part.clone()));
        parts.insert(name, model);
    }
    Ok(parts)
}

fn part<'p>(parts: &'p Parts, name: &str) -> Result<&'p Model, MeshError> {
    parts.get(name).ok_or_else(|| MeshError::MissingPart(name.to_owned()))
}

/// Puts the build together.
struct Build<'p> {
    parts: &'p Parts,
    welder: Welder,
    /// The objects being placed, outermost first.
    open: Vec<(&'p str, u64)>,
    placed: u64,
    triangles: u64,
    left_out: u64,
}

impl<'p> Build<'p> {
    fn place(
        &mut self,
        here: &'p str,
        item: &'p Placement,
        outer: &Transform,
    ) -> Result<(), MeshError> {
        let name = item.part.as_deref().unwrap_or(here);
        let object = part(self.parts, name)?.objects.get(&item.object);
        let object = object.ok_or(MeshError::UnknownObject { id: item.object })?;
        if self.open.contains(&(name, item.object)) {
            return Err(MeshError::Recursive { id: item.object });
        }
        self.count(object)?;
        if !object.is_model {
            self.left_out += 1;
            return Ok(());
        }
        let transform = item.transform.then(outer);
        self.add(object, &transform)?;
        self.open.push((name, item.object));
        for component in &object.components {
            self.place(name, component, &transform)?;
        }
        self.open.pop();
        Ok(())
    }

    fn count(&mut self, object: &Object) -> Result<(), MeshError> {
        self.placed += 1;
        self.triangles += object.triangles.len() as u64;
        let levels = self.open.len() as u64 + 1;
        for (what, found, limit) in [
            ("placed objects", self.placed, MAX_PLACED),
            ("triangles", self.triangles, MOST_TRIANGLES),
            ("levels of components", levels, MOST_LEVELS as u64),
        ] {
            if found > limit {
                return Err(MeshError::TooLarge { what, found, limit });
            }
        }
        Ok(())
    }

    fn add(&mut self, object: &Object, transform: &Transform) -> Result<(), MeshError> {
        if object.triangles.is_empty() {
            return Ok(());
        }
        self.welder.next_body();
        let mirrors = transform.determinant() < 0.0;
        let mut vertices = Vec::with_capacity(object.points.len());
        for point in &object.points {
            let corner = transform.apply(point);
            if !corner.iter().all(|x| x.is_finite()) {
                return Err(MeshError::Overflow);
            }
            vertices.push(self.welder.vertex(&corner)?);
        }
        for triangle in &object.triangles {
            let [a, b, c] = triangle.map(|vertex| vertices[vertex as usize]);
            self.welder.add_indexed(if mirrors { [a, c, b] } else { [a, b, c] });
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use std::io::{Cursor, Write};

    use proptest::prelude::*;
    use zip::write::{SimpleFileOptions, ZipWriter};

    use super::super::check;
    use super::*;

    const RELS: &str = r#"<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">
        <Relationship Id="r" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel" Target="/3D/a.model"/></Relationships>"#;

    /// A tetrahedron of volume 1/6 as object `id`.
    fn tetrahedron(id: u64, more: &str) -> String {
        format!(
            r#"<object id="{id}" {more}><mesh><vertices><vertex x="0" y="0" z="0"/><vertex x="1" y="0" z="0"/>
            <vertex x="0" y="1" z="0"/><vertex x="0" y="0" z="1"/></vertices><triangles><triangle v1="0" v2="2" v3="1"/>
            <triangle v1="0" v2="1" v3="3"/><triangle v1="0" v2="3" v3="2"/><triangle v1="1" v2="2" v3="3"/></triangles></mesh></object>"#
        )
    }

    fn model(unit: &str, objects: &str, build: &str) -> String {
        format!(
            r#"<?xml version="1.0" encoding="UTF-8"?><model {unit} xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">
            <resources>{objects}</resources><build>{build}</build></model>"#
        )
    }

    fn archive(parts: &[(&str, &str)]) -> Vec<u8> {
        let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
        for (name, text) in parts {
            zip.start_file(*name, SimpleFileOptions::default()).unwrap();
            zip.write_all(text.as_bytes()).unwrap();
        }
        zip.finish().unwrap().into_inner()
    }

    fn read_parts(parts: &[(&str, &str)]) -> Result<Mesh, MeshError> {
        read(&Source::Bytes(&archive(parts)))
    }

    fn read_model(unit: &str, objects: &str, build: &str) -> Result<Mesh, MeshError> {
        read_parts(&[("_rels/.rels", RELS), ("3D/a.model", &model(unit, objects, build))])
    }

    #[test]
    fn units_are_stated_and_millimetres_unless_told() {
        for (unit, mm) in [
            ("", 1.0),
            ("unit=\"micron\"", 0.001),
            ("unit=\"inch\"", 25.4),
            ("unit=\"foot\"", 304.8),
            ("unit=\"meter\"", 1000.0),
        ] {
            let mesh = read_model(unit, &tetrahedron(1, ""), "<item objectid=\"1\"/>").unwrap();
            assert_eq!(mesh.unit_mm(), Some(mm));
        }
        let wrong = read_model("unit=\"yard\"", "", "").unwrap_err();
        assert!(wrong.to_string().contains("`yard`"), "{wrong}");
    }

    #[test]
    fn items_and_components_are_placed_by_their_transforms() {
        let objects = format!(
            "{}<object id=\"2\"><components><component objectid=\"1\" transform=\"2 0 0 0 2 0 0 0 2 10 0 0\"/>\
            <component objectid=\"1\"/></components></object>",
            tetrahedron(1, "")
        );
        let build =
            "<item objectid=\"2\" transform=\"0 1 0 -1 0 0 0 0 1 0 0 5\"/><item objectid=\"1\"/>";
        let mesh = read_model("", &objects, build).unwrap();
        let found = check(&mesh).unwrap();
        // Twice the size is eight times the volume; a quarter turn about z takes x to y.
        assert!((found.volume().unwrap() - 10.0 / 6.0).abs() < 1e-12);
        assert_eq!(found.measure.bounds.max.map(f64::to_bits), [1.0, 12.0, 7.0].map(f64::to_bits));
        assert_eq!(found.shells.len(), 3);
    }

    #[test]
    fn a_mirroring_transform_keeps_the_outside_outside() {
        let build = "<item objectid=\"1\" transform=\"-1 0 0 0 1 0 0 0 1 0 0 0\"/>";
        let found = check(&read_model("", &tetrahedron(1, ""), build).unwrap()).unwrap();
        assert!(!found.inverted);
        assert!((found.volume().unwrap() - 1.0 / 6.0).abs() < 1e-15);
    }

    #[test]
    fn solids_that_touch_stay_apart_and_supports_are_left_out() {
        let objects =
            tetrahedron(1, "") + &tetrahedron(2, "") + &tetrahedron(3, "type=\"support\"");
        let build = "<item objectid=\"1\"/><item objectid=\"2\"/><item objectid=\"3\"/>";
        let mesh = read_model("", &objects, build).unwrap();
        assert_eq!((mesh.left_out(), mesh.triangles().len()), (1, 8));
        let found = check(&mesh).unwrap();
        assert!(found.edges.closed() && found.may_overlap);
        assert_eq!(read_model("", &objects, "<item objectid=\"3\"/>"), Err(MeshError::Empty));
        assert_eq!(read_model("", &objects, ""), Err(MeshError::Empty));
    }

    #[test]
    fn another_model_part_is_read_where_it_is_named() {
        let root = model(
            "",
            "<object id=\"1\"><components><component objectid=\"7\" p:path=\"/3D/b.model\"/></components></object>",
            "<item objectid=\"1\"/>",
        );
        let other = model("", &tetrahedron(7, ""), "");
        let found =
            read_parts(&[("_rels/.rels", RELS), ("3D/a.model", &root), ("3D/b.model", &other)]);
        assert_eq!(found.unwrap().triangles().len(), 4);
        let missing = read_parts(&[("_rels/.rels", RELS), ("3D/a.model", &root)]);
        assert_eq!(missing, Err(MeshError::MissingPart("3D/b.model".to_owned())));
    }

    #[test]
    fn tags_of_extensions_are_passed_over() {
        let slices = "<s:slicestack id=\"9\"><s:slice><s:vertices><s:vertex x=\"0\" y=\"0\"/></s:vertices></s:slice></s:slicestack>";
        let lattice = "</triangles><b:beamlattice><b:triangle v1=\"0\"/></b:beamlattice></mesh>";
        let objects =
            slices.to_owned() + &tetrahedron(1, "").replace("</triangles></mesh>", lattice);
        let mesh = read_model("", &objects, "<item objectid=\"1\"/>").unwrap();
        assert_eq!(mesh.triangles().len(), 4);
    }

    #[test]
    fn an_object_that_contains_itself_is_refused() {
        let components = |id, of| {
            format!(
                "<object id=\"{id}\"><components><component objectid=\"{of}\"/></components></object>"
            )
        };
        let found =
            read_model("", &(components(1, 2) + &components(2, 1)), "<item objectid=\"1\"/>");
        assert_eq!(found, Err(MeshError::Recursive { id: 1 }));
        let missing = read_model("", &components(1, 2), "<item objectid=\"1\"/>");
        assert_eq!(missing, Err(MeshError::UnknownObject { id: 2 }));
    }

    #[test]
    fn components_that_double_at_every_level_are_refused() {
        let double = |id: u64| {
            let one = format!("<component objectid=\"{}\"/>", id - 1);
            format!("<object id=\"{id}\"><components>{one}{one}</components></object>")
        };
        let objects: String = (2..=40).map(double).collect();
        let found = read_model("", &(tetrahedron(1, "") + &objects), "<item objectid=\"40\"/>");
        assert!(
            matches!(found, Err(MeshError::TooLarge { what: "placed objects", .. })),
            "{found:?}"
        );
        let chain: String = (2..=200)
            .map(|id| format!("<object id=\"{id}\"><components><component objectid=\"{}\"/></components></object>", id - 1))
            .collect();
        let found = read_model("", &(tetrahedron(1, "") + &chain), "<item objectid=\"200\"/>");
        assert!(
            matches!(found, Err(MeshError::TooLarge { what: "levels of components", .. })),
            "{found:?}"
        );
    }

    #[test]
    fn what_is_no_zip_or_lacks_its_model_is_refused() {
        assert!(matches!(read(&Source::Bytes(b"solid")), Err(MeshError::BadZip(_))));
        assert_eq!(read(&Source::Bytes(b"")), Err(MeshError::Empty));
        assert!(matches!(read_parts(&[("a", "")]), Err(MeshError::MissingPart(_))));
        assert!(matches!(read_parts(&[("_rels/.rels", RELS)]), Err(MeshError::MissingPart(_))));
        let whole =
            archive(&[("_rels/.rels", RELS), ("3D/a.model", &model("", &tetrahedron(1, ""), ""))]);
        assert!(matches!(
            read(&Source::Bytes(&whole[..whole.len() - 30])),
            Err(MeshError::BadZip(_))
        ));
    }

    #[test]
    fn bad_numbers_vertices_and_ends_are_refused() {
        let good = tetrahedron(1, "");
        for (from, to) in [
            ("x=\"1\"", "x=\"NaN\""),
            ("x=\"1\"", "x=\"1e999\""),
            ("x=\"1\"", ""),
            ("v3=\"3\"", "v3=\"4\""),
            ("v3=\"3\"", "v3=\"-1\""),
            ("id=\"1\"", ""),
            ("</mesh>", ""),
        ] {
            let found = read_model("", &good.replacen(from, to, 1), "<item objectid=\"1\"/>");
            assert!(matches!(found, Err(MeshError::Xml { .. })), "{from} -> {to}: {found:?}");
        }
        for transform in ["1 0 0", "1 0 0 0 1 0 0 0 1 0 0 inf", "1 0 0 0 1 0 0 0 1 0 0 0 0"] {
            let found =
                read_model("", &good, &format!("<item objectid=\"1\" transform=\"{transform}\"/>"));
            assert!(matches!(found, Err(MeshError::Xml { .. })), "{transform}: {found:?}");
        }
        let cut = read_parts(&[("_rels/.rels", RELS), ("3D/a.model", "<model><resources>")]);
        assert!(matches!(cut, Err(MeshError::Xml { .. })), "{cut:?}");
    }

    #[test]
    fn a_long_tag_is_refused_instead_of_kept_in_memory() {
        let long = format!("<!--{}-->", " ".repeat(1 << 20));
        let found = read_model("", &(long + &tetrahedron(1, "")), "<item objectid=\"1\"/>");
        assert!(matches!(found, Err(MeshError::Xml { .. })), "{found:?}");
    }

    #[test]
    fn an_archive_that_inflates_to_more_than_the_limit_is_refused() {
        let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
        zip.start_file("_rels/.rels", SimpleFileOptions::default()).unwrap();
        zip.write_all(RELS.as_bytes()).unwrap();
        zip.start_file("3D/a.model", SimpleFileOptions::default()).unwrap();
        // Tags that say nothing, of which a thousand take the room of one.
        let block = "<a/>".repeat(1 << 18);
        for _ in 0..8 {
            zip.write_all(block.as_bytes()).unwrap();
        }
        let bomb = zip.finish().unwrap().into_inner();
        assert!(bomb.len() < 100_000, "{}", bomb.len());
        let found = read_within(&Source::Bytes(&bomb), 1 << 22);
        let expected =
            MeshError::TooLarge { what: "inflated bytes", found: (1 << 22) + 1, limit: 1 << 22 };
        assert_eq!(found, Err(expected));
    }

    #[test]
    fn the_limit_holds_over_all_parts_together() {
        let root = model(
            "",
            "<object id=\"1\"><components><component objectid=\"7\" p:path=\"/3D/b.model\"/></components></object>",
            "<item objectid=\"1\"/>",
        );
        let other = model("", &tetrahedron(7, ""), "");
        let parts =
            [("_rels/.rels", RELS), ("3D/a.model", root.as_str()), ("3D/b.model", other.as_str())];
        let all: u64 = parts.iter().map(|(_, text)| text.len() as u64).sum();
        let file = archive(&parts);
        assert!(read_within(&Source::Bytes(&file), all + 1).is_ok());
        assert!(matches!(
            read_within(&Source::Bytes(&file), all - 1),
            Err(MeshError::TooLarge { .. })
        ));
    }
    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(256) })]

        #[test]
        fn a_changed_archive_or_model_never_panics(
            changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..6),
            outside in any::<bool>(),
        ) {
            let change = |bytes: &mut [u8]| {
                for (at, byte) in &changes {
                    let at = at.index(bytes.len());
                    bytes[at] = *byte;
                }
            };
            let mut text = model("", &tetrahedron(1, ""), "<item objectid=\"1\" transform=\"1 0 0 0 1 0 0 0 1 5 5 5\"/>").into_bytes();
            if !outside {
                change(&mut text);
            }
            let mut file = archive(&[("_rels/.rels", RELS), ("3D/a.model", &String::from_utf8_lossy(&text))]);
            if outside {
                change(&mut file);
            }
            let _ = read(&Source::Bytes(&file)).and_then(|mesh| check(&mesh));
        }
    }
}
