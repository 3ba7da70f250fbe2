//! What only the whole can tell.
//!
//! Enters: the scenario as read. Leaves: findings about what its routes ask of its parts, baths and machines and do not get, and the areas
//! that are assumed where a bath asks for one.

mod films;
mod geometry;
mod whole;

use crate::model::Scenario;
use crate::model::resolve::reading::Load;

/// Logs what only the whole scenario can tell, and enters what is assumed for want of it.
pub fn check(load: &mut Load, scenario: &mut Scenario) {
    let last = scenario.last.as_ref().map_or(&[][..], |f| &f.assign[..]);
    let refused = std::mem::take(&mut load.meshes.refused);
    let pairs = geometry::pairs(geometry::Lists {
        parts: &scenario.parts,
        routes: &scenario.routes,
        plans: &scenario.plans,
        last,
        refused: &refused,
    });
    geometry::check(load, &pairs);
    geometry::notes(load, &pairs);
    geometry::plates(load, &pairs, &scenario.equipment);
    let boxes = films::check(load, &pairs, &scenario.baths);
    films::assume_areas(load, &mut scenario.parts, &boxes);
    whole::never_fits(load, scenario);
    whole::exchange_rates(load, scenario);
    whole::electricity(load, scenario);
}
