//! How a law is held against generated scenarios.

use std::cell::RefCell;
use std::collections::BTreeMap;

use flipcount::analysis::{Answer, Curves, PlanResult, Project, answer};
use flipcount::model::{RouteId, Scenario};
use flipcount::plan::Shop;
use proptest::test_runner::{Config, RngAlgorithm, TestCaseError, TestRng, TestRunner};

use crate::generator::{Blueprint, FEATURES, Written, blueprint, features, write};
use crate::help::{in_shop, line, scenario};

/// What a law says of one scenario.
pub type Verdict = Result<(), TestCaseError>;

/// Scenarios a law is held against; `PROPTEST_CASES` says otherwise.
const CASES: u32 = 96;

/// Plans of one scenario that a law looks at.
const PLANS: usize = 6;

/// A generated scenario as loaded.
pub struct Case {
    /// Its description.
    pub blueprint: Blueprint,
    /// Its folder, gone with the case.
    pub dir: tempfile::TempDir,
    /// What it means.
    pub scenario: Scenario,
}

impl Case {
    /// Writes and loads a description.
    pub fn new(blueprint: &Blueprint, how: Written) -> Case {
        let dir = write(blueprint, how);
        let scenario = scenario(dir.path());
        Case { blueprint: blueprint.clone(), dir, scenario }
    }
}

/// Holds a law against generated scenarios, prints how often each feature occurred, and fails where one never did.
pub fn held(law: &str, test: impl Fn(&Case, &Shop) -> Verdict) {
    let cases = std::env::var("PROPTEST_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(CASES);
    let config =
        Config { cases, failure_persistence: None, max_shrink_iters: 4_000, ..Config::default() };
    let mut runner =
        TestRunner::new_with_rng(config, TestRng::from_seed(RngAlgorithm::ChaCha, &seed(law)));
    let tally: RefCell<BTreeMap<&str, u32>> =
        RefCell::new(FEATURES.iter().map(|f| (*f, 0)).collect());
    let result = runner.run(&blueprint(), |blueprint| {
        let case = Case::new(&blueprint, Written::PLAIN);
        in_shop(&case.scenario, |shop| {
            for feature in
                features(shop, &projects(shop).into_iter().map(|p| p.1).collect::<Vec<_>>())
            {
                *tally.borrow_mut().entry(feature).or_insert(0) += 1;
            }
            test(&case, shop)
        })
    });
    let tally = tally.into_inner();
    let counts: Vec<String> =
        tally.iter().map(|(feature, count)| format!("{feature} {count}")).collect();
    println!("{law}: {cases} scenarios; {}", counts.join(", "));
    if let Err(failure) = result {
        panic!("{law}: {failure}");
    }
    let never: Vec<&&str> =
        tally.iter().filter(|(_, count)| **count == 0).map(|(feature, _)| feature).collect();
    assert!(never.is_empty(), "{law}: no scenario shows {never:?}");
}

/// A seed of the law's own: laws look at different scenarios, and at the same ones every time.
fn seed(law: &str) -> [u8; 32] {
    let mut seed = [7; 32];
    for (at, byte) in law.bytes().enumerate() {
        seed[at % 32] ^= byte;
    }
    seed
}

/// The answer to a scenario; the generator never makes more plans than are tried.
pub fn answered(shop: &Shop) -> Answer {
    answer(shop).expect("few plans")
}

/// Some feasible plans with their projects, the final included.
pub fn projects(shop: &Shop) -> Vec<(Vec<RouteId>, Project)> {
    let answer = answered(shop);
    let plans = answer.plans.iter().take(PLANS).map(|p| p.plan.assign.clone());
    plans.map(|assign| (assign.clone(), project(shop, &assign))).collect()
}

/// One plan, to the horizon, with the final on the planned count.
pub fn project(shop: &Shop, assign: &[RouteId]) -> Project {
    Project::run(shop, assign, shop.scenario.iterations.horizon, &[shop.planned])
        .expect("a feasible plan runs")
}

/// Curves as text, with items by name: what a report could show.
pub fn curves(curves: &Curves, scenario: &Scenario) -> String {
    let drawn: Vec<_> = curves
        .drawn
        .iter()
        .map(|(id, amounts)| (&scenario.items[usize::from(id.0)].name, amounts))
        .collect();
    format!(
        "{:?} {:?} {:?} {:?} {:?} {drawn:?} {:?}",
        curves.outlay,
        curves.avoidable,
        curves.consumed,
        curves.seconds,
        curves.attended,
        curves.waste
    )
}

/// A plan as text, sources left out.
pub fn plan_text(plan: &PlanResult, scenario: &Scenario) -> String {
    let last = plan.last.as_ref().map(|l| {
        let lines: Vec<String> = l.ledger.entries().iter().map(|e| line(e, scenario)).collect();
        (l.dates, l.figures, lines)
    });
    format!(
        "{:?} {} {:?} {last:?} {:?} {:?} {:?}",
        plan.plan,
        curves(&plan.curves, scenario),
        plan.dates,
        plan.decides,
        plan.failure,
        plan.ended
    )
}

/// Everything an answer says, as text, sources left out.
pub fn answer_text(answer: &Answer, scenario: &Scenario) -> String {
    let plans: Vec<String> = answer.plans.iter().map(|p| plan_text(p, scenario)).collect();
    format!(
        "{} {}\n{}\n{:?}\n{:?}\n{:?}\n{:?}\n{:?}\n{:?}\n{:?}\n{:?}",
        answer.planned,
        answer.horizon,
        plans.join("\n"),
        answer.infeasible,
        answer.ruled_out,
        answer.verdict,
        answer.break_even,
        answer.switch,
        answer.stops,
        answer.preferences,
        answer.advice
    )
}
