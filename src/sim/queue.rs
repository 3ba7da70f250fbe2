//! Which step goes next: of all next steps of all jobs on the floor the one that can start earliest, and when it runs.

use super::bath;
use super::job::{self, Job, JobKind};
use super::schedule::{Floor, Run};
use super::state::Busy;
use crate::model::{DAY, EquipmentId, Moment, day_of};
use crate::plan::StepTable;

/// What the next step of a job comes to.
enum Next {
    /// Nothing is left of the job.
    Done,
    /// Its machine is held without a known end.
    Held,
    /// It starts after the moment that was asked about, and no earlier than this.
    NotBefore(Moment),
    /// It could run like this.
    Runs(Run),
}

impl Floor<'_, '_> {
    /// The job whose next step can start earliest; of several the first in the queue.
    ///
    /// What a step waits for only moves on: the person, machines, goods that are not there before a moment. So what was found for a job
    /// when it was last looked at still bounds it from below, and most jobs need no second look. (But see [`Floor::can_hasten`].)
    pub(super) fn earliest(&mut self) -> Option<(usize, Run)> {
        let person = self.clock.next_open(self.state.person_free);
        let mut best: Option<(usize, Run)> = None;
        let mut at = 0;
        while let Some(&index) = self.queue.get(at) {
            let job = &self.jobs[index];
            let by = best.map_or(Moment::MAX, |(_, run)| run.start - 1);
            let bound = if job.attended { person.max(job.not_before) } else { job.not_before };
            if bound > by {
                at += 1;
                continue;
            }
            let found = match self.next_run(index, job, by) {
                Next::Done => {
                    self.queue.remove(at);
                    continue;
                }
                Next::Held => bound,
                Next::NotBefore(moment) => moment,
                Next::Runs(run) => {
                    if run.start <= by {
                        best = Some((index, run));
                    }
                    run.start
                }
            };
            if !self.can_hasten(job) {
                self.jobs[index].not_before = found;
            }
            at += 1;
        }
        debug_assert_eq!(best.map(|(index, run)| (run.start, index)), self.earliest_of_all());
        best
    }

    /// The same found without what is remembered: when it starts, and the job. Tests hold every choice against it.
    fn earliest_of_all(&self) -> Option<(Moment, usize)> {
        let starts = self.queue.iter().filter_map(|&index| {
            match self.next_run(index, &self.jobs[index], Moment::MAX) {
                Next::Runs(run) => Some((run.start, index)),
                Next::Done | Next::Held | Next::NotBefore(_) => None,
            }
        });
        starts.min_by_key(|&(start, _)| start)
    }

    /// Empties the floor.
    pub(super) fn clear(&mut self) {
        self.jobs.clear();
        self.queue.clear();
    }

    /// A job begins.
    pub(super) fn begin(&mut self, job: Job) {
        let index = self.jobs.len();
        self.queue_up(job);
        self.aim(index);
    }

    /// A job takes its place in the queue: the larger volume first, then by the first part's name, then by the route's.
    pub(super) fn queue_up(&mut self, job: Job) {
        // Most come in the order of the queue.
        let waiting =
            self.queue.iter().rposition(|&at| job.load.place(&self.jobs[at].load).is_ge());
        self.queue.insert(waiting.map_or(0, |at| at + 1), self.jobs.len());
        self.jobs.push(job);
    }

    /// True where another job may make it possible to start the next step of a job earlier: what is done at the first time takes less
    /// once it is done, and a bath may be in another state.
    fn can_hasten(&self, job: &Job) -> bool {
        let step = self.shop.route(job.load.route).steps.get(job.next);
        let is_task = matches!(job.load.kind, JobKind::Order(_));
        step.is_some_and(|s| !is_task && (s.bath.is_some() || s.first_time != 0))
    }

    /// When the next step of a job could run, if it can start by a moment.
    fn next_run(&self, index: usize, job: &Job, by: Moment) -> Next {
        if job.is_done() {
            return Next::Done;
        }
        if let JobKind::Order(tasks) = &job.load.kind {
            return Next::Runs(self.task_run(job, tasks[job.next].seconds(self.shop)));
        }
        let step = &self.shop.route(job.load.route).steps[job.next];
        match self.step_from(index, job, step) {
            None => Next::Held,
            Some(from) if from > by => Next::NotBefore(from),
            Some(from) => Next::Runs(self.step_run(job, step, from)),
        }
    }

    /// From when on everything but the person is there for the next step of a job; `None` while its machine is held without a known end.
    fn step_from(&self, index: usize, job: &Job, step: &StepTable) -> Option<Moment> {
        let mut from = job.ready.max(self.now);
        if let Some(id) = step.at {
            from = from.max(free(self.state.machines[id.index()], index)?);
            if self.shop.is_bought(id) && !self.state.bought[id.index()] {
                from = from.max(self.state.machine_from[id.index()]);
            }
        }
        if let Some((id, _)) = step.bath {
            from = from.max(free(self.state.bath_busy[id.index()], index)?);
            let planned = bath::plan_use(self.shop, self.state, job, from)?;
            let poured = bath::draws(&planned, self.shop, self.state);
            let draws = poured.iter().flatten().chain(job.draws());
            return Some(from.max(job::draws_from(draws, self.state)));
        }
        Some(from.max(job::draws_from(job.draws().iter(), self.state)))
    }

    fn task_run(&self, job: &Job, seconds: i64) -> Run {
        let start = if seconds > 0 {
            self.clock.fit(job.ready.max(self.state.person_free), seconds)
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
        let pieces = if step.per_piece { job.load.pieces } else { 1 };
        let once = self.first_time(job, step);
        let (start, attended) = if step.attended * pieces + once == 0 {
            (from, from)
        } else {
            let from = from.max(self.state.person_free);
            if step.flowing {
                self.clock.work(from, step.attended * pieces + once)
            } else {
                self.clock.pieces(from, step.attended + once, step.attended, pieces)
            }
        };
        let hold = job.hold(step);
        let held = attended + hold.first;
        let end = if hold.overnight { self.clock.morning_after(held) } else { held };
        Run { start, attended, end }
    }

    fn down_day(&self, id: EquipmentId, run: Run) -> Option<i64> {
        let down = &self.shop.scenario.equipment[id.index()].down;
        let first = down.partition_point(|&d| d < day_of(run.start));
        // The last touched day of a half-open stretch; a step without length touches the day it is on.
        let last = day_of((run.end - 1).max(run.start));
        down.get(first).copied().filter(|&d| d <= last)
    }
}

/// From when a machine or bath is free for a job; `None` while another job holds it without a known end.
pub(super) fn free(busy: Busy, index: usize) -> Option<Moment> {
    match busy {
        Busy::HeldBy(holder) if holder != index => None,
        Busy::HeldBy(_) => Some(Moment::MIN),
        Busy::Until(moment) => Some(moment),
    }
}
