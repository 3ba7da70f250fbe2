//! The files of a report: which there are, when they are refused, what is in them, and that they are the same each time.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use flipcount::report::{LEDGER_COLUMNS, PARQUET};
use rust_decimal::Decimal;

use crate::budget::Columns;
use crate::commands::{DEMO, FIRST, path, run, ten_numbers};
use crate::help::{folder, project};
use crate::sheets::{Book, Value};

/// What every report has.
const ALWAYS: [&str; 4] = ["answer.json", "ledger-months.csv", "ledger.csv", "report.html"];
/// Options that ask for everything this build can write.
fn everything() -> Vec<&'static str> {
    let mut options = vec!["--xlsx", "--markdown"];
    options.extend(PARQUET.then_some("--parquet"));
    options
}

/// The files of a folder by name.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("an entry"));
    let file = |entry: fs::DirEntry| {
        let name = entry.file_name().into_string().expect("a name");
        (name, fs::read(entry.path()).expect("a file"))
    };
    entries.map(file).collect()
}

/// A report with everything, of which nothing may be missing.
fn whole(scenario: &Path) -> BTreeMap<String, Vec<u8>> {
    let dir = tempfile::tempdir().expect("a folder");
    let target = dir.path().join("out");
    let args = [&["report", path(scenario), "-o", path(&target)], &everything()[..]].concat();
    let (code, out, error) = run(&args, dir.path());
    assert_eq!((code, out.as_str()), (0, ""), "{error}");
    files(&target)
}

fn text(files: &BTreeMap<String, Vec<u8>>, name: &str) -> String {
    String::from_utf8(files[name].clone()).expect("UTF-8")
}

/// Names that a file format or a program could take for something else, as TOML writes them, and as they are meant.
const NAMES: [(&str, &str); 6] = [
    ("=HYPERLINK(1)", "=HYPERLINK(1)"),
    ("+collar \\\"a\\\", b", "+collar \"a\", b"),
    ("two\\nlines", "two\nlines"),
    ("\\u202e\\u200fturned", "\u{202e}\u{200f}turned"),
    ("<b>bold</b> & | `x` _x0041_", "<b>bold</b> & | `x` _x0041_"),
    ("-1;tab\\tbed", "-1;tab\tbed"),
];

/// A scenario whose parts have them, each ordered, so that each has entries of its own.
fn risky() -> tempfile::TempDir {
    let part =
        |(name, _): &(&str, &str)| format!("[[part]]\nname = \"{name}\"\nvolume = \"9 cm3\"\n");
    let parts: String = NAMES[1..].iter().map(part).collect();
    let ordered: Vec<String> =
        NAMES.iter().map(|(name, _)| format!("\"{name}\" = \"out\"")).collect();
    let plan =
        format!("[[plan]]\nname = \"@{}\"\nassign = {{ {} }}\n", NAMES[1].0, ordered.join(", "));
    folder(&ten_numbers(NAMES[0].0, &format!("{parts}{plan}")), &[])
}

#[test]
fn files_have_stable_names_in_a_folder_of_the_scenario() {
    let dir = tempfile::tempdir().expect("a folder");
    let demo = project(DEMO);
    let (code, out, error) = run(&["report", path(&demo)], dir.path());
    assert_eq!((code, out.as_str()), (0, ""), "{error}");
    assert!(
        error.contains(
            "report to reports/river-sonde: report.html, answer.json, ledger.csv, ledger-months.csv\n"
        ),
        "{error}"
    );
    let reports = dir.path().join("reports");
    assert_eq!(fs::read_dir(&reports).expect("a folder").count(), 1);
    let found = files(&reports.join("river-sonde"));
    assert_eq!(found.keys().collect::<Vec<_>>(), ALWAYS);
    let printed = |args: &[&str]| run(args, dir.path()).1;
    assert_eq!(text(&found, "answer.json"), printed(&["compare", path(&demo), "--json"]));
    assert_eq!(text(&found, "ledger.csv"), printed(&["budget", path(&demo)]));
    assert_eq!(printed(&["budget", path(&demo), "-o", "b.csv"]), "");
    let months = fs::read_to_string(dir.path().join("b-months.csv")).expect("written");
    assert_eq!(text(&found, "ledger-months.csv"), months);
}

