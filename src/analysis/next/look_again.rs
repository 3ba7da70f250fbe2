//! Look again when: how little has to happen for the verdict to become another one.
//!
//! Enters: the ranked plans with their verdict. Leaves: the nearest iteration counts, the failed builds in a row and the prices of pieces
//! at which the same rule (see [`judge`]) takes another plan. All money comes from simulations of whole plans; dates are those without
//! failures.

use crate::analysis::compare::{DueDate, Verdict, judge};
use crate::analysis::follow::{CHEAPEST, Curves, Failure, Figures, PlanResult, cost_at_planned};
use crate::analysis::parallel::in_order;
use crate::model::{Basis, CurrencyId, Exact, Money, PartId, RouteId, RouteKind, Slot, day_of};
use crate::plan::{Plan, RuledOut, Shop, Values, line_price, parts, ruled_out};
use crate::sim::Simulation;
use crate::value::avoidable;

/// What would change the verdict.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LookAgain {
    /// The nearest smaller count with another verdict, with its plan; without one where no plan is feasible there.
    pub fewer: AtCount,
    /// The nearest larger count within the horizon.
    pub more: AtCount,
    /// For each bench route of the verdict that can fail, by route.
    pub failures: Vec<FailuresInRow>,
    /// For each price of ordered pieces that the verdict or the next best plan pays, the nearest change first.
    pub prices: Vec<PriceAt>,
}

/// A count and the plan of the verdict there, if any is feasible.
pub type AtCount = Option<(u32, Option<Plan>)>;

/// Failed builds in a row that change the verdict.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FailuresInRow {
    /// The route.
    pub route: RouteId,
    /// How often the builds of iteration 1 must fail before they succeed, and the plan of the new verdict by index into
    /// [`crate::analysis::Answer::plans`]; `None`: not within [`MOST_FAILURES`].
    pub change: Option<(u32, usize)>,
    /// What a failed build costs: what it draws and takes, over the places where it can fail by how likely it is there.
    pub each: Money,
}

/// The price of ordered pieces at which the verdict changes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PriceAt {
    /// Its slot.
    pub slot: Slot,
    /// Its address.
    pub address: String,
    /// The currency it is stated in.
    pub currency: CurrencyId,
    /// True for a quotation, false for a price row.
    pub quoted: bool,
    /// What the price is of.
    pub basis: Basis,
    /// Parts and routes that pay it, in pairs by part.
    pub paid_by: Vec<(PartId, RouteId)>,
    /// What it is today.
    pub today: Exact,
    /// Where the verdict changes, and the plan of the new one by index; `None`: not between a sixteenth and sixteen times.
    pub change: Option<(Exact, usize)>,
}

/// So many failed builds in a row are tried.
pub const MOST_FAILURES: u32 = 12;
/// Iterations simulated in the search over counts.
const EFFORT: usize = 20_000;
/// Iterations simulated in the search over prices.
const PRICE_EFFORT: usize = 1_000_000;
/// Plans are run about so often for one price.
const PROBES: usize = 30;
/// Steps a factor of two is divided into, and factors of two looked at each way.
const STEPS: i32 = 2;
const OCTAVES: i32 = 4;

/// Looks for what changes the verdict. `early` are plans that break a must only later on.
pub fn look_again(
    shop: &Shop,
    plans: &[PlanResult],
    early: &[Plan],
    verdict: &Verdict,
) -> LookAgain {
    // With variants a count means another one for each plan, and an unproven route has no course by count; a failure of one of two routes
    // says little.
    if !is_plain(&plans[verdict.plan]) {
        return LookAgain::default();
    }
    let (fewer, more) = counts(shop, plans, early, &plans[verdict.plan].plan);
    let mut result = LookAgain { fewer, more, ..LookAgain::default() };
    // Where no plan is in time the fastest is taken, whatever it costs.
    if verdict.due != DueDate::Missed {
        let rivals = Rivals::new(shop, plans, verdict.plan);
        result.failures = failures(&rivals);
        result.prices = prices(&rivals);
    }
    result
}

fn is_plain(plan: &PlanResult) -> bool {
    plan.unproven.is_none() && plan.plan.is_plain()
}

/// The plan that the rule of the verdict takes; by index.
pub fn taken(shop: &Shop, standings: impl Iterator<Item = (Plan, Money, i64)>) -> Option<usize> {
    let plans: Vec<PlanResult> = standings
        .map(|(plan, avoidable, seconds)| PlanResult {
            plan,
            decides: Figures { avoidable, seconds, ..Figures::default() },
            curves: Curves::default(),
            dates: Vec::new(),
            last: None,
            baths: Vec::new(),
            failure: Failure::default(),
            unproven: None,
            crowds: Vec::new(),
            notes: crate::value::Notes::default(),
            ended: None,
        })
        .collect();
    judge(shop, &plans, None).map(|v| v.plan)
}

