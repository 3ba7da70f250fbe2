//! The way of the data: a folder of `src/` imports only from folders before it. And the house rules a machine can check.

use std::fs;
use std::path::{Path, PathBuf};

/// The folders in the order of the data.
const ORDER: [&str; 11] = [
    "diag", "input", "mesh", "model", "plan", "sim", "ledger", "value", "analysis", "report", "cli",
];

fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_path_buf()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).expect("a source folder").flatten() {
            let path = entry.path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

fn src() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("src")
}

/// The folders a file names after `crate::`.
fn imports(text: &str) -> Vec<String> {
    text.lines()
        .filter(|line| !line.trim_start().starts_with("//"))
        .flat_map(|line| line.split("crate::").skip(1))
        .map(|rest| rest.chars().take_while(|c| c.is_ascii_alphanumeric() || *c == '_').collect())
        .collect()
}

#[test]
fn a_folder_imports_only_from_folders_before_it() {
    let mut wrong = Vec::new();
    let mut seen = 0;
    for (rank, folder) in ORDER.iter().enumerate() {
        for file in sources(&src().join(folder)) {
            let text = fs::read_to_string(&file).expect("a source file");
            for import in imports(&text) {
                let Some(other) = ORDER.iter().position(|f| *f == import) else {
                    continue;
                };
                seen += 1;
                if other > rank {
                    wrong.push(format!("{} imports {import}", file.display()));
                }
            }
        }
    }
    assert!(seen > 50, "the test reads imports at all: {seen}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The same inside `analysis`, by the list its `mod.rs` gives. Work on several threads is everybody's.
#[test]
fn a_question_imports_only_from_questions_before_it() {
    let folder = src().join("analysis");
    let said = fs::read_to_string(folder.join("mod.rs")).expect("a source file");
    let order: Vec<&str> = said
        .lines()
        .filter_map(|line| line.strip_prefix("//! - `")?.split_once('`').map(|name| name.0))
        .collect();
    let folders = fs::read_dir(&folder).expect("a folder").flatten();
    assert_eq!(order.len(), folders.filter(|entry| entry.path().is_dir()).count(), "{order:?}");
    let mut wrong = Vec::new();
    let mut seen = 0;
    for (rank, question) in order.iter().enumerate() {
        for file in sources(&folder.join(question)) {
            let text = fs::read_to_string(&file).expect("a source file");
            let code = text.lines().filter(|line| !line.trim_start().starts_with("//"));
            for rest in code.flat_map(|line| line.split("crate::analysis::").skip(1)) {
                let named = rest.split(|c: char| !c.is_ascii_alphanumeric() && c != '_').next();
                seen += 1;
                let before = named == Some("parallel")
                    || order[..rank].iter().any(|question| Some(*question) == named);
                if !before {
                    wrong.push(format!("{} imports analysis::{rest}", file.display()));
                }
            }
        }
    }
    assert!(seen > 50, "the test reads imports at all: {seen}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_module_says_what_it_is() {
    for file in sources(&src()) {
        let text = fs::read_to_string(&file).expect("a source file");
        assert!(text.starts_with("//!"), "{} has no module doc", file.display());
    }
}

#[test]
fn files_stay_readable() {
    for file in sources(&src()) {
        let text = fs::read_to_string(&file).expect("a source file");
        let code = text.split("#[cfg(test)]").next().unwrap_or("").lines().count();
        assert!(code <= 600, "{} has {code} lines without its tests", file.display());
    }
}

/// The table of words in DEVELOPERS.md names types and files that are there.
#[test]
fn words_name_what_is_in_the_code() {
    let page = Path::new(env!("CARGO_MANIFEST_DIR")).join("DEVELOPERS.md");
    let page = fs::read_to_string(page).expect("DEVELOPERS.md");
    let table = page.split("### Words\n").nth(1).expect("the words");
    let table = table.split("\n### ").next().unwrap_or_default();
    let rows: Vec<&str> = table.lines().filter(|line| line.starts_with("| ")).skip(1).collect();
    assert!(rows.len() >= 30, "{}", rows.len());
    let mut looked_up = 0;
    for row in rows {
        let code = row.rsplit(" | ").next().unwrap_or_default();
        for name in code.split('`').skip(1).step_by(2) {
            let there = match name.split_once("::") {
                Some((folder, item)) if item.starts_with(char::is_uppercase) => {
                    let item = item.split("::").next().unwrap_or_default();
                    let kinds = ["struct", "enum"].map(|kind| format!("pub {kind} {item}"));
                    sources(&src().join(folder)).iter().any(|file| {
                        let text = fs::read_to_string(file).expect("a source file");
                        kinds.iter().any(|kind| text.contains(kind))
                    })
                }
                None if name.contains('/') => src().join(name).exists(),
                _ => continue,
            };
            looked_up += 1;
            assert!(there, "`{name}` is not in the code: {row}");
        }
    }
    assert!(looked_up >= 30, "{looked_up}");
}
