//! The buy list: days to order worked by hand, its sum, its forms, its file.

use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::budget::Columns;
use crate::commands::{DEMO, FIRST, path, run, ten_numbers};
use crate::help::{compare, flipcount, folder, project};

const HEAD: &str = r#"
title    = "bought"
currency = "USD"
pricing  = "pricing"
start    = 2026-04-01T09:00:00
labour   = "30 per h"
"#;

/// Bench days are Monday to Friday, 09:00-17:00; Monday 6 April is closed. Start: Wednesday 1 April, 09:00.
///
/// Resin, lead 3: from the start there on Monday 6 April, when the bench is closed, so on Tuesday at 9. Whoever orders on Thursday
/// 2 April (three business days to Tuesday) has it no later: Thursday is the day. Iteration 1: Tuesday 9:00-9:10, printing to 11:10.
/// Press, lead 4: from the start there on Tuesday at 9; ordered on Thursday it would come on Wednesday: the start is the day. Pressed
/// 11:10-11:15, in hand; evaluate to 12:15, redesign to 14:15.
/// Iteration 2: Tuesday 14:15-14:25, to 16:25; pressed to 16:30; evaluate to 17:00 and Wednesday 9:30; redesign to 11:30.
/// Iteration 3: Wednesday 8 April, 11:30. 1000 - 2 x 400 = 200 mL are left: the second bottle. Three business days before Wednesday
/// is Friday 3 April: across the weekend, and the closed Monday is a business day of the dealer's. In hand 13:45, evaluate to 14:45.
/// Final: three pieces, 1200 mL of the 800 mL left: a third bottle, the same Friday.
/// Glue is paid by use and has no lead: the day it is used. Tape has no price. The first purchase falls on the first build.
const LEADS: &str = r#"
[iterations]
planned  = 3
evaluate = "1 h"
redesign = "2 h"
[final]
copies = 3
[hours]
closed = [2026-04-06]
[[part]]
name   = "cap"
volume = "400 mL"
[[route]]
name       = "bench"
kind       = "bench"
printer    = "printer"
material   = "soft"
print_time = "2 h"
supports   = 0
per_build_loss = "0 mL"
buy_first  = 25.00
steps = [
  { do = "print", attended = "10 min", consumes = [
    { item = "glue", amount = "2 pcs" }, { item = "tape", amount = "1 pcs" },
  ] },
  { do = "press", attended = "5 min", at = "press" },
]
"#;
const MATERIALS: &str = "material,pack,pack_price,density,hardness,colour,opaque,skin_statement,lead,delivery_cost\n\
                         soft,1 L,100,1.1 g/mL,70A,clear,no,,3,5\n";
const SUPPLIES: &str = "item,kind,pack,pack_price,lead\nglue,supply,,0.50 per pcs,\ntape,supply,,,\n\
                        bags,supply,10 pcs,5,1\n";
const EQUIPMENT: &str =
    "equipment,price,resale,charge,lead,delivery_cost\npress,300,100,buy,4,12\n";

fn bought(scenario: &str) -> tempfile::TempDir {
    let sheets =
        [("materials.csv", MATERIALS), ("supplies.csv", SUPPLIES), ("equipment.csv", EQUIPMENT)];
    folder(&[HEAD, scenario].concat(), &sheets)
}

/// The list of the verdict's plan as CSV text.
fn csv(which: &Path, options: &[&str]) -> String {
    let dir = tempfile::tempdir().expect("a folder");
    let args = [&["buylist", path(which), "-o", "list.csv"], options].concat();
    let (code, out, error) = run(&args, dir.path());
    assert_eq!((code, out.as_str()), (0, ""), "{error}");
    fs::read_to_string(dir.path().join("list.csv")).expect("written")
}

/// Some columns of the list, row by row.
fn rows(text: &str, columns: &[&str]) -> Vec<String> {
    let all = Columns::of(text);
    let columns: Vec<Vec<&str>> = columns.iter().map(|c| all.column(c)).collect();
    (0..columns[0].len())
        .map(|row| columns.iter().map(|c| c[row]).collect::<Vec<_>>().join(" "))
        .collect()
}

