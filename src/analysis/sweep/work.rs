//! The plans at the points of a stretch, world by world: a world is what happens under one combination of all inputs that are no prices.
//!
//! Nothing is worked out twice: which plans there are, under the inputs that decide that; a plan, under those that touch it; what it costs,
//! under the prices it rests on.

use std::borrow::Cow;
use std::cell::OnceCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use super::Grid;
use super::carried::{Carried, Sum, happens};
use super::frame::Frame;
use super::table::{RowFigures, SweepRow, SweepTable};
use crate::analysis::compare::{Ranked, choose, is_in_time};
use crate::analysis::follow::{
    Doubts, PlanResult, carried_out, is_valid, stop_text, too_many_text,
};
use crate::model::{Exact, Money, RouteId, Scenario};
use crate::plan::{Plan, PlanSet, RuledOut, Shop, Values, plans, ruled_out};
use crate::sim::{Memory, State};
use crate::value::Prices;

/// Events and sums that are kept; beyond it all are let go.
const MOST_ROOM: usize = 400_000;

/// The plans there are, by name; or why none is to be told of, by index of the reason.
type Set = Result<Vec<Known>, u32>;

/// A plan with its index in the table.
struct Known {
    plan: Plan,
    index: u32,
    soundness: Soundness,
}

/// What is to be done about a plan.
enum Soundness {
    /// It is carried out; the inputs that may matter to it, by index.
    Sound(Vec<usize>),
    /// It rests on unproven routes: what is best done about them depends on prices.
    Doubtful,
    /// It breaks a must, by index of the reason.
    Broken(u32),
}

/// A plan carried out, or why it cannot be.
type Done = Rc<Result<Carried, u32>>;

/// What is known so far in a stretch.
pub(super) struct Work<'f> {
    frame: &'f Frame,
    grid: &'f Grid,
    /// The tables with the numbers as they are.
    likely: Shop<'f>,
    sets: BTreeMap<Vec<usize>, Rc<Set>>,
    done: BTreeMap<(u32, Vec<usize>), Done>,
    room: usize,
    memory: Memory,
    /// Prices that hold in every world, where no moving input changes one.
    prices: Option<Prices>,
}

