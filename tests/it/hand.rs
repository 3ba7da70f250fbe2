//! Iteration 1 of the demo against `tests/published/hand/hand.toml`, entry by entry; the arithmetic is in `hand.md` beside it.

use std::collections::BTreeMap;

use flipcount::analysis::{Project, answer};
use flipcount::ledger::{Category, Entry, Kind, Total};
use flipcount::model::{Exact, Scenario};
use serde_json::Value;

use crate::help::{in_shop, minute, number, project, scenario, toml};

/// What one entry says apart from its quantity: date, part, route, category, item, kind, amount.
type Key = [String; 7];

fn text(value: &Value, key: &str) -> String {
    value[key].as_str().unwrap_or_else(|| panic!("{key} is text in {value}")).to_owned()
}

fn list<'a>(value: &'a Value, key: &str) -> &'a [Value] {
    value[key].as_array().unwrap_or_else(|| panic!("{key} is a list"))
}

fn by_hand(entry: &Value) -> Key {
    ["date", "part", "route", "category", "item", "kind", "amount"].map(|key| text(entry, key))
}

fn found(entry: &Entry, scenario: &Scenario) -> Key {
    [
        minute(entry.when)[..10].to_owned(),
        entry.part_name(scenario).to_owned(),
        entry.route_name(scenario).to_owned(),
        entry.category.name().to_owned(),
        entry.item(scenario).to_owned(),
        entry.kind.name().to_owned(),
        entry.amount.text(scenario.minor()),
    ]
}

#[test]
fn the_first_iteration_of_the_demo_is_as_worked_by_hand() {
    let hand = toml(&project("tests/published/hand/hand.toml"));
    let scenario = scenario(&project("scenarios/river-sonde"));
    in_shop(&scenario, |shop| {
        let answer = answer(shop).expect("an answer");
        let plans = list(&hand, "plan");
        assert!(plans.len() >= 3);
        for wanted in plans {
            let name = text(wanted, "name");
            let plan = answer
                .plans
                .iter()
                .find(|p| p.plan.name == name)
                .unwrap_or_else(|| panic!("{name} is a plan"));
            let project =
                Project::run(shop, &plan.plan.assign, 2, &[]).expect("it can be carried out");
            dates(wanted, &project);
            let entries: Vec<&Entry> = project.ledger.up_to(1).collect();
            steps(wanted, &entries, &scenario);
            compare(wanted, &entries, &scenario);
            into_baths(wanted, &project, &scenario);
            for (key, total) in [
                ("outlay", Total::Outlay),
                ("avoidable", Total::Avoidable),
                ("consumed", Total::Consumed),
            ] {
                assert_eq!(
                    project.ledger.total(total, 1).text(scenario.minor()),
                    text(wanted, key),
                    "{name}: {key}"
                );
            }
        }
    });
}

fn dates(wanted: &Value, project: &Project) {
    assert_eq!(minute(project.dates[0].release), text(wanted, "release"));
    assert_eq!(minute(project.dates[0].in_hand), text(wanted, "in_hand"));
    assert_eq!(minute(project.dates[1].release), text(wanted, "release_2"));
}

/// Every attended step begins when it should.
fn steps(wanted: &Value, entries: &[&Entry], scenario: &Scenario) {
    let labour = entries.iter().filter(|e| e.category == Category::Labour);
    let mut found: Vec<[String; 3]> = labour
        .map(|e| [minute(e.when), e.part_name(scenario).to_owned(), e.item(scenario).to_owned()])
        .collect();
    let mut by_hand: Vec<[String; 3]> = list(wanted, "step")
        .iter()
        .map(|s| ["from", "part", "what"].map(|key| text(s, key)))
        .collect();
    found.sort();
    by_hand.sort();
    assert_eq!(found, by_hand, "{}", wanted["name"]);
}

/// What iteration 2 draws into baths, where it is worked out: resin at a wash, solvent and dye.
fn into_baths(wanted: &Value, project: &Project, scenario: &Scenario) {
    let Some(later) = wanted["later"].as_array() else {
        return;
    };
    let is_bath = |e: &&Entry| {
        let poured = matches!(e.category, Category::Solvent | Category::Dye);
        let carried = e.category == Category::Resin && e.step > 1;
        e.iteration == 2 && e.kind == Kind::Consume && (poured || carried)
    };
    let of = |e: &Entry| (found(e, scenario), e.quantity.half_away(6));
    let mut found: Vec<_> = project.ledger.entries().iter().filter(is_bath).map(of).collect();
    let mut by_hand: Vec<_> =
        later.iter().map(|e| (by_hand(e), number(&text(e, "quantity")))).collect();
    found.sort();
    by_hand.sort();
    assert_eq!(found, by_hand, "{}", wanted["name"]);
}

/// The same entries, none more and none less; quantities to six decimals where both give them in the same unit.
fn compare(wanted: &Value, entries: &[&Entry], scenario: &Scenario) {
    let mut left: BTreeMap<Key, Vec<(Exact, &str)>> = BTreeMap::new();
    for entry in entries {
        left.entry(found(entry, scenario))
            .or_default()
            .push((entry.quantity.half_away(6), entry.unit));
    }
    let mut missing = Vec::new();
    for entry in list(wanted, "entry") {
        let (quantity, unit) = (number(&text(entry, "quantity")), text(entry, "unit"));
        let same = left.get_mut(&by_hand(entry)).and_then(|found| {
            // Without a unit there are two ways to count: a tax of 12.67 once, or 0.07 of 181.
            let at =
                found.iter().position(|f| f.1 != unit || unit.is_empty() || f.0 == quantity)?;
            Some(found.swap_remove(at))
        });
        if same.is_none() {
            missing.push(format!("{:?} {quantity} {unit}", by_hand(entry)));
        }
    }
    left.retain(|_, found| !found.is_empty());
    assert!(
        missing.is_empty() && left.is_empty(),
        "{}\nby hand only:\n{}\nin the ledger only:\n{left:#?}",
        wanted["name"],
        missing.join("\n")
    );
}