#[test]
fn goods_are_ordered_so_that_the_lead_ends_before_they_are_needed() {
    let dir = bought(LEADS);
    let text = csv(dir.path(), &[]);
    let found = rows(&text, &["order_by", "there_on", "iteration", "item", "quantity", "cost"]);
    let wanted = [
        "2026-04-01 2026-04-07 1 press 1 312.00",
        "2026-04-02 2026-04-07 1 soft 1 105.00",
        "2026-04-03 2026-04-08 3 soft 1 105.00",
        "2026-04-03 2026-04-08 4 soft 1 105.00",
        "2026-04-07 2026-04-07 1 bench 1 25.00",
        "2026-04-07 2026-04-07 1 glue 2 1.00",
        "2026-04-07 2026-04-07 1 tape 1 ",
        "2026-04-07 2026-04-07 2 glue 2 1.00",
        "2026-04-07 2026-04-07 2 tape 1 ",
        "2026-04-08 2026-04-08 3 glue 2 1.00",
        "2026-04-08 2026-04-08 3 tape 1 ",
        "2026-04-08 2026-04-08 4 glue 2 1.00",
        "2026-04-08 2026-04-08 4 tape 1 ",
    ];
    let mut found_sorted = found.clone();
    found_sorted.sort();
    let mut wanted_sorted = wanted.to_vec();
    wanted_sorted.sort_unstable();
    assert_eq!(found_sorted, wanted_sorted);
    // By the day to order, then by the day of the need, then by iteration.
    let by_day = |row: &String| row[..23].to_owned();
    assert!(found.is_sorted_by_key(by_day), "{found:?}");
    let notes = rows(&text, &["item", "note", "final"]);
    assert!(notes.contains(&"tape price not counted yes".to_owned()), "{notes:?}");
    assert!(notes.contains(&"soft  yes".to_owned()), "{notes:?}");
}

/// A step without attended time begins on Saturday 4 April at 9:10, 72 h after printing began. Bags with a lead of one business day must
/// be ordered on Thursday, to be there on Friday: ordered on Friday they come on Monday.
#[test]
fn what_is_needed_on_a_weekend_is_there_before() {
    let dir = bought(
        r#"
[iterations]
planned  = 1
[[part]]
name   = "cap"
volume = "40 mL"
[[route]]
name       = "bench"
kind       = "bench"
print_time = "72 h"
printer    = "printer"
resin      = "100 per L"
supports   = 0
per_build_loss = "0 mL"
steps = [
  { do = "print", attended = "10 min" },
  { do = "pack", hold = "1 h", consumes = [ { item = "bags", amount = "12 pcs" } ] },
]
"#,
    );
    let text = csv(dir.path(), &[]);
    let columns = ["order_by", "there_on", "item", "quantity", "unit", "content", "cost"];
    let found = rows(&text, &columns);
    assert!(found.contains(&"2026-04-02 2026-04-04 bags 2 packs 20 10.00".to_owned()), "{found:?}");
}

/// An order placed on Wednesday at 9:20 comes after three business days, on Monday 6 April, when the bench is closed: usable on Tuesday.
/// Evaluate to 10:00; the final is ordered on Tuesday and usable on Friday 10 April.
#[test]
fn an_order_is_told_by_the_day_it_is_placed_and_the_day_it_can_be_used() {
    let dir = bought(
        r#"
[iterations]
planned  = 1
evaluate = "1 h"
[final]
[hours]
closed = [2026-04-06]
[[part]]
name   = "cap"
volume = "40 mL"
copies = 2
[[route]]
name          = "out"
kind          = "order"
piece         = 30.00
delivery_cost = 8.00
order_time    = "20 min"
arrives_after = "3 business days"
"#,
    );
    let columns =
        ["order_by", "there_on", "iteration", "final", "kind", "item", "quantity", "cost", "parts"];
    assert_eq!(
        rows(&csv(dir.path(), &[]), &columns),
        [
            "2026-04-01 2026-04-07 1 no order out 2 68.00 cap",
            "2026-04-07 2026-04-10 2 yes order out 2 68.00 cap"
        ]
    );
    let (code, out, _) = run(&["buylist", path(dir.path())], &project(""));
    assert_eq!(code, 0);
    assert!(out.contains("order to out") && out.contains("final: cap"), "{out}");
}

