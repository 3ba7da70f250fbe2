//! Parts, needs, steps, and what has no price.

use super::*;
use crate::model::{Hold, Volume, Want};

#[test]
fn what_has_no_price_is_listed_and_never_assumed() {
    let s = good(ten(&[
        ("labour   = \"30 per h\"", ""),
        ("resin      = \"130 per L\"", ""),
        ("delivery_cost = 24.00", ""),
        ("spoil      = 0.12", "spoil = 0.12\nprinter = \"my printer\""),
    ]));
    assert_eq!(
        s.not_counted,
        [
            "labour (no rate stated)",
            "delivery of `print house` (no price stated)",
            "resin of `my bench` (no price stated)",
            "wash solvent of `my bench` (no price stated)",
            "`my printer` (not in equipment.csv)",
        ]
    );
}

#[test]
fn fill_is_a_share_of_the_box() {
    let s = good(ten(&[("volume   = \"92 cm3\"", "box = \"50 x 40 x 20 mm\"\nfill = \"shell\"")]));
    assert!(matches!(s.parts[0].volume, Some(Volume::ShareOfBox(_))));
    let (_, word) = s.slots.iter().find(|(_, i)| i.address == "part[sensor collar].fill").unwrap();
    assert_eq!((word.likely.to_string().as_str(), word.assumed), ("0.2", true));
    let s = good(ten(&[("volume   = \"92 cm3\"", "box = \"50 x 40 x 20 mm\"\nfill = 0.3")]));
    let (_, share) = s.slots.iter().find(|(_, i)| i.address == "part[sensor collar].fill").unwrap();
    assert_eq!((share.likely.to_string().as_str(), share.assumed), ("0.3", false));
}

#[test]
fn needs_may_start_later() {
    let must = "must = { hardness = \"60A..80A\", opaque = { from_iteration = 4 }, colour = { is = \"black\", from_iteration = 2 }, lead = 9 }\nvolume   =";
    let s = good(ten(&[("volume   =", must)]));
    let wants: Vec<(u32, String)> =
        s.parts[0].must.iter().map(|n| (n.from_iteration, format!("{:?}", n.want))).collect();
    assert_eq!(wants.len(), 4);
    assert!(s.parts[0].must.iter().any(|n| n.want == Want::Opaque(true) && n.from_iteration == 4));
    assert!(
        s.parts[0]
            .must
            .iter()
            .any(|n| n.want == Want::Colour("black".into()) && n.from_iteration == 2)
    );
    assert!(s.parts[0].must.iter().any(|n| n.want == Want::Lead(9) && n.from_iteration == 1));
}

#[test]
fn steps_give_properties_in_order() {
    let steps = "steps = [ { do = \"cast\", attended = \"20 min\", give = { colour = \"grey\", opaque = false } }, { do = \"dye\", hold = \"overnight\", give = { colour = \"green\" } }, { do = \"dye\", attended = \"1 min\" } ]";
    let s = good(ten(&[
        ("resin      = \"130 per L\"\nprint_time = \"7 h\"\n", ""),
        ("attended   = \"2.2 h\"     # your own time per print: set up, wash, trim, cure\n", ""),
        (
            "spoil      = 0.12          # share of prints that fail and start again\n",
            &format!("{steps}\n"),
        ),
    ]
    .map(|(a, b)| (fitting(a), b))));
    let route = s.routes.iter().find(|r| r.name == "my bench").unwrap();
    assert_eq!(
        (route.given.colour.as_deref(), route.given.opaque, route.gives),
        (Some("green"), Some(false), true)
    );
    assert!(matches!(route.steps[1].hold, Hold::Overnight));
    assert!(s.slots.iter().any(|(_, i)| i.address == "route[my bench].steps[dye#2].attended"));
}

/// A line of the first scenario that begins like this one, whatever its comment.
fn fitting(line: &str) -> &str {
    let start = line.split('\n').next().unwrap().split('#').next().unwrap().trim_end();
    let at = TEN.find(start).unwrap();
    let lines = line.matches('\n').count();
    let end = TEN[at..].match_indices('\n').nth(lines - 1).unwrap().0;
    &TEN[at..=at + end]
}
