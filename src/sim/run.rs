//! A project: iteration after iteration, and perhaps a final.

use super::Clock;
use super::builds::{Crowd, Packed};
use super::event::{Dates, Event, Stamp, Stop, What};
use super::job::{Job, Wanted, Whose};
use super::luck::Luck;
use super::resumed::Rest;
use super::runs::StepRun;
use super::schedule::Floor;
use super::state::State;
use crate::model::{Beside, Exact, ItemId, Moment, PartId, RouteId};
use crate::plan::Shop;

/// The end of the year 9999: dates beyond it have no agreed four-digit form.
const LAST_MOMENT: Moment = 253_402_300_799;

/// A simulation of one project, iteration by iteration. What happens in an iteration never depends on how many follow.
#[derive(Clone, Debug)]
pub struct Simulation<'s, 'a> {
    shop: &'s Shop<'a>,
    clock: Clock<'a>,
    state: State,
    luck: Luck,
    /// Variants of each part in an iteration.
    variants: i64,
    /// Parts that are made by a second route too, in some iterations.
    beside: Vec<Beside>,
    packed: Packed,
    wanted: Vec<Wanted>,
    jobs: Vec<Job>,
    queue: Vec<usize>,
    /// What happened so far.
    pub events: Vec<Event>,
    /// The dates of the iterations so far.
    pub dates: Vec<Dates>,
    /// Where each step ran and what it waited for, where that is asked for.
    pub runs: Option<Vec<StepRun>>,
}

/// The room a simulation worked in, for the next one of the same scenario: it saves time and changes nothing.
#[derive(Debug, Default)]
pub struct Memory {
    state: Option<State>,
    packed: Packed,
    wanted: Vec<Wanted>,
    jobs: Vec<Job>,
    queue: Vec<usize>,
    events: Vec<Event>,
    dates: Vec<Dates>,
}

impl<'s, 'a> Simulation<'s, 'a> {
    /// A project that has not begun.
    pub fn new(shop: &'s Shop<'a>) -> Simulation<'s, 'a> {
        Simulation::resume(shop, State::new(shop))
    }

    /// A project that goes on from a state, without the events that led there.
    pub fn resume(shop: &'s Shop<'a>, state: State) -> Simulation<'s, 'a> {
        Simulation::within(Memory { state: Some(state), ..Memory::default() }, shop, None)
    }

    /// A project that goes on from a state, in the room an earlier one has left.
    pub fn reuse(memory: Memory, shop: &'s Shop<'a>, state: &State) -> Simulation<'s, 'a> {
        Simulation::within(memory, shop, Some(state))
    }

    fn within(memory: Memory, shop: &'s Shop<'a>, from: Option<&State>) -> Simulation<'s, 'a> {
        let Memory { state, packed, wanted, jobs, queue, mut events, mut dates } = memory;
        events.clear();
        dates.clear();
        let state = match (state, from) {
            (Some(mut state), Some(from)) => {
                state.copy(from);
                state
            }
            (Some(state), None) => state,
            (None, from) => from.cloned().unwrap_or_else(|| State::new(shop)),
        };
        Simulation {
            shop,
            clock: Clock::new(&shop.scenario.hours),
            state,
            luck: Luck::Clean,
            variants: 1,
            beside: Vec::new(),
            packed,
            wanted,
            jobs,
            queue,
            events,
            dates,
            runs: None,
        }
    }

    /// Ends the project and leaves its room.
    pub fn leave(self) -> Memory {
        let Simulation { state, packed, wanted, jobs, queue, events, dates, .. } = self;
        Memory { state: Some(state), packed, wanted, jobs, queue, events, dates }
    }

    /// From now on this decides what fails.
    pub fn trust(&mut self, luck: Luck) {
        self.luck = luck;
    }

    /// From now on these are the numbers of the shop: those of another turn of the same sample.
    pub fn turn(&mut self, shop: &'s Shop<'a>) {
        self.shop = shop;
    }

    /// When the last iteration had been evaluated, and when the next version was ready.
    pub fn thought(&self) -> (Moment, Moment) {
        (self.state.evaluated, self.state.release)
    }

    /// The same with several variants of each part in every iteration: that many times its copies. Trials and the final are single.
    #[must_use]
    pub fn with_variants(self, variants: i64) -> Simulation<'s, 'a> {
        Simulation { variants, ..self }
    }

    /// The same with parts that are also made by a second route in some iterations, each at most by one. The first in hand counts; the
    /// slower runs on, and keeps what it holds. Trials and the final go by one route.
    #[must_use]
    pub fn with_beside(self, beside: &[Beside]) -> Simulation<'s, 'a> {
        Simulation { beside: beside.to_vec(), ..self }
    }

    /// The shop it goes on in.
    pub fn shop(&self) -> &'s Shop<'a> {
        self.shop
    }

