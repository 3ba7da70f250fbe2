//! Which route can make which part, and if not, why.

use super::{LinePrice, Shop, line_price};
use crate::model::{
    Day, Exact, Hardness, Need, Part, PartId, Properties, Route, RouteId, RouteKind, Scenario,
    Terms, Want, day_of,
};

/// A route that cannot make a part, with the reason. Listed, never dropped silently.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RuledOut {
    /// The part.
    pub part: PartId,
    /// The route.
    pub route: RouteId,
    /// From which iteration on (1: always).
    pub from_iteration: u32,
    /// Why, in words.
    pub reason: String,
}

/// Everything that is ruled out, by part, then route, then iteration. Only routes meant for the part are looked at.
pub fn ruled_out(shop: &Shop) -> Vec<RuledOut> {
    let scenario = shop.scenario;
    let mut result = Vec::new();
    for part in (0..scenario.parts.len()).map(PartId::at) {
        for route in (0..scenario.routes.len()).map(RouteId::at) {
            if scenario.route(route).is_for(part) {
                result.extend(of_pair(shop, part, route));
                result.extend(of_fallback(shop, part, route));
            }
        }
    }
    result
}

fn of_pair(shop: &Shop, part: PartId, route: RouteId) -> Vec<RuledOut> {
    let scenario = shop.scenario;
    let (p, r) = (scenario.part(part), scenario.route(route));
    let out = |from_iteration, reason| RuledOut { part, route, from_iteration, reason };
    if let Some(reason) = &r.closed {
        return vec![out(1, format!("closed: {reason}"))];
    }
    let price = match order_price(shop, part, route) {
        Ok(price) => price,
        Err(reason) => return vec![out(1, reason)],
    };
    let mut result: Vec<RuledOut> = too_big(shop, part, route, price)
        .into_iter()
        .chain(super::unprintable(shop, part, route))
        .chain(super::undippable(shop, part, route))
        .map(|reason| out(1, reason))
        .collect();
    let given = properties(r, price);
    let lead = lead_of(shop, r, price);
    // A must that begins after the last iteration the part is planned in binds nothing.
    let last = shop.part(part).count.map_or(shop.planned, |c| c.min(shop.planned));
    for need in p.must.iter().filter(|n| n.from_iteration <= last) {
        if let Some(reason) = unmet(need, &given, lead) {
            result.push(out(need.from_iteration, reason));
        }
    }
    result.sort_by_key(|o| o.from_iteration);
    result
}

/// What rules out the fallback of an unproven route rules out the route: if it does not work, nothing is left.
fn of_fallback(shop: &Shop, part: PartId, route: RouteId) -> Vec<RuledOut> {
    let Some(unproven) = shop.doubt(route) else {
        return Vec::new();
    };
    let name = &shop.scenario.route(unproven.fallback).name;
    let reasons = of_pair(shop, part, unproven.fallback).into_iter();
    reasons
        .map(|o| RuledOut { route, reason: format!("its fallback {name}: {}", o.reason), ..o })
        .collect()
}

/// The day on which static questions are asked: the first.
fn first_day(scenario: &Scenario) -> Option<Day> {
    scenario.start.map(day_of)
}

/// The price of the part on the first day, or if nothing holds yet, whatever holds at any time; an error in words if nothing ever does.
fn order_price(shop: &Shop, part: PartId, route: RouteId) -> Result<Option<LinePrice>, String> {
    let Some(terms) = shop.terms(route) else {
        return Ok(None);
    };
    let copies = shop.part(part).copies;
    line_price(terms, part, copies, first_day(shop.scenario))
        .or_else(|| line_price(terms, part, copies, None))
        .map(Some)
        .ok_or_else(|| match terms.rows.iter().map(|r| r.from_qty).min() {
            Some(least) => format!("no price row for {copies}: the smallest quantity is {least}"),
            None => "no price row and no quote with a lead".to_owned(),
        })
}

fn too_big(shop: &Shop, part: PartId, route: RouteId, price: Option<LinePrice>) -> Option<String> {
    let terms = shop.terms(route)?;
    let row = price?.row(terms)?;
    let mut limit = row.max_box?.map(|slot| shop.values.whole(slot));
    let mut size = shop.part(part).size?;
    limit.sort_unstable();
    size.sort_unstable();
    // Sorted against sorted: if this orientation does not fit, none of the six does.
    let (at, &have) = size.iter().enumerate().rev().find(|&(i, &s)| s > limit[i])?;
    let mm = |v: i64| Exact::from_millionths(v);
    Some(format!(
        "too large for the service: {} mm where {} mm is allowed, {} mm over",
        mm(have),
        mm(limit[at]),
        mm(have - limit[at])
    ))
}

