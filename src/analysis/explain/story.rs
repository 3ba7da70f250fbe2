//! A plan as it happened: events, builds, dates and entries side by side, each entry with the event it was written for.

use std::collections::BTreeMap;

use crate::analysis::follow::{Leg, begin, date_text};
use crate::ledger::Entry;
use crate::model::{BathId, ItemId, Moment, RouteId, day_of};
use crate::plan::{Plan, Shop};
use crate::sim::{Account, Dates, Event, Fate, Made, Simulation, State, Stop, What};
use crate::value::value;

/// One plan carried out to a count, with what the entries of its ledger rest on.
#[derive(Clone, Debug)]
pub struct Story<'s, 'a> {
    /// The tables.
    pub shop: &'s Shop<'a>,
    /// What happened, in order.
    pub events: Vec<Event>,
    /// The entries in the order of the ledger, each with the index of its event; those of what has happened have none, and the index is
    /// beyond all events.
    pub entries: Vec<(Entry, usize)>,
    /// Dates of the iterations, and of the final as the last, where there is one.
    pub dates: Vec<Dates>,
    /// Iteration of the final, where there is one.
    pub last: Option<u32>,
    made: Vec<Made>,
    held: Vec<Held>,
}

/// What there was before an event, in millionths of the item's unit.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Held {
    /// On the shelf.
    pub stock: i64,
    /// In the bath that is poured into; nothing where it is emptied first.
    pub bath: i64,
}

impl<'s, 'a> Story<'s, 'a> {
    /// Carries a plan out, its unproven routes working, to the lesser of `count` and its own last iteration.
    ///
    /// # Errors
    /// [`Stop`] where it cannot be carried out so far.
    pub fn of(
        shop: &'s Shop<'a>,
        plan: &Plan,
        count: u32,
        with_final: bool,
    ) -> Result<Story<'s, 'a>, Stop> {
        let legs = [Leg::Makes(plan.assign.clone())];
        let pace = plan.pace(shop);
        let simulation =
            Simulation::new(shop).with_variants(pace.variants).with_beside(&plan.beside);
        Story::follow(simulation, &legs, (pace.planned(count), count), with_final)
    }

    /// Carries a switch out: one plan's routes to the end of an iteration, then another's.
    ///
    /// # Errors
    /// As [`Story::of`].
    pub fn switched(
        shop: &'s Shop<'a>,
        (first, after): (&Plan, u32),
        then: &Plan,
    ) -> Result<Story<'s, 'a>, Stop> {
        let mut story = Story::empty(shop);
        let mut simulation = Simulation::new(shop);
        for n in shop.done() + 1..=shop.planned {
            let assign = if n <= after { &first.assign } else { &then.assign };
            if !simulation.iterate(n, assign)? {
                break;
            }
            story.made.extend(simulation.made()?);
        }
        story.end(simulation, &then.assign, (shop.planned, true))
    }

    /// Carries out legs and then iterations up to `to`; a final is iteration `count` + 1.
    fn follow(
        mut simulation: Simulation<'s, 'a>,
        legs: &[Leg],
        (to, count): (u32, u32),
        with_final: bool,
    ) -> Result<Story<'s, 'a>, Stop> {
        let mut story = Story::empty(simulation.shop());
        let next = simulation.shop().done() + 1;
        let assign = begin(&mut simulation, legs, next, |_, _| {})?;
        for n in next..=to {
            if !simulation.iterate(n, assign)? {
                break;
            }
            story.made.extend(simulation.made()?);
        }
        story.end(simulation, assign, (count, with_final))
    }

    fn empty(shop: &'s Shop<'a>) -> Story<'s, 'a> {
        let (events, entries, dates) = (Vec::new(), Vec::new(), Vec::new());
        Story { shop, events, entries, dates, last: None, made: Vec::new(), held: Vec::new() }
    }

    fn end(
        mut self,
        simulation: Simulation<'s, 'a>,
        assign: &[RouteId],
        (count, with_final): (u32, bool),
    ) -> Result<Story<'s, 'a>, Stop> {
        let last =
            if with_final { simulation.last(count.saturating_add(1), assign)? } else { None };
        // Where no final is made, what the second of two routes still holds runs on.
        let after = if last.is_none() { simulation.ended()? } else { None };
        self.events = simulation.events;
        self.events.extend(after.into_iter().flat_map(|after| after.events));
        let past = self.shop.scenario.past.as_ref();
        self.dates = past.iter().flat_map(|past| past.dates.iter().copied()).collect();
        self.dates.extend(simulation.dates);
        if let Some(last) = last {
            self.made.extend(last.made()?);
            self.events.extend(last.events);
            self.last = last.dates.first().map(|d| d.iteration);
            self.dates.extend(last.dates);
        }
        // First, as in the ledger: entries that compare equal keep their order.
        let before = past.iter().flat_map(|past| past.entries.iter().cloned());
        self.entries.extend(before.map(|entry| (entry, usize::MAX)));
        self.held = held(self.shop, &self.events);
        for (index, event) in self.events.iter().enumerate() {
            let of_event = value(self.shop, [event])?.ledger;
            self.entries.extend(of_event.entries().iter().map(|e| (e.clone(), index)));
        }
        let scenario = self.shop.scenario;
        self.entries.sort_by(|a, b| a.0.order(&b.0, scenario));
        Ok(self)
    }

