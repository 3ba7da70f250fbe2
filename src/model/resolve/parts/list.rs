//! Parts: `[[part]]`, and the names by which others mean them.

use super::meshes::{Geometry, measured};
use super::needs::needs;
use crate::diag::{Code, Diagnostic};
use crate::model::resolve::reading::{Lit, Load, Named, One, Table};
use crate::model::resolve::settings::Overrides;
use crate::model::{Dim, Exact, FILLS, Input, Iterations, Part, PartId, Slot, Varies, Volume};

/// Names of parts, in the order of their ids.
pub struct PartNames(pub Vec<String>);

impl PartNames {
    /// The id of a name, if a part bears it.
    pub fn find(&self, name: &str) -> Option<PartId> {
        let index = self.0.iter().position(|n| n == name)?;
        Some(PartId::at(index))
    }

    /// The id of a name; an unknown one is logged.
    pub fn id(&self, load: &mut Load, one: One) -> Option<PartId> {
        let name = one.name(load)?;
        let found = self.find(name);
        if found.is_none() {
            let known: Vec<&str> = self.0.iter().map(String::as_str).collect();
            load.unknown_name(Code::UnknownPart, one.place, "part", (name, &known));
        }
        found
    }
}

/// Reads the parts. `copies` is the number asked for on the command line, `iterations` the planned counts.
pub fn parts(
    load: &mut Load,
    tables: Vec<Named>,
    iterations: &Iterations,
    again: &Overrides,
) -> Vec<Part> {
    tables
        .into_iter()
        .map(|mut named| {
            let part = part(load, &mut named, iterations, again);
            named.table.finish(load, "a part has no use for it");
            part
        })
        .collect()
}

fn part(load: &mut Load, named: &mut Named, iterations: &Iterations, again: &Overrides) -> Part {
    let table = &mut named.table;
    let area = table.number(load, "area");
    let size = table.lengths::<3>(load, "box");
    let copies = copies(load, table, again.copies);
    let has_mesh = table.has("mesh");
    let stated = Geometry { volume: volume(load, table), area, size, solid: None };
    let geometry = measured(load, table, named.name, stated);
    if let (Some(Volume::Stated(slot)), Some(size), false) =
        (&geometry.volume, geometry.size, has_mesh)
    {
        within_box(load, table, *slot, size);
    }
    Part {
        name: named.name.to_owned(),
        copies,
        volume: geometry.volume,
        area: geometry.area,
        size: geometry.size,
        mesh: geometry.solid,
        iterations: own_count(load, table, iterations, again.iterations),
        must: needs(load, table, "must"),
        prefer: needs(load, table, "prefer"),
        source: load.source_line(table.place),
    }
}

/// Logs a volume that its own box cannot hold: cm3 written for mm3, most often.
fn within_box(load: &mut Load, table: &Table, volume: Slot, size: [Slot; 3]) {
    if load.faulty.contains(&volume) || size.iter().any(|s| load.faulty.contains(s)) {
        return;
    }
    let stated = load.slots.likely(volume);
    let [x, y, z] = size.map(|s| load.slots.likely(s));
    // Lengths are in mm, volumes in mL: 1000 mm3 each.
    let most = x * y * z / Exact::from(1_000i64);
    if stated > most {
        let message = format!("the volume, {stated} cm3, is above that of its box, {most} cm3");
        let finding =
            Diagnostic::error(Code::ConflictingNumbers, table.place_of("volume"), message)
                .see(table.place_of("box"), "the box");
        load.log.push(finding.hint("check both numbers and their units"));
    }
}

fn copies(load: &mut Load, table: &mut Table, again: Option<u32>) -> Slot {
    let stated = table.number(load, "copies");
    let default = table.default_of(load, "copies", Dim::Count, Exact::ONE);
    let slot = stated.unwrap_or_else(|| load.add(default));
    if let Some(copies) = again {
        let source = load.source("--copies".to_owned(), None);
        let input = load.slots.get_mut(slot);
        let copies = Exact::from(copies.max(1));
        (input.low, input.likely, input.high, input.source) = (copies, copies, copies, source);
    }
    slot
}

fn volume(load: &mut Load, table: &mut Table) -> Option<Volume> {
    let stated = table.number(load, "volume").map(Volume::Stated);
    let Some(one) = table.one("fill") else {
        return stated;
    };
    if table.has("mesh") {
        let places = (table.place_of("fill"), table.place_of("mesh"));
        let hint = "delete `fill`: the mesh has the volume";
        load.conflict(Code::ConflictingGeometry, ("fill", places.0), ("mesh", places.1), hint);
        return stated;
    }
    if stated.is_some() {
        let places = (table.place_of("fill"), table.place_of("volume"));
        load.conflict(
            Code::ConflictingGeometry,
            ("fill", places.0),
            ("volume", places.1),
            "delete `fill`: the volume is known",
        );
        return stated;
    }
    table.missing(load, "box", "`fill` is a share of the box: state `box`");
    let slot = match one.lit {
        Lit::Text(text) if text.parse::<f64>().is_err() => Some(fill_word(load, table, one, text)),
        _ => table.number(load, "fill"),
    };
    slot.map(Volume::ShareOfBox)
}

/// A word for a share: assumed, because nobody measured it.
fn fill_word(load: &mut Load, table: &Table, one: One, text: &str) -> Slot {
    let Some((word, share)) = FILLS.into_iter().find(|(word, _)| *word == text.trim()) else {
        load.unknown_name(Code::UnknownWord, one.place, "fill", (text, &FILLS.map(|f| f.0)));
        let placeholder = table.default_of(load, "fill", Dim::Share, Exact::ONE);
        return load.add(placeholder);
    };
    let source = load.source(format!("assumed: fill {word}"), Some(one.place));
    load.add(Input {
        address: table.address_of("fill"),
        source,
        dim: Dim::Share,
        low: share,
        likely: share,
        high: share,
        varies: Varies::Once,
        assumed: true,
    })
}

fn own_count(
    load: &mut Load,
    table: &mut Table,
    iterations: &Iterations,
    again: Option<u32>,
) -> Option<Slot> {
    let slot = table.number(load, "iterations")?;
    let planned = load.slots.likely(iterations.planned);
    let stated = load.slots.likely(slot);
    if stated <= planned {
        return Some(slot);
    }
    if again.is_some() {
        let input = load.slots.get_mut(slot);
        input.likely = planned;
        input.low = input.low.min(planned);
        input.high = input.high.min(planned);
        return Some(slot);
    }
    let message = format!("a count of {stated} iterations is above the {planned} planned");
    let mut finding =
        Diagnostic::error(Code::ConflictingNumbers, table.place_of("iterations"), message);
    let source = load.slots.get(iterations.planned).source;
    if let Some(place) = load.place_of(source) {
        finding = finding.see(place, "planned here");
    }
    load.log.push(finding.hint("raise `planned`, or lower the part's own count"));
    Some(slot)
}
