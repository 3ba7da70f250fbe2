//! The demo's meshes: closed, of one piece, with holes enough to be no toy, and what the committed generator makes.

use std::fs;
use std::path::PathBuf;

use flipcount::mesh::{Check, Format, Source, check, measure, read};

use crate::help::{in_shop, project, scenario};

#[expect(dead_code, reason = "the example's own main and its report are not needed here")]
#[path = "../../examples/demo_meshes.rs"]
mod demo_meshes;

fn path(name: &str) -> PathBuf {
    project("scenarios/river-sonde/parts").join(name)
}

fn checked(name: &str) -> Check {
    let path = path(name);
    let mesh = read(&Source::Path(&path), Format::of(&path).expect("a mesh")).expect("it is read");
    check(&mesh).expect("it is checked")
}

#[test]
fn the_committed_meshes_are_what_the_generator_makes() {
    let made = demo_meshes::files().expect("two meshes");
    assert_eq!(made.len(), 2);
    for (name, bytes) in made {
        let committed = fs::read(path(&format!("{name}.stl"))).expect("a committed mesh");
        assert!(committed == bytes, "{name}.stl is not what examples/demo_meshes.rs makes");
    }
}

/// The Euler number of a closed surface with g through-holes is 2 - 2g (L. Euler 1758, S. L'Huilier 1813; from memory).
#[test]
fn the_collar_is_closed_and_full_of_holes() {
    let collar = checked("sensor-collar.stl");
    assert!(collar.volume().is_ok(), "it can be trusted");
    assert!(!collar.inverted && !collar.may_overlap);
    assert!(collar.measure.triangles >= 100_000, "{}", collar.measure.triangles);
    assert_eq!(collar.measure.degenerate, 0);
    assert_eq!(collar.shells.len(), 1);
    let holes = (2 - collar.shells[0].euler()) / 2;
    assert!(holes >= 50, "{holes} holes");
}

#[test]
fn the_boot_is_a_closed_tube() {
    let boot = checked("cable-boot.stl");
    assert!(boot.volume().is_ok(), "it can be trusted");
    assert_eq!((boot.shells.len(), boot.measure.degenerate), (1, 0));
    assert_eq!(boot.shells[0].euler(), 0, "one hole, for the cable");
}

/// The streamed measure and the checked one are two ways to the same figures; both are what the shop works with, to a millionth.
#[test]
fn the_scenario_uses_what_the_meshes_measure() {
    let scenario = scenario(&project("scenarios/river-sonde"));
    in_shop(&scenario, |shop| {
        for (part, name) in scenario.parts.iter().zip(shop.parts.iter()) {
            let file = path(&format!("{}.stl", part.name.replace(' ', "-")));
            let format = Format::of(&file).expect("a mesh");
            let found = measure(&Source::Path(&file), format).expect("it is measured");
            let millionths = |value: f64| (value * 1e6).round() as i64;
            assert_eq!(name.volume, millionths(found.volume.abs() / 1000.0), "{}", part.name);
            assert_eq!(name.area, millionths(found.area / 100.0), "{}", part.name);
            assert_eq!(name.size, Some(found.bounds.size().map(millionths)), "{}", part.name);
        }
    });
}
