//! Printing: the resin, its supports, and how long a print takes.

use super::world::World;
use crate::diag::Code;
use crate::input::UnitKind;
use crate::model::resolve::baths::up;
use crate::model::resolve::keys::NumberKind;
use crate::model::resolve::reading::{Load, One, SheetKind, Table, over};
use crate::model::resolve::sheets::{
    Coefficients, ItemFields, User, class_word, own_item, per_kind,
};
use crate::model::{
    Consume, Dim, Exact, ItemClass, ItemId, PER_BUILD_LOSS, Per, Print, PrintTime, Properties,
    Route, SUPPORT_AREA, SUPPORTS, Slot,
};

/// Reads what the print step needs; what the material states goes into `route`.
pub fn print(
    load: &mut Load,
    world: &mut World,
    table: &mut Table,
    route: &mut Route,
) -> Option<Print> {
    let (resin, properties, name) = resin(load, world, table, &route.name);
    route.material = properties;
    let layer = table.number(load, "layer");
    let supports = table.number_or_assumed(load, &SUPPORTS);
    let loss = table.number_or_assumed(load, &PER_BUILD_LOSS);
    let stand_off = table.number(load, "stand_off");
    let up = up(load, table);
    let gap = table.number(load, "gap");
    let washes = route.steps.iter().filter_map(|s| s.bath).any(|(id, _)| !world.baths.dips(id));
    let support_area = support_area(load, table, supports, washes);
    let time = print_time(load, world, table, (&name, layer))?;
    Some(Print { resin, supports, loss, stand_off, layer, up, gap, support_area, time })
}

/// The film on supports: assumed only where there are supports and a wash that the film comes into.
fn support_area(load: &mut Load, table: &mut Table, supports: Slot, washes: bool) -> Slot {
    if washes && !load.slots.get(supports).high.is_zero() {
        return table.number_or_assumed(load, &SUPPORT_AREA);
    }
    let none = table.default_of(load, SUPPORT_AREA.key, Dim::Share, Exact::ZERO);
    table.number_or(load, SUPPORT_AREA.key, none)
}

/// The resin: a material of the sheet, or one of the route's own. Also what it states about the piece, and its name.
fn resin(
    load: &mut Load,
    world: &mut World,
    table: &mut Table,
    route: &str,
) -> (Option<ItemId>, Properties, String) {
    if table.has("resin") && table.has("material") {
        let places = (table.place_of("resin"), table.place_of("material"));
        load.conflict(
            Code::ConflictingKeys,
            ("resin", places.0),
            ("material", places.1),
            "delete `resin` to use the sheet's price, or `material` to use this one",
        );
    }
    let priced = table.has("resin");
    if priced && table.has("pack_price") {
        let places = (table.place_of("resin"), table.place_of("pack_price"));
        load.conflict(
            Code::ConflictingKeys,
            ("resin", places.0),
            ("pack_price", places.1),
            "keep one price",
        );
    }
    let mut fields = ItemFields::read(load, table);
    let material = table.one("material");
    if priced {
        let kind = per_kind(table, "resin").unwrap_or(UnitKind::Volume);
        fields.price = table.number_as(load, "resin", NumberKind::RateOf(kind));
        fields.per = Some(kind);
    } else if let Some(one) = material {
        return sheet_material(load, world, one, route, fields);
    } else if table.has("steps") && !table.has("pack_price") {
        table.missing(
            load,
            "material",
            "name a material of materials.csv, or state `resin = \"130 per L\"`",
        );
    }
    let mut draft = own_item(load, "resin", ItemClass::Resin, table, route);
    draft.fields = fields.clone();
    draft.users.push(User {
        route: route.to_owned(),
        place: table.place.clone(),
        fields: ItemFields::default(),
    });
    (Some(world.items.add(draft)), fields.properties, "resin".to_owned())
}