#[test]
fn the_scenario_of_the_current_folder_is_taken() {
    let dir = folder(&ten_numbers("collar", ""), &[]);
    let (code, _, error) = run(&["report", "-o", "out/deep"], dir.path());
    assert_eq!(code, 0, "{error}");
    assert_eq!(files(&dir.path().join("out/deep")).len(), ALWAYS.len());
}

#[test]
fn the_same_question_gives_the_same_bytes() {
    for which in [DEMO, FIRST] {
        let (first, second) = (whole(&project(which)), whole(&project(which)));
        let mut names: Vec<&str> = ALWAYS.into_iter().chain(["report.md", "report.xlsx"]).collect();
        names.extend(PARQUET.then_some("ledger.parquet"));
        names.sort_unstable();
        assert_eq!(first.keys().collect::<Vec<_>>(), names);
        for (name, bytes) in &first {
            assert!(second[name] == *bytes, "{which}: {name}");
        }
    }
}

#[test]
fn files_are_replaced_only_with_force_and_all_or_none() {
    let dir = folder(&ten_numbers("collar", ""), &[]);
    let out = dir.path().join("out");
    let write = |more: &[&str]| run(&[&["report", "-o", "out"], more].concat(), dir.path());
    fs::create_dir(&out).expect("a folder");
    fs::write(out.join("report.md"), "mine").expect("a file in the way");
    // What is not asked for is not in the way, and is told.
    let (code, _, error) = write(&[]);
    assert_eq!(code, 0, "{error}");
    assert!(error.contains("report.md there is of an earlier report"), "{error}");
    let before = files(&out);
    assert_eq!(before["report.md"], b"mine");
    ALWAYS.iter().for_each(|name| fs::remove_file(out.join(name)).expect("a file"));
    // What is asked for is: nothing else is written either.
    let (code, _, error) = write(&["--markdown"]);
    assert_eq!(code, 2, "{error}");
    assert!(error.contains("report.md is there already"), "{error}");
    assert_eq!(files(&out).len(), 1);
    assert_eq!(write(&["--markdown", "--force"]).0, 0);
    let after = files(&out);
    assert!(after["report.md"].starts_with(b"# t"));
    assert_eq!((after.len(), &after["ledger.csv"]), (5, &before["ledger.csv"]));
}

#[test]
fn what_can_be_no_folder_of_a_report_is_refused() {
    let dir = folder(
        &ten_numbers("collar", "")
            .replace("currency = \"USD\"", "currency = \"USD\"\npricing = \"pricing\""),
        &[("supplies.csv", "item,kind,pack,pack_price\nwash solvent,solvent,5 L,46\n")],
    );
    let at = |name: &str| dir.path().join(name);
    fs::create_dir_all(at("taken/ledger.csv")).expect("a folder in place of a file");
    let before = fs::read_to_string(at("scenario.toml")).expect("a file");
    for (target, why) in [
        ("scenario.toml", "scenario.toml is no folder"),
        ("scenario.toml/out", "cannot make the folder scenario.toml/out"),
        ("taken", "taken/ledger.csv is a folder"),
        ("pricing", "would be read as a price sheet"),
    ] {
        let (code, out, error) = run(&["report", "-o", target, "--force", "--xlsx"], dir.path());
        assert_eq!((code, out.as_str()), (2, ""), "{target}: {error}");
        assert!(error.contains(why) && !error.contains(".flipcount-"), "{target}: {error}");
    }
    assert_eq!(fs::read_to_string(at("scenario.toml")).expect("a file"), before);
    assert_eq!(fs::read_dir(at("taken")).expect("a folder").count(), 1);
    assert_eq!(fs::read_dir(at("pricing")).expect("a folder").count(), 1);
    assert_eq!(fs::read_dir(dir.path()).expect("a folder").count(), 3);
}

