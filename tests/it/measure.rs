//! `measure`: figures of small meshes by hand, as text and JSON; what files that cannot be trusted or read get.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use flipcount::analysis::{MeasureAsk, measure_mesh};
use flipcount::mesh::Up;
use flipcount::report::{measure_view, terminal};
use serde_json::{Value, json};

use crate::commands::run;

type Corner = [f64; 3];

/// A box of twelve triangles wound outwards.
fn cuboid(min: Corner, max: Corner) -> Vec<[Corner; 3]> {
    let corner = |i: usize| [0, 1, 2].map(|axis| if i >> axis & 1 == 0 { min } else { max }[axis]);
    let sides =
        [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    sides
        .iter()
        .flat_map(|&[a, b, c, d]| [[a, b, c], [a, c, d]])
        .map(|triangle| triangle.map(corner))
        .collect()
}

fn stl(triangles: &[[Corner; 3]]) -> String {
    let mut text = "solid part\n".to_owned();
    for triangle in triangles {
        text.push_str("facet normal 0 0 0\nouter loop\n");
        for [x, y, z] in triangle {
            let _ = writeln!(text, "vertex {x} {y} {z}");
        }
        text.push_str("endloop\nendfacet\n");
    }
    text + "endsolid part\n"
}

fn obj(triangles: &[[Corner; 3]]) -> String {
    let mut text = String::new();
    for [x, y, z] in triangles.as_flattened() {
        let _ = writeln!(text, "v {x} {y} {z}");
    }
    for face in 0..triangles.len() {
        let first = 3 * face + 1;
        let _ = writeln!(text, "f {first} {} {}", first + 1, first + 2);
    }
    text
}

/// A 3MF in inches that holds one tetrahedron with legs of 1 in.
fn threemf(path: &Path) {
    const MODEL: &str = r#"<?xml version="1.0"?>
<model unit="inch" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"><resources><object id="1"><mesh>
<vertices><vertex x="0" y="0" z="0"/><vertex x="1" y="0" z="0"/><vertex x="0" y="1" z="0"/><vertex x="0" y="0" z="1"/></vertices>
<triangles><triangle v1="0" v2="2" v3="1"/><triangle v1="0" v2="1" v3="3"/><triangle v1="0" v2="3" v3="2"/><triangle v1="1" v2="2" v3="3"/></triangles>
</mesh></object></resources><build><item objectid="1"/></build></model>"#;
    const RELATIONS: &str = r#"<?xml version="1.0"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r" Target="/3D/3dmodel.model"
 Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>"#;
    let mut zip = zip::ZipWriter::new(fs::File::create(path).expect("a file"));
    for (name, text) in [("_rels/.rels", RELATIONS), ("3D/3dmodel.model", MODEL)] {
        zip.start_file(name, zip::write::SimpleFileOptions::default()).expect("a part");
        std::io::Write::write_all(&mut zip, text.as_bytes()).expect("its text");
    }
    zip.finish().expect("an archive");
}

/// A folder of meshes: whole, open, turned, hollow, two that overlap, in inches, and no meshes at all.
fn meshes() -> tempfile::TempDir {
    let home = tempfile::tempdir().expect("a folder");
    let turned = |t: Vec<[Corner; 3]>| -> Vec<[Corner; 3]> {
        t.iter().map(|&[a, b, c]| [a, c, b]).collect()
    };
    let block = cuboid([0.0; 3], [80.0, 40.0, 20.0]);
    let mut hollow = block.clone();
    hollow.extend(turned(cuboid([10.0; 3], [70.0, 30.0, 15.0])));
    let mut both = block.clone();
    both.extend(cuboid([40.0, 0.0, 0.0], [100.0, 40.0, 20.0]));
    let mut mixed = block.clone();
    mixed[0].swap(0, 1);
    mixed.push([[0.0; 3], [0.0; 3], [80.0, 40.0, 20.0]]);
    for (name, text) in [
        ("block.stl", stl(&block)),
        ("open.stl", stl(&block[1..])),
        ("turned.obj", obj(&turned(block))),
        ("hollow.stl", stl(&hollow)),
        ("both.stl", stl(&both)),
        ("mixed.stl", stl(&mixed)),
        ("cut.stl", "solid part\nfacet normal 0 0 0\nouter loop\nvertex 1 2\n".to_owned()),
        ("part.step", "ISO-10303-21;".to_owned()),
    ] {
        fs::write(home.path().join(name), text).expect("a mesh is written");
    }
    threemf(&home.path().join("inch.3mf"));
    home
}

fn measured(args: &[&str], home: &Path) -> Value {
    let (code, out, error) = run(&[&["measure", "--json"], args].concat(), home);
    assert_eq!(code, 0, "{error}");
    serde_json::from_str(&out).expect("JSON")
}

fn near(found: &Value, expected: f64) {
    let found = found.as_f64().expect("a number");
    assert!((found - expected).abs() <= 1e-12 * expected.abs(), "{found}, not {expected}");
}

const ALL: [&str; 7] =
    ["block.stl", "open.stl", "turned.obj", "hollow.stl", "both.stl", "mixed.stl", "inch.3mf"];

#[test]
fn many_files_as_shown() {
    let home = meshes();
    let (code, out, error) =
        run(&[&["measure", "--depth", "5 mm"], &ALL[..]].concat(), home.path());
    assert_eq!((code, error.as_str()), (0, ""));
    assert!(out.lines().all(|line| line.chars().count() <= 100), "{out}");
    insta::assert_snapshot!("measure-many", out);
}

#[test]
fn many_files_fit_80_columns() {
    let home = meshes();
    let ask = MeasureAsk { depth_mm: Some(5.0), up: Some(Up::PlusZ), ..MeasureAsk::default() };
    let found = ALL.map(|name| {
        let found = measure_mesh(&home.path().join(name), &ask).expect("a mesh");
        (format!("parts of the river sonde/{name}"), found)
    });
    let text = terminal(&measure_view(&found), 80);
    let plain = anstream::adapter::strip_str(&text).to_string();
    assert!(plain.lines().all(|line| line.chars().count() <= 80), "{plain}");
    let first = |word: &str| plain.split_whitespace().any(|w| w == word);
    assert!(["64.00", "2.731", "144.0", "28.00"].into_iter().all(first), "{plain}");
}

#[test]
fn one_file_as_shown() {
    let home = meshes();
    let show = |args: &[&str]| {
        let (code, out, error) = run(&[&["measure"], args].concat(), home.path());
        assert_eq!((code, error.as_str()), (0, ""));
        out
    };
    let whole = show(&["hollow.stl", "--depth", "1 cm", "--up", "-x"]);
    insta::assert_snapshot!("measure-one", format!("{whole}\n{}", show(&["open.stl"])));
}

#[test]
fn figures_by_hand() {
    let home = meshes();
    let found = measured(&ALL, home.path());
    let names: Vec<&str> = found
        .as_array()
        .expect("an array")
        .iter()
        .map(|f| f["file"].as_str().expect("a name"))
        .collect();
    assert_eq!(names, ALL);
    let block = &found[0];
    near(&block["volume_cm3"], 64.0);
    // 2 x (8 x 4 + 8 x 2 + 4 x 2) cm2.
    near(&block["area_cm2"], 112.0);
    assert_eq!(block["box_mm"], json!([80.0, 40.0, 20.0]));
    assert_eq!((&block["triangles"], &block["vertices"]), (&json!(12), &json!(8)));
    assert_eq!((&block["shells"], &block["euler"]), (&json!(1), &json!([2])));
    assert_eq!((&block["format"], &block["unit_mm"]), (&json!("stl"), &json!(1.0)));
    assert_eq!((&block["closed"], &block["problem"]), (&json!(true), &Value::Null));
    assert_eq!((&block["inverted"], &block["may_overlap"]), (&json!(false), &json!(false)));
    assert_eq!(block["immersed"], Value::Null);
    near(&found[2]["volume_cm3"], 64.0);
    assert_eq!((&found[2]["inverted"], &found[2]["format"]), (&json!(true), &json!("obj")));
    // 6 x 2 x 0.5 cm are hollow.
    near(&found[3]["volume_cm3"], 58.0);
    assert_eq!((&found[3]["euler"], &found[3]["may_overlap"]), (&json!([2, 2]), &json!(false)));
    near(&found[4]["volume_cm3"], 112.0);
    assert_eq!(found[4]["may_overlap"], json!(true));
    // A sixth of a cubic inch of 16.387064 cm3.
    near(&found[6]["volume_cm3"], 16.387_064 / 6.0);
    assert_eq!((&found[6]["unit_mm"], &found[6]["format"]), (&json!(25.4), &json!("3mf")));
}

#[test]
fn what_cannot_be_trusted_has_no_volume_but_counts() {
    let home = meshes();
    let found = measured(&["open.stl", "mixed.stl", "--depth", "5 mm"], home.path());
    for (mesh, edges) in [
        (&found[0], json!({ "open": 3, "non_manifold": 0, "wrong_winding": 0 })),
        (&found[1], json!({ "open": 0, "non_manifold": 0, "wrong_winding": 3 })),
    ] {
        assert_eq!((&mesh["volume_cm3"], &mesh["edges"]), (&Value::Null, &edges));
        assert_eq!(mesh["immersed"]["volume_cm3"], Value::Null);
        let problem = mesh["problem"].as_str().expect("a reason");
        assert!(problem.contains("state `volume`"), "{problem}");
    }
    assert_eq!((&found[0]["closed"], &found[1]["closed"]), (&json!(false), &json!(true)));
    assert_eq!(found[1]["degenerate"], json!(1));
}

#[test]
fn a_depth_is_taken_in_the_pose() {
    let home = meshes();
    let below = |args: &[&str]| {
        let found = measured(&[&["hollow.stl"], args].concat(), home.path());
        found[0]["immersed"].clone()
    };
    // 12 mm of 80 x 40 mm, less 2 mm of the cavity's 60 x 20 mm: z is up.
    near(&below(&["--depth", "12 mm"])["volume_cm3"], 38.4 - 2.4);
    let on_end = below(&["--depth", "1.2 cm", "--up", "-x"]);
    near(&on_end["volume_cm3"], 9.6 - 0.2);
    near(&on_end["height_mm"], 80.0);
    assert_eq!((&on_end["up"], &on_end["depth_mm"]), (&json!("-x"), &json!(12.0)));
    assert_eq!(below(&["--depth", "1 in", "--up", "shortest"])["volume_cm3"], json!(58.0));
    assert_eq!(below(&["--depth", "0 mm"])["volume_cm3"], json!(0.0));
}

#[test]
fn a_unit_scales_and_a_doubtful_size_is_warned_of() {
    let home = meshes();
    let with = |unit: &str| run(&["measure", "block.stl", "--json", "--unit", unit], home.path());
    for (unit, mm, doubted) in [
        ("um", 0.001, true),
        ("mm", 1.0, false),
        ("cm", 10.0, false),
        ("in", 25.4, true),
        ("m", 1000.0, true),
    ] {
        let (code, out, error) = with(unit);
        assert_eq!(code, 0);
        let found: Value = serde_json::from_str(&out).expect("JSON");
        near(&found[0]["volume_cm3"], 64.0 * mm * mm * mm);
        let warned = error.starts_with("flipcount: warning: block.stl:")
            && error.contains("unit may be wrong");
        assert_eq!((warned, error.is_empty()), (doubted, !doubted), "{unit}: {error}");
    }
    let (code, out, error) = run(&["measure", "inch.3mf", "--unit", "mm"], home.path());
    assert_eq!((code, out.as_str()), (3, ""));
    assert!(error.contains("unit is 25.4 mm, the unit asked for is 1 mm"), "{error}");
    assert_eq!(run(&["measure", "inch.3mf", "--unit", "in"], home.path()).0, 0);
}

#[test]
fn a_file_that_fails_is_told_and_the_others_go_on() {
    let home = meshes();
    let files = ["cut.stl", "block.stl", "not-there.stl", "part.step", "turned.obj"];
    let (code, out, error) = run(&[&["measure"], &files[..]].concat(), home.path());
    assert_eq!(code, 3);
    assert!(out.contains("2 meshes") && out.contains("turned.obj"), "{out}");
    let starts = [
        "flipcount: cut.stl: line 4: found",
        "flipcount: not-there.stl: ",
        "flipcount: part.step: ",
    ];
    let lines: Vec<&str> = error.lines().collect();
    assert_eq!(lines.len(), 3, "{error}");
    for (line, start) in lines.iter().zip(starts) {
        assert!(line.starts_with(start) && line.contains("; "), "{line}");
    }
    let (code, out, _) = run(&["measure", "cut.stl", "--json"], home.path());
    assert_eq!((code, out.as_str()), (3, "[]\n"));
    assert_eq!(run(&["measure", "cut.stl"], home.path()).1, "");
}

#[test]
fn what_is_asked_wrongly_is_a_usage_error() {
    let home = meshes();
    for (args, said) in [
        (vec![], "FILE"),
        (vec!["block.stl", "--unit", "ell"], "um, mm, cm, m, in"),
        (vec!["block.stl", "--depth", "5"], "20 mm"),
        (vec!["block.stl", "--depth", "-5 mm"], "from 0 on"),
        (vec!["block.stl", "--depth", "5 mL"], "found a volume"),
        (vec!["block.stl", "--depth", "5 mm", "--up", "w"], "x, -x, y, -y, z, -z or shortest"),
    ] {
        let (code, out, error) = run(&[&["measure"], &args[..]].concat(), home.path());
        assert_eq!((code, out.as_str()), (2, ""), "{args:?}");
        assert!(error.contains(said), "{args:?}: {error}");
    }
}
