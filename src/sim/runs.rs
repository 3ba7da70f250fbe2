//! Where each step ran, and what it waited for: what a strip of bars shows.
//!
//! Enters: a step that is about to be entered, with the state it met. Leaves: a [`StepRun`]. Nothing is decided here, and nothing is kept
//! unless it is asked for.

use super::job::{self, JobKind, Wanted};
use super::queue::free;
use super::schedule::{Floor, Run};
use crate::model::{BathId, EquipmentId, Moment, PartId, RouteId};
use crate::plan::StepTable;

/// One run of a step, of a task of ordering, or the time an order is away.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StepRun {
    /// In which iteration; planned + 1 for the final.
    pub iteration: u32,
    /// Which build of the iteration it belongs to; `None` for what is ordered.
    pub build: Option<usize>,
    /// The parts that go through it, each once.
    pub parts: Vec<PartId>,
    /// The route; of an order by several routes the first.
    pub route: RouteId,
    /// What runs.
    pub at: RunAt,
    /// When what comes before it had ended.
    pub ready: Moment,
    /// When it started.
    pub start: Moment,
    /// When its attended part ended.
    pub attended: Moment,
    /// When it ended.
    pub end: Moment,
    /// What it waited for last, between ready and start.
    pub wait: Option<Wait>,
}

/// What runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RunAt {
    /// The step of the route with this number, from 1.
    Step(u16),
    /// Explaining a version to the service.
    Brief,
    /// Placing the order.
    Ordering,
    /// With the service and the carrier.
    Away,
}

/// What a step waits for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wait {
    /// A machine that is in use, or bought and not there yet.
    Machine(EquipmentId),
    /// A bath that is in use.
    Bath(BathId),
    /// Material that is ordered and not there yet.
    Goods,
    /// The person.
    Person,
    /// Opening hours, or a day the machine is down.
    Hours,
}

impl Floor<'_, '_> {
    /// Notes the next step of a build or lot before it is entered.
    pub(super) fn note_step(&mut self, index: usize, step: &StepTable, run: Run) {
        if self.runs.is_none() {
            return;
        }
        let wait = self.waited(index, step, run);
        let job = &self.jobs[index];
        let number = u16::try_from(job.next + 1).unwrap_or(u16::MAX);
        let noted = StepRun {
            iteration: job.whose.iteration,
            build: (job.load.kind == JobKind::Build).then_some(index),
            parts: parts(&job.load.wanted),
            route: job.load.route,
            at: RunAt::Step(number),
            ready: job.ready,
            start: run.start,
            attended: run.attended,
            end: run.end,
            wait,
        };
        self.keep(noted);
    }

    /// Notes the next task of an order before it is entered; one that takes no time is left out.
    pub(super) fn note_task(&mut self, index: usize, run: Run) {
        let job = &self.jobs[index];
        let JobKind::Order(tasks) = &job.load.kind else {
            return;
        };
        if self.runs.is_none() || run.end == run.start {
            return;
        }
        let (at, route, of) = match tasks[job.next].brief {
            Some((part, route)) => (RunAt::Brief, route, vec![part]),
            None => (RunAt::Ordering, job.load.wanted[0].route, parts(&job.load.wanted)),
        };
        let person = self.state.person_free;
        let wait = last([(person, Wait::Person)], job.ready, run.start);
        let (ready, iteration) = (job.ready, job.whose.iteration);
        let Run { start, attended, end } = run;
        self.keep(StepRun {
            iteration,
            build: None,
            parts: of,
            route,
            at,
            ready,
            start,
            attended,
            end,
            wait,
        });
    }

    /// Notes how long an order is away.
    pub(super) fn note_away(
        &mut self,
        wanted: &[Wanted],
        iteration: u32,
        (from, to): (Moment, Moment),
    ) {
        if self.runs.is_none() {
            return;
        }
        let (parts, route, at) = (parts(wanted), wanted[0].route, RunAt::Away);
        let (ready, start, attended, end) = (from, from, from, to);
        self.keep(StepRun {
            iteration,
            build: None,
            parts,
            route,
            at,
            ready,
            start,
            attended,
            end,
            wait: None,
        });
    }

    fn keep(&mut self, noted: StepRun) {
        if let Some(runs) = &mut self.runs {
            runs.push(noted);
        }
    }

    /// What was free last of all that a step needs.
    fn waited(&self, index: usize, step: &StepTable, run: Run) -> Option<Wait> {
        let job = &self.jobs[index];
        let machine = step.at.map(|id| {
            let free = free(self.state.machines[id.index()], index).unwrap_or(Moment::MIN);
            let bought = self.shop.is_bought(id) && !self.state.bought[id.index()];
            let there = if bought { self.state.machine_from[id.index()] } else { Moment::MIN };
            (free.max(there), Wait::Machine(id))
        });
        let bath = step.bath.map(|(id, _)| {
            let free = free(self.state.bath_busy[id.index()], index).unwrap_or(Moment::MIN);
            (free, Wait::Bath(id))
        });
        let goods = (job::draws_from(job.draws().iter(), self.state), Wait::Goods);
        let person = (run.attended > run.start).then_some((self.state.person_free, Wait::Person));
        let all = [machine, bath, Some(goods), person].into_iter().flatten();
        last(all, job.ready, run.start)
    }
}

/// The latest of what became free after a step was ready; where it started later still, it waited for opening hours.
fn last(
    all: impl IntoIterator<Item = (Moment, Wait)>,
    ready: Moment,
    start: Moment,
) -> Option<Wait> {
    let late = all.into_iter().filter(|(free, _)| *free > ready && *free <= start);
    let latest = late.max_by_key(|(free, _)| *free);
    match latest {
        Some((free, wait)) if free == start => Some(wait),
        Some((_, wait)) if matches!(wait, Wait::Machine(_) | Wait::Bath(_) | Wait::Goods) => {
            Some(wait)
        }
        _ => (start > ready).then_some(Wait::Hours),
    }
}

fn parts(wanted: &[Wanted]) -> Vec<PartId> {
    let mut parts: Vec<PartId> = wanted.iter().map(|w| w.part).collect();
    parts.sort_unstable();
    parts.dedup();
    parts
}
