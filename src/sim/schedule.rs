//! One iteration on the shop floor: which step goes next, and when.
//!
//! One person, exclusive machines. Repeatedly, of all next steps of all builds, orders and delivered lots, the one that can start earliest
//! is scheduled, and never moved again. Starts therefore never go back in time, and one moment per machine and person is all there is to
//! remember.

use super::bath::{self, Washed};
use super::builds::{self, Packed};
use super::event::{Event, Stop, What, WorkAt};
use super::job::{self, Held, Job, JobKind, Wanted};
use super::luck::{Attempt, Luck};
use super::state::{Busy, State};
use super::Clock;
use crate::model::{DAY, EquipmentId, Exact, Moment, PartId, day_of};
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
    pub state: &'s mut State,
    pub events: &'s mut Vec<Event>,
    pub iteration: u32,
    pub luck: Luck,
    packed: &'s mut Packed,
    /// Parts of which a build has begun.
    designed: Vec<PartId>,
    pub(super) jobs: Vec<Job>,
    pub(super) in_hand: Moment,
}

impl<'s, 'a> Floor<'s, 'a> {
    /// A floor on which nothing has been released yet.
    pub fn new(
        shop: &'s Shop<'a>,
        state: &'s mut State,
        events: &'s mut Vec<Event>,
        (packed, iteration): (&'s mut Packed, u32),
    ) -> Floor<'s, 'a> {
        Floor {
            shop,
            state,
            events,
            iteration,
            luck: Luck::Clean,
            packed,
            designed: Vec::new(),
            jobs: Vec::new(),
            in_hand: Moment::MIN,
        }
    }

    /// Makes what is wanted and returns the moment it is in hand.
    pub fn make(&mut self, wanted: &[Wanted], with_brief: bool) -> Result<Moment, Stop> {
        self.in_hand = self.state.release;
        let at = (self.state.release, self.iteration);
        self.jobs = builds::jobs(self.shop, self.packed, (wanted, with_brief), at)?;
        if self.luck != Luck::Clean {
            (0..self.jobs.len()).for_each(|index| self.aim(index));
        }
        while self.jobs.iter().any(|j| !j.is_done(self.shop)) {
            let (index, run) = self.earliest().ok_or_else(|| self.deadlock())?;
            match self.jobs[index].kind {
                JobKind::Order(_) => self.do_task(index, run)?,
                JobKind::Build | JobKind::Lot => self.do_step(index, run)?,
            }
        }
        Ok(self.in_hand)
    }

    /// The job whose next step can start earliest. Ties: the larger volume, then the first part's name, then the route's.
    fn earliest(&self) -> Option<(usize, Run)> {
        let mut best: Option<(usize, Run)> = None;
        for (index, job) in self.jobs.iter().enumerate() {
            let Some(run) = self.next_run(index, job) else {
                continue;
            };
            let better = best.is_none_or(|(at, have)| {
                let other = &self.jobs[at];
                (run.start, other.volume, job.wanted[0].part, job.route)
                    < (have.start, job.volume, other.wanted[0].part, other.route)
            });
            if better {
                best = Some((index, run));
            }
        }
        best
    }

    /// When the next step of a job could run; `None` where it is done or its machine is held without a known end.
    fn next_run(&self, index: usize, job: &Job) -> Option<Run> {
        if job.is_done(self.shop) {
            return None;
        }
        if let JobKind::Order(tasks) = &job.kind {
            return Some(self.task_run(job, tasks[job.next].seconds));
        }
        let step = &self.shop.route(job.route).steps[job.next];
        let mut from = job.ready;
        if let Some(id) = step.at {
            from = from.max(free(self.state.machines[id.index()], index)?);
            if self.shop.is_bought(id) && !self.state.bought[id.index()] {
                from = from.max(self.state.machine_from[id.index()]);
            }
        }
        if let Some((id, _)) = step.bath {
            from = from.max(free(self.state.bath_busy[id.index()], index)?);
            let planned = bath::plan_use(self.shop, self.state, job, from)?;
            let mut draws = bath::draws(&planned, self.shop, self.state);
            draws.extend(&job.draws);
            from = from.max(job::draws_from(&draws, self.state));
        } else {
            from = from.max(job::draws_from(&job.draws, self.state));
        }
        Some(self.step_run(job, step, from))
    }

    fn task_run(&self, job: &Job, seconds: i64) -> Run {
        let start = if seconds > 0 {
            self.clock().fit(job.ready.max(self.state.person_free), seconds)
        } else {
            job.ready
        };
        Run { start, attended: start + seconds, end: start + seconds }
    }

    /// The earliest run of a step from a moment on that keeps to opening hours and does not touch a day its machine is down.
    fn step_run(&self, job: &Job, step: &StepTable, from: Moment) -> Run {
        let mut from = from;
        loop {
            let run = self.run_from(job, step, from);
            match step.at.and_then(|id| self.down_day(id, run)) {
                Some(day) => from = (day + 1) * DAY,
                None => return run,
            }
        }
    }

    fn run_from(&self, job: &Job, step: &StepTable, from: Moment) -> Run {
        let pieces = if step.per_piece { job.pieces } else { 1 };
        let once = self.first_time(job, step);
        let (start, attended) = if step.attended * pieces + once == 0 {
            (from, from)
        } else {
            let from = from.max(self.state.person_free);
            if step.flowing {
                self.clock().work(from, step.attended * pieces + once)
            } else {
                self.clock().pieces(from, step.attended + once, step.attended, pieces)
            }
        };
        let hold = job.hold(step);
        let held = attended + hold.first;
        let end = if hold.overnight { self.clock().morning_after(held) } else { held };
        Run { start, attended, end }
    }

    fn down_day(&self, id: EquipmentId, run: Run) -> Option<i64> {
        let down = &self.shop.scenario.equipment[id.index()].down;
        let first = down.partition_point(|&d| d < day_of(run.start));
        // The last touched day of a half-open stretch; a step without length touches the day it is on.
        let last = day_of((run.end - 1).max(run.start));
        down.get(first).copied().filter(|&d| d <= last)
    }

    fn first_time(&self, job: &Job, step: &StepTable) -> i64 {
        let begun = self.state.step_begun[job.route.index()][job.next];
        if begun { 0 } else { step.first_time }
    }

    fn clock(&self) -> Clock<'a> {
        Clock::new(&self.shop.scenario.hours)
    }

