//! `flips`: break values worked by hand, the map cell by cell, what is listed, and what bad options get.

use std::collections::BTreeSet;
use std::fs;

use flipcount::analysis::{Change, FlipInput, answer, flips};
use flipcount::ledger::Total;
use flipcount::model::{Dim, Exact, RouteId};
use flipcount::plan::{Shop, Values};
use serde_json::Value;

use crate::commands::{DEMO, FIRST, path, run, ten_numbers};
use crate::help::{compare, folder, in_shop, plan, project, scenario};

/// Iterations of the small scenario.
const N: f64 = 4.0;

/// A bench that costs `first` once and 2 h of work and 10 mL of resin at 130 a litre in each iteration, against an order of 90 a piece, 12
/// for delivery and half an hour.
fn small(labour: f64, first: f64, more: &str) -> String {
    format!(
        "title = \"small\"\ncurrency = \"USD\"\nlabour = \"{labour} per h\"\n[iterations]\nplanned = 4\nhorizon = 24\n{more}\n\
         [[part]]\nname = \"cap\"\nvolume = \"10 cm3\"\n\
         [[route]]\nname = \"bench\"\nkind = \"bench\"\nresin = \"130 per L\"\nprint_time = \"5 h\"\nattended = \"2 h\"\n\
         spoil = 0\nsupports = 0\nper_build_loss = \"0 mL\"\nwash_solvent = \"0 mL\"\nother_time = \"1 h\"\nbuy_first = {first}\n\
         [[route]]\nname = \"out\"\nkind = \"order\"\npiece = 90.00\ndelivery_cost = 12.00\n\
         arrives_after = \"6 business days\"\norder_time = \"30 min\"\n"
    )
}

/// What the bench costs after n iterations where an hour is worth h.
fn bench(first: f64, n: f64, h: f64) -> f64 {
    first + n * (2.0 * h + 1.3)
}

/// What ordering costs.
fn out(n: f64, h: f64) -> f64 {
    n * (102.0 + 0.5 * h)
}

fn table(text: &str) -> Value {
    let dir = folder(text, &[]);
    let (code, out, error) = run(&["flips", path(dir.path()), "--json"], dir.path());
    assert_eq!(code, 0, "{error}");
    serde_json::from_str(&out).expect("JSON")
}

fn row<'a>(table: &'a Value, key: &str) -> &'a Value {
    let rows = table["rows"].as_array().expect("rows");
    rows.iter().find(|r| r["key"] == key || r["input"] == key).unwrap_or_else(|| panic!("{key}"))
}

/// The value at which an input changes the answer.
fn changes(table: &Value, key: &str, at: Option<f64>) {
    let row = row(table, key);
    let found = row["changes_at"].as_f64();
    let near = match (found, at) {
        (Some(found), Some(at)) => (found - at).abs() <= 2e-4 * at.abs(),
        (found, at) => found == at,
    };
    assert!(near, "{key}: {found:?} for {at:?}");
    assert_eq!(row["how"], if at.is_some() { "equal" } else { "never" }, "{key}");
}

#[test]
fn break_values_of_a_straight_scenario_are_those_worked_by_hand() {
    let table = table(&small(30.0, 0.0, ""));
    assert_eq!(table["best"], "cap = bench");
    let less = table["difference"].as_f64().expect("a number");
    assert!((less - (out(N, 30.0) - bench(0.0, N, 30.0))).abs() < 1e-6, "{less}");
    // An iteration: 2 h + 1.3 = 102 + h / 2.
    changes(&table, "labour", Some(100.7 / 1.5));
    // 60 + 1.3 = p + 12 + 15.
    changes(&table, "route[out].piece", Some(34.3));
    changes(&table, "price to ask for cap from out", Some(34.3));
    // 30 a + 1.3 = 117, in hours.
    changes(&table, "route[bench].attended", Some(115.7 / 30.0));
    // 61.3 / (1 - s) = 117: every print counts 1 / (1 - s) times.
    changes(&table, "route[bench].spoil", Some(1.0 - 61.3 / 117.0));
    // 4 x 55.7 bought first, from 0.
    changes(&table, "route[bench].buy_first", Some(N * 55.7));
    // These would take more than sixteen times today's value, or would have to be below nothing.
    changes(&table, "route[bench].resin", None);
    changes(&table, "route[out].order_time", None);
    changes(&table, "iterations.planned", None);
    // The bench is there sooner: no cost of waiting speaks for ordering.
    changes(&table, "iterations.delay_cost_per_day", None);
    assert_eq!(row(&table, "labour")["unit"], "USD per h");
    assert_eq!(row(&table, "route[bench].resin")["today"], 130.0);
    let first: Vec<&str> = table["replace_first"]
        .as_array()
        .expect("a list")
        .iter()
        .filter_map(Value::as_str)
        .collect();
    assert!(first.is_empty(), "nothing assumed moves money here: {first:?}");
}

