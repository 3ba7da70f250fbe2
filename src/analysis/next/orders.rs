//! Orders that could be better filled: more pieces for less money, or one more part along.

use crate::analysis::follow::PlanResult;
use crate::model::{Exact, Money, PartId, RouteId, day_of};
use crate::plan::{RuledOut, Shop};
use crate::sim::place;
use crate::value::order_cost;

/// A remark on the first order of a plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OrderAdvice {
    /// Ordering more of a part costs less in total.
    More {
        /// The part.
        part: PartId,
        /// Its route.
        route: RouteId,
        /// What is ordered.
        copies: i64,
        /// What it costs.
        cost: Money,
        /// What could be ordered for less.
        instead: i64,
        /// What that costs.
        less: Money,
    },
    /// What sending one more part along would add to the order.
    Along {
        /// The part now made another way.
        part: PartId,
        /// The route by which it could come along.
        route: RouteId,
        /// What the order would cost more.
        adds: Money,
    },
}

type Wanted = (PartId, RouteId, i64);

/// Looks at the orders of a plan's first iteration.
pub fn advice(shop: &Shop, plan: &PlanResult, out: &[RuledOut]) -> Vec<OrderAdvice> {
    let variants = plan.plan.pace(shop).variants;
    let ways = plan.plan.ways().filter(|way| shop.terms(way.1).is_some());
    let wanted: Vec<Wanted> =
        ways.map(|(part, route, _)| (part, route, shop.part(part).copies * variants)).collect();
    let mut groups: Vec<_> = wanted.iter().filter_map(|w| Some(shop.terms(w.1)?.group)).collect();
    groups.sort_unstable();
    groups.dedup();
    let mut result = Vec::new();
    for group in groups {
        let of = |r: RouteId| shop.terms(r).is_some_and(|t| t.group == group);
        let order: Vec<Wanted> = wanted.iter().copied().filter(|w| of(w.1)).collect();
        result.extend(more(shop, &order));
        result.extend(along(shop, (&order, variants), out, of));
    }
    result
}

/// The whole cost of an order, expected, rounded once.
fn cost(shop: &Shop, order: &[Wanted]) -> Option<Money> {
    let day = shop.scenario.start.map(day_of);
    let placed = place(shop, order.iter().copied(), day).ok()?;
    let charges = order_cost(shop, &placed).ok()?.charges;
    let total: Exact = charges
        .iter()
        .map(|c| {
            let repeats =
                c.line.map_or(placed.repeats, |l| shop.route(placed.lines[l].route).repeats);
            c.amount() * repeats
        })
        .sum();
    Some(total.to_money(shop.scenario.minor()))
}

fn more(shop: &Shop, order: &[Wanted]) -> Vec<OrderAdvice> {
    let Some(now) = cost(shop, order) else {
        return Vec::new();
    };
    let mut result = Vec::new();
    for (index, &(part, route, copies)) in order.iter().enumerate() {
        let Some(terms) = shop.terms(route) else {
            continue;
        };
        let breaks = terms.rows.iter().map(|r| r.from_qty);
        let quotes = terms.quotes.iter().filter(|q| q.part == part).map(|q| q.qty);
        let mut tiers: Vec<i64> = breaks.chain(quotes).filter(|&q| q > copies).collect();
        tiers.sort_unstable();
        let better = tiers.into_iter().find_map(|instead| {
            let mut larger = order.to_vec();
            larger[index].2 = instead;
            let less = cost(shop, &larger).filter(|&c| c < now)?;
            Some(OrderAdvice::More { part, route, copies, cost: now, instead, less })
        });
        result.extend(better);
    }
    result
}

fn along(
    shop: &Shop,
    (order, variants): (&[Wanted], i64),
    out: &[RuledOut],
    of: impl Fn(RouteId) -> bool,
) -> Vec<OrderAdvice> {
    let Some(now) = cost(shop, order) else {
        return Vec::new();
    };
    let scenario = shop.scenario;
    let absent = crate::plan::parts(scenario).filter(|(id, _)| !order.iter().any(|w| w.0 == *id));
    absent
        .filter_map(|(part, _)| {
            let route = (0..scenario.routes.len()).map(RouteId::at).find(|&route| {
                of(route)
                    && scenario.route(route).is_for(part)
                    && !out.iter().any(|o| o.part == part && o.route == route)
            })?;
            let mut larger = order.to_vec();
            larger.push((part, route, shop.part(part).copies * variants));
            larger.sort_unstable();
            Some(OrderAdvice::Along { part, route, adds: cost(shop, &larger)? - now })
        })
        .collect()
}
