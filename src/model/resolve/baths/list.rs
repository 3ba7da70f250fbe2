//! Baths: what both kinds have in common, wash baths, and the steps that use them.

use super::tubs::dye;
use crate::diag::{Code, did_you_mean_or_list};
use crate::model::resolve::keys::{BATH, BATH_WORDS, BathWord, UPS};
use crate::model::resolve::reading::{Load, Named, One, SheetKind, Table};
use crate::model::resolve::sheets::{Items, SHARED, Sheets, own_item};
use crate::model::{
    Bath, BathId, BathKind, CARRY_OVER, EVAPORATES, ItemClass, ItemId, PLATFORM_CARRY, RESIN_FILM,
    RETIRE_SHARE, REUSE_LIMIT, Route, SOLVENT_FILM, Up, Wash,
};

/// All baths by name.
#[derive(Default)]
pub struct Baths {
    /// The baths, by id.
    pub list: Vec<Bath>,
    /// Names of baths that are faulty: a step that uses one is no finding of its own.
    faulty: Vec<String>,
}

/// Where the names of solvents and dyes are looked up.
pub type Supplies<'s> = (&'s Sheets, &'s mut Items);

impl Baths {
    /// Reads the baths.
    pub fn read(load: &mut Load, (sheets, items): Supplies, tables: Vec<Named>) -> Baths {
        let mut baths = Baths::default();
        for mut named in tables {
            match read(load, (sheets, &mut *items), &mut named) {
                Some(bath) => baths.list.push(bath),
                None => baths.faulty.push(named.name.to_owned()),
            }
        }
        baths
    }

    /// The bath a step names; an unknown one is logged.
    fn id(&self, load: &mut Load, one: One) -> Option<BathId> {
        let name = one.name(load)?;
        if let Some(index) = self.list.iter().position(|b| b.name == name) {
            return Some(BathId::at(index));
        }
        if !self.faulty.iter().any(|faulty| faulty == name) {
            let mut known: Vec<&str> = self.list.iter().map(|b| b.name.as_str()).collect();
            known.extend(self.faulty.iter().map(String::as_str));
            load.unknown_name(Code::UnknownName, one.place, "bath", (name, &known));
        }
        None
    }

    /// True for a dye bath.
    pub fn dips(&self, id: BathId) -> bool {
        matches!(self.list[id.index()].kind, BathKind::Dye(_))
    }

    /// Notes which items the baths in use hold, and what disposing of them does not cost because nobody said.
    pub fn note_used(&self, load: &mut Load, items: &mut Items, routes: &[Route]) {
        let used = |id: BathId| {
            let mut steps = routes.iter().flat_map(|r| &r.steps);
            steps.any(|s| s.bath.is_some_and(|(bath, _)| bath == id))
        };
        for (index, bath) in self.list.iter().enumerate() {
            if !used(BathId::at(index)) {
                continue;
            }
            let solvent = items.get_mut(bath.solvent);
            solvent.baths.push(bath.name.clone());
            if solvent.fields.waste.is_none() {
                let why = if solvent.owner.is_empty() {
                    format!("no waste_charge_per_l of `{}` in supplies.csv", solvent.name)
                } else {
                    "no price stated".to_owned()
                };
                load.not_counted(format!("disposal of what `{}` held ({why})", bath.name));
            }
            if let BathKind::Dye(dye) = &bath.kind {
                items.get_mut(dye.dye).baths.push(bath.name.clone());
            }
        }
    }
}

fn read(load: &mut Load, (sheets, items): Supplies, named: &mut Named) -> Option<Bath> {
    let table = &mut named.table;
    let way = way(load, table)?;
    let source = load.source_line(table.place);
    keys_of_the_other(load, table, way, named.name);
    let solvent = liquid(load, (sheets, &mut *items), table, ("solvent", ItemClass::Solvent));
    let solvent_film = table.number_or_assumed(load, &SOLVENT_FILM);
    let evaporates = table.number_or_assumed(load, &EVAPORATES);
    let (reuse_limit, kind) = match way {
        BathWord::Wash => {
            let limit = table.number_or_assumed(load, &REUSE_LIMIT);
            (Some(limit), wash(load, table).map(BathKind::Wash))
        }
        BathWord::Dye => {
            let limit = table.number(load, REUSE_LIMIT.key);
            let dye = dye(load, (sheets, items), table);
            (limit, dye.map(|dye| BathKind::Dye(Box::new(dye))))
        }
    };
    Some(Bath {
        name: named.name.to_owned(),
        source,
        solvent: solvent?,
        solvent_film,
        evaporates,
        reuse_limit,
        kind: kind?,
    })
}

fn way(load: &mut Load, table: &mut Table) -> Option<BathWord> {
    let Some(one) = table.one("kind") else {
        let hint = "write `kind = \"wash\"` or `kind = \"dye\"`";
        table.lacks(load, Code::IncompleteBath, "kind", hint);
        return None;
    };
    one.choice(load, "kind of bath", &BATH_WORDS)
}

