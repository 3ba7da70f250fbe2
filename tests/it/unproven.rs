//! Unproven routes: decision trees worked by hand, limiting cases, laws of what information is worth, and the dates of each outcome.

use flipcount::analysis::{Choice, Doubts, Leg, Project, unproven};
use flipcount::model::{Exact, PartId, RouteId};
use flipcount::plan::{Pace, Plan};
use serde_json::Value;

use crate::help::{compare, flipcount, folder, in_shop, minute, number, plan, scenario};

/// A project of one iteration: a body of 190 mL of a resin at 1 USD per mL by a new technique, or for 800 USD from outside; a swatch by hand
/// for nothing, or of the resin as a trial.
fn drill(works: &str, tells: &str, swatch: &str, more: &str) -> String {
    format!(
        "title = \"drill\"\ncurrency = \"USD\"\n{more}[iterations]\nplanned = 1\n\
         [[part]]\nname = \"body\"\nvolume = \"190 cm3\"\n[[part]]\nname = \"swatch\"\nvolume = \"{swatch} cm3\"\n\
         [[route]]\nname = \"new\"\nkind = \"bench\"\nresin = \"1000 per L\"\nprint_time = \"5 h\"\nattended = \"1 h\"\n\
         spoil = 0\nsupports = 0\nper_build_loss = \"0 mL\"\n\
         works = {works}\nfallback = \"outside\"\ntrial = {{ part = \"swatch\", tells = {tells} }}\n\
         [[route]]\nname = \"outside\"\nkind = \"order\"\npiece = 800.00\narrives_after = \"8 business days\"\n\
         [[route]]\nname = \"by hand\"\nkind = \"bench\"\nfor = [\"swatch\"]\nsteps = [ {{ do = \"cut\", attended = \"10 min\" }} ]\n\
         [[plan]]\nname = \"new\"\nassign = {{ body = \"new\", swatch = \"by hand\" }}\n\
         [[plan]]\nname = \"old\"\nassign = {{ body = \"outside\", swatch = \"by hand\" }}\n"
    )
}

fn asked(text: &str) -> Value {
    compare(folder(text, &[]).path(), &[])
}

/// Expected cost of a policy of the plan `new`.
fn cost(answer: &Value, policy: &str) -> Exact {
    let policies = plan(answer, "new")["unproven"]["policies"].as_array().expect("policies");
    let found = policies.iter().find(|p| p["choices"]["new"] == policy);
    number(found.unwrap_or_else(|| panic!("no {policy}"))["avoidable"].as_str().expect("money"))
}

fn costs(answer: &Value) -> [Exact; 3] {
    ["skip", "commit", "try first"].map(|policy| cost(answer, policy))
}

#[test]
fn perfect_information_as_in_the_textbook() {
    // The oil drilling example of Hillier and Lieberman, Introduction to Operations Research, chapter on decision analysis (from
    // memory): drilling pays 700 with chance 0.25, else -100; selling the land pays 90; expected 100 and 90; perfect information pays
    // 0.25 x 700 + 0.75 x 90 = 242.5, so it is worth 142.5.
    // Costs here are 890 less the payoff: working 190, failing 190 + 800 = 990, leaving alone 800.
    let answer = asked(&drill("0.25", "1", "0.001", ""));
    let [skip, commit, first] = costs(&answer);
    assert_eq!(number("890") - skip, number("90"));
    assert_eq!(number("890") - commit, number("100"));
    assert_eq!(number("890") - first, number("242.5"));
    let of = &plan(&answer, "new")["unproven"]["routes"][0];
    assert_eq!((&of["trial_worth"], &of["policy"]), (&"142.50".into(), &"try first".into()));
}

