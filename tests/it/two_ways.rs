//! Two routes for one part in stated iterations, worked by hand: both are paid, the first in hand counts, the slower runs on.

use std::sync::atomic::AtomicBool;

use flipcount::analysis::{Asking, Project, answer, ledger_of, with_samples};
use flipcount::ledger::Total;
use flipcount::plan::Shop;
use serde_json::Value;

use crate::help::{compare, flipcount, folder, in_shop, line, minute, plan, scenario};

/// Monday. An hour of looking, four of redesign.
const HEAD: &str = "title = \"two ways\"\ncurrency = \"USD\"\nstart = 2026-03-02T09:00:00\nlabour = \"30 per h\"\n\
    pricing = \"pricing\"\n[iterations]\nplanned = 2\nhorizon = 3\nevaluate = \"1 h\"\nredesign = \"4 h\"\n";
const CAP: &str = "[[part]]\nname = \"cap\"\nvolume = \"10 cm3\"\n";
/// In hand six hours after it begins; four swabs.
const CRAFT: &str = "[[route]]\nname = \"craft\"\nkind = \"bench\"\nconsumes = [ { item = \"swab\", amount = \"4 pcs\" } ]\n\
    steps = [ { do = \"cast\", attended = \"1 h\", hold = \"5 h\", at = \"mould\" } ]\n";
/// Here at noon of the next day; then an hour and two swabs.
const FOUNDRY: &str = "[[route]]\nname = \"foundry\"\nkind = \"order\"\npiece = 50\ndelivery_cost = 10\n\
    arrives_after = \"1 business days\"\norder_time = \"30 min\"\n\
    steps = [ { do = \"inspect\", attended = \"1 h\", consumes = [ { item = \"swab\", amount = \"2 pcs\" } ] } ]\n";
/// Swabs at 0.50 each, more than are used.
const SWABS: (&str, &str) =
    ("supplies.csv", "item,kind,pack,pack_price,stock\nswab,supply,10 pcs,5,100 pcs\n");

fn both(until: u32) -> String {
    format!(
        "[[plan]]\nname = \"both\"\nassign = {{ cap = [\"craft\", {{ route = \"foundry\", until = {until} }}] }}\n"
    )
}

const ONE: &str = "[[plan]]\nname = \"one\"\nassign = { cap = \"craft\" }\n";

fn asked(parts: &[&str]) -> Value {
    compare(folder(&parts.concat(), &[SWABS]).path(), &[])
}

/// Runs a closure on the plan called `both`.
fn on<T>(parts: &[&str], ask: impl FnOnce(&Shop, &flipcount::plan::Plan) -> T) -> T {
    let dir = folder(&parts.concat(), &[SWABS]);
    in_shop(&scenario(dir.path()), |shop| {
        let answer = answer(shop).expect("few plans");
        let both = answer.plans.iter().find(|p| p.plan.name == "both").expect("it is feasible");
        ask(shop, &both.plan)
    })
}

/// When, iteration, category, item, kind and amount of each entry that is not only consumed.
fn entries(shop: &Shop, plan: &flipcount::plan::Plan) -> Vec<String> {
    let ledger = ledger_of(shop, plan).expect("it can be carried out");
    let counts = ledger.entries().iter().filter(|e| e.counts_in(Total::Avoidable));
    let text = |e: &flipcount::ledger::Entry| {
        format!(
            "{} {} {} {} {}",
            minute(e.when),
            e.iteration,
            e.item(shop.scenario),
            e.kind.name(),
            e.amount.text(2)
        )
    };
    counts.map(text).collect()
}

