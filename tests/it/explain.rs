//! `explain`, `compare --wide` and `compare --plan` as a user meets them.

use flipcount::analysis::{Figure, FigureKind, Story, Within};
use flipcount::ledger::Total;
use flipcount::report::{
    Depth, Subject, explain_text, figure_title, plan_view, terminal, wide_view,
};
use serde_json::Value;

use crate::help::{flipcount, folder, in_shop, project, scenario};

/// A bracket that is cast and one that is ordered: a step that fails, packs, an order with all charges.
const BRACKET: &str = r#"
title    = "Buoy bracket"
currency = "EUR"
start    = 2026-03-02T09:00:00
labour   = "36 per h"
pricing  = "pricing"

[iterations]
planned  = 2
evaluate = "1 h"
redesign = { low = "2 h", likely = "3 h", high = "9 h" }

[[part]]
name   = "bracket"
volume = "20 cm3"
box    = "40 x 30 x 50 mm"
copies = 2

[[route]]
name     = "cast"
kind     = "bench"
consumes = [ { item = "rubber", amount = "45 mL", per = "piece" } ]
steps = [
  { do = "pour", attended = "25 min", spoil = 0.2, spent_share = 0.5 },
  { do = "demould", attended = "6 min", per = "piece" },
]

[[route]]
name     = "shop"
kind     = "order"
service  = "Shop"
material = "rubber"
finish   = "raw"
speed    = "standard"
delivery = "post"
misread  = 0.1
"#;

const SHEETS: [(&str, &str); 4] = [
    ("supplies.csv", "item,kind,pack,pack_price\nrubber,supply,250 mL,19.00\n"),
    (
        "services.csv",
        "service,material,finish,speed,basis,rate,from_qty,piece_min,setup_per_part,order_min,lead,density\n\
Shop,rubber,raw,standard,part_volume,0.8,1,18.00,5.00,50.00,4,1.1 g/mL\n",
    ),
    (
        "delivery.csv",
        "service,delivery,base,per_kg,mass_step,transit\nShop,post,6.00,2.50,0.25,1\n",
    ),
    ("rates.csv", "rate,value,unit,service\ntax,0.19,,Shop\n"),
];

fn run(args: &[&str]) -> (Option<i32>, String, String) {
    let dir = folder(BRACKET, &SHEETS);
    let mut command = flipcount();
    command.arg(args[0]).arg(dir.path()).args(&args[1..]);
    let output = command.output().expect("the command runs");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("UTF-8");
    (output.status.code(), text(output.stdout), text(output.stderr))
}

fn said(args: &[&str]) -> String {
    let (code, out, err) = run(args);
    assert_eq!(code, Some(0), "{err}");
    out
}

#[test]
fn a_total_an_entry_and_an_input() {
    insta::assert_snapshot!("bracket-avoidable", said(&["explain", "avoidable[bracket = cast]"]));
    insta::assert_snapshot!(
        "bracket-item",
        said(&["explain", "outlay[bracket = shop]@1/delivery/Shop"])
    );
    insta::assert_snapshot!("bracket-entry", said(&["explain", "entry:4"]));
    insta::assert_snapshot!("bracket-input", said(&["explain", "iterations.redesign"]));
    insta::assert_snapshot!("bracket-spoil", said(&["explain", "route[cast].steps[pour].spoil"]));
    insta::assert_snapshot!("bracket-asks", said(&["explain"]));
}

#[test]
fn the_plan_is_the_verdicts_unless_it_is_named() {
    let own = said(&["explain", "outlay"]);
    assert_eq!(own, said(&["explain", "outlay[A]"]));
    assert_ne!(own, said(&["explain", "outlay[B]"]));
}

#[test]
fn numbers_are_those_of_the_budget_file() {
    let budget = said(&["budget"]);
    let mut rows = csv::Reader::from_reader(budget.as_bytes());
    let mut seen = 0;
    for row in rows.records().map(|r| r.expect("a row")).step_by(3) {
        let tree = said(&["explain", &format!("entry:{}", &row[0]), "--json"]);
        let tree: Value = serde_json::from_str(&tree).expect("JSON");
        let value = tree["figure"]["value"].as_str().expect("a value");
        let same = |text: &str| text.parse::<rust_decimal::Decimal>().expect("a decimal");
        assert_eq!(same(value), same(&row[12]), "{row:?}");
        assert!(tree["figure"]["label"].as_str().expect("a label").contains(&row[7]));
        seen += 1;
    }
    assert!(seen > 2);
}

