//! What can be done about routes that nobody has tried yet, step by step. The one description of it: planning runs its outcomes one by
//! one, a sampled run draws one.

use crate::model::{Exact, PartId, RouteId};
use crate::plan::Shop;
use crate::sim::{Simulation, Stop};

/// What is done about one unproven route, in the order in which ties are settled.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Choice {
    /// Its fallback makes the project from the start.
    Skip,
    /// It makes the project; if it does not work, iteration 1 shows that when it is in hand, and the fallback begins anew.
    Commit,
    /// One piece is made by it before iteration 1; if that tells well, as [`Choice::Commit`], else as [`Choice::Skip`].
    TryFirst,
}

impl Choice {
    /// The word used in reports and files.
    pub fn name(self) -> &'static str {
        match self {
            Choice::Skip => "skip",
            Choice::Commit => "commit",
            Choice::TryFirst => "try first",
        }
    }
}

/// An unproven route of a plan.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Doubt {
    /// The route.
    pub route: RouteId,
    /// Chance that it works, below 1.
    pub works: Exact,
    /// What takes its place.
    pub fallback: RouteId,
    /// The part it can be tried on, and the chance that this tells rightly.
    pub trial: Option<(PartId, Exact)>,
}

/// A plan's routes and those among them that are unproven.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Doubts {
    /// The route of each part.
    pub assign: Vec<RouteId>,
    /// The unproven ones, by route.
    pub list: Vec<Doubt>,
}

/// A stretch of a project.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Leg {
    /// Iteration 0: one piece of each part by its route. Its in hand is the next release.
    Trial(Vec<(PartId, RouteId)>),
    /// The next iteration (1, unless routes are switched to later) by these routes is paid and fails at its in hand, which is the next release.
    Fails(Vec<RouteId>),
    /// Every iteration from then on, and the final, by these routes: the last leg.
    Makes(Vec<RouteId>),
}

impl Doubts {
    /// The unproven routes of an assignment; those that work for certain are none.
    pub fn of(shop: &Shop, assign: &[RouteId]) -> Doubts {
        let mut routes = assign.to_vec();
        routes.sort_unstable();
        routes.dedup();
        let doubt = |route: RouteId| {
            let unproven = shop.doubt(route)?;
            let exact = |slot| shop.values.exact(slot);
            Some(Doubt {
                route,
                works: exact(unproven.works),
                fallback: unproven.fallback,
                trial: unproven.trial.map(|t| (t.part, exact(t.tells))),
            })
        };
        Doubts { assign: assign.to_vec(), list: routes.into_iter().filter_map(doubt).collect() }
    }

    /// What happens under a policy (a choice for each unproven route) where so many of them work and so many trials tell rightly. What
    /// is said of the trial of a route that is not tried is without effect.
    pub fn legs(&self, policy: &[Choice], works: &[bool], right: &[bool]) -> Vec<Leg> {
        let mut used = self.assign.clone();
        let (mut tried, mut failing) = (Vec::new(), Vec::new());
        for (index, doubt) in self.list.iter().enumerate() {
            // A wrong result tells the opposite of what is.
            let told_well = works[index] == right[index];
            let (uses, trial) = match policy[index] {
                Choice::Skip => (false, None),
                Choice::Commit => (true, None),
                Choice::TryFirst => (told_well, doubt.trial),
            };
            tried.extend(trial.map(|(part, _)| (part, doubt.route)));
            if !uses {
                replace(&mut used, doubt);
            } else if !works[index] {
                failing.push(doubt);
            }
        }
        let mut legs = Vec::new();
        if !tried.is_empty() {
            legs.push(Leg::Trial(tried));
        }
        if !failing.is_empty() {
            legs.push(Leg::Fails(used.clone()));
            failing.into_iter().for_each(|doubt| replace(&mut used, doubt));
        }
        legs.push(Leg::Makes(used));
        legs
    }

