//! Baths worked by hand, entry by entry. The arithmetic stands in the comments.
//!
//! A film of t mm on a cm2 is a x t / 10 mL. Prices are round: spirit 8 per L, dye 500 per L, resin 100 per L, disposal 2 per
//! L; disposal is entered in litres of mixture, under the solvent.

use std::path::Path;

use flipcount::analysis::{Project, answer};
use flipcount::ledger::{Account, Category, Entry, Kind};
use flipcount::model::{Exact, Scenario};
use flipcount::plan::{BathKindTable, Dipped, Shop};
use serde_json::Value;

use crate::help::{compare, flipcount, folder, in_shop, number, scenario};

pub const SUPPLIES: &str = "item,kind,pack,pack_price,waste_charge_per_l\nspirit,solvent,,8 per L,2.00\n\
                        moss dye,dye,,500 per L,\nshims,supply,,0.01 per pcs,\n";

/// A scenario of one part, with its baths and routes.
fn workshop(planned: u32, part: &str, rest: &str) -> tempfile::TempDir {
    let text = format!(
        "title = \"baths by hand\"\ncurrency = \"EUR\"\npricing = \"pricing\"\nstart = 2026-03-02T09:00:00\n\
         labour = \"30 per h\"\n[iterations]\nplanned = {planned}\nhorizon = {planned}\nevaluate = \"30 min\"\n\
         redesign = \"30 min\"\n[hours]\nopen = [\"09:00-17:00\"]\n[[part]]\nname = \"vent cap\"\n{part}\n{rest}\n"
    );
    folder(&text, &[("supplies.csv", SUPPLIES)])
}

/// Runs the only plan there is.
pub fn run<T>(folder: &Path, ask: impl FnOnce(&Shop, &Project, &Scenario) -> T) -> T {
    let scenario = scenario(folder);
    in_shop(&scenario, |shop| {
        let answer = answer(shop).expect("an answer");
        assert_eq!(answer.plans.len(), 1, "{:?}", answer.ruled_out);
        let assign = &answer.plans[0].plan.assign;
        let project = Project::run(shop, assign, shop.planned, &[]).expect("it can be made");
        ask(shop, &project, &scenario)
    })
}

/// Iteration, step, category, item, quantity, amount of what baths and prints take: every consumed or disposed amount.
type Taken<'t> = (u32, u16, &'t str, &'t str, &'t str, &'t str);

fn taken(project: &Project, scenario: &Scenario, wanted: &[Taken]) {
    let material = |e: &&Entry| {
        let class = [
            Category::Resin,
            Category::Solvent,
            Category::Dye,
            Category::Waste,
            Category::Supplies,
        ];
        class.contains(&e.category) && (e.kind == Kind::Consume || e.category == Category::Waste)
    };
    let found: Vec<String> = project
        .ledger
        .entries()
        .iter()
        .filter(material)
        .map(|e| {
            let amount = e.amount.text(scenario.minor());
            let (category, item) = (e.category.name(), e.item(scenario));
            format!("{} {} {category} {item} {} {amount}", e.iteration, e.step, e.quantity)
        })
        .collect();
    let wanted: Vec<String> = wanted
        .iter()
        .map(|(n, step, category, item, quantity, amount)| {
            format!("{n} {step} {category} {item} {quantity} {amount}")
        })
        .collect();
    assert_eq!(found, wanted);
    // What is paid by use is paid as it is consumed.
    let sum = |kind: Kind| -> Exact {
        let of = |e: &&Entry| material(e) || e.kind == Kind::Pay;
        let all = project.ledger.entries().iter().filter(of);
        let all = all.filter(|e| e.kind == kind && e.category != Category::Waste);
        all.map(|e| e.amount.exact()).sum()
    };
    assert_eq!(sum(Kind::Consume), sum(Kind::Pay));
}

