//! One iteration on the shop floor: step after step, and what each does.
//!
//! One person, exclusive machines. Repeatedly, of all next steps of all builds, orders and delivered lots, the one that can start earliest
//! is scheduled (`queue.rs` finds it), and never moved again. Starts therefore never go back in time, and one moment per machine and
//! person is all there is to remember.

use std::rc::Rc;

use super::Clock;
use super::bath;
use super::beside::Awaited;
use super::builds::Packed;
use super::event::{Event, Stamp, Stop, What, WorkAt};
use super::job::{self, Job, JobKind, Wanted, Whose};
use super::luck::{Attempt, Luck};
use super::resumed::Rest;
use super::runs::StepRun;
use super::state::{Busy, State};
use crate::model::{Exact, Moment, PartId, RouteId};
use crate::plan::{Shop, StepTable};

/// When a step runs.
#[derive(Clone, Copy, Debug)]
pub(super) struct Run {
    pub start: Moment,
    /// End of the attended part.
    pub attended: Moment,
    pub end: Moment,
}

/// The floor during one iteration.
pub(super) struct Floor<'s, 'a> {
    pub shop: &'s Shop<'a>,
    pub clock: &'s Clock<'a>,
    /// When the last step that was scheduled starts.
    pub now: Moment,
    pub state: &'s mut State,
    pub events: &'s mut Vec<Event>,
    /// To what the jobs belong that begin now.
    pub whose: Whose,
    pub luck: Luck,
    pub packed: &'s mut Packed,
    /// Parts of which a build by a route has begun in an iteration, where others wait.
    pub designed: Vec<(u32, RouteId, PartId)>,
    pub jobs: &'s mut Vec<Job>,
    /// Jobs by index in the order in which they go where several could start at once; those that are done drop out when they are met.
    pub queue: &'s mut Vec<usize>,
    pub in_hand: Moment,
    /// What the iteration is in hand with, where parts have two routes or something runs on; empty where it is all there is.
    pub awaited: Vec<Awaited>,
    /// Notes where each step ran, where that is asked for.
    pub runs: Option<&'s mut Vec<StepRun>>,
}