    /// The routes a policy begins with where every trial tells well: skipped ones are replaced.
    pub fn intended(&self, policy: &[Choice]) -> Vec<RouteId> {
        let mut used = self.assign.clone();
        for (doubt, _) in self.list.iter().zip(policy).filter(|(_, c)| **c == Choice::Skip) {
            replace(&mut used, doubt);
        }
        used
    }
}

fn replace(assign: &mut [RouteId], doubt: &Doubt) {
    for route in assign.iter_mut().filter(|r| **r == doubt.route) {
        *route = doubt.fallback;
    }
}

/// Carries out the legs before the last one, of a project whose next iteration is `next`, and returns the routes of that; `before` is
/// told of each leg.
///
/// # Errors
/// [`Stop`] where one of them cannot be carried out.
pub fn begin<'l>(
    simulation: &mut Simulation,
    legs: &'l [Leg],
    next: u32,
    mut before: impl FnMut(&mut Simulation, &Leg),
) -> Result<&'l [RouteId], Stop> {
    for leg in legs {
        before(simulation, leg);
        match leg {
            Leg::Trial(pieces) => simulation.try_out(pieces)?,
            Leg::Fails(assign) => {
                simulation.iterate(next, assign)?;
                simulation.end_at_in_hand();
            }
            Leg::Makes(assign) => return Ok(assign),
        }
    }
    Ok(&[])
}

#[cfg(test)]
mod tests {
    use super::*;

    const NEW: RouteId = RouteId(0);
    const OLD: RouteId = RouteId(1);
    const OTHER: RouteId = RouteId(2);

    fn doubts() -> Doubts {
        let doubt = Doubt {
            route: NEW,
            works: Exact::ZERO,
            fallback: OLD,
            trial: Some((PartId(1), Exact::ONE)),
        };
        Doubts { assign: vec![NEW, OTHER, NEW], list: vec![doubt] }
    }

    #[test]
    fn the_four_outcomes_of_trying_first() {
        let legs = |works, right| doubts().legs(&[Choice::TryFirst], &[works], &[right]);
        let trial = Leg::Trial(vec![(PartId(1), NEW)]);
        let new = vec![NEW, OTHER, NEW];
        let old = Leg::Makes(vec![OLD, OTHER, OLD]);
        assert_eq!(legs(true, true), [trial.clone(), Leg::Makes(new.clone())]);
        assert_eq!(legs(true, false), [trial.clone(), old.clone()]);
        assert_eq!(legs(false, true), [trial.clone(), old.clone()]);
        assert_eq!(legs(false, false), [trial, Leg::Fails(new), old]);
    }

    #[test]
    fn committing_fails_once_and_skipping_never() {
        let legs = |choice, works| doubts().legs(&[choice], &[works], &[true]);
        let (new, old) = (vec![NEW, OTHER, NEW], Leg::Makes(vec![OLD, OTHER, OLD]));
        assert_eq!(legs(Choice::Commit, true), [Leg::Makes(new.clone())]);
        assert_eq!(legs(Choice::Commit, false), [Leg::Fails(new), old.clone()]);
        let skipped = [old];
        assert_eq!(legs(Choice::Skip, true), skipped);
        assert_eq!(legs(Choice::Skip, false), skipped);
    }

    #[test]
    fn two_routes_that_fail_fail_together() {
        let second = Doubt { route: OTHER, trial: None, ..doubts().list[0] };
        let both = Doubts { list: vec![doubts().list[0], second], ..doubts() };
        let legs = both.legs(&[Choice::Commit; 2], &[false, false], &[true; 2]);
        assert_eq!(legs, [Leg::Fails(vec![NEW, OTHER, NEW]), Leg::Makes(vec![OLD; 3])]);
        let legs = both.legs(&[Choice::Commit; 2], &[true, false], &[true; 2]);
        assert_eq!(legs[1], Leg::Makes(vec![NEW, OLD, NEW]));
    }
}
