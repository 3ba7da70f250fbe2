//! Dye baths: the tub, what stands in it, and how deep a piece goes in.

use super::list::{Supplies, liquid};
use crate::diag::Code;
use crate::input::read_lengths;
use crate::model::resolve::keys::{FULL, SHAPES, Shape, TUB};
use crate::model::resolve::limits;
use crate::model::resolve::reading::{Lit, Load, One, Table};
use crate::model::{Depth, Dye, Exact, ItemClass, Slot, Tub};

/// Reads what only a dye bath has.
pub fn dye(load: &mut Load, supplies: Supplies, table: &mut Table) -> Option<Dye> {
    let item = liquid(load, supplies, table, ("dye", ItemClass::Dye));
    let dye_share = table.number(load, "dye_share");
    let hint = "state mL of dye per mL of solvent, such as `dye_share = 0.03`";
    table.lacks(load, Code::IncompleteBath, "dye_share", hint);
    let tub = tub(load, table);
    check_words(load, table);
    let displacers = table.number(load, "displacers");
    let displacer_height = table.number(load, "displacer_height");
    let raise = table.number(load, "raise");
    let depth = depth(load, table);
    let cover = table.number(load, "cover");
    let freeboard = table.number(load, "freeboard");
    let stir_room = table.number(load, "stir_room");
    let keeps = table.number(load, "keeps");
    Some(Dye {
        dye: item?,
        dye_share: dye_share?,
        tub: tub?,
        displacers,
        displacer_height,
        raise,
        depth: depth?,
        cover,
        freeboard,
        stir_room,
        keeps,
    })
}

/// Keys that mean nothing without, or beside, another.
fn check_words(load: &mut Load, table: &mut Table) {
    if table.has("displacer_height") && !table.has("displacers") {
        let message = "`displacers` is missing: their height alone takes no room";
        let place = table.place_of("displacer_height");
        let hint = "state their volume below the level, or delete `displacer_height`";
        load.error(Code::KeyAlone, place, message, hint);
    }
    if let Some(one) = table.one("displacers").filter(|_| !table.has("displacer_height")) {
        let message = "how tall the displacers are is not stated: whether they stay below the level is not checked";
        load.warn(Code::KeyAlone, one.place, message, "state `displacer_height`");
    }
    let to_a_length = table.one("depth").is_some_and(|one| !is_full(one));
    if to_a_length && table.has("cover") {
        let places = (table.place_of("cover"), table.place_of("depth"));
        let hint = "delete `cover`, or write `depth = \"full\"`";
        load.conflict(Code::ConflictingKeys, ("cover", places.0), ("depth", places.1), hint);
    }
}

fn is_full(one: One) -> bool {
    matches!(one.lit, Lit::Text(text) if text.trim() == FULL)
}

/// How deep: wholly where nothing else is stated.
fn depth(load: &mut Load, table: &mut Table) -> Option<Depth> {
    match table.one("depth") {
        None => Some(Depth::Full),
        Some(one) if is_full(one) => Some(Depth::Full),
        Some(one) => match one.lit {
            Lit::Text(text) if !text.contains(|c: char| c.is_ascii_digit()) => {
                load.unknown_name(Code::UnknownWord, one.place, "depth", (text, &[FULL]));
                None
            }
            _ => table.number(load, "depth").map(Depth::To),
        },
    }
}

fn tub(load: &mut Load, bath: &mut Table) -> Option<Tub> {
    let example = "state its inside: `tub = { shape = \"box\", bottom = \"190 x 120 mm\", top = \"206 x 136 mm\", depth = \"110 mm\" }`";
    bath.lacks(load, Code::IncompleteBath, "tub", example);
    let one = bath.one("tub")?;
    let mut table = Table::new(load, one, TUB, "a tub")?.at(bath.address_of("tub"));
    let shape = shape(load, &mut table);
    let depth = table.number(load, "depth");
    let hints = [
        ("bottom", "state length x width at the floor, or the diameter of a round one"),
        ("top", "state length x width at the rim, or the diameter of a round one"),
        ("depth", "state how far the rim is above the floor"),
    ];
    for (key, hint) in hints {
        table.lacks(load, Code::IncompleteBath, key, hint);
    }
    match shape? {
        Shape::Box => {
            let (bottom, top) = (sides(load, &mut table, "bottom"), sides(load, &mut table, "top"));
            Some(Tub::Box { bottom: bottom?, top: top?, depth: depth? })
        }
        Shape::Round => {
            let bottom = diameter(load, &mut table, "bottom");
            let top = diameter(load, &mut table, "top");
            Some(Tub::Round { bottom: bottom?, top: top?, depth: depth? })
        }
    }
}

fn shape(load: &mut Load, table: &mut Table) -> Option<Shape> {
    let hint = "write `shape = \"box\"` or `shape = \"round\"`";
    table.lacks(load, Code::IncompleteBath, "shape", hint);
    table.one("shape")?.choice(load, "shape of tub", &SHAPES)
}

/// Diameter of a round tub.
fn diameter(load: &mut Load, table: &mut Table, key: &str) -> Option<Slot> {
    let one = table.one(key)?;
    if matches!(one.lit, Lit::Text(text) if read_lengths(text, 2).is_ok()) {
        let message = "a round tub has one diameter, found a length and a width";
        load.error(Code::BadLengths, one.place, message, "write one length, or `shape = \"box\"`");
        return None;
    }
    table.number(load, key)
}

/// Length and width of a box tub, each of a size that a tub has.
fn sides(load: &mut Load, table: &mut Table, key: &str) -> Option<[Slot; 2]> {
    let found = load.log.found.len();
    let slots = table.lengths::<2>(load, key)?;
    let ends = (Exact::ONE, Exact::from(limits::TUB));
    let sides = slots.map(|slot| load.slots.likely(slot));
    let place = table.one(key).map_or(table.place, |one| one.place);
    if load.log.found.len() > found {
        return None;
    }
    if sides.iter().any(|side| *side < ends.0) {
        let message = format!("a side of a tub below {} mm", ends.0);
        load.error(Code::OutOfRange, place, message, "check the numbers and their unit");
    } else if sides.iter().any(|side| *side > ends.1) {
        let message = format!("a side of a tub above {} mm", ends.1);
        load.error(Code::TooLarge, place, message, "check the numbers and their unit");
    }
    Some(slots)
}
