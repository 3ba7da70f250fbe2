//! What is accepted and doubtful: the river sonde with one slip, and where that is said.

use std::fs;
use std::path::Path;

use crate::help::{compare, flipcount, project};

/// A copy of the river sonde with one text of one file replaced; the text must be there.
fn altered(file: &str, from: &str, to: &str) -> tempfile::TempDir {
    let dir = tempfile::tempdir().expect("a folder");
    fs::create_dir(dir.path().join("pricing")).expect("a folder for sheets");
    let demo = fs::read_to_string(project("scenarios/river-sonde/scenario.toml"));
    let demo = demo.expect("the demo").replace("\"../../pricing/river-sonde\"", "\"pricing\"");
    fs::write(dir.path().join("scenario.toml"), demo).expect("a copy");
    for sheet in fs::read_dir(project("pricing/river-sonde")).expect("sheets").flatten() {
        let to = dir.path().join("pricing").join(sheet.file_name());
        fs::copy(sheet.path(), to).expect("a copy");
    }
    fs::create_dir(dir.path().join("parts")).expect("a folder for meshes");
    for mesh in fs::read_dir(project("scenarios/river-sonde/parts")).expect("meshes").flatten() {
        let to = dir.path().join("parts").join(mesh.file_name());
        fs::copy(mesh.path(), to).expect("a copy");
    }
    let path = dir.path().join(file);
    let text = fs::read_to_string(&path).expect("a file of the demo");
    assert!(text.contains(from), "{file} has no {from}");
    fs::write(&path, text.replacen(from, to, 1)).expect("the slip is written");
    dir
}

/// What a command says of a folder: standard output and standard error.
fn said(command: &str, folder: &Path) -> (String, String) {
    let output = flipcount().arg(command).arg(folder).output().expect("the command runs");
    let text = |bytes| String::from_utf8(bytes).expect("UTF-8");
    let (out, error) = (text(output.stdout), text(output.stderr));
    assert_eq!(output.status.code(), Some(0), "{error}");
    (out, error)
}

#[test]
fn a_quotation_that_no_route_asks_for_is_told() {
    for (from, to, word) in [
        ("\nPrint house A,", "\nPrint hose A,", "did you mean `Print house A`"),
        (",as printed,", ",polished,", "the finish `polished`"),
        (",standard,", ",standart,", "did you mean `standard`"),
    ] {
        let folder = altered("pricing/quotes.csv", from, to);
        let (_, error) = said("check", folder.path());
        assert!(error.contains("the quotation is not used"), "{to}: {error}");
        assert!(error.contains(word), "{to}: {error}");
    }
    let (_, error) = said("check", &project("scenarios/river-sonde"));
    assert!(!error.contains("not used"), "{error}");
}

#[test]
fn a_price_row_of_a_misspelt_service_is_told_and_one_of_another_is_not() {
    let row = "part_volume,1.45,5,";
    let text = fs::read_to_string(project("pricing/river-sonde/services.csv"));
    let text = text.expect("a sheet");
    let line = text.lines().find(|l| l.contains(row)).expect("the row for five pieces");
    let misspelt = |name: &str| line.replacen("Print house A", name, 1);
    for (name, told) in [("Print hose A", true), ("Print house B", false), ("Foundry", false)] {
        let folder = altered("pricing/services.csv", line, &misspelt(name));
        let (_, error) = said("check", folder.path());
        assert_eq!(error.contains("the row is not used"), told, "{name}: {error}");
    }
}

#[test]
fn a_parcel_without_transit_is_told() {
    let sheet = fs::read_to_string(project("pricing/river-sonde/delivery.csv"));
    let sheet = sheet.expect("a sheet");
    let columns: Vec<&str> =
        sheet.lines().next().map(|l| l.split(',').collect()).unwrap_or_default();
    let at = columns.iter().position(|c| *c == "transit").expect("the column");
    let used = |l: &&str| l.starts_with("Print house A,parcel");
    let line = sheet.lines().find(used).expect("the row of a parcel");
    let mut cells: Vec<&str> = line.split(',').collect();
    cells[at] = "";
    let folder = altered("pricing/delivery.csv", line, &cells.join(","));
    let (_, error) = said("compare", folder.path());
    let told = "no transit stated: counted as the day it ships";
    assert!(error.contains(told), "{error}");
}

