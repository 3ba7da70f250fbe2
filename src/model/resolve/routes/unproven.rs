//! Routes that are not proven: `works`, `fallback`, `trial`. Names are looked up once every route is read.

use crate::diag::{Code, Diagnostic, Place};
use crate::model::resolve::keys::TRIAL;
use crate::model::resolve::parts::PartNames;
use crate::model::resolve::reading::{Load, One, Table};
use crate::model::{PartId, Route, RouteId, Slot, Trial, Unproven};

/// What a route states about not being proven.
pub struct Doubt<'a> {
    route: &'a str,
    works: Slot,
    fallback: One<'a>,
    trial: Option<(One<'a>, Slot)>,
}

/// Reads the three keys; `None` where nothing is stated, or where what is stated is incomplete.
pub fn doubt<'a>(load: &mut Load, table: &mut Table<'a>, route: &'a str) -> Option<Doubt<'a>> {
    let works = table.number(load, "works");
    let fallback = table.one("fallback");
    let trial = table.one("trial");
    let tried = trial.and_then(|one| tried(load, one, &table.address_of("trial")));
    if works.is_none() {
        for key in ["fallback", "trial"].into_iter().filter(|k| table.has(k)) {
            let message = format!("`{key}` without `works`");
            let hint = "state the chance that the route works, such as `works = 0.85`; a proven route needs neither";
            load.error(Code::KeyAlone, table.place_of(key), message, hint);
        }
        return None;
    }
    if fallback.is_none() {
        let hint = "state the route that takes its place if it does not work, such as `fallback = \"print house\"`";
        load.error(Code::KeyAlone, table.place_of("works"), "`works` without `fallback`", hint);
    }
    Some(Doubt { route, works: works?, fallback: fallback?, trial: tried })
}

/// The part and the chance of a trial.
fn tried<'a>(load: &mut Load, one: One<'a>, address: &str) -> Option<(One<'a>, Slot)> {
    let mut table = Table::new(load, one, TRIAL, "`trial`")?.at(address.to_owned());
    let part = table.one("part");
    let tells = table.number(load, "tells");
    table.missing(load, "part", "name the part to try it on, such as `part = \"cable boot\"`");
    table.missing(
        load,
        "tells",
        "state the chance that its result is right, such as `tells = 0.9`",
    );
    part.zip(tells)
}

/// Looks the names up and puts what is known on the routes.
pub fn settle(
    load: &mut Load,
    routes: &mut [Route],
    doubts: Vec<Doubt>,
    (parts, all): (&PartNames, &[String]),
) {
    let unproven: Vec<&str> = doubts.iter().map(|d| d.route).collect();
    let found: Vec<(usize, Unproven)> = doubts
        .iter()
        .filter_map(|doubt| {
            let index = routes.iter().position(|r| r.name == doubt.route)?;
            let at = fallback(load, routes, (doubt, index), (&unproven, all));
            let trial =
                doubt.trial.and_then(|trial| trial_part(load, &routes[index], trial, parts));
            let fallback = RouteId::at(at?);
            check_parts(load, (&routes[index], &routes[fallback.index()]), doubt, parts);
            Some((index, Unproven { works: doubt.works, fallback, trial }))
        })
        .collect();
    for (index, unproven) in found {
        routes[index].unproven = Some(unproven);
    }
}

/// The index of the fallback: another route, and a proven one, so that what follows a failure is certain.
fn fallback(
    load: &mut Load,
    routes: &[Route],
    (doubt, index): (&Doubt, usize),
    (unproven, all): (&[&str], &[String]),
) -> Option<usize> {
    let name = doubt.fallback.name(load)?;
    let place = doubt.fallback.place;
    let Some(found) = routes.iter().position(|r| r.name == name) else {
        // A route that is there and was found faulty is one finding.
        if !all.iter().any(|a| a == name) {
            let known: Vec<&str> = routes.iter().map(|r| r.name.as_str()).collect();
            load.unknown_name(Code::UnknownRoute, place, "route", (name, &known));
        }
        return None;
    };
    if found == index {
        let message = format!("`{name}` is its own fallback");
        load.error(Code::FallbackUnfit, place, message, "name a route that is proven");
        return None;
    }
    if unproven.contains(&name) {
        let message = format!("the fallback `{name}` is itself unproven");
        refuse(load, place, (message, &routes[found]), "name a route without `works`");
        return None;
    }
    Some(found)
}

/// Logs each part the route is for and its fallback is not.
fn check_parts(
    load: &mut Load,
    (route, fallback): (&Route, &Route),
    doubt: &Doubt,
    parts: &PartNames,
) {
    let lacking: Vec<&str> = (0..parts.0.len())
        .map(PartId::at)
        .filter(|&part| route.is_for(part) && !fallback.is_for(part))
        .map(|part| parts.0[part.index()].as_str())
        .collect();
    if let Some(first) = lacking.first() {
        let message = format!("the fallback `{}` is not for `{first}`", fallback.name);
        let hint = "name another route, add the part to its `for`, or limit the route by a `for` of its own";
        refuse(load, doubt.fallback.place, (message, fallback), hint);
    }
}

/// The trial's part: one that the route is for.
fn trial_part(
    load: &mut Load,
    route: &Route,
    (one, tells): (One, Slot),
    parts: &PartNames,
) -> Option<Trial> {
    let part = parts.id(load, one)?;
    if !route.is_for(part) {
        let message = format!("route `{}` is not for `{}`", route.name, parts.0[part.index()]);
        let hint = "try it on a part the route is for, or add the part to the route's `for`";
        load.error(Code::NotForPart, one.place, message, hint);
        return None;
    }
    Some(Trial { part, tells })
}

fn refuse(load: &mut Load, place: &Place, (message, other): (String, &Route), hint: &str) {
    let mut finding = Diagnostic::error(Code::FallbackUnfit, place, message);
    if let Some(at) = load.place_of(other.source) {
        finding = finding.see(at, "that route");
    }
    load.log.push(finding.hint(hint));
}