#[test]
fn a_whole_number_changes_at_the_first_that_does_and_swings_tell_the_spread() {
    // 300 + 61.3 n < 117 n from n = 6 on.
    let few = small(30.0, 300.0, "")
        .replace("planned = 4", "planned = { low = 2, likely = 4, high = 8 }");
    let table = table(&few);
    assert_eq!(table["best"], "cap = out");
    changes(&table, "iterations.planned", Some(6.0));
    let swing = row(&table, "iterations.planned")["swing"].as_f64().expect("a swing");
    assert!((swing - 6.0 * 55.7).abs() < 1e-6, "{swing}");
    let rows = table["rows"].as_array().expect("rows");
    let at = rows.iter().position(|r| r["key"] == "iterations.planned").expect("a row");
    assert_eq!(at, 3, "a change within the spread is the most telling of the ranked rows");
}

#[test]
fn the_worth_of_a_day_and_of_an_hour_are_solved_where_none_is_stated() {
    let text = small(80.0, 0.0, "");
    let dir = folder(&text, &[]);
    let answer = compare(dir.path(), &[]);
    let days = |name: &str| plan(&answer, name)["curves"]["days"][3].as_f64().expect("days");
    let longer = days("cap = out") - days("cap = bench");
    assert!(longer > 1.0, "{longer}");
    let stated = table(&text);
    assert_eq!(stated["best"], "cap = out");
    let worth = (bench(0.0, N, 80.0) - out(N, 80.0)) / longer;
    changes(&stated, "iterations.delay_cost_per_day", Some(worth));
    // The same from a stated 0, by the fast valuation.
    let zero = table(&small(80.0, 0.0, "delay_cost_per_day = 0"));
    changes(&zero, "iterations.delay_cost_per_day", Some(worth));
    let unstated = table(&small(30.0, 0.0, "").replace("labour = \"30 per h\"\n", ""));
    assert_eq!(row(&unstated, "labour")["today"], Value::Null);
    changes(&unstated, "labour", Some(100.7 / 1.5));
}

/// The avoidable cost of a plan under other values, by the exact valuation, at the planned count with the final.
fn exact(shop: &Shop, assign: &[RouteId]) -> f64 {
    let ledger = flipcount::analysis::plan_ledger(shop, assign).expect("a feasible plan");
    ledger.total(Total::Avoidable, u32::MAX).exact().to_f64_lossy()
}

#[test]
fn at_the_value_told_the_second_plan_is_as_cheap_by_the_ledger_too() {
    for demo in [DEMO, FIRST] {
        let scenario = scenario(&project(demo));
        let mut looked_at = 0;
        in_shop(&scenario, |shop| {
            let answer = answer(shop).expect("few plans");
            let found = flips(shop, &answer).expect("two plans");
            let assign = |plan: usize| &answer.plans[plan].plan.assign;
            for row in &found.rows {
                let (FlipInput::Slot(slot), Change::At(place)) = (&row.input, row.change) else {
                    continue;
                };
                // A whole number changes the sign without passing a zero.
                if scenario.slots.get(*slot).dim == Dim::Count {
                    continue;
                }
                let mut values: Values = shop.values.clone();
                values.set(&scenario.slots, *slot, Exact::of_float(place).expect("a number"));
                let there = Shop::new(&scenario, &values);
                let (a, b) =
                    (exact(&there, assign(found.best)), exact(&there, assign(found.second)));
                // Some 200 entries of two plans, each rounded by half a cent at most.
                assert!(
                    (a - b).abs() <= 2.0,
                    "{:?}: {a} and {b}",
                    scenario.slots.get(*slot).address
                );
                looked_at += 1;
            }
        });
        assert!(looked_at >= 4, "{demo}: {looked_at}");
    }
}

