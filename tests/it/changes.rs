//! What changed since a kept run: worked by hand, named plainly, in the order of the file; and runs that are no runs.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;

use flipcount::analysis::{Asking, answer, run_of};
use flipcount::model::{Dim, Exact, Scenario};
use flipcount::report::{Between, changes_view, terminal};
use serde_json::Value;

use crate::commands::{DEMO, path, run, ten_numbers};
use crate::help::{compare, folder, project};

/// Copies a folder with all below it; kept runs are left out.
pub fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a folder");
    for entry in fs::read_dir(from).expect("a folder").flatten() {
        let (path, place) = (entry.path(), to.join(entry.file_name()));
        if path.is_dir() {
            copy(&path, &place);
        } else if !entry.file_name().to_string_lossy().starts_with("runs.jsonl") {
            fs::copy(&path, &place).expect("a copy");
        }
    }
}

/// Replaces one text in a file; it must be there.
pub fn edit(file: &Path, from: &str, to: &str) {
    let text = fs::read_to_string(file).expect("a file");
    assert!(text.contains(from), "{from} is not in {}", file.display());
    fs::write(file, text.replace(from, to)).expect("written");
}

/// The demo in a folder of its own; without a due date, so that nothing need be drawn.
struct Demo {
    dir: tempfile::TempDir,
}

impl Demo {
    fn new() -> Demo {
        let dir = tempfile::tempdir().expect("a folder");
        copy(&project("scenarios"), &dir.path().join("scenarios"));
        copy(&project("pricing"), &dir.path().join("pricing"));
        let demo = Demo { dir };
        demo.toml("\ndue      = ", "\n# due    = ");
        demo
    }