fn moved(project: &Project, to: Account) -> Exact {
    let there = project.ledger.movements().iter().filter(|m| m.to == to);
    Exact::from_millionths(there.map(|m| m.amount).sum())
}

/// 100 mL, 200 cm2, printed with half as much again of supports and film on half the area of those.
const PRINTED: &str = "volume = \"100 mL\"\narea = \"200 cm2\"\nbox = \"50 x 50 x 40 mm\"";

fn printed(baths: &str, steps: &str) -> String {
    format!(
        "{baths}\n[[route]]\nname = \"bench\"\nkind = \"bench\"\nprinter = \"printer\"\nresin = \"100 per L\"\n\
         print_time = \"1 h\"\nsupports = 0.5\nsupport_area = 0.5\nper_build_loss = \"10 mL\"\nsteps = [\n\
         {{ do = \"print\", attended = \"10 min\" }},\n{steps}\n]\n"
    )
}

const WASHES: &str = r#"[[bath]]
name = "first wash"
kind = "wash"
solvent = "spirit"
fill = "1 L"
retire_share = 0.015
reuse_limit = 20
resin_film = "0.05 mm"
platform_carry = "4 mL"
solvent_film = "0.1 mm"
evaporates = "12 mL per h"
[[bath]]
name = "second wash"
kind = "wash"
solvent = "spirit"
fill = "500 mL"
retire_share = 0.5
reuse_limit = 2
resin_film = "9 mm"
platform_carry = "99 mL"
carry_over = 0.1
solvent_film = "0.4 mm"
evaporates = "0 mL per h""#;

/// The last step fails one time in five and is then done in full: every step is started, and runs, 1 / 0.8 = 1.25 times a good build.
///
/// Print: 1.25 x (100 x 1.5 + 10) = 200 mL of resin, 20.00.
/// First wash: a build carries in 200 x 1.5 x 0.05 / 10 = 1.5 mL on pieces and supports and 4 mL on the platform, 5.5 mL; the bath
/// receives 1.25 x 5.5 = 6.875 mL (0.69). Pieces take out 1.25 x 200 x 0.1 / 10 = 2.5 mL of solvent; it stands open for 6 + 24 minutes,
/// 1.25 x 0.5 h x 12 = 7.5 mL evaporate: 990 mL are left.
/// Second wash: it receives 1.25 x 0.1 x 5.5 = 0.6875 mL out of the first (its own film and platform are for first washes only); pieces
/// take out 1.25 x 200 x 0.4 / 10 = 10 mL.
/// Iteration 1: both are filled, 1000 mL (8.00) and 500 mL (4.00). The first then holds 6.875 - 0.6875 = 6.1875 mL of resin.
/// Iteration 2: 6.1875 + 6.875 = 13.0625 of 1013.0625 mL are 1.29 %, no more than 1.5 %: topped up by 10 mL (0.08). The second has 1.25
/// uses behind it, below 2: topped up by 10 mL (0.08). The first holds 13.0625 - 0.6875 = 12.375 mL of resin.
/// Iteration 3: 12.375 + 6.875 = 19.25 of 1019.25 mL would be 1.89 %: the first is emptied, 990 + 12.375 = 1002.375 mL (2.00475), and
/// filled. The second has 2.5 uses behind it: emptied, 490 + 2 x 0.6875 = 491.375 mL (0.98275), and filled.
#[test]
fn two_washes_by_hand() {
    let steps = r#"{ do = "wash", bath = "first wash", attended = "6 min", hold = "24 min" },
{ do = "rinse", bath = "second wash", attended = "3 min", hold = "9 min" },
{ do = "cure", attended = "5 min", spoil = 0.2 }"#;
    let dir = workshop(3, PRINTED, &printed(WASHES, steps));
    run(dir.path(), |_, project, scenario| {
        taken(
            project,
            scenario,
            &[
                (1, 1, "resin", "resin", "200", "20.00"),
                (1, 2, "resin", "resin", "6.875", "0.69"),
                (1, 2, "solvent", "spirit", "1000", "8.00"),
                (1, 3, "solvent", "spirit", "500", "4.00"),
                (2, 1, "resin", "resin", "200", "20.00"),
                (2, 2, "resin", "resin", "6.875", "0.69"),
                (2, 2, "solvent", "spirit", "10", "0.08"),
                (2, 3, "solvent", "spirit", "10", "0.08"),
                (3, 1, "resin", "resin", "200", "20.00"),
                (3, 2, "resin", "resin", "6.875", "0.69"),
                (3, 2, "solvent", "spirit", "1000", "8.00"),
                (3, 2, "waste", "spirit", "1.002375", "2.00"),
                (3, 3, "solvent", "spirit", "500", "4.00"),
                (3, 3, "waste", "spirit", "0.491375", "0.98"),
            ],
        );
        assert_eq!(moved(project, Account::DraggedOut), number("37.5"), "3 x (2.5 + 10)");
        assert_eq!(moved(project, Account::Evaporated), number("22.5"), "3 x 7.5");
        let held: Vec<(Exact, Exact)> = project.states[3]
            .baths()
            .iter()
            .map(|b| (b.solvent, b.dissolved()))
            .map(|(s, d)| (Exact::from_millionths(s), Exact::from_millionths(d)))
            .collect();
        let left = [("990", "6.1875"), ("490", "0.6875")].map(|(s, d)| (number(s), number(d)));
        assert_eq!(held, left);
    });
}