#[test]
fn an_imperfect_trial_that_costs_something() {
    // The same tree with a trial of 30 that is right with 0.8, as in the textbook's chapter on experimentation but alike for both states:
    // 30 + 0.25 x 0.8 x 190 + (0.25 x 0.2 + 0.75 x 0.8) x 800 + 0.75 x 0.2 x 990
    //   = 30 + 38 + 520 + 148.5 = 736.5; commit 790, so worth 53.5.
    let answer = asked(&drill("0.25", "0.8", "30", ""));
    assert_eq!(costs(&answer), ["800", "790", "736.5"].map(number));
    let of = &plan(&answer, "new")["unproven"];
    assert_eq!(of["routes"][0]["trial_worth"], "53.50");
    // Where it fails: 0.8 x (30 + 800) + 0.2 x (30 + 990) = 868; 68 more than leaving it alone.
    assert_eq!(of["if_fails"]["chance"], 0.75);
    assert_eq!(of["if_fails"]["avoidable"], "868.00");
    assert_eq!(of["if_fails"]["lost"], "68.00");
    // Over w: skip 800; commit 990 - 800 w; try 868 - (868 - 342) w, for where it works 30 + 0.8 x 190 + 0.2 x 800 = 342.
    // Skip meets try at 68 / 526 = 0.1293, try meets commit at 122 / 274 = 0.4453.
    let changes = &of["routes"][0]["advice_changes"];
    let said = |at: usize| {
        let c = &changes[at];
        (c["works"].as_f64(), c["below"].as_str(), c["above"].as_str())
    };
    assert_eq!(said(0), (Some(0.1293), Some("skip"), Some("try first")));
    assert_eq!(said(1), (Some(0.4453), Some("try first"), Some("commit")));
    assert!(changes[2].is_null());
    // The plan is ranked by its expected cost, and so is the cost if the work ends there.
    assert_eq!(answer["stops"][0]["avoidable"]["new"], "736.50");
    // The curves are those of the route working.
    assert_eq!(plan(&answer, "new")["curves"]["avoidable"][0], "190.00");
}

#[test]
fn a_trial_that_tells_nothing_is_worth_nothing() {
    let answer = asked(&drill("0.25", "0.5", "0.001", ""));
    let of = &plan(&answer, "new")["unproven"]["routes"][0];
    assert_eq!((&of["trial_worth"], &of["policy"]), (&"0.00".into(), &"commit".into()));
    // A trial without cost and meaning is half of one, half of the other.
    let [skip, commit, first] = costs(&answer);
    assert_eq!(first + first, skip + commit);
}

#[test]
fn certain_to_work_is_proven_and_certain_to_fail_fails() {
    let stated = drill("1", "0.8", "30", "");
    let keys = "works = 1\nfallback = \"outside\"\ntrial = { part = \"swatch\", tells = 0.8 }\n";
    let proven = stated.replace(keys, "");
    assert!(proven.len() < stated.len());
    // In a folder of the same name, since the document bears it.
    let dir = folder(&stated, &[]);
    let with = compare(dir.path(), &[]);
    std::fs::write(dir.path().join("scenario.toml"), proven).expect("the scenario is written");
    assert_eq!(with, compare(dir.path(), &[]));

    let answer = asked(&drill("0", "1", "30", ""));
    assert_eq!(costs(&answer), ["800", "990", "830"].map(number));
    let of = &plan(&answer, "new")["unproven"];
    assert_eq!(of["routes"][0]["policy"], "skip");
    assert!(of["if_fails"].is_null(), "nothing is lost where nothing is tried");
}

#[test]
fn a_better_chance_and_a_better_trial_never_cost_more() {
    let steps = ["0", "0.2", "0.4", "0.6", "0.8", "0.95"];
    let over = |texts: Vec<String>, of: fn(&[Exact; 3]) -> Exact| {
        let costs: Vec<Exact> = texts.iter().map(|t| of(&costs(&asked(t)))).collect();
        assert!(costs.windows(2).all(|w| w[1] <= w[0]), "{costs:?}");
        assert!(costs.last() < costs.first(), "{costs:?}");
    };
    let by_works = steps.map(|w| drill(w, "0.9", "30", "")).to_vec();
    over(by_works.clone(), |c| c[1]);
    over(by_works, |c| c[0].min(c[1]).min(c[2]));
    let tells = ["0.5", "0.6", "0.75", "0.9", "1"];
    over(tells.map(|t| drill("0.4", t, "30", "")).to_vec(), |c| c[2]);
}

#[test]
fn a_plan_better_left_alone_is_its_fallback_and_no_rival_of_it() {
    let answer = asked(&drill("0.05", "0.8", "30", ""));
    let verdict = &answer["verdict"];
    assert_eq!((&verdict["plan"], &verdict["too_close"]), (&"old".into(), &false.into()));
    assert_eq!(plan(&answer, "new")["unproven"]["routes"][0]["policy"], "skip");
    assert_eq!(answer["plans"][0]["name"], "old", "a plan that is what it is called stands first");
    let sentence = verdict["sentence"].as_str().expect("a sentence");
    assert!(
        sentence.contains("The others leave their unproven routes alone and come to the same"),
        "{sentence}"
    );
}

