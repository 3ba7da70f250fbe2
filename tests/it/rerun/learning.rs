//! What a record teaches: failures, hours, print times, resin; and how it is written into copies.

use std::fs;
use std::path::Path;

use flipcount::model::Money;
use serde_json::Value;

use super::{SO_FAR, money, usd};
use crate::help::{compare, flipcount, folder, number, plan};
use crate::record::{COLLAR, put_lines, recorded};

#[test]
fn what_a_record_teaches_by_hand() {
    let dir = recorded(COLLAR, SO_FAR);
    let answer = compare(dir.path(), &[]);
    let learned = answer["record"]["learned"].as_array().expect("lessons").clone();
    let lesson = |about: &str| {
        let found =
            learned.iter().find(|l| l["about"].as_str().is_some_and(|a| a.starts_with(about)));
        found.unwrap_or_else(|| panic!("{about}: {learned:#?}")).clone()
    };
    // Beta prior of weight 8 on 0.12, one of two failed: (0.96 + 1) / (8 + 2). As many or more: 1 - (7.04 x 8.04) / (8 x 9).
    let spoil = lesson("chance");
    assert_eq!(spoil["changes"][0]["old"], "0.12");
    assert_eq!(spoil["changes"][0]["new"], "0.196");
    let surprise = spoil["surprise"].as_f64().expect("a chance");
    assert!((surprise - (1.0 - 7.04 * 8.04 / 72.0)).abs() < 1e-9, "{surprise}");
    // One good print: one factor, 7.6 h for 7 h.
    assert_eq!(lesson("print time")["changes"][0]["new"], "27360");
    // 3.1 h for two runs of 2.2 h: 0.7045 times as long; 2.2 h are 7920 s.
    assert_eq!(lesson("attended")["changes"][0]["new"], "5580");
    // Two runs of 92 x 1.25 + 10 = 125 mL, 230 mL recorded: 0.92 times as much. Supports 0.92 x 1.25 - 1, the rest is lost.
    let resin = lesson("resin");
    assert_eq!(resin["changes"][0]["new"], "0.15");
    assert_eq!(resin["changes"][1]["new"], "9.2");
    // The forecast goes by it: five builds of 1.55 h / 0.804, and the cancelled order.
    let bench = money(&plan(&answer, "collar = bench")["curves"]["avoidable"][5]);
    let each = number("1.55/0.804") * number("30");
    let five: Money = (0..5).map(|_| each.to_money(2)).sum();
    assert_eq!(bench, five - usd("100.00"));
}

/// A printer with coefficients, and three parts of other heights and volumes.
fn printed_parts() -> String {
    let mut scenario =
        "title = \"t\"\ncurrency = \"USD\"\nstart = 2026-03-02\npricing = \"pricing\"\n\
[iterations]\nplanned = 12\n"
            .to_owned();
    for (at, height) in [30, 50, 80].into_iter().enumerate() {
        let volume = 10 + 7 * at * at;
        let (name, size) = (format!("p{at}"), format!("40 x 40 x {height} mm"));
        let part =
            format!("[[part]]\nname = \"{name}\"\nvolume = \"{volume} cm3\"\nbox = \"{size}\"\n");
        scenario.push_str(&part);
    }
    scenario.push_str(
        "[[route]]\nname = \"bench\"\nkind = \"bench\"\nprinter = \"desk\"\nmaterial = \"soft\"\n\
layer = \"0.1 mm\"\nsupports = 0\nup = \"z\"\nsteps = [{ do = \"print\", attended = \"10 min\" }]\n",
    );
    scenario
}

