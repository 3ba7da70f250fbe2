//! Scenarios from small texts in a temporary folder.

use std::fs;
use std::path::Path;

use super::{Loaded, Overrides, load};
use crate::model::Scenario;

/// The ten numbers of the README's first scenario.
const TEN: &str = include_str!("../../../scenarios/first-look/scenario.toml");

fn loaded(files: &[(&str, &str)], overrides: Overrides) -> Loaded {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files {
        let path = folder.path().join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }
    load(folder.path(), &overrides)
}

fn findings(loaded: &Loaded) -> Vec<String> {
    loaded
        .log
        .found
        .iter()
        .map(|d| {
            let line = d.place.as_ref().map_or(0, |p| p.line);
            format!(
                "{line} {}: {} ({})",
                d.code,
                d.message,
                d.hint.clone().unwrap_or_default()
            )
        })
        .collect()
}

fn good(loaded: Loaded) -> Scenario {
    let text = findings(&loaded);
    loaded.scenario.unwrap_or_else(|| panic!("{text:#?}"))
}

fn likely(scenario: &Scenario, address: &str) -> String {
    let found = scenario.slots.iter().find(|(_, i)| i.address == address);
    found
        .unwrap_or_else(|| panic!("no {address}"))
        .1
        .likely
        .to_string()
}

#[test]
fn the_shipped_scenarios_load_without_errors() {
    for folder in [
        "scenarios/first-look",
        "scenarios/river-sonde",
        "src/cli/starter/full",
    ] {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
        let loaded = load(&path, &Overrides::default());
        let text = findings(&loaded);
        eprintln!("{folder} {text:#?}");
        let scenario = good(loaded);
        eprintln!("{:#?}", scenario.not_counted);
        for (_, i) in scenario.slots.iter() {
            eprintln!(
                "{} = {} .. {} .. {} {:?} {:?} {} [{}]",
                i.address,
                i.low,
                i.likely,
                i.high,
                i.dim,
                i.varies,
                i.assumed,
                scenario.source(i.source)
            );
        }
        assert!(scenario.slots.len() > 10);
    }
}