// ---- counts ----

/// Cost and days of a plan if the work ends after each count, the final included; shorter than the horizon where it cannot go on, `None`
/// where only the final cannot be made.
fn by_count(shop: &Shop, plan: &Plan) -> Vec<Option<(Money, i64)>> {
    let mut simulation = Simulation::new(shop);
    let (mut own, mut valued) = (Money::ZERO, 0);
    // What is behind has no other cost by any plan.
    let mut result = vec![None; shop.done() as usize];
    for n in shop.done() + 1..=shop.scenario.iterations.horizon {
        if simulation.iterate(n, &plan.assign).is_err() {
            break;
        }
        let Ok(cost) = avoidable(shop, &simulation.events[valued..]) else {
            break;
        };
        valued = simulation.events.len();
        own += cost;
        let own_in_hand = simulation.dates.last().map_or(shop.start, |d| d.in_hand);
        let last = simulation.last(n + 1, &plan.assign);
        result.push(last.ok().and_then(|last| match last {
            None => Some((own, own_in_hand - shop.start)),
            Some(last) => {
                let cost = avoidable(shop, &last.events).ok()?;
                Some((own + cost, last.dates.first()?.in_hand - shop.start))
            }
        }));
    }
    result
}

/// The nearest smaller and the nearest larger count at which another plan is taken.
fn counts(shop: &Shop, plans: &[PlanResult], early: &[Plan], now: &Plan) -> (AtCount, AtCount) {
    let horizon = shop.scenario.iterations.horizon;
    let most = (EFFORT / (2 * horizon.max(1) as usize)).max(2 * CHEAPEST);
    let candidates: Vec<&Plan> = plans
        .iter()
        .filter(|p| is_plain(p))
        .map(|p| &p.plan)
        .chain(early.iter().filter(|p| p.is_plain()))
        .take(most)
        .collect();
    let courses = in_order(candidates.len(), |i| by_count(shop, candidates[i]));
    // Musts that begin up to the horizon.
    let mut values = shop.values.clone();
    let planned = shop.scenario.iterations.planned;
    values.set(&shop.scenario.slots, planned, Exact::from(i64::from(horizon)));
    let out = ruled_out(&Shop::new(shop.scenario, &values));
    let changed = |n: u32| {
        let can = candidates.iter().zip(&courses).filter(|(p, _)| meets(shop, &out, p, n));
        let standing = can.filter_map(|(plan, course)| {
            let (cost, seconds) = (*course.get(n as usize - 1)?)?;
            Some(((*plan).clone(), cost, seconds))
        });
        let standings: Vec<_> = standing.collect();
        match taken(shop, standings.iter().cloned()) {
            Some(index) if standings[index].0.assign == now.assign => None,
            Some(index) => Some((n, Some(standings[index].0.clone()))),
            // Among some of the plans none can mean anything.
            None => (candidates.len() < most).then_some((n, None)),
        }
    };
    let fewer = (shop.done() + 1..shop.planned).rev().find_map(changed);
    (fewer, (shop.planned + 1..=horizon).find_map(changed))
}

/// True if a plan meets every must with `n` iterations planned.
fn meets(shop: &Shop, out: &[RuledOut], plan: &Plan, n: u32) -> bool {
    !out.iter().any(|o| {
        let last = shop.part(o.part).count.map_or(n, |count| count.min(n));
        plan.assign[o.part.index()] == o.route && o.from_iteration <= last
    })
}

// ---- money ----

/// The verdict's plan and those that could take its place.
struct Rivals<'s, 'a> {
    shop: &'s Shop<'a>,
    plans: &'s [PlanResult],
    /// The verdict's first, then the cheapest that are in time, by index.
    who: Vec<usize>,
}

impl<'s, 'a> Rivals<'s, 'a> {
    fn new(shop: &'s Shop<'a>, plans: &'s [PlanResult], verdict: usize) -> Rivals<'s, 'a> {
        let in_time = |p: &PlanResult| {
            let due = shop.scenario.due;
            due.is_none_or(|due| day_of(shop.start + p.decides.seconds) <= due)
        };
        let others =
            (0..plans.len()).filter(|&i| i != verdict && is_plain(&plans[i]) && in_time(&plans[i]));
        let who = std::iter::once(verdict).chain(others.take(CHEAPEST)).collect();
        Rivals { shop, plans, who }
    }

