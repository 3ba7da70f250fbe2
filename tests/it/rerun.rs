//! Projects that go on from a record: what is behind is taken over, the rest is forecast, and the difference to the plan is told.

mod learning;

use std::fs;
use std::path::Path;

use flipcount::analysis::{Project, Resume, answer, ledger_of, plan_ledger, settle, standing};
use flipcount::ledger::{Status, Total, balance};
use flipcount::model::{Money, Overrides, RouteId, Scenario, load};
use flipcount::plan::Plan;
use flipcount::sim::{Dates, Simulation, What};
use flipcount::value::{Prices, avoidable};
use serde_json::Value;

use crate::help::{compare, flipcount, folder, in_shop, number, plan, project, scenario};
use crate::laws::silent;
use crate::record::{COLLAR, HEADER, put_lines, recorded};

/// What had happened of the collar by 9 March.
const SO_FAR: &str = "\
2026-03-02,1,collar,bench,started,,,,,
2026-03-02,1,collar,bench,build,failed,4.5,,,came off the plate
2026-03-03,1,collar,bench,build,good,7.6,,,
2026-03-04,1,collar,bench,attended,,3.1,,,
2026-03-04,1,collar,bench,used,resin,230 mL,,,
2026-03-04,1,collar,bench,in_hand,,,,,
2026-03-05,1,collar,bench,redesign,,,,,too stiff
2026-03-09,2,,,invoice,resin,1 L,139.00,,
2026-03-09,2,collar,house,ordered,,100,172.00,,
";

/// A scenario that goes on from its record.
fn resumed(folder: &Path, ask: Resume) -> Scenario {
    let mut scenario = scenario(folder);
    if let Err(found) = settle(&mut scenario, ask) {
        panic!("the record does not fit together: {}", flipcount::diag::render_lines(&found));
    }
    scenario
}

fn as_planned() -> Resume {
    Resume { as_planned: true, ..Resume::default() }
}

pub fn money(value: &Value) -> Money {
    number(value.as_str().expect("money")).to_money(2)
}

pub fn usd(text: &str) -> Money {
    number(text).to_money(2)
}

// ---- as planned ----

/// A project that went as planned goes on as planned: cost, dates, stock and baths of what follows are those of the plan from the start,
/// and nothing is found to differ.
fn goes_on(scenario: &Scenario, folder: &Path, done: usize) {
    let count = in_shop(scenario, |shop| answer(shop).expect("an answer").plans.len());
    for index in 0..count.min(4) {
        let (before, dates, plan): (Money, Vec<Dates>, Plan) = in_shop(scenario, |shop| {
            let plan = answer(shop).expect("an answer").plans[index].plan.clone();
            let project = Project::of(shop, &plan, shop.planned, &[shop.planned]).expect("it runs");
            (project.cost_at(shop.planned), project.dates, plan)
        });
        let text = silent(scenario, &dates[..done], &plan.assign);
        fs::write(folder.join("record.csv"), &text).expect("written");
        let now = resumed(folder, Resume::default());
        let past = now.past.as_ref().expect("a record");
        assert_eq!(past.done as usize, done, "{text}");
        assert!(past.learned.is_empty(), "nothing was measured: {:?}", past.learned);
        in_shop(&now, |shop| {
            let again = Project::of(shop, &plan, shop.planned, &[shop.planned]).expect("it runs");
            assert_eq!(again.dates.len(), dates.len());
            for (was, is) in dates.iter().zip(&again.dates).skip(done) {
                assert_eq!(was, is, "{}: iteration {}", plan.name, was.iteration);
            }
            let spent = past.spent();
            assert_eq!(spent + again.cost_at(shop.planned), before, "{}", plan.name);
            let answered = answer(shop).expect("an answer");
            let result = answered.plans.iter().find(|p| p.plan.assign == plan.assign).expect("it");
            let stands = standing(shop, result).expect("a record");
            let found = stands.variances.expect("both can be carried out");
            assert_eq!(
                (found.price, found.quantity, found.iterations),
                (Money::ZERO, Money::ZERO, Money::ZERO),
                "{}: {found:?}",
                plan.name
            );
            assert_eq!(found.planned, before);
        });
    }
    fs::remove_file(folder.join("record.csv")).expect("removed");
}

