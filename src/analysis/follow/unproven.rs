//! Unproven routes: is it better to commit to them, to try them first, or to leave them alone?
//!
//! Enters: a plan that uses such routes. Leaves: an [`Unproven`]: the expected cost of every policy, what happens if they do not work,
//! what a trial is worth, and from which chance of working on another policy is the best. Each outcome is one simulation.

use std::collections::BTreeMap;

use super::{Choice, Doubts, Figures, Leg, Project};
use crate::model::{Exact, Money, RouteId, day_of};
use crate::plan::{Pace, Plan, Shop};
use crate::sim::Stop;

/// The most unproven routes of one plan that are weighed together.
pub const UNPROVEN_LIMIT: usize = 3;

/// What is best done about a plan's unproven routes.
#[derive(Clone, Debug)]
pub struct Unproven {
    /// The routes.
    pub doubts: Doubts,
    /// Every policy that can be carried out, the best first: least expected avoidable cost.
    pub policies: Vec<Policy>,
    /// What can be said of each route, in the order of `doubts`.
    pub routes: Vec<RouteAdvice>,
    /// What it means if not every route that the best policy relies on works; `None` if it relies on none.
    pub if_fails: Option<IfFails>,
    /// Expected avoidable cost of the best policy if the work ends after the counts that were asked about.
    pub costs: Vec<Money>,
}

/// One choice for each unproven route, and what comes of it.
#[derive(Clone, Debug)]
pub struct Policy {
    /// The choices, in the order of the doubts.
    pub choices: Vec<Choice>,
    /// Expected avoidable cost, unrounded.
    pub cost: Exact,
    /// What can happen, with its chance; the chances sum to 1.
    pub outcomes: Vec<Outcome>,
}

/// One way a policy can turn out.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// How likely it is.
    pub chance: Exact,
    /// True if every route that the policy does not skip works.
    pub works: bool,
    /// Figures at the planned count, with the final.
    pub figures: Figures,
    /// Avoidable cost if the work ends after the counts that were asked about.
    pub costs: Vec<Money>,
}

/// What can be said of one unproven route, with the others left as the best policy has them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RouteAdvice {
    /// The route.
    pub route: RouteId,
    /// Commit less try first, not below 0; `None` where no trial can be made.
    pub trial_worth: Option<Money>,
    /// The chances of working at which another choice becomes the best, rising.
    pub changes: Vec<AdviceChange>,
}

/// A chance of working at which the advice changes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AdviceChange {
    /// The chance, to four decimals.
    pub works: Exact,
    /// The best choice below it.
    pub below: Choice,
    /// The best choice above it.
    pub above: Choice,
}

/// What it means if a route does not work.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct IfFails {
    /// How likely that is.
    pub chance: Exact,
    /// Expected avoidable cost then.
    pub avoidable: Money,
    /// How much more that is than leaving the unproven routes alone (or, where that cannot be done, than if they work).
    pub lost: Money,
    /// Seconds to in hand then, the longest.
    pub seconds: i64,
}

impl Unproven {
    /// The best policy.
    pub fn best(&self) -> &Policy {
        &self.policies[0]
    }

    /// The policy with the given choices, if it can be carried out.
    pub fn policy(&self, choices: &[Choice]) -> Option<&Policy> {
        self.policies.iter().find(|p| p.choices == choices)
    }

    /// The routes the best policy begins with where trials tell well.
    pub fn intended(&self) -> Vec<RouteId> {
        self.doubts.intended(&self.best().choices)
    }
}

impl Policy {
    /// Expected figures; the time is the one that is kept with a chance of at least `sure`.
    pub fn figures(&self, shop: &Shop) -> Figures {
        let minor = shop.scenario.minor();
        let money = |of: fn(&Figures) -> Money| self.expected(|f| of(f).exact()).to_money(minor);
        Figures {
            avoidable: self.cost.to_money(minor),
            outlay: money(|f| f.outlay),
            consumed: money(|f| f.consumed),
            attended: self.expected(|f| f.attended),
            seconds: self.seconds(shop.values.exact(shop.scenario.sure)),
            waste: self.expected(|f| Exact::from_millionths(f.waste)).to_millionths(),
        }
    }