#[test]
fn the_chance_of_the_due_date() {
    // Begun on Monday: in hand on Monday if it works, on Thursday of the next week from outside.
    let dates = "start = 2026-03-02T09:00:00\ndue = 2026-03-06\n";
    let answer = asked(&drill("0.85", "0.8", "30", &format!("sure = 0.8\n{dates}")));
    let of = &plan(&answer, "new")["unproven"]["policies"][0];
    assert_eq!((&of["choices"]["new"], &of["in_time"]), (&"commit".into(), &0.85.into()));
    assert_eq!(answer["verdict"]["plan"], "new");
    let late = asked(&drill("0.85", "0.8", "30", &format!("sure = 0.9\n{dates}")));
    let said = late["verdict"]["sentence"].as_str().expect("a sentence");
    assert_eq!(late["verdict"]["plan"], "new");
    assert!(said.starts_with("Due 2026-03-06 (Fri): no plan is in time"), "{said}");
    assert!(said.contains("is likeliest, with 85 %"), "{said}");
}

/// One part by hand in an hour, with a purchase before; the other way is two hours. Open from nine to five.
const BENCHES: &str = "title = \"benches\"\ncurrency = \"USD\"\nstart = 2026-03-02T09:00:00\nlabour = \"30 per h\"\n\
    [iterations]\nplanned = 2\nevaluate = \"0 min\"\nredesign = \"0 min\"\n[final]\n\
    [[part]]\nname = \"cap\"\nvolume = \"10 cm3\"\ncopies = 2\n\
    [[route]]\nname = \"new\"\nkind = \"bench\"\nbuy_first = 100\nworks = 0.5\nfallback = \"old\"\n\
    trial = { part = \"cap\", tells = 0.75 }\nsteps = [ { do = \"cast\", attended = \"1 h\", per = \"piece\" } ]\n\
    [[route]]\nname = \"old\"\nkind = \"bench\"\nsteps = [ { do = \"carve\", attended = \"75 min\", per = \"piece\" } ]\n";

#[test]
fn each_outcome_is_dated_and_paid_as_it_happens() {
    let dir = folder(BENCHES, &[]);
    let scenario = scenario(dir.path());
    let (new, old) = (RouteId(0), RouteId(1));
    in_shop(&scenario, |shop| {
        let run = |legs: &[Leg]| {
            Project::follow(shop, (legs, Pace::PLAIN), 2, &[2]).expect("it can be made")
        };
        let dates = |p: &Project| -> Vec<String> {
            p.dates.iter().flat_map(|d| [minute(d.release), minute(d.in_hand)]).collect()
        };
        let trial = Leg::Trial(vec![(PartId(0), new)]);
        // Two pieces an hour each: 9 to 11, 11 to 13; the final 13 to 15. 100 + 3 x 60.
        let works = run(&[Leg::Makes(vec![new])]);
        assert_eq!(
            dates(&works)[1..],
            ["2026-03-02T11:00", "2026-03-02T11:00", "2026-03-02T13:00"]
        );
        assert_eq!(works.cost_at(2).text(2), "280.00");
        // One piece first, from 9 to 10, its purchase with it: an hour later and 30 more.
        let tried = run(&[trial.clone(), Leg::Makes(vec![new])]);
        assert_eq!(dates(&tried)[..2], ["2026-03-02T10:00", "2026-03-02T12:00"]);
        assert_eq!(tried.cost_at(2).text(2), "310.00");
        assert_eq!(tried.ledger.entries()[0].iteration, 0);
        // Fails at 11, then two pieces of 75 minutes: till 13:30, till 16:00; the final on the next day, from 9 to 11:30.
        let fails = run(&[Leg::Fails(vec![new]), Leg::Makes(vec![old])]);
        let (first, second) = ("2026-03-02T13:30", "2026-03-02T16:00");
        assert_eq!(dates(&fails), ["2026-03-02T11:00", first, first, second]);
        assert_eq!(minute(fails.finals[0].2.in_hand), "2026-03-03T11:30");
        // 100 + 60 for what failed, 3 x 75 for the rest, by the old route to the end.
        assert_eq!(fails.cost_at(2).text(2), "385.00");
        assert_eq!(fails.finals[0].1.entries()[0].route, Some(old));
        // Told badly: the trial and its purchase are paid for nothing.
        assert_eq!(run(&[trial, Leg::Makes(vec![old])]).cost_at(2).text(2), "355.00");
    });
}