#[test]
fn every_number_is_in_the_table_or_listed_as_without_effect() {
    for demo in [DEMO, FIRST] {
        let (_, out, _) = run(&["flips", demo, "--json"], &project(""));
        let table: Value = serde_json::from_str(&out).expect("JSON");
        let texts = |list: &Value| -> Vec<String> {
            list.as_array()
                .expect("a list")
                .iter()
                .filter_map(Value::as_str)
                .map(str::to_owned)
                .collect()
        };
        let keys = table["rows"].as_array().expect("rows").iter();
        let keys = keys.filter_map(|r| r["key"].as_str()).map(str::to_owned);
        let told: BTreeSet<String> = keys.chain(texts(&table["without_effect"])).collect();
        let (_, all, _) = run(&["flips", demo, "--all"], &project(""));
        let flat: String = all.split_whitespace().collect();
        for (_, input) in scenario(&project(demo)).slots.iter() {
            assert!(told.contains(&input.address), "{}", input.address);
            let start: String = input.address.split_whitespace().take(1).collect();
            assert!(flat.contains(&start), "{} in --all", input.address);
        }
    }
}

#[test]
fn the_map_is_right_in_every_cell_and_runs_to_the_right_and_down() {
    let dir = folder(&small(30.0, 300.0, ""), &[]);
    let (code, text, error) =
        run(&["flips", path(dir.path()), "--map", "-o", "map.csv"], dir.path());
    assert_eq!(code, 0, "{error}");
    let file = fs::read_to_string(dir.path().join("map.csv")).expect("the map");
    let mut reader = csv::Reader::from_reader(file.as_bytes());
    let head = reader.headers().expect("a header").clone();
    assert_eq!((&head[0], &head[2]), ("iterations.planned", "labour"));
    let mut seen = BTreeSet::new();
    let mut cells: Vec<(f64, f64, String)> = Vec::new();
    for record in reader.records() {
        let record = record.expect("a cell");
        let number = |at: usize| record[at].parse::<f64>().expect("a number");
        let (n, h) = (number(0), number(2));
        let (bench, out) = (bench(300.0, n, h), out(n, h));
        let cheaper = if bench < out { "cap = bench" } else { "cap = out" };
        assert_eq!(&record[4], cheaper, "{n} iterations, {h} an hour: {bench} and {out}");
        assert!((number(5) - bench.min(out)).abs() <= 0.01, "{record:?}");
        seen.insert(cheaper);
        cells.push((n, h, record[4].to_owned()));
    }
    assert_eq!(seen.len(), 2, "both plans are somewhere cheapest");
    // The table: letters by row and column as in the file.
    let lines: Vec<Vec<&str>> = text.lines().map(|l| l.split_whitespace().collect()).collect();
    let at = lines.iter().position(|l| l.first() == Some(&"1")).expect("the heads of the columns");
    let columns = &lines[at];
    let letter = |name: &str| if text.contains(&format!("A = {name}")) { "A" } else { "B" };
    for line in lines[at + 1..].iter().take_while(|l| l.len() > 1) {
        let value = |shown: &str| shown.trim_start_matches('>').parse::<f64>().expect("a number");
        for (column, shown) in columns.iter().zip(&line[1..]) {
            let cell = cells
                .iter()
                .find(|c| {
                    (c.0 - value(column)).abs() < 0.5 && (c.1 / value(line[0]) - 1.0).abs() < 1e-3
                })
                .expect("the cell of the file");
            assert_eq!(*shown, letter(&cell.2), "{column} {line:?}");
        }
    }
    // The other way round.
    let (_, turned, _) =
        run(&["flips", path(dir.path()), "--map", "labour", "iterations.planned"], dir.path());
    assert!(turned.contains("To the right: worth of an hour"), "{turned}");
}

