//! Baths, the steps that use them, and what they need to know of a part.

use super::*;
use crate::model::{BathKind, Depth, Dim, Item, ItemClass, Print, Tub, Up};

/// A route that prints, washes and dyes, without price sheets.
const DYED: &str = r#"
currency = "USD"
[iterations]
planned = 3
[[part]]
name = "vane"
volume = "5 mL"
box = "30 x 20 x 10 mm"
[[bath]]
name = "tub"
kind = "dye"
solvent = "spirit"
dye = "blue"
dye_share = 0.04
tub = { shape = "box", bottom = "90 x 60 mm", top = "100 x 70 mm", depth = "80 mm" }
[[bath]]
name = "pot"
kind = "wash"
solvent = "spirit"
fill = "0.5 L"
[[route]]
name = "bench"
kind = "bench"
printer = "printer"
print_time = "2 h"
resin = "120 per L"
steps = [
  { do = "print", attended = "5 min" },
  { do = "wash", bath = "pot", attended = "5 min", at = "stirrer" },
  { do = "dye", bath = "tub", attended = "5 min" },
]
"#;

/// The scenario with every key of both kinds of bath.
pub(super) fn every_key() -> String {
    changed(
        DYED,
        &[
            (
                "fill = \"0.5 L\"",
                "fill = \"0.5 L\"\nretire_share = 0.2\nreuse_limit = 9\nresin_film = \"50 um\"\nsolvent_film = \"0.02 mm\"\nplatform_carry = \"3 mL\"\nevaporates = \"0.1 mL per min\"\ncarry_over = 0.2\nresin_now = \"0 mL\"\nuses_now = 0",
            ),
            (
                "{ shape = \"box\", bottom = \"90 x 60 mm\", top = \"100 x 70 mm\", depth = \"80 mm\" }",
                "{ shape = \"round\", bottom = { low = \"88 mm\", likely = \"90 mm\", high = \"91 mm\" }, top = \"9.5 cm\", depth = \"80 mm\" }\ndisplacers = \"40 mL\"\ndisplacer_height = \"20 mm\"\nraise = \"4 mm\"\ndepth = \"8 mm\"\nfreeboard = \"10 mm\"\nstir_room = \"0.1 L\"\nreuse_limit = 2\nkeeps = \"30 d\"\nsolvent_film = \"0 mm\"\nevaporates = \"0 mL per h\"",
            ),
        ],
    )
}

fn dyed(pairs: &[(&str, &str)]) -> Loaded {
    loaded(&[("scenario.toml", &changed(DYED, pairs))])
}

fn said(pairs: &[(&str, &str)]) -> String {
    let loaded = dyed(pairs);
    assert!(loaded.scenario.is_none());
    findings(&loaded).join("\n")
}

fn print(scenario: &Scenario) -> &Print {
    let RouteKind::Bench(bench) = &scenario.routes[0].kind else { panic!("a bench route") };
    bench.print.as_ref().unwrap()
}

fn assumed(scenario: &Scenario) -> Vec<&str> {
    let all = scenario.slots.iter().map(|(_, i)| i);
    all.filter(|i| i.assumed).map(|i| i.address.as_str()).collect()
}

