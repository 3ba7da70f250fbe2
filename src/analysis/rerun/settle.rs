//! From a record to where things stand: once, before anything is asked.

use super::actual::{Books, rate};
use super::counts::{Progress, expect};
use super::evidence::Evidence;
use super::learn::{apply, lessons};
use super::said::{away, good_builds, last_moment, routes_begun};
use super::turns::{Turn, turns};
use crate::analysis::follow::{date_text, stop_text};
use crate::diag::{Code, Diagnostic};
use crate::ledger::{Entry, Ledger};
use crate::model::{
    Carry, Dates, Day, Exact, Happened, Moment, Money, OnOrder, Outcome, PartId, Past, Record,
    RecordLine, RouteId, Scenario, UnderWay, day_of,
};
use crate::plan::{Shop, Values};
use crate::sim::{Clock, Event, Simulation, place, usable};
use crate::value::value;

/// What is asked of a record.
#[derive(Clone, Copy, Debug, Default)]
pub struct Resume {
    /// The day from which on nothing has happened; `None`: the last day of the record.
    pub today: Option<Day>,
    /// Iterations asked for on the command line.
    pub iterations: Option<u32>,
    /// True where the forecast keeps to the numbers planned with, whatever the record teaches.
    pub as_planned: bool,
}

/// Works out what has happened and lets the scenario go on from there. Without a record nothing changes.
///
/// # Errors
/// Every place where the lines of the record do not fit together.
pub fn settle(scenario: &mut Scenario, ask: Resume) -> Result<(), Vec<Diagnostic>> {
    let Some(record) = scenario.record.take() else {
        return Ok(());
    };
    let past = past(scenario, &record, ask);
    scenario.record = Some(record);
    scenario.past = past?.map(|past| Past { applied: !ask.as_planned, ..past });
    if let Some(past) = scenario.past.take_if(|past| past.applied) {
        apply(scenario, &past.learned);
        scenario.past = Some(past);
    }
    Ok(())
}

fn past(
    scenario: &mut Scenario,
    record: &Record,
    ask: Resume,
) -> Result<Option<Past>, Vec<Diagnostic>> {
    let (Some(first), Some(last)) = (record.lines.iter().map(|l| l.day).min(), record.last_day())
    else {
        return Ok(None);
    };
    // A project begins when its record does, where it does not say when, or says later.
    let clock = Clock::new(&scenario.hours);
    let begins = clock.opening_of(first);
    scenario.start = Some(scenario.start.map_or(begins, |start| start.min(begins)));
    let today = ask.today.unwrap_or(last);
    let late = late_lines(record, today);
    if !late.is_empty() {
        return Err(late);
    }
    let recorded = record.lines.iter().map(|line| last_moment(scenario, line)).max();
    let now = clock.next_open(clock.opening_of(today).max(recorded.unwrap_or_default()));
    let turns = turns(scenario, record)?;
    let planned = scenario.planned();
    // An iteration is behind when it is judged, or in hand, or when another one has begun.
    let behind =
        |at: usize| turns[at].outcome.is_some() || turns[at].is_in_hand() || at + 1 < turns.len();
    let done = (0..turns.len()).take_while(|&at| behind(at)).count();
    let progress = Progress::of(&turns[..done]);
    expect(scenario, &turns, progress, ask.iterations);
    proven(scenario, &turns[..done]);
    let settled = Settling { scenario, turns: &turns, done, now, today };
    Ok(Some(settled.past(planned, progress.accepted)))
}

/// Lines of days that have not come: the first, and how many more.
fn late_lines(record: &Record, today: Day) -> Vec<Diagnostic> {
    let late: Vec<&RecordLine> = record.lines.iter().filter(|line| line.day > today).collect();
    let Some(first) = late.first() else {
        return Vec::new();
    };
    let (day, today) = (date_text(first.day), date_text(today));
    let more = match late.len() - 1 {
        0 => String::new(),
        n => format!("; {n} more lines are later"),
    };
    let message = format!("line of {day}, and today is {today}{more}");
    let hint = "state a later --today, or correct the date";
    vec![Diagnostic::error(Code::OutOfRange, &first.place, message).hint(hint)]
}