    fn file(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    fn toml(&self, from: &str, to: &str) {
        edit(&self.file(DEMO).join("scenario.toml"), from, to);
    }

    fn sheet(&self, name: &str, from: &str, to: &str) {
        edit(&self.file("pricing/river-sonde").join(name), from, to);
    }

    fn save(&self, options: &[&str]) {
        let args = [&["compare", DEMO, "--save", "--samples", "500"], options].concat();
        let (code, _, error) = run(&args, self.dir.path());
        assert_eq!(code, 0, "{error}");
    }

    fn changes(&self, options: &[&str]) -> Value {
        changes(self.dir.path(), DEMO, options)
    }
}

fn changes(at: &Path, scenario: &str, options: &[&str]) -> Value {
    let args = [&["changes", scenario, "--json"], options].concat();
    let (code, out, error) = run(&args, at);
    assert_eq!(code, 0, "{error}");
    serde_json::from_str(&out).expect("JSON")
}

fn decimal(value: &Value) -> rust_decimal::Decimal {
    value.as_str().and_then(|text| text.parse().ok()).unwrap_or_else(|| panic!("{value}"))
}

fn keys(found: &Value) -> Vec<&str> {
    let changes = found["changes"].as_array().expect("changes");
    let numbers = changes.iter().flat_map(|c| c["numbers"].as_array().expect("numbers"));
    numbers.map(|n| n["key"].as_str().expect("a key")).collect()
}

fn named(found: &Value) -> Vec<&str> {
    found["no_numbers"].as_array().expect("names").iter().filter_map(Value::as_str).collect()
}

/// An hour is worth 10 more: the verdict at the bench costs its attended hours times 10 more, to a cent for each of its entries.
#[test]
fn an_hour_that_is_worth_more_costs_its_difference_times_the_hours() {
    let dir = folder(&ten_numbers("collar", ""), &[]);
    let at = dir.path();
    assert_eq!(run(&["compare", path(at), "--save"], at).0, 0);
    let answer = compare(at, &[]);
    let plan = crate::help::plan(&answer, answer["verdict"]["plan"].as_str().expect("a plan"));
    let hours = plan["curves"]["attended_h"][3].as_f64().expect("hours");
    edit(&at.join("scenario.toml"), "30 per h", "40 per h");
    let found = changes(at, path(at), &[]);
    assert_eq!(keys(&found), ["labour"]);
    let moved = decimal(&found["changes"][0]["moved"]["avoidable"]);
    let moved: f64 = moved.to_string().parse().expect("a number");
    assert!(hours > 0.0 && (moved - 10.0 * hours).abs() < 0.05, "{moved} for {hours} h");
    assert_eq!(found["changes"][0]["moved"]["outlay"], "0.00");
    assert_eq!(found["changes"][0]["numbers"][0]["source"], "scenario.toml:3 labour");
    assert_eq!(found["difference"], found["changes"][0]["moved"]);
}

#[test]
fn numbers_are_exchanged_in_the_order_of_the_files_and_sum_to_the_difference() {
    let demo = Demo::new();
    demo.save(&[]);
    demo.sheet("quotes.csv", "13.50", "17.00");
    demo.sheet("materials.csv", "68.00", "61.50");
    demo.toml("overlap  = 0.3 ", "overlap  = 0.4 ");
    demo.toml("labour   = \"40 per h\"", "labour   = \"38 per h\"");
    let found = demo.changes(&[]);
    assert_eq!(
        keys(&found),
        [
            "labour",
            "iterations.overlap",
            "materials[soft resin 70A, uncoloured].pack_price",
            "quotes[Print house A|elastomer, black|as printed|standard|cable boot|2].unit_price",
        ]
    );
    let all = found["changes"].as_array().expect("changes");
    for key in ["avoidable", "outlay"] {
        let sum: rust_decimal::Decimal = all.iter().map(|c| decimal(&c["moved"][key])).sum();
        assert_eq!(sum, decimal(&found["difference"][key]), "{key}");
        let ends = decimal(&found["after"][key]) - decimal(&found["before"][key]);
        assert_eq!(sum, ends, "{key}");
    }
    // The newer verdict is that of `compare`, to the last digit.
    let now = compare(&demo.file(DEMO), &[]);
    let plan = crate::help::plan(&now, now["verdict"]["plan"].as_str().expect("a plan"));
    assert_eq!(found["after"]["avoidable"], plan["final"]["avoidable"]);
}

/// The quotation tips the verdict (`look again` says at 15.90); the hour, which changed as well, does not.
#[test]
fn the_number_that_tipped_the_verdict_is_told() {
    let demo = Demo::new();
    demo.save(&[]);
    demo.toml("labour   = \"40 per h\"", "labour   = \"40.5 per h\"");
    demo.sheet("quotes.csv", "13.50", "17.00");
    let found = demo.changes(&[]);
    let tipped = usize::try_from(found["tipped"].as_u64().expect("tipped")).expect("small");
    let change = &found["changes"][tipped - 1];
    assert!(
        change["numbers"][0]["key"].as_str().expect("a key").starts_with("quotes["),
        "{found:#}"
    );
    assert_eq!(change["plan"], found["after"]["plan"]);
    assert_ne!(found["before"]["plan"], found["after"]["plan"]);
    let (_, out, _) = run(&["changes", DEMO], demo.dir.path());
    assert!(out.contains("tipped by: price of a piece of quotation"), "{out}");
    // Back again: the other way round.
    demo.save(&[]);
    demo.sheet("quotes.csv", "17.00", "13.50");
    let back = demo.changes(&[]);
    assert_eq!(keys(&back).len(), 1);
    assert_eq!(
        (&back["before"]["plan"], &back["after"]["plan"]),
        (&found["after"]["plan"], &found["before"]["plan"])
    );
}

#[test]
fn what_is_no_number_is_named_and_stands_first() {
    let demo = Demo::new();
    demo.save(&[]);
    demo.toml(
        "name      = \"bench, dyed\"\n",
        "name      = \"bench, dyed\"\nclosed = \"the tub cracked\"\n",
    );
    demo.toml("  { do = \"leak test\", attended = \"10 min\", per = \"piece\" },\n", "");
    demo.sheet("supplies.csv", "resin filter,", "paint filter,");
    demo.toml("resin filter", "paint filter");
    demo.toml("labour   = \"40 per h\"", "labour   = \"38 per h\"");
    let found = demo.changes(&[]);
    let names = named(&found);
    for said in [
        "new: supply `paint filter`",
        "gone: supply `resin filter`",
        "gone: step `leak test` of route `bench, clear`",
        "closed of route `bench, dyed`: nothing before, `the tub cracked` after",
    ] {
        assert!(names.contains(&said), "{said} is not in {names:#?}");
    }
    let first = &found["changes"][0];
    assert_eq!(
        (&first["others"], first["numbers"].as_array().map(Vec::len)),
        (&true.into(), Some(0))
    );
    assert_eq!(found["tipped"], 1);
    assert_eq!(keys(&found), ["labour"]);
    let sum =
        decimal(&first["moved"]["avoidable"]) + decimal(&found["changes"][1]["moved"]["avoidable"]);
    assert_eq!(sum, decimal(&found["difference"]["avoidable"]));
}

#[test]
fn the_order_of_steps_is_no_number_and_named() {
    let demo = Demo::new();
    demo.save(&[]);
    let dry = "  { do = \"dry\", attended = \"2 min\", hold = \"overnight\" },\n";
    let cure = "  { do = \"cure\", attended = \"6 min\", hold = \"30 min\", at = \"cure box\" },\n";
    demo.toml(&format!("{dry}{cure}"), &format!("{cure}{dry}"));
    let found = demo.changes(&[]);
    assert_eq!(
        named(&found),
        ["steps of route `bench, dyed`: `print, wash, trim supports, dye, dry, cu...` before, \
             `print, wash, trim supports, dye, cure, d...` after"]
    );
    assert!(keys(&found).is_empty());
    assert_eq!(found["changes"][0]["moved"], found["difference"]);
}

#[test]
fn what_cannot_matter_is_no_change_and_no_second_line() {
    let demo = Demo::new();
    demo.toml("\n# due    = ", "\ndue      = ");
    demo.save(&[]);
    demo.save(&[]);
    let runs = || fs::read_to_string(demo.file(DEMO).join("runs.jsonl")).expect("runs");
    assert_eq!(runs().lines().count(), 1);
    let (_, out, _) = run(&["changes", DEMO], demo.dir.path());
    // Kept with 500 samples, asked anew with 4000.
    assert!(out.contains("--samples: `500` before, `4000` after"), "{out}");
    let args = ["compare", DEMO, "--save"];
    assert_eq!(run(&args, demo.dir.path()).0, 0);
    demo.toml("# River sonde: the soft parts.", "# Another first line, and one more.\n#");
    demo.sheet("quotes.csv", "mail of 20 February", "mail of 20 February; 16:05");
    let (code, out, _) = run(&["changes", DEMO], demo.dir.path());
    assert_eq!(code, 0);
    assert!(out.contains("Nothing that can matter changed; --from names an earlier run."), "{out}");
    assert_eq!(runs().lines().count(), 2);
}

#[test]
fn a_mesh_and_the_options_of_the_command_are_named() {
    let demo = Demo::new();
    demo.save(&["--without", "bench, clear"]);
    let parts = demo.file(DEMO).join("parts");
    fs::copy(parts.join("cable-boot.stl"), parts.join("sensor-collar.stl")).expect("a copy");
    let found = demo.changes(&[]);
    let names = named(&found);
    assert!(names.contains(&"sensor-collar.stl has another content"), "{names:#?}");
    assert!(names.contains(&"--without: `bench, clear` before, nothing after"), "{names:#?}");
    assert!(keys(&found).contains(&"part[sensor collar].volume"), "{found:#}");
}

/// What is recorded moves the verdict: what is behind cannot be avoided any more.
#[test]
fn a_record_that_has_grown_is_named_and_sums_up() {
    let demo = Demo::new();
    demo.save(&[]);
    let line = ["record", DEMO, "--date", "2026-03-04", "--iteration", "1", "--what", "redesign"];
    let started = ["cable boot=print house A, black", "sensor collar=bench, dyed"];
    for (part, route) in started.iter().filter_map(|pair| pair.split_once('=')) {
        let options = ["--part", part, "--route", route, "--date", "2026-03-02"];
        let line = [&["record", DEMO, "--iteration", "1", "--what", "started"], &options[..]];
        let (code, _, error) = run(&line.concat(), demo.dir.path());
        assert_eq!(code, 0, "{error}");
    }
    let (code, _, error) = run(&line, demo.dir.path());
    assert_eq!(code, 0, "{error}");
    let found = demo.changes(&[]);
    assert!(named(&found).contains(&"record.csv has another content"), "{found:#}");
    let moved = found["changes"].as_array().expect("changes").iter();
    let sum: rust_decimal::Decimal = moved.map(|c| decimal(&c["moved"]["avoidable"])).sum();
    assert_eq!(sum, decimal(&found["difference"]["avoidable"]));
    assert!(sum < rust_decimal::Decimal::ZERO, "{sum}");
}

#[test]
fn two_kept_runs_are_compared_by_their_numbers() {
    let demo = Demo::new();
    demo.save(&[]);
    demo.toml("labour   = \"40 per h\"", "labour   = \"44 per h\"");
    demo.save(&[]);
    demo.toml("labour   = \"44 per h\"", "labour   = \"40 per h\"");
    demo.toml("up        = \"z\"  ", "up        = \"shortest\"  ");
    let found = demo.changes(&["--from", "1", "--to", "2"]);
    assert_eq!((&found["from"], &found["to"]), (&1.into(), &2.into()));
    assert_eq!(keys(&found), ["labour"]);
    let sum: rust_decimal::Decimal = found["changes"]
        .as_array()
        .expect("changes")
        .iter()
        .map(|c| decimal(&c["moved"]["avoidable"]))
        .sum();
    assert_eq!(sum, decimal(&found["difference"]["avoidable"]));
    let (code, _, error) = run(&["changes", DEMO, "--from", "3"], demo.dir.path());
    assert_eq!(code, 2);
    assert!(error.contains("there is no run 3") && error.contains("there are 1, 2"), "{error}");
}

#[test]
fn without_a_feasible_plan_the_numbers_are_listed_all_the_same() {
    let dir = folder(&ten_numbers("collar", ""), &[]);
    let at = dir.path();
    assert_eq!(run(&["compare", path(at), "--save"], at).0, 0);
    edit(
        &at.join("scenario.toml"),
        "volume = \"50 cm3\"\n",
        "volume = \"60 cm3\"\nmust = { opaque = true }\n",
    );
    let found = changes(at, path(at), &[]);
    assert_eq!(found["after"], Value::Null);
    assert_eq!(found["difference"], Value::Null);
    assert_eq!(keys(&found), ["part[collar].volume"]);
    assert_eq!(named(&found), ["must.opaque of part `collar`: nothing before, `true` after"]);
    let (code, out, _) = run(&["changes", path(at)], at);
    assert!(code == 0 && out.contains("Now: no plan was feasible."), "{out}");
    // Such a run is kept too.
    assert_eq!(run(&["compare", path(at), "--save"], at).0, 4);
    assert!(changes(at, path(at), &[])["changes"].as_array().expect("none").is_empty());
}

/// A count that a part may not have with the older number of iterations: both numbers go together.
#[test]
fn numbers_that_only_go_together_are_told_together() {
    let dir = folder(&ten_numbers("collar", "iterations = 4\n"), &[]);
    let at = dir.path();
    assert_eq!(run(&["compare", path(at), "--save"], at).0, 0);
    edit(&at.join("scenario.toml"), "planned = 4", "planned = 2");
    edit(&at.join("scenario.toml"), "\niterations = 4", "\niterations = 2");
    let found = changes(at, path(at), &[]);
    let all = found["changes"].as_array().expect("changes");
    assert_eq!(all.len(), 1, "{found:#}");
    assert_eq!(keys(&found), ["iterations.planned", "part[collar].iterations"]);
    assert_eq!(all[0]["moved"], found["difference"]);
}

#[test]
fn lines_that_are_no_runs_are_told_and_the_others_used() {
    let dir = folder(&ten_numbers("collar", ""), &[]);
    let at = dir.path();
    assert_eq!(run(&["compare", path(at), "--save"], at).0, 0);
    let file = at.join("runs.jsonl");
    let good = fs::read_to_string(&file).expect("a run");
    let half = &good[..good.len() / 2];
    fs::write(&file, format!("not a run\n{good}{half}")).expect("written");
    edit(&at.join("scenario.toml"), "30 per h", "31 per h");
    let (code, out, error) = run(&["changes", path(at)], at);
    assert_eq!(code, 0, "{error}");
    assert!(out.contains("from run 2 to now"), "{out}");
    assert!(error.contains("line 1 of runs.jsonl is no run"), "{error}");
    assert!(error.contains("line 3 of runs.jsonl is cut off"), "{error}");
    // What comes after a line that was cut off has a line of its own; no byte of the others is touched.
    assert_eq!(run(&["compare", path(at), "--save"], at).0, 0);
    let text = fs::read_to_string(&file).expect("runs");
    assert!(text.starts_with(&format!("not a run\n{good}{half}\n{{")) && text.ends_with("}\n"));
    assert_eq!(run(&["changes", path(at), "--from", "3"], at).0, 2);
    assert_eq!(changes(at, path(at), &["--from", "2", "--to", "4"])["tipped"], Value::Null);
}

#[test]
fn a_run_with_numbers_that_no_scenario_may_state_is_refused() {
    let dir = folder(&ten_numbers("collar", ""), &[]);
    let at = dir.path();
    assert_eq!(run(&["compare", path(at), "--save"], at).0, 0);
    let file = at.join("runs.jsonl");
    let good = fs::read_to_string(&file).expect("a run");
    let planned =
        "\"key\":\"iterations.planned\",\"at\":\"scenario.toml:5 planned\",\"value\":\"4\"";
    let spoil = "\"value\":\"0.1\"";
    for (from, to) in [
        (planned, planned.replace("\"4\"", "\"-4\"")),
        (planned, planned.replace("\"4\"", "\"4000000000\"")),
        (planned, planned.replace("\"4\"", "\"4.5\"")),
        (spoil, spoil.replace("0.1", "1")),
        (spoil, spoil.replace("0.1", "79228162514264337593543950335")),
    ] {
        assert!(good.contains(from), "{from} is not in {good}");
        fs::write(&file, good.replacen(from, &to, 1)).expect("written");
        let (code, _, error) = run(&["changes", path(at)], at);
        assert_eq!(code, 3, "{to}: {error}");
        assert!(error.contains("which no scenario may state"), "{to}: {error}");
    }
    fs::write(&file, good.replace("\"USD\"", "\"EUR\"")).expect("written");
    let (code, _, error) = run(&["changes", path(at)], at);
    assert!(code == 3 && error.contains("one run is in EUR, the other in USD"), "{error}");
}

#[test]
fn without_a_run_it_says_how_to_keep_one() {
    let dir = folder(&ten_numbers("collar", ""), &[]);
    let (code, out, error) = run(&["changes", path(dir.path())], dir.path());
    assert_eq!((code, out.as_str()), (2, ""));
    assert!(error.contains("compare --save"), "{error}");
    assert_eq!(run(&["compare"], dir.path()).0, 0);
    assert!(!dir.path().join("runs.jsonl").exists(), "a plain compare writes nothing");
}

#[test]
fn the_view_keeps_its_width() {
    let scenario = crate::help::scenario(&project(DEMO));
    let kept = |scenario: &Scenario| {
        crate::help::in_shop(scenario, |shop| {
            let answer = answer(shop).expect("few plans");
            let verdict = answer.verdict.as_ref().map(|v| &answer.plans[v.plan]);
            run_of(shop, verdict, ("test", BTreeMap::new()), &BTreeSet::new())
        })
    };
    let mut other = scenario.clone();
    let slots: Vec<_> = scenario.slots.iter().map(|(slot, input)| (slot, input.clone())).collect();
    for (slot, input) in slots.into_iter().filter(|(_, input)| input.dim == Dim::Money) {
        let more = input.likely * Exact::with_decimals(13, 1);
        let place = other.slots.get_mut(slot);
        (place.low, place.likely, place.high) = (more, more, more);
    }
    other.routes[0].closed =
        Some("closed for a reason that takes more room than there is on a line".into());
    let (before, after) = (kept(&scenario), kept(&other));
    let stop = AtomicBool::new(false);
    let asking = Asking { samples: 0, seed: 0, threads: 1, progress: &|_| {}, stop: &stop };
    let found = flipcount::analysis::changes(&other, (&before, &after), &asking).expect("amounts");
    assert!(found.moved.len() > 5 && !found.others.is_empty());
    for width in [60, 80, 100, 120] {
        let runs = (&before, &after);
        let between = Between { scenario: &other, changes: &found, runs, from: 1, to: None };
        let text = terminal(&changes_view(&between), width);
        let text = anstream::adapter::strip_str(&text).to_string();
        let longest = text.lines().map(|line| line.chars().count()).max();
        assert!(longest <= Some(width), "{longest:?} for {width}\n{text}");
        println!("{text}");
    }
}
