//! The command as a user meets it: exit codes, scenarios that are written or left alone, what pipes get.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

use flipcount::model::limits;
use serde_json::Value;

use crate::help::{flipcount, folder, project};

pub const DEMO: &str = "scenarios/river-sonde";
pub const FIRST: &str = "scenarios/first-look";

/// Ten numbers; a part that no route can make where `must` asks for what nothing states.
pub fn ten_numbers(part: &str, more: &str) -> String {
    format!(
        "title = \"t\"\ncurrency = \"USD\"\nlabour = \"30 per h\"\n[iterations]\nplanned = 4\n\
         [[part]]\nname = \"{part}\"\nvolume = \"50 cm3\"\n{more}\
         [[route]]\nname = \"bench\"\nkind = \"bench\"\nresin = \"130 per L\"\nprint_time = \"5 h\"\n\
         attended = \"1 h\"\nspoil = 0.1\n\
         [[route]]\nname = \"out\"\nkind = \"order\"\npiece = 90.00\ndelivery_cost = 12.00\n\
         arrives_after = \"6 business days\"\n"
    )
}

/// Runs the command and returns its exit code with both outputs.
pub fn run(args: &[&str], at: &Path) -> (i32, String, String) {
    let output = flipcount().args(args).current_dir(at).output().expect("the command runs");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("UTF-8");
    let code = output.status.code().expect("an exit code");
    (code, text(output.stdout), text(output.stderr))
}

/// A path as an argument.
pub fn path(at: &Path) -> &str {
    at.to_str().expect("a path that is text")
}

#[test]
fn every_ending_has_its_code() {
    let home = project("");
    assert_eq!(run(&["compare", DEMO], &home).0, 0);
    assert_eq!(run(&["compare", DEMO, "--json", "--all"], &home).0, 2);
    assert_eq!(run(&["compare", DEMO, "--iterations", "0"], &home).0, 2);
    assert_eq!(run(&["fly"], &home).0, 2);
    assert_eq!(run(&["--help"], &home).0, 0);
    assert_eq!(run(&["compare", "scenarios/not-there"], &home).0, 3);
    let wrong = folder(&ten_numbers("collar", "copies = 0\n"), &[]);
    assert_eq!(run(&["check", path(wrong.path())], &home).0, 3);
    assert_eq!(run(&["compare", path(wrong.path())], &home).0, 3);
    assert_eq!(run(&["check", DEMO], &home).0, 0);
}

#[test]
fn a_scenario_that_is_not_there_is_answered_with_how_to_get_one() {
    let (_, _, error) = run(&["check", "scenarios/not-there", "--lines"], &project(""));
    assert!(error.contains("no such folder") && error.contains("flipcount new DIR"), "{error}");
    let (_, _, error) = run(&["check", "scenarios", "--lines"], &project(""));
    assert!(error.contains("no scenario.toml in this folder"), "{error}");
}

#[test]
fn counts_above_the_limits_of_a_scenario_are_usage_errors() {
    for (option, most) in [("--copies", limits::COPIES), ("--iterations", limits::HORIZON)] {
        let (code, out, error) =
            run(&["compare", DEMO, option, &(most + 1).to_string()], &project(""));
        assert_eq!((code, out.as_str()), (2, ""), "{error}");
        assert!(error.contains(&most.to_string()), "{error}");
    }
}

#[test]
fn without_a_scenario_one_line_says_how_to_get_one() {
    let empty = tempfile::tempdir().expect("an empty folder");
    let (code, out, error) = run(&["compare"], empty.path());
    assert_eq!((code, out.as_str(), error.lines().count()), (2, "", 1), "{error}");
    assert!(error.contains("flipcount new my-scenario"), "{error}");
}

#[test]
fn a_scenario_in_the_current_folder_is_meant() {
    let here = folder(&ten_numbers("collar", ""), &[]);
    let (code, out, _) = run(&["compare", "--json"], here.path());
    assert_eq!(code, 0);
    let answer: Value = serde_json::from_str(&out).expect("JSON");
    assert_eq!(answer["planned"], 4);
}