/// A half-used bath stands there full and paid: 3 mL of resin in it, 4 of 6 uses behind it. The last step fails every other time: each step
/// is started, and runs, twice for a good build. Print: 2 x (100 x 1.5 + 10) = 320 mL. Twice 5.5 mL are carried in, twice 2 mL taken out
/// (200 x 0.1 / 10), and twice 6 mL evaporate (0.5 h x 12).
/// Iteration 1: nothing is poured; 984 mL and 14 mL are left, 6 uses behind it: each start counts. Iteration 2: emptied, 998 mL (1.996), and
/// filled. Iteration 3: 2 uses; topped up by 16 mL (0.128).
#[test]
fn a_half_used_bath_by_hand() {
    let bath = r#"[[bath]]
name = "first wash"
kind = "wash"
solvent = "spirit"
fill = "1 L"
retire_share = 0.5
reuse_limit = 6
resin_now = "3 mL"
uses_now = 4
resin_film = "0.05 mm"
platform_carry = "4 mL"
solvent_film = "0.1 mm"
evaporates = "12 mL per h""#;
    let steps = r#"{ do = "wash", bath = "first wash", attended = "6 min", hold = "24 min" },
{ do = "cure", attended = "5 min", spoil = 0.5 }"#;
    let dir = workshop(3, PRINTED, &printed(bath, steps));
    run(dir.path(), |_, project, scenario| {
        taken(
            project,
            scenario,
            &[
                (1, 1, "resin", "resin", "320", "32.00"),
                (1, 2, "resin", "resin", "11", "1.10"),
                (2, 1, "resin", "resin", "320", "32.00"),
                (2, 2, "resin", "resin", "11", "1.10"),
                (2, 2, "solvent", "spirit", "1000", "8.00"),
                (2, 2, "waste", "spirit", "0.998", "2.00"),
                (3, 1, "resin", "resin", "320", "32.00"),
                (3, 2, "resin", "resin", "11", "1.10"),
                (3, 2, "solvent", "spirit", "16", "0.13"),
            ],
        );
    });
}

