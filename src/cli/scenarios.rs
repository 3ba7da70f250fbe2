//! Many scenarios: folders, folders of folders, and patterns.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use super::Failure;
use super::ask::SCENARIO_FILE;

/// The scenarios that some names mean, each once: in the order of the names, inside a folder or pattern by name.
pub(super) fn scenarios(names: &[String]) -> Result<Vec<PathBuf>, Failure> {
    let mut all: Vec<PathBuf> = Vec::new();
    let mut seen: BTreeSet<PathBuf> = BTreeSet::new();
    for name in names {
        for path in meant(name)? {
            let real = path.canonicalize().unwrap_or_else(|_| path.clone());
            // A folder and its scenario.toml are one.
            let real = if real.ends_with(SCENARIO_FILE) {
                real.parent().map(Path::to_owned).unwrap_or(real)
            } else {
                real
            };
            if seen.insert(real) {
                all.push(path);
            }
        }
    }
    Ok(all)
}

fn meant(name: &str) -> Result<Vec<PathBuf>, Failure> {
    let path = PathBuf::from(name);
    if path.symlink_metadata().is_err() && name.contains(['*', '?']) {
        let found: Vec<PathBuf> = matching(name).into_iter().filter(|p| is_scenario(p)).collect();
        return if found.is_empty() {
            Err(Failure::usage(format!("no scenario is called like `{name}`")))
        } else {
            Ok(found)
        };
    }
    if !path.is_dir() || is_scenario(&path) {
        // What is not there is told where it is loaded.
        return Ok(vec![path]);
    }
    let inside = children(&path).into_iter().filter(|p| is_scenario(p)).collect::<Vec<_>>();
    if inside.is_empty() { Ok(vec![path]) } else { Ok(inside) }
}

/// A folder with a scenario in it, or the scenario's file itself.
fn is_scenario(path: &Path) -> bool {
    path.join(SCENARIO_FILE).is_file() || (path.is_file() && path.ends_with(SCENARIO_FILE))
}

/// What lies in a folder, by name.
fn children(folder: &Path) -> Vec<PathBuf> {
    let read = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let entries = fs::read_dir(read).into_iter().flatten().flatten();
    let mut paths: Vec<PathBuf> = entries.map(|e| folder.join(e.file_name())).collect();
    paths.sort();
    paths
}

/// Every path that a pattern fits, by name. A star stands for any characters of one name, a question mark for one.
fn matching(pattern: &str) -> Vec<PathBuf> {
    let mut found = vec![PathBuf::new()];
    for part in Path::new(pattern).components() {
        let text = part.as_os_str().to_string_lossy();
        found = if text.contains(['*', '?']) {
            let all = found.iter().flat_map(|folder| children(folder));
            all.filter(|p| p.file_name().is_some_and(|n| fits(&text, &n.to_string_lossy())))
                .collect()
        } else {
            found
                .into_iter()
                .map(|folder| folder.join(part))
                .filter(|p| p.symlink_metadata().is_ok())
                .collect()
        };
    }
    found
}

/// True if a name fits a pattern. A hidden name is fitted only by a pattern that begins with a point too.
fn fits(pattern: &str, name: &str) -> bool {
    let chars = |text: &str| -> Vec<char> { text.chars().collect() };
    let (pattern, name) = (chars(pattern), chars(name));
    if name.first() == Some(&'.') && pattern.first() != Some(&'.') {
        return false;
    }
    // Where the last star stands, and what it has taken so far: it takes one more whenever the rest does not fit.
    let (mut p, mut n, mut star) = (0, 0, None);
    while n < name.len() {
        if pattern.get(p) == Some(&'*') {
            star = Some((p, n));
            p += 1;
        } else if pattern.get(p).is_some_and(|&c| c == '?' || c == name[n]) {
            (p, n) = (p + 1, n + 1);
        } else if let Some((at, taken)) = star {
            star = Some((at, taken + 1));
            (p, n) = (at + 1, taken + 1);
        } else {
            return false;
        }
    }
    pattern[p..].iter().all(|&c| c == '*')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn patterns() {
        for (pattern, name, is) in [
            ("*", "sonde", true),
            ("*", ".git", false),
            ("s*e", "sonde", true),
            ("s*x", "sonde", false),
            ("so?de", "sonde", true),
            ("so?de", "sode", false),
            ("*-*", "river-sonde", true),
            ("sonde", "sonde", true),
        ] {
            assert_eq!(fits(pattern, name), is, "{pattern} {name}");
        }
    }

    #[test]
    fn folders_of_folders_and_patterns() {
        let folder = tempfile::tempdir().expect("a folder");
        for name in ["a/one", "a/two", "a/none", "b"] {
            let path = folder.path().join(name);
            fs::create_dir_all(&path).expect("a folder");
            if name != "a/none" {
                fs::write(path.join(SCENARIO_FILE), "").expect("a file");
            }
        }
        let at = |name: &str| folder.path().join(name);
        let found = |names: &[&str]| {
            let names: Vec<String> = names.iter().map(|n| at(n).display().to_string()).collect();
            scenarios(&names).map_err(|f| f.message)
        };
        assert_eq!(found(&["a", "b"]), Ok(vec![at("a/one"), at("a/two"), at("b")]));
        assert_eq!(found(&["*/t*", "a/two/scenario.toml"]), Ok(vec![at("a/two")]));
        assert_eq!(found(&["b/scenario.toml"]), Ok(vec![at("b/scenario.toml")]));
        assert!(found(&["x*"]).is_err_and(|why| why.contains("called like")));
        assert_eq!(found(&["nowhere"]), Ok(vec![at("nowhere")]));
    }
}