    /// What was made last.
    pub(super) fn wanted(&self) -> &[Wanted] {
        &self.wanted
    }

    pub(super) fn state_mut(&mut self) -> &mut State {
        &mut self.state
    }

    /// The state now.
    pub fn state(&self) -> &State {
        &self.state
    }

    /// The dips since it was begun or resumed whose pieces may not go in side by side.
    pub fn crowds(&self) -> Vec<Crowd> {
        self.packed.crowds(self.shop)
    }

    /// Lets nothing begin before a moment: the next iteration, or the final, is released then at the earliest.
    pub fn wait_until(&mut self, moment: Moment) {
        for at in [&mut self.state.release, &mut self.state.evaluated, &mut self.state.person_free]
        {
            *at = moment.max(*at);
        }
    }

    /// Runs iteration `n` with the given route of each part. False where no part is made in it any more: then nothing happens.
    ///
    /// # Errors
    /// [`Stop`] where a part cannot be ordered or builds block each other.
    pub fn iterate(&mut self, n: u32, assign: &[RouteId]) -> Result<bool, Stop> {
        let (shop, variants) = (self.shop, self.variants);
        let made = (0..assign.len()).map(PartId::at).filter(|&part| shop.part(part).made_in(n));
        self.wanted.clear();
        self.wanted.extend(made.map(|part| Wanted {
            part,
            route: assign[part.index()],
            copies: shop.part(part).copies * variants,
        }));
        if self.wanted.is_empty() {
            return Ok(false);
        }
        let two_ways = self.want_beside(n);
        let begun = std::mem::take(&mut self.state.under_way);
        let rest = shop.scenario.past.as_ref().filter(|_| begun);
        let rest = rest.map(|past| Rest::of(past, &self.wanted));
        self.make(n, true, (two_ways, rest))?;
        Ok(true)
    }

    /// Makes exactly these pieces in iteration `n`.
    pub(super) fn make_these(
        &mut self,
        n: u32,
        wanted: Vec<Wanted>,
        two_ways: bool,
    ) -> Result<(), Stop> {
        self.wanted = wanted;
        self.make(n, true, (two_ways, None))
    }

    /// Adds what is made by a second route. True if anything is.
    fn want_beside(&mut self, n: u32) -> bool {
        let before = self.wanted.len();
        for beside in self.beside.iter().filter(|b| n <= b.until) {
            if let Some(at) = self.wanted.iter().position(|w| w.part == beside.part) {
                let second = Wanted { route: beside.route, ..self.wanted[at] };
                self.wanted.insert(at + 1, second);
            }
        }
        self.wanted.len() > before
    }

    /// The first iteration of which something still runs on after the last in hand.
    pub fn running(&self) -> Option<u32> {
        self.state.carried.iter().map(|job| job.whose.iteration).min()
    }

    /// The project ends with the last in hand: what still runs on is carried to its end, and what stock has fallen by since is settled there.
    ///
    /// # Errors
    /// As [`Simulation::iterate`].
    pub fn run_out(&mut self) -> Result<(), Stop> {
        let Some(iteration) = self.running() else {
            return Ok(());
        };
        // The redesign after the last iteration does not take place.
        self.state.person_free = self.state.evaluated;
        let (end, iteration) = self.floor(iteration, self.state.last_in_hand).run_out()?;
        if end > LAST_MOMENT {
            return Err(Stop::TooLate { iteration });
        }
        self.settle(Stamp { when: end, iteration, part: None, route: None, step: 0 });
        Ok(())
    }

    /// What still runs on carried to its end, beside what has happened: if the work ended now. `None` where nothing does.
    ///
    /// # Errors
    /// As [`Simulation::iterate`].
    pub fn ended(&self) -> Result<Option<Simulation<'s, 'a>>, Stop> {
        if self.state.carried.is_empty() {
            return Ok(None);
        }
        let mut simulation = Simulation::resume(self.shop, self.state.clone());
        simulation.run_out()?;
        Ok(Some(simulation))
    }

    /// Tries unproven routes before iteration 1: one piece of a part by each, together, as iteration 0. Its in hand is the next release.
    ///
    /// # Errors
    /// As [`Simulation::iterate`].
    pub fn try_out(&mut self, pieces: &[(PartId, RouteId)]) -> Result<(), Stop> {
        self.wanted.clear();
        self.wanted.extend(pieces.iter().map(|&(part, route)| Wanted { part, route, copies: 1 }));
        self.make(0, true, (false, None))?;
        self.end_at_in_hand();
        Ok(())
    }

    /// The last iteration turned out a failure, or a trial that told what it could, when it was in hand: nothing of it is evaluated, and
    /// the next release is that moment. What it cost and took stays.
    pub fn end_at_in_hand(&mut self) {
        if let Some(last) = self.dates.last_mut() {
            (last.evaluated, last.redesigned) = (last.in_hand, last.in_hand);
            self.state.evaluated = last.in_hand;
            self.state.release = last.in_hand;
            self.state.person_free = last.in_hand;
        }
    }

