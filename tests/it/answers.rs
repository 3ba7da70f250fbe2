//! Answers on scenarios small enough to see through: blocked builds, the verdict's order, failures, what is ruled out.

use serde_json::Value;

use crate::help::{compare, flipcount, folder};

const HEAD: &str =
    "title = \"small\"\ncurrency = \"USD\"\nlabour = \"30 per h\"\n[iterations]\nplanned = 2\n";

fn bench(name: &str, more: &str) -> String {
    format!("[[route]]\nname = \"{name}\"\nkind = \"bench\"\n{more}\n")
}

fn part(name: &str) -> String {
    format!("[[part]]\nname = \"{name}\"\nvolume = \"10 cm3\"\n")
}

#[test]
fn builds_that_block_each_other_are_named() {
    // Each holds the machine the other waits for: a step without attended time does not let go of what came before.
    let crossing = |first: &str, second: &str, part: &str| {
        format!(
            "for = [\"{part}\"]\nsteps = [ {{ do = \"begin\", attended = \"10 min\", hold = \"1 h\", at = \"{first}\" }}, \
             {{ do = \"go on\", hold = \"1 h\", at = \"{second}\" }} ]"
        )
    };
    let text = [
        HEAD.to_owned(),
        part("cap"),
        part("ring"),
        bench("left", &crossing("press", "oven", "cap")),
        bench("right", &crossing("oven", "press", "ring")),
    ]
    .concat();
    let dir = folder(&text, &[]);
    let output = flipcount().arg("compare").arg(dir.path()).output().expect("the command runs");
    assert_eq!(output.status.code(), Some(4));
    let out =
        String::from_utf8_lossy(&output.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    for said in
        ["`left` waits for `oven` to begin `go on`", "`right` waits for `press` to begin `go on`"]
    {
        assert!(out.contains(said), "{out}");
    }
}

/// One part by two crafts: 2 h by hand at once, or 1 h 54 min and a night's rest.
fn two_crafts(close: &str) -> Value {
    let text = [
        format!("close = {close}\n{HEAD}"),
        part("cap"),
        bench("quick", "steps = [ { do = \"carve\", attended = \"120 min\" } ]"),
        bench(
            "slow",
            "steps = [ { do = \"cast\", attended = \"114 min\", hold = \"overnight\" } ]",
        ),
    ]
    .concat();
    compare(folder(&text, &[]).path(), &[])["verdict"].clone()
}

#[test]
fn among_plans_about_as_cheap_the_fewest_days_win() {
    // 2 x 120 min x 30 = 120.00 against 2 x 114 min x 30 = 114.00: 5.26 % apart.
    let far = two_crafts("0.05");
    assert_eq!((&far["plan"], &far["too_close"]), (&"cap = slow".into(), &false.into()));
    let near = two_crafts("0.06");
    assert_eq!((&near["plan"], &near["too_close"]), (&"cap = quick".into(), &true.into()));
    assert_eq!(near["parts"][0]["kind"], "bench");
}

#[test]
fn the_chance_and_the_days_of_a_failure() {
    let text = [
        HEAD.to_owned(),
        part("cap"),
        bench("craft", "steps = [ { do = \"cast\", attended = \"1 h\", hold = \"23 h\", spoil = 0.25, spent_share = 0.5 } ]"),
    ]
    .concat();
    let answer = compare(folder(&text, &[]).path(), &[]);
    let plan = &answer["plans"][0];
    assert_eq!(plan["failure_chance"], 0.25);
    // Begun on Monday at 9:00, noticed 12 h later; begun again on Tuesday at 9:00: a day later in all.
    assert_eq!(plan["failure_days"], 1.0);
}

#[test]
fn what_a_route_does_not_state_is_not_met() {
    let text = [
        HEAD.to_owned(),
        part("cap") + "must = { opaque = { from_iteration = 2 }, hardness = \"60A..80A\" }\n",
        bench("craft", "steps = [ { do = \"cast\", attended = \"1 h\" } ]"),
    ]
    .concat();
    let dir = folder(&text, &[]);
    let output = flipcount().arg("compare").arg(dir.path()).output().expect("the command runs");
    assert_eq!(output.status.code(), Some(4));
    let out =
        String::from_utf8_lossy(&output.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(out.contains("hardness must be 60A..80A, is not stated in the sheet"), "{out}");
    assert!(
        out.contains("opaque must be yes from iteration 2, is not stated in the sheet"),
        "{out}"
    );
}
