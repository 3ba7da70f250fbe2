//! When to look again, and the last safe days, worked by hand.

use serde_json::Value;

use crate::commands::{DEMO, FIRST, path, run};
use crate::help::{compare, folder, project};

/// A cap cast by hand, or ordered at 100 and 6 min of an hour worth 30.
fn cast_or_ordered(planned: u32, more: &str, craft: &str) -> Value {
    let text = format!(
        "title = \"small\"\ncurrency = \"USD\"\nlabour = \"30 per h\"\nclose = 0\n{more}\n\
         [iterations]\nplanned = {planned}\n[[part]]\nname = \"cap\"\nvolume = \"10 cm3\"\n\
         [[route]]\nname = \"craft\"\nkind = \"bench\"\n{craft}\n\
         [[route]]\nname = \"out\"\nkind = \"order\"\npiece = 100\ndelivery_cost = 0\norder_time = \"6 min\"\n\
         arrives_after = \"3 business days\"\n"
    );
    compare(folder(&text, &[]).path(), &[])
}

/// Craft: 170 first, and 1 h of 30 that fails every other time, 60 an iteration: 410 for four. Out: 103 an iteration, 412.
/// Three iterations: 350 against 309. Failures in iteration 1: 170 + 30 (k + 1) + 180 passes 412 at k = 2. Price: 4 (p + 3) < 410 below
/// 99.50; at 99.50 both cost 410 and craft is faster.
#[test]
fn the_nearest_changes_are_as_worked_by_hand() {
    let answer = cast_or_ordered(
        4,
        "",
        "buy_first = 170\nsteps = [ { do = \"cast\", attended = \"1 h\", spoil = 0.5 } ]",
    );
    assert_eq!(answer["verdict"]["plan"], "cap = craft");
    let look = &answer["look_again"];
    assert_eq!(
        look["iterations"],
        serde_json::json!([{ "n": 3, "change": -1, "plan": "cap = out" }])
    );
    assert_eq!(
        look["failures"],
        serde_json::json!([{ "route": "craft", "failures": 2, "each": "30.00", "plan": "cap = out" }])
    );
    let price = &look["prices"][0];
    assert_eq!((&price["today"], &price["at"]), (&"100.00".into(), &"99.49".into()));
    assert_eq!((&price["per"], &price["plan"]), (&"piece".into(), &"cap = out".into()));
}

/// Two steps of an hour: fails at the first with 0.2 (half of it spent), at the second with 0.8 x 0.5. Of the failures a third costs 15, two
/// thirds 60: 45 on average.
#[test]
fn a_failed_build_costs_what_it_takes_where_it_fails() {
    let answer = cast_or_ordered(
        1,
        "",
        "steps = [ { do = \"cast\", attended = \"1 h\", spoil = 0.2, spent_share = 0.5 }, \
         { do = \"cure\", attended = \"1 h\", spoil = 0.5 } ]",
    );
    // 30 x (2.25 + 2) = 127.50 against 103: out; the craft is no route of the verdict.
    assert_eq!(answer["verdict"]["plan"], "cap = out");
    assert_eq!(answer["look_again"]["failures"], Value::Array(Vec::new()));
    let dearer = cast_or_ordered(
        2,
        "",
        "steps = [ { do = \"cast\", attended = \"30 min\", spoil = 0.2, spent_share = 0.5 }, \
         { do = \"cure\", attended = \"30 min\", spoil = 0.5 } ]",
    );
    // Half of everything: 63.75 an iteration; 30 + 22.50 k + 63.75 passes 206 at k = 5.
    let row = &dearer["look_again"]["failures"][0];
    assert_eq!((&row["failures"], &row["each"]), (&5.into(), &"22.50".into()));
}