/// A route that casts and dips; no film, nothing evaporates unless `more` of the bath says so.
fn dyed(bath: &str, more: &str, step: &str) -> String {
    let dry =
        if more.is_empty() { "solvent_film = \"0 mm\"\nevaporates = \"0 mL per h\"" } else { more };
    format!(
        "[[bath]]\nname = \"tub\"\nkind = \"dye\"\nsolvent = \"spirit\"\ndye = \"moss dye\"\n{bath}\n{dry}\n\
         [[route]]\nname = \"bench\"\nkind = \"bench\"\nsteps = [{{ do = \"cast\", attended = \"5 min\" }}, \
         {{ do = \"dye\", bath = \"tub\", attended = \"6 min\", hold = \"24 min\" {step} }}]\n"
    )
}

/// A tub with draft, 100 x 100 mm at the floor and 120 x 120 mm at the rim 100 mm up. Two caps of 60 mL, 60 mm tall, stand 10 mm above the
/// floor, 30 mm deep: the level is at 40 mm, where the tub is 108 mm wide (104 mm half way). Up to there it holds
/// 40/6 x (100 x 100 + 4 x 104 x 104 + 108 x 108) = 432,853.333.. mm3 (the prismoidal rule, exact here). Half of each cap is immersed,
/// 2 x 30 mL; displacers take 22.853333 mL: 350.000000.. mL of liquid, with 0.25 mL of dye to each mL of solvent 280 mL (2.24) and 70 mL
/// (35.00).
/// Half of 2 x 120 cm2 is wetted: 120 x 0.05 / 10 = 0.6 mL leave on the caps, 0.48 mL of it solvent; 12 x 0.5 h = 6 mL evaporate.
/// Iteration 2: topped up by 6.48 mL (0.05) and 0.12 mL (0.06). Iteration 3: after two uses it is emptied, 273.52 + 69.88 = 343.4 mL
/// (0.6868), and filled.
#[test]
fn a_box_tub_by_hand() {
    let part = "volume = \"60 mL\"\narea = \"120 cm2\"\nbox = \"40 x 35 x 60 mm\"\ncopies = 2";
    let bath = r#"dye_share = 0.25
tub = { shape = "box", bottom = "100 x 100 mm", top = "120 x 120 mm", depth = "100 mm" }
raise = "10 mm"
depth = "30 mm"
displacers = "22.853333 mL"
displacer_height = "40 mm"
freeboard = "60 mm"
stir_room = "350 mL"
reuse_limit = 2"#;
    let wet = "solvent_film = \"0.05 mm\"\nevaporates = \"12 mL per h\"";
    let dir = workshop(3, part, &dyed(bath, wet, ""));
    run(dir.path(), |_, project, scenario| {
        taken(
            project,
            scenario,
            &[
                (1, 2, "solvent", "spirit", "280", "2.24"),
                (1, 2, "dye", "moss dye", "70", "35.00"),
                (2, 2, "solvent", "spirit", "6.48", "0.05"),
                (2, 2, "dye", "moss dye", "0.12", "0.06"),
                (3, 2, "solvent", "spirit", "280", "2.24"),
                (3, 2, "dye", "moss dye", "70", "35.00"),
                (3, 2, "waste", "spirit", "0.3434", "0.69"),
            ],
        );
        assert_eq!(moved(project, Account::DraggedOut), number("1.8"), "3 x 0.6");
        assert_eq!(moved(project, Account::Evaporated), number("18"), "3 x 6");
    });
}

/// The same tub lying in wait: a fill that keeps for an hour is emptied before a use that starts later. Iterations follow each other after
/// an hour and more, so every dip has a fresh fill; one that keeps for a week is only topped up, and nothing has left it.
#[test]
fn a_fill_is_poured_away_when_it_is_too_old() {
    let part = "volume = \"60 mL\"\nbox = \"40 x 35 x 60 mm\"";
    let tub = "dye_share = 0.25\ntub = { shape = \"box\", bottom = \"100 x 100 mm\", top = \"100 x 100 mm\", depth = \"100 mm\" }\n\
               depth = \"60 mm\"";
    // 100 x 100 x 60 mm less 60 mL: 540 mL, 432 of spirit and 108 of dye.
    let fill =
        |n| [(n, 2, "solvent", "spirit", "432", "3.46"), (n, 2, "dye", "moss dye", "108", "54.00")];
    for (keeps, fresh) in [("1 h", true), ("7 d", false)] {
        let bath = format!("{tub}\nkeeps = \"{keeps}\"");
        let dir = workshop(2, part, &dyed(&bath, "", ""));
        let mut wanted = fill(1).to_vec();
        if fresh {
            wanted.extend(fill(2));
            wanted.push((2, 2, "waste", "spirit", "0.54", "1.08"));
        }
        run(dir.path(), |_, project, scenario| taken(project, scenario, &wanted));
    }
}

