//! Is the geometry there that a part's routes need?

use std::collections::{BTreeMap, BTreeSet};

use crate::diag::{Code, Diagnostic, Place};
use crate::model::resolve::reading::Load;
use crate::model::resolve::routes::counts_layers;
use crate::model::{
    Basis, Equipment, NamedPlan, Part, PartId, Print, Route, RouteId, RouteKind, Step, Terms,
};

/// What a check of pairs looks at.
#[derive(Clone, Copy)]
pub struct Lists<'a> {
    /// Parts by id.
    pub parts: &'a [Part],
    /// Routes by id.
    pub routes: &'a [Route],
    /// Named plans; if there are any, only what they assign is asked.
    pub plans: &'a [NamedPlan],
    /// What the final assigns.
    pub last: &'a [(PartId, RouteId)],
    /// Names of parts whose mesh is refused already.
    pub refused: &'a BTreeSet<String>,
}

/// A route that may be asked to make a part.
#[derive(Clone, Copy)]
pub struct Pair<'a> {
    /// The part's id.
    pub part_id: PartId,
    /// The part.
    pub part: &'a Part,
    route_id: RouteId,
    /// The route.
    pub route: &'a Route,
}

/// Every pair that may be asked about, by part, then route.
pub fn pairs<'a>(lists: Lists<'a>) -> Vec<Pair<'a>> {
    let mut named: BTreeSet<(PartId, RouteId)> = lists.last.iter().copied().collect();
    for plan in lists.plans {
        named.extend((0u16..).map(PartId).zip(plan.assign.iter().copied()));
        named.extend(plan.beside.iter().map(|b| (b.part, b.route)));
    }
    // What a plan may fall back on or try first is asked about too.
    for (part, route) in named.clone() {
        if let Some(unproven) = lists.routes[route.index()].unproven {
            named.insert((part, unproven.fallback));
            named.extend(unproven.trial.map(|trial| (trial.part, route)));
        }
    }
    let mut result = Vec::new();
    for (part_id, part) in (0u16..).map(PartId).zip(lists.parts) {
        if lists.refused.contains(&part.name) {
            continue;
        }
        for (route_id, route) in (0u16..).map(RouteId).zip(lists.routes) {
            let meant = route.parts.as_ref().is_none_or(|parts| parts.contains(&part_id));
            let asked = lists.plans.is_empty() || named.contains(&(part_id, route_id));
            if meant && asked && route.closed.is_none() {
                result.push(Pair { part_id, part, route_id, route });
            }
        }
    }
    result
}

/// Logs every piece of geometry that a pair needs and lacks, once for each part, key and route.
pub fn check(load: &mut Load, pairs: &[Pair]) {
    for pair in pairs {
        match &pair.route.kind {
            RouteKind::Bench(bench) => {
                if let Some(print) = &bench.print {
                    printing(load, pair.part, pair.route, print);
                }
            }
            RouteKind::Order(terms) => ordering(load, pair.part_id, pair.part, (pair.route, terms)),
        }
    }
}

fn printing(load: &mut Load, part: &Part, route: &Route, print: &Print) {
    if part.volume.is_none() {
        lacks(
            load,
            part,
            "volume",
            &format!("to print it by `{}`", route.name),
            "state `volume`, or `box` and `fill`",
        );
    }
    let step_layers = |step: &Step| counts_layers(print, &step.consumes);
    let layers = counts_layers(print, &route.consumes) || route.steps.iter().any(step_layers);
    if part.size.is_none() && layers {
        let why = format!("to count the layers of `{}`", route.name);
        lacks(load, part, "box", &why, "state `box`, height last, or the route's `print_time`");
    }
    if print.layer.is_none() && route.consumes.iter().any(|c| c.per == crate::model::Per::Layer) {
        let place = load.place_of(route.source).cloned();
        if let Some(place) = place {
            let message =
                format!("`layer` is missing: a supply of `{}` is counted per layer", route.name);
            load.error(Code::NoPrintTime, &place, message, "state the layer height");
        }
    }
}

