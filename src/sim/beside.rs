//! Two routes for a part: the first in hand counts, the slower runs on into later iterations.
//!
//! Jobs that are not done when the iteration is in hand stay in the [`State`](super::State) and keep what they hold. In later iterations
//! they take their turn like all others, for the one person and the machines, but nobody waits for them.

use super::event::Stop;
use super::job::{Job, Wanted, Whose};
use super::schedule::Floor;
use super::state::Busy;
use crate::model::{Moment, PartId, RouteId};

/// Pieces of a part by one of its routes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Awaited {
    part: PartId,
    route: RouteId,
    /// When the last of those that are finished was.
    done: Moment,
}

impl Floor<'_, '_> {
    /// From now on the iteration is in hand when every part is by one of its routes.
    pub(super) fn await_first(&mut self, wanted: &[Wanted]) {
        let release = self.state.release;
        let of = |w: &Wanted| Awaited { part: w.part, route: w.route, done: release };
        self.awaited.extend(wanted.iter().map(of));
    }

    /// Notes that pieces are finished.
    pub(super) fn there(&mut self, whose: Whose, pieces: &[Wanted], at: Moment) {
        if self.awaited.is_empty() {
            self.in_hand = self.in_hand.max(at);
            return;
        }
        if whose.iteration != self.whose.iteration {
            return;
        }
        for w in pieces {
            let of = |a: &&mut Awaited| (a.part, a.route) == (w.part, w.route);
            if let Some(awaited) = self.awaited.iter_mut().find(of) {
                awaited.done = awaited.done.max(at);
            }
        }
    }

    /// The moment from which every part is there by one of its routes at least; `None` while that is not known, or nothing is awaited.
    pub(super) fn first_in_hand(&self) -> Option<Moment> {
        let mut all: Option<Moment> = None;
        // By part: the routes of a part follow each other.
        for ways in self.awaited.chunk_by(|a, b| a.part == b.part) {
            let done = ways.iter().filter(|way| self.is_there(way)).map(|way| way.done);
            all = all.max(Some(done.min()?));
        }
        all
    }

    /// True if no piece of it is still being made.
    fn is_there(&self, way: &Awaited) -> bool {
        let holds = |job: &Job| {
            let mut pieces = job.load.wanted.iter();
            !job.is_done() && pieces.any(|w| (w.part, w.route) == (way.part, way.route))
        };
        let iteration = self.whose.iteration;
        !self.jobs.iter().any(|job| job.whose.iteration == iteration && holds(job))
    }

    /// Puts what runs on from earlier iterations before all other jobs.
    pub(super) fn bring_in(&mut self) {
        if self.state.carried.is_empty() {
            return;
        }
        for job in std::mem::take(&mut self.state.carried) {
            let mut job = Job::from(job);
            job.look_anew(self.shop);
            self.queue_up(job);
        }
        self.designed = std::mem::take(&mut self.state.designed);
    }

    /// Leaves what is not done to the next iteration.
    pub(super) fn leave_running(&mut self) {
        let running = |index: &usize| !self.jobs[*index].is_done();
        let old: Vec<usize> = (0..self.jobs.len()).filter(running).collect();
        let state = &mut *self.state;
        for busy in state.machines.iter_mut().chain(&mut state.bath_busy) {
            if let Busy::HeldBy(index) = busy {
                // Only jobs that are not done hold anything.
                *index = old.iter().position(|at| at == index).unwrap_or(*index);
            }
        }
        let jobs = self.jobs.drain(..).filter(|job| !job.is_done());
        state.carried.extend(jobs.map(Into::into));
        self.designed.retain(|d| state.carried.iter().any(|job| job.whose.iteration == d.0));
        state.designed = std::mem::take(&mut self.designed);
    }

    /// Carries what runs on to its end, with nothing else to make. Returns when the last of it is finished, and the last iteration it is of.
    pub(super) fn run_out(&mut self) -> Result<(Moment, u32), Stop> {
        self.packed.suit(self.shop);
        self.clear();
        self.bring_in();
        let iterations = self.jobs.iter().map(|job| job.whose.iteration);
        let iteration = iterations.max().unwrap_or(self.whose.iteration);
        self.work()?;
        Ok((self.in_hand, iteration))
    }
}