/// What changes at a count or a price is what the same question answers there.
#[test]
fn the_demo_asked_again_changes_just_there() {
    for which in [DEMO, FIRST] {
        let answer = compare(&project(which), &[]);
        let (planned, horizon) = (
            answer["planned"].as_u64().expect("a count"),
            answer["horizon"].as_u64().expect("a count"),
        );
        let asked = |n: u64| {
            let again = compare(&project(which), &["--iterations", &n.to_string()]);
            again["verdict"]["plan"].as_str().expect("a plan").to_owned()
        };
        let now = answer["verdict"]["plan"].as_str().expect("a plan").to_owned();
        let changes = answer["look_again"]["iterations"].as_array().expect("a list");
        let at = |below: bool| changes.iter().find(|c| (c["change"].as_i64() < Some(0)) == below);
        let (first, last) = (
            at(true).map_or(1, |c| c["n"].as_u64().expect("a count")),
            at(false).map_or(horizon.min(planned + 4), |c| c["n"].as_u64().expect("a count")),
        );
        for n in first..=last {
            let told = changes.iter().find(|c| c["n"] == n);
            let wanted = told.map_or(now.as_str(), |c| c["plan"].as_str().expect("a plan"));
            assert_eq!(asked(n), wanted, "{which} at {n}");
        }
    }
}

/// Bench days are Monday to Friday; 6 and 14 April 2026 are closed. An order takes 20 min and three business days, there at 12:00.
fn due(due: &str, more: &str) -> Value {
    let text = format!(
        "title = \"dated\"\ncurrency = \"USD\"\nlabour = \"30 per h\"\nstart = 2026-04-01T09:00:00\ndue = {due}\n\
         [iterations]\nevaluate = \"1 h\"\nredesign = \"2 h\"\n{more}\n\
         [hours]\nclosed = [2026-04-06, 2026-04-14]\n\
         [[part]]\nname = \"cap\"\nvolume = \"10 cm3\"\niterations = 1\n\
         [[route]]\nname = \"out\"\nkind = \"order\"\nfor = [\"cap\"]\npiece = 30\ndelivery_cost = 8\n\
         order_time = \"20 min\"\narrives_after = \"3 business days\"\n"
    );
    compare(folder(&text, &[]).path(), &[])
}

/// Ordered on Wednesday 1 April, there on closed Monday the 6th: usable on Tuesday, evaluated at 10:00, when the final is released.
/// Due Sunday 19 April: to be there on Friday the 17th it is ordered by Tuesday the 14th, which is closed: Monday the 13th.
#[test]
fn the_last_safe_day_of_a_final() {
    let answer = due("2026-04-19", "planned = 1\n[final]");
    let wanted = serde_json::json!([{
        "route": "out", "iteration": 2, "final": true, "release": "2026-04-07T10:00", "day": "2026-04-13"
    }]);
    assert_eq!(answer["last_safe"], wanted);
    // The final as planned is there on Friday the 10th.
    let late = due("2026-04-09", "planned = 1\n[final]");
    assert_eq!(late["last_safe"][0]["day"], Value::Null);
    let just = due("2026-04-10", "planned = 1\n[final]");
    assert_eq!(just["last_safe"][0]["day"], "2026-04-07");
}

/// The cap is ordered in iteration 1 only; iteration 2 is an hour at the bench. Ordered on Friday 10 April it is there on Wednesday the 15th
/// at 12:00; evaluate to 13:00, redesign to 15:00, an hour of cutting: in time on the 15th. Monday the 13th would be Thursday.
#[test]
fn iterations_that_follow_the_last_order_count() {
    let ring = "planned = 2\n[[part]]\nname = \"ring\"\nvolume = \"5 cm3\"\n[[route]]\nname = \"cut\"\nkind = \"bench\"\n\
                for = [\"ring\"]\nsteps = [ { do = \"cut\", attended = \"1 h\" } ]";
    let answer = due("2026-04-15", ring);
    let wanted = serde_json::json!([{
        "route": "out", "iteration": 1, "final": false, "release": "2026-04-01T09:00", "day": "2026-04-10"
    }]);
    assert_eq!(answer["last_safe"], wanted);
}

#[test]
fn the_view_says_it_and_without_a_due_date_nothing_is_safe_or_late() {
    let (_, out, _) = run(&["compare", DEMO], &project(""));
    assert!(out.contains("Look again when: ") && out.contains("Last safe release: "), "{out}");
    let short = |text: &str| {
        let from = text.lines().position(|l| l.starts_with("Look again when: ")).expect("a line");
        text.lines().skip(from + 1).take_while(|l| l.starts_with("  ")).count() + 1
    };
    assert!(short(&out) <= 2, "{out}");
    let (_, all, _) = run(&["compare", DEMO, "--all"], &project(""));
    assert!(short(&all) >= short(&out), "{all}");
    let (_, out, _) = run(&["compare", path(&project(FIRST))], &project(""));
    assert!(!out.contains("Last safe release"), "{out}");
}