#[test]
fn the_chances_of_the_outcomes_sum_to_one() {
    let dir = folder(BENCHES, &[]);
    let scenario = scenario(dir.path());
    in_shop(&scenario, |shop| {
        let assign = [RouteId(0)];
        assert_eq!(Doubts::of(shop, &assign).list.len(), 1);
        let plan = Plan::unnamed(&scenario, assign.to_vec());
        let found = unproven(shop, &plan, &[]).expect("it can be made").expect("it is unproven");
        assert_eq!(found.policies.len(), 3);
        for policy in &found.policies {
            let sum: Exact = policy.outcomes.iter().map(|o| o.chance).sum();
            assert_eq!(sum, Exact::ONE, "{policy:?}");
        }
        // Skip 225; commit (280 + 385) / 2 = 332.5; try 0.375 x 310 + 0.5 x 355 + 0.125 x 415 = 345.625.
        let cost = |choice| found.policy(&[choice]).map(|p| p.cost.to_string());
        assert_eq!(cost(Choice::Skip).as_deref(), Some("225"));
        assert_eq!(cost(Choice::Commit).as_deref(), Some("332.5"));
        assert_eq!(cost(Choice::TryFirst).as_deref(), Some("345.625"));
        // Commit less try is below 0: no trial is worth less than nothing.
        assert_eq!(found.routes[0].trial_worth.map(|w| w.text(2)).as_deref(), Some("0.00"));
    });
}

/// Two parts, each by an unproven route of its own or a proven one.
fn two_routes(first: &str, second: &str) -> String {
    let route = |name: &str, part: &str, works: &str| {
        format!(
            "[[route]]\nname = \"{name}\"\nkind = \"bench\"\nfor = [\"{part}\"]\nworks = {works}\nfallback = \"old {part}\"\n\
             steps = [ {{ do = \"cast\", attended = \"1 h\" }} ]\n\
             [[route]]\nname = \"old {part}\"\nkind = \"bench\"\nfor = [\"{part}\"]\n\
             steps = [ {{ do = \"carve\", attended = \"4 h\" }} ]\n"
        )
    };
    let part = |name: &str| format!("[[part]]\nname = \"{name}\"\nvolume = \"10 cm3\"\n");
    let head =
        "title = \"two\"\ncurrency = \"USD\"\nlabour = \"30 per h\"\n[iterations]\nplanned = 1\n";
    let plan = "[[plan]]\nname = \"new\"\nassign = { cap = \"a\", ring = \"b\" }\n";
    [
        head.to_owned(),
        part("cap"),
        part("ring"),
        route("a", "cap", first),
        route("b", "ring", second),
        plan.to_owned(),
    ]
    .concat()
}

#[test]
fn two_unproven_routes_are_weighed_together() {
    // Both commit: iteration 1 costs 60. Both work 60; only cap fails 60 + (120 + 30) = 210; only ring the same; both 60 + 240 = 300.
    // 0.9 x 0.8 x 60 + (0.1 x 0.8 + 0.9 x 0.2) x 210 + 0.1 x 0.2 x 300 = 43.2 + 54.6 + 6 = 103.8.
    let answer = asked(&two_routes("0.9", "0.8"));
    let of = &plan(&answer, "new")["unproven"];
    let policy = |a: &str, b: &str| {
        let policies = of["policies"].as_array().expect("policies");
        let found = policies.iter().find(|p| p["choices"]["a"] == a && p["choices"]["b"] == b);
        found.unwrap_or_else(|| panic!("no {a}, {b}"))["avoidable"].clone()
    };
    assert_eq!(policy("commit", "commit"), "103.80");
    // Only a: works 30 + 120; fails that and 240. 0.9 x 150 + 0.1 x 390 = 174.
    assert_eq!(policy("commit", "skip"), "174.00");
    assert_eq!(policy("skip", "skip"), "240.00");
    assert_eq!(of["policies"].as_array().map(Vec::len), Some(4));
    // Not both work: 0.28, cost (54.6 + 6) / 0.28 = 216.43, less than leaving both alone.
    assert_eq!(
        (&of["if_fails"]["chance"], &of["if_fails"]["avoidable"]),
        (&0.28.into(), &"216.43".into())
    );
    assert_eq!(of["if_fails"]["lost"], "-23.57");
    let one = asked(&two_routes("0.9", "1"));
    assert_eq!(plan(&one, "new")["unproven"]["routes"].as_array().map(Vec::len), Some(1));
}

