//! Which rows of a service's sheets an order route means.

use super::world::World;
use crate::diag::{Code, did_you_mean_or_list};
use crate::model::resolve::reading::{Load, One, SheetKind, Table};
use crate::model::resolve::sheets::Offer;

/// The offer the route's names select in the sheets.
pub fn offer(load: &mut Load, world: &World, table: &mut Table) -> Option<Offer> {
    let offers: Vec<&Offer> = world.services.offers.iter().collect();
    // Whatever is found about one of them, the others have a meaning too.
    for key in ["material", "finish", "speed"] {
        table.one(key);
    }
    let service = table.one("service")?;
    service.name(load)?;
    if offers.is_empty() {
        // A route that states price and lead itself needs no sheet.
        let alone = table.has("piece") && (table.has("lead") || table.has("arrives_after"));
        if !(alone && world.sheets.is_absent(SheetKind::Services)) {
            world.sheets.need(
                load,
                SheetKind::Services,
                service.place,
                "for the service of this route",
            );
            if let Some(name) =
                service.name(load).filter(|_| world.sheets.is_whole(SheetKind::Services))
            {
                load.unknown_name(Code::UnknownService, service.place, "service", (name, &[]));
            }
        }
        return None;
    }
    let mut left = offers;
    for (index, key) in ["service", "material", "finish", "speed"].into_iter().enumerate() {
        left = narrowed(load, (world, table), left, (index, key))?;
    }
    left.first().map(|o| (*o).clone())
}

/// The offers that have the route's value for one key, or the only value there is where the route states none.
fn narrowed<'a>(
    load: &mut Load,
    (world, table): (&World, &mut Table),
    left: Vec<&'a Offer>,
    (index, key): (usize, &str),
) -> Option<Vec<&'a Offer>> {
    let mut values: Vec<&str> = left.iter().map(|o| o[index].as_str()).collect();
    values.dedup();
    values.sort_unstable();
    values.dedup();
    let Some(one) = table.one(key) else {
        if values.len() == 1 {
            return Some(left);
        }
        let message = format!("`{key}` is missing and services.csv has several");
        load.error(Code::AmbiguousOffer, table.place, message, did_you_mean_or_list("", &values));
        return None;
    };
    let name = one.name(load)?;
    if !values.contains(&name) {
        let what = if key == "service" {
            "service in services.csv".to_owned()
        } else {
            format!("{key} of this service")
        };
        if world.sheets.is_whole(SheetKind::Services) {
            load.unknown_name(Code::UnknownService, one.place, &what, (name, &values));
        }
        return None;
    }
    Some(left.into_iter().filter(|o| o[index] == name).collect())
}

/// The delivery level: the route's, or the service's only one.
pub fn level(
    load: &mut Load,
    world: &World,
    table: &mut Table,
    levels: &[&str],
    after: bool,
) -> Option<String> {
    let Some(one): Option<One> = table.one("delivery") else {
        if levels.len() > 1 && !after {
            let message = "`delivery` is missing and the service has several levels";
            load.error(
                Code::AmbiguousOffer,
                table.place,
                message,
                did_you_mean_or_list("", levels),
            );
        }
        return levels.first().filter(|_| levels.len() == 1).map(|l| (*l).to_owned());
    };
    let name = one.name(load)?;
    let why = format!("for the delivery level `{name}`");
    // Levels of a service that does not exist are no finding of their own.
    let service = table.one("service").and_then(|one| one.name(load));
    let unknown = service.is_some_and(|s| !world.services.names().contains(&s));
    if unknown && !world.services.names().is_empty() {
        return Some(name.to_owned());
    }
    if !levels.contains(&name) && world.sheets.need(load, SheetKind::Delivery, one.place, &why) {
        let what = "delivery level of this service";
        load.unknown_name(Code::UnknownService, one.place, what, (name, levels));
    }
    Some(name.to_owned())
}