/// mL of solvent and dye the first dip takes.
fn poured(dir: &Path) -> (Exact, Exact) {
    run(dir, |_, project, scenario| {
        let of = |name: &str| {
            let entries = project.ledger.up_to(1).filter(|e| e.kind == Kind::Consume);
            entries.filter(|e| e.item(scenario) == name).map(|e| e.quantity).sum()
        };
        (of("spirit"), of("moss dye"))
    })
}

fn near(found: Exact, wanted: &str, within: &str) {
    assert!((found - number(wanted)).abs() <= number(within), "{found} is not {wanted}");
}

/// Moscow Mathematical Papyrus, problem 14 (about 1850 BC; R. Cooke, The History of Mathematics, p. 240): a square frustum 6 high, 4 wide at
/// the foot and 2 at the top holds 56. Here in cm, with 5 mL in it: 51 mL of liquid, of which at 0.02 50 mL are solvent and 1 mL dye.
#[test]
fn a_tub_like_the_papyrus_frustum() {
    let part = "volume = \"5 mL\"\nbox = \"10 x 10 x 60 mm\"";
    let bath = "dye_share = 0.02\ndepth = \"60 mm\"\n\
                tub = { shape = \"box\", bottom = \"40 x 40 mm\", top = \"20 x 20 mm\", depth = \"60 mm\" }";
    let dir = workshop(1, part, &dyed(bath, "", ""));
    assert_eq!(poured(dir.path()), (number("50"), number("1")));
}

/// A conical frustum with R = 3, r = 1, h = 4 holds pi h / 3 x (R^2 + R r + r^2) = 52 pi / 3 = 54.4542727 (formula read at subjectcoach.com).
/// Here in cm; in full with 2 mm of cover over a rod of 4.4542727 mL and 38 mm: 50.0000000 mL.
#[test]
fn a_round_tub_by_hand() {
    let part = "volume = \"4.454273 mL\"\nbox = \"11 x 11 x 38 mm\"";
    let bath = "dye_share = 0.25\ndepth = \"full\"\ncover = \"2 mm\"\n\
                tub = { shape = \"round\", bottom = \"60 mm\", top = \"20 mm\", depth = \"40 mm\" }";
    let dir = workshop(1, part, &dyed(bath, "", ""));
    assert_eq!(poured(dir.path()), (number("40"), number("10")));
}

/// A ball of 3 ft in a tank of 4 ft x 3.5 ft, wholly under water: it lifts the level by its volume over the tank's area,
/// 14.137 ft3 / 14 ft2 = 1.01 ft (worked at algebra.com, question 404299). Here the level with the ball is 3.5 ft, and what is poured would
/// stand 1.0097976 ft lower without it. A cubic foot is 28,316.846592 mL; pi / 6 x 27 ft3 = 400.3199 L.
#[test]
fn a_piece_lifts_the_level_by_its_volume_over_the_area() {
    let part = "volume = \"400319.9 mL\"\nbox = \"36 x 36 x 36 in\"";
    let bath = "dye_share = 0.25\ndepth = \"full\"\ncover = \"6 in\"\n\
                tub = { shape = \"box\", bottom = \"48 x 42 in\", top = \"48 x 42 in\", depth = \"60 in\" }";
    let dir = workshop(1, part, &dyed(bath, "", ""));
    let (solvent, dye) = poured(dir.path());
    let alone = (solvent + dye) / (number("28316.846592") * number("14"));
    near(number("3.5") - alone, "1.0097976", "0.0000005");
    near(number("3.5") - alone, "1.01", "0.005");
}

