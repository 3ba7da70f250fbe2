//! `sweep` as a user meets it: the table and its pivot, many scenarios, points that are not valid, an end before the end, and what bad options get.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use flipcount::report::PARQUET;

use crate::commands::{DEMO, run, ten_numbers};
use crate::help::{compare, plan, project};

/// The lines of a table.
fn lines(file: &Path) -> Vec<String> {
    let text = fs::read_to_string(file).expect("a table");
    text.lines().map(str::to_owned).collect()
}

/// A copy of a scenario of ten numbers in a folder of that name.
fn small(root: &Path, name: &str, more: &str) {
    let path = root.join(name);
    fs::create_dir_all(&path).expect("a folder");
    fs::write(path.join("scenario.toml"), ten_numbers("collar", more)).expect("a scenario");
}

#[test]
fn the_table_of_a_small_grid() {
    let home = tempfile::tempdir().expect("a folder");
    small(home.path(), "one", "");
    let asked = [
        "sweep",
        "one",
        "--vary",
        "labour=30,60 per h",
        "--vary",
        "iterations.planned=0..2",
        "-o",
        "t.csv",
        "--pivot",
        "p.csv",
    ];
    let (code, out, error) = run(&asked, home.path());
    assert_eq!((code, error.as_str()), (0, "10 rows to t.csv\n"));
    let pivot = fs::read_to_string(home.path().join("p.csv")).expect("a pivot");
    let table = fs::read_to_string(home.path().join("t.csv")).expect("a table");
    let left = fs::read_dir(home.path()).expect("a folder").count();
    assert_eq!(left, 3, "nothing is left beside the files");
    insta::assert_snapshot!("small", format!("{table}\n{pivot}\n{out}").replace('\r', ""));
}

#[test]
fn figures_are_those_of_compare_with_the_values_in_the_file() {
    let home = tempfile::tempdir().expect("a folder");
    let table = home.path().join("t.csv");
    let file = table.to_str().expect("text");
    let asked = ["sweep", DEMO, "--vary", "labour=25,55 per h", "-o", file];
    assert_eq!(run(&asked, &project("")).0, 0);
    for labour in [25, 55] {
        let copy = tempfile::tempdir().expect("a folder");
        for sub in ["scenarios/river-sonde/parts", "pricing/river-sonde"] {
            fs::create_dir_all(copy.path().join(sub)).expect("a folder");
            for entry in fs::read_dir(project(sub)).expect("files").flatten() {
                fs::copy(entry.path(), copy.path().join(sub).join(entry.file_name()))
                    .expect("a copy");
            }
        }
        let text = fs::read_to_string(project(DEMO).join("scenario.toml")).expect("the demo");
        let edited = text.replace("\"40 per h\"", &format!("\"{labour} per h\""));
        assert_ne!(text, edited);
        let demo = copy.path().join(DEMO);
        fs::write(demo.join("scenario.toml"), edited).expect("written");
        let answer = compare(&demo, &[]);
        let rows: Vec<String> = lines(&table)
            .into_iter()
            .filter(|l| l.starts_with(&format!("{DEMO},{labour},")))
            .collect();
        assert_eq!(rows.len(), answer["plans"].as_array().expect("plans").len());
        for row in rows {
            let mut cells = csv_cells(&row).into_iter().skip(2);
            let mut cell = || cells.next().expect("a cell");
            let plan = plan(&answer, &cell());
            let verdict = cell();
            assert_eq!(verdict == "yes", answer["verdict"]["plan"] == plan["name"], "{row}");
            cell();
            let last = &plan["final"];
            for key in ["avoidable", "outlay", "consumed"] {
                assert_eq!(last[key], cell(), "{row}");
            }
            assert_eq!(cell(), "USD");
            assert_eq!(last["days"].as_f64(), cell().parse().ok(), "{row}");
        }
    }
}

fn csv_cells(line: &str) -> Vec<String> {
    let (mut cells, mut quoted) = (vec![String::new()], false);
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(String::new()),
            c => cells.last_mut().expect("a cell").push(c),
        }
    }
    cells
}

#[test]
fn many_scenarios_by_folder_and_pattern() {
    let home = tempfile::tempdir().expect("a folder");
    for (name, more) in [("shop/a", ""), ("shop/b", "copies = 3\n"), ("other", "")] {
        small(home.path(), name, more);
    }
    let ask = |scenarios: &[&str]| {
        let vary = ["--vary", "labour=20..40/20 per h", "-o", "t.csv", "--force", "--winner"];
        let all: Vec<&str> = ["sweep"].iter().chain(scenarios).chain(&vary).copied().collect();
        let (code, out, error) = run(&all, home.path());
        assert_eq!(code, 0, "{error}");
        let firsts: Vec<String> = lines(&home.path().join("t.csv"))
            .iter()
            .skip(1)
            .map(|l| csv_cells(l)[0].clone())
            .collect();
        (firsts, out)
    };
    assert_eq!(ask(&["shop"]).0, ["shop/a", "shop/a", "shop/b", "shop/b"]);
    assert_eq!(ask(&["oth*", "shop/b/scenario.toml"]).0, ["other", "other", "shop/b", "shop/b"]);
    let (_, out) = ask(&["shop", "other"]);
    assert!(out.contains("3 scenarios (6 points") && out.contains("Downwards: scenario."), "{out}");
    let (code, _, error) = run(&["sweep", "shop", "--vary", "part[boot].copies=1,2"], home.path());
    assert_eq!(code, 2);
    assert!(
        error.contains(
            "no input is called `part[boot].copies` in shop/a; did you mean `part[collar].copies`?"
        ),
        "{error}"
    );
    fs::write(home.path().join("shop/b/scenario.toml"), "title = 3\n").expect("written");
    let (code, _, error) =
        run(&["sweep", "shop", "--vary", "labour=20 per h", "-o", "n.csv"], home.path());
    assert_eq!(code, 3, "{error}");
    assert!(
        error.contains("shop/b/scenario.toml") && !home.path().join("n.csv").exists(),
        "{error}"
    );
}

