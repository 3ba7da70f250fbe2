//! Meshes of parts: what is measured, in which unit, what is refused and what is warned of.

use std::fmt::Write as _;
use std::io::Write as _;

use super::*;
use crate::diag::Severity;
use crate::model::Volume;

/// The faces of a box as seen from outside, by corner: bit 0 is x, bit 1 y, bit 2 z.
const FACES: [[usize; 3]; 12] = [
    [0, 2, 3],
    [0, 3, 1],
    [4, 5, 7],
    [4, 7, 6],
    [0, 1, 5],
    [0, 5, 4],
    [2, 6, 7],
    [2, 7, 3],
    [0, 4, 6],
    [0, 6, 2],
    [1, 3, 7],
    [1, 7, 5],
];

fn corner(size: [f32; 3], i: usize) -> [f32; 3] {
    [0, 1, 2].map(|axis| if i >> axis & 1 == 0 { 0.0 } else { size[axis] })
}

/// A box as a text STL, its first `faces` triangles; inside out where told.
fn ascii(size: [f32; 3], faces: usize, inverted: bool) -> Vec<u8> {
    let mut text = "solid box\n".to_owned();
    for mut face in FACES.into_iter().take(faces) {
        if inverted {
            face.swap(1, 2);
        }
        text += "facet normal 0 0 0\nouter loop\n";
        for [x, y, z] in face.map(|i| corner(size, i)) {
            writeln!(text, "vertex {x} {y} {z}").unwrap();
        }
        text += "endloop\nendfacet\n";
    }
    (text + "endsolid box\n").into_bytes()
}

fn binary(size: [f32; 3]) -> Vec<u8> {
    let mut file = vec![0; 80];
    file.extend(12_u32.to_le_bytes());
    for face in FACES {
        file.extend([0; 12]);
        file.extend(face.into_iter().flat_map(|i| corner(size, i)).flat_map(f32::to_le_bytes));
        file.extend([0; 2]);
    }
    file
}

fn obj(size: [f32; 3]) -> Vec<u8> {
    let mut text = String::new();
    for [x, y, z] in (0..8).map(|i| corner(size, i)) {
        writeln!(text, "v {x} {y} {z}").unwrap();
    }
    for [a, b, c] in FACES {
        writeln!(text, "f {} {} {}", a + 1, b + 1, c + 1).unwrap();
    }
    text.into_bytes()
}

/// A box as the least 3MF: the model, its relation and the content types.
fn threemf(size: [f32; 3], unit: &str) -> Vec<u8> {
    let vertices: String = (0..8)
        .map(|i| corner(size, i))
        .map(|[x, y, z]| format!("<vertex x=\"{x}\" y=\"{y}\" z=\"{z}\"/>"))
        .collect();
    let triangles: String =
        FACES.map(|[a, b, c]| format!("<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"/>")).concat();
    let model = format!(
        "<model unit=\"{unit}\" xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\"><resources><object id=\"1\" type=\"model\"><mesh><vertices>{vertices}</vertices><triangles>{triangles}</triangles></mesh></object></resources><build><item objectid=\"1\"/></build></model>"
    );
    let relation = "<Relationships xmlns=\"http://schemas.openxmlformats.org/package/2006/relationships\"><Relationship Target=\"/3D/a.model\" Id=\"r\" Type=\"http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel\"/></Relationships>";
    let mut archive = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, text) in [("_rels/.rels", relation), ("3D/a.model", &model)] {
        archive.start_file(name, zip::write::SimpleFileOptions::default()).unwrap();
        archive.write_all(text.as_bytes()).unwrap();
    }
    archive.finish().unwrap().into_inner()
}

/// The first scenario with a mesh in the place of the volume, and a printer that needs no more.
fn with_mesh(keys: &str, file: &str, bytes: &[u8]) -> Loaded {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("parts")).unwrap();
    fs::write(folder.path().join("parts").join(file), bytes).unwrap();
    let keys = format!("mesh = \"parts/{file}\"\n{keys}");
    let text = changed(TEN, &[("volume   = \"92 cm3\"", &keys)]);
    fs::write(folder.path().join("scenario.toml"), text).unwrap();
    load(folder.path(), &Overrides::default())
}