#[test]
fn what_a_bath_does_not_state_is_assumed_with_its_range() {
    let s = good(dyed(&[]));
    for (key, [low, likely, high]) in [
        ("bath[pot].retire_share", is("0.05", "0.1", "0.15")),
        ("bath[pot].reuse_limit", is("12", "20", "30")),
        ("bath[pot].resin_film", is("0.03", "0.06", "0.12")),
        ("bath[pot].solvent_film", is("0.015", "0.03", "0.06")),
        ("bath[pot].platform_carry", is("2", "5", "10")),
        ("bath[pot].carry_over", is("0.03", "0.1", "0.3")),
        ("bath[pot].evaporates", is("5", "10", "20")),
        ("bath[tub].solvent_film", is("0.015", "0.03", "0.06")),
        ("bath[tub].evaporates", is("5", "10", "20")),
        ("route[bench].support_area", is("0.2", "0.5", "1")),
        // 1.5 x 2 x (30 x 20 + 20 x 10 + 10 x 30) mm2 = 33 cm2.
        ("part[vane].area", is("33", "33", "33")),
    ] {
        assert_eq!(at(&s, key), [low, likely, high], "{key}");
        assert!(assumed(&s).contains(&key), "{key}");
    }
    let dim = |address: &str| s.slots.iter().find(|(_, i)| i.address == address).unwrap().1.dim;
    assert_eq!(dim("bath[pot].reuse_limit"), Dim::Count);
    assert_eq!(dim("bath[pot].evaporates"), Dim::Ratio);
    assert_eq!(dim("bath[pot].resin_film"), Dim::Length);
    assert_eq!(s.slots.likely(s.parts[0].area.unwrap()).to_string(), "33");
}

#[test]
fn a_dye_bath_has_no_reuse_limit_and_no_date_unless_stated() {
    let s = good(dyed(&[]));
    let names: Vec<&str> = s.baths.iter().map(|b| b.name.as_str()).collect();
    assert_eq!(names, ["pot", "tub"]);
    let BathKind::Dye(dye) = &s.baths[1].kind else { panic!("a dye bath") };
    assert!(s.baths[1].reuse_limit.is_none() && dye.keeps.is_none() && dye.raise.is_none());
    assert!(matches!((dye.depth, dye.tub), (Depth::Full, Tub::Box { .. })));
    assert_eq!(at(&s, "bath[tub].tub.bottom.x"), is("90", "90", "90"));
    assert_eq!(at(&s, "bath[tub].tub.top.y"), is("70", "70", "70"));
    assert_eq!(at(&s, "bath[tub].tub.depth"), is("80", "80", "80"));
}

#[test]
fn every_key_of_both_kinds_is_read() {
    let s = good(loaded(&[("scenario.toml", &every_key())]));
    let expected = [
        ("bath[pot].retire_share", "0.2"),
        ("bath[pot].reuse_limit", "9"),
        ("bath[pot].resin_film", "0.05"),
        ("bath[pot].platform_carry", "3"),
        ("bath[pot].evaporates", "6"),
        ("bath[pot].carry_over", "0.2"),
        ("bath[pot].resin_now", "0"),
        ("bath[pot].uses_now", "0"),
        ("bath[tub].tub.bottom", "90"),
        ("bath[tub].tub.top", "95"),
        ("bath[tub].displacers", "40"),
        ("bath[tub].displacer_height", "20"),
        ("bath[tub].raise", "4"),
        ("bath[tub].depth", "8"),
        ("bath[tub].freeboard", "10"),
        ("bath[tub].stir_room", "100"),
        ("bath[tub].reuse_limit", "2"),
        ("bath[tub].keeps", "2592000"),
        ("bath[tub].solvent_film", "0"),
        ("bath[tub].evaporates", "0"),
    ];
    for (key, likely) in expected {
        assert_eq!(at(&s, key)[1], likely, "{key}");
    }
    assert!(!assumed(&s).iter().any(|address| address.starts_with("bath[")), "{:?}", assumed(&s));
    let BathKind::Dye(dye) = &s.baths[1].kind else { panic!("a dye bath") };
    assert!(matches!((dye.depth, dye.tub), (Depth::To(_), Tub::Round { .. })));
}

#[test]
fn without_price_sheets_solvent_and_dye_are_items_without_a_price() {
    let s = good(dyed(&[]));
    let items: Vec<(&str, ItemClass, Dim)> =
        s.items.iter().map(|i| (i.name.as_str(), i.class, i.dim)).collect();
    assert_eq!(
        items,
        [
            ("blue", ItemClass::Dye, Dim::Volume),
            ("resin", ItemClass::Resin, Dim::Volume),
            ("spirit", ItemClass::Solvent, Dim::Volume),
        ]
    );
    let BathKind::Dye(dye) = &s.baths[1].kind else { panic!("a dye bath") };
    let name = |item: &Item| item.name.clone();
    assert_eq!(name(&s.items[dye.dye.index()]), "blue");
    assert!(s.baths.iter().all(|b| name(&s.items[b.solvent.index()]) == "spirit"));
    for line in [
        "blue of `tub` (no price stated)",
        "spirit of `pot` (no price stated)",
        "spirit of `tub` (no price stated)",
        "disposal of what `pot` held (no price stated)",
        "disposal of what `tub` held (no price stated)",
    ] {
        assert!(s.not_counted.iter().any(|l| l == line), "{line}: {:?}", s.not_counted);
    }
}

