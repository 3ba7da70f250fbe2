//! Scenarios from small texts in a temporary folder, and every folder of `tests/bad`.

mod bad;
mod baths;
mod meshes;
mod order;
mod parts;
mod robust;
mod services;
mod sheets;
mod short;

use std::fs;
use std::path::{Path, PathBuf};

use super::{Loaded, Overrides, load};
use crate::diag::Code;
use crate::model::{RouteKind, Scenario, Terms};

/// The ten numbers of the first scenario.
pub(super) const TEN: &str = include_str!("../../../../scenarios/first-look/scenario.toml");

pub(super) fn loaded(files: &[(&str, &str)]) -> Loaded {
    loaded_with(files, Overrides::default())
}

pub(super) fn loaded_with(files: &[(&str, &str)], overrides: Overrides) -> Loaded {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files {
        let path = folder.path().join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }
    load(folder.path(), &overrides)
}

pub(super) fn findings(loaded: &Loaded) -> Vec<String> {
    let said = |d: &crate::diag::Diagnostic| {
        let at = d.place.as_ref().map_or(String::new(), |p| {
            let file = Path::new(&p.file.path).file_name().unwrap_or_default();
            format!("{}:{}", file.to_string_lossy(), p.line)
        });
        let hint = d.hint.clone().unwrap_or_default();
        format!("{at} {:?} {}: {} ({hint})", d.severity, d.code, d.message)
    };
    loaded.log.found.iter().map(said).collect()
}

pub(super) fn good(loaded: Loaded) -> Scenario {
    let text = findings(&loaded);
    loaded.scenario.unwrap_or_else(|| panic!("{text:#?}"))
}

pub(super) fn ten(pairs: &[(&str, &str)]) -> Loaded {
    loaded(&[("scenario.toml", &changed(TEN, pairs))])
}

pub(super) fn changed(text: &str, pairs: &[(&str, &str)]) -> String {
    pairs.iter().fold(text.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "{from}");
        text.replacen(from, to, 1)
    })
}

pub(super) fn codes(loaded: &Loaded) -> Vec<Code> {
    loaded.log.found.iter().map(|d| d.code).collect()
}

/// Low, likely and high at an address.
pub(super) fn at(scenario: &Scenario, address: &str) -> [String; 3] {
    let found = scenario.slots.iter().find(|(_, i)| i.address == address);
    let input = found.unwrap_or_else(|| panic!("no {address}")).1;
    [input.low, input.likely, input.high].map(|v| v.to_string())
}

pub(super) fn is(low: &str, likely: &str, high: &str) -> [String; 3] {
    [low, likely, high].map(str::to_owned)
}

pub(super) fn terms<'a>(scenario: &'a Scenario, name: &str) -> &'a Terms {
    let route = scenario.routes.iter().find(|r| r.name == name).unwrap();
    match &route.kind {
        RouteKind::Order(terms) => terms,
        RouteKind::Bench(_) => panic!("{name} is a bench route"),
    }
}

pub(super) fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).to_owned()
}
