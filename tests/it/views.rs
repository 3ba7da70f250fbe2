//! What `compare` says: the view in its widths, the document, the same question with one number changed.

use std::fs;

use flipcount::analysis;
use flipcount::report::{Detail, Subject, terminal, view};
use serde_json::Value;

use crate::commands::{DEMO, FIRST, path, run, ten_numbers};
use crate::help::{compare, flipcount, folder, in_shop, plan, project, scenario};

#[test]
fn one_number_can_be_asked_again() {
    let again = compare(&project(DEMO), &["--iterations", "30"]);
    assert_eq!((again["planned"].as_u64(), again["horizon"].as_u64()), (Some(30), Some(30)));
    assert_eq!(again["plans"][0]["curves"]["outlay"].as_array().map(Vec::len), Some(30));
    let one = compare(&project(FIRST), &[]);
    let two = compare(&project(FIRST), &["--copies", "2"]);
    // The print house: 148 a piece and 24 an order.
    let outside =
        |answer: &Value| plan(answer, "sensor collar = print house")["curves"]["outlay"][0].clone();
    assert_eq!((outside(&one), outside(&two)), (Value::from("172.00"), Value::from("320.00")));
}

#[test]
fn a_named_plan_that_is_not_feasible_stands_last_with_its_reason() {
    let named = "[[plan]]\nname = \"all out\"\nassign = { collar = \"out\" }\n\
                 [[plan]]\nname = \"all in\"\nassign = { collar = \"bench\" }\n";
    let text = ten_numbers("collar", "")
        .replace("kind = \"order\"", "kind = \"order\"\nclosed = \"holiday\"")
        + named;
    let answer = compare(folder(&text, &[]).path(), &[]);
    let plans = answer["plans"].as_array().expect("plans");
    assert_eq!(plans.iter().map(|p| &p["name"]).collect::<Vec<_>>(), ["all in", "all out"]);
    assert_eq!(plans[1]["feasible"], false);
    assert!(plans[1].get("curves").is_none());
    assert!(plans[1]["reason"].as_str().expect("a reason").contains("holiday"));
}

#[test]
fn the_document_has_its_keys_and_lengths() {
    let answer = compare(&project(DEMO), &[]);
    for key in [
        "scenario",
        "currency",
        "planned",
        "horizon",
        "plans",
        "ruled_out",
        "break_even",
        "switch",
        "verdict",
        "sampled",
        "assumed",
        "not_counted",
        "warnings",
        "cautions",
        "preferences",
    ] {
        assert!(answer.get(key).is_some(), "{key}");
    }
    let horizon = answer["horizon"].as_u64().expect("a count") as usize;
    for plan in answer["plans"].as_array().expect("plans") {
        for (name, curve) in plan["curves"].as_object().expect("curves") {
            let curves: Vec<&Value> = match curve {
                Value::Object(by_item) => by_item.values().collect(),
                list => vec![list],
            };
            assert!(curves.iter().all(|c| c.as_array().map(Vec::len) == Some(horizon)), "{name}");
        }
        assert_eq!(plan["iterations"].as_array().map(Vec::len), Some(horizon));
        assert_eq!(plan["iterations"][0]["release"], "2026-03-02T09:00");
        for key in ["failure_chance", "failure_days"] {
            assert!(plan[key].is_number(), "{key}");
        }
    }
    assert_eq!(answer["verdict"]["parts"].as_array().map(Vec::len), Some(2));
}

#[test]
fn a_must_that_starts_after_the_planned_count_rules_nothing_out() {
    let ruled_out =
        |options: &[&str]| compare(&project(DEMO), options)["ruled_out"].as_array().map(Vec::len);
    // The collar must be opaque from the fourth iteration on.
    assert_eq!((ruled_out(&["--iterations", "3"]), ruled_out(&[])), (Some(1), Some(2)));
}

/// The demo has nothing to warn of; a warning beside an answer is one short line.
#[test]
fn warnings_beside_an_answer_are_short() {
    for command in ["compare", "budget"] {
        let (_, _, error) = run(&[command, DEMO], &project(""));
        assert_eq!(error, "", "{command}");
    }
    let supplies = "item,kind,pack,pack_price,stock\nwash solvent,solvent,,46 per L,2 L\n";
    let text = ten_numbers("collar", "")
        .replace("currency = \"USD\"", "currency = \"USD\"\npricing = \"pricing\"");
    let dir = folder(&text, &[("supplies.csv", supplies)]);
    let (code, _, error) = run(&["budget", path(dir.path())], &project(""));
    assert_eq!(code, 0, "{error}");
    assert!(error.lines().count() > 0, "{error}");
    for line in error.lines() {
        assert!(line.starts_with("warning: ") && line.len() <= 200, "{line}");
    }
}

/// Prices are used outside the days on which they are valid: at the first draw and the first purchase.
#[test]
fn a_price_outside_its_dates_is_noted() {
    let supplies = "item,kind,pack,pack_price,valid_from,valid_to\n\
        wash solvent,solvent,5 L,46,,2026-03-01\ntowels,supply,100 pcs,6,2026-03-03,\n";
    let equipment = "equipment,price,charge,valid_to\nprinter,300,buy,2026-01-31\n\
                     lamp,300,wear,2026-12-31\n";
    let text = ten_numbers("collar", "")
        .replace(
            "currency = \"USD\"",
            "currency = \"USD\"\npricing = \"pricing\"\nstart = 2026-03-02T09:00:00",
        )
        .replace(
            "spoil = 0.1",
            "printer = \"printer\"\nconsumes = [{ item = \"towels\", amount = \"2 pcs\" }]",
        );
    let dir = folder(&text, &[("supplies.csv", supplies), ("equipment.csv", equipment)]);
    let (code, out, error) = run(&["compare", path(dir.path()), "--all"], &project(""));
    assert_eq!(code, 0, "{error}");
    let out = out.split_whitespace().collect::<Vec<_>>().join(" ");
    for said in [
        "supplies.csv:2 is past its last valid day",
        "supplies.csv:3 is not valid yet on some days and was used all the same",
        "equipment.csv:2 is past its last valid day",
    ] {
        assert!(out.contains(said), "{said}: {out}");
    }
    assert!(!out.contains("equipment.csv:3"), "{out}");
}