/// Whole pieces stand in the level of a full dip as the pose says: 80 mm tall on end, 20 mm lying. 100 x 100 mm up to 80 or 20 mm less
/// 40 mL: 760 or 160 mL, four fifths of it solvent. `pose` goes before the route's `up`, and z is what holds where neither is said.
#[test]
fn the_pose_decides_how_much_is_poured() {
    let part = "volume = \"40 mL\"\nbox = \"20 x 30 x 80 mm\"";
    let bath = "dye_share = 0.25\ndepth = \"full\"\n\
                tub = { shape = \"box\", bottom = \"100 x 100 mm\", top = \"100 x 100 mm\", depth = \"90 mm\" }";
    for (step, solvent) in [
        ("", "608"),
        (", pose = \"z\"", "608"),
        (", pose = \"-x\"", "128"),
        (", pose = \"shortest\"", "128"),
        (", pose = \"y\"", "208"),
    ] {
        let dir = workshop(1, part, &dyed(bath, "", step));
        assert_eq!(poured(dir.path()).0, number(solvent), "{step}");
    }
    let upright = dyed(bath, "", ", pose = \"y\"").replace("kind = \"bench\"\n", "kind = \"bench\"\nprinter = \"printer\"\nup = \"x\"\nresin = \"100 per L\"\nprint_time = \"1 h\"\n").replace("do = \"cast\"", "do = \"print\"");
    for (text, solvent) in [(upright.replace(", pose = \"y\"", ""), "128"), (upright, "208")] {
        let dir = workshop(1, part, &text);
        assert_eq!(poured(dir.path()).0, number(solvent), "{text}");
    }
}

/// Why the bench is ruled out for the part, beside an outside route that is left.
fn ruled_out(part: &str, rest: &str) -> Vec<String> {
    let outside = "[[route]]\nname = \"outside\"\nkind = \"order\"\npiece = 10.00\narrives_after = \"2 business days\"\n";
    let dir = workshop(1, part, &format!("{rest}\n{outside}"));
    let answer = compare(dir.path(), &[]);
    let list = answer["ruled_out"].as_array().expect("a list");
    let of = |entry: &Value| {
        assert_eq!((&entry["part"], &entry["route"]), (&"vent cap".into(), &"bench".into()));
        entry["reason"].as_str().expect("a reason").to_owned()
    };
    list.iter().map(of).collect()
}

