//! Several variants of a part in one iteration: fewer iterations of more pieces, worked by hand.

use serde_json::Value;

use crate::help::{compare, flipcount, folder, plan};

const HEAD: &str = "title = \"variants\"\ncurrency = \"USD\"\nlabour = \"30 per h\"\n";
const CAP: &str = "[[part]]\nname = \"cap\"\nvolume = \"10 cm3\"\n";
/// An hour of setting up for a build and half an hour for each piece of it.
const CRAFT: &str = "[[route]]\nname = \"craft\"\nkind = \"bench\"\nsteps = [ { do = \"set up\", attended = \"1 h\" }, \
    { do = \"carve\", attended = \"30 min\", per = \"piece\" } ]\n";

fn plans(variants: &[(&str, &str)], assign: &str) -> String {
    let one = |(name, more): &(&str, &str)| {
        format!("[[plan]]\nname = \"{name}\"\nassign = {{ {assign} }}\n{more}\n")
    };
    variants.iter().map(one).collect()
}

const TWO: (&str, &str) = ("two", "variants = 2\nvariant_worth = 0.5");
const ONE: (&str, &str) = ("one", "");

fn asked(parts: &[&str]) -> Value {
    compare(folder(&parts.concat(), &[]).path(), &[])
}

fn cost(answer: &Value, name: &str, n: usize) -> String {
    let cost = &plan(answer, name)["curves"]["avoidable"][n - 1];
    cost.as_str().expect("money").to_owned()
}

#[test]
fn fewer_iterations_of_more_pieces() {
    let answer = asked(&[
        HEAD,
        "[iterations]\nplanned = 6\n[final]\n",
        CAP,
        CRAFT,
        &plans(&[TWO, ONE], "cap = \"craft\""),
    ]);
    // One variant: 30 + 15 = 45 an iteration. Two: 30 + 2 x 15 = 60, in 6 / (1 + 0.5 x 1) = 4 iterations, then nothing any more.
    let of = |name: &str| [1, 2, 4, 5, 6, 12].map(|n| cost(&answer, name, n));
    assert_eq!(of("one"), ["45.00", "90.00", "180.00", "225.00", "270.00", "540.00"]);
    assert_eq!(of("two"), ["60.00", "120.00", "240.00", "240.00", "240.00", "240.00"]);
    let (one, two) = (plan(&answer, "one"), plan(&answer, "two"));
    assert_eq!(
        (&one["planned"], &two["planned"], &two["variants"]),
        (&6.into(), &4.into(), &2.into())
    );
    assert!(one["variants"].is_null());
    // The final is one cap for either: 45 more.
    assert_eq!(
        (&one["final"]["avoidable"], &two["final"]["avoidable"]),
        (&"315.00".into(), &"285.00".into())
    );
    // Each is compared at its own count.
    assert_eq!(answer["verdict"]["plan"], "two");
    assert_eq!(two["curves"]["days"][3], two["curves"]["days"][5]);
    assert!(two["curves"]["days"][5].as_f64() < one["curves"]["days"][5].as_f64());
    let made = two["iterations"].as_array().expect("iterations");
    assert_eq!(made.len(), 24);
    // 285 for two, 315 for one: the cost if the work ends after 6, and after 2: 120 + 45 against 90 + 45.
    let ends = |n: u64| {
        let row = answer["stops"].as_array().and_then(|s| s.iter().find(|r| r["n"] == n));
        row.unwrap_or_else(|| panic!("no stop {n}"))["avoidable"].clone()
    };
    assert_eq!((&ends(2)["two"], &ends(6)["two"]), (&"165.00".into(), &"285.00".into()));
}

#[test]
fn one_variant_is_none_and_a_worthless_one_saves_nothing() {
    let more = [
        ONE,
        ("same", "variants = 1\nvariant_worth = 0.7"),
        ("vain", "variants = 3\nvariant_worth = 0"),
    ];
    let answer = asked(&[
        HEAD,
        "[iterations]\nplanned = 5\nhorizon = 5\n",
        CAP,
        CRAFT,
        &plans(&more, "cap = \"craft\""),
    ]);
    let [one, same, vain] = ["one", "same", "vain"].map(|name| plan(&answer, name));
    assert_eq!(one["curves"], same["curves"]);
    assert_eq!(one["iterations"], same["iterations"]);
    assert_eq!((&same["planned"], &vain["planned"]), (&5.into(), &5.into()));
    // 5 x (30 + 3 x 15).
    assert_eq!(cost(&answer, "vain", 5), "375.00");
}

#[test]
fn own_counts_are_cut_at_the_reduced_count() {
    let ring = |count: u32| {
        format!("[[part]]\nname = \"ring\"\nvolume = \"10 cm3\"\niterations = {count}\n")
    };
    let answer = |count: u32| {
        let plans = plans(&[TWO, ONE], "cap = \"craft\", ring = \"craft\"");
        asked(&[HEAD, "[iterations]\nplanned = 6\n", CAP, &ring(count), CRAFT, &plans])
    };
    // Four pieces in each build that has both parts: 30 + 60 = 90; of the cap alone 60.
    assert_eq!(cost(&answer(5), "two", 6), "360.00");
    assert_eq!(cost(&answer(3), "two", 6), "330.00");
    assert_eq!(cost(&answer(5), "one", 6), "345.00");
}

