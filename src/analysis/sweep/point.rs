//! The plans at the points of a grid at which the same happens: carried out once, valued with the prices of each point.

use std::borrow::Cow;
use std::collections::BTreeMap;

use crate::analysis::probe::is_valid;
use crate::analysis::project::to_planned;
use crate::analysis::{
    Doubts, Leg, PlanResult, Ranked, carried_out, choose, is_in_time, stop_text, too_many_text,
};
use crate::model::{Exact, Money, RouteId, Scenario};
use crate::plan::{Plan, PlanSet, RuledOut, Shop, Values, plans, ruled_out};
use crate::sim::{Event, Memory, Simulation, State, Stop};
use crate::value::{Prices, RoundedTotals};

/// One plan at one point, or why there is none.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct SweepRow {
    /// The point.
    pub point: u64,
    /// The plan, by index into [`SweepTable::plans`]; `None` where no plan is to be told of.
    pub plan: Option<u32>,
    /// What it comes to; `None` where it cannot be carried out.
    pub figures: Option<RowFigures>,
    /// Why there are no figures, by index into [`SweepTable::reasons`].
    pub reason: Option<u32>,
}

/// What a plan comes to at a point, at the planned count with the final.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub struct RowFigures {
    /// Avoidable cost, outlay and consumed value in minor units.
    pub money: [i64; 3],
    /// Seconds from start to in hand, without failures.
    pub seconds: i64,
    /// True for the plan the verdict names.
    pub verdict: bool,
    /// True where it is within `close` of the cheapest in time.
    pub close: bool,
    /// True where it is in time; `None` without a due date.
    pub in_time: Option<bool>,
}

/// Rows of a stretch of the grid, in its order, plans by name at each point.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct SweepTable {
    /// The rows.
    pub rows: Vec<SweepRow>,
    /// Names of plans.
    pub plans: Words,
    /// Reasons.
    pub reasons: Words,
}

/// Texts, each once, in the order they were met.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Words {
    list: Vec<String>,
    places: BTreeMap<String, u32>,
}

impl Words {
    /// The index of a text, which is added if it is not there.
    pub fn index(&mut self, text: &str) -> u32 {
        if let Some(&index) = self.places.get(text) {
            return index;
        }
        let index = u32::try_from(self.list.len()).unwrap_or(u32::MAX);
        self.list.push(text.to_owned());
        self.places.insert(text.to_owned(), index);
        index
    }

    /// The text at an index; empty where there is none.
    pub fn get(&self, index: u32) -> &str {
        self.list.get(index as usize).map_or("", String::as_str)
    }

    /// All of them.
    pub fn list(&self) -> &[String] {
        &self.list
    }
}

impl SweepTable {
    /// A point without figures.
    pub(super) fn refuse(&mut self, point: u64, why: &str) {
        let reason = Some(self.reasons.index(why));
        self.rows.push(SweepRow { point, plan: None, figures: None, reason });
    }
}

/// Numbers under which the same happens, whatever things cost.
pub(super) struct World<'v> {
    shop: Shop<'v>,
    /// By name.
    plans: Vec<Carried>,
    /// Why no plan is to be told of.
    none: Option<u32>,
}

/// A plan in a world, with its index in the table.
struct Carried {
    plan: Plan,
    index: u32,
    what: Outcome,
}

/// What comes of a plan.
enum Outcome {
    /// What happens up to the planned count with the final, and seconds to in hand.
    Happens(Vec<Event>, i64),
    /// It rests on unproven routes: what is best done about them depends on prices.
    Doubtful,
    /// It cannot be carried out, by index of the reason.
    Not(u32),
}