/// A technique that has made a version that could be looked at works; one whose failure a line names does not.
fn proven(scenario: &mut Scenario, done: &[Turn]) {
    for route in (0..scenario.routes.len()).map(RouteId::at) {
        let Some(unproven) = scenario.route(route).unproven else {
            continue;
        };
        let shown = |turn: &Turn| -> Option<bool> {
            let (outcome, _) = turn.outcome?;
            let used = turn.made.iter().any(|m| m.1 == route);
            let named =
                turn.lines.iter().any(|l| l.what == Happened::Failed && l.route == Some(route));
            match outcome {
                Outcome::Failed if named => Some(false),
                Outcome::Redesign | Outcome::Accepted if used => Some(true),
                _ => None,
            }
        };
        if let Some(works) = done.iter().rev().find_map(shown) {
            let value = if works { Exact::ONE } else { Exact::ZERO };
            let input = scenario.slots.get_mut(unproven.works);
            (input.low, input.likely, input.high) = (value, value, value);
        }
    }
}

/// What running the iterations that are behind again has shown.
#[derive(Default)]
struct Behind {
    standard: Vec<Entry>,
    remarks: Vec<String>,
    evidence: Evidence,
}

/// A record that fits together, on its way to a past.
struct Settling<'r> {
    scenario: &'r Scenario,
    turns: &'r [Turn<'r>],
    done: usize,
    now: Moment,
    today: Day,
}

impl Settling<'_> {
    fn past(&self, planned: u32, accepted: bool) -> Past {
        let scenario = self.scenario;
        let values = Values::planning(&scenario.slots);
        let (shop, clean) = (Shop::new(scenario, &values), Shop::drawn(scenario, &values));
        let mut books = Books::new(&shop, &clean);
        let mut simulation = Simulation::new(&shop);
        let Behind { standard, mut remarks, evidence } = self.behind(&mut simulation, &mut books);
        let open = self.turns.get(self.done);
        let under_way = open.map(|turn| self.under_way(&shop, &simulation, turn));
        let mut carry = self.carry(&shop, &simulation);
        if let Some(turn) = open {
            books.open(turn, self.now, &carry.route_begun);
            for route in routes_begun(turn) {
                carry.route_begun[route.index()] = true;
            }
        } else {
            books.settle(u32::try_from(self.done).unwrap_or(u32::MAX).max(1), self.now);
        }
        remarks.extend(books.unsaid.iter().map(|(what, turns)| unsaid(what, turns)));
        let standard_stock = std::mem::replace(&mut carry.stock, books.stock.clone());
        carry.had.clone_from(&books.had);
        let (entries, movements) = parts(books.ordered());
        Past {
            today: self.today,
            now: self.now,
            done: u32::try_from(self.done).unwrap_or(u32::MAX),
            planned,
            accepted,
            dates: self.dates(&carry),
            outcomes: self.turns[..self.done].iter().map(came_of).collect(),
            entries,
            movements,
            carry,
            under_way: under_way.unwrap_or_default(),
            flexible: books.flexible,
            standard,
            standard_stock,
            remarks,
            as_planned: scenario.slots.clone(),
            learned: lessons(scenario, &evidence),
            applied: false,
        }
    }

    /// Runs every iteration that is behind again, and puts what is recorded beside it.
    fn behind(&self, simulation: &mut Simulation, books: &mut Books) -> Behind {
        let mut behind = Behind::default();
        let shop = simulation.shop();
        for turn in &self.turns[..self.done] {
            match replayed(simulation, turn) {
                Ok(events) => {
                    if let Ok(valued) = value(shop, &events) {
                        behind.standard.extend(valued.ledger.entries().iter().cloned());
                    }
                    let made = simulation.made().unwrap_or_default();
                    behind.evidence.observe(shop, turn, (&made, &events));
                    books.close(turn, &events);
                }
                Err(stop) => {
                    let (n, why) = (turn.n, stop_text(self.scenario, &stop));
                    let told = format!("what the plan has for iteration {n} is not known: {why}");
                    behind.remarks.push(told);
                    books.close(turn, &[]);
                }
            }
        }
        // What the second of two routes still holds is taken to end as planned; nobody waits for it.
        let _ = simulation.run_out();
        behind
    }

    /// Where things stand, without stock: when the next version is ready follows from what came of the last one.
    fn carry(&self, shop: &Shop, simulation: &Simulation) -> Carry {
        let carry = simulation.carry();
        let now = self.now;
        let Some(last) = self.turns[..self.done].last() else {
            let begun = !self.turns.is_empty();
            let release = if begun { now } else { shop.start.max(now) };
            return Carry { release, evaluated: release, ..carry };
        };
        let clock = Clock::new(&shop.scenario.hours);
        let design = &shop.scenario.iterations;
        let in_hand = last.in_hand.unwrap_or(last.began);
        let evaluated = match last.outcome {
            Some((_, when)) => when,
            // It stands on the bench and is looked at from today on.
            None => clock.work(in_hand.max(now), shop.values.whole(design.evaluate)).1,
        };
        let later = Exact::ONE - shop.values.exact(design.overlap);
        let redesign = (later * Exact::from(shop.values.whole(design.redesign))).to_whole();
        let release = match (came_of(last), self.turns.get(self.done)) {
            (_, Some(_)) => now,
            (Outcome::Failed, _) => evaluated,
            _ => clock.work(evaluated, redesign).1,
        };
        Carry { release: release.max(now), evaluated: evaluated.max(now), ..carry }
    }

    fn dates(&self, carry: &Carry) -> Vec<Dates> {
        let done = &self.turns[..self.done];
        let next = |at: usize| self.turns.get(at + 1).map_or(carry.release, |turn| turn.began);
        let date = |(at, turn): (usize, &Turn)| {
            let judged = turn.outcome.map(|o| o.1);
            let in_hand = turn.in_hand.or(judged).unwrap_or(turn.began);
            let evaluated = judged.unwrap_or(in_hand);
            let redesigned = next(at).max(evaluated);
            Dates { iteration: turn.n, release: turn.began, in_hand, evaluated, redesigned }
        };
        done.iter().enumerate().map(date).collect()
    }

    /// What has been done of the iteration under way.
    fn under_way(&self, shop: &Shop, simulation: &Simulation, turn: &Turn) -> UnderWay {
        let mut in_hand = turn.there.clone();
        in_hand.sort_unstable();
        in_hand.dedup();
        UnderWay { in_hand, built: built(simulation, turn), lots: self.lots(shop, turn) }
    }

    fn lots(&self, shop: &Shop, turn: &Turn) -> Vec<OnOrder> {
        let away = away(self.scenario, turn);
        let mut counted: Vec<*const RecordLine> = Vec::new();
        let lot = |(part, route, when, line): (PartId, RouteId, Moment, &RecordLine)| {
            // What a cancellation returns is of the line as a whole.
            let first = !counted.contains(&std::ptr::from_ref(line));
            counted.push(line);
            let back = if first { back_of(shop, line) } else { Money::ZERO };
            let wanted = [(part, route, shop.part(part).copies)];
            let placed = place(shop, wanted.into_iter(), Some(day_of(when)));
            let arrives = placed.map_or(self.now, |placed| usable(shop, &placed, when));
            OnOrder { part, route, arrives: arrives.max(self.now), back, source: line.source }
        };
        away.into_iter().map(lot).collect()
    }
}