#[test]
fn a_must_that_starts_after_the_reduced_count_binds_the_others_only() {
    let cap = CAP.to_owned() + "must = { opaque = { from_iteration = 5 } }\n";
    let answer = asked(&[
        HEAD,
        "[iterations]\nplanned = 6\n",
        &cap,
        CRAFT,
        &plans(&[TWO, ONE], "cap = \"craft\""),
    ]);
    assert_eq!(plan(&answer, "two")["feasible"], true);
    let one = plan(&answer, "one");
    assert_eq!(one["feasible"], false);
    assert!(one["reason"].as_str().is_some_and(|r| r.contains("from iteration 5")), "{one}");
}

#[test]
fn a_switch_has_no_variants() {
    let cap = CAP.to_owned() + "must = { opaque = { from_iteration = 3 } }\n";
    let route = |name: &str, hours: u32, opaque: bool| {
        format!(
            "[[route]]\nname = \"{name}\"\nkind = \"bench\"\n\
             steps = [ {{ do = \"carve\", attended = \"{hours} h\", give = {{ opaque = {opaque} }} }} ]\n"
        )
    };
    let with = |more: &str| {
        let plan = |name: &str, route: &str, more: &str| {
            format!("[[plan]]\nname = \"{name}\"\nassign = {{ cap = \"{route}\" }}\n{more}\n")
        };
        asked(&[
            HEAD,
            "[iterations]\nplanned = 4\n",
            &cap,
            &route("clear", 1, false),
            &route("dark", 2, true),
            &plan("begin", "clear", more),
            &plan("go on", "dark", ""),
        ])["switch"]
            .clone()
    };
    // Two clear ones at 30, then two dark ones at 60: 180 against 240.
    let switch = with("");
    assert_eq!((&switch["after"], &switch["avoidable"]), (&2.into(), &"180.00".into()));
    assert!(with("variants = 1\nvariant_worth = 1").is_null());
}

#[test]
fn a_price_break_sees_all_variants() {
    let text = [
        HEAD,
        "pricing = \"pricing\"\n[iterations]\nplanned = 2\n",
        CAP,
        "[[route]]\nname = \"outside\"\nkind = \"order\"\nservice = \"Foundry\"\norder_time = \"0 min\"\n",
        &plans(&[("two", "variants = 2\nvariant_worth = 1"), ONE], "cap = \"outside\""),
    ]
    .concat();
    let services =
        "service,basis,rate,from_qty,lead\nFoundry,piece,100,1,5\nFoundry,piece,70,2,5\n";
    let delivery = "service,delivery,base\nFoundry,parcel,0\n";
    let dir = folder(&text, &[("services.csv", services), ("delivery.csv", delivery)]);
    let answer = compare(dir.path(), &[]);
    // Twice 100, or once 2 x 70.
    assert_eq!(
        (cost(&answer, "one", 2), cost(&answer, "two", 2)),
        ("200.00".into(), "140.00".into())
    );
}

#[test]
fn variants_of_an_unproven_route() {
    let proven = "[[route]]\nname = \"old\"\nkind = \"bench\"\nsteps = [ { do = \"carve\", attended = \"90 min\", per = \"piece\" } ]\n";
    let craft = CRAFT.replace("kind = \"bench\"\n", "kind = \"bench\"\nworks = 0.8\nfallback = \"old\"\ntrial = { part = \"cap\", tells = 1 }\n");
    let answer = asked(&[
        HEAD,
        "[iterations]\nplanned = 6\n",
        CAP,
        &craft,
        proven,
        &plans(&[TWO], "cap = \"craft\""),
    ]);
    // Four iterations of two: works 240. Fails: 60, then 4 x 2 x 45 = 360. The trial is one piece: 45.
    // Commit 0.8 x 240 + 0.2 x 420 = 276; try 45 + 0.8 x 240 + 0.2 x 360 = 309.
    let policies =
        plan(&answer, "two")["unproven"]["policies"].as_array().expect("policies").clone();
    let cost =
        |at: usize| (policies[at]["choices"]["craft"].clone(), policies[at]["avoidable"].clone());
    assert_eq!(cost(0), ("commit".into(), "276.00".into()));
    assert_eq!(cost(1), ("try first".into(), "309.00".into()));
    assert_eq!(cost(2), ("skip".into(), "360.00".into()));
}

#[test]
fn the_view_and_the_ledger_know_the_variants() {
    let text = [
        HEAD,
        "[iterations]\nplanned = 6\n[final]\n",
        CAP,
        CRAFT,
        &plans(&[TWO, ONE], "cap = \"craft\""),
    ]
    .concat();
    let dir = folder(&text, &[]);
    let run = |command: &str| {
        let output = flipcount()
            .args(command.split(' '))
            .arg(dir.path())
            .output()
            .expect("the command runs");
        String::from_utf8(output.stdout).expect("UTF-8")
    };
    let out = run("compare");
    assert!(out.contains("A = two (2 variants at once, 4 iterations)"), "{out}");
    assert!(out.contains("Plan A, 2 variants at once, 4 iterations: 285 USD"), "{out}");
    // Its own ledger: four iterations and the final, which is entered as iteration 7.
    let ledger = run("budget");
    let iterations: Vec<&str> =
        ledger.lines().skip(1).filter_map(|l| l.split(',').nth(3)).collect();
    assert_eq!(iterations, ["1", "1", "2", "2", "3", "3", "4", "4", "7", "7"], "{ledger}");
}
