//! Values that stand in where the user states none: entered with their range and marked as assumed.

use super::context::Load;
use super::table::Table;
use crate::model::resolve::keys::NumberKind;
use crate::model::{Assumed, Dim, Exact, Input, Slot};

impl Table<'_> {
    /// A number, or the assumed one where the key is absent.
    pub fn number_or_assumed(&mut self, load: &mut Load, assumed: &Assumed) -> Slot {
        match self.number(load, assumed.key) {
            Some(slot) => slot,
            None => {
                let kind = self.number_kind(assumed.key).unwrap_or(NumberKind::Share);
                assume(load, kind, assumed, self.address_of(assumed.key))
            }
        }
    }
}

/// Enters an assumed value at an address.
fn assume(load: &mut Load, kind: NumberKind, assumed: &Assumed, address: String) -> Slot {
    let (dim, factor) = match assumed.unit {
        "mL" => (Dim::Volume, 1),
        "mm" => (Dim::Length, 1),
        "mL per h" => (Dim::Ratio, 1),
        "h" => (Dim::Time, 3_600),
        "min" => (Dim::Time, 60),
        _ if kind == NumberKind::Count => (Dim::Count, 1),
        _ => (Dim::Share, 1),
    };
    let in_base_units = |number: Exact| number * Exact::from(factor as i64);
    let source = load.source(format!("assumed: {}", assumed.key), None);
    load.add(Input {
        address,
        source,
        dim,
        low: in_base_units(assumed.low),
        likely: in_base_units(assumed.likely),
        high: in_base_units(assumed.high),
        varies: kind.varies(),
        assumed: true,
    })
}
