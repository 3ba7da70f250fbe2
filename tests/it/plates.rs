//! Plates worked by hand: several builds, pieces that are turned, lie flat or do not fit, and how long they print.

use std::path::Path;

use flipcount::ledger::{Category, Entry, Kind};
use flipcount::model::Exact;

use crate::baths::{SUPPLIES, run};
use crate::help::{compare, folder, number};

/// A printer by what is stated of it, and a route that prints there.
fn plate(part: &str, stand: &str, more: &str, sheet: &str) -> tempfile::TempDir {
    let text = format!(
        "title = \"plates by hand\"\ncurrency = \"EUR\"\npricing = \"pricing\"\nstart = 2026-03-02T09:00:00\n\
         [iterations]\nplanned = 1\nhorizon = 1\n[hours]\nopen = [\"09:00-17:00\"]\n[[part]]\nname = \"vent cap\"\n\
         {part}\n[[route]]\nname = \"bench\"\nkind = \"bench\"\nprinter = \"printer\"\nresin = \"100 per L\"\n\
         supports = 0\nper_build_loss = \"10 mL\"\nlayer = \"0.1 mm\"\nstart_up = \"8 min\"\nper_layer = \"11 s\"\n\
         per_volume = \"0.7 s\"\n{stand}\nsteps = [{{ do = \"print\", attended = \"5 min\", spoil = 0 }}]\n{more}"
    );
    let equipment = format!("equipment,charge,watts,plate,height\nprinter,none,1000,{sheet}\n");
    let rates = "rate,value,unit\nelectricity,1.00,per kWh\n";
    folder(
        &text,
        &[("supplies.csv", SUPPLIES), ("equipment.csv", &equipment), ("rates.csv", rates)],
    )
}

/// mL of resin and hours of printing (at 1 kW and 1.00 per kWh) of each build.
fn builds(dir: &Path, wanted: &[(&str, &str)]) {
    run(dir, |_, project, _| {
        let of = |category| {
            let entries = project.ledger.entries().iter();
            entries.filter(move |e| e.category == category && e.kind != Kind::Consume)
        };
        let found: Vec<(Exact, Exact)> = of(Category::Resin)
            .zip(of(Category::Electricity))
            .map(|(resin, power)| (resin.quantity, power.quantity))
            .collect();
        assert_eq!(of(Category::Resin).count(), of(Category::Electricity).count());
        let wanted: Vec<(Exact, Exact)> =
            wanted.iter().map(|(r, h)| (number(r), number(h))).collect();
        assert_eq!(found, wanted);
    });
}

/// Caps of 46 x 46 mm with 2 mm of gap take 48 x 48 mm: on 100 x 98 mm two beside two. Five are two builds, of four and of one. 20 mm are 200
/// layers: 480 s + 200 x 11 s + 0.7 s for each mL, 10 mL for each cap: 2708 s and 2687 s. Each build loses 10 mL of its own.
#[test]
fn more_pieces_than_the_plate_holds_are_several_builds() {
    let part = "volume = \"10 mL\"\nbox = \"46 x 46 x 20 mm\"\ncopies = 5";
    let dir = plate(part, "gap = \"2 mm\"", "", "100 x 98 mm,");
    builds(dir.path(), &[("50", "2708/3600"), ("20", "2687/3600")]);
    // Without a plate, and on one that holds them all, they are one.
    for sheet in [",", "150 x 98 mm,", "98 x 150 mm,"] {
        let dir = plate(part, "gap = \"2 mm\"", "", sheet);
        builds(dir.path(), &[("60", "2715/3600")]);
    }
}

/// 25 caps are six builds of four and one of one. Three shims for the design go with the build that starts first, one with each build.
#[test]
fn a_design_counts_with_the_first_of_many_builds() {
    let part = "volume = \"10 mL\"\nbox = \"46 x 46 x 20 mm\"\ncopies = 25";
    let shims = |amount: &str, per: &str| {
        format!("{{ item = \"shims\", amount = \"{amount} pcs\", per = \"{per}\" }}")
    };
    let (design, build) = (shims("3", "design"), shims("1", "build"));
    let stand = format!("gap = \"2 mm\"\nconsumes = [{design}, {build}]");
    run(plate(part, &stand, "", "100 x 98 mm,").path(), |_, project, scenario| {
        let of = |e: &&Entry| e.kind == Kind::Consume && e.item(scenario) == "shims";
        let found: Vec<Exact> =
            project.ledger.entries().iter().filter(of).map(|e| e.quantity).collect();
        assert_eq!(found, ["4", "1", "1", "1", "1", "1", "1"].map(number));
    });
}

