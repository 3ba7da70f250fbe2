//! Ages of price rows and prices that could change the verdict.

use std::fs;

use flipcount::analysis::{self, row_ages, with_tips};
use flipcount::model::day_of;
use flipcount::report::{PriceRows, Subject, prices_view, terminal};
use serde_json::Value;

use crate::commands::{DEMO, FIRST, path, run, ten_numbers};
use crate::help::{compare, folder, project};

fn prices(which: &std::path::Path, options: &[&str]) -> Value {
    let args = [&["prices", path(which), "--json"], options].concat();
    let (code, out, error) = run(&args, &project(""));
    assert_eq!(code, 0, "{error}");
    serde_json::from_str(&out).expect("JSON")
}

fn row<'a>(all: &'a Value, line: &str) -> &'a Value {
    let rows = all["rows"].as_array().expect("rows");
    rows.iter().find(|row| row["row"] == line).unwrap_or_else(|| panic!("no {line} in {all:#}"))
}

/// Days counted by hand from the sheets of the demo, which starts on 2026-03-02: the quotation holds from 20 February (10 days), to 30 June
/// (28 + 30 + 31 + 31 more days of March to June less 1); on 1 July it ended a day ago. The row of May replaces that of January.
#[test]
fn days_are_counted_to_the_day_that_is_stated() {
    let start = prices(&project(DEMO), &[]);
    assert_eq!(start["day"], "2026-03-02");
    let quote = row(&start, "quotes.csv:3");
    assert_eq!((&quote["age_days"], &quote["days_left"]), (&10.into(), &120.into()));
    assert_eq!((&quote["state"], &quote["stale"]), (&"holds".into(), &false.into()));
    assert_eq!(row(&start, "services.csv:5")["state"], "not yet");
    assert_eq!(row(&start, "materials.csv:5")["state"], "undated");
    let later = prices(&project(DEMO), &["--today", "2026-07-01"]);
    let quote = row(&later, "quotes.csv:3");
    assert_eq!((&quote["state"], &quote["days_left"]), (&"ended".into(), &(-1).into()));
    assert_eq!(quote["stale"], true);
    let replaced = row(&later, "services.csv:4");
    assert_eq!((&replaced["state"], &replaced["stale"]), (&"replaced".into(), &false.into()));
    // 181 days from 1 January to 1 July: older than half a year.
    let old = row(&later, "services.csv:6");
    assert_eq!((&old["age_days"], &old["stale"]), (&181.into(), &true.into()));
    let almost = prices(&project(DEMO), &["--today", "2026-06-29"]);
    assert_eq!(row(&almost, "services.csv:6")["stale"], false);
}

/// Every row of every sheet is there, used or not.
#[test]
fn every_row_is_listed() {
    let all = prices(&project(DEMO), &[]);
    let mut lines = 0;
    for file in fs::read_dir(project("pricing/river-sonde")).expect("sheets").flatten() {
        let text = fs::read_to_string(file.path()).expect("a sheet");
        let rows = text.lines().skip(1).filter(|l| !l.is_empty() && !l.starts_with('#'));
        lines += rows.count();
    }
    assert_eq!(all["rows"].as_array().expect("rows").len(), lines);
}

/// A quotation of 13.50 that is 25 % dearer is 16.875; `compare` with that price in the sheet must name the plan that `prices` names, and
/// with no other plan where `prices` names none.
#[test]
fn what_is_said_to_change_the_verdict_does() {
    let all = prices(&project(DEMO), &[]);
    let verdict = |from: &str, to: &str| {
        let dir = tempfile::tempdir().expect("a folder");
        crate::changes::copy(&project("scenarios"), &dir.path().join("scenarios"));
        crate::changes::copy(&project("pricing"), &dir.path().join("pricing"));
        let sheet = dir.path().join("pricing/river-sonde/quotes.csv");
        crate::changes::edit(&sheet, from, to);
        compare(&dir.path().join(DEMO), &["--samples", "4000"])["verdict"]["plan"].clone()
    };
    let quote = row(&all, "quotes.csv:3");
    let today = verdict("13.50", "13.50");
    assert_eq!(quote["more_25_percent"], verdict("13.50", "16.875"));
    assert_ne!(quote["more_25_percent"], today);
    assert_eq!(quote["less_25_percent"], Value::Null);
    assert_eq!(verdict("13.50", "10.125"), today);
}

