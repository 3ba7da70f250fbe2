//! Equipment and print times: two sheets.

use std::collections::BTreeMap;

use super::folder::Sheets;
use crate::diag::{Code, Diagnostic, Place, nearest};
use crate::model::resolve::keys::CHARGES;
use crate::model::resolve::limits;
use crate::model::resolve::reading::{
    Load, SheetKind, Table, keyed, one_row_each, stated_currency, validity,
};
use crate::model::resolve::settings::dates_need_start;
use crate::model::{Charge, CurrencyId, Equipment, EquipmentId, Exact, Route, Slot, Validity};

/// All equipment, in the order in which it was met.
#[derive(Default)]
pub struct Machines {
    list: Vec<Equipment>,
    places: Vec<Place>,
    /// How many of them, from the first, are rows of the sheet.
    listed: usize,
}

impl Machines {
    /// Reads equipment.csv.
    pub fn read(load: &mut Load, sheets: &Sheets) -> Machines {
        let mut machines = Machines::default();
        let Some(sheet) = sheets.get(SheetKind::Equipment) else {
            return machines;
        };
        let mut rows = keyed(load, sheet);
        one_row_each(load, &mut rows, "equipment");
        if let Some((_, row)) = rows.get(limits::ITEMS) {
            let message = format!("more than {} machines", limits::ITEMS);
            let hint = "take out what is not used";
            load.error(Code::TooMany, &row.place, message, hint);
        }
        for (key, row) in rows.into_iter().take(limits::ITEMS) {
            let mut table = Table::row(sheet, row, format!("equipment[{}]", key[0]));
            let machine = machine(load, &mut table, key[0]);
            machines.list.push(machine);
            machines.places.push(row.place.clone());
        }
        machines.listed = machines.list.len();
        machines
    }

    /// The equipment of a name. What the sheet does not have is exclusive and without cost; a name that is nearly one of the sheet's is
    /// warned of.
    pub fn id(&mut self, load: &mut Load, name: &str, place: &Place) -> EquipmentId {
        if let Some(index) = self.list.iter().position(|e| e.name == name) {
            return EquipmentId::at(index);
        }
        if self.list.len() >= self.listed + limits::UNLISTED {
            let message =
                format!("more than {} machines without a row in equipment.csv", limits::UNLISTED);
            load.error(Code::TooMany, place, message, "use fewer names in `at`");
            return EquipmentId(0);
        }
        let in_sheet = self.list[..self.listed].iter().map(|e| e.name.as_str());
        if let Some(near) = nearest(name, in_sheet) {
            let message = format!("equipment.csv has no `{name}`: it is taken as free of cost");
            load.warn(Code::UnknownName, place, message, format!("did you mean `{near}`?"));
        }
        self.list.push(unlisted(name));
        self.places.push(place.clone());
        EquipmentId::at(self.list.len() - 1)
    }

    /// The machine of an id.
    pub fn get(&self, id: EquipmentId) -> &Equipment {
        &self.list[id.index()]
    }

    /// The equipment by name; the ids in `routes` are changed with it. What is used and has no price is listed.
    pub fn finish(self, load: &mut Load, routes: &mut [Route]) -> Vec<Equipment> {
        let mut order: Vec<usize> = (0..self.list.len()).collect();
        order.sort_by(|&a, &b| self.list[a].name.cmp(&self.list[b].name));
        let mut ids = vec![EquipmentId(0); order.len()];
        for (new, &old) in order.iter().enumerate() {
            ids[old] = EquipmentId::at(new);
        }
        for step in routes.iter_mut().flat_map(|r| r.steps.iter_mut()) {
            step.at = step.at.map(|id| ids[id.index()]);
        }
        let list: Vec<Equipment> = order.iter().map(|&old| self.list[old].clone()).collect();
        let mut used = vec![false; list.len()];
        for at in routes.iter().flat_map(|r| &r.steps).filter_map(|s| s.at) {
            used[at.index()] = true;
        }
        for (machine, _) in list.iter().zip(used).filter(|(_, used)| *used) {
            not_counted(load, machine);
        }
        list
    }
}

fn unlisted(name: &str) -> Equipment {
    Equipment {
        name: name.to_owned(),
        price: None,
        resale: None,
        life_hours: None,
        charge: Charge::None,
        watts: None,
        plate: None,
        height: None,
        down: Vec::new(),
        lead: None,
        delivery_cost: None,
        source: None,
        valid: Validity::default(),
    }
}

