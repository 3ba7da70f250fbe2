//! Every crate that is built, tests included, is under a licence of a short list, as the crates themselves say.

use std::process::Command;

use serde_json::Value;

use crate::help::project;

/// Licences that ask for no more than their notice (SPDX identifiers).
const ALLOWED: [&str; 7] = [
    "MIT",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-3-Clause",
    "BSL-1.0",
    "Unicode-3.0",
    "Zlib",
];

/// Whether an expression can be met with the allowed licences alone; a slash is an old way to write OR. `None` where it cannot be read.
fn allowed(expression: &str) -> Option<bool> {
    let spaced = expression.replace('(', " ( ").replace(')', " ) ").replace('/', " OR ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let mut at = 0;
    let met = either(&words, &mut at)?;
    (at == words.len()).then_some(met)
}

fn either(words: &[&str], at: &mut usize) -> Option<bool> {
    let mut met = both(words, at)?;
    while words.get(*at) == Some(&"OR") {
        *at += 1;
        met |= both(words, at)?;
    }
    Some(met)
}

fn both(words: &[&str], at: &mut usize) -> Option<bool> {
    let mut met = one(words, at)?;
    while words.get(*at) == Some(&"AND") {
        *at += 1;
        met &= one(words, at)?;
    }
    Some(met)
}

fn one(words: &[&str], at: &mut usize) -> Option<bool> {
    let word = *words.get(*at)?;
    *at += 1;
    if word == "(" {
        let met = either(words, at)?;
        *at += 1;
        return (words.get(*at - 1) == Some(&")")).then_some(met);
    }
    if [")", "OR", "AND", "WITH"].contains(&word) {
        return None;
    }
    let mut licence = word.to_owned();
    if words.get(*at) == Some(&"WITH") {
        licence = format!("{word} WITH {}", words.get(*at + 1)?);
        *at += 2;
    }
    Some(ALLOWED.contains(&licence.as_str()))
}

/// What a command prints.
fn said(program: &str, args: &[&str]) -> String {
    let output = Command::new(program).args(args).current_dir(project("")).output();
    let output = output.unwrap_or_else(|error| panic!("{program}: {error}"));
    assert!(output.status.success(), "{program}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).expect("UTF-8")
}

#[test]
fn every_dependency_is_under_an_allowed_licence() {
    let about = said("rustc", &["-vV"]);
    let host = about.lines().find_map(|line| line.strip_prefix("host: ")).expect("a host");
    // What this machine builds is on it, so nothing is fetched.
    let args = ["metadata", "--offline", "--locked", "--format-version", "1"];
    let text =
        said(env!("CARGO"), &[&args[..], &["--all-features", "--filter-platform", host]].concat());
    let metadata: Value = serde_json::from_str(&text).expect("JSON");
    let packages = metadata["packages"].as_array().expect("packages");
    assert!(packages.len() > 100, "{} packages", packages.len());
    let refused: Vec<String> = packages
        .iter()
        .filter(|package| package["license"].as_str().and_then(allowed) != Some(true))
        .map(|package| {
            format!("{} {}: {}", package["name"], package["version"], package["license"])
        })
        .collect();
    assert!(refused.is_empty(), "{refused:#?}");
}

#[test]
fn expressions_are_read_as_spdx_means_them() {
    for (expression, met) in [
        ("MIT", Some(true)),
        ("MIT/Apache-2.0", Some(true)),
        ("GPL-3.0-only", Some(false)),
        ("GPL-3.0-only OR MIT", Some(true)),
        ("GPL-3.0-only AND MIT", Some(false)),
        ("(GPL-3.0-only OR MIT) AND Zlib", Some(true)),
        // AND binds closer.
        ("MIT OR Zlib AND GPL-3.0-only", Some(true)),
        ("GPL-3.0-only OR Zlib AND GPL-2.0-only", Some(false)),
        ("Apache-2.0 WITH LLVM-exception", Some(true)),
        ("Apache-2.0 WITH Classpath-exception-2.0", Some(false)),
        ("MIT OR", None),
        ("(MIT", None),
        ("MIT MIT", None),
        ("", None),
    ] {
        assert_eq!(allowed(expression), met, "{expression}");
    }
}
