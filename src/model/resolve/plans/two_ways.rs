//! Two routes for a part in one plan: the plan's own, and a second one in the first iterations.

use super::list::{Names, Ways, route};
use crate::diag::Code;
use crate::model::resolve::keys::SECOND;
use crate::model::resolve::limits;
use crate::model::resolve::reading::{Lit, Load, One, Table};
use crate::model::{Beside, PartId, RouteId};

/// How it is written.
const HINT: &str = "write the plan's route and a second one with the last iteration it is used in, such as \
    `[\"my bench\", { route = \"print house\", until = 2 }]`";

/// A list of routes for a part: one without `until` and at most one with it.
pub fn of_list(load: &mut Load, one: One, of: (Option<PartId>, &str), names: Names) -> Ways {
    let ones = one.list(load, "a list of routes");
    let mut own: Vec<(One, Option<RouteId>)> = Vec::new();
    let mut second: Vec<(One, Option<RouteId>, Option<u32>)> = Vec::new();
    for way in ones {
        match way.lit {
            Lit::Table(_) => {
                let Some((by, until)) = second_of(load, way, of, names) else {
                    return Ways::default();
                };
                match until {
                    None => own.push((way, by)),
                    until => second.push((way, by, until)),
                }
            }
            _ => own.push((way, route(load, way, of, names))),
        }
    }
    if own.len() != 1 || second.len() > 1 {
        let message = match own.len() {
            0 => format!("no route makes `{}` to the end: all have `until`", of.1),
            1 => format!("more than two routes for `{}`", of.1),
            _ => format!("{} routes for `{}` without `until`", own.len(), of.1),
        };
        load.error(Code::TwoRoutes, one.place, message, HINT);
        return Ways::default();
    }
    let own = own[0].1;
    let beside = second.first().and_then(|&(place, by, until)| {
        let (part, route, until) = (of.0?, by?, until?);
        if own == Some(route) {
            let message = format!("`{}` by the same route twice", of.1);
            load.error(Code::TwoRoutes, place.place, message, "name another route, or one alone");
        }
        Some(Beside { part, route, until })
    });
    Ways { own, beside }
}

/// A route with the last iteration it is used in; `None` where that was logged.
fn second_of(
    load: &mut Load,
    one: One,
    of: (Option<PartId>, &str),
    names: Names,
) -> Option<(Option<RouteId>, Option<u32>)> {
    let mut table = Table::new(load, one, SECOND, "a route of a part")?;
    table.missing(load, "route", "name the route");
    let by = table.one("route").and_then(|way| route(load, way, of, names));
    let Some(until) = table.one("until") else {
        return Some((by, None));
    };
    let last = until.whole(load, 1, limits::HORIZON)?;
    Some((by, Some(u32::try_from(last).unwrap_or(u32::MAX))))
}

/// Logs what a plan with second routes cannot have as well: variants, and routes that are unproven.
pub fn sole(
    load: &mut Load,
    table: &Table,
    (routes, beside): (&[RouteId], &[Beside]),
    names: Names,
) {
    if table.has("variants") {
        let message = "`variants` in a plan that makes a part by two routes";
        let hint =
            "one route for each part, or no `variants`; compare the other in a second `[[plan]]`";
        load.error(Code::TwoRoutes, table.place_of("variants"), message, hint);
    }
    let all = routes.iter().copied().chain(beside.iter().map(|b| b.route));
    let unproven = all.map(|route| &names.routes[route.index()]).find(|r| r.unproven.is_some());
    if let Some(route) = unproven {
        let message =
            format!("`{}` is unproven, in a plan that makes a part by two routes", route.name);
        let hint =
            "one route for each part: what an unproven route falls back on is its `fallback`";
        load.error(Code::UnprovenHere, table.place_of("assign"), message, hint);
    }
}

/// What an unnamed plan is called.
pub fn described(names: Names, routes: &[RouteId], beside: &[Beside]) -> String {
    let name = |route: RouteId| names.routes[route.index()].name.as_str();
    let one = |(index, (part, &route)): (usize, (&String, &RouteId))| {
        let second = beside.iter().find(|b| b.part.index() == index);
        let second = second.map(|b| format!(" + {} to {}", name(b.route), b.until));
        format!("{part} = {}{}", name(route), second.unwrap_or_default())
    };
    let pairs: Vec<String> = names.parts.0.iter().zip(routes).enumerate().map(one).collect();
    pairs.join("; ")
}
