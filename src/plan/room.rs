//! Room: whether a part fits the plate, the printer's height and the tubs of a route, one piece of it alone.

use super::{BathKindTable, Dipped, PrintTable, Shop};
use crate::model::{Exact, PartId, RouteId, Scenario};

/// Why one piece of a part cannot be printed by a route, with the dimension and the excess; `None` where it can, or nothing is known.
pub fn unprintable(shop: &Shop, part: PartId, route: RouteId) -> Option<String> {
    let print = shop.route(route).print.as_ref()?;
    let stand = shop.part(part).stand(print.up)?;
    let printer = printer_name(shop.scenario, route);
    off_plate(print, stand)
        .map(|(have, limit)| too_large(&format!("the plate of `{printer}`"), have, limit))
        .or_else(|| {
            too_tall(print, stand)
                .map(|(have, limit)| too_large(&format!("the height of `{printer}`"), have, limit))
        })
}

fn printer_name(scenario: &Scenario, route: RouteId) -> &str {
    let first = scenario.route(route).steps.first().and_then(|s| s.at);
    first.map_or("", |id| &scenario.equipment[id.index()].name)
}

/// The side of a footprint (gap included) that no turn brings onto the plate, with the plate's side.
fn off_plate(print: &PrintTable, stand: [i64; 3]) -> Option<(Exact, Exact)> {
    let mut plate = print.plate?;
    let mut footprint = [stand[0] + print.gap, stand[1] + print.gap];
    plate.sort_unstable();
    footprint.sort_unstable();
    // The longer side against the longer, the shorter against the shorter: if this turn does not fit, neither does the other.
    [1, 0]
        .into_iter()
        .find(|&i| tenths_up(footprint[i]) > plate[i] / TENTH)
        .map(|i| (Exact::from_millionths(footprint[i]), Exact::from_millionths(plate[i])))
}

/// Packing counts in tenths of a millimetre: pieces are rounded up, plates down.
const TENTH: i64 = 100_000;

fn tenths_up(size: i64) -> i64 {
    size / TENTH + i64::from(size % TENTH != 0)
}

fn too_tall(print: &PrintTable, stand: [i64; 3]) -> Option<(Exact, Exact)> {
    let height = Exact::from_millionths(stand[2]) + print.stand_off;
    print.height.filter(|&limit| height > limit).map(|limit| (height, limit))
}

fn too_large(what: &str, have: Exact, limit: Exact) -> String {
    format!("too large for {what}: {have} mm where {limit} mm is allowed, {} mm over", have - limit)
}

/// Why one piece of a part cannot be dipped in a dye bath of a route, with the excess.
pub fn undippable(shop: &Shop, part: PartId, route: RouteId) -> Option<String> {
    let piece = [Dipped { part: shop.part(part), copies: 1 }];
    shop.route(route).steps.iter().find_map(|step| {
        let (id, up) = step.bath?;
        match &shop.bath(id).kind {
            BathKindTable::Dye(_, tub) => tub.obstacle(&piece, up).map(|why| {
                format!("cannot be dipped in `{}`: {why}", shop.scenario.baths[id.index()].name)
            }),
            BathKindTable::Wash(_) => None,
        }
    })
}