fn machine(load: &mut Load, table: &mut Table, name: &str) -> Equipment {
    let currency = stated_currency(load, table).unwrap_or(CurrencyId(0));
    let valid = validity(load, table);
    let down = table.one("down").map_or_else(Vec::new, |one| {
        let days = one.days(load);
        dates_need_start(load, "`down` dates mean nothing", one.place);
        days
    });
    let machine = Equipment {
        name: name.to_owned(),
        price: table.price(load, "price", currency),
        resale: table.price(load, "resale", currency),
        life_hours: table.number(load, "life_hours"),
        charge: table
            .one("charge")
            .and_then(|one| one.choice(load, "charge", &CHARGES))
            .unwrap_or(Charge::None),
        watts: table.number(load, "watts"),
        plate: table.lengths::<2>(load, "plate"),
        height: table.number(load, "height"),
        down,
        lead: table.number(load, "lead"),
        delivery_cost: table.price(load, "delivery_cost", currency),
        source: Some(load.source_line(table.place)),
        valid,
    };
    let (price, resale) = (
        machine.price.map(|p| load.slots.likely(p.value)),
        machine.resale.map(|p| load.slots.likely(p.value)),
    );
    if price.zip(resale).is_some_and(|(price, resale)| resale > price)
        && !machine.price.is_some_and(|p| load.faulty.contains(&p.value))
    {
        let message = format!("`{name}` sells for more than it costs");
        load.error(
            Code::ConflictingNumbers,
            table.place_of("resale"),
            message,
            "`resale` is at most `price`",
        );
    }
    machine
}

fn not_counted(load: &mut Load, machine: &Equipment) {
    let name = &machine.name;
    if machine.source.is_none() {
        load.not_counted(format!("`{name}` (not in equipment.csv)"));
    }
    match machine.charge {
        Charge::Buy if machine.price.is_none() => {
            load.not_counted(format!("buying `{name}` (no price in equipment.csv)"));
        }
        Charge::Wear if machine.price.is_none() || machine.life_hours.is_none() => {
            load.not_counted(format!("wear of `{name}` (no price or life_hours in equipment.csv)"));
        }
        Charge::Buy | Charge::Wear | Charge::None => {}
    }
}

/// Coefficients of one printer, material and layer height.
pub struct Coefficients {
    /// The printer.
    pub printer: String,
    /// The material.
    pub material: String,
    /// The layer height in mm.
    pub layer: Exact,
    /// Time before the first layer.
    pub start_up: Option<Slot>,
    /// Time per layer.
    pub per_layer: Option<Slot>,
    /// Time per mL of solid volume.
    pub per_volume: Option<Slot>,
}

/// Reads print_time.csv.
pub fn print_times(load: &mut Load, sheets: &Sheets) -> Vec<Coefficients> {
    let Some(sheet) = sheets.get(SheetKind::PrintTime) else {
        return Vec::new();
    };
    let mut list: Vec<Coefficients> = Vec::new();
    let mut first: BTreeMap<(String, String, Exact), Place> = BTreeMap::new();
    for (key, row) in keyed(load, sheet) {
        let mut table = Table::row(sheet, row, format!("print_time[{}]", key.join("|")));
        stated_currency(load, &mut table);
        validity(load, &mut table);
        let coefficients = coefficients(load, &mut table, &key);
        let same =
            (coefficients.printer.clone(), coefficients.material.clone(), coefficients.layer);
        if let Some(place) = first.get(&same) {
            let message = format!("two rows for `{}`", key.join(", "));
            let finding = Diagnostic::error(Code::DuplicateRow, &row.place, message);
            let hint = "keep one of them; 0.1 mm and 100 um are the same layer";
            load.log.push(finding.see(place, "the other").hint(hint));
        } else {
            first.insert(same, row.place.clone());
            list.push(coefficients);
        }
    }
    list
}

fn coefficients(load: &mut Load, table: &mut Table, key: &[&str]) -> Coefficients {
    let layer = table.number(load, "layer").map(|slot| load.slots.likely(slot));
    for column in ["material", "layer", "start_up", "per_layer", "per_volume"] {
        table.missing(
            load,
            column,
            "fill it in; a printer that cures whole layers has `per_volume` `0 s`",
        );
    }
    Coefficients {
        printer: key[0].to_owned(),
        material: key[1].to_owned(),
        layer: layer.unwrap_or(Exact::ZERO),
        start_up: table.number(load, "start_up"),
        per_layer: table.number(load, "per_layer"),
        per_volume: table.number(load, "per_volume"),
    }
}