#[test]
fn an_order_that_comes_during_the_next_iteration_is_paid_and_not_waited_for() {
    let parts = [HEAD, CAP, CRAFT, FOUNDRY, &both(1), ONE];
    let answer = asked(&parts);
    let (both, one) = (plan(&answer, "both"), plan(&answer, "one"));
    // The order is placed while the cap sets: not a minute later in hand.
    assert_eq!(both["iterations"], one["iterations"]);
    let in_hand: Vec<&str> = both["iterations"]
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(|i| i["in_hand"].as_str())
        .collect();
    assert_eq!(in_hand, ["2026-03-02T15:00", "2026-03-03T18:00", "2026-03-04T20:00"]);
    // An iteration by craft: 30 + 4 x 0.50 = 32. The order: 15 + 50 + 10 + 30 + 2 x 0.50 = 106.
    assert_eq!(one["curves"]["avoidable"], serde_json::json!(["32.00", "64.00", "96.00"]));
    assert_eq!(both["curves"]["avoidable"], serde_json::json!(["138.00", "170.00", "202.00"]));
    assert_eq!(both["curves"]["attended_h"], serde_json::json!([2.5, 3.5, 4.5]));
    assert_eq!((&both["assign"]["cap"], &both["planned"]), (&"craft".into(), &2.into()));
    let second = serde_json::json!([{ "part": "cap", "route": "foundry", "until": 1 }]);
    assert_eq!(both["beside"], second);
    assert!(one["beside"].is_null() && answer["switch"].is_null());
    // It is inspected when iteration 2 is under way, after its cap is cast; what that draws is settled at the in hand of iteration 2.
    let found = on(&parts, entries);
    let expected = [
        "2026-03-02T09:00 1 cast work 30.00",
        "2026-03-02T10:00 1 order work 15.00",
        "2026-03-02T10:30 1 foundry pay 50.00",
        "2026-03-02T10:30 1 foundry pay 10.00",
        "2026-03-02T15:00 1 swab stock 2.00",
        "2026-03-03T12:00 2 cast work 30.00",
        "2026-03-03T13:00 1 inspect work 30.00",
        "2026-03-03T18:00 2 swab stock 3.00",
    ];
    assert_eq!(found, expected);
}

#[test]
fn what_runs_on_past_the_end_is_carried_to_its_own_end() {
    let late = FOUNDRY.replace("1 business days", "4 business days");
    let parts = [HEAD, CAP, CRAFT, &late, &both(2)];
    // Placed on Monday at 10:30 and on Tuesday at 13:30: there on Friday and on Monday at noon. Nobody waits.
    let found = on(&parts, entries);
    let last = [
        "2026-03-03T18:00 2 swab stock 2.00",
        "2026-03-06T12:00 1 inspect work 30.00",
        "2026-03-09T12:00 2 inspect work 30.00",
        "2026-03-09T13:00 2 swab stock 2.00",
    ];
    assert_eq!(found[found.len() - 4..], last);
    let answer = asked(&parts);
    // Each count as if the work ended there; the third adds an iteration by craft.
    let both = plan(&answer, "both");
    assert_eq!(both["curves"]["avoidable"], serde_json::json!(["138.00", "276.00", "308.00"]));
    assert_eq!(both["curves"]["attended_h"], serde_json::json!([2.5, 5.0, 6.0]));
    assert_eq!(both["curves"]["days"][1], 1.375);
}

#[test]
fn the_final_takes_its_turn_with_what_still_runs_on() {
    let late = FOUNDRY.replace("1 business days", "2 business days");
    let parts = [HEAD, "[final]\n", CAP, CRAFT, &late, &both(2)];
    // The final is released on Wednesday at 10:00, cast until 11:00 and in hand at 16:00. The first order is there on Wednesday, the
    // second on Thursday at noon.
    let found = on(&parts, entries);
    let last = [
        "2026-03-03T18:00 2 swab stock 2.00",
        "2026-03-04T10:00 3 cast work 30.00",
        "2026-03-04T12:00 1 inspect work 30.00",
        "2026-03-04T16:00 3 swab stock 3.00",
        "2026-03-05T12:00 2 inspect work 30.00",
        "2026-03-05T13:00 2 swab stock 1.00",
    ];
    assert_eq!(found[found.len() - 6..], last);
    let answer = asked(&parts);
    // Three by craft, two orders.
    assert_eq!(plan(&answer, "both")["final"]["avoidable"], "308.00");
}

/// The first uses the machine for an hour, the slow one for forty; only the slow one is finished by hand.
const MACHINE: &str = "[[route]]\nname = \"quick\"\nkind = \"bench\"\nsteps = [ \
    { do = \"mill\", attended = \"15 min\", hold = \"1 h\", at = \"mill\" }, \
    { do = \"wash\", attended = \"30 min\", hold = \"2 h\" } ]\n\
    [[route]]\nname = \"slow\"\nkind = \"bench\"\nsteps = [ \
    { do = \"mill\", attended = \"15 min\", hold = \"40 h\", at = \"mill\" }, \
    { do = \"finish\", attended = \"1 h\" } ]\n";

