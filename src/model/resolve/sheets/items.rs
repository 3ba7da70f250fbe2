//! Items as meant: what routes state is put over the sheets, units are held against each other, and ids follow the names.

use super::stock::{ITEM_COLUMNS, ItemDraft, ItemFields, Items, User, item_dim};
use crate::diag::{Code, Diagnostic, Place};
use crate::model::resolve::keys::dim_of;
use crate::model::resolve::reading::Load;
use crate::model::{
    Bath, BathKind, Consume, Dim, Exact, Item, ItemClass, ItemId, ItemPrice, Price, Route,
    RouteKind, Slot,
};

impl Items {
    /// The items by name; the ids in `routes` and `baths` are changed with them.
    pub fn finish(self, load: &mut Load, routes: &mut [Route], baths: &mut [Bath]) -> Vec<Item> {
        let mut order: Vec<usize> = (0..self.list.len()).collect();
        order.sort_by(|&a, &b| {
            let key = |i: usize| (self.list[i].name.as_str(), self.list[i].owner.as_str());
            key(a).cmp(&key(b))
        });
        let mut ids = vec![ItemId(0); order.len()];
        for (new, &old) in order.iter().enumerate() {
            ids[old] = ItemId::at(new);
        }
        let items = order.iter().map(|&old| item(load, &self.list[old])).collect();
        for route in routes {
            renumber(route, &ids);
        }
        for bath in baths {
            bath.solvent = ids[bath.solvent.index()];
            if let BathKind::Dye(dye) = &mut bath.kind {
                dye.dye = ids[dye.dye.index()];
            }
        }
        items
    }
}

fn renumber(route: &mut Route, ids: &[ItemId]) {
    let change = |consume: &mut Consume| consume.item = ids[consume.item.index()];
    route.consumes.iter_mut().for_each(change);
    route.steps.iter_mut().flat_map(|s| s.consumes.iter_mut()).for_each(change);
    if let RouteKind::Bench(bench) = &mut route.kind
        && let Some(print) = &mut bench.print
    {
        print.resin = print.resin.map(|id| ids[id.index()]);
    }
}

fn item(load: &mut Load, draft: &ItemDraft) -> Item {
    let fields = &with_routes(load, draft);
    let amounts: Vec<Slot> = draft.uses.iter().map(|u| u.1).collect();
    let by_use = amounts.first().map(|&s| load.slots.get(s).dim);
    let dim = item_dim(load, draft.class, fields).or(by_use).unwrap_or(Dim::Pieces);
    // What a pack that cannot be read counts in is not known.
    if !fields.pack.is_some_and(|pack| load.faulty.contains(&pack)) {
        check_dims(load, draft, fields, dim, &amounts);
    }
    let price = price(load, draft, fields, dim);
    not_counted(load, draft, fields, price);
    disposal(load, draft, fields);
    without_effect(load, draft, fields, price);
    let by_use_delivered = matches!(price, ItemPrice::PerUnit(_)) && fields.delivery_cost.is_some();
    if by_use_delivered {
        let name = &draft.name;
        load.not_counted(format!("delivery of `{name}` (it is paid by use: no pack is delivered)"));
    }
    Item {
        name: draft.name.clone(),
        class: draft.class,
        dim,
        price,
        density: fields.density,
        stock: fields.stock,
        keep: fields.keep,
        lead: fields.lead,
        delivery_cost: fields.money(fields.delivery_cost),
        waste_charge_per_l: fields.money(fields.waste),
        source: draft.source,
        valid: fields.valid,
    }
}

