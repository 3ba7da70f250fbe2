//! The short form, counts and the command line's numbers.

use super::*;
use crate::model::{Basis, Dim, Hold, ItemClass, ItemPrice, Per, PrintTime, Varies};

#[test]
fn the_shipped_scenarios_load_without_errors() {
    for folder in ["scenarios/first-look", "scenarios/river-sonde", "src/cli/starter/full"] {
        let scenario = good(load(&root().join(folder), &Overrides::default()));
        assert!(scenario.slots.len() > 15, "{folder}");
        let mut addresses: Vec<&str> =
            scenario.slots.iter().map(|(_, i)| i.address.as_str()).collect();
        let count = addresses.len();
        addresses.sort_unstable();
        addresses.dedup();
        assert_eq!(addresses.len(), count, "two numbers of {folder} have one address");
    }
}

#[test]
fn ten_numbers_become_a_scenario() {
    let s = good(ten(&[]));
    assert_eq!(at(&s, "labour"), is("30", "30", "30"));
    assert_eq!(at(&s, "iterations.planned"), is("3", "6", "12"));
    assert_eq!(s.iterations.horizon, 24);
    assert_eq!(at(&s, "iterations.evaluate"), is("1800", "3600", "10800"));
    assert_eq!(at(&s, "route[my bench].resin"), is("0.13", "0.13", "0.13"));
    assert_eq!(at(&s, "route[my bench].attended"), is("7920", "7920", "7920"));
    assert_eq!(at(&s, "route[my bench].wash_solvent"), is("50", "80", "150"));
    assert_eq!(at(&s, "route[print house].arrives_after"), is("8", "8", "12.8"));
    assert_eq!(s.not_counted, ["wash solvent of `my bench` (no price stated)"]);
    let bench = &s.routes[0];
    let names: Vec<&str> = bench.steps.iter().map(|s| s.name.as_str()).collect();
    assert_eq!((bench.name.as_str(), names), ("my bench", vec!["print", "finish"]));
    assert!(bench.steps.iter().all(|s| s.flowing));
    assert!(matches!(bench.steps[1].hold, Hold::For(_)) && bench.steps[1].attended.is_none());
    assert_eq!(bench.steps[0].consumes[0].per, Per::Build);
    let RouteKind::Bench(kind) = &bench.kind else { panic!("a bench route") };
    let print = kind.print.as_ref().unwrap();
    assert!(kind.short && matches!(print.time, PrintTime::Stated(_)));
    let resin = &s.items[usize::from(print.resin.unwrap().0)];
    assert_eq!(
        (resin.name.as_str(), resin.class, resin.dim),
        ("resin", ItemClass::Resin, Dim::Volume)
    );
    assert!(matches!(resin.price, ItemPrice::PerUnit(_)));
}

#[test]
fn a_short_order_is_one_price_row_and_one_parcel() {
    let s = good(ten(&[]));
    let order = terms(&s, "print house");
    assert_eq!(
        (order.service.as_str(), order.rows.len(), order.deliveries.len()),
        ("print house", 1, 1)
    );
    let row = &order.rows[0];
    assert_eq!((row.basis, row.cutoff, row.calendar.0, row.from_qty), (Basis::Piece, None, 0, 1));
    assert_eq!(
        (order.deliveries[0].arrives, order.deliveries[0].transit.is_none()),
        (12 * 3600, true)
    );
}

#[test]
fn sources_name_file_line_and_key_and_no_folder() {
    let s = good(ten(&[]));
    let (_, labour) = s.slots.iter().find(|(_, i)| i.address == "labour").unwrap();
    let line = TEN.lines().position(|l| l.starts_with("labour")).unwrap() + 1;
    assert_eq!(s.source(labour.source), format!("scenario.toml:{line} labour"));
    let (_, assumed) = s.slots.iter().find(|(_, i)| i.assumed).unwrap();
    assert!(s.source(assumed.source).starts_with("assumed: "));
    assert!(s.sources.iter().all(|text| !text.contains('/')));
}

#[test]
fn leads_attended_and_design_times_vary_each_iteration() {
    let s = good(load(&root().join("scenarios/river-sonde"), &Overrides::default()));
    for (_, input) in s.slots.iter() {
        let key = input.address.rsplit('.').next().unwrap();
        let each = [
            "lead",
            "transit",
            "attended",
            "evaluate",
            "redesign",
            "order_time",
            "brief",
            "first_time",
        ]
        .contains(&key);
        let expected = if each { Varies::Each } else { Varies::Once };
        assert_eq!(input.varies, expected, "{}", input.address);
    }
}

