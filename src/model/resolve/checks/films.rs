//! What a bath needs to know of a part: its area for the films, its box and volume for a dip.

use super::geometry::{Pair, lacks};
use crate::model::resolve::reading::Load;
use crate::model::{
    AREA_OF_BOX, Bath, BathKind, Dim, Exact, Input, Part, PartId, RouteKind, Slot, Varies,
};

/// Logs what the baths of each pair need and lack. Returns the parts whose area is to be taken from their box, ascending.
pub fn check(load: &mut Load, pairs: &[Pair], baths: &[Bath]) -> Vec<PartId> {
    let mut boxes = Vec::new();
    for pair in pairs {
        for (id, _) in pair.route.steps.iter().filter_map(|s| s.bath) {
            if of_bath(load, pair, &baths[id.index()]) {
                boxes.push(pair.part_id);
            }
        }
    }
    boxes.sort_unstable();
    boxes.dedup();
    boxes
}

/// One bath of a pair. True where the area is to be taken from the box.
fn of_bath(load: &mut Load, pair: &Pair, bath: &Bath) -> bool {
    let (part, route) = (pair.part, &pair.route.name);
    let prints = matches!(&pair.route.kind, RouteKind::Bench(bench) if bench.print.is_some());
    let dips = matches!(bath.kind, BathKind::Dye(_));
    if dips {
        let why = format!("to dip it into `{}` by `{route}`", bath.name);
        if part.size.is_none() {
            lacks(load, part, "box", &why, "state `box`");
        }
        // A printed part without a volume is found already.
        if part.volume.is_none() && !prints {
            lacks(load, part, "volume", &why, "state `volume`, or `box` and `fill`");
        }
    }
    if part.area.is_some() || !films(load, bath, prints) {
        return false;
    }
    if part.size.is_none() && !dips {
        let why = format!("for the film it carries into and out of `{}` by `{route}`", bath.name);
        let hint = "state `area`, or `box`: 1.5 times its surface is then assumed";
        lacks(load, part, "area", &why, hint);
    }
    part.size.is_some()
}

/// True where something sticks to the surface of a piece.
fn films(load: &Load, bath: &Bath, prints: bool) -> bool {
    let some = |slot: Slot| !load.slots.get(slot).high.is_zero();
    let resin = match &bath.kind {
        BathKind::Wash(wash) => prints && some(wash.resin_film),
        BathKind::Dye(_) => false,
    };
    resin || some(bath.solvent_film)
}

/// Gives parts of which only the box is known an assumed area.
pub fn assume_areas(load: &mut Load, parts: &mut [Part], boxes: &[PartId]) {
    for id in boxes {
        let part = &mut parts[id.index()];
        if let Some(size) = part.size {
            part.area = Some(area_of_box(load, &part.name, size));
        }
    }
}

fn area_of_box(load: &mut Load, part: &str, size: [Slot; 3]) -> Slot {
    let [x, y, z] = size.map(|slot| load.slots.likely(slot));
    // Twice three faces in mm2, in cm2.
    let area = AREA_OF_BOX * (x * y + y * z + z * x) / Exact::from(50i64);
    let place = load.place_of(load.slots.get(size[0]).source).cloned();
    let source =
        load.source(format!("assumed: area, {AREA_OF_BOX} x the box's surface"), place.as_ref());
    load.add(Input {
        address: format!("part[{part}].area"),
        source,
        dim: Dim::Area,
        low: area,
        likely: area,
        high: area,
        varies: Varies::Once,
        assumed: true,
    })
}