/// What leaves the account for what is ordered: the ledger's outlay without electricity, disposal and paid hours.
#[test]
fn the_list_of_every_plan_sums_to_what_its_ledger_pays_for_orders() {
    let bought = bought(LEADS);
    let demo = project(DEMO);
    for which in [demo.as_path(), bought.path(), &project(FIRST)] {
        let answer = compare(which, &[]);
        for plan in answer["plans"].as_array().expect("plans") {
            let name = plan["name"].as_str().expect("a name");
            let (_, ledger, _) = run(&["budget", path(which), "--plan", name], &project(""));
            let ledger = Columns::of(&ledger);
            let paid: rust_decimal::Decimal = ledger
                .column("category")
                .iter()
                .zip(ledger.column("outlay"))
                .filter(|(c, _)| !["electricity", "waste", "labour"].contains(c))
                .map(|(_, amount)| amount.parse::<rust_decimal::Decimal>().expect("a decimal"))
                .sum();
            assert!(!paid.is_zero(), "{name}");
            let text = csv(which, &["--plan", name]);
            let listed = Columns::of(&text);
            let costs = listed.column("cost");
            let costs = costs.iter().filter_map(|c| c.parse::<rust_decimal::Decimal>().ok());
            let sum: rust_decimal::Decimal = costs.sum();
            assert_eq!(sum, paid, "{name}");
            let (_, json, _) =
                run(&["buylist", path(which), "--plan", name, "--json"], &project(""));
            let json: Value = serde_json::from_str(&json).expect("JSON");
            assert_eq!(json["total"], Value::from(format!("{paid:.2}")));
            assert_eq!(json["lines"].as_array().map(Vec::len), Some(listed.column("cost").len()));
        }
    }
}

#[test]
fn without_a_start_days_are_counted_and_options_have_their_errors() {
    let (code, out, _) = run(&["buylist", FIRST, "--plan", "B"], &project(""));
    assert_eq!(code, 0);
    assert!(out.contains("day 1 ") && !out.contains("20"), "{out}");
    for (options, why) in [
        (&["--plan", "ZZ"][..], "no plan is called `ZZ`"),
        (&["--force"], "--out <FILE>"),
        (&["--json", "-o", "x.csv"], "cannot be used with"),
        (&["-o", "-"], "is no file"),
        (&["--copies", "2"], "unexpected argument"),
    ] {
        let args = [&["buylist", DEMO], options].concat();
        let (code, out, error) = run(&args, &project(""));
        assert_eq!((code, out.as_str()), (2, ""), "{options:?}");
        assert!(error.contains(why), "{options:?}: {error}");
    }
    let none = ten_numbers("collar", "must = { opaque = true }\n");
    let (code, _, error) = run(&["buylist", path(folder(&none, &[]).path())], &project(""));
    assert_eq!(code, 4, "{error}");
}

#[test]
fn the_file_is_there_whole_or_not_at_all() {
    let dir = tempfile::tempdir().expect("a folder");
    let demo = project(DEMO);
    let file = dir.path().join("list.csv");
    fs::write(&file, "mine").expect("a file in the way");
    let write = |more: &[&str]| {
        run(&[&["buylist", path(&demo), "-o", "list.csv"], more].concat(), dir.path())
    };
    let (code, _, error) = write(&[]);
    assert_eq!(code, 2, "{error}");
    assert_eq!(fs::read_to_string(&file).expect("still there"), "mine");
    let (code, out, error) = write(&["--force"]);
    assert_eq!((code, out.as_str()), (0, ""));
    assert!(error.ends_with("list.csv\n"), "{error}");
    assert!(fs::read_to_string(&file).expect("written").starts_with("order_by,there_on,"));
    assert_eq!(fs::read_dir(dir.path()).expect("the folder").count(), 1, "nothing else is left");
}

#[test]
fn a_name_that_a_spreadsheet_would_run_is_neutral_and_the_width_is_kept() {
    let risky = folder(&ten_numbers("=HYPERLINK(1)", ""), &[]);
    let text = csv(risky.path(), &[]);
    assert!(Columns::of(&text).column("parts").contains(&"'=HYPERLINK(1)"), "{text}");
    let out = flipcount().args(["buylist", DEMO]).output().expect("the command runs").stdout;
    let out = String::from_utf8(out).expect("UTF-8");
    assert!(out.lines().all(|l| l.chars().count() <= 100), "{out}");
}