/// 50 x 90 mm go onto 100 x 60 mm lying the other way only: 92 x 52 mm with the gap.
#[test]
fn a_piece_is_turned_to_fit() {
    let part = "volume = \"10 mL\"\nbox = \"50 x 90 x 20 mm\"";
    builds(plate(part, "gap = \"2 mm\"", "", "100 x 60 mm,").path(), &[("20", "2687/3600")]);
}

/// Standing as stated, 60 mm and 5 mm of stand-off are 650 layers: 480 + 650 x 11 + 10 x 0.7 = 7637 s. Lying on its largest side it is 20 mm
/// tall, 250 layers: 480 + 250 x 11 + 7 = 3237 s, and 250 shims, one to a layer, cost 2.50.
#[test]
fn lying_flat_prints_in_fewer_layers() {
    let part = "volume = \"10 mL\"\nbox = \"20 x 30 x 60 mm\"";
    let stand = |up: &str| {
        format!(
            "{up}stand_off = \"5 mm\"\nconsumes = [{{ item = \"shims\", amount = \"1 pcs\", per = \"layer\" }}]"
        )
    };
    for (up, seconds, layers, cost) in [
        ("", "7637/3600", "650", "6.50"),
        ("up = \"shortest\"\n", "3237/3600", "250", "2.50"),
        ("up = \"-y\"\n", "4337/3600", "350", "3.50"),
    ] {
        let dir = plate(part, &stand(up), "", "100 x 60 mm,");
        builds(dir.path(), &[("20", seconds)]);
        run(dir.path(), |_, project, scenario| {
            let wanted =
                [(1, 1, "resin", "resin", "20", "2.00"), (1, 1, "supplies", "shims", layers, cost)];
            let of = |e: &&Entry| e.kind == Kind::Consume && e.category != Category::Electricity;
            let found = project.ledger.entries().iter().filter(of);
            let found: Vec<_> = found
                .map(|e| (e.item(scenario), e.quantity, e.amount.text(scenario.minor())))
                .collect();
            let wanted: Vec<_> =
                wanted.iter().map(|w| (w.3, number(w.4), w.5.to_owned())).collect();
            assert_eq!(found, wanted);
        });
    }
}

/// 99 mm and 2 mm of gap are 1 mm more than a plate of 100 mm; 118 mm and 5 mm of stand-off are 3 mm more than 120. Lying, the tall one fits.
#[test]
fn a_piece_too_large_or_too_tall_says_by_how_much() {
    let outside = "[[route]]\nname = \"outside\"\nkind = \"order\"\npiece = 10.00\narrives_after = \"2 business days\"\n";
    for (part, stand, figures) in [
        ("box = \"99 x 30 x 20 mm\"", "gap = \"2 mm\"", vec!["101 mm", "100 mm", "1 mm", "plate"]),
        ("box = \"30 x 59 x 20 mm\"", "gap = \"2 mm\"", vec!["61 mm", "60 mm", "1 mm", "plate"]),
        (
            "box = \"30 x 30 x 118 mm\"",
            "stand_off = \"5 mm\"",
            vec!["123 mm", "120 mm", "3 mm", "height"],
        ),
        ("box = \"99 x 30 x 20 mm\"", "", vec![]),
        ("box = \"30 x 30 x 115 mm\"", "stand_off = \"5 mm\"", vec![]),
        ("box = \"30 x 40 x 99 mm\"", "up = \"shortest\"\nstand_off = \"5 mm\"", vec![]),
    ] {
        let part = format!("volume = \"10 mL\"\n{part}");
        // The second is too wide for a plate whose longer side it does not need.
        let sheet = if figures.first() == Some(&"61 mm") {
            "60 x 31 mm,120 mm"
        } else {
            "100 x 60 mm,120 mm"
        };
        let answer = compare(plate(&part, stand, outside, sheet).path(), &[]);
        let out = answer["ruled_out"].as_array().expect("a list");
        assert_eq!(out.len(), usize::from(!figures.is_empty()), "{part}: {out:?}");
        for word in &figures {
            let reason = out[0]["reason"].as_str().expect("a reason");
            assert!(reason.contains(word), "no {word} in {reason}");
        }
    }
}