impl<'f> Work<'f> {
    /// Nothing is known yet.
    pub fn new(frame: &'f Frame, grid: &'f Grid) -> Work<'f> {
        Work {
            likely: Shop::new(&frame.scenario, &frame.base),
            frame,
            grid,
            sets: BTreeMap::new(),
            done: BTreeMap::new(),
            room: 0,
            memory: Memory::default(),
            prices: None,
        }
    }

    /// Adds the rows of the points of one world.
    pub fn rows(&mut self, points: &[(u64, u64)], winner: bool, table: &mut SweepTable) {
        let (frame, grid) = (self.frame, self.grid);
        let mut at = vec![0; grid.varied().len()];
        grid.inner_values(points[0].1, &mut at);
        let mut values = frame.base.clone();
        frame.roles.moving.iter().for_each(|&index| frame.put(&mut values, index, at[index]));
        let world = World::new(self.likely.clone(), &values, frame.roles.keeps_tables);
        let set = self.set(&world, &at, table);
        let known = match &*set {
            Ok(known) => known,
            Err(reason) => {
                table.rows.extend(points.iter().map(|&(_, point)| SweepRow {
                    point,
                    plan: None,
                    figures: None,
                    reason: Some(*reason),
                }));
                return;
            }
        };
        let mut prices = if frame.roles.keeps_prices { self.prices.take() } else { None };
        let mut done = |known| (known, self.done((&world, &mut prices), known, &at, table));
        let plans: Vec<(&Known, Option<Done>)> = known.iter().map(&mut done).collect();
        self.prices = prices;
        let mut priced = values.clone();
        for &(_, point) in points {
            grid.inner_values(point, &mut at);
            let prices = frame.roles.prices.iter();
            prices.for_each(|&index| frame.put(&mut priced, index, at[index]));
            Point { world: &world, grid, at: &at, priced: &priced }.rows(
                &plans,
                (point, winner),
                table,
            );
        }
        if self.room > MOST_ROOM {
            self.done.clear();
            self.room = 0;
        }
    }

    /// The plans of a world.
    fn set(&mut self, world: &World, at: &[usize], table: &mut SweepTable) -> Rc<Set> {
        let key: Vec<usize> = self.frame.roles.settling.iter().map(|&index| at[index]).collect();
        if let Some(set) = self.sets.get(&key) {
            return Rc::clone(set);
        }
        let set = Rc::new(self.known(world.shop(), table));
        self.sets.insert(key, Rc::clone(&set));
        set
    }

    fn known(&self, shop: &Shop, table: &mut SweepTable) -> Set {
        if !is_valid(shop) {
            let why = "the own count of a part is above the planned iterations";
            return Err(table.reasons.index(why));
        }
        let out = ruled_out(shop);
        let PlanSet { whole, early, never } =
            plans(shop, &out).map_err(|many| table.reasons.index(&too_many_text(&many)))?;
        let roles = &self.frame.roles;
        let mut known: Vec<Known> = Vec::new();
        for plan in whole {
            let sound = Doubts::of(shop, &plan.assign).list.is_empty();
            let soundness = if sound {
                Soundness::Sound(roles.of_plan(shop.scenario, &plan))
            } else {
                Soundness::Doubtful
            };
            known.push(Known { index: table.plans.index(&plan.name), plan, soundness });
        }
        // Named plans that break a must are told with the reason.
        let named = !shop.scenario.plans.is_empty();
        for plan in early.into_iter().chain(never).filter(|_| named) {
            let why = plan.broken.as_ref().map_or("", |b| &b.reason);
            let soundness = Soundness::Broken(table.reasons.index(why));
            known.push(Known { index: table.plans.index(&plan.name), plan, soundness });
        }
        if known.is_empty() {
            return Err(table.reasons.index(&none_feasible(shop.scenario, &out)));
        }
        known.sort_by(|a, b| a.plan.name.cmp(&b.plan.name));
        Ok(known)
    }

    /// A sound plan carried out.
    fn done(
        &mut self,
        (world, prices): (&World, &mut Option<Prices>),
        known: &Known,
        at: &[usize],
        table: &mut SweepTable,
    ) -> Option<Done> {
        let Soundness::Sound(matters) = &known.soundness else {
            return None;
        };
        let key = (known.index, matters.iter().map(|&index| at[index]).collect());
        if let Some(done) = self.done.get(&key) {
            return Some(Rc::clone(done));
        }
        let shop = world.shop();
        let roles = &self.frame.roles;
        let happened = happens((shop, world.start()), &known.plan, &mut self.memory);
        let done = match happened {
            Err(stop) => Err(table.reasons.index(&stop_text(shop.scenario, &stop))),
            Ok(happened) => {
                let prices = prices.get_or_insert_with(|| Prices::new(shop));
                let with = (roles, self.grid, &mut table.reasons);
                let carried = Carried::new(happened, shop, prices, with);
                self.room += carried.room();
                Ok(carried)
            }
        };
        let done = Rc::new(done);
        self.done.insert(key, Rc::clone(&done));
        Some(done)
    }
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

/// The shop of one world. Tables are laid out only where something is worked out in it.
struct World<'v> {
    /// The numbers of the world beside the tables of the scenario as it is: what judging takes.
    judged: Shop<'v>,
    laid_out: OnceCell<Shop<'v>>,
    start: OnceCell<State>,
}

impl<'v> World<'v> {
    fn new<'f: 'v>(likely: Shop<'f>, values: &'v Values, keeps_tables: bool) -> World<'v> {
        let judged = likely.beside(values);
        let laid_out = OnceCell::new();
        if keeps_tables {
            let _ = laid_out.set(judged.clone());
        }
        World { judged, laid_out, start: OnceCell::new() }
    }

    fn shop(&self) -> &Shop<'v> {
        self.laid_out.get_or_init(|| Shop::new(self.judged.scenario, self.judged.values))
    }

    fn start(&self) -> &State {
        self.start.get_or_init(|| State::new(self.shop()))
    }
}

