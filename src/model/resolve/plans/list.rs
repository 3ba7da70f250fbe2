//! Named plans and the final: assignments of parts to routes.

use super::two_ways::{described, of_list, sole};
use crate::diag::{Code, Diagnostic};
use crate::input::Entry;
use crate::model::resolve::keys::{FINAL, PLAN};
use crate::model::resolve::limits;
use crate::model::resolve::parts::PartNames;
use crate::model::resolve::reading::{Lit, Load, One, Table};
use crate::model::{Beside, Dim, Exact, Final, NamedPlan, Part, PartId, Route, RouteId, Variants};

/// Names that an assignment may use.
#[derive(Clone, Copy)]
pub struct Names<'a> {
    /// The parts.
    pub parts: &'a PartNames,
    /// The routes, by id.
    pub routes: &'a [Route],
    /// Names of routes that were left out because they are faulty: one finding is enough.
    pub faulty: &'a [String],
}

/// Reads every `[[plan]]`.
pub fn plans(load: &mut Load, top: &mut Table, names: Names) -> Vec<NamedPlan> {
    let ones = top.list(load, "plan", "tables such as `[[plan]]`");
    if ones.len() > limits::PLANS {
        let message = format!("more than {} plans", limits::PLANS);
        load.error(Code::TooMany, top.place_of("plan"), message, "take out those you do not need");
    }
    let mut plans: Vec<NamedPlan> = Vec::new();
    for one in ones.into_iter().take(limits::PLANS) {
        let Some(table) = Table::new(load, one, PLAN, "a `[[plan]]`") else {
            continue;
        };
        let Some(plan) = plan(load, table, names) else {
            continue;
        };
        if let Some(first) = plans.iter().find(|p| p.name == plan.name) {
            let first = load.place_of(first.source).unwrap_or(one.place).clone();
            load.duplicate("plans", &plan.name, one.place, &first);
            continue;
        }
        plans.push(plan);
    }
    plans.sort_by(|a, b| a.name.cmp(&b.name));
    plans
}

fn plan(load: &mut Load, mut table: Table, names: Names) -> Option<NamedPlan> {
    let name = table.name(load, "name").map(str::to_owned);
    let source = load.source_line(table.place);
    if !table.has("assign") {
        table.missing(
            load,
            "assign",
            "state a route for each part, such as `assign = { \"collar\" = \"my bench\" }`",
        );
        return None;
    }
    let pairs = assign(load, &mut table, names, of_list);
    let mut routes = Vec::new();
    let mut complete = true;
    for (index, part) in names.parts.0.iter().enumerate() {
        match pairs.iter().find(|(id, _)| id.index() == index) {
            Some((_, ways)) => routes.push(ways.own),
            None => {
                let message = format!("the plan assigns no route to `{part}`");
                load.error(
                    Code::IncompletePlan,
                    table.place_of("assign"),
                    message,
                    "name a route for every part",
                );
                complete = false;
            }
        }
    }
    let routes: Option<Vec<RouteId>> = routes.into_iter().collect();
    let routes = routes.filter(|_| complete)?;
    let mut beside: Vec<Beside> = pairs.iter().filter_map(|(_, ways)| ways.beside).collect();
    beside.sort_by_key(|b| b.part);
    let name = name.unwrap_or_else(|| described(names, &routes, &beside));
    table.address = format!("plan[{name}]");
    let variants = variants(load, &mut table);
    if !beside.is_empty() {
        sole(load, &table, (&routes, &beside), names);
    }
    Some(NamedPlan { name, assign: routes, variants, beside, source })
}

/// `variants` and `variant_worth`; one needs the other.
fn variants(load: &mut Load, table: &mut Table) -> Option<Variants> {
    let count = table.number(load, "variants");
    let worth = table.number(load, "variant_worth");
    if count.is_some() && worth.is_none() {
        let hint = "state what each further variant is worth as a share of an iteration, such as `variant_worth = 0.5`";
        let place = table.place_of("variants");
        load.error(Code::KeyAlone, place, "`variants` without `variant_worth`", hint);
    }
    if worth.is_some() && count.is_none() {
        let hint =
            "state how many variants an iteration makes, such as `variants = 2`, or delete it";
        let place = table.place_of("variant_worth");
        load.error(Code::KeyAlone, place, "`variant_worth` without `variants`", hint);
    }
    let variants = Variants { count: count?, worth: worth? };
    let most = load.slots.get(variants.count).high;
    if most > Exact::from(limits::VARIANTS) {
        let message = format!("{most} variants in one iteration");
        let hint = format!("at most {} can be made", limits::VARIANTS);
        load.error(Code::TooMany, table.place_of("variants"), message, hint);
    }
    Some(variants)
}