/// What a cancellation of an order returns, in the scenario's currency.
fn back_of(shop: &Shop, line: &RecordLine) -> Money {
    let Happened::Ordered { back, currency, .. } = line.what else {
        return Money::ZERO;
    };
    (back * rate(shop, currency, line.day)).to_money(shop.scenario.minor())
}

/// Runs an iteration again as it was made; what happened in it.
fn replayed(simulation: &mut Simulation, turn: &Turn) -> Result<Vec<Event>, crate::sim::Stop> {
    let from = simulation.events.len();
    simulation.replay(turn.n, &turn.made, turn.began)?;
    let end = turn.in_hand.or(turn.outcome.map(|o| o.1)).unwrap_or(turn.began);
    simulation.was_in_hand(end);
    Ok(simulation.events[from..].to_vec())
}

/// Parts whose builds by a route have all been printed well.
fn built(simulation: &Simulation, turn: &Turn) -> Vec<(PartId, RouteId)> {
    let shop = simulation.shop();
    let mut trial = simulation.clone();
    if trial.replay(turn.n, &turn.made, turn.began).is_err() {
        return Vec::new();
    }
    let builds = trial.made().unwrap_or_default();
    let printed = |m: &&(PartId, RouteId)| {
        let needed = builds.iter().filter(|b| b.route() == m.1).count();
        shop.route(m.1).print.is_some() && needed > 0 && good_builds(turn, m.1) >= needed
    };
    turn.made.iter().filter(printed).copied().collect()
}

fn came_of(turn: &Turn) -> Outcome {
    match turn.outcome {
        Some((outcome, _)) => outcome,
        None => Outcome::Open,
    }
}

fn unsaid(what: &str, turns: &[u32]) -> String {
    let numbers: Vec<String> = turns.iter().map(u32::to_string).collect();
    let word = if turns.len() == 1 { "iteration" } else { "iterations" };
    format!("{what} ({word} {})", numbers.join(", "))
}

fn parts(ledger: Ledger) -> (Vec<Entry>, Vec<crate::ledger::Movement>) {
    (ledger.entries().to_vec(), ledger.movements().to_vec())
}