fn ordering(load: &mut Load, id: PartId, part: &Part, (route, terms): (&Route, &Terms)) {
    let copies = load.slots.likely(part.copies).to_whole();
    // A quotation for so few pieces stands in for every price row.
    if terms.quotes.iter().any(|q| q.part == id && q.qty <= copies && undated(q.valid)) {
        return;
    }
    for row in terms.rows.iter().filter(|r| r.rate.is_some()) {
        let why = format!("for the price of `{}`", route.name);
        match row.basis {
            Basis::Piece => {}
            Basis::PartVolume => need(load, part, "volume", part.volume.is_some(), &why),
            Basis::BoxVolume => need(load, part, "box", part.size.is_some(), &why),
            Basis::Area => need(load, part, "area", part.area.is_some(), &why),
            Basis::Mass => {
                need(load, part, "volume", part.volume.is_some(), &why);
                if row.density.is_none() {
                    no_density(load, row.source, &route.name);
                }
            }
        }
    }
}

fn undated(valid: crate::model::Validity) -> bool {
    valid.from.is_none() && valid.to.is_none()
}

fn need(load: &mut Load, part: &Part, key: &str, there: bool, why: &str) {
    if !there {
        lacks(load, part, key, why, &format!("state `{key}`"));
    }
}

fn no_density(load: &mut Load, source: crate::model::SourceId, route: &str) {
    if let Some(place) = load.place_of(source).cloned() {
        let message = format!("`density` is missing: `{route}` is priced by mass");
        load.error(
            Code::MissingDensity,
            &place,
            message,
            "fill in the density, such as `1.08 g/mL`",
        );
    }
}

/// Logs that a part lacks a piece of geometry.
pub fn lacks(load: &mut Load, part: &Part, key: &str, why: &str, hint: &str) {
    let message = format!("part `{}` has no `{key}`, needed {why}", part.name);
    let code = match key {
        "area" => Code::MissingArea,
        "box" => Code::MissingBox,
        _ => Code::MissingVolume,
    };
    if let Some(place) = load.place_of(part.source).cloned() {
        load.log.push(Diagnostic::error(code, &place, message).hint(hint));
    }
}

/// Notes parcels whose price by mass cannot be told.
pub fn notes(load: &mut Load, pairs: &[Pair]) {
    for pair in pairs {
        if let RouteKind::Order(terms) = &pair.route.kind {
            by_mass(load, pair.part, pair.route, terms);
        }
    }
}

/// Warns of parts that are not checked against the plate, for each route that prints on a machine whose plate is known.
pub fn plates(load: &mut Load, pairs: &[Pair], equipment: &[Equipment]) {
    let mut users: BTreeMap<RouteId, (&Route, Vec<&Part>)> = BTreeMap::new();
    for pair in pairs {
        users.entry(pair.route_id).or_insert_with(|| (pair.route, Vec::new())).1.push(pair.part);
    }
    for (route, parts) in users.into_values() {
        let prints = matches!(&route.kind, RouteKind::Bench(bench) if bench.print.is_some());
        let at = route.steps.first().and_then(|s| s.at).filter(|_| prints);
        let Some(machine) = at.map(|id| &equipment[id.index()]) else {
            continue;
        };
        if let Some(place) =
            load.place_of(route.source).cloned().filter(|_| machine.plate.is_some())
        {
            plate_warning(load, &parts, &machine.name, &place);
        }
    }
}

fn by_mass(load: &mut Load, part: &Part, route: &Route, terms: &Terms) {
    let by_kg = terms.deliveries.iter().any(|d| d.per_kg.is_some());
    if !by_kg {
        return;
    }
    let name = &route.name;
    if terms.rows.iter().any(|r| r.density.is_none()) || part.volume.is_none() {
        let lacking = if part.volume.is_none() {
            format!("volume of `{}`", part.name)
        } else {
            "density".to_owned()
        };
        load.not_counted(format!("delivery by mass of `{name}` (no {lacking})"));
    } else if part.size.is_none()
        && terms.deliveries.iter().any(|d| d.per_kg.is_some() && d.divisor.is_some())
    {
        load.not_counted(format!("delivery by box volume of `{name}` (no box of `{}`)", part.name));
    }
}

/// Pieces without a box cannot be laid out on the plate.
fn plate_warning(load: &mut Load, users: &[&Part], plate: &str, place: &Place) {
    let boxless: Vec<String> =
        users.iter().filter(|p| p.size.is_none()).map(|p| format!("`{}`", p.name)).collect();
    if !boxless.is_empty() {
        let message = format!(
            "{} without a box: not checked against the plate of `{plate}`",
            boxless.join(", ")
        );
        load.warn(
            Code::MissingBox,
            place,
            message,
            "state `box`; until then the pieces of an iteration share one build",
        );
    }
}