/// A copy of a project's scenario with its sheets and meshes.
fn copied(name: &str) -> (tempfile::TempDir, std::path::PathBuf) {
    let dir = tempfile::tempdir().expect("a folder");
    for part in
        [format!("scenarios/{name}"), format!("scenarios/{name}/parts"), format!("pricing/{name}")]
    {
        let Ok(entries) = fs::read_dir(project(&part)) else { continue };
        fs::create_dir_all(dir.path().join(&part)).expect("made");
        for entry in entries.flatten().filter(|e| e.path().is_file()) {
            fs::copy(entry.path(), dir.path().join(&part).join(entry.file_name())).expect("copied");
        }
    }
    let at = dir.path().join(format!("scenarios/{name}"));
    (dir, at)
}

#[test]
fn what_went_as_planned_goes_on_as_planned() {
    let (_dir, demo) = copied("river-sonde");
    for done in [1, 2, 5] {
        goes_on(&scenario(&demo), &demo, done);
    }
    let dir = folder(COLLAR, &[]);
    for done in [1, 4] {
        goes_on(&scenario(dir.path()), dir.path(), done);
    }
}

// ---- by hand ----

#[test]
fn a_record_by_hand() {
    let dir = recorded(COLLAR, SO_FAR);
    let answer = compare(dir.path(), &["--as-planned"]);
    let record = &answer["record"];
    // Resin 230 mL x 0.13 = 29.90; hours 3.1 x 30 = 93.00; a litre for 139.00; ordered for 172.00.
    assert_eq!(money(&record["spent"]), usd("433.90"), "{record:#}");
    assert_eq!(money(&record["committed"]), usd("172.00"));
    assert_eq!(money(&record["outlay"]["spent"]), usd("340.90"));
    assert_eq!(record["done"], 1);
    assert_eq!(record["today"], "2026-03-09");
    // At the bench: the order is cancelled for 100.00; five builds of 2.2 h / 0.88 = 2.5 h at 30 are 75.00 each; 125 mL / 0.88 = 142.045455
    // mL of resin each come off the litre that is there: 5 x 142.045455 = 710.227275 mL.
    let bench = plan(&answer, "collar = bench");
    assert_eq!(money(&bench["curves"]["avoidable"][5]), usd("275.00"));
    assert_eq!(
        money(&bench["curves"]["avoidable"][0]),
        Money::ZERO,
        "what is behind cannot be avoided"
    );
    assert_eq!(money(&bench["curves"]["outlay"][5]), usd("240.90"), "340.90 less 100.00");
    // Outside: iteration 2 is on order and costs nothing more; four orders of 172 and their time, 20 min at 30: 10.00.
    let house = plan(&answer, "collar = house");
    assert_eq!(money(&house["curves"]["avoidable"][1]), Money::ZERO);
    assert_eq!(money(&house["curves"]["avoidable"][5]), usd("728.00"));
    // Eight business days from Monday, 9 March: Thursday, 19 March, at noon.
    assert_eq!(house["iterations"][1]["in_hand"], "2026-03-19T12:00");
    assert_eq!(
        bench["iterations"][0]["in_hand"], "2026-03-04T17:00",
        "as recorded, at the end of the day"
    );
}

#[test]
fn variances_sum_to_the_difference() {
    let dir = recorded(COLLAR, SO_FAR);
    for options in [&["--as-planned"][..], &[], &["--iterations", "8"], &["--iterations", "2"]] {
        let answer = compare(dir.path(), options);
        let v = &answer["record"]["variances"];
        let [planned, expected, total, price, quantity, iterations, to_go] =
            ["planned", "expected", "total", "price", "quantity", "iterations", "to_go"]
                .map(|key| money(&v[key]));
        assert_eq!(expected - planned, total, "{v:#}");
        assert_eq!(price + quantity + iterations, total, "{v:#}");
        let record = &answer["record"];
        assert_eq!(money(&record["spent"]) + money(&record["to_go"]), expected);
        let items = v["items"].as_array().expect("items");
        let sum = |key: &str| -> Money { items.iter().map(|i| money(&i[key])).sum() };
        assert_eq!(sum("price"), price);
        assert_eq!(sum("quantity") + to_go, quantity);
    }
    // By hand: the litre cost 9.00 more than by the sheet; resin 29.90 - 18.47 = 11.43 and hours 93.00 - 75.00 = 18.00 more than planned.
    let answer = compare(dir.path(), &["--as-planned"]);
    let v = &answer["record"]["variances"];
    assert_eq!(money(&v["price"]), usd("9.00"));
    assert_eq!(money(&v["quantity"]) - money(&v["to_go"]), usd("29.43"));
    assert_eq!(money(&v["iterations"]), Money::ZERO);
    // Six planned: 6 x (75.00 + 18.47) = 560.82.
    assert_eq!(money(&v["planned"]), usd("560.82"), "{v:#}");
}