#[test]
fn what_cannot_be_asked_is_said() {
    let home = tempfile::tempdir().expect("a folder");
    small(home.path(), "one", "");
    fs::create_dir(home.path().join("d.csv")).expect("a folder");
    let demo = project(DEMO);
    let demo = demo.to_str().expect("text");
    let cases: [(&[&str], &str); 14] = [
        (&["one", "--vary", "labour=20 per h", "--pivot", "no/p.csv"], "make the folder no first"),
        (&["one", "--vary", "labour"], "expected KEY=VALUES"),
        (&["one", "--vary", "labour=5..3 per h"], "falls"),
        (&["one", "--vary", "labour=20,30"], "write it such as `30 per h`"),
        (&["one", "--vary", "labor=20 per h"], "did you mean `labour`?"),
        (&["one", "--vary", "labour=20 per h", "--vary", "labour=30 per h"], "varied twice"),
        (
            &["one", "--vary", "labour=20 per h", "-o", "t.txt"],
            "neither with .csv nor with .parquet",
        ),
        (&["one", "--vary", "labour=20 per h", "-o", "d.csv"], "is a folder"),
        (&["one", "--vary", "labour=20 per h", "-o", "no/t.csv"], "make the folder no first"),
        (&["x*y", "--vary", "labour=20 per h"], "called like"),
        (&[demo, "--vary", "part[sensor collar].volume=20..40/10 cm3"], "measured or worked out"),
        (&["one", "--vary", "iterations.planned=0"], "plan at least 1"),
        (&["one", "--vary", "labour=0..1/0.00001 per h"], "more than 10000 values"),
        (&["one", "--vary", "labour=20 per h", "--winner"], "--out"),
    ];
    for (args, told) in cases {
        let all: Vec<&str> = ["sweep"].iter().chain(args).copied().collect();
        let (code, out, error) = run(&all, home.path());
        assert_eq!((code, out.as_str()), (2, ""), "{args:?}: {error}");
        assert!(error.contains(told), "{args:?}: {error}");
    }
    let keys = [
        "labour",
        "part[collar].volume",
        "route[out].piece",
        "route[bench].attended",
        "route[bench].print_time",
    ];
    let units = [" per h", " cm3", "", " min", " min"];
    let vary: Vec<String> = keys.iter().zip(units).map(|(k, u)| format!("{k}=1..200{u}")).collect();
    let mut all = vec!["sweep", "one"];
    vary.iter().for_each(|v| all.extend(["--vary", v]));
    let (code, _, error) = run(&all, home.path());
    assert_eq!(code, 2);
    assert!(error.contains("more than 1000000000 points"), "{error}");
}

/// Begins a sweep and kills it once so many pieces are there. False where it was done before.
fn killed(args: &[&str], home: &Path, pieces: usize) -> bool {
    let mut command = Command::new(env!("CARGO_BIN_EXE_flipcount"));
    let child = command.args(args).current_dir(home).stdout(Stdio::null()).stderr(Stdio::null());
    let mut child = child.spawn().expect("the command begins");
    let output = Path::new(args[args.iter().position(|a| *a == "-o").expect("an output") + 1]);
    let beside = home.join(format!("{}.pieces", output.display()));
    let count = || {
        let entries = fs::read_dir(&beside).into_iter().flatten().flatten();
        entries.filter(|e| e.file_name().to_string_lossy().ends_with(".piece")).count()
    };
    let begun = Instant::now();
    while count() < pieces && child.try_wait().expect("a child").is_none() {
        assert!(begun.elapsed() < Duration::from_secs(120), "no piece is finished");
        std::thread::sleep(Duration::from_millis(1));
    }
    let was_done = child.try_wait().expect("a child").is_some();
    child.kill().expect("killed");
    child.wait().expect("gone");
    assert!(was_done || !home.join(output).exists(), "no table before all of it is there");
    !was_done
}

const LABOUR: &str = "labour=20..60/0.05 per h";
const PRINT: &str = "route[out].piece=60..100/0.4";