#[test]
fn only_stale_prices_that_could_change_the_verdict_are_told_in_the_answer() {
    let today = compare(&project(DEMO), &[]);
    assert_eq!(today["stale"], Value::Array(Vec::new()));
    let later = compare(&project(DEMO), &["--today", "2026-09-01"]);
    let stale = later["stale"].as_array().expect("rows");
    // Three rows are old or ended; one of them decides.
    assert_eq!(stale.len(), 1, "{stale:?}");
    assert_eq!(stale[0]["row"], "quotes.csv:3");
    assert_eq!((&stale[0]["ended"], &stale[0]["days"]), (&true.into(), &63.into()));
    let (code, out, _) = run(&["compare", DEMO, "--today", "2026-09-01"], &project(""));
    assert_eq!(code, 0);
    assert!(
        out.contains("Stale prices: quotes.csv:3 ended 63 days ago: 25 % more makes it B"),
        "{out}"
    );
    assert!(out.lines().count() <= 40, "{} lines:\n{out}", out.lines().count());
    let dir = tempfile::tempdir().expect("a folder");
    crate::changes::copy(&project("scenarios"), &dir.path().join("scenarios"));
    crate::changes::copy(&project("pricing"), &dir.path().join("pricing"));
    let args = ["report", DEMO, "--samples", "0", "-o", "out", "--today", "2026-09-01"];
    assert_eq!(run(&args, dir.path()).0, 0);
    let page = fs::read_to_string(dir.path().join("out/report.html")).expect("written");
    assert!(page.contains("Stale prices") && page.contains("quotes.csv:3 ended 63 days ago"));
    // Nothing else depends on the day.
    let same = |a: &Value, b: &Value, key: &str| assert_eq!(a[key], b[key], "{key}");
    for key in ["plans", "verdict", "break_even", "look_again", "switch"] {
        same(&today, &later, key);
    }
}

#[test]
fn the_file_holds_the_rows_and_is_never_replaced_unasked() {
    let dir = tempfile::tempdir().expect("a folder");
    let demo = project(DEMO);
    let args = ["prices", path(&demo), "-o", "rows.csv"];
    let (code, out, error) = run(&args, dir.path());
    assert_eq!((code, out.as_str()), (0, ""), "{error}");
    let text = fs::read_to_string(dir.path().join("rows.csv")).expect("written");
    let columns = crate::budget::Columns::of(&text);
    let all = prices(&demo, &[]);
    let json: Vec<&str> =
        all["rows"].as_array().expect("rows").iter().filter_map(|r| r["row"].as_str()).collect();
    assert_eq!(columns.column("row"), json);
    assert_eq!(run(&args, dir.path()).0, 2);
    let (code, _, error) = run(&["prices", path(&demo), "--today", "1 May"], dir.path());
    assert_eq!(code, 2, "{error}");
    assert!(error.contains("2026-"), "it says how a date is written: {error}");
}

#[test]
fn without_sheets_or_a_day_it_says_so() {
    let (code, out, _) = run(&["prices", FIRST], &project(""));
    assert_eq!(code, 0);
    assert!(out.contains("no day to count from: give --today"), "{out}");
    assert!(out.contains("There are no price sheets."), "{out}");
    // No plan is feasible: the rows are listed all the same.
    let sheet = "rate,value,unit\nelectricity,0.24,per kWh\n";
    let more = "must = { opaque = true }\n";
    let text =
        ten_numbers("collar", more).replace("[iterations]", "pricing = \"pricing\"\n[iterations]");
    let dir = folder(&text, &[("rates.csv", sheet)]);
    let found = prices(dir.path(), &["--today", "2026-05-01"]);
    assert_eq!(found["rows"][0]["price"], 0.24);
    assert_eq!(found["rows"][0]["state"], "undated");
}

#[test]
fn the_table_keeps_its_width() {
    let scenario = crate::help::scenario(&project(DEMO));
    crate::help::in_shop(&scenario, |shop| {
        let answer = analysis::answer(shop).expect("few plans");
        let day = scenario.start.map(day_of);
        let rows = with_tips(shop, &answer, row_ages(&scenario, day));
        let subject = Subject { shop, answer: &answer };
        for width in [60, 80, 100, 120] {
            let prices = PriceRows { subject, day, rows: &rows };
            let text =
                anstream::adapter::strip_str(&terminal(&prices_view(&prices), width)).to_string();
            let longest = text.lines().map(|line| line.chars().count()).max();
            assert!(longest <= Some(width), "{longest:?} for {width}\n{text}");
        }
    });
}