#[test]
fn every_line_of_the_ledger_has_its_status() {
    let dir = recorded(COLLAR, SO_FAR);
    let scenario = resumed(dir.path(), as_planned());
    in_shop(&scenario, |shop| {
        let plan = answer(shop).expect("an answer").plans[0].plan.clone();
        let ledger = ledger_of(shop, &plan).expect("it runs");
        let sum = |status: Status| -> Money {
            let of = ledger.entries().iter().filter(|e| e.status == status && e.is_cost());
            of.map(|e| e.amount).sum()
        };
        assert_eq!(sum(Status::Paid), usd("261.90"));
        assert_eq!(sum(Status::Committed), usd("172.00"));
        assert_eq!(sum(Status::Forecast), ledger.total(Total::Avoidable, u32::MAX));
        // What came with an invoice and what was drawn: nothing appears or disappears.
        let start: Vec<i64> = shop.items.iter().map(|i| i.stock).collect();
        let left = balance(ledger.movements(), &start, &[]).expect("it balances");
        let resin = scenario.items.iter().position(|i| i.name == "resin").expect("resin");
        assert_eq!(left[resin], 1_000_000_000 - 5 * 142_045_455);
    });
    let output = flipcount().arg("budget").arg(dir.path()).output().expect("it runs");
    let text = String::from_utf8(output.stdout).expect("text");
    for status in [",paid,", ",committed,", ",forecast,"] {
        assert!(text.contains(status), "{status}: {text}");
    }
}

#[test]
fn samples_and_the_ledger_agree_on_a_cancelled_order() {
    let dir = recorded(COLLAR, SO_FAR);
    let scenario = resumed(dir.path(), as_planned());
    in_shop(&scenario, |shop| {
        let mut simulation = Simulation::new(shop);
        for n in 2..=shop.planned {
            assert!(simulation.iterate(n, &[RouteId::at(0)]).expect("it runs"));
        }
        let exact = avoidable(shop, &simulation.events).expect("prices").exact();
        let fast = Prices::new(shop).totals(shop, &simulation.events).expect("prices");
        assert!((fast.avoidable - exact.to_f64_lossy()).abs() < 0.005 * f64::from(fast.roundings));
        assert_eq!(exact.to_money(2), usd("275.00"));
        let cancelled = |e: &&flipcount::sim::Event| matches!(e.what, What::Cancelled(_));
        assert_eq!(simulation.events.iter().filter(cancelled).count(), 1);
    });
}

// ---- today ----

#[test]
fn dates_go_by_the_stated_day_or_the_last_recorded_one() {
    let dir = recorded(COLLAR, SO_FAR);
    let in_hand = |options: &[&str]| {
        let answer = compare(dir.path(), options);
        plan(&answer, "collar = bench")["iterations"][1]["in_hand"]
            .as_str()
            .expect("a date")
            .to_owned()
    };
    let plain = in_hand(&["--as-planned"]);
    assert!(plain.starts_with("2026-03-09"), "{plain}");
    assert_eq!(in_hand(&["--as-planned", "--today", "2026-03-09"]), plain);
    // A week later everything is a week later.
    let later = in_hand(&["--as-planned", "--today", "2026-03-16"]);
    assert_eq!(later.replace("2026-03-16", "2026-03-09"), plain);
    // Every command that reads a record takes the day; without a record it has a meaning only where prices have an age.
    for command in ["compare", "flips", "budget", "buylist", "explain"] {
        let run = |folder: &Path, day: &str| {
            let output =
                flipcount().arg(command).arg(folder).args(["--today", day]).output().expect("runs");
            (output.status.code(), String::from_utf8_lossy(&output.stderr).into_owned())
        };
        assert_eq!(run(dir.path(), "2026-03-16").0, Some(0), "{command}");
        let (code, said) = run(dir.path(), "2026-03-01");
        assert!(
            code == Some(3) && said.contains("line of 2026-03-02, and today is 2026-03-01"),
            "{said}"
        );
        let none = folder(COLLAR, &[]);
        let (code, said) = run(none.path(), "2026-03-16");
        if command == "compare" {
            assert_eq!(code, Some(0), "{said}");
        } else {
            assert!(
                code == Some(2) && said.contains("there is no record.csv"),
                "{command}: {said}"
            );
        }
    }
}

