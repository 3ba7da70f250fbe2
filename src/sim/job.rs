//! Jobs: what goes through steps in one iteration. A build, an order, or a delivered lot.

use std::rc::Rc;
use std::sync::Arc;

use super::load::{self, Counted, Load};
use super::{Draw, State};
use crate::model::{Moment, PartId, RouteId, Slot};
use crate::plan::{Executions, HoldTable, Shop, StepTable};

/// A part in an iteration: how many of it by which route.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Wanted {
    pub part: PartId,
    pub route: RouteId,
    pub copies: i64,
}

/// What a job is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum JobKind {
    /// Pieces made in-house.
    Build,
    /// Attended tasks that end with an order being placed.
    Order(Vec<Task>),
    /// Pieces of an order that go through steps after arrival.
    Lot,
}

/// An attended task of ordering.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Task {
    /// It takes the longest of these.
    pub slots: Vec<Slot>,
    /// The part a brief is for; `None` for placing the order.
    pub brief: Option<(PartId, RouteId)>,
}

impl Task {
    /// Seconds it takes.
    pub fn seconds(&self, shop: &Shop) -> i64 {
        self.slots.iter().map(|&slot| shop.values.whole(slot)).max().unwrap_or(0)
    }
}

/// To what a job belongs.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) struct Whose {
    pub iteration: u32,
    /// The turn by which its failures are drawn.
    pub turn: u32,
}

/// A job that runs on into later iterations, in a form that can go from thread to thread.
pub(super) type Carried = Job<Arc<Load>>;

/// Something that goes through steps; see [`JobKind`]. Its pieces and what they take are in its [`Load`].
#[derive(Clone, Debug)]
pub(super) struct Job<L = Rc<Load>> {
    pub load: L,
    pub whose: Whose,
    /// Index of the next step or task.
    pub next: usize,
    /// When the step before ended.
    pub ready: Moment,
    /// The next step starts no earlier: what was found when it was last looked at.
    pub not_before: Moment,
    /// True where the next step needs the person.
    pub attended: bool,
    /// True while it holds a machine or a bath.
    pub holds: bool,
    /// Parts whose design counts with this job: a part printed in several builds counts with the one that starts first.
    pub designs: i64,
    /// How many attempts at it have failed.
    pub attempt: u32,
    /// How often the next step counts.
    pub counts: Executions,
    /// True where that is as often as is expected.
    pub expected: bool,
    /// True where the next step fails.
    pub fails: bool,
    /// What the next step draws, where that is not what the load says.
    pub own: Option<Vec<Draw>>,
}

impl Job {
    /// A job of which nothing is done yet.
    pub fn new(load: &Rc<Load>, whose: Whose, ready: Moment) -> Job {
        Job {
            load: Rc::clone(load),
            whose,
            next: 0,
            ready,
            not_before: ready,
            attended: false,
            holds: false,
            designs: load.designs,
            attempt: 0,
            counts: Executions::ONCE,
            expected: true,
            fails: false,
            own: None,
        }
    }

    /// True when nothing is left to do.
    pub fn is_done(&self) -> bool {
        match &self.load.kind {
            JobKind::Order(tasks) => self.next >= tasks.len(),
            JobKind::Build | JobKind::Lot => self.next >= self.load.steps.len(),
        }
    }

    /// Forgets what was found for the step before, and returns the next one of a build or lot.
    pub fn look_anew<'s>(&mut self, shop: &'s Shop) -> Option<&'s StepTable> {
        self.not_before = self.ready;
        if let JobKind::Order(tasks) = &self.load.kind {
            self.attended = tasks.get(self.next).is_some_and(|task| task.seconds(shop) > 0);
            return None;
        }
        let step = shop.route(self.load.route).steps.get(self.next);
        self.attended = step.is_some_and(|step| step.attended > 0);
        step
    }

    /// What the next step draws.
    pub fn draws(&self) -> &[Draw] {
        match &self.own {
            Some(own) => own,
            None => self.load.steps.get(self.next).map_or(&[], |s| &s.draws),
        }
    }

    /// Settles how often the next step counts; `None` is as often as is expected.
    pub fn count(&mut self, shop: &Shop, step: &StepTable, otherwise: Option<Executions>) {
        self.counts = otherwise.unwrap_or(step.executions);
        self.expected = otherwise.is_none();
        self.work_out(shop);
    }

    /// Works out what the next step draws; only what goes wrong or comes after that, and a design counted elsewhere, differ from the load.
    pub fn work_out(&mut self, shop: &Shop) {
        let again = self.next == 0 && (self.attempt > 0 || self.designs != self.load.designs);
        self.own = (again || !self.expected).then(|| {
            let (counts, attempt, designs) = (self.counts, self.attempt, self.designs);
            load::draws(&self.load, shop, self.next, Counted { counts, attempt, designs })
        });
    }

    /// The next step's hold, print time included; `None` where the step has none.
    pub fn hold(&self, step: &StepTable) -> HoldOf {
        let print = match (&self.load.print, self.next) {
            (Some(print), 0) => print.seconds,
            _ => 0,
        };
        match step.hold {
            // The print step's own hold is in the print time already.
            HoldTable::Seconds(_) if print > 0 => HoldOf { first: print, overnight: false },
            HoldTable::Seconds(seconds) => HoldOf { first: seconds, overnight: false },
            HoldTable::Overnight => HoldOf { first: print, overnight: true },
        }
    }
}