#[test]
fn a_final_that_breaks_a_must_is_told() {
    let folder = altered(
        "scenario.toml",
        "[final]\n",
        "[final]\nassign = { \"cable boot\" = \"bench, clear\" }\n",
    );
    let told = "the final makes cable boot by bench, clear all the same: opaque must be yes";
    let (out, _) = said("compare", folder.path());
    let out = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(out.contains(told), "{out}");
    let warnings = compare(folder.path(), &[])["warnings"].to_string();
    assert!(warnings.contains(told), "{warnings}");
}

/// Pieces without a price make a plan cheap: the verdict says so wherever it names such a plan.
#[test]
fn a_plan_that_lacks_a_price_is_told_in_the_verdict() {
    let folder = altered("pricing/services.csv", "part_volume,1.60,1,", "part_volume,,1,");
    let (out, _) = said("compare", folder.path());
    assert!(out.lines().count() <= 40, "{out}");
    let verdict = out.split("\n\n").next().unwrap_or_default();
    let verdict = verdict.split_whitespace().collect::<Vec<_>>().join(" ");
    let told = "The price of pieces by print house A, black is not stated: not counted.";
    assert!(verdict.contains(told), "{out}");
    assert!(!said("compare", &project("scenarios/river-sonde")).0.contains("is not stated"));
}

#[test]
fn warnings_beside_an_answer_are_cut_like_errors() {
    let rows: String = (0..50).map(|i| format!("tax,0.07,,far away {i}\n")).collect();
    let folder = altered("pricing/rates.csv", "\ntax,", &format!("\n{rows}tax,"));
    let rates = fs::read_to_string(folder.path().join("pricing/rates.csv")).expect("the sheet");
    let (_, error) = said("compare", folder.path());
    let lines = error.lines().filter(|l| l.contains("far away")).count();
    assert_eq!(lines, 20, "{rates}\n{error}");
    assert!(error.contains("rates.csv: 30 more not shown"), "{error}");
}

/// Beside 0.18 L of displacers 30 mm tall, 60 cm2, the floor of 184 x 128 mm (at 4 mm 184.71 x 128.71 mm, 237.74 cm2) has 177.74 cm2 free. The
/// final's two collars of 79.93 x 75.99 mm and two boots lying on 52 x 38 mm take 160.99 cm2. In jars of 0.24 L it has 157.74.
#[test]
fn pieces_that_may_not_lie_side_by_side_in_the_dye_are_told() {
    let told =
        "pieces may not fit side by side in green dye (bench, dyed): boxes 161.0 cm2, free 157.7";
    let folder = altered("scenario.toml", "displacers = \"0.18 L\"", "displacers = \"0.24 L\"");
    let (out, _) = said("compare", folder.path());
    let words = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains(told), "{out}");
    let warnings = compare(folder.path(), &[])["warnings"].to_string();
    assert!(warnings.contains(told), "{warnings}");
    assert!(!said("compare", &project("scenarios/river-sonde")).0.contains("side by side"));
    // The pieces of an iteration, one collar and two boots, have room: only the final is crowded.
    let alone = altered("scenario.toml", "[final]\ncopies = 2\naccept = 0.9", "");
    let path = alone.path().join("scenario.toml");
    let text = fs::read_to_string(&path).expect("the scenario");
    let text = text.replace("displacers = \"0.18 L\"", "displacers = \"0.24 L\"");
    fs::write(&path, text).expect("the scenario is written");
    assert!(!said("compare", alone.path()).0.contains("side by side"));
}