#[test]
fn a_scenario_without_a_start_begins_with_its_record() {
    let text = COLLAR.replace("start    = 2026-03-02T09:00:00\n", "");
    let dir = recorded(&text, SO_FAR);
    let answer = compare(dir.path(), &["--as-planned"]);
    let bench = plan(&answer, "collar = bench");
    assert_eq!(bench["iterations"][0]["release"], "2026-03-02T09:00");
    assert_eq!(bench["curves"]["avoidable"][5], "275.00");
}

// ---- what came of it ----

fn outcome(lines: &str, options: &[&str]) -> (Value, u64) {
    let dir = recorded(COLLAR, lines);
    let answer = compare(dir.path(), options);
    let planned = answer["planned"].as_u64().expect("a count");
    (answer, planned)
}

#[test]
fn outcomes_decide_how_many_iterations_are_left() {
    let one = "2026-03-02,1,collar,bench,started,,,,,\n2026-03-04,1,,,";
    let (_, planned) = outcome(&format!("{one}redesign,,,,,\n"), &[]);
    assert_eq!(planned, 6);
    // What tells nothing of the design is made once more.
    let (answer, planned) = outcome(&format!("{one}failed,,,,,tore\n"), &[]);
    assert_eq!(planned, 7);
    assert_eq!(answer["record"]["outcomes"][0], "failed");
    // Accepted: nothing is left to make.
    let (answer, planned) = outcome(&format!("{one}accepted,,,,,\n"), &["--samples", "100"]);
    assert_eq!(planned, 1);
    assert_eq!(answer["verdict"]["sentence"], "The design is accepted: nothing is left to make.");
    assert_eq!(answer["record"]["to_go"], "0.00");
    assert_eq!(answer["record"]["accepted"], true);
    let v = &answer["record"]["variances"];
    assert_eq!(money(&v["iterations"]), money(&v["total"]), "five iterations less: {v:#}");
    // Six are behind and it is still not right: a seventh follows.
    let six: String = (1..=6)
        .map(|n| {
            format!(
                "2026-03-{:02},{n},collar,bench,started,,,,,\n2026-03-{:02},{n},,,redesign,,,,,\n",
                n + 1,
                n + 2
            )
        })
        .collect();
    let (answer, planned) = outcome(&six, &["--as-planned"]);
    assert_eq!(planned, 7);
    let v = &answer["record"]["variances"];
    // One more at the bench: 75.00 of hours and 18.47 of resin.
    assert_eq!(money(&v["iterations"]), usd("93.47"), "{v:#}");
    assert_eq!(money(&v["total"]), usd("93.47"));
    // The count asked for stands.
    assert_eq!(outcome(&six, &["--iterations", "9"]).1, 9);
    assert_eq!(outcome(&six, &["--iterations", "3"]).1, 6, "not below what is behind");
}

#[test]
fn an_iteration_under_way_is_not_begun_anew() {
    let begun = "2026-03-02,1,collar,bench,started,,,,,\n";
    let cost = |more: &str| {
        let dir = recorded(COLLAR, &format!("{begun}{more}"));
        let answer = compare(dir.path(), &["--as-planned"]);
        money(&plan(&answer, "collar = bench")["curves"]["avoidable"][0])
    };
    assert_eq!(cost(""), usd("93.47"), "all of it is to go");
    // Printed: what is left of the short form is waiting alone.
    assert_eq!(cost("2026-03-02,1,collar,bench,build,good,7,,,\n"), Money::ZERO);
    assert_eq!(cost("2026-03-02,1,collar,bench,build,failed,7,,,\n"), usd("93.47"), "once more");
    assert_eq!(cost("2026-03-03,1,collar,bench,in_hand,,,,,\n"), Money::ZERO);
    // In hand and not looked at: it is looked at from today on, and then redesigned.
    let dir = recorded(COLLAR, &format!("{begun}2026-03-03T10:00,1,,,in_hand,,,,,\n"));
    let answer = compare(dir.path(), &["--as-planned"]);
    // From 10:00 an hour to evaluate, four to redesign: 15:00.
    assert_eq!(plan(&answer, "collar = bench")["iterations"][1]["release"], "2026-03-03T15:00");
    assert_eq!(answer["record"]["outcomes"][0], "in hand");
}