impl<L> Job<L> {
    /// The same job with its load kept another way.
    fn with<M>(self, keep: impl FnOnce(L) -> M) -> Job<M> {
        let Job { load, whose, next, ready, not_before, attended, holds, designs, .. } = self;
        let Job { attempt, counts, expected, fails, own, .. } = self;
        Job {
            load: keep(load),
            whose,
            next,
            ready,
            not_before,
            attended,
            holds,
            designs,
            attempt,
            counts,
            expected,
            fails,
            own,
        }
    }
}

impl From<Job> for Carried {
    fn from(job: Job) -> Carried {
        job.with(|load| Arc::new(Rc::unwrap_or_clone(load)))
    }
}

impl From<Carried> for Job {
    fn from(job: Carried) -> Job {
        job.with(|load| Rc::new(Arc::unwrap_or_clone(load)))
    }
}

/// A hold: seconds, then perhaps until the next morning.
#[derive(Clone, Copy, Debug)]
pub(super) struct HoldOf {
    pub first: i64,
    pub overnight: bool,
}

/// Takes a draw from stock, buying the fewest packs that cover what is missing.
pub(super) fn take(draw: Draw, shop: &Shop, state: &mut State) -> Draw {
    taken(draw, shop, &mut state.stock[draw.item.index()])
}

/// Takes a draw from so many millionths of its item, buying the fewest packs that cover what is missing.
pub fn taken(draw: Draw, shop: &Shop, stock: &mut i64) -> Draw {
    let item = shop.item(draw.item);
    let missing = draw.amount - *stock;
    let (packs, bought) = match (item.pack, item.price) {
        (Some(pack), _) => {
            let packs = packs_for(missing, pack);
            (packs, packs * pack)
        }
        // Paid by use: what is used is bought, unless more than the start stock is there, which an invoice has paid.
        (None, Some(_)) => (0, draw.amount - (*stock - item.stock).clamp(0, draw.amount)),
        // Without a price only what is missing comes from outside.
        (None, None) => (0, missing.max(0)),
    };
    *stock += bought - draw.amount;
    Draw { packs, bought, ..draw }
}

/// The fewest packs that cover what is missing.
fn packs_for(missing: i64, pack: i64) -> i64 {
    if missing <= 0 { 0 } else { missing / pack + i64::from(missing % pack != 0) }
}

/// The moment from which every draw can be had: the first that takes an item past its stock waits for the item's lead.
pub(super) fn draws_from<'d>(
    draws: impl Iterator<Item = &'d Draw> + Clone,
    state: &State,
) -> Moment {
    let mut from = Moment::MIN;
    for (index, draw) in draws.clone().enumerate() {
        let there = state.item_from[draw.item.index()];
        if there <= from {
            continue;
        }
        let same = draws.clone().take(index + 1).filter(|d| d.item == draw.item);
        let wanted = same.map(|d| d.amount).fold(0, i64::saturating_add);
        if wanted > state.stock[draw.item.index()] {
            from = there;
        }
    }
    from
}

#[cfg(test)]
mod tests {
    use super::packs_for;

    #[test]
    fn the_fewest_packs_that_cover_what_is_missing() {
        assert_eq!(packs_for(0, 1_000), 0);
        assert_eq!(packs_for(-5, 1_000), 0);
        assert_eq!(packs_for(1, 1_000), 1);
        assert_eq!(packs_for(1_000, 1_000), 1);
        assert_eq!(packs_for(1_001, 1_000), 2);
    }
}