    /// Schedules the next step of a build or lot.
    fn do_step(&mut self, index: usize, run: Run) -> Result<(), Stop> {
        let shop = self.shop;
        let (route, number) = (self.jobs[index].route, self.jobs[index].next);
        let step = &shop.route(route).steps[number];
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
        if job.is_done(shop) {
            self.release(index, run.end);
            self.in_hand = self.in_hand.max(run.end);
        } else {
            self.aim(index);
        }
        Ok(())
    }

    /// Settles how the next step of a job will go, and so what it draws.
    pub(super) fn aim(&mut self, index: usize) {
        let job = &mut self.jobs[index];
        let (route, next) = (job.route, job.next);
        let step = self.shop.route(route).steps.get(next);
        let Some(step) = step.filter(|_| !matches!(job.kind, JobKind::Order(_))) else {
            return;
        };
        let attempt = Attempt {
            part: self.shop.part(job.wanted[0].part).key,
            job: job.number,
            number: job.attempt,
        };
        job.fails = self.luck.spoils((route, next), step, attempt);
        job.counts = self.luck.counts(step, job.fails);
        job.draws = job::draws(job, self.shop);
    }

    /// A part in several builds counts its design with the one that starts first: those of its route that have not begun leave it out.
    fn count_designs(&mut self, started: usize) {
        let parts: Vec<_> = self.jobs[started].wanted.iter().map(|w| w.part).collect();
        self.designed.extend(parts);
        for index in 0..self.jobs.len() {
            let job = &self.jobs[index];
            let waits = job.kind == JobKind::Build && job.next == 0 && index != started;
            if !waits || job.route != self.jobs[started].route {
                continue;
            }
            let open = job.wanted.iter().filter(|w| !self.designed.contains(&w.part)).count();
            let job = &mut self.jobs[index];
            job.designs = i64::try_from(open).unwrap_or(i64::MAX);
            job.draws = job::draws(job, self.shop);
        }
    }

