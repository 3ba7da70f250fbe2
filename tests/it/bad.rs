//! What bad input gets: exit code 3, findings with their places, no panic. Each folder of `tests/bad` is one case.

use std::fs;
use std::path::{Path, PathBuf};

use flipcount::diag::Code;

use crate::help::{flipcount, project};

/// The folders with bad input, by name.
fn cases() -> Vec<PathBuf> {
    let entries = fs::read_dir(project("tests/bad")).expect("tests/bad");
    let mut folders: Vec<PathBuf> =
        entries.flatten().map(|e| e.path()).filter(|p| p.is_dir()).collect();
    folders.sort();
    folders
}

/// What `check` says of a folder, with the place of the project left out.
fn check(folder: &Path) -> (Option<i32>, String, String) {
    let here = project("");
    let relative = folder.strip_prefix(&here).expect("inside the project");
    let output = flipcount().arg("check").arg(relative).output().expect("the command runs");
    let plain = |bytes: &[u8]| {
        let text = String::from_utf8(bytes.to_vec()).expect("UTF-8");
        text.replace(&format!("{}/", here.display()), "")
            .replace(&here.display().to_string(), "")
            .replace("\r\n", "\n")
    };
    (output.status.code(), plain(&output.stdout), plain(&output.stderr))
}

/// Snapshots in one folder, named after their cases.
fn snapshots() -> insta::Settings {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("snapshots/bad");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings
}

#[test]
fn bad_input_is_refused_with_findings() {
    let folders = cases();
    assert!(folders.len() >= 200, "{} cases", folders.len());
    snapshots().bind(|| {
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

fn listing(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_owned()];
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

/// A case that cannot be a folder in the repository: the sheet `materials.csv` is made by `make`.
fn made(make: impl FnOnce(&Path)) -> String {
    let dir = tempfile::tempdir().expect("a folder");
    let text = "currency = \"USD\"\npricing = \"pricing\"\n[iterations]\nplanned = 3\n\
                [[part]]\nname = \"vane\"\nvolume = \"9 mL\"\n[[route]]\nname = \"bench\"\nkind = \"bench\"\n\
                printer = \"printer\"\nmaterial = \"resin\"\nprint_time = \"2 h\"\n\
                steps = [ { do = \"print\", attended = \"5 min\" } ]\n";
    fs::write(dir.path().join("scenario.toml"), text).expect("scenario.toml is written");
    fs::create_dir(dir.path().join("pricing")).expect("a folder for sheets");
    make(&dir.path().join("pricing/materials.csv"));
    let output = flipcount()
        .args(["check", "."])
        .current_dir(dir.path())
        .output()
        .expect("the command runs");
    let error = String::from_utf8(output.stderr).expect("UTF-8");
    assert_eq!(output.status.code(), Some(3), "{error}");
    error
}

/// A sheet just above the limit of 64 MB is refused before it is read: it is one hole, and reading it would find no text.
#[test]
fn a_file_above_the_limit_is_refused() {
    let error = made(|path| {
        let file = fs::File::create(path).expect("a file");
        file.set_len(64 * 1024 * 1024 + 1).expect("a large file");
    });
    snapshots().bind(|| insta::assert_snapshot!("made-file-too-large", error));
}

/// What is no file has no end that could be known.
#[cfg(unix)]
#[test]
fn a_sheet_that_is_no_file_is_refused() {
    let error = made(|path| drop(std::os::unix::net::UnixListener::bind(path).expect("a socket")));
    snapshots().bind(|| insta::assert_snapshot!("made-file-unreadable", error));
}

/// The snapshots, by the name of their case.
fn said() -> Vec<(String, String)> {
    let entries = fs::read_dir(project("tests/it/snapshots/bad")).expect("snapshots").flatten();
    let name = |path: &Path| path.file_stem().expect("a name").to_string_lossy().into_owned();
    // Not what a failed run has left beside them.
    let entries = entries.filter(|e| e.path().extension().is_some_and(|e| e == "snap"));
    entries.map(|e| (name(&e.path()), fs::read_to_string(e.path()).expect("a snapshot"))).collect()
}

/// Cases that show one code: more of them would say that the code is too broad, or that they are cases of the same thing.
const MOST_CASES: usize = 5;

#[test]
fn every_code_has_a_case_and_few_of_them() {
    let said = said();
    let cases = |code: &Code| {
        let shown = format!("[{code}]");
        said.iter().filter(|(_, text)| text.contains(&shown)).count()
    };
    let never: Vec<&Code> = Code::ALL.iter().filter(|code| cases(code) == 0).collect();
    assert!(never.is_empty(), "no case shows {never:?}");
    let often: Vec<(&Code, usize)> =
        Code::ALL.iter().map(|code| (code, cases(code))).filter(|c| c.1 > MOST_CASES).collect();
    assert!(often.is_empty(), "more than {MOST_CASES} cases show {often:?}");
}

#[test]
fn every_snapshot_has_its_case() {
    let left: Vec<String> = said()
        .into_iter()
        .map(|s| s.0)
        .filter(|name| !name.starts_with("made-") && !project("tests/bad").join(name).is_dir())
        .collect();
    assert!(left.is_empty(), "no case is called {left:?}");
}