#[test]
fn a_bath_that_no_step_uses_costs_nothing() {
    let s = good(dyed(&[("bath = \"tub\", ", "")]));
    assert!(!s.not_counted.iter().any(|l| l.contains("`tub`")), "{:?}", s.not_counted);
}

#[test]
fn solvent_and_dye_are_looked_up_by_their_kind() {
    let sheet = "item,kind,pack,pack_price,waste_charge_per_l\nspirit,solvent,5 L,40.00,1.50\nblue,dye,100 mL,9.00,\nblack,dye,100 mL,9.00,\ntowels,supply,50 pcs,4.00,\n";
    let with = |pairs: &[(&str, &str)]| {
        let text = changed(DYED, pairs);
        let text = changed(&text, &[("currency = \"USD\"", "currency = \"USD\"\npricing = \".\"")]);
        loaded(&[("scenario.toml", &text), ("supplies.csv", sheet)])
    };
    let s = good(with(&[]));
    assert!(
        !s.not_counted.iter().any(|l| l.contains("pot") || l.contains("tub")),
        "{:?}",
        s.not_counted
    );
    let told = |pairs: &[(&str, &str)]| findings(&with(pairs)).join("\n");
    let found = told(&[("solvent = \"spirit\"", "solvent = \"towels\"")]);
    assert!(found.contains("`towels` is a supply of another kind, expected a solvent"), "{found}");
    let found = told(&[("dye = \"blue\"", "dye = \"spirit\"")]);
    assert!(found.contains("`spirit` is a solvent, expected a dye"), "{found}");
    let found = told(&[("dye = \"blue\"", "dye = \"blu\"")]);
    assert!(found.contains("no dye is called `blu` (did you mean `blue`?)"), "{found}");
}

#[test]
fn the_pose_of_a_dip_is_the_steps_or_the_routes() {
    let pose = |pairs: &[(&str, &str)]| {
        let s = good(dyed(pairs));
        (print(&s).up, s.routes[0].steps[2].bath.unwrap().1)
    };
    let minus_x = Up::Axis { axis: 0, down: true };
    assert_eq!(pose(&[]), (Up::Z, Up::Z));
    let up = ("print_time", "up = \"shortest\"\nprint_time");
    assert_eq!(pose(&[up]), (Up::Shortest, Up::Shortest));
    let pose_of_step = ("bath = \"tub\"", "bath = \"tub\", pose = \"-X\"");
    assert_eq!(pose(&[pose_of_step]), (Up::Z, minus_x));
    assert_eq!(pose(&[up, pose_of_step]), (Up::Shortest, minus_x));
}

#[test]
fn film_on_supports_is_assumed_only_where_there_are_supports_and_a_wash() {
    let film = |pairs: &[(&str, &str)]| {
        let s = good(dyed(pairs));
        let input = s.slots.get(print(&s).support_area).clone();
        (input.likely.to_string(), input.assumed)
    };
    let no_supports = ("print_time", "supports = 0\nprint_time");
    let stated = ("print_time", "support_area = 0.3\nprint_time");
    assert_eq!(film(&[]), ("0.5".to_owned(), true));
    assert_eq!(film(&[no_supports]), ("0".to_owned(), false));
    assert_eq!(film(&[stated]), ("0.3".to_owned(), false));
    assert_eq!(film(&[("bath = \"pot\", ", "")]), ("0".to_owned(), false));
}