impl<'v> World<'v> {
    /// Carries every plan out; their names, and reasons, go into the table.
    pub fn new(scenario: &'v Scenario, values: &'v Values, table: &mut SweepTable) -> World<'v> {
        let shop = Shop::new(scenario, values);
        let refused = |table: &mut SweepTable, shop: Shop<'v>, why: &str| {
            let none = Some(table.reasons.index(why));
            World { shop, plans: Vec::new(), none }
        };
        if !is_valid(&shop) {
            let why = "the own count of a part is above the planned iterations";
            return refused(table, shop, why);
        }
        let out = ruled_out(&shop);
        let set = match plans(&shop, &out) {
            Ok(set) => set,
            Err(many) => return refused(table, shop, &too_many_text(&many)),
        };
        let mut carried = carry_out(&shop, set, table);
        carried.sort_by(|a, b| a.plan.name.cmp(&b.plan.name));
        if carried.is_empty() {
            let why = none_feasible(scenario, &out);
            return refused(table, shop, &why);
        }
        World { shop, plans: carried, none: None }
    }

    /// Adds the rows of a point whose prices are in `values`.
    pub fn rows(&self, values: &Values, (point, winner): (u64, bool), table: &mut SweepTable) {
        if let Some(reason) = self.none {
            table.rows.push(SweepRow { point, plan: None, figures: None, reason: Some(reason) });
            return;
        }
        let shop = self.shop.beside(values);
        let mut prices = Prices::new(&shop);
        let (mut standing, mut rows) = (Vec::new(), Vec::new());
        for carried in &self.plans {
            let plan = Some(carried.index);
            let row = match carried.stand(&shop, &mut prices) {
                Stands::Here(here) => {
                    standing.push((rows.len(), here));
                    SweepRow { point, plan, figures: None, reason: None }
                }
                Stands::Not(reason) => {
                    SweepRow { point, plan, figures: None, reason: Some(reason) }
                }
                Stands::Why(why) => {
                    SweepRow { point, plan, figures: None, reason: Some(table.reasons.index(&why)) }
                }
            };
            rows.push(row);
        }
        let (places, standing): (Vec<usize>, Vec<Standing>) = standing.into_iter().unzip();
        let chosen = choose(&shop, &standing, &|_| None);
        for (index, (&place, here)) in places.iter().zip(&standing).enumerate() {
            let verdict = chosen.as_ref().is_some_and(|c| c.plan == index);
            let close = chosen.as_ref().is_some_and(|c| c.candidates.contains(&index));
            let row = &mut rows[place];
            match here.figures(&shop, (verdict, close)) {
                Some(figures) => row.figures = Some(figures),
                None => {
                    row.reason = Some(table.reasons.index("an amount is too large for a table"))
                }
            }
        }
        if !winner {
            table.rows.extend(rows);
            return;
        }
        match rows.into_iter().find(|row| row.figures.is_some_and(|f| f.verdict)) {
            Some(row) => table.rows.push(row),
            None => table.refuse(point, "no plan can be carried out"),
        }
    }
}

/// Carries out every plan that meets its musts; named ones that break a must come with the reason.
fn carry_out(shop: &Shop, set: PlanSet, table: &mut SweepTable) -> Vec<Carried> {
    let mut carried = Vec::new();
    let start = State::new(shop);
    let mut memory = Memory::default();
    for plan in set.whole {
        let what = if Doubts::of(shop, &plan.assign).list.is_empty() {
            match happens(shop, &plan, &mut memory, &start) {
                Ok((events, seconds)) => Outcome::Happens(events, seconds),
                Err(stop) => Outcome::Not(table.reasons.index(&stop_text(shop.scenario, &stop))),
            }
        } else {
            Outcome::Doubtful
        };
        let index = table.plans.index(&plan.name);
        carried.push(Carried { plan, index, what });
    }
    if !shop.scenario.plans.is_empty() {
        for plan in set.early.into_iter().chain(set.never) {
            let why = plan.broken.as_ref().map_or("", |b| &b.reason);
            let what = Outcome::Not(table.reasons.index(why));
            let index = table.plans.index(&plan.name);
            carried.push(Carried { plan, index, what });
        }
    }
    carried
}