    /// The final on top of what has happened: the accepted design made again, and what still runs on carried to its end. `None` where none
    /// is asked for.
    ///
    /// # Errors
    /// As [`Simulation::iterate`].
    pub fn last(&self, n: u32, assign: &[RouteId]) -> Result<Option<Simulation<'s, 'a>>, Stop> {
        if self.shop.scenario.last.is_none() {
            return Ok(None);
        }
        let mut simulation = Simulation::resume(self.shop, self.state.clone());
        simulation.finish(n, assign, self.state.evaluated)?;
        simulation.run_out()?;
        Ok(Some(simulation))
    }

    /// Makes the final, released at a moment, as iteration `n`. Nothing happens where none is asked for.
    ///
    /// # Errors
    /// As [`Simulation::iterate`].
    pub fn finish(&mut self, n: u32, assign: &[RouteId], release: Moment) -> Result<(), Stop> {
        let shop = self.shop;
        let Some(last) = &shop.scenario.last else {
            return Ok(());
        };
        self.state.release = release;
        self.state.person_free = release;
        let copies = last.copies.map(|slot| shop.values.whole(slot));
        self.wanted.clear();
        self.wanted.extend((0..assign.len()).map(PartId::at).map(|part| Wanted {
            part,
            route: last.route_of(part).unwrap_or(assign[part.index()]),
            copies: copies.unwrap_or(shop.part(part).copies),
        }));
        self.make(n, false, (false, None))
    }

    fn floor(&mut self, iteration: u32, from: Moment) -> Floor<'_, 'a> {
        Floor {
            shop: self.shop,
            clock: &self.clock,
            now: Moment::MIN,
            state: &mut self.state,
            events: &mut self.events,
            whose: Whose { iteration, turn: self.luck.turn() },
            luck: self.luck,
            packed: &mut self.packed,
            designed: Vec::new(),
            jobs: &mut self.jobs,
            queue: &mut self.queue,
            in_hand: from,
            awaited: Vec::new(),
            runs: self.runs.as_mut(),
        }
    }

    fn make(
        &mut self,
        n: u32,
        with_brief: bool,
        (two_ways, rest): (bool, Option<Rest>),
    ) -> Result<(), Stop> {
        let release = self.state.release;
        let wanted = std::mem::take(&mut self.wanted);
        let mut floor = self.floor(n, release);
        let made = floor.make(&wanted, with_brief, (two_ways, rest));
        let luck = floor.luck;
        (self.wanted, self.luck) = (wanted, luck);
        let in_hand = made?;
        if in_hand > LAST_MOMENT {
            return Err(Stop::TooLate { iteration: n });
        }
        self.close(n, in_hand);
        let values = self.shop.values;
        let clock = &self.clock;
        let design = &self.shop.scenario.iterations;
        // The person may still be busy with what runs on.
        let free = in_hand.max(self.state.person_free);
        let evaluated = clock.work(free, values.whole(design.evaluate)).1;
        let redesign = later(values.exact(design.overlap), values.whole(design.redesign));
        let redesigned = clock.work(evaluated, redesign).1;
        self.state.evaluated = evaluated;
        self.state.release = redesigned;
        self.state.person_free = redesigned;
        self.dates.push(Dates { iteration: n, release, in_hand, evaluated, redesigned });
        Ok(())
    }

    /// What the in hand of an iteration settles: the wait since the last one, and what stocks have fallen by.
    fn close(&mut self, iteration: u32, in_hand: Moment) {
        let stamp = Stamp { when: in_hand, iteration, part: None, route: None, step: 0 };
        if self.shop.scenario.iterations.delay_cost_per_day.is_some() {
            self.events.push(stamp.of(What::Wait(in_hand - self.state.last_in_hand)));
        }
        self.settle(stamp);
        self.state.last_in_hand = in_hand;
    }

    /// What stocks have fallen by since they were last settled.
    fn settle(&mut self, stamp: Stamp) {
        for (index, item) in self.shop.items.iter().enumerate() {
            let fallen = self.state.stock_at_in_hand[index] - self.state.stock[index];
            if !item.keep.is_zero() && fallen != 0 {
                self.events.push(stamp.of(What::Kept(ItemId::at(index), fallen)));
            }
        }
        self.state.stock_at_in_hand.clone_from(&self.state.stock);
    }
}

/// What of a redesign comes after the evaluation, in seconds.
fn later(overlap: Exact, redesign: i64) -> i64 {
    if overlap.is_zero() {
        return redesign;
    }
    ((Exact::ONE - overlap) * Exact::from(redesign)).to_whole()
}