/// The row's fields with those of the routes that print with it; routes that share an item must agree.
fn with_routes(load: &mut Load, draft: &ItemDraft) -> ItemFields {
    let Some(first) = draft.users.first() else {
        return draft.fields.clone();
    };
    for user in &draft.users[1..] {
        let (a, b) = (&first.fields, &user.fields);
        let texts = [
            ("currency", a.currency == b.currency),
            ("valid_from", a.valid.from == b.valid.from),
            ("valid_to", a.valid.to == b.valid.to),
        ];
        for (column, _) in texts.into_iter().filter(|(_, agree)| !agree) {
            differ(load, draft, (first, user), (column, &user.place));
        }
        for (index, column) in ITEM_COLUMNS.iter().enumerate() {
            let pair = (first.fields.columns()[index], user.fields.columns()[index]);
            let agree = match pair {
                (None, None) => true,
                (Some(a), Some(b)) => load.spread(a) == load.spread(b),
                _ => false,
            };
            if !agree {
                let place = column_place(load, pair, &user.place);
                differ(load, draft, (first, user), (column, &place));
            }
        }
    }
    draft.fields.with(&first.fields)
}

fn differ(
    load: &mut Load,
    draft: &ItemDraft,
    (first, user): (&User, &User),
    (column, place): (&str, &Place),
) {
    let message = format!(
        "routes `{}` and `{}` share the material `{}` and differ in `{column}`",
        first.route, user.route, draft.name
    );
    let finding =
        Diagnostic::error(Code::MustAgree, place, message).see(&first.place, "the other route");
    let hint = format!("state the same `{column}` on both routes, or put it into materials.csv");
    load.log.push(finding.hint(hint));
}

fn column_place(load: &Load, pair: (Option<Slot>, Option<Slot>), otherwise: &Place) -> Place {
    let slot = pair.1.or(pair.0);
    let source = slot.map(|s| load.slots.get(s).source);
    source.and_then(|id| load.place_of(id)).unwrap_or(otherwise).clone()
}

/// Logs packs, stocks and amounts that are of another kind than the item, where no density converts them.
fn check_dims(load: &mut Load, draft: &ItemDraft, fields: &ItemFields, dim: Dim, amounts: &[Slot]) {
    for slot in [fields.pack, fields.stock].into_iter().flatten().chain(amounts.iter().copied()) {
        if load.faulty.contains(&slot) {
            continue;
        }
        let found = load.slots.get(slot).dim;
        let convertible =
            matches!((found, dim), (Dim::Mass, Dim::Volume) | (Dim::Volume, Dim::Mass));
        if found == dim || (convertible && fields.density.is_some()) {
            continue;
        }
        let source = load.slots.get(slot).source;
        let place = load.place_of(source).unwrap_or(&draft.place).clone();
        if convertible {
            let message = format!(
                "`{}` counts in {}, found {}: its density is needed",
                draft.name,
                word(dim),
                word(found)
            );
            load.error(
                Code::MissingDensity,
                &place,
                message,
                "fill in its `density`, such as `1.09 g/mL`",
            );
        } else {
            let message =
                format!("`{}` counts in {}, found {}", draft.name, word(dim), word(found));
            load.error(
                Code::MixedUnits,
                &place,
                message,
                "give its pack, stock and amounts one kind of unit",
            );
        }
    }
}

fn word(dim: Dim) -> &'static str {
    match dim {
        Dim::Volume => "volume",
        Dim::Mass => "mass",
        Dim::Area => "area",
        Dim::Length => "length",
        _ => "pieces",
    }
}

fn price(load: &mut Load, draft: &ItemDraft, fields: &ItemFields, dim: Dim) -> ItemPrice {
    let Some(price) = fields.money(fields.price) else {
        return ItemPrice::Unknown;
    };
    let place = load.place_of(load.slots.get(price.value).source).unwrap_or(&draft.place).clone();
    match (fields.per, fields.pack) {
        (None, Some(pack)) => ItemPrice::Pack { pack, price },
        (None, None) => {
            let message = format!("the price of `{}` says neither its pack nor a unit", draft.name);
            let hint = "fill in `pack`, or write the price as a rate such as `130 per L`";
            load.error(Code::UnclearPrice, &place, message, hint);
            ItemPrice::Unknown
        }
        (Some(_), Some(_)) => {
            let message = format!("the price of `{}` is a rate, which has no pack", draft.name);
            load.error(
                Code::UnclearPrice,
                &place,
                message,
                "empty `pack`, or write the price of one pack",
            );
            ItemPrice::Unknown
        }
        (Some(kind), None) => {
            let dims = (dim_of(kind).unwrap_or(dim), dim);
            per_unit(load, (draft, fields), dims, price, &place)
        }
    }
}

