//! Plans ahead: carried to the planned count with the final, for what they come to alone.

use super::policy::begin;
use super::unproven::expected_cost;
use super::{Choice, Doubts, Leg, UNPROVEN_LIMIT};
use crate::model::{Exact, Money, RouteId};
use crate::plan::{Pace, Plan, Shop};
use crate::sim::{Event, Simulation, State, Stop};
use crate::value::{FastTotals, Prices, avoidable};

/// Carries a project that has done so many iterations to the planned count, with the final and what still runs on: what probes, sweeps
/// and switches rest on. After each iteration `take` may take its events out, so that they stay close at hand.
pub fn to_planned(
    simulation: &mut Simulation,
    (legs, pace): (&[Leg], Pace),
    done: u32,
    mut take: impl FnMut(&mut Vec<Event>) -> Result<(), Stop>,
) -> Result<(), Stop> {
    let planned = simulation.shop().planned;
    let assign = begin(simulation, legs, done + 1, |_, _| {})?;
    for n in done + 1..=pace.planned(planned) {
        simulation.iterate(n, assign)?;
        take(&mut simulation.events)?;
    }
    let (evaluated, _) = simulation.thought();
    simulation.finish(planned + 1, assign, evaluated)?;
    simulation.run_out()?;
    take(&mut simulation.events)
}

/// A project by a plan that has not begun.
fn begun<'s, 'a>(shop: &'s Shop<'a>, plan: &Plan, pace: Pace) -> Simulation<'s, 'a> {
    Simulation::new(shop).with_variants(pace.variants).with_beside(&plan.beside)
}

/// A plan as far as the planned count, the final included.
pub enum Ahead {
    /// What happens.
    Events(Vec<Event>),
    /// The expected avoidable cost, where a route is unproven and several things can happen.
    Expected(Exact),
}

/// Follows a plan to the planned count; `None` where it cannot be carried out.
pub fn ahead(shop: &Shop, plan: &Plan) -> Option<Ahead> {
    let (doubts, pace) = (Doubts::of(shop, &plan.assign), plan.pace(shop));
    if doubts.list.is_empty() {
        let legs = [Leg::Makes(doubts.assign)];
        let mut simulation = begun(shop, plan, pace);
        let done = to_planned(&mut simulation, (&legs, pace), shop.done(), |_| Ok(()));
        return done.ok().map(|()| Ahead::Events(simulation.events));
    }
    expected_cost(shop, doubts, pace).map(Ahead::Expected)
}

/// What a plan comes to at the planned count, the final included, at float speed; `None` where it cannot be carried out. Of an expected cost
/// only the avoidable is known.
pub fn fast_costs(shop: &Shop, prices: &mut Prices, plan: &Plan) -> Option<FastTotals> {
    let (doubts, pace) = (Doubts::of(shop, &plan.assign), plan.pace(shop));
    if !doubts.list.is_empty() {
        return expected_cost(shop, doubts, pace).map(fast_total);
    }
    let legs = [Leg::Makes(doubts.assign)];
    let mut totals = FastTotals::default();
    to_planned(&mut begun(shop, plan, pace), (&legs, pace), shop.done(), |events| {
        totals += prices.totals(shop, events)?;
        events.clear();
        Ok(())
    })
    .ok()?;
    Some(totals)
}

/// An expected avoidable cost.
pub fn fast_total(cost: Exact) -> FastTotals {
    let avoidable = cost.to_f64_lossy();
    FastTotals { avoidable, absolute: avoidable.abs(), ..FastTotals::default() }
}

/// Avoidable cost at the planned count with the final, expected where a route is unproven; `None` where the plan cannot be carried out.
pub fn cost_at_planned(shop: &Shop, plan: &Plan) -> Option<Exact> {
    match ahead(shop, plan)? {
        Ahead::Events(events) => avoidable(shop, &events).ok().map(Money::exact),
        Ahead::Expected(cost) => Some(cost),
    }
}

/// Avoidable cost of going on from a state after `done` iterations to the planned count, with the final; expected where a route is
/// unproven: it is committed to, and if it does not work, the first iteration by it shows that.
pub fn cost_from(shop: &Shop, assign: &[RouteId], state: &State, done: u32) -> Option<Exact> {
    let doubts = Doubts::of(shop, assign);
    let count = doubts.list.len();
    if count > UNPROVEN_LIMIT {
        return None;
    }
    let (policy, right) = (vec![Choice::Commit; count], vec![true; count]);
    let mut sum = Exact::ZERO;
    for bits in 0..1u32 << count {
        let works: Vec<bool> = (0..count).map(|at| bits >> at & 1 == 1).collect();
        let each = doubts.list.iter().zip(&works);
        let chance = each.fold(Exact::ONE, |product, (doubt, &works)| {
            product * if works { doubt.works } else { Exact::ONE - doubt.works }
        });
        if !chance.is_zero() {
            let legs = doubts.legs(&policy, &works, &right);
            let mut simulation = Simulation::resume(shop, state.clone());
            to_planned(&mut simulation, (&legs, Pace::PLAIN), done, |_| Ok(())).ok()?;
            sum = sum + chance * avoidable(shop, &simulation.events).ok()?.exact();
        }
    }
    Some(sum)
}