/// Logs keys that only the other kind of bath has.
fn keys_of_the_other(load: &mut Load, table: &Table, way: BathWord, name: &str) {
    let (is, of) = match way {
        BathWord::Wash => ("wash", "dye"),
        BathWord::Dye => ("dye", "wash"),
    };
    let keys = BATH.iter().filter(|key| key.only == Some(of)).map(|key| key.name);
    for key in keys.filter(|key| table.has(key)) {
        let message = format!("`{key}` is a key of a {of} bath, and `{name}` is a {is} bath");
        let hint = format!("delete it, or write `kind = \"{of}\"`");
        load.error(Code::KeyUnused, table.place_of(key), message, hint);
    }
}

fn wash(load: &mut Load, table: &mut Table) -> Option<Wash> {
    let fill = table.number(load, "fill");
    let hint = "say how much it is filled with, such as `fill = \"1.2 L\"`";
    table.lacks(load, Code::IncompleteBath, "fill", hint);
    let retire_share = table.number_or_assumed(load, &RETIRE_SHARE);
    let resin_film = table.number_or_assumed(load, &RESIN_FILM);
    let platform_carry = table.number_or_assumed(load, &PLATFORM_CARRY);
    let carry_over = table.number_or_assumed(load, &CARRY_OVER);
    let resin_now = table.number(load, "resin_now");
    let uses_now = table.number(load, "uses_now");
    Some(Wash {
        fill: fill?,
        retire_share,
        resin_film,
        platform_carry,
        carry_over,
        resin_now,
        uses_now,
    })
}

/// The solvent or dye of a bath: a supply of that kind. Where there are no price sheets at all it is an item without a price.
pub fn liquid(
    load: &mut Load,
    (sheets, items): Supplies,
    table: &mut Table,
    (key, class): (&str, ItemClass),
) -> Option<ItemId> {
    let hint = format!("name the {key}: a supply of kind {key} in supplies.csv");
    table.lacks(load, Code::IncompleteBath, key, &hint);
    let one = table.one(key)?;
    let name = one.name(load)?;
    if let Some(id) = items.find(name).or_else(|| items.find_own(name, SHARED)) {
        return of_class(load, items, (id, one), (key, class));
    }
    if sheets.has_folder() {
        let why = format!("for the {key} `{name}`");
        if sheets.need(load, SheetKind::Supplies, one.place, &why) {
            load.unknown_name(Code::UnknownItem, one.place, key, (name, &items.names_of(class)));
        }
        return None;
    }
    let draft = own_item(load, name, class, table, SHARED);
    Some(items.add(draft))
}

fn of_class(
    load: &mut Load,
    items: &Items,
    (id, one): (ItemId, One),
    (key, class): (&str, ItemClass),
) -> Option<ItemId> {
    let draft = &items.list[id.index()];
    if draft.class == class {
        return Some(id);
    }
    let found = match draft.class {
        ItemClass::Resin => "a printing material",
        ItemClass::Solvent => "a solvent",
        ItemClass::Dye => "a dye",
        ItemClass::Supply => "a supply of another kind",
    };
    let message = format!("`{}` is {found}, expected a {key}", draft.name);
    let known = items.names_of(class);
    let hint = if known.is_empty() {
        format!("give the {key} a name of its own")
    } else {
        did_you_mean_or_list(&draft.name, &known)
    };
    load.error(Code::WrongItem, one.place, message, hint);
    None
}

/// Which axis points up on a route; z where nothing is stated.
pub fn up(load: &mut Load, route: &mut Table) -> Up {
    route.one("up").and_then(|one| axis(load, "`up`", one)).unwrap_or(Up::Z)
}

fn axis(load: &mut Load, what: &str, one: One) -> Option<Up> {
    one.choice(load, what, &UPS)
}

/// The bath of a step, and which axis points up in it: the step's `pose`, else the route's `up`.
pub fn bath(
    load: &mut Load,
    baths: &Baths,
    step: &mut Table,
    route: &mut Table,
) -> Option<(BathId, Up)> {
    let named = step.one("bath");
    let id = named.and_then(|one| baths.id(load, one));
    let dips = id.map(|id| baths.dips(id));
    let pose = step.one("pose");
    if let Some(pose) = pose.filter(|_| named.is_none() || dips == Some(false)) {
        let message = if named.is_none() {
            "`pose` has no meaning here: the step names no dye bath"
        } else {
            "`pose` has no meaning here: its bath is a wash bath, which asks for none"
        };
        let hint = "delete it; which way up a part is printed is the route's `up`";
        load.error(Code::KeyUnused, pose.place, message, hint);
    }
    let pose = pose.and_then(|one| axis(load, "`pose`", one));
    let up = match dips {
        Some(true) if !step.has("pose") => up(load, route),
        _ => pose.unwrap_or(Up::Z),
    };
    id.map(|id| (id, up))
}