/// What happens in a plan without unproven routes, up to the planned count with the final, and seconds to in hand.
fn happens(
    shop: &Shop,
    plan: &Plan,
    memory: &mut Memory,
    start: &State,
) -> Result<(Vec<Event>, i64), Stop> {
    let legs = [Leg::Makes(plan.assign.clone())];
    let pace = plan.pace(shop);
    let mut simulation = Simulation::reuse(std::mem::take(memory), shop, start);
    simulation.vary(pace.variants);
    simulation.go_two_ways(&plan.beside);
    let done = to_planned(&mut simulation, (&legs, pace), 0);
    let events = std::mem::take(&mut simulation.events);
    let in_hand = simulation.dates.last().map_or(shop.start, |d| d.in_hand);
    *memory = simulation.leave();
    done.map(|()| (events, in_hand - shop.start))
}

fn none_feasible(scenario: &Scenario, out: &[RuledOut]) -> String {
    let Some(first) = out.first() else {
        return "no plan is feasible: no route is for every part".to_owned();
    };
    let (part, route) = (&scenario.part(first.part).name, &scenario.route(first.route).name);
    let more = match out.len() - 1 {
        0 => String::new(),
        more => format!(", and {more} more"),
    };
    format!("no plan is feasible: {part} by {route}: {}{more}", first.reason)
}

/// How a plan stands at a point.
enum Stands<'w> {
    Here(Standing<'w>),
    /// It cannot be carried out, by index of the reason.
    Not(u32),
    Why(String),
}

/// A plan's figures at a point.
struct Standing<'w> {
    plan: &'w Plan,
    avoidable: Money,
    money: [i128; 3],
    seconds: i64,
    /// Where it rests on unproven routes.
    result: Option<Box<PlanResult>>,
}

impl Carried {
    fn stand(&self, shop: &Shop, prices: &mut Prices) -> Stands<'_> {
        let minor = shop.scenario.minor();
        match &self.what {
            Outcome::Not(reason) => Stands::Not(*reason),
            Outcome::Happens(events, seconds) => match prices.rounded(shop, events) {
                Ok(RoundedTotals(money)) => Stands::Here(Standing {
                    plan: &self.plan,
                    avoidable: Money::of_minor_units(money[0], minor).unwrap_or_default(),
                    money,
                    seconds: *seconds,
                    result: None,
                }),
                Err(stop) => Stands::Why(stop_text(shop.scenario, &stop)),
            },
            Outcome::Doubtful => match carried_out(shop, &self.plan, shop.planned, &[shop.planned])
            {
                Ok((result, _)) => {
                    let d = &result.decides;
                    Stands::Here(Standing {
                        plan: &self.plan,
                        avoidable: d.avoidable,
                        money: [d.avoidable, d.outlay, d.consumed].map(|m| m.minor_units(minor)),
                        seconds: d.seconds,
                        result: Some(Box::new(result)),
                    })
                }
                Err(why) => Stands::Why(why),
            },
        }
    }
}

impl Standing<'_> {
    fn figures(&self, shop: &Shop, (verdict, close): (bool, bool)) -> Option<RowFigures> {
        let [avoidable, outlay, consumed] = self.money.map(|m| i64::try_from(m).ok());
        Some(RowFigures {
            money: [avoidable?, outlay?, consumed?],
            seconds: self.seconds,
            verdict,
            close,
            in_time: shop.scenario.due.map(|_| is_in_time(shop, self)),
        })
    }
}

impl Ranked for Standing<'_> {
    fn plan(&self) -> &Plan {
        self.plan
    }

    fn avoidable(&self) -> Money {
        self.avoidable
    }

    fn seconds(&self) -> i64 {
        self.seconds
    }

    fn in_time(&self, shop: &Shop) -> Option<Exact> {
        self.result.as_ref()?.in_time(shop)
    }

    fn intended(&self) -> Cow<'_, [RouteId]> {
        match &self.result {
            Some(result) => result.intended(),
            None => Cow::Borrowed(&self.plan.assign),
        }
    }
}
