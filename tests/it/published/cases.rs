//! Scenario files of textbook cases through the real command. What each must give, and its source, is in `tests/published/expected.toml`.

use std::path::Path;

use flipcount::analysis::{OrderAdvice, advice, answer, plan_ledger};
use flipcount::ledger::{Category, Total};
use flipcount::model::Exact;
use flipcount::plan::ruled_out;
use serde_json::Value;

use crate::help::{compare, folder, in_shop, number, plan, project, scenario, toml};

const CASES: &str = "tests/published";

fn text<'a>(value: &'a Value, key: &str) -> &'a str {
    value[key].as_str().unwrap_or_else(|| panic!("{key} is text in {value}"))
}

fn list<'a>(value: &'a Value, key: &str) -> &'a [Value] {
    value[key].as_array().map_or(&[], Vec::as_slice)
}

#[test]
fn published_cases_come_out_as_published() {
    let expected = toml(&project(CASES).join("expected.toml"));
    let cases = expected.as_object().expect("a table of cases");
    let mut checks = 0;
    for (id, case) in cases {
        assert!(
            !text(case, "source").is_empty() && !text(case, "provenance").is_empty(),
            "{id} names its source"
        );
        let dir = project(CASES).join(text(case, "folder"));
        let answer = compare(&dir, &[]);
        assert_eq!(answer["plans"][0]["name"], case["best"], "{id}: the cheapest plan");
        assert_eq!(answer["verdict"]["plan"], case["best"], "{id}: the verdict");
        let tolerance = number(text(case, "tolerance"));
        for pair in list(case, "pair") {
            crossing(id, &answer, pair, tolerance);
            units(id, case, pair);
            checks += 1;
        }
        for total in list(case, "total") {
            sum(id, &dir, &answer, total);
            checks += 1;
        }
    }
    assert!(cases.len() >= 12 && checks >= 45, "{} cases with {checks} checks", cases.len());
}

/// Where two plans cost the same: the real count of the source, and the whole counts at which the cheaper changes.
fn crossing(id: &str, answer: &Value, pair: &Value, tolerance: Exact) {
    let names = [&pair["a"], &pair["b"]];
    let is = |found: &&Value| {
        found["by"] == "avoidable" && names.contains(&&found["a"]) && names.contains(&&found["b"])
    };
    let found = list(answer, "break_even")
        .iter()
        .find(is)
        .unwrap_or_else(|| panic!("{id}: {pair} is compared"));
    assert_eq!(found["crossings"], pair["crossings"], "{id}: {pair}");
    let Some(wanted) = pair["n_star"].as_str() else {
        // The source has no count for this pair.
        return;
    };
    let star = match &found["n_star"] {
        Value::String(text) => number(text),
        other => number(&other.to_string()),
    };
    assert!((star - number(wanted)).abs() <= tolerance, "{id}: N* is {star}, published {wanted}");
}

/// The count in iterations is the published count in units over the units of an iteration.
fn units(id: &str, case: &Value, pair: &Value) {
    if let (Some(star), Some(units)) = (pair["n_star"].as_str(), pair["units"].as_str()) {
        let copies = Exact::from(case["copies"].as_i64().expect("copies"));
        let off = (number(star) * copies - number(units)).abs();
        assert!(off <= number("0.000000000001"), "{id}: {star} iterations are {units} units");
    }
}

fn sum(id: &str, dir: &Path, answer: &Value, total: &Value) {
    let again =
        total["copies"].as_i64().map(|copies| compare(dir, &["--copies", &copies.to_string()]));
    let answer = again.as_ref().unwrap_or(answer);
    let n = usize::try_from(total["n"].as_i64().expect("n")).expect("a count");
    let curve = &plan(answer, text(total, "plan"))["curves"][text(total, "of")];
    assert_eq!(curve[n - 1], total["total"], "{id}: {total}");
}

/// The lines of the table, per part, within half a cent. N. Hopkinson & P. Dickens, Proc. IMechE Part C 217(1):31-39, 2003; reprinted in
/// Thomas & Gilbert, NIST SP 1176 (2014). The numbers are from memory.
#[test]
fn lines_of_the_layer_manufacturing_table() {
    // Folder, parts of a build, machine, labour of a build, material, total.
    let table = [
        ("AM-01", 190, "3.92", "7.24", "1.29", "5.25"),
        ("AM-02", 75, "2.64", "6.18", "1.75", "4.47"),
    ];
    for (id, parts, machine, labour, material, total) in table {
        let scenario = scenario(&project(CASES).join(id));
        in_shop(&scenario, |shop| {
            let ledger = plan_ledger(shop, &answer(shop).expect("an answer").plans[0].plan.assign)
                .expect("a plan");
            let lines = ledger.by_category(Total::Consumed, 1);
            let of = |wanted: &[Category]| -> Exact {
                lines.iter().filter(|l| wanted.contains(&l.0)).map(|l| l.1.exact()).sum()
            };
            let near = |value: Exact, published: &str| {
                let off = (value - number(published)).abs();
                assert!(off <= number("0.0051"), "{id}: {value} where the table has {published}");
            };
            let each = Exact::from(i64::from(parts));
            near(of(&[Category::Machine]) / each, machine);
            near(of(&[Category::Labour]), labour);
            near(of(&[Category::Resin, Category::Supplies]) / each, material);
            near(ledger.total(Total::Consumed, 1).exact() / each, total);
        });
    }
}