/// Logs plans whose variants make more copies of a part than one iteration can have.
pub fn check_copies(load: &mut Load, plans: &[NamedPlan], parts: &[Part]) {
    for plan in plans {
        let Some(variants) = plan.variants else {
            continue;
        };
        let count = load.slots.get(variants.count).high;
        let pieces = |part: &&Part| load.slots.get(part.copies).high * count;
        let Some(part) = parts.iter().find(|p| pieces(p) > Exact::from(limits::COPIES)) else {
            continue;
        };
        let message = format!("{} pieces of `{}` in one iteration", pieces(&part), part.name);
        let source = load.slots.get(variants.count).source;
        if let Some(place) = load.place_of(source).cloned() {
            let hint = format!("at most {} can be made: fewer variants or copies", limits::COPIES);
            load.error(Code::TooMany, &place, message, hint);
        }
    }
}

/// The routes stated for a part; `None` where what is written was logged.
#[derive(Clone, Copy, Default)]
pub struct Ways {
    /// The plan's own.
    pub own: Option<RouteId>,
    /// The second one.
    pub beside: Option<Beside>,
}

/// What a list of routes for a part means.
type OfList = fn(&mut Load, One, (Option<PartId>, &str), Names) -> Ways;

/// The pairs of an `assign`.
fn assign(
    load: &mut Load,
    table: &mut Table,
    names: Names,
    of_list: OfList,
) -> Vec<(PartId, Ways)> {
    let Some(one) = table.one("assign") else {
        return Vec::new();
    };
    let Lit::Table(entries) = one.lit else {
        one.wrong_type(
            load,
            "a table of parts and routes",
            "write it such as `{ \"collar\" = \"my bench\" }`",
        );
        return Vec::new();
    };
    entries.iter().filter_map(|entry| pair(load, entry, names, of_list)).collect()
}

fn pair(load: &mut Load, entry: &Entry, names: Names, of_list: OfList) -> Option<(PartId, Ways)> {
    let part = names.parts.find(&entry.key);
    if part.is_none() {
        let known: Vec<&str> = names.parts.0.iter().map(String::as_str).collect();
        load.unknown_name(Code::UnknownPart, &entry.key_place, "part", (&entry.key, &known));
    }
    let one = One::from(&entry.node);
    let of = (part, entry.key.as_str());
    let ways = match one.lit {
        Lit::List(_) => of_list(load, one, of, names),
        _ => Ways { own: route(load, one, of, names), beside: None },
    };
    part.map(|p| (p, ways))
}

/// A final is made by one route.
fn no_list(load: &mut Load, one: One, (_, name): (Option<PartId>, &str), _: Names) -> Ways {
    let message = format!("the final makes `{name}` by several routes");
    load.error(Code::TwoRoutes, one.place, message, "name one route");
    Ways::default()
}

/// A route for a part, by its name; `None` where that was logged.
pub fn route(
    load: &mut Load,
    one: One,
    (part, key): (Option<PartId>, &str),
    names: Names,
) -> Option<RouteId> {
    let found = one.name(load).and_then(|name| {
        let found = names.routes.iter().position(|r| r.name == name);
        if found.is_none() && !names.faulty.iter().any(|f| f == name) {
            let known: Vec<&str> = names.routes.iter().map(|r| r.name.as_str()).collect();
            load.unknown_name(Code::UnknownRoute, one.place, "route", (name, &known));
        }
        if let Some((index, part)) = found.zip(part) {
            check_meant(load, one, &names.routes[index], (part, key));
        }
        found
    });
    found.map(RouteId::at)
}

/// Logs a route that is not for the part it is to make.
fn check_meant(load: &mut Load, one: One, route: &Route, (part, name): (PartId, &str)) {
    if route.parts.as_ref().is_some_and(|parts| !parts.contains(&part)) {
        let message = format!("route `{}` is not for `{name}`", route.name);
        let mut finding = Diagnostic::error(Code::NotForPart, one.place, message);
        if let Some(place) = load.place_of(route.source) {
            finding = finding.see(place, "the route");
        }
        load.log.push(finding.hint("name another route, or add the part to the route's `for`"));
    }
}

/// Reads `[final]`.
pub fn last(load: &mut Load, top: &mut Table, names: Names) -> Option<Final> {
    let one = top.one("final")?;
    let table = Table::new(load, one, FINAL, "`[final]`")?;
    let mut table = table.at("final".to_owned());
    let pairs = assign(load, &mut table, names, no_list);
    let accept = table.default_of(load, "accept", Dim::Share, Exact::ONE);
    let mut assign: Vec<(PartId, RouteId)> =
        pairs.into_iter().filter_map(|(part, ways)| Some((part, ways.own?))).collect();
    assign.sort_unstable();
    if let Some(&(_, route)) =
        assign.iter().find(|(_, r)| names.routes[r.index()].unproven.is_some())
    {
        let message = format!(
            "the final is made by `{}`, which is unproven",
            names.routes[route.index()].name
        );
        let hint = "leave the part out: the final then goes by the plan's route, or by its fallback if that does not work";
        load.error(Code::UnprovenHere, table.place_of("assign"), message, hint);
    }
    Some(Final {
        assign,
        copies: table.number(load, "copies"),
        accept: table.number_or(load, "accept", accept),
        source: load.source_line(table.place),
    })
}