#[test]
fn a_killed_sweep_goes_on_and_leaves_the_same_table() {
    let home = tempfile::tempdir().expect("a folder");
    small(home.path(), "one", "");
    let ends: &[&str] = if PARQUET { &["csv", "parquet"] } else { &["csv"] };
    for end in ends {
        let (whole, cut) = (format!("whole.{end}"), format!("cut.{end}"));
        let ask = |file: &str| -> Vec<String> {
            ["sweep", "one", "--vary", LABOUR, "--vary", PRINT, "-o", file]
                .map(str::to_owned)
                .to_vec()
        };
        let run_it = |file: &str| {
            let args = ask(file);
            let args: Vec<&str> = args.iter().map(String::as_str).collect();
            run(&args, home.path())
        };
        let (code, expected, error) = run_it(&whole);
        assert_eq!(code, 0, "{error}");
        let args = ask(&cut);
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        // Killed again and again, each time a little later.
        let kills = (1..=3).filter(|&pieces| killed(&args, home.path(), pieces)).count();
        assert!(kills > 0, "it was too quick to be killed");
        let (code, out, error) = run_it(&cut);
        assert_eq!(code, 0, "{error}");
        assert!(error.contains("going on,"), "{error}");
        assert_eq!(out, expected, "the pivot is the same");
        let [whole, cut] = [whole, cut].map(|f| fs::read(home.path().join(f)).expect("a table"));
        assert!(whole == cut && whole.len() > 100_000, "{end}: {} and {}", whole.len(), cut.len());
    }
    let left = fs::read_dir(home.path()).expect("a folder").count();
    assert_eq!(left, 1 + 2 * ends.len(), "no pieces are left");
}

#[test]
fn pieces_of_another_question_are_refused() {
    let home = tempfile::tempdir().expect("a folder");
    small(home.path(), "one", "");
    let asked = ["sweep", "one", "--vary", LABOUR, "--vary", PRINT, "-o", "t.csv"];
    assert!(killed(&asked, home.path(), 1), "it was too quick to be killed");
    let other = ["sweep", "one", "--vary", LABOUR, "-o", "t.csv"];
    let (code, _, error) = run(&other, home.path());
    assert_eq!(code, 2);
    assert!(error.contains("t.csv.pieces holds pieces of another question"), "{error}");
    let shorter =
        ["sweep", "one", "--vary", LABOUR, "--vary", "route[out].piece=60..90/0.4", "-o", "t.csv"];
    let (_, _, error) = run(&shorter, home.path());
    assert!(error.contains("vary route[out].piece was"), "{error}");
    // A damaged piece is worked out anew.
    let beside = fs::read_dir(home.path().join("t.csv.pieces")).expect("pieces").flatten();
    let is_piece = |path: &PathBuf| path.extension().is_some_and(|e| e == "piece");
    let piece = beside.map(|e| e.path()).find(is_piece).expect("a piece");
    let mut bytes = fs::read(&piece).expect("a piece");
    bytes[20] ^= 1;
    fs::write(&piece, bytes).expect("written");
    small(home.path(), "one", "# a comment\n");
    let (code, _, error) = run(&asked, home.path());
    assert_eq!(code, 2);
    assert!(error.contains("`one` or a file it names has changed since"), "{error}");
    assert!(!home.path().join("t.csv").exists());
    small(home.path(), "one", "");
    assert_eq!(run(&asked, home.path()).0, 0);
    let first = fs::read(home.path().join("t.csv")).expect("a table");
    let anew: Vec<&str> = asked.iter().copied().chain(["--force", "--threads", "1"]).collect();
    assert_eq!(run(&anew, home.path()).0, 0);
    assert!(first == fs::read(home.path().join("t.csv")).expect("a table"));
    let (code, _, error) = run(&asked, home.path());
    assert_eq!(code, 2);
    assert!(error.contains("is there already"), "{error}");
}

#[test]
fn inputs_that_are_judged_together_are_read_together() {
    let home = tempfile::tempdir().expect("a folder");
    small(home.path(), "one", "iterations = 2\n");
    let (own, planned) = ("part[collar].iterations=1..3", "iterations.planned=1..3");
    let asked = [
        "sweep",
        "one",
        "--vary",
        "labour=20..30/10 per h",
        "--vary",
        planned,
        "--vary",
        own,
        "-o",
        "t.csv",
    ];
    let (code, _, error) = run(&asked, home.path());
    assert_eq!(code, 0, "{error}");
    let table: Vec<Vec<String>> =
        lines(&home.path().join("t.csv")).iter().skip(1).map(|l| csv_cells(l)).collect();
    for row in &table {
        let number = |at: usize| row[at].parse::<u32>().expect("a number");
        // With 3 of its own a part may be made where 3 are planned, whatever the file plans.
        assert_eq!(row[4].is_empty(), number(3) > number(2), "{row:?}");
        assert_eq!(row[13].contains("above the"), number(3) > number(2), "{row:?}");
    }
    // What decides how the files are read turns slowest.
    let mut places: Vec<String> = table.iter().map(|row| row[1..4].join(",")).collect();
    places.dedup();
    assert_eq!(places.len(), 18);
    assert_eq!(places[..3], ["20,1,1", "30,1,1", "20,1,2"]);
}
