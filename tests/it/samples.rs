//! The sample output of the demo that is committed in `reports/`: what the command prints today, byte for byte.
//!
//! After a change that is meant, write it anew with `FLIPCOUNT_BLESS=1 cargo test samples`.

use std::fs;
use std::path::Path;

use crate::help::{flipcount, project};

const DEMO: &str = "scenarios/river-sonde";

fn printed(arguments: &[&str]) -> Vec<u8> {
    let output = flipcount().args(arguments).output().expect("the command runs");
    assert_eq!(output.status.code(), Some(0), "{arguments:?}");
    output.stdout
}

fn hold(name: &str, now: &[u8]) {
    let path = project("reports/sample").join(name);
    if std::env::var_os("FLIPCOUNT_BLESS").is_some() {
        fs::create_dir_all(project("reports/sample")).expect("a folder for samples");
        fs::write(&path, now).expect("a sample is written");
    }
    let then = fs::read(&path).expect("a committed sample");
    assert!(then == now, "{} is not what the command prints now", path.display());
}

/// The files of a report, as `report` writes them.
fn written(folder: &Path) -> Vec<(&'static str, Vec<u8>)> {
    let output = flipcount()
        .args(["report", DEMO, "--markdown", "-o"])
        .arg(folder)
        .output()
        .expect("the command runs");
    assert_eq!(output.status.code(), Some(0));
    ["report.html", "answer.json", "ledger.csv", "ledger-months.csv", "report.md"]
        .into_iter()
        .map(|name| (name, fs::read(folder.join(name)).expect("a written file")))
        .collect()
}

#[test]
fn the_committed_samples_are_what_the_command_prints() {
    hold("compare.txt", &printed(&["compare", DEMO]));
    hold("compare-all.txt", &printed(&["compare", DEMO, "--all"]));
    let folder = tempfile::tempdir().expect("a folder");
    for (name, bytes) in written(&folder.path().join("report")) {
        hold(name, &bytes);
    }
}