#[test]
fn lines_that_do_not_fit_together_are_reported() {
    let check = |lines: &str| {
        let dir = recorded(COLLAR, lines);
        let output = flipcount().arg("check").arg(dir.path()).output().expect("it runs");
        (output.status.code(), String::from_utf8_lossy(&output.stderr).into_owned())
    };
    for (lines, told) in [
        ("2026-03-02,2,collar,bench,started,,,,,\n", "iteration 2 follows iteration 0"),
        (
            "2026-03-02,1,,,redesign,,,,,\n",
            "iteration 1 does not say by which route `collar` was made",
        ),
        (
            "2026-03-05,1,collar,bench,started,,,,,\n2026-03-04,1,,,redesign,,,,,\n",
            "iteration 1 ends before it begins",
        ),
    ] {
        let (code, said) = check(lines);
        assert!(code == Some(3) && said.contains(told) && said.contains("record.csv:"), "{said}");
    }
}

// ---- reports ----

/// What had happened of the demo by 16 March.
const DEMO: &str = "\
2026-03-02,1,sensor collar,\"bench, clear\",started,,,,,
2026-03-02,1,cable boot,\"print house A, black\",ordered,,,42.10,,
2026-03-02,1,sensor collar,\"bench, clear\",build,failed,3.1,,,
2026-03-03,1,sensor collar,\"bench, clear\",build,good,2.3,,,
2026-03-03,1,sensor collar,\"bench, clear\",used,\"soft resin 70A, uncoloured\",200 mL,,,
2026-03-03,1,sensor collar,\"bench, clear\",attended,,2.4,,,
2026-03-12,1,cable boot,\"print house A, black\",invoice,,,43.50,,
2026-03-12,1,,,in_hand,,,,,
2026-03-13,1,,,redesign,,,,,
2026-03-16,2,sensor collar,\"bench, dyed\",started,,,,,
2026-03-16,2,cable boot,\"print house A, black\",ordered,,20,42.10,,
";

#[test]
fn every_report_tells_how_the_project_stands() {
    let (_dir, demo) = copied("river-sonde");
    put_lines(&demo, DEMO);
    let run = |arguments: &[&str]| {
        let output = flipcount().args(arguments).arg(&demo).output().expect("it runs");
        let error = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(0), "{arguments:?}: {error}");
        String::from_utf8(output.stdout).expect("text")
    };
    let screen = run(&["compare"]);
    assert!(screen.lines().count() <= 40, "{} lines:\n{screen}", screen.lines().count());
    assert!(screen.lines().all(|line| line.chars().count() <= 100), "{screen}");
    assert!(screen.contains("So far: On 2026-03-16 (Mon) 1 iteration is behind"), "{screen}");
    let folder = tempfile::tempdir().expect("a folder");
    let to = folder.path().join("report").display().to_string();
    run(&["report", "--markdown", "--samples", "200", "-o", &to]);
    let read = |name: &str| fs::read_to_string(Path::new(&to).join(name)).expect("a file");
    let (page, told) = (read("report.html"), read("report.md"));
    for text in ["id=\"progress\"", "more than planned", "chance that a print is spoilt"] {
        assert!(page.contains(text), "{text}");
    }
    for text in ["## So far", "| more than planned |", "| learnt |", "| behind |"] {
        assert!(told.contains(text), "{text}: {told}");
    }
    let answer: Value = serde_json::from_str(&read("answer.json")).expect("JSON");
    assert_eq!(answer["record"]["done"], 1);
    // The budget file sums to what the answer says.
    let ledger = read("ledger.csv");
    let mut rows = csv::Reader::from_reader(ledger.as_bytes());
    let at = |name: &str| {
        ledger.lines().next().and_then(|h| h.split(',').position(|c| c == name)).expect("a column")
    };
    let (status, outlay, avoidable) = (at("status"), at("outlay"), at("avoidable"));
    let (mut spent, mut left, mut to_go) = (Money::ZERO, Money::ZERO, Money::ZERO);
    for row in rows.records().map(|row| row.expect("a row")) {
        let amount = |column: usize| number(&row[column]).to_money(2);
        match &row[status] {
            "forecast" => left += amount(outlay),
            _ => spent += amount(outlay),
        }
        to_go += amount(avoidable);
    }
    let record = &answer["record"];
    assert_eq!(spent, money(&record["outlay"]["spent"]));
    assert_eq!(left, money(&record["outlay"]["to_go"]));
    assert_eq!(to_go, money(&record["to_go"]));
}