    /// What there was before an event.
    pub(super) fn held(&self, event: usize) -> Held {
        self.held.get(event).copied().unwrap_or_default()
    }

    /// The builds and lots an event of a step can be of: those of its iteration, route and part.
    pub(super) fn made<'m>(&'m self, event: &'m Event) -> impl Iterator<Item = &'m Made> {
        self.made.iter().filter(move |m| {
            m.iteration == event.iteration
                && Some(m.route()) == event.route
                && m.part() == event.part
        })
    }

    /// A date in words: `2026-04-07`, or `day 12` where no start is given.
    pub(super) fn date(&self, when: Moment) -> String {
        match self.shop.scenario.start {
            Some(_) => date_text(day_of(when)),
            None => format!("day {}", day_of(when) - day_of(self.shop.start) + 1),
        }
    }

    /// A moment in words, to the minute: `2026-04-07 13:05`.
    pub(super) fn moment(&self, when: Moment) -> String {
        let minutes = crate::model::second_of_day(when) / 60;
        format!("{} {:02}:{:02}", self.date(when), minutes / 60, minutes % 60)
    }

    /// An iteration in words.
    pub(super) fn turn(&self, iteration: u32) -> String {
        if self.last == Some(iteration) {
            "the final".to_owned()
        } else {
            format!("iteration {iteration}")
        }
    }
}

/// Follows stock and baths through the events.
fn held(shop: &Shop, events: &[Event]) -> Vec<Held> {
    let mut stock: Vec<i64> = State::new(shop).stock().to_vec();
    let mut baths: BTreeMap<(BathId, ItemId), i64> = in_baths(shop);
    let mut all = Vec::with_capacity(events.len());
    for (index, event) in events.iter().enumerate() {
        let mut here = Held::default();
        match &event.what {
            What::Draw(draw) => {
                let shelf = &mut stock[draw.item.index()];
                here.stock = *shelf;
                *shelf += draw.bought - draw.amount;
                if let Fate::Bath(bath) = draw.to {
                    let content = baths.entry((bath, draw.item)).or_default();
                    here.bath = if empties(events, index, bath) { 0 } else { *content };
                    *content += draw.amount;
                }
            }
            What::Move { item, amount, from, to } => {
                if let Account::Bath(bath) = *from {
                    *baths.entry((bath, *item)).or_default() -= amount;
                }
                if let Account::Bath(bath) = *to {
                    *baths.entry((bath, *item)).or_default() += amount;
                }
            }
            What::Kept(item, _) => here.stock = stock[item.index()],
            _ => {}
        }
        all.push(here);
    }
    all
}

/// True where the use that an event of pouring belongs to empties the bath first. What is poured is entered ahead of what is emptied.
fn empties(events: &[Event], index: usize, bath: BathId) -> bool {
    let at = &events[index];
    let same = |e: &&Event| {
        (e.when, e.iteration, e.step, e.route) == (at.when, at.iteration, at.step, at.route)
            && matches!(e.what, What::Draw(_) | What::Move { .. } | What::Emptied(..))
    };
    let use_of = events[index..].iter().take_while(same);
    let mut emptied = use_of.filter_map(|e| match e.what {
        What::Emptied(id, _) => Some(id),
        _ => None,
    });
    emptied.any(|id| id == bath)
}

/// What is in the baths before anything happens.
fn in_baths(shop: &Shop) -> BTreeMap<(BathId, ItemId), i64> {
    use crate::plan::BathKindTable;
    let mut all = BTreeMap::new();
    for (index, bath) in State::new(shop).baths().iter().enumerate() {
        let id = BathId::at(index);
        *all.entry((id, shop.bath(id).solvent)).or_default() += bath.solvent;
        if let BathKindTable::Dye(item, _) = shop.bath(id).kind {
            *all.entry((id, item)).or_default() += bath.dye;
        }
        for &(item, amount) in &bath.resin {
            *all.entry((id, item)).or_default() += amount;
        }
    }
    all
}
