//! Materials and supplies: rows of two sheets, and what short routes bring along.

use std::collections::BTreeMap;

use super::folder::Sheets;
use crate::diag::{Code, Place};
use crate::input::{Quantity, UnitKind, read_quantity};
use crate::model::resolve::keys::{CLASSES, NumberKind, dim_of};
use crate::model::resolve::limits;
use crate::model::resolve::reading::{
    Lit, Load, One, SheetKind, Table, keyed, one_row_each, over, properties, stated_currency,
    validity,
};
use crate::model::{
    CurrencyId, Dim, ItemClass, ItemId, Price, Properties, Slot, SourceId, Validity,
};

/// Owner of items that no sheet holds and that several routes or baths share: what `consumes` names is looked for in the sheets alone.
pub const SHARED: &str = "short routes";

/// Columns of materials.csv that a bench route may state itself, without the finished piece's properties.
pub const ITEM_COLUMNS: [&str; 7] =
    ["pack", "pack_price", "density", "stock", "keep", "lead", "delivery_cost"];

/// What a row, or a route in its place, states about an item.
#[derive(Clone, Default)]
pub struct ItemFields {
    /// Content of a pack.
    pub pack: Option<Slot>,
    /// Price of a pack, or per unit where `per` is set.
    pub price: Option<Slot>,
    /// The kind of unit a price without pack is per.
    pub per: Option<UnitKind>,
    /// Density.
    pub density: Option<Slot>,
    /// Start stock.
    pub stock: Option<Slot>,
    /// Share of value kept.
    pub keep: Option<Slot>,
    /// Lead.
    pub lead: Option<Slot>,
    /// Delivery per purchase.
    pub delivery_cost: Option<Slot>,
    /// Disposal per litre.
    pub waste: Option<Slot>,
    /// Currency of all of it.
    pub currency: Option<CurrencyId>,
    /// Days of validity.
    pub valid: Validity,
    /// What is stated about the finished piece.
    pub properties: Properties,
}

impl ItemFields {
    /// Reads them from a row or a route.
    pub fn read(load: &mut Load, table: &mut Table) -> ItemFields {
        let per = per_kind(table, "pack_price");
        let kind = per.map_or(NumberKind::Money, NumberKind::RateOf);
        ItemFields {
            pack: table.number(load, "pack"),
            price: table.number_as(load, "pack_price", kind),
            per,
            density: table.number(load, "density"),
            stock: table.number(load, "stock"),
            keep: table.number(load, "keep"),
            lead: table.number(load, "lead"),
            delivery_cost: table.number(load, "delivery_cost"),
            waste: None,
            currency: stated_currency(load, table),
            valid: validity(load, table),
            properties: properties(load, table),
        }
    }

    /// The numbers by column, in the order of [`ITEM_COLUMNS`].
    pub fn columns(&self) -> [Option<Slot>; 7] {
        [self.pack, self.price, self.density, self.stock, self.keep, self.lead, self.delivery_cost]
    }

    /// These with what a route states put in their place.
    pub fn with(&self, route: &ItemFields) -> ItemFields {
        ItemFields {
            pack: route.pack.or(self.pack),
            price: route.price.or(self.price),
            per: if route.price.is_some() { route.per } else { self.per },
            density: route.density.or(self.density),
            stock: route.stock.or(self.stock),
            keep: route.keep.or(self.keep),
            lead: route.lead.or(self.lead),
            delivery_cost: route.delivery_cost.or(self.delivery_cost),
            waste: self.waste,
            currency: route.currency.or(self.currency),
            // Dates on a route are those of the price it states.
            valid: if route.price.is_some() { route.valid } else { self.valid },
            properties: over(&self.properties, &route.properties),
        }
    }

    /// A money number in the row's currency.
    pub fn money(&self, slot: Option<Slot>) -> Option<Price> {
        slot.map(|value| Price { value, currency: self.currency.unwrap_or(CurrencyId(0)) })
    }
}

/// The unit a price is per, where it is written as a rate (`130 per L`).
pub fn per_kind(table: &mut Table, key: &str) -> Option<UnitKind> {
    let one = likely_of(table.one(key)?);
    let (Lit::Text(text) | Lit::Cell(text)) = one.lit else {
        return None;
    };
    match read_quantity(text) {
        Ok(Quantity::Per { of: None, per, .. }) => dim_of(per.kind).map(|_| per.kind),
        _ => None,
    }
}

fn likely_of(one: One) -> One {
    match one.lit {
        Lit::Table(entries) => {
            entries.iter().find(|e| e.key == "likely").map_or(one, |e| One::from(&e.node))
        }
        _ => one,
    }
}

/// A route that prints with an item.
pub struct User {
    /// Its name.
    pub route: String,
    /// Where its material is written.
    pub place: Place,
    /// What it states in place of the item's columns.
    pub fields: ItemFields,
}

/// An item as far as it is known.
pub struct ItemDraft {
    /// Its name.
    pub name: String,
    /// The short route it belongs to; empty for a row of a sheet.
    pub owner: String,
    /// Its kind.
    pub class: ItemClass,
    /// What its row states.
    pub fields: ItemFields,
    /// The sheet line or scenario key it comes from.
    pub source: SourceId,
    /// Where that is.
    pub place: Place,
    /// Where it comes from in words, for what has no price: `no price in supplies.csv`.
    pub unpriced: &'static str,
    /// Routes that print with it.
    pub users: Vec<User>,
    /// Routes that consume it, and how much.
    pub uses: Vec<(String, Slot)>,
    /// Baths in use that hold it.
    pub baths: Vec<String>,
}