#[test]
fn a_slower_build_keeps_its_machine_and_the_next_iteration_waits_for_that() {
    let assign = "[[plan]]\nname = \"both\"\nassign = { cap = [\"quick\", { route = \"slow\", until = 1 }] }\n\
        [[plan]]\nname = \"one\"\nassign = { cap = \"quick\" }\n";
    let parts = [HEAD, CAP, MACHINE, assign];
    let answer = asked(&parts);
    let dates = |name: &str| -> Vec<[String; 2]> {
        let of = |i: &Value| {
            ["release", "in_hand"].map(|key| i[key].as_str().expect("a date").to_owned())
        };
        let all = plan(&answer, name)["iterations"].as_array().expect("iterations");
        all.iter().take(2).map(of).collect()
    };
    let first = ["2026-03-02T09:00", "2026-03-02T12:45"];
    // Released on Tuesday at 9:45: an hour and a half and three hours and a quarter after 12:45, less the night.
    assert_eq!(dates("one"), [first, ["2026-03-03T09:45", "2026-03-03T13:30"]]);
    // The slow one mills from Monday 10:45 to Wednesday 3:00 and stays on the machine until it is finished by hand, on Wednesday from 9:00
    // to 10:00. Then the next cap: 10:00 to 11:15, washed 11:15 to 13:45.
    assert_eq!(dates("both"), [first, ["2026-03-03T09:45", "2026-03-04T13:45"]]);
    let found = on(&parts, entries);
    let expected = [
        "2026-03-02T09:00 1 mill work 7.50",
        "2026-03-02T10:15 1 wash work 15.00",
        "2026-03-02T10:45 1 mill work 7.50",
        "2026-03-04T09:00 1 finish work 30.00",
        "2026-03-04T10:00 2 mill work 7.50",
        "2026-03-04T11:15 2 wash work 15.00",
    ];
    assert_eq!(found, expected);
}

#[test]
fn the_second_route_counts_where_it_is_the_first_in_hand() {
    // The foundry is quicker than a cast that takes three days.
    let craft = CRAFT.replace("5 h", "72 h");
    let parts = [HEAD, CAP, &craft, FOUNDRY, &both(1), ONE];
    let answer = asked(&parts);
    let in_hand = |name: &str| plan(&answer, name)["iterations"][0]["in_hand"].clone();
    assert_eq!(in_hand("one"), "2026-03-05T10:00");
    assert_eq!(in_hand("both"), "2026-03-03T13:00");
}

#[test]
fn a_must_binds_both_routes_as_long_as_they_are_used() {
    let cap = CAP.to_owned() + "must = { opaque = { from_iteration = 2 } }\n";
    let craft = CRAFT.replace("at = \"mould\"", "at = \"mould\", give = { opaque = true }");
    let answer = |until: u32| asked(&[HEAD, &cap, &craft, FOUNDRY, &both(until), ONE]);
    assert_eq!(plan(&answer(1), "both")["feasible"], true);
    let broken = answer(2);
    let broken = plan(&broken, "both");
    assert_eq!(broken["feasible"], false);
    let reason = broken["reason"].as_str().expect("a reason");
    assert!(reason.contains("cap by foundry") && reason.contains("iteration 2"), "{reason}");
}

#[test]
fn a_failure_counts_by_the_days_of_the_first_in_hand() {
    let foundry = FOUNDRY.to_owned() + "reject = 0.5\n";
    let answer = asked(&[HEAD, CAP, CRAFT, &foundry, &both(1), ONE]);
    let both = plan(&answer, "both");
    // A wrong lot is likely, and nobody has waited for it.
    assert_eq!((&both["failure_chance"], &both["failure_days"]), (&0.5.into(), &0.0.into()));
    assert_eq!(plan(&answer, "one")["failure_chance"], 0.0);
}