#[test]
fn a_spread_may_say_how_it_varies() {
    let s = good(ten(&[(
        "spoil      = 0.12",
        "spoil = { low = 0.1, likely = 0.12, high = 0.3, varies = \"each\" }",
    )]));
    assert_eq!(at(&s, "route[my bench].spoil"), is("0.1", "0.12", "0.3"));
    let (_, spoil) = s.slots.iter().find(|(_, i)| i.address.ends_with("spoil")).unwrap();
    assert_eq!((spoil.varies, spoil.assumed), (Varies::Each, false));
}

#[test]
fn a_stated_lead_has_no_spread_of_its_own() {
    let s = good(ten(&[("\"8 business days\"", "{ low = 6, likely = 8, high = 9 }")]));
    assert_eq!(at(&s, "route[print house].arrives_after"), is("6", "8", "9"));
    let s = good(ten(&[(
        "\"8 business days\"",
        "{ likely = \"8 business days\", high = \"10 business days\" }",
    )]));
    assert_eq!(at(&s, "route[print house].arrives_after"), is("8", "8", "10"));
}

#[test]
fn counts_stated_as_chances_are_planned_at_the_mean_rounded_up() {
    // 1 / 0.3 = 3.33; 4 x 0.3 + 6 x 0.5 + 9 x 0.2 = 6.0.
    for (text, planned) in [
        ("{ accept_chance = 0.2 }", 5),
        ("{ accept_chance = 0.3 }", 4),
        ("{ chances = { \"4\" = 0.3, \"6\" = 0.5, \"9\" = 0.2 } }", 6),
        ("{ chances = { \"4\" = 0.3, \"6\" = 0.4, \"9\" = 0.3 } }", 7),
        ("{ low = 4, likely = 6, high = 12 }", 6),
        ("1", 1),
    ] {
        let s = good(ten(&[("planned  = 6", &format!("planned = {text}"))]));
        assert_eq!(s.planned(), planned, "{text}");
    }
}

#[test]
fn the_horizon_follows_the_count() {
    for (text, horizon) in [
        ("planned = 6", 24),
        ("planned = 20", 40),
        ("planned = { low = 4, likely = 6, high = 60 }", 60),
        ("planned = 6\nhorizon = 6", 6),
    ] {
        let s = good(ten(&[("planned  = 6", text)]));
        assert_eq!(s.iterations.horizon, horizon, "{text}");
    }
}

#[test]
fn the_command_line_changes_one_number() {
    let text = changed(
        TEN,
        &[
            ("planned  = 6", "planned = 6\nhorizon = 8"),
            ("volume   =", "iterations = 5\nvolume   ="),
        ],
    );
    let overrides = Overrides { iterations: Some(3), copies: Some(4), ..Overrides::default() };
    let s = good(loaded_with(&[("scenario.toml", &text)], overrides));
    assert_eq!(at(&s, "iterations.planned"), is("3", "3", "3"));
    assert_eq!(at(&s, "part[sensor collar].iterations"), is("3", "3", "3"));
    assert_eq!(at(&s, "part[sensor collar].copies"), is("4", "4", "4"));
    assert_eq!(s.iterations.horizon, 8);
    let more = Overrides { iterations: Some(30), ..Overrides::default() };
    assert_eq!(good(loaded_with(&[("scenario.toml", &text)], more)).iterations.horizon, 30);
}

#[test]
fn every_assumed_value_may_be_stated_as_zero() {
    let s = good(ten(&[
        ("planned  = 6", "planned = 6\nevaluate = \"0 h\"\nredesign = \"0 h\""),
        (
            "spoil      = 0.12",
            "spoil = 0\nsupports = 0\nper_build_loss = \"0 mL\"\nwash_solvent = \"0 mL\"\nother_time = \"0 h\"\nsupport_area = 0\nbuy_first = 0",
        ),
        ("piece         =", "order_time = \"0 min\"\npiece ="),
    ]));
    assert!(s.slots.iter().all(|(_, i)| !i.assumed));
    assert!(s.not_counted.is_empty(), "{:?}", s.not_counted);
}