    fn assign(&self, index: usize) -> &'s [RouteId] {
        &self.plans[index].plan.assign
    }

    /// The plan taken with other costs, if it is not the verdict's; a plan whose cost cannot be told stays as it is.
    fn other(&self, cost: impl Fn(usize) -> Option<Money>) -> Option<usize> {
        let standing = self.who.iter().map(|&index| {
            let p = &self.plans[index];
            let cost = cost(index).unwrap_or(p.decides.avoidable);
            (p.plan.clone(), cost, p.decides.seconds)
        });
        taken(self.shop, standing).filter(|&at| at != 0).map(|at| self.who[at])
    }
}

/// The failed builds in a row, for each bench route that the verdict uses in iteration 1.
fn failures(rivals: &Rivals) -> Vec<FailuresInRow> {
    let shop = rivals.shop;
    let mut routes: Vec<RouteId> = parts(shop.scenario)
        .zip(rivals.assign(rivals.who[0]))
        .filter(|((part, _), _)| shop.part(*part).made_in(shop.done() + 1))
        .map(|(_, &route)| route)
        .filter(|&route| matches!(shop.scenario.route(route).kind, RouteKind::Bench(_)))
        .collect();
    routes.sort_unstable();
    routes.dedup();
    routes.into_iter().filter_map(|route| in_a_row(rivals, route)).collect()
}

fn in_a_row(rivals: &Rivals, route: RouteId) -> Option<FailuresInRow> {
    let own = rivals.assign(rivals.who[0]);
    let none = with_failures(rivals.shop, own, route, 0)?;
    let one = with_failures(rivals.shop, own, route, 1)?;
    let cost = |index: usize, times: u32| {
        let assign = rivals.assign(index);
        // A plan without the route has no such failures.
        assign.contains(&route).then(|| with_failures(rivals.shop, assign, route, times))?
    };
    let change = (1..=MOST_FAILURES)
        .find_map(|times| Some((times, rivals.other(|index| cost(index, times))?)));
    let each = match change {
        // Whole packs make single failures uneven.
        Some((times, _)) => {
            let all = with_failures(rivals.shop, own, route, times)? - none;
            (all.exact() / Exact::from(i64::from(times))).to_money(rivals.shop.scenario.minor())
        }
        None => one - none,
    };
    Some(FailuresInRow { route, change, each })
}

/// Avoidable cost at the planned count where every build of a route in iteration 1 fails exactly so often before it succeeds; later
/// iterations as expected. `None` where the route cannot fail or the plan cannot be carried out.
fn with_failures(shop: &Shop, assign: &[RouteId], route: RouteId, times: u32) -> Option<Money> {
    let values = forced(shop, route, times)?;
    let failing = Shop::new(shop.scenario, &values);
    let mut first = Simulation::new(&failing);
    let next = shop.done() + 1;
    first.iterate(next, assign).ok()?;
    let mut rest = Simulation::resume(shop, first.state().clone());
    for n in next + 1..=shop.planned {
        rest.iterate(n, assign).ok()?;
    }
    let last = rest.last(shop.planned + 1, assign).ok()?;
    let events = first.events.iter().chain(&rest.events);
    avoidable(shop, events.chain(last.iter().flat_map(|l| &l.events))).ok()
}

/// Chances of spoiling with which a good build is preceded by exactly so many failed ones on average, spread over the steps as they are
/// today: with p_i the share of failures that happen at step i, and Q_i that from step i on, starts are S_i = 1 + times x Q_i, so that
/// s_i = times x p_i / (1 + times x Q_i) (see [`crate::plan::executions`]).
fn forced(shop: &Shop, route: RouteId, times: u32) -> Option<Values> {
    let steps = &shop.route(route).steps;
    let mut reached = Exact::ONE;
    let fails: Vec<Exact> = steps
        .iter()
        .map(|step| {
            let fails = reached * step.spoil;
            reached = reached - fails;
            fails
        })
        .collect();
    let all: Exact = fails.iter().copied().sum();
    if all.is_zero() {
        return None;
    }
    let times = Exact::from(i64::from(times));
    let mut values = shop.values.clone();
    let mut from_here = Exact::ZERO;
    for (step, fails) in shop.scenario.route(route).steps.iter().zip(fails).rev() {
        from_here = from_here + fails;
        if let Some(slot) = step.spoil {
            let chance = times * fails / (all + times * from_here);
            values.set(&shop.scenario.slots, slot, chance);
        }
    }
    Some(values)
}