#[test]
fn samples_without_a_spread_are_the_plan_and_no_thread_matters() {
    let late = FOUNDRY.replace("1 business days\"", "4 business days\"").replace(
        "arrives_after = \"4 business days\"",
        "arrives_after = { low = \"4 business days\", likely = \"4 business days\", high = \"4 business days\" }",
    );
    let head = HEAD.replace("planned = 2", "planned = { low = 2, likely = 2, high = 2 }");
    let parts = [head.as_str(), "[final]\n", CAP, CRAFT, &late, &both(2), ONE];
    let dir = folder(&parts.concat(), &[SWABS]);
    in_shop(&scenario(dir.path()), |shop| {
        let drawn = |threads| {
            let stop = AtomicBool::new(false);
            let asking = Asking { samples: 200, seed: 7, threads, progress: &|_| {}, stop: &stop };
            with_samples(shop, answer(shop).expect("few plans"), &asking)
        };
        let (one, two) = (drawn(1), drawn(2));
        assert_eq!(one.sampled, two.sampled);
        let sampled = one.sampled.as_ref().expect("samples");
        for (plan, drawn) in one.plans.iter().zip(&sampled.plans) {
            let cost = plan.decides.avoidable.exact().to_f64_lossy();
            let name = &plan.plan.name;
            assert!((drawn.avoidable.mean.value - cost).abs() < 1e-6, "{name}: {drawn:?}");
            assert!(drawn.stopped <= 0.0, "{name}");
        }
    });
}

#[test]
fn samples_draw_what_runs_on() {
    let foundry = FOUNDRY.to_owned() + "reject = 0.3\nmisread = 0.2\n";
    let craft = CRAFT.replace("at = \"mould\"", "at = \"mould\", spoil = 0.2");
    let head = HEAD.replace("planned = 2", "planned = { low = 2, likely = 3, high = 6 }");
    let dir = folder(
        &[&head, CAP, &craft, &foundry, &both(2), ONE]
            .concat()
            .replace("horizon = 3", "horizon = 6"),
        &[SWABS],
    );
    in_shop(&scenario(dir.path()), |shop| {
        let drawn = |threads| {
            let stop = AtomicBool::new(false);
            let asking = Asking { samples: 600, seed: 3, threads, progress: &|_| {}, stop: &stop };
            with_samples(shop, answer(shop).expect("few plans"), &asking).sampled.expect("samples")
        };
        let sampled = drawn(2);
        assert_eq!(sampled, drawn(1));
        for plan in &sampled.plans {
            assert!(plan.stopped <= 0.0 && plan.avoidable.mean.se > 0.0, "{plan:?}");
        }
    });
}

#[test]
fn the_view_the_list_and_the_names_know_both_routes() {
    let nameless = both(1).replace("name = \"both\"\n", "");
    let dir = folder(&[HEAD, CAP, CRAFT, FOUNDRY, &nameless].concat(), &[SWABS]);
    let run = |command: &str| {
        let output = flipcount().args(command.split(' ')).arg(dir.path()).output();
        String::from_utf8(output.expect("the command runs").stdout).expect("UTF-8")
    };
    let out = run("compare");
    assert!(out.contains("A = cap = craft + foundry to 1\n"), "{out}");
    assert!(out.contains("Plan A, cap also by foundry to iteration 1: 170 USD"), "{out}");
    let list = run("buylist");
    assert!(list.contains("foundry") && list.contains("2026-03-02"), "{list}");
    let ledger = run("budget");
    let sum: f64 = ledger
        .lines()
        .skip(1)
        .filter_map(|l| l.split(',').nth(15))
        .filter_map(|c| c.parse::<f64>().ok())
        .sum();
    assert!((sum - 170.0).abs() < 1e-9, "{sum}: {ledger}");
}

#[test]
fn without_an_iteration_that_uses_it_a_second_route_changes_nothing() {
    on(&[HEAD, CAP, CRAFT, FOUNDRY, &both(1)], |shop, both| {
        let none = flipcount::plan::Plan { beside: Vec::new(), ..both.clone() };
        let mut never = both.clone();
        never.beside[0].until = 0;
        let text = |plan| {
            let project = Project::of(shop, plan, 3, &[2]).expect("it can be carried out");
            let entries: Vec<String> =
                project.ledger.entries().iter().map(|e| line(e, shop.scenario)).collect();
            (entries, project.dates)
        };
        assert_eq!(text(&none), text(&never));
        assert_ne!(text(&none), text(both));
    });
}