/// All items, in the order in which they were met.
#[derive(Default)]
pub struct Items {
    /// The items.
    pub list: Vec<ItemDraft>,
}

impl Items {
    /// Reads materials.csv and supplies.csv.
    pub fn read(load: &mut Load, sheets: &Sheets) -> Items {
        let mut items = Items::default();
        items.read_sheet(
            load,
            sheets,
            SheetKind::Materials,
            ("material", "materials", "no price in materials.csv"),
        );
        items.read_sheet(
            load,
            sheets,
            SheetKind::Supplies,
            ("item", "supplies", "no price in supplies.csv"),
        );
        if items.list.len() > limits::ITEMS
            && let Some(draft) = items.list.get(limits::ITEMS)
        {
            let message = format!("more than {} materials and supplies", limits::ITEMS);
            load.error(Code::TooMany, &draft.place, message, "take out what is not used");
        }
        items.list.truncate(limits::ITEMS);
        items
    }

    fn read_sheet(
        &mut self,
        load: &mut Load,
        sheets: &Sheets,
        kind: SheetKind,
        words: (&str, &str, &'static str),
    ) {
        let Some(sheet) = sheets.get(kind) else {
            return;
        };
        let (column, room, unpriced) = words;
        let mut rows = keyed(load, sheet);
        one_row_each(load, &mut rows, column);
        let before: BTreeMap<String, Place> =
            self.list.iter().map(|d| (d.name.clone(), d.place.clone())).collect();
        for (key, row) in rows {
            let mut table = Table::row(sheet, row, format!("{room}[{}]", key[0]));
            let class = if kind == SheetKind::Materials {
                ItemClass::Resin
            } else {
                class(load, &mut table)
            };
            if let Some(first) = before.get(key[0]) {
                load.duplicate("materials or supplies", key[0], &row.place, first);
                continue;
            }
            let mut fields = ItemFields::read(load, &mut table);
            if kind == SheetKind::Supplies {
                fields.waste = table.number(load, "waste_charge_per_l");
            }
            let source = load.source_line(&row.place);
            self.list.push(ItemDraft {
                name: key[0].to_owned(),
                owner: String::new(),
                class,
                fields,
                source,
                place: row.place.clone(),
                unpriced,
                users: Vec::new(),
                uses: Vec::new(),
                baths: Vec::new(),
            });
        }
    }

    /// The item of a name in the sheets.
    pub fn find(&self, name: &str) -> Option<ItemId> {
        self.find_own(name, "")
    }

    /// The item of a name and an owner.
    pub fn find_own(&self, name: &str, owner: &str) -> Option<ItemId> {
        let index = self.list.iter().position(|d| d.owner == owner && d.name == name)?;
        Some(ItemId::at(index))
    }

    /// Names in the sheets, of materials only if so asked.
    pub fn names(&self, resins: bool) -> Vec<&str> {
        let wanted =
            |d: &&ItemDraft| d.owner.is_empty() && (!resins || d.class == ItemClass::Resin);
        self.list.iter().filter(wanted).map(|d| d.name.as_str()).collect()
    }

    /// Names in supplies.csv of one class.
    pub fn names_of(&self, class: ItemClass) -> Vec<&str> {
        let wanted = |d: &&ItemDraft| d.owner.is_empty() && d.class == class;
        self.list.iter().filter(wanted).map(|d| d.name.as_str()).collect()
    }

    /// Adds an item that no sheet holds.
    pub fn add(&mut self, draft: ItemDraft) -> ItemId {
        self.list.push(draft);
        ItemId::at(self.list.len() - 1)
    }

    /// The item of an id.
    pub fn get_mut(&mut self, id: ItemId) -> &mut ItemDraft {
        &mut self.list[id.index()]
    }
}

fn class(load: &mut Load, table: &mut Table) -> ItemClass {
    match table.one("kind") {
        Some(one) => one.choice(load, "kind of supply", &CLASSES).unwrap_or(ItemClass::Supply),
        None => {
            table.missing(load, "kind", "write solvent, dye or supply");
            ItemClass::Supply
        }
    }
}

/// What an item of a class counts in, given its pack, price and stock; `None` where nothing tells.
pub fn item_dim(load: &Load, class: ItemClass, fields: &ItemFields) -> Option<Dim> {
    if class != ItemClass::Supply {
        return Some(Dim::Volume);
    }
    let of = |slot: Option<Slot>| slot.map(|s| load.slots.get(s).dim);
    of(fields.pack).or_else(|| fields.per.and_then(dim_of)).or_else(|| of(fields.stock))
}

/// An item that belongs to one short route, or to all short routes where the owner is empty.
pub fn own_item(
    load: &mut Load,
    name: &str,
    class: ItemClass,
    route: &Table,
    owner: &str,
) -> ItemDraft {
    ItemDraft {
        name: name.to_owned(),
        owner: owner.to_owned(),
        class,
        fields: ItemFields::default(),
        source: load.source_line(route.place),
        place: route.place.clone(),
        unpriced: "",
        users: Vec::new(),
        uses: Vec::new(),
        baths: Vec::new(),
    }
}