#[test]
fn a_plan_that_is_feasible_elsewhere_is_on_the_map() {
    let (_, text, _) = run(&["flips", DEMO, "--map"], &project(""));
    // From the fourth iteration on the collar must be opaque: with three the clear one will do.
    assert!(text.contains("sensor collar = bench, clear"), "{text}");
}

#[test]
fn options_that_make_no_sense_are_told() {
    let home = project("");
    let said = |args: &[&str], code: i32, words: &[&str]| {
        let (found, out, error) = run(args, &home);
        assert_eq!((found, out.as_str()), (code, ""), "{args:?}: {error}");
        assert!(words.iter().all(|w| error.contains(w)), "{args:?}: {error}");
    };
    said(
        &["flips", FIRST, "--map", "labor", "iterations.planned"],
        2,
        &["labor", "did you mean `labour`?"],
    );
    said(&["flips", FIRST, "--map", "zzzzzzzz", "labour"], 2, &["zzzzzzzz", "flips --all"]);
    said(&["flips", FIRST, "--map", "labour"], 2, &["two different inputs"]);
    said(&["flips", FIRST, "--map", "labour", "labour"], 2, &["two different inputs"]);
    said(&["flips", FIRST, "--map", "--json"], 2, &["--json"]);
    said(&["flips", FIRST, "--map", "--all"], 2, &["--all"]);
    said(&["flips", FIRST, "--force"], 2, &["--out"]);
    said(&["flips", "scenarios/not-there"], 3, &["no such folder"]);
}

#[test]
fn a_file_is_replaced_only_where_asked_and_never_one_of_the_scenario() {
    let dir = folder(&small(30.0, 0.0, ""), &[]);
    let at = |args: &[&str]| run(&[&["flips", "."], args].concat(), dir.path());
    fs::create_dir(dir.path().join("out")).expect("a folder");
    let (code, shown, aside) = at(&["-o", "out/t.csv"]);
    assert_eq!(code, 0, "{aside}");
    assert!(shown.contains("changes at") && aside.contains("rows to out/t.csv"), "{aside}");
    let file = dir.path().join("out/t.csv");
    let first = fs::read_to_string(&file).expect("the table");
    assert!(first.starts_with("key,input,unit,today,changes_at,how,swing,currency,assumed\r\n"));
    fs::write(&file, "mine").expect("another file");
    assert_eq!(at(&["-o", "out/t.csv"]).0, 2);
    assert_eq!(fs::read_to_string(&file).expect("still there"), "mine");
    assert_eq!(at(&["-o", "out/t.csv", "--force"]).0, 0);
    assert_eq!(fs::read_to_string(&file).expect("replaced"), first);
    assert_eq!(at(&["-o", "scenario.toml", "--force"]).0, 2);
}

#[test]
fn one_plan_has_nothing_to_flip_and_none_has_a_code_of_its_own() {
    let one = folder(
        &small(30.0, 0.0, "").replace("kind = \"order\"", "kind = \"order\"\nclosed = \"moved\""),
        &[],
    );
    let (code, out, _) = run(&["flips", path(one.path())], one.path());
    assert_eq!((code, out.contains("Only one plan is feasible")), (0, true), "{out}");
    let none = folder(&ten_numbers("collar", "must = { opaque = true }\n"), &[]);
    let (code, _, error) = run(&["flips", path(none.path())], none.path());
    assert_eq!((code, error.contains("no plan is feasible")), (4, true), "{error}");
}

#[test]
fn the_table_keeps_to_the_width_and_marks_what_is_assumed() {
    let (_, out, _) = run(&["flips", FIRST], &project(""));
    assert!(out.lines().all(|l| l.chars().count() <= 100), "{out}");
    let flat: Vec<&str> = out.split_whitespace().collect();
    let flat = flat.join(" ");
    assert!(flat.contains("(assumed)") && flat.contains("Replace first: time to order"), "{out}");
}
