//! Columns of the sheets: what is declared is what is read, what is written by, and what README.md says.

use std::collections::BTreeSet;

use super::*;
use crate::input::RECORD_COLUMNS;
use crate::model::resolve::keys::{EVERYWHERE, Key, RECORD, Takes, names};
use crate::model::resolve::reading::{SPECS, Spec};

/// A text that a column takes.
fn good_text(key: &Key) -> &'static str {
    match (key.name, &key.takes) {
        ("rate", Takes::Text) => "tax",
        ("value", _) => "0.07",
        ("part", _) => "sensor collar",
        ("layer", _) => "0.1 mm",
        ("per_volume", _) => "0 s",
        ("from_qty" | "qty" | "lead", _) => "1",
        ("pack", _) => "1 L",
        (_, Takes::Word(words)) => words[0],
        (_, Takes::Number([one, ..])) => one.example().split('`').next().unwrap(),
        _ => "A",
    }
}

/// What is found in a sheet of one row: the columns that must be there, and one with some text.
fn found_with(spec: &Spec, column: &str, text: &str) -> Loaded {
    let mut cells: Vec<(&str, &str)> = spec
        .columns
        .iter()
        .filter(|key| key.needed && key.name != column)
        .map(|key| (key.name, good_text(key)))
        .collect();
    cells.push((column, text));
    let (header, row): (Vec<&str>, Vec<&str>) = cells.into_iter().unzip();
    let sheet = format!("{}\n{}\n", header.join(","), row.join(","));
    let scenario = changed(TEN, &[("currency = \"USD\"", "currency = \"USD\"\npricing = \"p\"")]);
    loaded(&[("scenario.toml", &scenario), (&format!("p/{}", spec.file), &sheet)])
}

/// True where a finding is about a cell of the column.
fn is_about(loaded: &Loaded, column: &str) -> bool {
    let cells = loaded.log.found.iter().filter_map(|d| d.place.as_ref()?.cell.as_ref());
    cells.into_iter().any(|(name, _)| name == column)
}

#[test]
fn every_column_that_is_more_than_a_text_is_read() {
    let mut read = 0;
    for spec in &SPECS {
        let columns = spec.columns.iter().chain(EVERYWHERE);
        for key in columns.filter(|key| !matches!(key.takes, Takes::Text)) {
            let found = found_with(spec, key.name, "nonsense");
            assert!(
                is_about(&found, key.name),
                "{} {}: {:?}",
                spec.file,
                key.name,
                findings(&found)
            );
            read += 1;
        }
    }
    assert!(read > 50, "{read}");
}

#[test]
fn a_spread_stands_beside_the_numbers_that_are_declared_with_one() {
    for spec in &SPECS {
        for key in spec.columns {
            let low = format!("{}_low", key.name);
            let found = found_with(spec, &low, "");
            let refused = codes(&found).contains(&Code::UnknownColumn);
            assert_eq!(refused, !key.takes.has_spread(), "{} {low}", spec.file);
        }
    }
}

#[test]
fn rows_are_found_by_declared_columns() {
    for (index, spec) in SPECS.iter().enumerate() {
        assert_eq!(spec.kind as usize, index, "{}", spec.file);
        let own = names(spec.columns);
        assert!(spec.found_by.iter().all(|column| own.contains(column)), "{}", spec.file);
    }
    assert_eq!(names(RECORD), RECORD_COLUMNS);
}

/// Names in backticks that stand in a text, and those of them that are bold.
fn named_in(text: &str) -> (Vec<&str>, Vec<&str>) {
    let quoted: Vec<&str> = text.split('`').skip(1).step_by(2).collect();
    let bold = text.split("**`").skip(1).filter_map(|rest| rest.split("`**").next());
    (quoted, bold.collect())
}

#[test]
fn the_readme_names_every_column() {
    let readme = fs::read_to_string(root().join("README.md")).unwrap();
    let section = |head: &str| {
        let rest = readme.split(head).nth(1).unwrap_or_else(|| panic!("no {head}"));
        rest.split("\n### ").next().unwrap()
    };
    let sheets = section("### Price sheets\n");
    let intro = sheets.split("| sheet |").next().unwrap();
    let (quoted, _) = named_in(intro);
    assert!(names(EVERYWHERE).iter().all(|column| quoted.contains(column)), "{quoted:?}");
    for spec in &SPECS {
        let row = sheets.lines().find(|line| line.starts_with(&format!("| {} |", spec.file)));
        let (quoted, bold) = named_in(row.unwrap_or_else(|| panic!("no row for {}", spec.file)));
        let missing = names(spec.columns).into_iter().filter(|name| !quoted.contains(name));
        assert_eq!(missing.collect::<Vec<_>>(), [""; 0], "{}", spec.file);
        let needed: BTreeSet<&str> = spec.needed().collect();
        assert_eq!(bold.into_iter().collect::<BTreeSet<_>>(), needed, "{}", spec.file);
    }
    let (quoted, _) = named_in(section("### record.csv\n"));
    assert!(names(RECORD).iter().all(|column| quoted.contains(column)), "{quoted:?}");
}

#[test]
fn every_column_says_what_it_means() {
    let columns = SPECS.iter().flat_map(|spec| spec.columns).chain(EVERYWHERE).chain(RECORD);
    for key in columns {
        assert!(key.means.len() > 5, "{}", key.name);
    }
}
