//! Orders on the floor: briefs, placing, arrival, and lots that are wrong.

use super::builds;
use super::event::{Placed, Stamp, Stop, What, WorkAt};
use super::job::{Job, JobKind, Wanted, Whose};
use super::load::Load;
use super::luck::Attempt;
use super::schedule::{Floor, Run};
use super::{place, usable};
use crate::model::{Day, Exact, Moment, RouteId, day_of};

/// So many attempts at one thing are made before a sample is given up.
const MOST_ATTEMPTS: u32 = 1_000;

impl Floor<'_, '_> {
    /// Schedules the next task of an order: a brief, or at last placing it.
    pub(super) fn do_task(&mut self, index: usize, run: Run) -> Result<(), Stop> {
        let load = std::rc::Rc::clone(&self.jobs[index].load);
        let JobKind::Order(tasks) = &load.kind else {
            return Ok(());
        };
        let task = &tasks[self.jobs[index].next];
        let seconds = task.seconds(self.shop);
        self.note_task(index, run);
        let job = &mut self.jobs[index];
        if seconds > 0 {
            self.state.person_free = run.attended;
        }
        job.next += 1;
        job.ready = run.end;
        job.look_anew(self.shop);
        let (when, whose, attempt) = (run.start, job.whose, job.attempt);
        let iteration = whose.iteration;
        let (part, route) = match task.brief {
            Some((part, route)) => (Some(part), Some(route)),
            None => (load.part, load.only_route),
        };
        let stamp = Stamp { when, iteration, part, route, step: 0 };
        if task.brief.is_none() {
            return self.place_order(&load, (stamp, run), (seconds, whose, attempt));
        }
        let what = What::Work { at: WorkAt::Brief, seconds, times: Exact::ONE, once: 0 };
        self.events.push(stamp.of(what));
        Ok(())
    }

    /// An order is placed at the end of the time that takes.
    fn place_order(
        &mut self,
        load: &Load,
        (stamp, run): (Stamp, Run),
        (seconds, whose, attempt): (i64, Whose, u32),
    ) -> Result<(), Stop> {
        let wanted = &load.wanted;
        let placed = match &load.placed {
            Some(placed) => Placed { day: self.order_day(run.end), ..placed.clone() },
            None => self.price(wanted, whose, run.end)?,
        };
        let times = placed.repeats;
        self.events.push(stamp.of(What::Work { at: WorkAt::OrderTime, seconds, times, once: 0 }));
        let placing = Stamp { when: run.end, ..stamp };
        self.first_purchases(wanted, placing);
        self.deliver(wanted, placed, (placing, whose, attempt))
    }

    /// What order routes need first is bought when their first order is placed.
    fn first_purchases(&mut self, wanted: &[Wanted], stamp: Stamp) {
        for w in wanted {
            let begun = &mut self.state.route_begun[w.route.index()];
            if !*begun && self.shop.scenario.route(w.route).buy_first.is_some() {
                self.events.push(Stamp { route: Some(w.route), ..stamp }.of(What::BuyFirst));
            }
            *begun = true;
        }
    }

    /// The day of an order, where days are known.
    fn order_day(&self, at: Moment) -> Option<Day> {
        self.shop.scenario.start.map(|_| day_of(at))
    }

    fn price(&self, wanted: &[Wanted], whose: Whose, at: Moment) -> Result<Placed, Stop> {
        let shop = self.shop;
        let day = self.order_day(at);
        let lines = wanted.iter().map(|w| (w.part, w.route, w.copies));
        place(shop, lines, day).map_err(|index| Stop::NoPrice {
            part: wanted[index].part,
            route: wanted[index].route,
            iteration: whose.iteration,
            day,
        })
    }

    /// Enters the order and lets its lots arrive: pieces of one route each.
    fn deliver(
        &mut self,
        wanted: &[Wanted],
        placed: Placed,
        (stamp, whose, attempt): (Stamp, Whose, u32),
    ) -> Result<(), Stop> {
        let at = usable(self.shop, &placed, stamp.when);
        self.note_away(wanted, whose.iteration, (stamp.when, at));
        self.events.push(stamp.of(What::Order(Box::new(placed))));
        if wanted.iter().all(|w| w.route == wanted[0].route) {
            return self.arrive(wanted, at, (whose, attempt));
        }
        for lot in builds::by_route(wanted) {
            self.arrive(&lot, at, (whose, attempt))?;
        }
        Ok(())
    }

    /// A lot arrives. If it is wrong, that is noticed now: it is ordered again, or replaced free and looked at again.
    pub(super) fn arrive(
        &mut self,
        lot: &[Wanted],
        mut at: Moment,
        (whose, mut number): (Whose, u32),
    ) -> Result<(), Stop> {
        let route = lot[0].route;
        let shop = self.shop;
        let (table, part) = (shop.route(route), shop.part(lot[0].part).key);
        let start = |number| Attempt { turn: whose.turn, part, job: 0, number };
        // What is replaced free was read rightly.
        if self.luck.misreads(table.misread, start(number)) {
            return self.order_again(lot, at, (whose, number + 1));
        }
        while self.luck.rejects(route, table.reject, start(number)) {
            number = self.one_more(route, (whose, number + 1))?;
            at = usable(shop, &self.price(lot, whose, at)?, at);
        }
        if table.steps.is_empty() {
            self.there(whose, lot, at);
            return Ok(());
        }
        let load = self.packed.lot(shop, lot, whose.iteration)?;
        self.begin(Job { attempt: number, ..Job::new(&load, whose, at) });
        Ok(())
    }

    /// Orders the pieces of a lot again, which takes the time of placing an order but needs no new brief.
    pub(super) fn order_again(
        &mut self,
        lot: &[Wanted],
        noticed: Moment,
        (whose, attempt): (Whose, u32),
    ) -> Result<(), Stop> {
        let attempt = self.one_more(lot[0].route, (whose, attempt))?;
        let order = self.packed.order_again(self.shop, lot);
        self.begin(Job { attempt, ..Job::new(&order, whose, noticed) });
        Ok(())
    }

    /// Counts an attempt, up to a limit.
    pub(super) fn one_more(
        &self,
        route: RouteId,
        (whose, attempt): (Whose, u32),
    ) -> Result<u32, Stop> {
        if attempt > MOST_ATTEMPTS {
            return Err(Stop::Hopeless { route, iteration: whose.iteration });
        }
        Ok(attempt)
    }
}