#[test]
fn an_order_may_be_dyed_after_it_arrived() {
    let order = "[[route]]\nname = \"house\"\nkind = \"order\"\npiece = 9\ndelivery_cost = 4\narrives_after = 5\nup = \"y\"\nsteps = [ { do = \"dye\", bath = \"tub\", attended = \"5 min\" } ]\n[[route]]\nname = \"bench\"";
    let s = good(dyed(&[("[[route]]\nname = \"bench\"", order)]));
    let (bath, up) = s.routes[1].steps[0].bath.unwrap();
    assert_eq!(s.baths[bath.index()].name, "tub");
    assert_eq!(up, Up::Axis { axis: 1, down: false });
}

#[test]
fn a_part_needs_what_its_baths_ask_for() {
    // Neither area nor box.
    let boxless = ("box = \"30 x 20 x 10 mm\"", "");
    let found = said(&[boxless]);
    assert!(
        found.contains("part `vane` has no `box`, needed to dip it into `tub` by `bench`"),
        "{found}"
    );
    assert!(found.contains("part `vane` has no `area`, needed for the film it carries into and out of `pot` by `bench`"), "{found}");
    // A wash alone is content with an area.
    good(dyed(&[("box = \"30 x 20 x 10 mm\"", "area = \"20 cm2\""), ("bath = \"tub\", ", "")]));
    // A stated area stands, and is not assumed.
    let s = good(dyed(&[(boxless.0, "box = \"30 x 20 x 10 mm\"\narea = \"20 cm2\"")]));
    assert_eq!(at(&s, "part[vane].area"), is("20", "20", "20"));
    assert!(!assumed(&s).contains(&"part[vane].area"));
    // Without films nothing is assumed and nothing asked.
    let none = "fill = \"0.5 L\"\nresin_film = \"0 mm\"\nsolvent_film = \"0 mm\"";
    let s = good(dyed(&[boxless, ("fill = \"0.5 L\"", none), ("bath = \"tub\", ", "")]));
    assert!(s.parts[0].area.is_none());
    // A dipped part that no one prints needs its volume all the same.
    let cast = "printer = \"printer\"\nprint_time = \"2 h\"\nresin = \"120 per L\"\n";
    let found = said(&[
        ("volume = \"5 mL\"\n", ""),
        (cast, ""),
        ("{ do = \"print\", attended = \"5 min\" },", ""),
    ]);
    assert!(found.contains("part `vane` has no `volume`, needed to dip it"), "{found}");
}

#[test]
fn an_area_is_assumed_only_for_a_part_that_goes_through_a_bath() {
    let s = good(dyed(&[("bath = \"pot\", ", ""), ("bath = \"tub\", ", "")]));
    assert!(s.parts[0].area.is_none());
    assert!(!assumed(&s).contains(&"part[vane].area"));
}

#[test]
fn a_faulty_bath_is_one_finding() {
    let found = said(&[("fill = \"0.5 L\"\n", ""), ("bath = \"pot\"", "bath = \"pot\"")]);
    assert_eq!(found.lines().count(), 1, "{found}");
    assert!(found.contains("`fill` is missing"), "{found}");
}

#[test]
fn keys_that_exclude_or_need_each_other() {
    for (from, to, expected) in [
        (
            "dye_share = 0.04",
            "dye_share = 0.04\ndepth = \"5 mm\"\ncover = \"5 mm\"",
            "`cover` and `depth` exclude",
        ),
        (
            "dye_share = 0.04",
            "dye_share = 0.04\ndisplacer_height = \"5 mm\"",
            "`displacers` is missing",
        ),
        (
            "dye_share = 0.04",
            "dye_share = 0.04\nfill = \"1 L\"",
            "`fill` is a key of a wash bath, and `tub` is a dye bath",
        ),
        (
            "fill = \"0.5 L\"",
            "fill = \"0.5 L\"\nkeeps = \"3 d\"",
            "`keeps` is a key of a dye bath, and `pot` is a wash bath",
        ),
        ("do = \"print\",", "do = \"print\", bath = \"pot\",", "the print step uses no bath"),
        (
            "bath = \"pot\"",
            "bath = \"pot\", pose = \"x\"",
            "its bath is a wash bath, which asks for none",
        ),
        ("at = \"stirrer\"", "pose = \"x\"", "its bath is a wash bath"),
        ("bath = \"tub\"", "pose = \"x\"", "the step names no dye bath"),
        ("bath = \"tub\"", "bath = \"tob\"", "no bath is called `tob` (did you mean `tub`?)"),
        ("dye = \"blue\"", "dye = \"spirit\"", "`spirit` is a solvent, expected a dye"),
    ] {
        let found = said(&[(from, to)]);
        assert!(found.contains(expected), "{found}");
        assert_eq!(found.lines().count(), 1, "{found}");
    }
}