/// Where whoever runs the test may write everywhere, there is nothing to see.
#[cfg(unix)]
#[test]
fn a_folder_that_cannot_be_written_stays_as_it_was() {
    use std::os::unix::fs::PermissionsExt;
    let dir = folder(&ten_numbers("collar", ""), &[]);
    let closed = dir.path().join("closed");
    fs::create_dir(&closed).expect("a folder");
    fs::set_permissions(&closed, fs::Permissions::from_mode(0o555)).expect("permissions");
    if fs::write(closed.join("probe"), "").is_ok() {
        eprintln!("SKIPPED: this user may write into read-only folders");
        return;
    }
    for target in ["closed", "closed/new/deep"] {
        let (code, _, error) = run(&["report", "-o", target], dir.path());
        assert_eq!(code, 2, "{error}");
    }
    assert_eq!(fs::read_dir(&closed).expect("a folder").count(), 0);
}

#[test]
fn without_a_feasible_plan_nothing_is_written() {
    let dir = folder(&ten_numbers("collar", "must = { colour = \"red\" }\n"), &[]);
    let (code, _, error) = run(&["report", "-o", "out"], dir.path());
    assert_eq!(code, 4, "{error}");
    assert!(!dir.path().join("out").exists());
}

#[test]
fn parquet_is_written_or_refused_with_a_reason() {
    let dir = folder(&ten_numbers("collar", ""), &[]);
    let (code, _, error) = run(&["report", "-o", "out", "--parquet"], dir.path());
    if PARQUET {
        assert_eq!(code, 0, "{error}");
        let file = &files(&dir.path().join("out"))["ledger.parquet"];
        assert!(file.starts_with(b"PAR1") && file.ends_with(b"PAR1"));
    } else {
        assert_eq!(code, 2);
        assert!(error.contains("without the table engine"), "{error}");
        assert!(!dir.path().join("out").exists());
    }
}

/// Every formula comes to what stands beside it, and nothing but our own sums is one.
#[test]
fn formulas_of_the_workbook_come_to_their_results() {
    let named = risky();
    for scenario in [project(DEMO), project(FIRST), named.path().to_owned()] {
        let book = Book::of(&whole(&scenario)["report.xlsx"]);
        let names: Vec<&str> = book.sheets.iter().map(|s| s.0.as_str()).collect();
        assert_eq!(names, ["verdict", "plans", "curves", "ledger", "months"]);
        let mut formulas = BTreeMap::new();
        for (name, sheet) in &book.sheets {
            for (at, cell) in sheet {
                let Some(formula) = &cell.formula else { continue };
                *formulas.entry(name.as_str()).or_insert(0) += 1;
                let now = Value::Number(book.computed(name, formula).normalize());
                let told = match &cell.value {
                    Value::Number(told) => Value::Number(told.normalize()),
                    other => other.clone(),
                };
                assert_eq!(now, told, "{name} {at:?} {formula}");
            }
        }
        assert_eq!((formulas["verdict"], formulas["ledger"]), (3, 4));
        assert!(formulas["plans"] == 6 && formulas["months"] >= 12 && formulas["curves"] >= 8);
    }
}

#[test]
fn the_workbook_holds_the_totals_curves_and_rows_of_the_other_files() {
    for which in [DEMO, FIRST] {
        let files = whole(&project(which));
        let book = Book::of(&files["report.xlsx"]);
        let answer: serde_json::Value =
            serde_json::from_str(&text(&files, "answer.json")).expect("JSON");
        let csv = text(&files, "ledger.csv");
        let ledger = Columns::of(&csv);
        let sheet = book.sheet("ledger");
        for (column, name) in (1..).zip(LEDGER_COLUMNS) {
            assert_eq!(sheet[&(2, column)].value, Value::Text(name.to_owned()));
        }
        let amounts = ledger.column("amount");
        for (row, amount) in (3..).zip(&amounts) {
            assert_eq!(sheet[&(row, 13)].value, number(amount), "row {row}");
        }
        assert!(!sheet.contains_key(&(3 + amounts.len() as u32, 1)));
        let plan = answer["plans"][0]["curves"]["avoidable"].as_array().expect("a curve");
        for (row, value) in (24..).zip(plan) {
            let told = book.sheet("curves")[&(row, 2)].value.clone();
            assert_eq!(told, number(value.as_str().expect("a decimal")), "row {row}");
        }
        let drawings = book.files.iter().filter(|f| f.starts_with("xl/charts/chart")).count();
        assert_eq!(drawings, 2);
    }
}