/// A service with all-units breaks: the row with the largest quantity not above the order's prices all of it.
fn breaks(per_order: &str, rows: &[(u32, &str)]) -> tempfile::TempDir {
    let mut sheet = "service,material,basis,rate,from_qty,setup_per_order,lead\n".to_owned();
    for (from, rate) in rows {
        sheet.push_str(&format!("Wholesaler,item,piece,{rate},{from},{per_order},5\n"));
    }
    let text = "currency = \"USD\"\nlabour = \"0 per h\"\npricing = \"pricing\"\n[iterations]\nplanned = 1\n\
                [[part]]\nname = \"item\"\nvolume = \"1 mL\"\n\
                [[route]]\nname = \"wholesaler\"\nkind = \"order\"\nservice = \"Wholesaler\"\norder_time = \"0 min\"\n";
    folder(text, &[("services.csv", &sheet)])
}

/// Univ. of Southern California, BUAD 311T Quiz 3 solutions, Fall 2008 (coursehero.com/file/5458496): breaks at 200 and 400 units, 10 an
/// order. The inputs are read; the cost of single orders is computed here (carrying cost is no part of this model).
/// Nahmias, Production and Operations Analysis, ch. 4, all-units example: breaks at 500 and 1,000 units, 8 an order; from memory.
#[test]
fn all_units_price_breaks() {
    let quiz = breaks("10", &[(1, "1.60"), (200, "1.40"), (400, "1.20")]);
    // 199 x 1.60 + 10; 200 x 1.40 + 10; 399 x 1.40 + 10; 400 x 1.20 + 10.
    let of_quiz = [("199", "328.40"), ("200", "290.00"), ("399", "568.60"), ("400", "490.00")];
    let nahmias = breaks("8", &[(1, "0.30"), (500, "0.29"), (1000, "0.28")]);
    // 400 x 0.30 + 8; 499 x 0.30 + 8; 500 x 0.29 + 8; 1000 x 0.28 + 8.
    let of_nahmias = [("400", "128.00"), ("499", "157.70"), ("500", "153.00"), ("1000", "288.00")];
    for (dir, orders) in [(&quiz, of_quiz), (&nahmias, of_nahmias)] {
        for (copies, cost) in orders {
            let answer = compare(dir.path(), &["--copies", copies]);
            assert_eq!(
                plan(&answer, "item = wholesaler")["curves"]["outlay"][0],
                cost,
                "{copies} units"
            );
        }
    }
}

/// Below a break a larger order may cost less: 199 units cost 328.40 and 200 cost 290.00 (source as above).
#[test]
fn a_larger_order_may_cost_less_and_the_answer_says_so() {
    let dir = breaks("10", &[(1, "1.60"), (200, "1.40"), (400, "1.20")]);
    let again = flipcount::model::Overrides { copies: Some(199), ..Default::default() };
    let scenario = crate::help::scenario_with(dir.path(), again);
    in_shop(&scenario, |shop| {
        let answer = answer(shop).expect("an answer");
        let found = advice(shop, &answer.plans[0], &ruled_out(shop));
        let [OrderAdvice::More { copies: 199, instead: 200, cost, less, .. }] = found[..] else {
            panic!("{found:?}");
        };
        assert_eq!((cost.text(2), less.text(2)), ("328.40".to_owned(), "290.00".to_owned()));
    });
}

/// How often something must be tried until it works once: 1 / p. Mean 2.5 at p = 0.4 (grolearning.com, "The Geometric Distribution", read);
/// 4 at p = 0.25 (tutopiya.com, Cambridge 9709 notes, read); 12.5 tries for ten good ones at a failure of 0.2 (negative-binomial identity).
#[test]
fn expected_attempts_are_geometric() {
    for (spoil, iterations, attempts) in [("0.6", 1, "2.5"), ("0.75", 1, "4"), ("0.2", 10, "12.5")]
    {
        let text = format!(
            "currency = \"USD\"\nlabour = \"0 per h\"\npricing = \"pricing\"\n[iterations]\nplanned = {iterations}\n\
             [[part]]\nname = \"cup\"\nvolume = \"1 mL\"\n\
             [[route]]\nname = \"cast\"\nkind = \"bench\"\nconsumes = [ {{ item = \"mould\", amount = \"1 pcs\", per = \"attempt\" }} ]\n\
             steps = [ {{ do = \"cast\", attended = \"5 min\", spoil = {spoil} }} ]\n"
        );
        let dir = folder(
            &text,
            &[("supplies.csv", "item,kind,pack,pack_price\nmould,supply,,1 per pcs\n")],
        );
        let scenario = scenario(dir.path());
        in_shop(&scenario, |shop| {
            let ledger = plan_ledger(shop, &answer(shop).expect("an answer").plans[0].plan.assign)
                .expect("a plan");
            let drawn =
                ledger.entries().iter().filter(|e| e.kind == flipcount::ledger::Kind::Consume);
            assert_eq!(drawn.map(|e| e.quantity).sum::<Exact>(), number(attempts), "spoil {spoil}");
        });
    }
}