fn sheet_material(
    load: &mut Load,
    world: &mut World,
    one: One,
    route: &str,
    fields: ItemFields,
) -> (Option<ItemId>, Properties, String) {
    let nothing = (None, Properties::default(), String::new());
    let Some(name) = one.name(load) else {
        return nothing;
    };
    let found =
        world.items.find(name).filter(|id| world.items.get_mut(*id).class == ItemClass::Resin);
    let Some(id) = found else {
        if world.sheets.need(
            load,
            SheetKind::Materials,
            one.place,
            &format!("for the material `{name}`"),
        ) {
            load.unknown_name(
                Code::UnknownItem,
                one.place,
                class_word(ItemClass::Resin),
                (name, &world.items.names(true)),
            );
        }
        return nothing;
    };
    let draft = world.items.get_mut(id);
    let properties = over(&draft.fields.properties, &fields.properties);
    draft.users.push(User { route: route.to_owned(), place: one.place.clone(), fields });
    (Some(id), properties, name.to_owned())
}

/// Print time: stated, or from the coefficients of printer, material and layer.
fn print_time(
    load: &mut Load,
    world: &World,
    table: &mut Table,
    (material, layer): (&str, Option<Slot>),
) -> Option<PrintTime> {
    if let Some(slot) = table.number(load, "print_time") {
        return Some(PrintTime::Stated(slot));
    }
    if !table.has("printer") {
        let hint = "state how long one print takes, such as `print_time = \"7 h\"`, or name `printer`, `material` and `layer`";
        table.lacks(load, Code::NoPrintTime, "print_time", hint);
        return None;
    }
    let own = [
        table.number(load, "start_up"),
        table.number(load, "per_layer"),
        table.number(load, "per_volume"),
    ];
    if material.is_empty() {
        return None;
    }
    if layer.is_none() {
        let hint = "state the layer height, or the `print_time`";
        table.lacks(load, Code::NoPrintTime, "layer", hint);
        return None;
    }
    let [start_up, per_layer, per_volume] = if own.iter().all(Option::is_some) {
        own
    } else {
        let row = coefficients(load, world, table, (material, layer?))?;
        [own[0].or(row.start_up), own[1].or(row.per_layer), own[2].or(row.per_volume)]
    };
    Some(PrintTime::Layers { start_up: start_up?, per_layer: per_layer?, per_volume: per_volume? })
}

fn coefficients<'w>(
    load: &mut Load,
    world: &'w World,
    table: &mut Table,
    (material, layer): (&str, Slot),
) -> Option<&'w Coefficients> {
    let printer = table.one("printer")?.name(load)?;
    if load.faulty.contains(&layer) {
        return None;
    }
    let wanted = load.slots.likely(layer);
    let place = table.place_of("printer");
    let of_pair: Vec<&Coefficients> = world
        .print_times
        .iter()
        .filter(|c| c.printer == printer && c.material == material)
        .collect();
    if let Some(found) = of_pair.iter().find(|c| c.layer == wanted) {
        return Some(found);
    }
    if !world.sheets.need(load, SheetKind::PrintTime, place, "where `print_time` is not stated") {
        return None;
    }
    let layers: Vec<String> = of_pair.iter().map(|c| format!("{} mm", c.layer)).collect();
    let message =
        format!("print_time.csv has no row for `{printer}`, `{material}` and layer {wanted} mm");
    let hint = if layers.is_empty() {
        "add one, or state `print_time`".to_owned()
    } else {
        format!("it has {}; add a row, or state `print_time`", layers.join(", "))
    };
    let place = if layers.is_empty() { place } else { table.place_of("layer") };
    load.error(Code::NoPrintTime, place, message, hint);
    None
}

/// True if the printed height matters: layers are counted.
pub fn counts_layers(print: &Print, consumes: &[Consume]) -> bool {
    matches!(print.time, PrintTime::Layers { .. }) || consumes.iter().any(|c| c.per == Per::Layer)
}