/// The prices of pieces that the verdict or the next best plan pays.
fn prices(rivals: &Rivals) -> Vec<PriceAt> {
    let mut found: Vec<PriceAt> = Vec::new();
    for &index in rivals.who.iter().take(2) {
        for ((part, _), &route) in parts(rivals.shop.scenario).zip(rivals.assign(index)) {
            let Some(price) = price_of(rivals.shop, part, route) else {
                continue;
            };
            match found.iter_mut().find(|f| f.slot == price.slot) {
                Some(same) if same.paid_by.contains(&(part, route)) => {}
                Some(same) => same.paid_by.push((part, route)),
                None => found.push(price),
            }
        }
    }
    // With very many iterations only the first prices can be looked at.
    let each = PROBES * rivals.who.len() * rivals.shop.planned as usize;
    found.truncate((PRICE_EFFORT / each.max(1)).max(1));
    let changes = in_order(found.len(), |i| change_of(rivals, &found[i]));
    for (price, change) in found.iter_mut().zip(changes) {
        price.paid_by.sort_unstable();
        price.change = change;
    }
    let far = |p: &PriceAt| p.change.map(|(at, _)| apart(at, p.today));
    found.sort_by_key(|p| (p.change.is_none(), far(p), p.slot));
    found
}

/// How many times larger the larger of two prices is.
fn apart(a: Exact, b: Exact) -> Exact {
    if a > b { a / b } else { b / a }
}

/// What prices the pieces of a part in iteration 1.
fn price_of(shop: &Shop, part: PartId, route: RouteId) -> Option<PriceAt> {
    let terms = shop.terms(route)?;
    let day = shop.scenario.start.map(day_of);
    let price = line_price(terms, part, shop.part(part).copies, day)?;
    let (slot, currency, basis) = match (price.quote(terms), price.row(terms)) {
        (Some(quote), _) => (quote.unit_price.value, quote.unit_price.currency, Basis::Piece),
        (None, Some(row)) => (row.rate?, row.currency, row.basis),
        (None, None) => return None,
    };
    let today = shop.values.exact(slot);
    // From nothing no factor leads anywhere.
    (!today.is_zero()).then(|| PriceAt {
        slot,
        address: shop.scenario.slots.get(slot).address.clone(),
        currency,
        quoted: price.quote.is_some(),
        basis,
        paid_by: vec![(part, route)],
        today,
        change: None,
    })
}

/// The nearest price at which another plan is taken: geometric steps each way, then bisection to a ten-thousandth.
fn change_of(rivals: &Rivals, price: &PriceAt) -> Option<(Exact, usize)> {
    let shop = rivals.shop;
    let orders = |index: usize| rivals.assign(index).iter().any(|&r| shop.terms(r).is_some());
    let at = |value: Exact| {
        let mut values = shop.values.clone();
        values.set(&shop.scenario.slots, price.slot, value);
        let probe = Shop::new(shop.scenario, &values);
        let minor = shop.scenario.minor();
        let cost = |i: usize| cost_at_planned(&probe, &rivals.plans[i].plan);
        rivals.other(|i| orders(i).then(|| cost(i)).flatten().map(|c| c.to_money(minor)))
    };
    let mut near = [price.today; 2];
    for step in 1..=STEPS * OCTAVES {
        for (side, near) in near.iter_mut().enumerate() {
            let sign = if side == 0 { 1 } else { -1 };
            let far = price.today * power_of_two(sign * step);
            if let Some(plan) = at(far) {
                return Some(bisected(*near, (far, plan), at));
            }
            *near = far;
        }
    }
    None
}

/// Two to the power of `steps / STEPS`, cut at six digits for odd steps: only where to look depends on it.
fn power_of_two(steps: i32) -> Exact {
    let whole = Exact::from(1i64 << (steps.abs() / STEPS));
    let root = Exact::from(1_414_214i64) / Exact::from(1_000_000i64);
    let power = if steps % STEPS == 0 { whole } else { whole * root };
    if steps < 0 { Exact::ONE / power } else { power }
}

/// Draws together where the verdict still holds and where it does not.
fn bisected(
    mut holds: Exact,
    mut changed: (Exact, usize),
    at: impl Fn(Exact) -> Option<usize>,
) -> (Exact, usize) {
    let fine = Exact::from(10_000i64);
    while (holds - changed.0).abs() * fine > changed.0 {
        let middle = (holds + changed.0) / Exact::from(2i64);
        match at(middle) {
            Some(plan) => changed = (middle, plan),
            None => holds = middle,
        }
    }
    changed
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_of_a_price_double_in_two() {
        assert_eq!(power_of_two(2), Exact::from(2i64));
        assert_eq!(power_of_two(8), Exact::from(16i64));
        assert_eq!(power_of_two(-4) * Exact::from(4i64), Exact::ONE);
        assert!(power_of_two(3) > Exact::from(2i64) && power_of_two(3) < Exact::from(3i64));
    }

    #[test]
    fn a_change_is_found_to_a_ten_thousandth() {
        let border = Exact::from(137i64);
        let at = |value: Exact| (value >= border).then_some(3);
        let (found, plan) = bisected(Exact::from(100i64), (Exact::from(200i64), 3), at);
        assert_eq!(plan, 3);
        assert!(found >= border && (found - border) * Exact::from(10_000i64) <= found);
    }
}
