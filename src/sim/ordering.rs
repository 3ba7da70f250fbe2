//! Orders on the floor: briefs, placing, arrival, and lots that are wrong.

use super::builds;
use super::event::{Event, Placed, Stop, What, WorkAt};
use super::job::{Job, JobKind, Wanted};
use super::luck::Attempt;
use super::schedule::{Floor, Run};
use super::{place, usable};
use crate::model::{Exact, Moment, RouteId, day_of};

/// So many attempts at one thing are made before a sample is given up.
const MOST_ATTEMPTS: u32 = 1_000;

impl Floor<'_, '_> {
    /// Schedules the next task of an order: a brief, or at last placing it.
    pub(super) fn do_task(&mut self, index: usize, run: Run) -> Result<(), Stop> {
        let JobKind::Order(tasks) = &self.jobs[index].kind else {
            return Ok(());
        };
        let task = tasks[self.jobs[index].next];
        if task.seconds > 0 {
            self.state.person_free = run.attended;
        }
        self.jobs[index].next += 1;
        self.jobs[index].ready = run.end;
        match task.brief {
            Some((part, route)) => {
                self.events.push(Event {
                    when: run.start,
                    iteration: self.iteration,
                    part: Some(part),
                    route: Some(route),
                    step: 0,
                    what: What::Work {
                        at: WorkAt::Brief,
                        seconds: task.seconds,
                        times: Exact::ONE,
                        once: 0,
                    },
                });
                Ok(())
            }
            None => self.place_order(index, task.seconds, run),
        }
    }

    /// An order is placed at the end of the time that takes.
    fn place_order(&mut self, index: usize, seconds: i64, run: Run) -> Result<(), Stop> {
        let wanted = self.jobs[index].wanted.clone();
        let placed = self.price(&wanted, run.end)?;
        let event = Event {
            when: run.start,
            iteration: self.iteration,
            part: self.jobs[index].part(),
            route: self.jobs[index].only_route(),
            step: 0,
            what: What::Work { at: WorkAt::OrderTime, seconds, times: placed.repeats, once: 0 },
        };
        let placing = Event { when: run.end, ..event.clone() };
        self.events.push(event);
        self.first_purchases(&wanted, &placing);
        let attempt = self.jobs[index].attempt;
        self.deliver(&wanted, placed, (placing, attempt))
    }

    /// What order routes need first is bought when their first order is placed.
    fn first_purchases(&mut self, wanted: &[Wanted], event: &Event) {
        for w in wanted {
            let begun = &mut self.state.route_begun[w.route.index()];
            if !*begun && self.shop.scenario.route(w.route).buy_first.is_some() {
                self.events.push(Event {
                    route: Some(w.route),
                    what: What::BuyFirst,
                    ..event.clone()
                });
            }
            *begun = true;
        }
    }

    fn price(&self, wanted: &[Wanted], at: Moment) -> Result<Placed, Stop> {
        let shop = self.shop;
        let day = shop.scenario.start.map(|_| day_of(at));
        let lines: Vec<_> = wanted.iter().map(|w| (w.part, w.route, w.copies)).collect();
        place(shop, &lines, day).map_err(|index| Stop::NoPrice {
            part: wanted[index].part,
            route: wanted[index].route,
            iteration: self.iteration,
            day,
        })
    }

    /// Enters the order and lets its lots arrive: pieces of one route each.
    fn deliver(
        &mut self,
        wanted: &[Wanted],
        placed: Placed,
        (event, attempt): (Event, u32),
    ) -> Result<(), Stop> {
        let at = usable(self.shop, &placed, event.when);
        self.events.push(Event { what: What::Order(Box::new(placed)), ..event });
        for lot in builds::by_route(wanted) {
            self.arrive(lot, at, attempt)?;
        }
        Ok(())
    }

    /// A lot arrives. If it is wrong, that is noticed now: it is ordered again, or replaced free and looked at again.
    fn arrive(&mut self, lot: Vec<Wanted>, mut at: Moment, mut number: u32) -> Result<(), Stop> {
        let route = lot[0].route;
        let shop = self.shop;
        let (table, part) = (shop.route(route), shop.part(lot[0].part).key);
        loop {
            let attempt = Attempt { part, job: 0, number };
            if self.luck.misreads(table.misread, attempt) {
                return self.order_again(lot, at, number + 1);
            }
            if !self.luck.rejects(route, table.reject, attempt) {
                break;
            }
            number = self.one_more(route, number + 1)?;
            at = usable(shop, &self.price(&lot, at)?, at);
        }
        if table.steps.is_empty() {
            self.in_hand = self.in_hand.max(at);
            return Ok(());
        }
        let job = builds::lot(shop, lot, (at, self.iteration))?;
        self.jobs.push(Job { attempt: number, ..job });
        self.aim(self.jobs.len() - 1);
        Ok(())
    }

    /// Orders the pieces of a lot again, which takes the time of placing an order but needs no new brief.
    pub(super) fn order_again(
        &mut self,
        lot: Vec<Wanted>,
        noticed: Moment,
        attempt: u32,
    ) -> Result<(), Stop> {
        let attempt = self.one_more(lot[0].route, attempt)?;
        let order = Job::order(self.shop, lot, false, noticed);
        self.jobs.push(Job { attempt, ..order });
        Ok(())
    }

    /// Counts an attempt, up to a limit.
    pub(super) fn one_more(&self, route: RouteId, attempt: u32) -> Result<u32, Stop> {
        if attempt > MOST_ATTEMPTS {
            return Err(Stop::Hopeless { route, iteration: self.iteration });
        }
        Ok(attempt)
    }
}