/// Each tub is wrong in one way for a rod of 50 mL, 30 x 40 x 90 mm, and the reason says by how much.
///
/// Rim: raised by 2 mm, with 5 mm of cover, the level is at 97 mm; 100 mm less 15 mm of freeboard are 85: 12 mm too high.
/// Narrow: 30 mm do not go into 25 mm at the floor, whichever way it is turned: 5 mm; raised to 50 mm, where the tub is 30 mm wide, they do.
/// Round: the diagonal of 30 x 40 mm is 50 mm, 2 mm more than the 48 mm at the floor.
/// Displacers 60 mm tall at a level of 40 mm: 20 mm. Stir room: 60 x 60 mm up to 40 mm hold 144 mL, 40/90 of 50 mL are 22.2 mL:
/// 121.8 mL are left, 28.2 mL fewer than 150.
#[test]
fn a_tub_that_does_not_do_says_by_how_much() {
    let part = "volume = \"50 mL\"\nbox = \"30 x 40 x 90 mm\"";
    let tub = |shape: &str, bottom: &str, top: &str| {
        format!(
            "dye_share = 0.02\ntub = {{ shape = \"{shape}\", bottom = \"{bottom} mm\", top = \"{top} mm\", depth = \"100 mm\" }}\n"
        )
    };
    let (wide, narrow) = (tub("box", "60 x 60", "60 x 60"), tub("box", "60 x 25", "70 x 35"));
    let cases = [
        (
            format!("{wide}raise = \"2 mm\"\ncover = \"5 mm\"\nfreeboard = \"15 mm\""),
            ["97 mm", "85 mm", "12 mm"],
        ),
        (format!("{narrow}depth = \"40 mm\""), ["30 mm", "25 mm", "5 mm"]),
        (format!("{}depth = \"40 mm\"", tub("round", "48", "90")), ["50 mm", "48 mm", "2 mm"]),
        (
            format!("{wide}depth = \"40 mm\"\ndisplacers = \"1 mL\"\ndisplacer_height = \"60 mm\""),
            ["60 mm", "40 mm", "20 mm"],
        ),
        (
            format!("{wide}depth = \"40 mm\"\nstir_room = \"150 mL\""),
            ["121.8 mL", "28.2 mL", "stir"],
        ),
    ];
    for (bath, figures) in cases {
        let reasons = ruled_out(part, &dyed(&bath, "", ""));
        assert_eq!(reasons.len(), 1, "{bath}: {reasons:?}");
        for word in figures.into_iter().chain(["tub"]) {
            let there = reasons[0].split([',', ':']).any(|r| r.contains(word));
            assert!(there, "no {word} in {:?}", reasons[0]);
        }
    }
    for bath in [
        format!("{wide}raise = \"2 mm\"\ncover = \"5 mm\"\nfreeboard = \"3 mm\""),
        format!("{narrow}raise = \"50 mm\"\ndepth = \"40 mm\""),
        format!("{}depth = \"40 mm\"", tub("round", "50", "90")),
        format!("{wide}depth = \"40 mm\"\ndisplacers = \"1 mL\"\ndisplacer_height = \"40 mm\""),
        format!("{wide}depth = \"40 mm\"\nstir_room = \"121.777777 mL\""),
    ] {
        assert_eq!(ruled_out(part, &dyed(&bath, "", "")), [""; 0], "{bath}");
    }
}

/// One rod leaves 121.8 mL and can be dipped; three of one build leave 144 - 3 x 22.2 = 77.3 mL, 22.7 fewer than 100: the
/// plan cannot be carried out, and says so.
#[test]
fn pieces_that_cannot_be_dipped_together_rule_the_plan_out() {
    let part = "volume = \"50 mL\"\nbox = \"30 x 40 x 90 mm\"\ncopies = 3";
    let bath = "dye_share = 0.02\ndepth = \"40 mm\"\nstir_room = \"100 mL\"\n\
                tub = { shape = \"box\", bottom = \"60 x 60 mm\", top = \"60 x 60 mm\", depth = \"100 mm\" }";
    let dir = workshop(1, part, &dyed(bath, "", ""));
    let output = flipcount().arg("compare").arg(dir.path()).output().expect("the command runs");
    let said = String::from_utf8_lossy(&output.stdout);
    // No plan is left.
    assert_eq!(output.status.code(), Some(4), "{said}");
    for word in ["tub", "bench", "77.3 mL", "22.7 mL"] {
        assert!(said.contains(word), "no {word} in {said}");
    }
    let scenario = scenario(dir.path());
    in_shop(&scenario, |shop| {
        let BathKindTable::Dye(_, tub) = &shop.baths[0].kind else { panic!("a dye bath") };
        let up = shop.routes[0].steps[1].bath.expect("a bath").1;
        let pieces = |copies| [Dipped { part: &shop.parts[0], copies }];
        near(tub.dip(&pieces(1), up).liquid, "121.777778", "0.000001");
        near(tub.dip(&pieces(3), up).liquid, "77.333333", "0.000001");
        assert!(tub.obstacle(&pieces(1), up).is_none() && tub.obstacle(&pieces(3), up).is_some());
    });
}
