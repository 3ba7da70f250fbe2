//! Named plans and the final: assignments of parts to routes.

use super::context::Load;
use super::limits;
use super::measure::Measure;
use super::one::{Lit, One};
use super::parts::PartNames;
use super::table::Table;
use crate::diag::{Code, Diagnostic};
use crate::input::Entry;
use crate::model::{Dim, Exact, Final, NamedPlan, PartId, Route, RouteId};

/// Keys of a `[[plan]]`.
const PLAN: [&str; 4] = ["name", "assign", "variants", "variant_worth"];
/// Keys of `[final]`.
const FINAL: [&str; 3] = ["assign", "copies", "accept"];

/// Names that an assignment may use.
#[derive(Clone, Copy)]
pub(super) struct Names<'a> {
    /// The parts.
    pub parts: &'a PartNames,
    /// The routes, by id.
    pub routes: &'a [Route],
    /// Names of routes that were left out because they are faulty: one finding is enough.
    pub faulty: &'a [String],
}

/// Reads every `[[plan]]`.
pub(super) fn plans(load: &mut Load, top: &mut Table, names: Names) -> Vec<NamedPlan> {
    let ones = top.list(load, "plan", "tables such as `[[plan]]`");
    if ones.len() > limits::PLANS {
        let message = format!("more than {} plans", limits::PLANS);
        load.error(Code::TooLarge, top.place_of("plan"), message, "take out those you do not need");
    }
    let mut plans: Vec<NamedPlan> = Vec::new();
    for one in ones.into_iter().take(limits::PLANS) {
        let Some(table) = Table::new(load, one, &PLAN, "a `[[plan]]`") else {
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
    table.not_yet(load, "variants", "leave it out and compare with more `copies`");
    table.not_yet(load, "variant_worth", "leave it out");
    let source = load.source_line(table.place);
    if !table.has("assign") {
        table.missing(
            load,
            "assign",
            "state a route for each part, such as `assign = { \"collar\" = \"my bench\" }`",
        );
        return None;
    }
    let pairs = assign(load, &mut table, names);
    let mut routes = Vec::new();
    let mut complete = true;
    for (index, part) in names.parts.0.iter().enumerate() {
        match pairs.iter().find(|(id, _)| id.index() == index) {
            Some((_, route)) => routes.push(*route),
            None => {
                let message = format!("the plan assigns no route to `{part}`");
                load.error(
                    Code::MissingKey,
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
    let name = name.unwrap_or_else(|| described(names, &routes));
    Some(NamedPlan { name, assign: routes, source })
}

/// What an unnamed plan is called.
fn described(names: Names, routes: &[RouteId]) -> String {
    let pairs = names.parts.0.iter().zip(routes);
    let pairs: Vec<String> = pairs
        .map(|(part, route)| format!("{part} = {}", names.routes[route.index()].name))
        .collect();
    pairs.join("; ")
}

/// The pairs of an `assign`; the route is `None` where its name was logged.
fn assign(load: &mut Load, table: &mut Table, names: Names) -> Vec<(PartId, Option<RouteId>)> {
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
    entries.iter().filter_map(|entry| pair(load, entry, names)).collect()
}

fn pair(load: &mut Load, entry: &Entry, names: Names) -> Option<(PartId, Option<RouteId>)> {
    let part = names.parts.find(&entry.key);
    if part.is_none() {
        let known: Vec<&str> = names.parts.0.iter().map(String::as_str).collect();
        load.unknown_name(&entry.key_place, "part", &entry.key, &known);
    }
    let one = One::from(&entry.node);
    if let Lit::List(_) = one.lit {
        let message = "two routes for a part are known but not computed in this version";
        load.error(
            Code::NotYet,
            one.place,
            message,
            "name one route; compare the other in a second `[[plan]]`",
        );
        return part.map(|p| (p, None));
    }
    let route = one.name(load).and_then(|name| {
        let found = names.routes.iter().position(|r| r.name == name);
        if found.is_none() && !names.faulty.iter().any(|f| f == name) {
            let known: Vec<&str> = names.routes.iter().map(|r| r.name.as_str()).collect();
            load.unknown_name(one.place, "route", name, &known);
        }
        if let Some((index, part)) = found.zip(part) {
            check_meant(load, one, &names.routes[index], (part, &entry.key));
        }
        found
    });
    let id = route.map(RouteId::at);
    part.map(|p| (p, id))
}

/// Logs a route that is not for the part it is to make.
fn check_meant(load: &mut Load, one: One, route: &Route, (part, name): (PartId, &str)) {
    if route.parts.as_ref().is_some_and(|parts| !parts.contains(&part)) {
        let message = format!("route `{}` is not for `{name}`", route.name);
        let mut finding = Diagnostic::error(Code::ConflictingKeys, one.place, message);
        if let Some(place) = load.place_of(route.source) {
            finding = finding.see(place, "the route");
        }
        load.log.push(finding.hint("name another route, or add the part to the route's `for`"));
    }
}

/// Reads `[final]`.
pub(super) fn last(load: &mut Load, top: &mut Table, names: Names) -> Option<Final> {
    let one = top.one("final")?;
    let table = Table::new(load, one, &FINAL, "`[final]`")?;
    let mut table = table.at("final".to_owned());
    let pairs = assign(load, &mut table, names);
    let accept = table.default_of(load, "accept", Dim::Share, Exact::ONE);
    let mut assign: Vec<(PartId, RouteId)> =
        pairs.into_iter().filter_map(|(part, route)| Some((part, route?))).collect();
    assign.sort_unstable();
    if let Some(&(_, route)) =
        assign.iter().find(|(_, r)| names.routes[r.index()].unproven.is_some())
    {
        let message = format!(
            "the final is made by `{}`, which is unproven",
            names.routes[route.index()].name
        );
        let hint = "leave the part out: the final then goes by the plan's route, or by its fallback if that does not work";
        load.error(Code::ConflictingKeys, table.place_of("assign"), message, hint);
    }
    Some(Final {
        assign,
        copies: table.number(load, "copies", Measure::Count),
        accept: table.number_or(load, "accept", Measure::Accept, accept),
        source: load.source_line(table.place),
    })
}