#[test]
fn where_no_plan_is_feasible_the_reasons_are_the_answer() {
    let wanted = folder(&ten_numbers("collar", "must = { opaque = true }\n"), &[]);
    let (code, out, _) = run(&["compare", path(wanted.path())], &project(""));
    assert_eq!(code, 4);
    assert!(out.contains("No plan is feasible."), "{out}");
    assert!(
        out.contains("collar by bench: opaque must be yes, is not stated in the sheet."),
        "{out}"
    );
    assert!(
        out.contains("collar by out: opaque must be yes, is not stated in the sheet."),
        "{out}"
    );
    let (code, out, error) = run(&["budget", path(wanted.path())], &project(""));
    assert_eq!((code, out.as_str()), (4, ""));
    assert!(error.contains("no plan is feasible"), "{error}");
}

#[test]
fn too_many_assignments_ask_for_named_plans() {
    // 2 routes for each of 11 parts: 2048 assignments, above the 2000 that are tried.
    let parts: String =
        (0..11).map(|i| format!("[[part]]\nname = \"p{i}\"\nvolume = \"5 cm3\"\n")).collect();
    let many = folder(
        &ten_numbers("collar", "")
            .replace("[[part]]\nname = \"collar\"\nvolume = \"50 cm3\"\n", &parts),
        &[],
    );
    let (code, _, error) = run(&["compare", path(many.path())], &project(""));
    assert_eq!(code, 3, "{error}");
    assert!(error.contains("2000") && error.contains("[[plan]]"), "{error}");
}

#[test]
fn new_writes_what_passes_and_never_overwrites() {
    for full in [false, true] {
        let home = tempfile::tempdir().expect("a folder");
        let mut args = vec!["new", "my scenario"];
        if full {
            args.push("--full");
        }
        let (code, out, _) = run(&args, home.path());
        assert_eq!(code, 0);
        assert!(out.ends_with(" then run\n  flipcount compare 'my scenario'\n"), "{out}");
        assert_eq!(out.contains("pricing"), full, "{out}");
        let (code, _, error) = run(&["check", "my scenario"], home.path());
        assert_eq!(code, 0, "{error}");
        let (code, out, _) = run(&["compare", "my scenario"], home.path());
        assert_eq!(code, 0);
        // 100 columns, as the command is run here.
        assert!(out.lines().count() <= 40, "{} lines:\n{out}", out.lines().count());
        let file = home.path().join("my scenario/scenario.toml");
        fs::write(&file, "mine").expect("the user's own text");
        let (code, _, error) = run(&args, home.path());
        assert_eq!(code, 2, "{error}");
        assert_eq!(fs::read_to_string(&file).expect("still there"), "mine");
        assert_eq!(run(&["new", "my scenario/scenario.toml"], home.path()).0, 2);
    }
}

#[test]
fn a_reader_that_leaves_early_is_no_failure() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_flipcount"))
        .args(["compare", "--all", DEMO])
        .current_dir(project(""))
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .expect("the command starts");
    drop(child.stdout.take());
    assert_eq!(child.wait().expect("it ends").code(), Some(0));
}

#[test]
fn check_can_give_one_line_a_finding() {
    let wrong = folder(&ten_numbers("collar", "copies = 0\ncolour = \"red\"\n"), &[]);
    let (code, out, error) = run(&["check", path(wrong.path()), "--lines"], &project(""));
    assert_eq!((code, out.as_str()), (3, ""));
    let lines: Vec<&str> = error.lines().collect();
    assert_eq!(lines.len(), 3, "{error}");
    assert!(
        lines[..2].iter().all(|l| l.contains("scenario.toml:") && l.contains("error[")),
        "{error}"
    );
    assert_eq!(lines[2], "2 errors");
}
