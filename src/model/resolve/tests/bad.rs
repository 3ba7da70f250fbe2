//! What is refused: several files at once, and every folder of `tests/bad`.

use std::collections::BTreeSet;

use super::*;

#[test]
fn one_run_reports_the_faults_of_every_file() {
    let loaded = load(&root().join("tests/bad/many-faults-at-once"), &Overrides::default());
    let files: BTreeSet<String> = loaded
        .log
        .found
        .iter()
        .filter_map(|d| {
            Some(
                Path::new(&d.place.as_ref()?.file.path).file_name()?.to_string_lossy().into_owned(),
            )
        })
        .collect();
    let files: Vec<&str> = files.iter().map(String::as_str).collect();
    assert_eq!(files, ["materials.csv", "rates.csv", "scenario.toml"]);
}

#[test]
fn every_bad_scenario_is_refused_with_a_hint() {
    let mut seen = BTreeSet::new();
    let mut count = 0;
    let mut folders: Vec<PathBuf> =
        fs::read_dir(root().join("tests/bad")).unwrap().map(|e| e.unwrap().path()).collect();
    folders.sort();
    for folder in folders.iter().filter(|f| f.is_dir()) {
        let loaded = load(folder, &Overrides::default());
        let name = folder.file_name().unwrap().to_string_lossy();
        if std::env::var_os("SHOW").is_some() {
            eprintln!("{name} {:#?}", findings(&loaded));
        }
        assert!(loaded.scenario.is_none() && loaded.log.has_errors(), "{name}");
        for finding in &loaded.log.found {
            assert!(finding.place.is_some(), "{name}: {}", finding.message);
            assert!(finding.hint.is_some(), "{name}: {}", finding.message);
            seen.insert(finding.code);
        }
        count += 1;
    }
    assert!(count >= 100, "{count}");
    // A file of 64 MB, one without the right to read it, and a verdict without a plan are not for this folder.
    let elsewhere = [Code::FileTooLarge, Code::FileUnreadable];
    let missed: Vec<&Code> =
        Code::ALL.iter().filter(|c| !seen.contains(c) && !elsewhere.contains(c)).collect();
    assert!(missed.is_empty(), "{missed:?}");
}
