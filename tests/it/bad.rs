//! What bad input gets: exit code 3, findings with their places, no panic. Each folder of `tests/bad` is one case.

use std::fs;
use std::path::PathBuf;

use flipcount::diag::Code;

use crate::help::{flipcount, project};

/// The folders with bad input, by name.
fn cases() -> Vec<PathBuf> {
    let entries = fs::read_dir(project("tests/bad")).expect("tests/bad");
    let mut folders: Vec<PathBuf> = entries.flatten().map(|e| e.path()).filter(|p| p.is_dir()).collect();
    folders.sort();
    folders
}

/// What `check` says of a folder, with the place of the project left out.
fn check(folder: &PathBuf) -> (Option<i32>, String, String) {
    let here = project("");
    let relative = folder.strip_prefix(&here).expect("inside the project");
    let output = flipcount().arg("check").arg(relative).output().expect("the command runs");
    let plain = |bytes: &[u8]| {
        let text = String::from_utf8(bytes.to_vec()).expect("UTF-8");
        text.replace(&format!("{}/", here.display()), "").replace(&here.display().to_string(), "").replace("\r\n", "\n")
    };
    (output.status.code(), plain(&output.stdout), plain(&output.stderr))
}

#[test]
fn bad_input_is_refused_with_findings() {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("snapshots/bad");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    let folders = cases();
    assert!(folders.len() >= 100, "{} cases", folders.len());
    settings.bind(|| {
        for folder in folders {
            let name = folder.file_name().and_then(|n| n.to_str()).expect("a name").to_owned();
            let (code, stdout, stderr) = check(&folder);
            assert_eq!(code, Some(3), "{name}: {stderr}");
            assert_eq!(stdout, "", "{name}: findings go to standard error");
            assert!(!stderr.contains("panicked"), "{name}: {stderr}");
            assert!(stderr.contains("error["), "{name}: {stderr}");
            insta::assert_snapshot!(name, stderr);
        }
    });
}

/// The cases change nothing: `check` and `compare` leave a folder as it is.
#[test]
fn bad_input_changes_nothing() {
    for folder in cases().iter().step_by(12) {
        let before = listing(folder);
        let output = flipcount().arg("compare").arg(folder).output().expect("the command runs");
        assert_eq!(output.status.code(), Some(3), "{}", folder.display());
        assert!(output.stdout.is_empty(), "{}: no answer", folder.display());
        check(folder);
        assert_eq!(before, listing(folder));
    }
}

fn listing(folder: &PathBuf) -> Vec<(PathBuf, Vec<u8>)> {
    let mut found = Vec::new();
    let mut folders = vec![folder.clone()];
    while let Some(folder) = folders.pop() {
        for path in fs::read_dir(folder).expect("a folder").flatten().map(|e| e.path()) {
            if path.is_dir() {
                folders.push(path);
            } else {
                found.push((path.clone(), fs::read(&path).expect("a file")));
            }
        }
    }
    found.sort();
    found
}

/// Codes whose case cannot be a folder in the repository: a file above 64 MB, and one without read permission.
const MADE: [Code; 2] = [Code::FileTooLarge, Code::FileUnreadable];

#[test]
fn every_code_has_a_case() {
    let snapshots = fs::read_dir(project("tests/it/snapshots/bad")).expect("snapshots").flatten();
    let texts: Vec<String> = snapshots.map(|e| fs::read_to_string(e.path()).expect("a snapshot")).collect();
    let never: Vec<&Code> = Code::ALL
        .iter()
        .filter(|code| !MADE.contains(code))
        .filter(|code| !texts.iter().any(|text| text.contains(&format!("[{code}]"))))
        .collect();
    assert!(never.is_empty(), "no case shows {never:?}");
}
