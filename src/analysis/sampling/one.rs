//! One sample: what is open is drawn, and every plan is run with the same draws.

use std::borrow::Cow;

use crate::analysis::follow::{Choice, Doubts, Leg, PlanResult, begin};
use crate::ledger::Total;
use crate::model::{Beside, Exact, Money, RouteId, Scenario, Variants};
use crate::plan::{Course, FINALS, Key, Shop, Spreads, Values, iterations};
use crate::sim::{Event, Luck, Memory, Simulation, State, Stop};
use crate::value::{FastTotals, Prices};

/// What a plan came to in a sample.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Drawing {
    /// Avoidable cost, the final included; infinite where the plan could not be carried out.
    pub avoidable: f64,
    /// Outlay, the final included.
    pub outlay: f64,
    /// Seconds from start to the last in hand.
    pub seconds: i64,
    /// Seconds from the last release to the last in hand.
    pub last: i64,
}

impl Drawing {
    /// Something stopped the plan.
    const STOPPED: Drawing = Drawing {
        avoidable: f64::INFINITY,
        outlay: f64::INFINITY,
        seconds: i64::MAX,
        last: i64::MAX,
    };

    /// False where the plan could not be carried out.
    pub fn is_done(&self) -> bool {
        self.seconds != i64::MAX
    }
}

/// One thing a project does in a sample: an iteration by its number, or a final by its number from 0.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Turn {
    Iteration(u32),
    Final(u32),
}

impl Turn {
    /// The word by which its draws are addressed.
    fn word(self) -> u32 {
        match self {
            Turn::Iteration(n) => n,
            Turn::Final(k) => FINALS + k,
        }
    }
}

/// Iterations after those that are behind, a final, and for each refusal a redesign, one more iteration and another final.
fn turns(course: &Course, done: u32) -> Vec<Turn> {
    let first = (done + 1..=course.count).map(Turn::Iteration);
    let rest = (0..course.finals).flat_map(|k| {
        let again = (k > 0).then_some(Turn::Iteration(course.count + k));
        again.into_iter().chain([Turn::Final(k)])
    });
    first.chain(rest).collect()
}

/// How a plan is followed: its routes, what is done about those that are unproven, its variants and second routes.
#[derive(Clone, Debug)]
pub(super) struct PlanToRun {
    plain: Vec<Leg>,
    doubts: Option<(Doubts, Vec<Choice>)>,
    variants: Option<Variants>,
    beside: Vec<Beside>,
}

impl PlanToRun {
    /// By the best policy where routes are unproven.
    pub fn of(result: &PlanResult) -> PlanToRun {
        let doubts = result.unproven.as_ref();
        PlanToRun {
            plain: vec![Leg::Makes(result.plan.assign.clone())],
            doubts: doubts.map(|u| (u.doubts.clone(), u.best().choices.clone())),
            variants: result.plan.variants,
            beside: result.plan.beside.clone(),
        }
    }

    /// What happens in a sample: whether a route works and its trial tells rightly is drawn once.
    fn legs(&self, shop: &Shop, key: Key) -> Cow<'_, [Leg]> {
        let Some((doubts, choices)) = &self.doubts else {
            return Cow::Borrowed(&self.plain);
        };
        let happens = |route: RouteId, word: u64, chance: Exact| {
            let key = key.of(Key::named(&shop.scenario.route(route).name)).with(word);
            key.uniform() < chance.to_f64_lossy()
        };
        let chances = |route: RouteId| {
            let unproven = shop.scenario.route(route).unproven;
            let works = unproven.map_or(Exact::ONE, |u| shop.values.exact(u.works));
            let tells = unproven.and_then(|u| u.trial).map(|t| shop.values.exact(t.tells));
            (works, tells.unwrap_or(Exact::ONE))
        };
        let routes = || doubts.list.iter().map(|d| d.route);
        let works: Vec<bool> = routes().map(|r| happens(r, WORKS, chances(r).0)).collect();
        let right: Vec<bool> = routes().map(|r| happens(r, TELLS, chances(r).1)).collect();
        Cow::Owned(doubts.legs(choices, &works, &right))
    }

    /// Variants in an iteration, and how many of the drawn iterations are made: fewer where each makes several.
    fn pace(&self, shop: &Shop, count: u32) -> (i64, u32) {
        let Some(stated) = self.variants else {
            return (1, count);
        };
        let variants = shop.values.whole(stated.count).max(1);
        let done = shop.done();
        let most = match count.saturating_sub(done) {
            0 => done,
            left => done + iterations(left, variants, shop.values.exact(stated.worth)),
        };
        (variants, most)
    }
}

