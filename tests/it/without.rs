//! A route that fails: what is best without it, what that costs, and when it is there.

use std::path::Path;

use serde_json::Value;

use crate::commands::{DEMO, path, run, ten_numbers};
use crate::help::{compare, folder, plan, project};

const DYED: &str = "bench, dyed";

fn decimal(value: &Value) -> rust_decimal::Decimal {
    value.as_str().and_then(|text| text.parse().ok()).unwrap_or_else(|| panic!("{value}"))
}

/// The demo with one of its routes closed, in a folder of its own.
fn closed_demo(route: &str, reason: &str) -> tempfile::TempDir {
    let dir = tempfile::tempdir().expect("a folder");
    crate::changes::copy(&project("scenarios"), &dir.path().join("scenarios"));
    crate::changes::copy(&project("pricing"), &dir.path().join("pricing"));
    let name = format!("name      = \"{route}\"\n");
    crate::changes::edit(
        &dir.path().join(DEMO).join("scenario.toml"),
        &name,
        &format!("{name}closed = \"{reason}\"\n"),
    );
    dir
}

#[test]
fn the_second_best_is_the_best_of_the_plans_without_the_route() {
    let all = compare(&project(DEMO), &[]);
    let without = compare(&project(DEMO), &["--without", DYED]);
    let said = &without["without"];
    // The plans of the whole answer that leave the route alone are those of the other answer, cost for cost.
    let leaves = |p: &&Value| {
        let assign = p["assign"].as_object().expect("routes");
        p["feasible"] == true && assign.values().all(|route| route != DYED)
    };
    let plans = all["plans"].as_array().expect("plans");
    let kept: Vec<&Value> = plans.iter().filter(leaves).collect();
    assert!(!kept.is_empty() && kept.len() < plans.len());
    for plan_before in &kept {
        let now = plan(&without, plan_before["name"].as_str().expect("a name"));
        assert_eq!(now["final"], plan_before["final"]);
    }
    let before = plan(&all, all["verdict"]["plan"].as_str().expect("a plan"));
    let now = plan(&without, without["verdict"]["plan"].as_str().expect("a plan"));
    for (key, more) in [("avoidable", "costs_more"), ("outlay", "outlay_more")] {
        let difference = decimal(&now["final"][key]) - decimal(&before["final"][key]);
        assert_eq!(decimal(&said[more]), difference);
    }
    assert_eq!(said["plan_before"], all["verdict"]["plan"]);
    let days = |p: &Value| p["final"]["days"].as_f64().expect("days");
    let later = said["days_later"].as_f64().expect("days");
    assert!((later - (days(now) - days(before))).abs() < 1e-5, "{later}");
    assert_eq!(said["moved"][0]["from"], DYED);
    assert_eq!(all["without"], Value::Null);
}

#[test]
fn a_route_closed_in_the_scenario_is_told_as_one_left_out() {
    let dir = closed_demo(DYED, "the tub cracked");
    let closed = compare(&dir.path().join(DEMO), &[]);
    let mut left_out = compare(&project(DEMO), &["--without", DYED]);
    assert_eq!(closed["without"]["routes"][0]["reason"], "the tub cracked");
    left_out["without"]["routes"][0]["reason"] = "the tub cracked".into();
    assert_eq!(closed["without"], left_out["without"]);
    let (code, out, _) = run(&["compare", path(&dir.path().join(DEMO))], dir.path());
    assert_eq!(code, 0);
    assert!(out.contains("Without: bench, dyed (the tub cracked): 228 more, 17 %"), "{out}");
    assert!(out.lines().count() <= 40, "{out}");
    // The page and the Markdown say it too.
    let args = ["report", DEMO, "--samples", "0", "--markdown", "-o", "out"];
    assert_eq!(run(&args, dir.path()).0, 0);
    for file in ["report.html", "report.md"] {
        let text = std::fs::read_to_string(dir.path().join("out").join(file)).expect("written");
        assert!(text.contains("bench, dyed (the tub cracked): 228 more, 17 %"), "{file}");
    }
}

#[test]
fn a_route_that_nobody_uses_is_no_loss() {
    let (code, out, _) = run(&["compare", DEMO, "--without", "bench, clear"], &project(""));
    assert_eq!(code, 0);
    assert!(out.contains("nothing is lost, the verdict is the same with it"), "{out}");
}

#[test]
fn where_no_plan_is_left_what_there_was_is_told() {
    let dir = folder(&ten_numbers("collar", ""), &[]);
    let at = path(dir.path());
    let (code, out, _) =
        run(&["compare", at, "--without", "out", "--without", "bench"], dir.path());
    assert_eq!(code, 4);
    assert!(out.contains("no plan is left; it"), "{out}");
    let (code, _, error) = run(&["compare", at, "--without", "benhc"], Path::new("."));
    assert_eq!(code, 2);
    assert!(error.contains("did you mean `bench`?"), "{error}");
}

#[test]
fn a_closed_route_may_lack_what_it_would_need() {
    // Without its volume no bench route can be planned: open, the scenario is not valid, closed it is.
    let text = ten_numbers("collar", "").replace("volume = \"50 cm3\"\n", "");
    let open = folder(&text, &[]);
    assert_eq!(run(&["check", path(open.path())], open.path()).0, 3);
    let closed = text.replace("kind = \"bench\"\n", "kind = \"bench\"\nclosed = \"no resin\"\n");
    let closed = folder(&closed, &[]);
    let answer = compare(closed.path(), &[]);
    assert_eq!(answer["without"], Value::Null);
    assert_eq!(answer["ruled_out"][0]["reason"], "closed: no resin");
}