    fn expected(&self, of: impl Fn(&Figures) -> Exact) -> Exact {
        self.outcomes.iter().map(|o| o.chance * of(&o.figures)).sum()
    }

    /// Seconds to in hand that are kept with at least this chance.
    fn seconds(&self, sure: Exact) -> i64 {
        let mut outcomes: Vec<(i64, Exact)> =
            self.outcomes.iter().map(|o| (o.figures.seconds, o.chance)).collect();
        outcomes.sort_unstable();
        let mut sum = Exact::ZERO;
        let reached = outcomes.iter().find(|(_, chance)| {
            sum = sum + *chance;
            sum >= sure
        });
        reached.or(outcomes.last()).map_or(0, |o| o.0)
    }

    /// The chance of being in hand by `due`; `None` where no such date is given.
    pub fn in_time(&self, shop: &Shop) -> Option<Exact> {
        let due = shop.scenario.due?;
        let kept = |o: &&Outcome| day_of(shop.start + o.figures.seconds) <= due;
        Some(self.outcomes.iter().filter(kept).map(|o| o.chance).sum())
    }
}

/// What is best done about the unproven routes of a plan; `None` where there are none.
///
/// # Errors
/// [`Stop`] where no policy can be carried out, why one of them cannot.
pub fn unproven(shop: &Shop, plan: &Plan, counts: &[u32]) -> Result<Option<Unproven>, Stop> {
    let doubts = Doubts::of(shop, &plan.assign);
    if doubts.list.is_empty() {
        return Ok(None);
    }
    Weigh::new(shop, (doubts, plan.pace(shop)), counts).unproven().map(Some)
}

/// The least expected avoidable cost at the planned count, unrounded; `None` where no policy can be carried out.
pub fn expected_cost(shop: &Shop, doubts: Doubts, pace: Pace) -> Option<Exact> {
    let chances: Vec<Exact> = doubts.list.iter().map(|d| d.works).collect();
    let counts = [shop.planned];
    let mut weigh = Weigh::new(shop, (doubts, pace), &counts);
    let policies = weigh.policies();
    policies.iter().filter_map(|p| weigh.policy(p, &chances).ok()).map(|p| p.cost).min()
}

/// Legs that have been run: figures, and costs at the counts asked about.
type Known = BTreeMap<Vec<Leg>, Result<(Figures, Vec<Money>), Stop>>;

/// The outcomes of one plan, each simulated once.
struct Weigh<'s, 'a> {
    shop: &'s Shop<'a>,
    doubts: Doubts,
    pace: Pace,
    counts: &'s [u32],
    known: Known,
}

impl<'s, 'a> Weigh<'s, 'a> {
    fn new(shop: &'s Shop<'a>, (doubts, pace): (Doubts, Pace), counts: &'s [u32]) -> Weigh<'s, 'a> {
        Weigh { shop, doubts, pace, counts, known: Known::new() }
    }

    fn unproven(mut self) -> Result<Unproven, Stop> {
        let chances: Vec<Exact> = self.doubts.list.iter().map(|d| d.works).collect();
        let mut policies = Vec::new();
        let mut stopped = None;
        for choices in self.policies() {
            match self.policy(&choices, &chances) {
                Ok(policy) => policies.push(policy),
                Err(stop) => stopped = Some(stop),
            }
        }
        policies.sort_by(|a, b| (a.cost, &a.choices).cmp(&(b.cost, &b.choices)));
        let Some(best) = policies.first() else {
            return Err(stopped.unwrap_or(Stop::TooLarge { iteration: 1 }));
        };
        let minor = self.shop.scenario.minor();
        let expected = |at: usize| -> Exact {
            best.outcomes.iter().map(|o| o.chance * o.costs[at].exact()).sum()
        };
        let costs = (0..self.counts.len()).map(|at| expected(at).to_money(minor)).collect();
        let if_fails = self.if_fails(best, &policies);
        let choices = best.choices.clone();
        let routes = (0..chances.len()).map(|r| self.advice(r, &choices, &chances)).collect();
        Ok(Unproven { doubts: self.doubts, policies, routes, if_fails, costs })
    }