// ---- size ----

/// The record of a long project: so many iterations of 25 lines.
pub fn long_record(iterations: u32) -> String {
    let mut text = format!("{HEADER}\n");
    for n in 1..=iterations {
        let day = |k: u32| flipcount::analysis::date_text(20_514 + i64::from(2 * n + k));
        text.push_str(&format!("{},{n},collar,bench,started,,,,,\n", day(0)));
        for _ in 0..11 {
            text.push_str(&format!("{},{n},collar,bench,attended,,0.2,,,step by step\n", day(0)));
        }
        for _ in 0..9 {
            text.push_str(&format!("{},{n},collar,bench,used,resin,15 mL,,,\n", day(0)));
        }
        text.push_str(&format!("{},{n},collar,bench,build,failed,3,,,\n", day(0)));
        text.push_str(&format!("{},{n},collar,bench,build,good,7.1,,,\n", day(0)));
        text.push_str(&format!("{},{n},collar,bench,in_hand,,,,,\n", day(1)));
        text.push_str(&format!("{},{n},,,redesign,,,,,\n", day(1)));
    }
    text
}

#[test]
fn a_record_of_ten_thousand_lines_is_no_burden() {
    let dir = folder(COLLAR, &[]);
    let text = long_record(400);
    assert_eq!(text.lines().count(), 10_001);
    fs::write(dir.path().join("record.csv"), &text).expect("written");
    let start = std::time::Instant::now();
    let loaded = load(dir.path(), &Overrides::default());
    let mut scenario = loaded.scenario.expect("it loads");
    settle(&mut scenario, Resume::default()).expect("it fits together");
    let planned = in_shop(&scenario, |shop| answer(shop).expect("an answer").planned);
    let took = start.elapsed();
    assert_eq!(planned, 401);
    // A release build on an idle machine takes far less than a second (see `cargo bench --bench compare`); here much else may run.
    assert!(took.as_secs() < 20, "{took:?}");
}

#[test]
fn two_routes_and_plans_of_all_kinds_go_on() {
    let text = format!(
        "{COLLAR}\n[[plan]]\nname = \"both\"\nassign = {{ collar = [\"bench\", {{ route = \"house\", until = 3 }}] }}\n\
         [[plan]]\nname = \"twins\"\nassign = {{ collar = \"bench\" }}\nvariants = 2\nvariant_worth = 0.5\n\
         [[plan]]\nname = \"outside\"\nassign = {{ collar = \"house\" }}\n"
    );
    let lines = "2026-03-02,1,collar,bench,started,,,,,\n2026-03-02,1,collar,house,ordered,,,172,,\n2026-03-04,1,,,redesign,,,,,\n\
                 2026-03-05,2,collar,house,ordered,,50,172,,\n";
    let dir = recorded(&text, lines);
    let answer = compare(dir.path(), &["--samples", "200"]);
    let names = ["both", "twins", "outside"];
    for name in names {
        let plan = plan(&answer, name);
        assert!(plan["feasible"].as_bool().expect("a flag"), "{name}");
    }
    // One is behind; the five others are worth 5 / 1.5 = 3.33 with two variants each: four more.
    assert_eq!(plan(&answer, "twins")["planned"], 5);
    assert!(money(&answer["record"]["spent"]) > usd("344.00"));
    let scenario = resumed(dir.path(), Resume::default());
    in_shop(&scenario, |shop| {
        let ledger = plan_ledger(shop, &[RouteId::at(1)]).expect("it runs");
        assert!(ledger.entries().iter().any(|e| e.status == Status::Committed));
    });
}
