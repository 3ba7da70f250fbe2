//! Plain numbers of the trade, common practice, no source: the starter and the demo keep to them, and so does what is worked out from them.
//!
//! A range here says what is usual, not what is right: the data sheet of the material decides.

use std::fs;

use flipcount::model::{Exact, Scenario};
use serde_json::Value;

use crate::help::{compare, flipcount, folder, number, project, scenario};

const STARTER: &str = "src/cli/starter/full";
const DEMO: &str = "scenarios/river-sonde";

fn both() -> [(&'static str, Scenario); 2] {
    [STARTER, DEMO].map(|name| (name, scenario(&project(name))))
}

/// The likely values of all inputs whose address begins and ends so; there must be one at least.
fn likely(scenario: &Scenario, begin: &str, end: &str) -> Vec<(String, Exact)> {
    let inputs = scenario.slots.iter().map(|(_, input)| input);
    let found: Vec<(String, Exact)> = inputs
        .filter(|i| i.address.starts_with(begin) && i.address.ends_with(end))
        .map(|i| (i.address.clone(), i.likely))
        .collect();
    let all = || scenario.slots.iter().map(|(_, i)| i.address.as_str()).collect::<Vec<_>>();
    assert!(!found.is_empty(), "nothing is called {begin}...{end} in {:#?}", all());
    found
}

fn within(name: &str, scenario: &Scenario, (begin, end): (&str, &str), range: (&str, &str)) {
    let (low, high) = (number(range.0), number(range.1));
    for (address, value) in likely(scenario, begin, end) {
        assert!(low <= value && value <= high, "{name}: {address} is {value}, not {range:?}");
    }
}

/// How an address begins and ends, and the least and most that is usual.
type Usual = ((&'static str, &'static str), (&'static str, &'static str));

/// Common practice, no source: shares as shares, times in seconds, volumes in mL, lengths in mm, densities in g/mL.
const USUAL: [Usual; 25] = [
    // Dye: 1 to 5 % of the solvent, 10 to 30 minutes.
    (("bath[", ".dye_share"), ("0.01", "0.05")),
    (("route[bench, dyed].steps[dye]", ".hold"), ("600", "1800")),
    // Wash: 10 % of resin, at most 15; 15 to 30 builds; a soft part swells past about 20 minutes.
    (("bath[", ".retire_share"), ("0.10", "0.15")),
    (("bath[first wash", ".reuse_limit"), ("15", "30")),
    (("route[", ".steps[wash].hold"), ("180", "1200")),
    // Cure 15 to 60 minutes.
    (("route[", ".steps[cure].hold"), ("900", "3600")),
    // Dry half an hour at least before that.
    (("route[bench, clear].steps[dry]", ".hold"), ("1800", "86400")),
    // Layers of 0.05 or 0.1 mm; 12 to 25 s for each in soft resin; 3 to 15 minutes before the first.
    (("route[", ".layer"), ("0.05", "0.1")),
    (("print_time[", ".per_layer"), ("12", "25")),
    (("print_time[", ".start_up"), ("180", "900")),
    // Supports on soft parts 15 to 45 %, 5 to 20 mL lost in a build, 8 to 20 of 100 soft prints are scrap.
    (("route[", ".supports"), ("0.15", "0.45")),
    (("route[", ".per_build_loss"), ("5", "20")),
    (("route[", ".steps[print].spoil"), ("0.08", "0.20")),
    // Densities.
    (("materials[", ".density"), ("1.05", "1.15")),
    (("supplies[isopropanol", ".density"), ("0.785", "0.785")),
    // Outside: 0.8 to 3 per cm3, at least 15 to 50 for a part and 25 to 100 for an order; 4 to 10 business days, express 1 to 3.
    (("services[", ".rate"), ("0.8", "3")),
    (("services[", ".order_min"), ("25", "100")),
    (("services[", "|standard|1].piece_min"), ("15", "50")),
    (("services[", "|standard|1].lead"), ("4", "10")),
    (("delivery[", ".transit"), ("1", "5")),
    (("delivery[", ".divisor"), ("5000", "6000")),
    // 2 to 5 of 100 orders are wrong.
    (("route[", ".reject"), ("0.02", "0.05")),
    // Rounds of a soft fitted part.
    (("iterations.planned", ""), ("3", "10")),
    (("route[bench, clear].steps[print]", ".attended"), ("300", "3600")),
    (("route[", ".stand_off"), ("3", "10")),
];

#[test]
fn the_starter_and_the_demo_are_of_the_right_size() {
    for (name, scenario) in both() {
        for (address, range) in USUAL {
            // The starter's wash bath has another name.
            let (begin, end) = address;
            let begin = if name == STARTER {
                begin.replace("bath[first wash", "bath[wash")
            } else {
                begin.to_owned()
            };
            within(name, &scenario, (&begin, end), range);
        }
    }
}

/// Common practice, no source: about 2 % of dye, about a quarter of an hour, about 20 minutes of cure; one or two more dips.
#[test]
fn the_starter_is_what_people_do() {
    let starter = scenario(&project(STARTER));
    within(STARTER, &starter, ("bath[", ".dye_share"), ("0.015", "0.025"));
    within(STARTER, &starter, ("route[bench, dyed].steps[dye]", ".hold"), ("720", "1080"));
    within(STARTER, &starter, ("route[", ".steps[cure].hold"), ("1080", "1320"));
    for (name, scenario) in both() {
        for bath in ["black dye", "green dye"] {
            let known = scenario.baths.iter().any(|b| b.name == bath);
            if known {
                // The first dip, and one or two more.
                let limit = format!("bath[{bath}].reuse_limit");
                within(name, &scenario, (&limit, ""), ("2", "3"));
            }
        }
    }
}

/// What is poured is in the share that people use: common practice, no source.
#[test]
fn what_to_pour_has_the_usual_share_of_dye() {
    let output = flipcount().args(["dip", STARTER]).output().expect("the command runs");
    let text = String::from_utf8(output.stdout).expect("text");
    let poured = |item: &str| -> Vec<f64> {
        let lines = text.lines().filter(|line| line.starts_with(item));
        let figures = lines.filter_map(|line| line[item.len()..].split_whitespace().next());
        figures.map(|figure| figure.parse().expect("mL")).collect()
    };
    let (solvent, dye) = (poured("isopropanol "), poured("alcohol dye, black "));
    assert!(!solvent.is_empty() && solvent.len() == dye.len(), "{text}");
    for (solvent, dye) in solvent.iter().zip(&dye) {
        assert!((0.015..=0.025).contains(&(dye / solvent)), "{dye} mL in {solvent} mL");
    }
    assert!(text.contains("never goes back to a wash bath"), "{text}");
}

/// 60 C is 140 F (arithmetic), as the starter says to those who think in one of them.
#[test]
fn the_starter_says_what_a_cure_is_and_what_a_tacky_part_gets() {
    let text = fs::read_to_string(project(STARTER).join("scenario.toml")).expect("the starter");
    let cure = text.lines().find(|l| l.contains(" F) is common")).expect("a word on the cure");
    let figure = |before: &str| -> i64 {
        let end = cure.find(before).expect("a temperature");
        let start = cure[..end].rfind(|c: char| !c.is_ascii_digit()).map_or(0, |i| i + 1);
        cure[start..end].parse().expect("a number")
    };
    assert_eq!(figure(" C") * 9 / 5 + 32, figure(" F"));
    assert!(cure.contains("20 min") && cure.contains("data sheet"));
    // Switched on, the second cure is another step of that length.
    let line = text.lines().find(|l| l.contains("do = \"second cure\"")).expect("a second cure");
    let again = text.replace(line, &line.replacen("# ", "", 1));
    assert_ne!(again, text);
    let sheets = sheets();
    let sheets: Vec<(&str, &str)> = sheets.iter().map(|(n, t)| (n.as_str(), t.as_str())).collect();
    let dir = folder(&again, &sheets);
    let tacky = scenario(dir.path());
    within("tacky", &tacky, ("route[", ".steps[second cure].hold"), ("900", "1800"));
    let seconds = |answer: &Value| -> f64 {
        let plans = answer["plans"].as_array().expect("plans");
        let clear = plans.iter().find(|p| {
            p["assign"]["mast seal"] == "bench, clear"
                && p["assign"]["cable grommet"] == "bench, dyed"
        });
        let hours = &clear.expect("a plan with the clear route")["curves"]["attended_h"][0];
        hours.as_f64().expect("hours")
    };
    let more = seconds(&compare(dir.path(), &[])) - seconds(&compare(&project(STARTER), &[]));
    assert!((more - 4.0 / 60.0).abs() < 1e-5, "four more minutes, not {more} h");
}

fn sheets() -> Vec<(String, String)> {
    let sheets = fs::read_dir(project(STARTER).join("pricing")).expect("sheets").flatten();
    sheets
        .map(|sheet| {
            let name = sheet.file_name().to_string_lossy().into_owned();
            (name, fs::read_to_string(sheet.path()).expect("a sheet"))
        })
        .collect()
}

/// A part from outside takes a week or more, and not a month; a build keeps a person busy for one hour to two and a half.
#[test]
fn times_worked_out_are_usual() {
    for (name, part) in [(STARTER, "mast seal"), (DEMO, "sensor collar")] {
        let answer = compare(&project(name), &["--iterations", "1"]);
        let plans = answer["plans"].as_array().expect("plans");
        let outside = plans
            .iter()
            .filter(|p| p["assign"][part].as_str().is_some_and(|r| r.starts_with("print ")));
        let days: Vec<f64> = outside.filter_map(|p| p["curves"]["days"][0].as_f64()).collect();
        assert!(!days.is_empty(), "{name}");
        assert!(days.iter().all(|d| (7.0..=21.0).contains(d)), "{name}: {days:?}");
    }
    // One collar alone: the boots go outside, which takes the brief, the order and the look at what came.
    let demo = compare(&project(DEMO), &["--iterations", "1"]);
    let hours = |collar: &str| -> f64 {
        let plans = demo["plans"].as_array().expect("plans");
        let plan = plans.iter().find(|p| {
            p["assign"]["sensor collar"] == collar
                && p["assign"]["cable boot"] == "print house A, black"
        });
        plan.expect("a plan")["curves"]["attended_h"][0].as_f64().expect("hours")
    };
    let order_of_boots = (10.0 + 15.0 + 2.0 * 4.0) / 60.0;
    for route in ["bench, clear", "bench, dyed"] {
        let build = hours(route) - order_of_boots;
        assert!((1.0..=2.5).contains(&build), "{route}: {build} h");
    }
}

/// Heat-set inserts do not belong in thermoset prints (common practice, no source): who plans with them is told.
#[test]
fn heat_set_inserts_in_a_print_get_a_caution() {
    let text = fs::read_to_string(project(STARTER).join("scenario.toml")).expect("the starter");
    let sheets = sheets();
    let sheets: Vec<(&str, &str)> = sheets.iter().map(|(n, t)| (n.as_str(), t.as_str())).collect();
    let cautions = |text: &str| -> String {
        let dir = folder(text, &sheets);
        let answer = compare(dir.path(), &[]);
        answer["cautions"].to_string()
    };
    let inserted = text.replace(
        "  { do = \"dry\", attended = \"2 min\", hold = \"overnight\" },\n",
        "  { do = \"dry\", attended = \"2 min\", hold = \"overnight\" },\n  { do = \"set heat-set inserts\", attended = \"5 min\" },\n",
    );
    assert_ne!(inserted, text);
    assert!(cautions(&inserted).contains("Heat-set inserts do not hold"));
    assert!(!cautions(&text).contains("Heat-set"));
}