    /// Every combination of choices; a route without a trial cannot be tried.
    fn policies(&self) -> Vec<Vec<Choice>> {
        self.doubts.list.iter().fold(vec![Vec::new()], |heads, doubt| {
            let choices = choices(doubt.trial.is_some());
            heads
                .iter()
                .flat_map(|head| {
                    choices.iter().map(|&choice| [head.as_slice(), &[choice]].concat())
                })
                .collect()
        })
    }

    /// A policy where the routes work with the given chances. What cannot happen is not looked at.
    fn policy(&mut self, choices: &[Choice], chances: &[Exact]) -> Result<Policy, Stop> {
        let count = choices.len();
        let mut outcomes = Vec::new();
        for bits in 0..1u32 << (2 * count) {
            let is = |at: usize| bits >> at & 1 == 1;
            let works: Vec<bool> = (0..count).map(is).collect();
            let right: Vec<bool> = (0..count).map(|i| is(count + i)).collect();
            let chance = self.chance((choices, chances), &works, &right);
            if chance.is_zero() {
                continue;
            }
            let legs = self.doubts.legs(choices, &works, &right);
            let (figures, costs) = self.run(legs)?;
            let relied = |i: usize| choices[i] == Choice::Skip || works[i];
            outcomes.push(Outcome { chance, works: (0..count).all(relied), figures, costs });
        }
        let cost = outcomes.iter().map(|o| o.chance * o.figures.avoidable.exact()).sum();
        Ok(Policy { choices: choices.to_vec(), cost, outcomes })
    }

    /// The chance that these routes work and these trials tell rightly. Where no trial is made, and where nothing rests on whether a route
    /// works, one case stands for both.
    fn chance(
        &self,
        (choices, chances): (&[Choice], &[Exact]),
        works: &[bool],
        right: &[bool],
    ) -> Exact {
        let of = |yes: bool, chance: Exact| if yes { chance } else { Exact::ONE - chance };
        let each = self.doubts.list.iter().enumerate().map(|(i, doubt)| {
            let tells = match (choices[i], doubt.trial) {
                (Choice::TryFirst, Some((_, tells))) => tells,
                _ => Exact::ONE,
            };
            let works_with = if choices[i] == Choice::Skip { Exact::ONE } else { chances[i] };
            of(works[i], works_with) * of(right[i], tells)
        });
        each.fold(Exact::ONE, |product, chance| product * chance)
    }

    fn run(&mut self, legs: Vec<Leg>) -> Result<(Figures, Vec<Money>), Stop> {
        let (shop, counts, pace) = (self.shop, self.counts, self.pace);
        let last = counts.iter().copied().max().unwrap_or(0).max(shop.planned);
        let done = self.known.entry(legs).or_insert_with_key(|legs| {
            let project = Project::follow(shop, (legs, pace), last, &with(counts, shop.planned))?;
            let costs = counts.iter().map(|&n| project.cost_at(n)).collect();
            Ok((project.figures(shop), costs))
        });
        done.clone()
    }