/// The words by which it is drawn whether a route works, and whether its trial tells rightly.
const WORKS: u64 = 1;
const TELLS: u64 = 2;
/// The turns of a trial and of an iteration that fails for certain; no iteration and no final has such a number.
const TRIAL: u32 = FINALS - 1;
const FAILS: u32 = FINALS - 2;

/// Draws samples of a scenario, one after another, in any order.
pub(super) struct Sampler<'p> {
    spreads: &'p Spreads,
    plans: &'p [PlanToRun],
    root: Key,
    /// The likely tables.
    likely: Shop<'p>,
    /// The numbers of a sample. Each sample draws all that is open anew, so that nothing of the last one is left in them.
    base: Values,
    /// The same for each of its turns, with what is drawn in each.
    values: Vec<Values>,
    /// Kept from sample to sample where no price is drawn.
    prices: Option<Prices>,
    /// The room of each plan.
    memories: Vec<Memory>,
    /// Money that has left the account, or is owed.
    spent: f64,
}

/// What all plans came to in one sample.
pub(super) struct Sample {
    pub outcomes: Vec<Drawing>,
    /// Iterations before the first final.
    pub count: u32,
    /// True where the horizon cut it.
    pub cut: bool,
}

impl<'p> Sampler<'p> {
    /// `likely` are the numbers of which nothing is drawn.
    pub fn new(
        (scenario, likely): (&'p Scenario, &'p Values),
        spreads: &'p Spreads,
        plans: &'p [PlanToRun],
        seed: u64,
    ) -> Sampler<'p> {
        Sampler {
            spreads,
            plans,
            root: Key::new(seed),
            // Tables of its own: threads that share them would wait for each other at every count of who uses them.
            likely: Shop::drawn(scenario, likely),
            base: likely.clone(),
            values: Vec::new(),
            prices: None,
            memories: plans.iter().map(|_| Memory::default()).collect(),
            spent: outlay_so_far(scenario),
        }
    }

    /// Runs every plan in a sample.
    pub fn run(&mut self, number: u32) -> Sample {
        let key = self.root.with(u64::from(number));
        let (course, turns) = self.draw(key);
        let values = std::mem::take(&mut self.values);
        let shops = self.shops(&values[..turns.len()]);
        let mut prices = self.prices.take().filter(|_| !self.spreads.moves_prices());
        let each = self.spreads.moves_prices_in_each();
        let mut pay = |shop: &Shop, events: &[Event]| {
            if each {
                prices = None;
            }
            prices.get_or_insert_with(|| Prices::new(shop)).totals(shop, events)
        };
        let start = State::new(&shops[0]);
        let count = course.count;
        let spent = self.spent;
        let project =
            Drawn { turns: &turns, count, shops: &shops, start: &start, each, key, spent };
        let outcomes =
            self.plans.iter().zip(&mut self.memories).map(|(plan, memory)| {
                project.run(plan, memory, &mut pay).unwrap_or(Drawing::STOPPED)
            });
        let outcomes = outcomes.collect();
        self.prices = prices;
        self.values = values;
        Sample { outcomes, count: course.count, cut: course.cut }
    }

    /// Draws what is open: the course of a sample, and the numbers of each of its turns.
    fn draw(&mut self, key: Key) -> (Course, Vec<Turn>) {
        let (scenario, spreads) = (self.likely.scenario, self.spreads);
        spreads.once(scenario, key, &mut self.base);
        let course = spreads.course(key, &self.base);
        let turns = turns(&course, scenario.done());
        if self.values.len() < turns.len() {
            self.values.resize(turns.len(), self.likely.values.clone());
        }
        for (values, turn) in self.values.iter_mut().zip(&turns) {
            spreads.same(&self.base, values);
            spreads.each(scenario, (key, turn.word()), values);
        }
        (course, turns)
    }

    fn shops<'v>(&self, values: &'v [Values]) -> Vec<Shop<'v>>
    where
        'p: 'v,
    {
        let scenario: &'v Scenario = self.likely.scenario;
        if !self.spreads.share_tables() {
            return values.iter().map(|v| Shop::drawn(scenario, v)).collect();
        }
        let first = if self.spreads.keeps_tables() {
            Some(self.likely.clone())
        } else {
            values.first().map(|v| Shop::drawn(scenario, v))
        };
        values.iter().filter_map(|v| Some(first.as_ref()?.beside(v))).collect()
    }
}