#[test]
fn what_is_not_there_is_answered_with_what_is() {
    let cases = [
        ("avoidabel", "did you mean `avoidable`?"),
        ("outlay[bracket = cats]", "no plan is called `bracket = cats`; did you mean"),
        ("outlay[Q]", "there are A to B"),
        ("outlay@0", "a count of iterations from 1 to"),
        ("outlay@2+final", "no final is asked for"),
        ("outlay/delivry", "did you mean `delivery`?"),
        ("outlay/delivery/Shopp", "nothing of"),
        ("days/x", "has no parts"),
        ("risk@2", "is that of iteration 1"),
        ("entry:0", "by its number"),
        ("entry:900", "they go from 1 to"),
        ("break_even[A]", "two plans are expected"),
        ("break_even[A, B]/colour", "avoidable, outlay or days"),
        ("route[cast].steps[pour].spoill", "did you mean `route[cast].steps[pour].spoil`?"),
        ("outlay?", "nothing is called"),
        ("outlay[A]x", "is not understood"),
        ("", "nothing is called"),
    ];
    for (what, why) in cases {
        let (code, out, err) = run(&["explain", what]);
        assert_eq!((code, out.as_str()), (Some(2), ""), "{what}: {err}");
        assert!(err.contains(why), "{what}: {err}");
    }
}

#[test]
fn trees_keep_to_the_width() {
    let scenario = scenario(&project("scenarios/river-sonde"));
    in_shop(&scenario, |shop| {
        let answer = flipcount::analysis::answer(shop).expect("few plans");
        let subject = Subject { shop, answer: &answer };
        let asked = Figure {
            kind: FigureKind::Money(Total::Avoidable),
            plan: 0,
            at: None,
            within: Within::default(),
        };
        let node = flipcount::analysis::figure(shop, &answer, &asked).expect("a total");
        let node = flipcount::analysis::Node { label: figure_title(&subject, &asked), ..node };
        for width in [80, 100, 120] {
            for depth in [Depth::TOTAL, Depth::ALL] {
                let text = explain_text(&subject, &node, depth, width);
                let wide = text.lines().find(|l| l.chars().count() > width);
                assert_eq!(wide, None, "{width}");
            }
        }
        let story = Story::of(shop, &answer.plans[0].plan, shop.planned, true).expect("runs");
        let entry = story.entry(7).expect("an entry");
        let text = |width| explain_text(&subject, &entry, Depth::ITEM, width);
        insta::assert_snapshot!("river-sonde-entry-80", text(80));
        insta::assert_snapshot!("river-sonde-entry-120", text(120));
        for width in [80, 120] {
            let wide = wide_view(&subject, (false, width)).expect("plans run");
            let plan = plan_view(&subject, 0, (false, width));
            let strip = |text: String| anstream::adapter::strip_str(&text).to_string();
            let wide = strip(terminal(&wide, width));
            let plan = strip(terminal(&plan, width));
            assert!(wide.lines().chain(plan.lines()).all(|l| l.chars().count() <= width));
            insta::assert_snapshot!(format!("river-sonde-wide-{width}"), wide);
            insta::assert_snapshot!(format!("river-sonde-plan-{width}"), plan);
        }
    });
}

#[test]
fn categories_of_the_wide_view_sum_to_the_plans_totals() {
    let text = said(&["compare", "--wide"]);
    let figures = |line: &str| -> Vec<i64> {
        line.split_whitespace().filter_map(|w| w.parse().ok()).collect()
    };
    let mut rows = 0;
    for line in text.lines().filter(|l| l.starts_with("> A") || l.starts_with("  B")) {
        let all = figures(line);
        let Some((sum, rest)) = all.split_first() else {
            continue;
        };
        // Each is shown in whole units.
        let off = (sum - rest.iter().sum::<i64>()).abs();
        assert!(off <= i64::try_from(rest.len()).expect("few"), "{line}");
        rows += 1;
    }
    assert_eq!(rows, 6, "{text}");
}

#[test]
fn one_plan_iteration_by_iteration() {
    insta::assert_snapshot!("bracket-plan", said(&["compare", "--plan", "bracket = shop"]));
    let all = said(&["compare", "--plan", "A", "--all"]);
    assert!(all.lines().count() > said(&["compare", "--plan", "A"]).lines().count() + 10);
    let (code, _, err) = run(&["compare", "--plan", "Q"]);
    assert_eq!(code, Some(2));
    assert!(err.contains("no plan is called `Q`"), "{err}");
}
