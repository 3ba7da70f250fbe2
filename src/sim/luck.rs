//! What goes wrong in an iteration: nothing, one thing put in, or what is drawn.

use crate::model::RouteId;
use crate::plan::{Executions, Fault, Key, StepTable};

/// A failure put into an otherwise clean iteration, to see how many days it adds.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Upset {
    /// The route it happens on.
    pub route: RouteId,
    /// The step whose first run fails; `None` for a delivered lot that is wrong.
    pub step: Option<usize>,
}

/// What decides whether something fails.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub enum Luck {
    /// Nothing fails: a planning run, in which failures are expected values.
    #[default]
    Clean,
    /// One thing fails, once.
    One(Upset),
    /// Each start is drawn: the sample's key, and the turn (iteration or final) of what begins now.
    Drawn(Key, u32),
}

/// Which start it is: the turn the job belongs to, its first part, which of the jobs that begin with it, and how many failed before.
#[derive(Clone, Copy, Debug)]
pub(super) struct Attempt {
    pub turn: u32,
    pub part: Key,
    pub job: u32,
    pub number: u32,
}

impl Luck {
    /// The turn of what begins now; 0 where nothing is drawn.
    pub(super) fn turn(self) -> u32 {
        match self {
            Luck::Clean | Luck::One(_) => 0,
            Luck::Drawn(_, turn) => turn,
        }
    }

    /// Whether the next run of a step fails.
    pub(super) fn spoils(
        &mut self,
        (route, number): (RouteId, usize),
        step: &StepTable,
        attempt: Attempt,
    ) -> bool {
        match *self {
            Luck::Clean => false,
            Luck::One(upset) => self.happens(upset == Upset { route, step: Some(number) }),
            Luck::Drawn(key, _) => step.fault.is_some_and(|f| is_drawn(key, f, attempt, number)),
        }
    }

    /// Whether a delivered lot is wrong by a misreading: it is ordered and paid again.
    pub(super) fn misreads(self, fault: Option<Fault>, attempt: Attempt) -> bool {
        match self {
            Luck::Clean | Luck::One(_) => false,
            Luck::Drawn(key, _) => fault.is_some_and(|f| is_drawn(key, f, attempt, usize::MAX)),
        }
    }

    /// Whether a delivered lot is wrong and replaced free.
    pub(super) fn rejects(
        &mut self,
        route: RouteId,
        fault: Option<Fault>,
        attempt: Attempt,
    ) -> bool {
        match *self {
            Luck::One(upset) => self.happens(upset == Upset { route, step: None }),
            _ => self.misreads(fault, attempt),
        }
    }

    fn happens(&mut self, now: bool) -> bool {
        if now {
            *self = Luck::Clean;
        }
        now
    }

    /// How often a run counts, if it is not as often as is expected: where failures are drawn, a failed one counts with the share spent.
    pub(super) fn counts(&self, step: &StepTable, fails: bool) -> Option<Executions> {
        let drawn = matches!(self, Luck::Drawn(..));
        (drawn && fails).then_some(Executions { runs: step.spent, ..step.executions })
    }
}

fn is_drawn(key: Key, fault: Fault, attempt: Attempt, step: usize) -> bool {
    let which =
        u64::from(attempt.turn) << 32 | u64::from(attempt.job) << 16 | (step & 0xffff) as u64;
    let key = key.of(fault.key).with(which).of(attempt.part).with(u64::from(attempt.number));
    key.uniform() < fault.chance
}