    fn if_fails(&self, best: &Policy, policies: &[Policy]) -> Option<IfFails> {
        let minor = self.shop.scenario.minor();
        let mean = |works: bool| {
            let of = || best.outcomes.iter().filter(|o| o.works == works);
            let chance: Exact = of().map(|o| o.chance).sum();
            let sum: Exact = of().map(|o| o.chance * o.figures.avoidable.exact()).sum();
            (!chance.is_zero()).then(|| (chance, sum / chance))
        };
        let (chance, cost) = mean(false)?;
        let alone = policies.iter().find(|p| p.choices.iter().all(|&c| c == Choice::Skip));
        let against = alone.map(|p| p.cost).or(mean(true).map(|m| m.1)).unwrap_or(cost);
        let failing = best.outcomes.iter().filter(|o| !o.works);
        Some(IfFails {
            chance,
            avoidable: cost.to_money(minor),
            lost: (cost - against).to_money(minor),
            seconds: failing.map(|o| o.figures.seconds).max().unwrap_or(0),
        })
    }

    /// The lines of the choices for one route over its chance to work, the others as they are.
    fn advice(&mut self, at: usize, best: &[Choice], chances: &[Exact]) -> RouteAdvice {
        let doubt = self.doubts.list[at];
        let mut lines = Vec::new();
        for &choice in choices(doubt.trial.is_some()) {
            let mut choices = best.to_vec();
            choices[at] = choice;
            let mut cost = |works: Exact| {
                let mut chances = chances.to_vec();
                chances[at] = works;
                Some(self.policy(&choices, &chances).ok()?.cost)
            };
            if let Some((from, to)) = cost(Exact::ZERO).zip(cost(Exact::ONE)) {
                lines.push(Line { choice, from, to });
            }
        }
        let cost = |choice| lines.iter().find(|l| l.choice == choice).map(|l| l.at(doubt.works));
        let worth = cost(Choice::Commit).zip(cost(Choice::TryFirst)).map(|(commit, trial)| {
            (commit - trial).max(Exact::ZERO).to_money(self.shop.scenario.minor())
        });
        RouteAdvice { route: doubt.route, trial_worth: worth, changes: changes(&lines) }
    }
}

fn choices(can_be_tried: bool) -> &'static [Choice] {
    if can_be_tried {
        &[Choice::Skip, Choice::Commit, Choice::TryFirst]
    } else {
        &[Choice::Skip, Choice::Commit]
    }
}

fn with(counts: &[u32], planned: u32) -> Vec<u32> {
    let mut all = counts.to_vec();
    if !all.contains(&planned) {
        all.push(planned);
    }
    all
}

/// The expected cost of a choice: straight in the chance that the route works.
#[derive(Clone, Copy, Debug)]
struct Line {
    choice: Choice,
    /// Where it never works.
    from: Exact,
    /// Where it works for certain.
    to: Exact,
}

impl Line {
    fn at(&self, works: Exact) -> Exact {
        self.from + (self.to - self.from) * works
    }

    /// Where two lines cross between 0 and 1.
    fn crossing(&self, other: &Line) -> Option<Exact> {
        let slopes = (self.to - self.from) - (other.to - other.from);
        if slopes.is_zero() {
            return None;
        }
        let at = (other.from - self.from) / slopes;
        (at > Exact::ZERO && at < Exact::ONE).then_some(at)
    }
}

/// Where the lowest of some lines changes, from 0 to 1.
fn changes(lines: &[Line]) -> Vec<AdviceChange> {
    let mut ends = vec![Exact::ZERO, Exact::ONE];
    for (at, line) in lines.iter().enumerate() {
        ends.extend(lines[at + 1..].iter().filter_map(|other| line.crossing(other)));
    }
    ends.sort_unstable();
    ends.dedup();
    let half = Exact::ONE / Exact::from(2i64);
    let lowest = |works: Exact| lines.iter().map(|l| (l.at(works), l.choice)).min().map(|l| l.1);
    // Between two neighbouring crossings one line is the lowest throughout.
    let best: Vec<Option<Choice>> = ends.windows(2).map(|w| lowest((w[0] + w[1]) * half)).collect();
    (1..best.len())
        .filter_map(|at| {
            let (below, above) = best[at - 1].zip(best[at])?;
            (below != above).then(|| AdviceChange { works: ends[at].half_away(4), below, above })
        })
        .collect()
}
