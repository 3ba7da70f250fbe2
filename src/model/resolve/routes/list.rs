//! Routes: `[[route]]`, and what bench and order routes have in common.

use super::bench::bench;
use super::orders::order;
use super::steps::{Owner, consumes, steps};
use super::unproven::doubt;
use super::world::World;
use crate::diag::Code;
use crate::model::resolve::keys::{ROUTE_WORDS, RouteWord};
use crate::model::resolve::reading::{Load, Named, One, Table, stated_currency};
use crate::model::{Bench, CurrencyId, PartId, Properties, Route, RouteKind, Step};

/// Reads the routes.
pub fn routes<'a>(load: &mut Load, world: &mut World<'a>, tables: Vec<Named<'a>>) -> Vec<Route> {
    tables
        .into_iter()
        .filter_map(|mut named| {
            let route = route(load, world, &mut named);
            match &route {
                Some(route) => {
                    let why = match route.kind {
                        RouteKind::Bench(Bench { short: true, .. }) => {
                            "a bench route without `steps` has no use for it"
                        }
                        RouteKind::Bench(Bench { print: Some(_), .. }) => {
                            "a bench route with `steps` has no use for it"
                        }
                        RouteKind::Bench(_) => "a bench route without `printer` has no use for it",
                        RouteKind::Order(_) if named.table.has("service") => {
                            "an order route has no use for it"
                        }
                        RouteKind::Order(_) => "an order route without `service` has no use for it",
                    };
                    // Where it is not clear what the route is, one finding is enough.
                    if !undecided(&named.table, route) {
                        named.table.finish(load, why);
                    }
                }
                None => drop(named),
            }
            route
        })
        .collect()
}

/// True for a route with `steps` and the keys of the short form, or one that prints without a printer: found already.
fn undecided(table: &Table, route: &Route) -> bool {
    let both = table.has("steps") && (table.has("attended") || table.has("spoil"));
    let prints = route.steps.iter().any(|s| s.name == "print");
    both || (prints && table.has("steps") && !table.has("printer"))
}

fn way(load: &mut Load, table: &mut Table) -> Option<RouteWord> {
    let Some(one) = table.one("kind") else {
        let hint = "write `kind = \"bench\"` or `kind = \"order\"`";
        table.missing(load, "kind", hint);
        return None;
    };
    one.choice(load, "kind of route", &ROUTE_WORDS)
}

fn route<'a>(load: &mut Load, world: &mut World<'a>, named: &mut Named<'a>) -> Option<Route> {
    let table = &mut named.table;
    let way = way(load, table)?;
    let stated = doubt(load, table, named.name);
    world.doubts.extend(stated);
    for key in ["source", "note"] {
        table.text(load, key);
    }
    let source = load.source_line(table.place);
    let closed = table.text(load, "closed").map(str::to_owned);
    let parts = for_parts(load, world, table);
    let currency = stated_currency(load, table).unwrap_or(CurrencyId(0));
    let buy_first = table.price(load, "buy_first", currency);
    let mut route = Route {
        name: named.name.to_owned(),
        source,
        closed,
        parts,
        kind: RouteKind::Bench(Bench { print: None, short: false }),
        steps: Vec::new(),
        consumes: Vec::new(),
        buy_first,
        material: Properties::default(),
        given: Properties::default(),
        gives: false,
        unproven: None,
    };
    match way {
        RouteWord::Bench => bench(load, world, table, &mut route),
        RouteWord::Order => {
            (route.steps, route.given, route.gives) = steps(load, world, table, &route.name);
            first_step_prints(load, table, &route.steps);
            route.kind = RouteKind::Order(Box::new(order(load, world, table, &route.name)));
        }
    }
    let prints = matches!(way, RouteWord::Bench) && (table.has("printer") || !table.has("steps"));
    let name = route.name.clone();
    route.consumes = consumes(load, world, table, Owner { route: &name, on_step: false, prints });
    never_drawn(load, table, &route);
    Some(route)
}

/// Supplies of a route are drawn when its first step begins; an order route without steps never draws them.
fn never_drawn(load: &mut Load, table: &Table, route: &Route) {
    if matches!(route.kind, RouteKind::Order(_))
        && route.steps.is_empty()
        && table.has("consumes")
        && !table.has("steps")
    {
        load.error(
            Code::MisplacedSupply,
            table.place_of("consumes"),
            "`consumes` of an order route without `steps` is never drawn",
            "put the supplies on a step, such as `steps = [ { do = \"inspect\", consumes = [ ... ] } ]`",
        );
    }
}

/// An order route's steps come after the parcel; nothing is printed then.
fn first_step_prints(load: &mut Load, table: &Table, steps: &[Step]) {
    if steps.iter().any(|s| s.name == "print") {
        let message = "an order route does not print";
        load.error(
            Code::PrintStep,
            table.place_of("steps"),
            message,
            "give the step another name, or make it a bench route",
        );
    }
}

fn for_parts(load: &mut Load, world: &World, table: &mut Table) -> Option<Vec<PartId>> {
    let one: One = table.one("for")?;
    let names = one.list(load, "a list of parts");
    let mut parts: Vec<PartId> =
        names.iter().filter_map(|name| world.parts.id(load, *name)).collect();
    if names.is_empty() {
        load.error(
            Code::EmptyList,
            one.place,
            "the route is for no part",
            "name a part, or delete `for`",
        );
    }
    parts.sort_unstable();
    parts.dedup();
    Some(parts)
}