/// The view of a scenario in so many columns, without escape sequences.
fn seen(which: &str, detail: Detail, width: usize) -> String {
    let scenario = scenario(&project(which));
    in_shop(&scenario, |shop| {
        let answer = analysis::answer(shop).expect("few plans");
        let text = terminal(&view(&Subject { shop, answer: &answer }, detail), width);
        anstream::adapter::strip_str(&text).to_string()
    })
}

#[test]
fn the_view_keeps_its_width_and_fits_a_screen() {
    for which in [DEMO, FIRST] {
        for width in [60, 80, 100, 120] {
            for detail in [Detail::Short, Detail::All] {
                let text = seen(which, detail, width);
                let widest = text.lines().map(|l| l.chars().count()).max();
                assert!(widest <= Some(width), "{which} at {width}:\n{text}");
            }
        }
        let lines = seen(which, Detail::Short, 100).lines().count();
        assert!(lines <= 40, "{which}: {lines} lines");
    }
}

#[test]
fn the_demo_reads_like_this() {
    insta::assert_snapshot!("river-sonde-100", seen(DEMO, Detail::Short, 100));
    insta::assert_snapshot!("river-sonde-80", seen(DEMO, Detail::Short, 80));
    insta::assert_snapshot!("first-look-100", seen(FIRST, Detail::Short, 100));
    insta::assert_snapshot!("river-sonde-all", seen(DEMO, Detail::All, 100));
}

#[test]
fn colour_is_never_needed_and_can_be_refused() {
    let plain = run(&["compare", DEMO], &project("")).1;
    assert!(!plain.contains('\u{1b}'));
    let mut forced = flipcount();
    forced.args(["compare", DEMO]).env_remove("NO_COLOR").env("CLICOLOR_FORCE", "1");
    let forced =
        String::from_utf8(forced.output().expect("the command runs").stdout).expect("UTF-8");
    assert!(forced.contains('\u{1b}'));
    assert_eq!(anstream::adapter::strip_str(&forced).to_string(), plain);
}

#[test]
fn cautions_stand_in_every_answer_that_uses_the_bench() {
    for which in [DEMO, FIRST] {
        let cautions = compare(&project(which), &[])["cautions"].to_string();
        for word in [
            "Resin",
            "Solvent",
            "UV light",
            "local rules",
            "safety data sheet",
            "equipment manual",
            "licensed practice",
        ] {
            assert!(cautions.contains(word), "{which}: {word} in {cautions}");
        }
    }
}

#[test]
fn a_filled_scenario_assumes_nothing_and_answers_the_same() {
    let inline = "title = \"t\"\ncurrency = \"USD\"\nlabour = \"30 per h\"\niterations = { planned = 4 }\n\
                  part = [{ name = \"a\", box = \"30 x 30 x 20 mm\", fill = \"solid\" }]\n\
                  route = [{ name = \"bench\", kind = \"bench\", resin = \"130 per L\", print_time = \"5 h\", \
                  attended = \"1 h\" }]\n";
    let texts = [
        fs::read_to_string(project(FIRST).join("scenario.toml")).expect("the first look"),
        ten_numbers("collar", ""),
        inline.to_owned(),
    ];
    for text in texts {
        let before = folder(&text, &[]);
        let (code, spelled, error) =
            run(&["compare", path(before.path()), "--filled"], &project(""));
        assert_eq!(code, 0, "{error}");
        let after = folder(&spelled, &[]);
        let (was, is) = (compare(before.path(), &[]), compare(after.path(), &[]));
        assert_ne!(was["assumed"], Value::from(Vec::<Value>::new()));
        assert_eq!(is["assumed"], Value::from(Vec::<Value>::new()), "{spelled}");
        assert_eq!(was["plans"], is["plans"], "{spelled}");
        // Nothing of the user's text is lost.
        let again = run(&["compare", path(after.path()), "--filled"], &project("")).1;
        assert_eq!(again, spelled);
    }
}

#[test]
fn a_view_of_many_parts_still_fits_a_screen() {
    let parts: String =
        (0..40).map(|i| format!("[[part]]\nname = \"part {i}\"\nvolume = \"5 cm3\"\n")).collect();
    let plans: String = ["bench", "out"]
        .iter()
        .map(|route| {
            let assign: Vec<String> =
                (0..40).map(|i| format!("\"part {i}\" = \"{route}\"")).collect();
            format!("[[plan]]\nname = \"all {route}\"\nassign = {{ {} }}\n", assign.join(", "))
        })
        .collect();
    let text = ten_numbers("collar", "")
        .replace("[[part]]\nname = \"collar\"\nvolume = \"50 cm3\"\n", &parts)
        + &plans;
    let (code, out, error) = run(&["compare", path(folder(&text, &[]).path())], &project(""));
    assert_eq!(code, 0, "{error}");
    assert!(out.lines().count() <= 40, "{out}");
}