#[test]
fn tubs_and_films_have_sensible_sizes() {
    for (from, to, expected) in [
        ("\"90 x 60 mm\"", "\"0.09 x 60 mm\"", "a side of a tub below 1 mm"),
        ("\"90 x 60 mm\"", "\"90 x 60 m\"", "a side of a tub above 10000 mm"),
        ("depth = \"80 mm\"", "depth = \"80 um\"", "a side of a tub below 1 mm"),
        ("depth = \"80 mm\"", "depth = \"80 m\"", "above the largest length here, 10000 mm"),
        ("fill = \"0.5 L\"", "fill = \"0.5 L\"\nresin_film = \"6 cm\"", "length here, 10 mm"),
        ("fill = \"0.5 L\"", "fill = \"0.5 L\"\nresin_film = \"-6 um\"", "number is negative"),
        ("fill = \"0.5 L\"", "fill = \"0 L\"", "expected a volume above 0"),
        ("fill = \"0.5 L\"", "fill = \"0.5 L\"\nreuse_limit = 0", "a whole number above 0"),
        (
            "fill = \"0.5 L\"",
            "fill = \"0.5 L\"\nevaporates = \"5 m3 per h\"",
            "largest rate, 1000 L per h",
        ),
        (
            "fill = \"0.5 L\"",
            "fill = \"0.5 L\"\nevaporates = \"5 mL\"",
            "expected a volume per time",
        ),
        ("dye_share = 0.04", "dye_share = 0", "a share between 0 and 1 above 0"),
        ("dye_share = 0.04", "dye_share = 0.04\ndepth = \"0 mm\"", "expected a length above 0"),
        ("dye_share = 0.04", "dye_share = 0.04\ndepth = \"whole\"", "no depth is called `whole`"),
    ] {
        let found = said(&[(from, to)]);
        assert!(found.contains(expected), "{found}");
        assert_eq!(found.lines().count(), 1, "{found}");
    }
}

#[test]
fn a_boxless_part_on_a_plate_is_a_warning() {
    let sheet = "equipment,plate\nprinter,120 x 70 mm\n";
    let text = changed(
        DYED,
        &[
            ("currency = \"USD\"", "currency = \"USD\"\npricing = \".\""),
            ("box = \"30 x 20 x 10 mm\"", "copies = 3"),
            ("bath = \"pot\", ", ""),
            ("bath = \"tub\", ", ""),
        ],
    );
    let supplies = "item,kind,pack,pack_price\nspirit,solvent,5 L,40.00\nblue,dye,100 mL,9.00\n";
    let files = [("equipment.csv", sheet), ("supplies.csv", supplies)];
    let loaded_with = |text: &str| loaded(&[("scenario.toml", text), files[0], files[1]]);
    let loaded = loaded_with(&text);
    let found = findings(&loaded).join("\n");
    assert!(loaded.scenario.is_some(), "{found}");
    assert!(found.contains("`vane` without a box: not checked against the plate"), "{found}");
    let boxed = changed(&text, &[("copies = 3", "copies = 3\nbox = \"30 x 20 x 10 mm\"")]);
    let loaded = loaded_with(&boxed);
    assert!(loaded.log.found.is_empty(), "{:?}", findings(&loaded));
}