/// Volume, area and box of the part.
fn figures(scenario: &Scenario) -> [String; 5] {
    ["volume", "area", "box.x", "box.y", "box.z"].map(|key| {
        let [low, likely, high] = at(scenario, &format!("part[sensor collar].{key}"));
        assert_eq!((&low, &high), (&likely, &likely), "certain");
        likely
    })
}

const SIZE: [f32; 3] = [50.0, 40.0, 20.5];

#[test]
fn every_format_gives_the_same_figures() {
    // 50 x 40 x 20.5 mm: 41,000 mm3; 2 (2,000 + 820 + 1,025) = 7,690 mm2.
    let expected = ["41", "76.9", "50", "40", "20.5"];
    for (file, bytes) in [
        ("a.stl", ascii(SIZE, 12, false)),
        ("b.STL", binary(SIZE)),
        ("c.obj", obj(SIZE)),
        ("d.3mf", threemf(SIZE, "millimeter")),
    ] {
        let loaded = with_mesh("", file, &bytes);
        assert!(loaded.files.iter().any(|f| f.ends_with(file)), "{file}");
        assert!(loaded.log.found.is_empty(), "{:?}", findings(&loaded));
        let scenario = good(loaded);
        assert_eq!(figures(&scenario), expected, "{file}");
        let part = &scenario.parts[0];
        assert!(part.mesh.is_some() && matches!(part.volume, Some(Volume::Stated(_))));
        let area = scenario.slots.get(part.area.unwrap());
        assert!(!area.assumed);
        assert_eq!(scenario.sources[area.source.0 as usize], file);
    }
}

#[test]
fn a_unit_is_stated_or_in_the_file() {
    // In inches: 41,000 x 16.387064 mL; 7,690 x 6.4516 cm2; 50, 40, 20.5 x 25.4 mm.
    let inches = ["671869.624", "49612.804", "1270", "1016", "520.7"];
    let stated = good(with_mesh("mesh_unit = \"in\"", "a.stl", &binary(SIZE)));
    assert_eq!(figures(&stated), inches);
    for keys in ["", "mesh_unit = \"in\""] {
        let own = good(with_mesh(keys, "a.3mf", &threemf(SIZE, "inch")));
        assert_eq!(figures(&own), inches);
    }
    let small = good(with_mesh("mesh_unit = \"cm\"", "a.stl", &binary([5.0, 4.0, 2.05])));
    assert_eq!(figures(&small)[2..], ["50", "40", "20.5"]);
    let against = with_mesh("mesh_unit = \"mm\"", "a.3mf", &threemf(SIZE, "inch"));
    assert_eq!(codes(&against), [Code::ConflictingGeometry]);
    let word = with_mesh("mesh_unit = \"mn\"", "a.stl", &binary(SIZE));
    assert_eq!(codes(&word), [Code::UnknownUnit]);
}

/// The only finding, which is a warning of this kind.
fn warned(loaded: &Loaded, code: Code) -> String {
    let found = &loaded.log.found;
    assert_eq!(codes(loaded), [code], "{:?}", findings(loaded));
    assert_eq!(found[0].severity, Severity::Warning);
    assert!(found[0].hint.is_some());
    found[0].message.clone()
}

#[test]
fn a_box_of_an_odd_size_warns_of_the_unit() {
    for (keys, size) in [("", [0.5, 0.4, 0.9]), ("mesh_unit = \"m\"", [2.1, 0.1, 0.1])] {
        let loaded = with_mesh(keys, "a.stl", &binary(size));
        assert!(warned(&loaded, Code::MeshDoubtful).contains("the unit may be wrong"));
    }
    // Thin, but not small; and exactly at the ends.
    for size in [[50.0, 40.0, 0.3], [1.0, 0.5, 0.5], [2000.0, 9.0, 9.0]] {
        assert!(with_mesh("", "a.stl", &binary(size)).log.found.is_empty());
    }
}