#[test]
fn a_fallback_that_breaks_a_must_rules_the_route_out() {
    let text = BENCHES
        .replace("copies = 2\n", "copies = 2\nmust = { opaque = true }\n")
        .replace("per = \"piece\" } ]", "per = \"piece\", give = { opaque = true } } ]");
    let blind = text.replacen(
        "75 min\", per = \"piece\", give = { opaque = true }",
        "75 min\", per = \"piece\"",
        1,
    );
    assert_ne!(text, blind);
    assert_eq!(asked(&text)["plans"].as_array().map(Vec::len), Some(2));
    let dir = folder(&blind, &[]);
    let output = flipcount().arg("compare").arg(dir.path()).output().expect("the command runs");
    assert_eq!(output.status.code(), Some(4));
    let out = String::from_utf8_lossy(&output.stdout);
    assert!(out.contains("cap by new: its fallback old: opaque must be yes"), "{out}");
}

#[test]
fn the_view_says_what_to_do_and_what_is_lost() {
    let dir = folder(&drill("0.25", "0.8", "30", ""), &[]);
    let output = flipcount().arg("compare").arg(dir.path()).output().expect("the command runs");
    let out = String::from_utf8_lossy(&output.stdout);
    assert!(out.lines().count() <= 40 && out.lines().all(|l| l.chars().count() <= 100), "{out}");
    let out = out.split_whitespace().collect::<Vec<_>>().join(" ");
    for said in [
        "Try new first on swatch (works with 25 %); if it does not work (75 %): 868, 68 lost",
        "expected: skip 800, commit 790, try first 737 (trial worth 54)",
        "below 12.9 % skip, from 12.9 % try first, from 44.5 % commit",
        "Break-even if it works: A is cheaper than B at every count to 24",
    ] {
        assert!(out.contains(said), "{said}: {out}");
    }
}

#[test]
fn a_switch_commits_to_an_unproven_route_and_never_begins_with_one() {
    let route = |name: &str, hours: u32, opaque: bool, more: &str| {
        format!(
            "[[route]]\nname = \"{name}\"\nkind = \"bench\"\n{more}\
             steps = [ {{ do = \"carve\", attended = \"{hours} h\", give = {{ opaque = {opaque} }} }} ]\n"
        )
    };
    let with = |clear: &str, dark: &str| {
        let head = "title = \"switch\"\ncurrency = \"USD\"\nlabour = \"30 per h\"\n[iterations]\nplanned = 4\n\
            [[part]]\nname = \"cap\"\nvolume = \"10 cm3\"\nmust = { opaque = { from_iteration = 3 } }\n";
        let unproven = |works: &str| match works {
            "1" => String::new(),
            works => format!("works = {works}\nfallback = \"paint\"\n"),
        };
        asked(
            &[
                head,
                &route("clear", 1, false, &unproven(clear)),
                &route("dye", 2, true, &unproven(dark)),
                &route("paint", 4, true, ""),
            ]
            .concat(),
        )["switch"]
            .clone()
    };
    // Two clear ones at 30, then two dyed ones at 60.
    assert_eq!(with("1", "1")["avoidable"], "180.00");
    // With 0.1 the third one fails at 60 and two painted ones at 120 follow: 60 + 0.9 x 120 + 0.1 x (60 + 240) = 198. Dyeing from the
    // start is 0.9 x 240 + 0.1 x (60 + 480) = 270.
    let switch = with("1", "0.9");
    assert_eq!((&switch["after"], &switch["avoidable"]), (&2.into(), &"198.00".into()));
    assert_eq!(switch["saves"], "72.00");
    assert!(with("0.9", "1").is_null());
}