/// What comes out of a route: what the sheet states of the material or service row, then what steps give.
fn properties(route: &Route, price: Option<LinePrice>) -> Properties {
    let stated = match (&route.kind, price) {
        (RouteKind::Order(terms), Some(price)) => {
            price.row(terms).map(|r| r.properties.clone()).unwrap_or_default()
        }
        _ => route.material.clone(),
    };
    let given = route.given.clone();
    let skin = if route.gives { None } else { stated.skin_statement };
    Properties {
        hardness: given.hardness.or(stated.hardness),
        colour: given.colour.or(stated.colour),
        opaque: given.opaque.or(stated.opaque),
        skin_statement: given.skin_statement.or(skin),
    }
}

/// Business days of lead of an order route; none for the bench.
fn lead_of(shop: &Shop, route: &Route, price: Option<LinePrice>) -> Option<i64> {
    let RouteKind::Order(terms) = &route.kind else {
        return None;
    };
    let terms: &Terms = terms;
    let price = price?;
    let quoted = price.quote(terms).and_then(|q| q.lead);
    let slot = quoted.or_else(|| price.row(terms).map(|r| r.lead))?;
    Some(shop.values.whole(slot))
}

fn unmet(need: &Need, given: &Properties, lead: Option<i64>) -> Option<String> {
    let from = match need.from_iteration {
        1 => String::new(),
        n => format!(" from iteration {n}"),
    };
    let found = match &need.want {
        Want::Hardness(want) => hardness_unmet(want, given.hardness.as_ref()),
        Want::Opaque(want) => differs("opaque", &yes_no(Some(*want)), &yes_no(given.opaque)),
        Want::SkinStatement(want) => differs(
            "a statement on skin contact",
            &yes_no(Some(*want)),
            &yes_no(given.skin_statement),
        ),
        Want::Colour(want) => match &given.colour {
            Some(have) if have.to_lowercase() == want.to_lowercase() => None,
            have => differs("colour", want, have.as_deref().unwrap_or(NOT_STATED)),
        },
        Want::Lead(most) => lead
            .filter(|have| have > most)
            .map(|have| format!("lead must be at most {most} business days{from}, is {have}")),
    };
    found.map(|text| text.replace(FROM, &from))
}

const NOT_STATED: &str = "not stated in the sheet";
const FROM: &str = "\u{0}";

fn yes_no(value: Option<bool>) -> String {
    match value {
        Some(true) => "yes",
        Some(false) => "no",
        None => NOT_STATED,
    }
    .to_owned()
}

fn differs(what: &str, want: &str, have: &str) -> Option<String> {
    (want != have).then(|| format!("{what} must be {want}{FROM}, is {have}"))
}

fn hardness_unmet(want: &Hardness, have: Option<&Hardness>) -> Option<String> {
    match have {
        Some(h) if h.scale == want.scale && h.low >= want.low && h.high <= want.high => None,
        have => {
            let is = have.map_or_else(|| NOT_STATED.to_owned(), hardness_text);
            Some(format!("hardness must be {}{FROM}, is {is}", hardness_text(want)))
        }
    }
}

/// A hardness as users write it: `70A` or `60A..80A`.
pub fn hardness_text(h: &Hardness) -> String {
    if h.low == h.high {
        format!("{}{}", h.low, h.scale)
    } else {
        format!("{0}{2}..{1}{2}", h.low, h.high, h.scale)
    }
}

/// True if the route gives what a preference of the part wants (judged as a must would be).
pub fn satisfies(shop: &Shop, part: PartId, route: RouteId, need: &Need) -> bool {
    let r = shop.scenario.route(route);
    match order_price(shop, part, route) {
        Ok(price) => unmet(need, &properties(r, price), lead_of(shop, r, price)).is_none(),
        Err(_) => false,
    }
}

/// The parts of a scenario with their ids.
pub fn parts(scenario: &Scenario) -> impl Iterator<Item = (PartId, &Part)> {
    scenario.parts.iter().enumerate().map(|(i, p)| (PartId::at(i), p))
}