impl<'a> Floor<'_, 'a> {
    /// Makes what is wanted and returns the moment it is in hand. With `two_ways` some part is made by two routes: the first in hand
    /// counts, and what is not done then is left to run on. Where something of it has been done, the `rest` is made.
    pub fn make(
        &mut self,
        wanted: &[Wanted],
        with_brief: bool,
        (two_ways, rest): (bool, Option<Rest>),
    ) -> Result<Moment, Stop> {
        let (release, whose) = (self.state.release, self.whose);
        let all = wanted;
        let wanted = rest.as_ref().map_or(all, |rest| &rest.make);
        self.in_hand = release;
        self.packed.suit(self.shop);
        let loads = self.packed.start(self.shop, (wanted, with_brief), whose.iteration)?;
        self.clear();
        self.bring_in();
        let runs_on = !self.jobs.is_empty();
        for load in loads.iter() {
            self.begin(Job::new(load, whose, release));
        }
        if two_ways || runs_on {
            let is_left = |w: &&Wanted| rest.as_ref().is_none_or(|rest| rest.is_left(w));
            let left: Vec<Wanted> = all.iter().filter(is_left).copied().collect();
            self.await_first(&left);
        }
        if let Some(rest) = &rest {
            self.take_up(rest)?;
        }
        match self.work()? {
            Some(in_hand) => {
                self.leave_running();
                Ok(in_hand)
            }
            None => Ok(self.first_in_hand().unwrap_or(self.in_hand)),
        }
    }

    /// Step after step until nothing is left to do, or until all that is awaited is in hand: then since when.
    pub(super) fn work(&mut self) -> Result<Option<Moment>, Stop> {
        while let Some((index, run)) = self.earliest() {
            self.now = self.now.max(run.start);
            if !self.awaited.is_empty() {
                let settled = self.first_in_hand().filter(|&in_hand| in_hand <= run.start);
                if settled.is_some() {
                    return Ok(settled);
                }
            }
            match self.jobs[index].load.kind {
                JobKind::Order(_) => self.do_task(index, run)?,
                JobKind::Build | JobKind::Lot => self.do_step(index, run)?,
            }
        }
        if self.jobs.iter().all(Job::is_done) { Ok(None) } else { Err(self.deadlock()) }
    }

    pub(super) fn first_time(&self, job: &Job, step: &StepTable) -> i64 {
        let begun = self.state.step_begun[job.load.route.index()][job.next];
        if begun { 0 } else { step.first_time }
    }

    /// Schedules the next step of a build or lot.
    fn do_step(&mut self, index: usize, run: Run) -> Result<(), Stop> {
        let shop = self.shop;
        let (route, number) = (self.jobs[index].load.route, self.jobs[index].next);
        let step = &shop.route(route).steps[number];
        self.note_step(index, step, run);
        self.use_bath(index, step, run);
        self.enter_step(index, step, run);
        if number == 0 {
            self.count_designs(index);
        }
        self.hold_machines(index, step, run);
        if self.jobs[index].fails {
            return self.fail(index, step, run);
        }
        let job = &mut self.jobs[index];
        job.next += 1;
        job.ready = run.end;
        if job.is_done() {
            self.release(index, run.end);
            let load = Rc::clone(&self.jobs[index].load);
            self.there(self.jobs[index].whose, &load.wanted, run.end);
        } else {
            self.aim(index);
        }
        Ok(())
    }

    /// Settles how the next step of a job will go, and so what it draws.
    pub(super) fn aim(&mut self, index: usize) {
        let job = &mut self.jobs[index];
        let Some(step) = job.look_anew(self.shop) else {
            return;
        };
        let load = &job.load;
        let at = (load.route, job.next);
        let part = self.shop.part(load.wanted[0].part).key;
        let turn = job.whose.turn;
        let attempt = Attempt { turn, part, job: load.number, number: job.attempt };
        job.fails = self.luck.spoils(at, step, attempt);
        job.count(self.shop, step, self.luck.counts(step, job.fails));
    }

    /// A part in several builds counts its design with the one that starts first: those of its route that have not begun leave it out.
    fn count_designs(&mut self, started: usize) {
        let load = Rc::clone(&self.jobs[started].load);
        let of = (self.jobs[started].whose.iteration, load.route);
        let is_open = |w: &Wanted, designed: &[(u32, RouteId, PartId)]| {
            !designed.contains(&(of.0, of.1, w.part))
        };
        // Of hundreds of builds of one part only the first changes anything for the others.
        if !load.wanted.iter().any(|w| is_open(w, &self.designed)) {
            return;
        }
        let waits = |job: &Job| {
            job.load.kind == JobKind::Build
                && job.next == 0
                && (job.whose.iteration, job.load.route) == of
        };
        let others =
            self.jobs.iter_mut().enumerate().filter(|(i, job)| *i != started && waits(job));
        let mut others = others.peekable();
        if others.peek().is_none() {
            return;
        }
        self.designed.extend(load.wanted.iter().map(|w| (of.0, of.1, w.part)));
        for (_, job) in others {
            let open = job.load.wanted.iter().filter(|w| is_open(w, &self.designed)).count();
            job.designs = i64::try_from(open).unwrap_or(i64::MAX);
            job.work_out(self.shop);
        }
    }

    /// Pours what the step's bath needs, and lets pieces carry resin in and liquid out.
    fn use_bath(&mut self, index: usize, step: &StepTable, run: Run) {
        let job = &self.jobs[index];
        let Some(planned) = bath::plan_use(self.shop, self.state, job, run.start) else {
            return;
        };
        let stamp = self.stamp(job, run);
        let open = self.attended_seconds(job, step) + (run.end - run.attended);
        let once = self.first_time(job, step);
        let counts = job.counts;
        for draw in bath::draws(&planned, self.shop, self.state).into_iter().flatten() {
            let draw = job::take(draw, self.shop, self.state);
            self.events.push(stamp.of(What::Draw(draw)));
        }
        let log = (&mut *self.state, &mut *self.events);
        bath::carry_out(&planned, self.shop, log, stamp, (open, once, counts));
    }

    /// What the events of the next step of a job have in common.
    fn stamp(&self, job: &Job, run: Run) -> Stamp {
        Stamp {
            when: run.start,
            iteration: job.whose.iteration,
            part: job.load.part,
            route: Some(job.load.route),
            step: u16::try_from(job.next + 1).unwrap_or(u16::MAX),
        }
    }

    /// Attended seconds of a run of a step, pieces counted.
    pub(super) fn attended_seconds(&self, job: &Job, step: &StepTable) -> i64 {
        step.attended * if step.per_piece { job.load.pieces } else { 1 }
    }

    /// Enters what a step uses: purchases first, then work, machine hours and draws.
    fn enter_step(&mut self, index: usize, step: &StepTable, run: Run) {
        let (shop, job) = (self.shop, &self.jobs[index]);
        let once = self.first_time(job, step);
        let stamp = self.stamp(job, run);
        let work = self.attended_seconds(job, step);
        let (route, number) = (job.load.route, job.next);
        let times = job.counts.runs;
        let has_hold = run.end > run.attended;
        let mut enter = |what: What| self.events.push(stamp.of(what));
        let begun = &mut self.state.route_begun[route.index()];
        if !*begun && shop.scenario.route(route).buy_first.is_some() {
            enter(What::BuyFirst);
        }
        *begun = true;
        if let Some(id) = step.at {
            let bought = &mut self.state.bought[id.index()];
            if shop.is_bought(id) && !*bought {
                enter(What::Purchase(id));
            }
            *bought = true;
            let (seconds, once) = if has_hold { (run.end - run.attended, 0) } else { (work, once) };
            if seconds + once > 0 {
                enter(What::Machine { equipment: id, seconds, times, once });
            }
        }
        if work + once > 0 {
            enter(What::Work { at: WorkAt::Step, seconds: work, times, once });
        }
        for draw in job.draws() {
            enter(What::Draw(job::take(*draw, shop, self.state)));
        }
        self.state.step_begun[route.index()][number] = true;
    }

    /// Machines are held from the start of a step until the next attended step of the build begins, or its last step ends.
    fn hold_machines(&mut self, index: usize, step: &StepTable, run: Run) {
        if run.attended > run.start {
            self.release(index, run.start);
            self.state.person_free = run.attended;
        }
        if let Some(id) = step.at {
            self.state.machines[id.index()] = Busy::HeldBy(index);
            self.jobs[index].holds = true;
        }
        if let Some((id, _)) = step.bath {
            self.state.bath_busy[id.index()] = Busy::HeldBy(index);
            self.jobs[index].holds = true;
        }
    }

    fn release(&mut self, index: usize, moment: Moment) {
        if !std::mem::take(&mut self.jobs[index].holds) {
            return;
        }
        let state = &mut *self.state;
        for busy in state.machines.iter_mut().chain(&mut state.bath_busy) {
            if *busy == Busy::HeldBy(index) {
                *busy = Busy::Until(moment);
            }
        }
    }

    /// A failure is noticed when its share of the step is spent; the build starts again from its first step, a lot is ordered again.
    fn fail(&mut self, index: usize, step: &StepTable, run: Run) -> Result<(), Stop> {
        let spent = (Exact::from(run.end - run.start) * step.spent).to_whole();
        let noticed = run.start + spent;
        self.release(index, noticed);
        if run.attended > run.start {
            self.state.person_free = noticed.min(run.attended);
        }
        let job = &mut self.jobs[index];
        let (route, whose, attempt) = (job.load.route, job.whose, job.attempt + 1);
        if job.load.kind == JobKind::Lot {
            let lot = Rc::clone(&job.load);
            job.next = lot.steps.len();
            return self.order_again(&lot.wanted, noticed, (whose, attempt));
        }
        job.next = 0;
        job.ready = noticed;
        job.attempt = attempt;
        self.one_more(route, (whose, attempt))?;
        self.aim(index);
        Ok(())
    }

    fn deadlock(&self) -> Stop {
        let waiting = self
            .jobs
            .iter()
            .filter(|j| !j.is_done())
            .filter_map(|j| {
                let route = j.load.route;
                let step = self.shop.route(route).steps.get(j.next)?;
                Some((route, j.next + 1, step.at?))
            })
            .collect();
        Stop::Deadlock { iteration: self.whose.iteration, waiting }
    }
}
