//! The way of the data inside this folder: a part of it imports only from those before it.

use super::*;

/// The folders and files in the order of the data.
const ORDER: [&str; 14] = [
    "limits", "keys", "reading", "settings", "parts", "sheets", "baths", "routes", "plans",
    "checks", "build", "record", "load", "typist",
];

/// Every source file of a folder or file of that name.
fn sources(name: &str) -> Vec<PathBuf> {
    let here = root().join("src/model/resolve");
    let folder = here.join(name);
    if !folder.is_dir() {
        return vec![here.join(format!("{name}.rs"))];
    }
    let mut files: Vec<PathBuf> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    files
}

/// The names that stand right behind some text.
fn behind<'t>(text: &'t str, start: &str) -> Vec<&'t str> {
    let is_name = |c: char| c.is_ascii_alphanumeric() || c == '_';
    let rests = text.lines().filter(|line| !line.trim_start().starts_with("//"));
    let rests = rests.flat_map(|line| line.split(start).skip(1));
    rests.map(|rest| rest.split(|c| !is_name(c)).next().unwrap()).collect()
}

#[test]
fn each_imports_only_from_those_before_it() {
    let (mut wrong, mut seen) = (Vec::new(), 0);
    for (rank, name) in ORDER.iter().enumerate() {
        for file in sources(name) {
            let text = fs::read_to_string(&file).unwrap();
            let is_folder = !file.ends_with(format!("{name}.rs"));
            let mut imports = behind(&text, "crate::model::resolve::");
            // A file of a folder reaches its neighbours by `super`, a file beside the folders the folders.
            imports.extend(behind(&text, if is_folder { "super::super::" } else { "super::" }));
            for import in imports {
                let Some(other) = ORDER.iter().position(|known| *known == import) else {
                    continue;
                };
                seen += 1;
                if other > rank {
                    wrong.push(format!("{} imports {import}", file.display()));
                }
            }
        }
    }
    assert!(seen > 80, "the test reads imports at all: {seen}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