fn number(text: &str) -> Value {
    let value: Decimal = text.parse().expect("a decimal");
    Value::Number(value.normalize())
}

#[test]
fn names_reach_every_file_as_they_are_and_run_nowhere() {
    let dir = risky();
    let files = whole(dir.path());
    let csv = text(&files, "ledger.csv");
    let parts = Columns::of(&csv);
    let parts = parts.column("part");
    let book = Book::of(&files["report.xlsx"]);
    let cells: Vec<&Value> = book.sheet("ledger").values().map(|c| &c.value).collect();
    for (_, name) in NAMES {
        let in_csv =
            if name.starts_with(['=', '+', '-']) { format!("'{name}") } else { name.to_owned() };
        assert!(parts.contains(&in_csv.as_str()), "{in_csv:?} in {parts:?}");
        // The workbook's own escape for what looks like one.
        let in_cell = Value::Text(name.replace("_x0041_", "_x005F_x0041_"));
        assert!(cells.contains(&&in_cell), "{in_cell:?}");
    }
    let said = text(&files, "report.md");
    assert!(said.contains("\\<b\\>bold\\</b\\> \\& \\| \\`x\\` \\_x0041\\_"), "{said}");
    assert!(!said.contains("<b>") && !said.contains('\t'));
}

/// Another reader of CSV sees the same cells.
#[test]
fn python_reads_the_csv_files_alike() {
    const READ: &str = "import csv, json, sys\n\
                        print(json.dumps(list(csv.reader(open(sys.argv[1], newline='', encoding='utf-8')))))";
    let dir = risky();
    assert_eq!(run(&["report", "-o", "out"], dir.path()).0, 0);
    for name in ["ledger.csv", "ledger-months.csv"] {
        let file = dir.path().join("out").join(name);
        let python = std::process::Command::new("python3").args(["-c", READ]).arg(&file).output();
        let Some(python) = python.ok().filter(|p| p.status.success()) else {
            eprintln!("SKIPPED: no python3 to read {name} again");
            return;
        };
        let theirs: Vec<Vec<String>> = serde_json::from_slice(&python.stdout).expect("JSON");
        let mut ours =
            csv::ReaderBuilder::new().has_headers(false).from_path(&file).expect("a file");
        let ours: Vec<Vec<String>> =
            ours.records().map(|r| r.expect("a row").iter().map(str::to_owned).collect()).collect();
        assert!(theirs == ours && ours.len() > 2, "{name}");
    }
}

#[test]
fn markdown_says_what_compare_says() {
    let files = whole(&project(DEMO));
    let said = text(&files, "report.md");
    let answer: serde_json::Value =
        serde_json::from_str(&text(&files, "answer.json")).expect("JSON");
    for heading in ["Verdict", "Plans", "Drawn", "Notes", "Words", "Caution"] {
        assert!(said.contains(&format!("\n## {heading}\n")), "{heading}");
    }
    let first = text(&whole(&project(FIRST)), "report.md");
    assert!(first.contains("\n## Assumed\n") && first.contains("\n## Not counted\n"), "{first}");
    let caution = answer["cautions"][0].as_str().expect("a caution");
    assert!(said.contains(caution.split('.').next().unwrap_or(caution)), "{caution}");
    // Every row of a table has as many cells as its head.
    let bars = |line: &str| line.replace("\\|", "").matches('|').count();
    let mut lines = said.lines().peekable();
    while let Some(line) = lines.next() {
        if let Some(next) =
            lines.peek().filter(|next| next.starts_with('|') && line.starts_with('|'))
        {
            assert_eq!(bars(line), bars(next), "{line}\n{next}");
        }
    }
    // The command is not needed to read it.
    assert!(!said.contains("--all"), "{said}");
}