/// Money that has left the account, or is owed.
fn outlay_so_far(scenario: &Scenario) -> f64 {
    let entries = scenario.past.iter().flat_map(|past| &past.entries);
    let paid = entries.filter(|e| e.counts_in(Total::Outlay)).map(|e| e.amount);
    paid.sum::<Money>().exact().to_f64_lossy()
}

/// A project of one sample.
struct Drawn<'s, 'a> {
    turns: &'s [Turn],
    /// Iterations before the first final.
    count: u32,
    shops: &'s [Shop<'a>],
    start: &'s State,
    /// True where each turn has prices of its own.
    each: bool,
    key: Key,
    /// Money that has left the account, or is owed.
    spent: f64,
}

impl<'a> Drawn<'_, 'a> {
    fn run(
        &self,
        plan: &PlanToRun,
        memory: &mut Memory,
        pay: &mut impl FnMut(&Shop, &[Event]) -> Result<FastTotals, Stop>,
    ) -> Result<Drawing, Stop> {
        let (variants, most) = plan.pace(&self.shops[0], self.count);
        let mut simulation = Simulation::reuse(std::mem::take(memory), &self.shops[0], self.start)
            .with_variants(variants)
            .with_beside(&plan.beside);
        let outcome = self.carry_out(&mut simulation, (plan, most), pay).map(|totals| {
            let past = self.shops[0].scenario.past.as_ref();
            let last = simulation.dates.last().or_else(|| past?.dates.last());
            Drawing {
                avoidable: totals.avoidable,
                // What has left the account already is in no sample's own.
                outlay: totals.outlay + self.spent,
                seconds: last.map_or(0, |d| d.in_hand - self.shops[0].start),
                last: last.map_or(0, |d| d.in_hand - d.release),
            }
        });
        *memory = simulation.leave();
        outcome
    }

    /// Iterations and finals, one after the other; those above `most` are needless up to the count. Each is paid before the next begins, at
    /// the prices of the sample or its own, so that its events stay close at hand.
    fn carry_out<'s>(
        &'s self,
        simulation: &mut Simulation<'s, 'a>,
        (plan, most): (&PlanToRun, u32),
        pay: &mut impl FnMut(&Shop, &[Event]) -> Result<FastTotals, Stop>,
    ) -> Result<FastTotals, Stop> {
        let mut totals = FastTotals::default();
        let mut paid = |simulation: &mut Simulation<'s, 'a>, shop: &Shop| {
            if !simulation.events.is_empty() {
                totals += pay(shop, &simulation.events)?;
                simulation.events.clear();
            }
            Ok(())
        };
        let legs = plan.legs(&self.shops[0], self.key);
        let done = self.shops[0].done();
        let assign = begin(simulation, &legs, done + 1, |simulation, leg| {
            let turn = if matches!(leg, Leg::Trial(_)) { TRIAL } else { FAILS };
            simulation.trust(Luck::Drawn(self.key, turn));
        })?;
        let mut prices = &self.shops[0];
        let mut made = true;
        let mut n = done;
        for (turn, shop) in self.turns.iter().zip(self.shops) {
            paid(simulation, prices)?;
            if self.each {
                prices = shop;
            }
            simulation.turn(shop);
            simulation.trust(Luck::Drawn(self.key, turn.word()));
            match *turn {
                Turn::Iteration(number) if most < number && number <= self.count => {}
                Turn::Iteration(number) => {
                    n = number;
                    made = simulation.iterate(n, assign)?;
                }
                Turn::Final(k) => {
                    let (evaluated, redesigned) = simulation.thought();
                    // After a refusal the redesign comes first, also where no part is left for another iteration.
                    let release = if made || k == 0 { evaluated } else { redesigned };
                    simulation.finish(n + 1, assign, release)?;
                }
            }
        }
        // What runs on does so with the numbers of the turn it is in; its failures are drawn for the turn it began in.
        simulation.run_out()?;
        paid(simulation, prices)?;
        Ok(totals)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_refused_final_is_followed_by_an_iteration_and_another_final() {
        let course = Course { count: 2, finals: 2, cut: false };
        let expected = [
            Turn::Iteration(1),
            Turn::Iteration(2),
            Turn::Final(0),
            Turn::Iteration(3),
            Turn::Final(1),
        ];
        assert_eq!(turns(&course, 0), expected);
        assert_eq!(turns(&course, 1), expected[1..]);
        assert_eq!(turns(&Course { finals: 0, ..course }, 0), expected[..2]);
    }
}