    /// Pours what the step's bath needs, and lets pieces carry resin in and liquid out.
    fn use_bath(&mut self, index: usize, step: &StepTable, run: Run) {
        let job = &self.jobs[index];
        let Some(planned) = bath::plan_use(self.shop, self.state, job, run.start) else {
            return;
        };
        let event = self.step_event(job, run);
        let mut draws = bath::draws(&planned, self.shop, self.state);
        job::take(&mut draws, self.shop, self.state);
        self.events
            .extend(draws.into_iter().map(|d| Event { what: What::Draw(d), ..event.clone() }));
        let open = self.attended_seconds(job, step) + (run.end - run.attended);
        let once = self.first_time(job, step);
        let counts = self.jobs[index].counts;
        let moved = bath::carry_out(&planned, self.shop, self.state, &event, (open, once, counts));
        self.events.extend(moved);
        if let Some(resin) = planned.resin {
            let none = Washed { baths: Vec::new(), each: resin.each };
            self.jobs[index].washed.get_or_insert(none).baths.push(planned.bath);
        }
    }

    /// An event of the next step of a job; what it is is filled in later.
    fn step_event(&self, job: &Job, run: Run) -> Event {
        Event {
            when: run.start,
            iteration: self.iteration,
            part: job.part(),
            route: Some(job.route),
            step: u16::try_from(job.next + 1).unwrap_or(u16::MAX),
            what: What::BuyFirst,
        }
    }

    /// Attended seconds of a run of a step, pieces counted.
    fn attended_seconds(&self, job: &Job, step: &StepTable) -> i64 {
        step.attended * if step.per_piece { job.pieces } else { 1 }
    }

    /// Enters what a step uses: purchases first, then work, machine hours and draws.
    fn enter_step(&mut self, index: usize, step: &StepTable, run: Run) {
        let shop = self.shop;
        let once = self.first_time(&self.jobs[index], step);
        let event = self.step_event(&self.jobs[index], run);
        let work = self.attended_seconds(&self.jobs[index], step);
        let job = &mut self.jobs[index];
        let (route, number) = (job.route, job.next);
        let times = job.counts.runs;
        let mut draws = std::mem::take(&mut job.draws);
        let has_hold = run.end > run.attended;
        let mut enter = |what: What| {
            self.events.push(Event { what, ..event.clone() });
        };
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
            enter(What::Work {
                at: WorkAt::Step,
                seconds: work,
                times,
                once,
            });
        }
        job::take(&mut draws, shop, self.state);
        for draw in draws {
            enter(What::Draw(draw));
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
            *self.state.machine(id) = Busy::HeldBy(index);
            self.jobs[index].held.push(Held::Machine(id));
        }
        if let Some((id, _)) = step.bath {
            self.state.bath_busy[id.index()] = Busy::HeldBy(index);
            self.jobs[index].held.push(Held::Bath(id));
        }
    }

    fn release(&mut self, index: usize, moment: Moment) {
        for held in std::mem::take(&mut self.jobs[index].held) {
            match held {
                Held::Machine(id) => *self.state.machine(id) = Busy::Until(moment),
                Held::Bath(id) => self.state.bath_busy[id.index()] = Busy::Until(moment),
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
        let (route, attempt) = (job.route, job.attempt + 1);
        if job.kind == JobKind::Lot {
            job.next = self.shop.route(route).steps.len();
            let lot = job.wanted.clone();
            return self.order_again(lot, noticed, attempt);
        }
        job.next = 0;
        job.washed = None;
        job.ready = noticed;
        job.attempt = attempt;
        self.one_more(route, attempt)?;
        self.aim(index);
        Ok(())
    }

    fn deadlock(&self) -> Stop {
        let waiting = self
            .jobs
            .iter()
            .filter(|j| !j.is_done(self.shop))
            .filter_map(|j| {
                let step = self.shop.route(j.route).steps.get(j.next)?;
                Some((j.route, j.next + 1, step.at?))
            })
            .collect();
        Stop::Deadlock { iteration: self.iteration, waiting }
    }
}

/// From when a machine or bath is free for a job; `None` while another job holds it without a known end.
fn free(busy: Busy, index: usize) -> Option<Moment> {
    match busy {
        Busy::HeldBy(holder) if holder != index => None,
        Busy::HeldBy(_) => Some(Moment::MIN),
        Busy::Until(moment) => Some(moment),
    }
}
