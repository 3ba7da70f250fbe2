//! Last safe days: how late the last order by each route can be released so that the due date still holds without failures.

use crate::model::{Day, Moment, RouteId, day_of};
use crate::plan::{Plan, Shop, parts};
use crate::sim::{Clock, Simulation, State};

/// The last safe day of one order route.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LastSafe {
    /// The route.
    pub route: RouteId,
    /// The last iteration that orders by it; planned + 1 for the final.
    pub iteration: u32,
    /// When that is released as planned.
    pub release: Moment,
    /// The last bench day on which it can be released; `None` where even the planned release is too late.
    pub day: Option<Day>,
}

/// The last safe day of each order route of a plan, by route. Nothing where no due date is given or nothing is ordered.
///
/// A later release is taken to be never in hand earlier.
pub fn last_safe(shop: &Shop, plan: &Plan) -> Vec<LastSafe> {
    let Some(due) = shop.scenario.due else {
        return Vec::new();
    };
    let Some(course) = Course::new(shop, plan) else {
        return Vec::new();
    };
    let orders = |route: &RouteId| shop.terms(*route).is_some();
    let of_final = shop.scenario.last.iter().flat_map(|l| l.assign.iter().map(|a| a.1));
    let mut routes: Vec<RouteId> =
        plan.ways().map(|way| way.1).chain(of_final).filter(orders).collect();
    routes.sort_unstable();
    routes.dedup();
    routes
        .into_iter()
        .filter_map(|route| {
            let iteration = course.last_order(route)?;
            let release = course.release(iteration)?;
            Some(LastSafe {
                route,
                iteration,
                release,
                day: course.latest(iteration, release, due),
            })
        })
        .collect()
}

/// A plan as it runs: the state before each iteration and before the final.
struct Course<'s, 'a> {
    shop: &'s Shop<'a>,
    plan: &'s Plan,
    states: Vec<State>,
    releases: Vec<Moment>,
}

impl<'s, 'a> Course<'s, 'a> {
    fn new(shop: &'s Shop<'a>, plan: &'s Plan) -> Option<Course<'s, 'a>> {
        let mut simulation = Simulation::new(shop).with_beside(&plan.beside);
        let mut states = Vec::new();
        let mut releases = Vec::new();
        for n in shop.done() + 1..=shop.planned {
            states.push(simulation.state().clone());
            if !simulation.iterate(n, &plan.assign).ok()? {
                break;
            }
            releases.push(simulation.dates.last()?.release);
        }
        // The final, where there is one, is released when the last iteration has been evaluated.
        states.truncate(releases.len());
        states.push(simulation.state().clone());
        releases.push(simulation.thought().0);
        Some(Course { shop, plan, states, releases })
    }

    fn final_number(&self) -> u32 {
        self.shop.planned + 1
    }

    /// The last iteration that orders by a route.
    fn last_order(&self, route: RouteId) -> Option<u32> {
        let shop = self.shop;
        if let Some(last) = &shop.scenario.last {
            let of = |part: &crate::model::PartId| {
                last.route_of(*part).unwrap_or(self.plan.assign[part.index()])
            };
            if parts(shop.scenario).any(|(part, _)| of(&part) == route) {
                return Some(self.final_number());
            }
        }
        let made_last = |part| shop.part(part).count.map_or(shop.planned, |c| c.min(shop.planned));
        let of_route = self.plan.ways().filter(|way| way.1 == route);
        of_route.map(|(part, _, until)| made_last(part).min(until)).max()
    }

    /// Where an iteration stands among the states; iterations without a part to make have none.
    fn index(&self, iteration: u32) -> usize {
        let last = self.states.len() - 1;
        if iteration == self.final_number() {
            last
        } else {
            ((iteration - self.shop.done()) as usize).saturating_sub(1).min(last)
        }
    }

    fn release(&self, iteration: u32) -> Option<Moment> {
        self.releases.get(self.index(iteration)).copied()
    }

    /// True if everything is in hand by the due date when an iteration is released at a moment.
    fn holds(&self, iteration: u32, release: Moment, due: Day) -> bool {
        let state = self.states[self.index(iteration)].clone();
        let mut simulation = Simulation::resume(self.shop, state).with_beside(&self.plan.beside);
        simulation.wait_until(release);
        for n in iteration..=self.shop.planned {
            if simulation.iterate(n, &self.plan.assign).is_err() {
                return false;
            }
        }
        let own = simulation.dates.last().map(|d| d.in_hand);
        let Ok(last) = simulation.last(self.final_number(), &self.plan.assign) else {
            return false;
        };
        let of_final = last.and_then(|l| l.dates.first().map(|d| d.in_hand));
        of_final.or(own).is_some_and(|in_hand| day_of(in_hand) <= due)
    }

    /// The last bench day whose opening (for the planned day: the planned moment) is early enough.
    fn latest(&self, iteration: u32, release: Moment, due: Day) -> Option<Day> {
        if !self.holds(iteration, release, due) {
            return None;
        }
        let clock = Clock::new(&self.shop.scenario.hours);
        let bench = &self.shop.scenario.hours.calendar;
        let (mut safe, mut late) = (day_of(release), due + 1);
        while late - safe > 1 {
            let middle = safe + (late - safe) / 2;
            if self.holds(iteration, clock.opening_of(middle).max(release), due) {
                safe = middle;
            } else {
                late = middle;
            }
        }
        while safe > day_of(release) && !bench.is_open(safe) {
            safe -= 1;
        }
        Some(safe)
    }
}