fn per_unit(
    load: &mut Load,
    (draft, fields): (&ItemDraft, &ItemFields),
    (found, dim): (Dim, Dim),
    price: Price,
    place: &Place,
) -> ItemPrice {
    let factor = match (found, dim, fields.density.map(|d| load.slots.likely(d))) {
        _ if found == dim => return ItemPrice::PerUnit(price),
        // Money per g times g per mL is money per mL.
        (Dim::Mass, Dim::Volume, Some(density)) => density,
        (Dim::Volume, Dim::Mass, Some(density)) if !density.is_zero() => Exact::ONE / density,
        (Dim::Mass | Dim::Volume, Dim::Mass | Dim::Volume, _) => {
            let message = format!(
                "`{}` counts in {}, priced per {}: its density is needed",
                draft.name,
                word(dim),
                word(found)
            );
            load.error(
                Code::MissingDensity,
                place,
                message,
                "fill in its `density`, such as `1.09 g/mL`",
            );
            return ItemPrice::Unknown;
        }
        _ => {
            let message =
                format!("`{}` counts in {}, priced per {}", draft.name, word(dim), word(found));
            load.error(Code::MixedUnits, place, message, "price it in the unit it is used in");
            return ItemPrice::Unknown;
        }
    };
    let input = load.slots.get_mut(price.value);
    (input.low, input.likely, input.high) =
        (input.low * factor, input.likely * factor, input.high * factor);
    ItemPrice::PerUnit(price)
}

/// Lists what is used and has no price.
fn not_counted(load: &mut Load, draft: &ItemDraft, fields: &ItemFields, price: ItemPrice) {
    let mut routes: Vec<&str> = draft.users.iter().map(|u| u.route.as_str()).collect();
    let some = |load: &Load, slot: Slot| !load.slots.get(slot).high.is_zero();
    routes.extend(draft.baths.iter().map(String::as_str));
    routes.extend(draft.uses.iter().filter(|u| some(load, u.1)).map(|u| u.0.as_str()));
    if fields.price.is_some() || !matches!(price, ItemPrice::Unknown) {
        return;
    }
    for route in routes {
        let text = if draft.unpriced.is_empty() {
            format!("{} of `{route}` (no price stated)", draft.name)
        } else {
            format!("`{}` ({})", draft.name, draft.unpriced)
        };
        load.not_counted(text);
    }
}

/// Disposal is charged where a bath is emptied: for what only steps and routes use up, it is not, and that is told.
fn disposal(load: &mut Load, draft: &ItemDraft, fields: &ItemFields) {
    let charged = fields.waste.is_some_and(|s| !load.slots.get(s).high.is_zero());
    let used = !(draft.users.is_empty() && draft.uses.is_empty());
    if charged && used && draft.baths.is_empty() {
        let name = &draft.name;
        load.not_counted(format!("disposal of `{name}` (it is charged where a bath is emptied)"));
    }
}

/// Warns of a stock and its value where the price has no pack: what is used is paid, stock or not.
fn without_effect(load: &mut Load, draft: &ItemDraft, fields: &ItemFields, price: ItemPrice) {
    if !matches!(price, ItemPrice::PerUnit(_)) {
        return;
    }
    for (column, slot) in [("stock", fields.stock), ("keep", fields.keep)] {
        let Some(slot) = slot.filter(|&s| !load.slots.get(s).high.is_zero()) else {
            continue;
        };
        let source = load.slots.get(slot).source;
        let place = load.place_of(source).unwrap_or(&draft.place).clone();
        let message =
            format!("`{column}` of `{}` has no effect: its price is per unit", draft.name);
        let hint = format!("give it a `pack`, or take `{column}` out: what is used is paid");
        load.warn(Code::KeyUnused, &place, message, hint);
    }
}

/// What an item that no sheet holds is called by its class, for messages.
pub fn class_word(class: ItemClass) -> &'static str {
    match class {
        ItemClass::Resin => "material",
        ItemClass::Solvent | ItemClass::Dye | ItemClass::Supply => "item",
    }
}