#[test]
fn what_is_measured_wins_over_what_is_stated() {
    let near = "volume = { low = \"30 cm3\", likely = \"41.8 cm3\", high = \"50 cm3\" }\narea = \"76 cm2\"\nbox = \"50 x 40 x 20.2 mm\"";
    let loaded = with_mesh(near, "a.stl", &binary(SIZE));
    assert!(loaded.log.found.is_empty(), "{:?}", findings(&loaded));
    assert_eq!(figures(&good(loaded)), ["41", "76.9", "50", "40", "20.5"]);
    // 2 % of 41 mL are 0.82: 41.82 is not above it, 41.83 is.
    assert!(with_mesh("volume = \"41.82 mL\"", "a.stl", &binary(SIZE)).log.found.is_empty());
    let loaded = with_mesh("volume = \"41.83 mL\"", "a.stl", &binary(SIZE));
    assert!(warned(&loaded, Code::MeshDoubtful).contains("stated as 41.83 mL"));
    assert_eq!(figures(&good(loaded))[0], "41");
    let fill = with_mesh("box = \"50 x 40 x 20.5 mm\"\nfill = \"solid\"", "a.stl", &binary(SIZE));
    assert_eq!(codes(&fill), [Code::ConflictingGeometry]);
}

#[test]
fn a_mesh_that_is_not_closed_needs_a_stated_volume() {
    let open = ascii(SIZE, 11, false);
    let refused = with_mesh("", "a.stl", &open);
    assert_eq!(codes(&refused), [Code::MeshNotSolid]);
    assert!(refused.log.found[0].message.contains("3 open and 0 non-manifold"));
    let loaded = with_mesh("volume = \"40 mL\"", "a.stl", &open);
    assert!(warned(&loaded, Code::MeshNotSolid).contains("the stated `volume` counts"));
    let scenario = good(loaded);
    // The last triangle is half a side of 40 x 20.5 mm: 4.1 of 76.9 cm2.
    assert_eq!(figures(&scenario), ["40", "72.8", "50", "40", "20.5"]);
    assert!(scenario.parts[0].mesh.is_none());
}

#[test]
fn a_mesh_inside_out_and_shells_that_may_overlap_are_told() {
    let loaded = with_mesh("", "a.stl", &ascii(SIZE, 12, true));
    assert!(warned(&loaded, Code::MeshDoubtful).contains("inside out"));
    assert_eq!(figures(&good(loaded))[0], "41");
    let mut two = ascii(SIZE, 12, false);
    two.extend(ascii([60.0, 10.0, 10.0], 12, false));
    let loaded = with_mesh("", "a.stl", &two);
    assert!(warned(&loaded, Code::MeshDoubtful).contains("may overlap"));
    assert_eq!(figures(&good(loaded))[0], "47");
}

#[test]
fn what_is_no_part_is_refused() {
    for size in [[1e7, 1.0, 1.0], [3e6, 3e6, 3e6], [1e-3, 1e-3, 1e-3], [1e-7, 1.0, 1.0]] {
        let loaded = with_mesh("mesh_unit = \"mm\"", "a.stl", &binary(size));
        assert!(loaded.scenario.is_none(), "{size:?}");
    }
    let flat = with_mesh("volume = \"1 mL\"", "a.stl", &binary([10.0, 10.0, 0.0]));
    assert_eq!(codes(&flat), [Code::NotAboveZero]);
    let cut = &binary(SIZE)[..400];
    assert_eq!(codes(&with_mesh("", "a.stl", cut)), [Code::MeshUnreadable]);
    assert_eq!(codes(&with_mesh("", "a.3mf", b"no archive")), [Code::MeshUnreadable]);
    assert_eq!(codes(&with_mesh("", "a.step", b"x")), [Code::MeshUnreadable]);
    assert_eq!(codes(&with_mesh("", "a.obj", b"v 0 0 0\n")), [Code::MeshUnreadable]);
}

#[test]
fn one_mesh_for_two_parts_is_read_once() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("a.stl"), binary(SIZE)).unwrap();
    let other =
        "mesh = \"a.stl\"\n[[part]]\nname = \"other\"\nmesh = \"a.stl\"\nmesh_unit = \"cm\"";
    let text = changed(TEN, &[("volume   = \"92 cm3\"", other)]);
    fs::write(folder.path().join("scenario.toml"), text).unwrap();
    let scenario = good(load(folder.path(), &Overrides::default()));
    let meshes: Vec<&crate::model::Solid> =
        scenario.parts.iter().filter_map(|p| p.mesh.as_ref()).collect();
    assert_eq!(meshes.len(), 2);
    assert!(std::ptr::eq(meshes[0].mesh(), meshes[1].mesh()));
    assert_eq!(
        [meshes[0].unit_mm(), meshes[1].unit_mm()].map(f64::to_bits),
        [10.0, 1.0].map(f64::to_bits)
    );
}