/// One point of a world.
struct Point<'p, 'v> {
    world: &'p World<'v>,
    grid: &'p Grid,
    at: &'p [usize],
    /// Its numbers, prices too.
    priced: &'p Values,
}

impl Point<'_, '_> {
    fn rows(
        &self,
        plans: &[(&Known, Option<Done>)],
        (point, winner): (u64, bool),
        table: &mut SweepTable,
    ) {
        let begin = table.rows.len();
        let mut prices: Option<Prices> = None;
        let mut standing: Vec<Standing> = Vec::with_capacity(plans.len());
        for (place, (known, done)) in plans.iter().enumerate() {
            let plan = Some(known.index);
            let reason = match self.stands(known, done.as_ref(), &mut prices, table) {
                Ok(stands) => {
                    standing.push(Standing { place, ..stands });
                    None
                }
                Err(reason) => Some(reason),
            };
            table.rows.push(SweepRow { point, plan, figures: None, reason });
        }
        let judged = &self.world.judged;
        let doubtful = standing.iter().any(|s| s.result.is_some());
        let shop = if doubtful { self.world.shop() } else { judged };
        let chosen = choose(shop, &standing, &|_| None);
        for (index, stands) in standing.iter().enumerate() {
            table.rows[begin + stands.place].figures = Some(RowFigures {
                money: stands.money,
                seconds: stands.seconds,
                verdict: chosen.as_ref().is_some_and(|c| c.plan == index),
                close: chosen.as_ref().is_some_and(|c| c.candidates.contains(&index)),
                in_time: shop.scenario.due.map(|_| is_in_time(shop, stands)),
            });
        }
        if winner {
            let of_verdict = |row: &SweepRow| row.figures.is_some_and(|f| f.verdict);
            let found = table.rows.drain(begin..).find(of_verdict);
            match found {
                Some(row) => table.rows.push(row),
                None => table.refuse(point, "no plan can be carried out"),
            }
        }
    }

    /// How a plan stands; why not, by index of the reason.
    fn stands<'k>(
        &self,
        known: &'k Known,
        done: Option<&Done>,
        prices: &mut Option<Prices>,
        table: &mut SweepTable,
    ) -> Result<Standing<'k>, u32> {
        let minor = self.world.judged.scenario.minor();
        let standing = |money: [i64; 3], seconds| Standing {
            plan: &known.plan,
            place: 0,
            avoidable: Money::of_minor_units(money[0].into(), minor).unwrap_or_default(),
            money,
            seconds,
            result: None,
        };
        match (&known.soundness, done.map(|done| &**done)) {
            (Soundness::Broken(reason), _) | (_, Some(Err(reason))) => Err(*reason),
            (_, Some(Ok(carried))) => {
                let money = self.sum(carried, prices, table)?;
                Ok(standing(money, carried.seconds))
            }
            (_, None) => {
                let shop = self.world.shop().beside(self.priced);
                let (planned, plan) = (shop.planned, &known.plan);
                let (result, _) = carried_out(&shop, plan, planned, &[planned])
                    .map_err(|why| table.reasons.index(&why))?;
                let d = &result.decides;
                let money = [d.avoidable, d.outlay, d.consumed].map(|m| m.minor_units(minor));
                match money.map(i64::try_from) {
                    [Ok(avoidable), Ok(outlay), Ok(consumed)] => Ok(Standing {
                        result: Some(Box::new(result.clone())),
                        ..standing([avoidable, outlay, consumed], d.seconds)
                    }),
                    _ => Err(table.reasons.index("an amount is too large for a table")),
                }
            }
        }
    }

    fn sum(&self, carried: &Carried, prices: &mut Option<Prices>, table: &mut SweepTable) -> Sum {
        carried.sum(self.grid, self.at, &mut table.reasons, &mut |told| {
            let shop = self.world.shop().beside(self.priced);
            told(&shop, prices.get_or_insert_with(|| Prices::new(&shop)));
        })
    }
}

/// A plan's figures at a point.
struct Standing<'k> {
    plan: &'k Plan,
    /// Its row among those of the point.
    place: usize,
    avoidable: Money,
    money: [i64; 3],
    seconds: i64,
    /// Where it rests on unproven routes.
    result: Option<Box<PlanResult>>,
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
