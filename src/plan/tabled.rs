//! Which numbers of a scenario are in the tables of a [`super::Shop`]: where none of them is drawn or varied, samples and points of a sweep share
//! the tables.

use crate::model::{
    Bath, BathKind, Bench, Consume, Depth, Equipment, Hold, Item, ItemPrice, Part, Print,
    PrintTime, Route, RouteKind, Scenario, Slot, Step, Tub, Volume,
};

/// The slots that laying out the tables reads, with some that it does not: true at the slot's index.
pub fn tabled(scenario: &Scenario) -> Vec<bool> {
    let mut found: Vec<Option<Slot>> = vec![Some(scenario.iterations.planned)];
    scenario.parts.iter().for_each(|part| of_part(part, &mut found));
    scenario.routes.iter().for_each(|route| of_route(route, &mut found));
    scenario.items.iter().for_each(|item| of_item(item, &mut found));
    scenario.baths.iter().for_each(|bath| of_bath(bath, &mut found));
    scenario.equipment.iter().for_each(|machine| of_machine(machine, &mut found));
    let mut tabled = vec![false; scenario.slots.len()];
    found.into_iter().flatten().for_each(|slot| tabled[slot.index()] = true);
    tabled
}

fn of_part(part: &Part, found: &mut Vec<Option<Slot>>) {
    let volume = part.volume.map(|volume| match volume {
        Volume::Stated(slot) | Volume::ShareOfBox(slot) => slot,
    });
    found.extend([Some(part.copies), part.iterations, part.area, volume]);
    found.extend(part.size.into_iter().flatten().map(Some));
}

fn of_route(route: &Route, found: &mut Vec<Option<Slot>>) {
    of_consumes(&route.consumes, found);
    route.steps.iter().for_each(|step| of_step(step, found));
    match &route.kind {
        RouteKind::Order(terms) => found.extend([terms.misread, terms.reject]),
        RouteKind::Bench(Bench { print, .. }) => {
            print.iter().for_each(|print| of_print(print, found));
        }
    }
}

pub(super) fn of_consumes(consumes: &[Consume], found: &mut Vec<Option<Slot>>) {
    found.extend(consumes.iter().map(|c| Some(c.amount)));
}

pub(super) fn of_step(step: &Step, found: &mut Vec<Option<Slot>>) {
    of_consumes(&step.consumes, found);
    let hold = match step.hold {
        Hold::For(slot) => Some(slot),
        Hold::None | Hold::Overnight => None,
    };
    found.extend([step.attended, step.first_time, hold, step.spoil, step.spent_share]);
}

pub(super) fn of_print(print: &Print, found: &mut Vec<Option<Slot>>) {
    let Print { supports, loss, support_area, stand_off, layer, gap, .. } = print;
    found.extend([*supports, *loss, *support_area].map(Some));
    found.extend([*stand_off, *layer, *gap]);
    match print.time {
        PrintTime::Stated(slot) => found.push(Some(slot)),
        PrintTime::Layers { start_up, per_layer, per_volume } => {
            found.extend([start_up, per_layer, per_volume].map(Some));
        }
    }
}

fn of_item(item: &Item, found: &mut Vec<Option<Slot>>) {
    let pack = match item.price {
        ItemPrice::Pack { pack, .. } => Some(pack),
        ItemPrice::PerUnit(_) | ItemPrice::Unknown => None,
    };
    found.extend([pack, item.density, item.stock, item.keep]);
}

pub(super) fn of_bath(bath: &Bath, found: &mut Vec<Option<Slot>>) {
    found.extend([Some(bath.solvent_film), Some(bath.evaporates), bath.reuse_limit]);
    match &bath.kind {
        BathKind::Wash(wash) => {
            let stated = [wash.fill, wash.retire_share, wash.resin_film, wash.platform_carry];
            found.extend(stated.map(Some));
            found.extend([Some(wash.carry_over), wash.resin_now, wash.uses_now]);
        }
        BathKind::Dye(dye) => {
            let depth = match dye.depth {
                Depth::To(slot) => Some(slot),
                Depth::Full => None,
            };
            found.extend([Some(dye.dye_share), dye.displacers, dye.displacer_height, dye.raise]);
            found.extend([depth, dye.cover, dye.freeboard, dye.stir_room, dye.keeps]);
            of_tub(dye.tub, found);
        }
    }
}

fn of_tub(tub: Tub, found: &mut Vec<Option<Slot>>) {
    match tub {
        Tub::Box { bottom, top, depth } => {
            found.extend([bottom[0], bottom[1], top[0], top[1], depth].map(Some));
        }
        Tub::Round { bottom, top, depth } => found.extend([bottom, top, depth].map(Some)),
    }
}

fn of_machine(machine: &Equipment, found: &mut Vec<Option<Slot>>) {
    found.extend(machine.plate.into_iter().flatten().map(Some));
    found.push(machine.height);
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::tabled;
    use crate::model::{Exact, Overrides, load};
    use crate::plan::{Shop, Values};

    /// Tables as text. The vector of numbers, which is beside them, is left out.
    fn tables(shop: &Shop) -> String {
        format!("{:?}{:?}{:?}{:?}", shop.parts, shop.routes, shop.items, shop.baths)
    }

    #[test]
    fn no_other_number_changes_a_table() {
        for demo in ["scenarios/river-sonde", "scenarios/first-look"] {
            let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(demo);
            let scenario = load(&folder, &Overrides::default()).scenario.expect("a demo");
            let values = Values::planning(&scenario.slots);
            let (tabled, then) = (tabled(&scenario), tables(&Shop::drawn(&scenario, &values)));
            let mut moved = 0;
            for (slot, input) in scenario.slots.iter() {
                let mut values = values.clone();
                values.set(&scenario.slots, slot, input.likely * Exact::from(3i64) + Exact::ONE);
                let now = tables(&Shop::drawn(&scenario, &values));
                assert!(tabled[slot.index()] || now == then, "{demo}: {}", input.address);
                moved += u32::from(now != then);
            }
            assert!(moved > 5, "{demo}: {moved}");
        }
    }
}
