//! What a number can matter to: where it cannot, what was found under one of its values holds under all.

use std::collections::BTreeMap;

use super::Plan;
use super::tabled::{of_bath, of_consumes, of_print, of_step};
use crate::model::{
    BathKind, Bench, Hold, ItemPrice, RateRows, Route, RouteId, RouteKind, Scenario, Slot, Terms,
};

/// The routes that a number belongs to: a plan that uses none of them goes on alike whatever it is. Numbers that are not here may matter to
/// every plan.
pub fn touched(scenario: &Scenario) -> BTreeMap<Slot, Vec<RouteId>> {
    let mut touched: BTreeMap<Slot, Vec<RouteId>> = BTreeMap::new();
    for (id, route) in (0..).map(RouteId).zip(&scenario.routes) {
        let mut own: Vec<Option<Slot>> = Vec::new();
        of_consumes(&route.consumes, &mut own);
        route.steps.iter().for_each(|step| of_step(step, &mut own));
        for (bath, _) in route.steps.iter().filter_map(|step| step.bath) {
            of_bath(&scenario.baths[bath.index()], &mut own);
        }
        match &route.kind {
            RouteKind::Bench(Bench { print, .. }) => {
                print.iter().for_each(|print| of_print(print, &mut own));
            }
            RouteKind::Order(terms) => of_terms(terms, &mut own),
        }
        for slot in own.into_iter().flatten() {
            let routes = touched.entry(slot).or_default();
            if routes.last() != Some(&id) {
                routes.push(id);
            }
        }
    }
    touched
}

/// The routes a plan goes by, those of the final included.
pub fn routes_of(scenario: &Scenario, plan: &Plan) -> Vec<RouteId> {
    let last = scenario.last.iter().flat_map(|last| last.assign.iter().map(|a| a.1));
    plan.ways().map(|way| way.1).chain(last).collect()
}

fn of_terms(terms: &Terms, own: &mut Vec<Option<Slot>>) {
    own.extend([Some(terms.order_time), terms.brief, terms.misread, terms.reject]);
    for row in &terms.rows {
        own.extend([Some(row.lead), row.density]);
        own.extend(row.max_box.into_iter().flatten().map(Some));
    }
    own.extend(terms.quotes.iter().map(|quote| quote.lead));
    for row in &terms.deliveries {
        own.extend([row.divisor, row.mass_step, row.transit]);
    }
    let shares = |rows: &RateRows| rows.0.iter().map(|row| Some(row.value)).collect::<Vec<_>>();
    [&terms.duty, &terms.tax, &terms.exchange_fee].into_iter().for_each(|r| own.extend(shares(r)));
}

/// Numbers that decide neither which plans there are nor what rules one out: true at the slot's index. Times, chances, what is drawn and kept,
/// what clings and evaporates, thresholds of the verdict.
pub fn unsettling(scenario: &Scenario) -> Vec<bool> {
    let iterations = &scenario.iterations;
    let mut found = vec![Some(iterations.evaluate), Some(iterations.redesign)];
    found.extend([Some(iterations.overlap), Some(scenario.sure), Some(scenario.close)]);
    found.push(scenario.budget);
    found.extend(scenario.last.iter().flat_map(|last| [Some(last.accept), last.copies]));
    scenario.routes.iter().for_each(|route| of_route(route, &mut found));
    for item in &scenario.items {
        found.extend([item.stock, item.keep]);
        if let ItemPrice::Pack { pack, .. } = item.price {
            found.push(Some(pack));
        }
    }
    for bath in &scenario.baths {
        found.extend([Some(bath.evaporates), Some(bath.solvent_film), bath.reuse_limit]);
        if let BathKind::Wash(wash) = &bath.kind {
            found.extend([wash.fill, wash.retire_share, wash.resin_film].map(Some));
            found.extend([Some(wash.platform_carry), Some(wash.carry_over)]);
            found.extend([wash.resin_now, wash.uses_now]);
        }
    }
    found.extend(scenario.equipment.iter().flat_map(|machine| [machine.watts, machine.life_hours]));
    let mut unsettling = vec![false; scenario.slots.len()];
    found.into_iter().flatten().for_each(|slot| unsettling[slot.index()] = true);
    unsettling
}

fn of_route(route: &Route, found: &mut Vec<Option<Slot>>) {
    of_consumes(&route.consumes, found);
    for step in &route.steps {
        of_consumes(&step.consumes, found);
        found.extend([step.attended, step.first_time, step.spoil, step.spent_share]);
        if let Hold::For(slot) = step.hold {
            found.push(Some(slot));
        }
    }
    match &route.kind {
        RouteKind::Order(terms) => {
            found.extend([Some(terms.order_time), terms.brief, terms.misread, terms.reject]);
            found.extend(terms.deliveries.iter().map(|row| row.transit));
        }
        RouteKind::Bench(Bench { print: Some(print), .. }) => {
            found.extend([print.supports, print.loss, print.support_area].map(Some));
        }
        RouteKind::Bench(_) => {}
    }
}