/// Each iteration prints one part; it takes 10 min, 11 s a layer and 1 s for each cm3. What is learnt of the print time: key, value, and
/// how far predictions are off.
fn learnt_of_prints(runs: &[usize]) -> Vec<(String, f64, f64)> {
    const SHEETS: [(&str, &str); 3] = [
        ("materials.csv", "material,pack,pack_price\nsoft,1 L,130\n"),
        (
            "print_time.csv",
            "printer,material,layer,start_up,per_layer,per_volume\ndesk,soft,0.1 mm,8 min,9 s,2 s\n",
        ),
        ("equipment.csv", "equipment,charge\ndesk,none\n"),
    ];
    let hours = |part: usize| {
        let (layers, volume) = ([300.0, 500.0, 800.0][part], (10 + 7 * part * part) as f64);
        (600.0 + 11.0 * layers + volume) / 3600.0
    };
    let mut lines = String::new();
    for (n, &part) in runs.iter().enumerate() {
        let (n, day, hours) = (n + 1, n + 2, hours(part));
        lines.push_str(&format!("2026-03-{day:02},{n},p{part},bench,build,good,{hours:.6},,,\n"));
        lines.push_str(&format!("2026-03-{day:02},{n},,,redesign,,,,,\n"));
    }
    let dir = folder(&printed_parts(), &SHEETS);
    put_lines(dir.path(), &lines);
    let answer = compare(dir.path(), &[]);
    let lessons = answer["record"]["learned"].as_array().expect("lessons").clone();
    let lesson = lessons.iter().find(|l| l["about"] == "print time").expect("print time");
    let off = lesson["off_by_s"].as_f64().expect("an error");
    let of = |c: &Value| {
        let value: f64 = c["new"].as_str().expect("a number").parse().expect("a number");
        (c["key"].as_str().expect("a key").to_owned(), value, off)
    };
    lesson["changes"].as_array().expect("changes").iter().map(of).collect()
}

#[test]
fn print_times_are_fitted_by_how_many_there_are() {
    let near = |found: f64, wanted: f64, share: f64| {
        assert!((found - wanted).abs() <= share * wanted, "{found}, not {wanted}");
    };
    // One: one factor on all three. Planned 480 + 9 x 300 + 2 x 10 = 3200, recorded 3910 s.
    let one = learnt_of_prints(&[0]);
    for ((_, found, _), planned) in one.iter().zip([480.0, 9.0, 2.0]) {
        near(*found, planned * 3910.0 / 3200.0, 1e-3);
    }
    // Three: start-up as before, the others fitted to what is left, by least squares: it is told among the 120 s too little of each.
    let three = learnt_of_prints(&[0, 1, 2]);
    near(three[0].1, 480.0, 1e-9);
    assert!(three[1].1 > 11.0 && three[1].1 < 11.6, "{three:?}");
    // Five and more: all of them, exactly.
    let six = learnt_of_prints(&[0, 1, 2, 0, 1, 2]);
    near(six[0].1, 600.0, 2e-3);
    near(six[1].1, 11.0, 1e-3);
    near(six[2].1, 1.0, 0.1);
    assert!(six[0].2 < 1.0, "it fits: {six:?}");
    // Runs that are all alike cannot tell them apart: one factor again.
    let alike = learnt_of_prints(&[0, 0, 0, 0, 0]);
    near(alike[1].1, 9.0 * 3910.0 / 3200.0, 1e-3);
}

#[test]
fn what_was_learnt_can_be_written_into_copies() {
    let dir = recorded(COLLAR, SO_FAR);
    let taught = dir.path().join("taught");
    let before = fs::read_to_string(dir.path().join("scenario.toml")).expect("read");
    let write = || {
        let output = flipcount()
            .arg("record")
            .arg(dir.path())
            .arg("--learned")
            .arg(&taught)
            .output()
            .expect("it runs");
        (output.status.code(), String::from_utf8_lossy(&output.stderr).into_owned())
    };
    let (code, said) = write();
    assert!(code == Some(0) && said.starts_with("5 numbers to "), "{said}");
    // Nothing of the user's is changed, and nothing is written over.
    assert_eq!(fs::read_to_string(dir.path().join("scenario.toml")).expect("read"), before);
    let (code, said) = write();
    assert!(code == Some(2) && said.contains("is there already"), "{said}");
    let text = fs::read_to_string(taught.join("scenario.toml")).expect("written");
    for line in [
        "spoil      = 0.196",
        "print_time = \"7.6 h\"",
        "attended   = \"1.55 h\"",
        "supports = 0.15 # from the record",
        "per_build_loss = \"9.2 mL\" # from the record",
    ] {
        assert!(text.contains(line), "{line}: {text}");
    }
    // A plan with them and without the record costs what the lessons say: 1.55 h / 0.804 at 30 each.
    let plan_of = |folder: &Path| {
        let answer = compare(folder, &[]);
        money(&plan(&answer, "collar = bench")["curves"]["avoidable"][0])
    };
    let hours = (number("1.55/0.804") * number("30")).to_money(2);
    let resin = (number("115/0.804") * number("0.13")).to_money(2);
    assert_eq!(plan_of(&taught), hours + resin);
}
