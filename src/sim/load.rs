//! Loads: the pieces of a job and what its steps take, worked out once for the same pieces and the same tables.

use std::cmp::Ordering;

use super::bath::{self, BathLoad};
use super::job::{JobKind, Task, Wanted};
use super::{Draw, Fate, Placed, place};
use crate::model::{Exact, ItemId, MILLION, PartId, Per, RouteId, Terms, day_of};
use crate::plan::{ConsumeTable, Executions, HoldTable, RouteTable, Shop, StepTable};

/// What never changes while a job goes through its steps.
#[derive(Clone, Debug)]
pub(super) struct Load {
    pub kind: JobKind,
    /// By part, not empty.
    pub wanted: Vec<Wanted>,
    /// Route of a build or lot; the first route of an order.
    pub route: RouteId,
    /// The part entries name: the only one, or `None` for several.
    pub part: Option<PartId>,
    /// The route entries name: the only one, or `None` for several.
    pub only_route: Option<RouteId>,
    pub pieces: i64,
    /// Parts whose design counts with this job, if it is the first build to start.
    pub designs: i64,
    /// What decides ties: solid volume of a build, copies x part volume of orders and lots.
    pub volume: Exact,
    /// The same, nearly: comparing is quicker.
    pub nearly: f64,
    /// Surface of the pieces in cm2.
    pub area: Exact,
    pub print: Option<PrintRun>,
    /// What an order is placed as, where that is the same on every day.
    pub placed: Option<Placed>,
    /// Which of the jobs of the iteration that begin with the same part.
    pub number: u32,
    /// What each step takes if nothing has gone wrong before.
    pub steps: Vec<StepLoad>,
}

/// What a step takes that runs as often as is expected.
#[derive(Clone, Debug)]
pub(super) struct StepLoad {
    pub draws: Vec<Draw>,
    /// What its bath does to the pieces, and they to it.
    pub bath: Option<BathLoad>,
}

/// A print run's size.
#[derive(Clone, Copy, Debug)]
pub(super) struct PrintRun {
    /// Print time, a hold stated on the print step added.
    pub seconds: i64,
    pub layers: i64,
    /// mL of pieces and supports.
    pub solid: Exact,
}

/// How a run of a step counts.
#[derive(Clone, Copy, Debug)]
pub(super) struct Counted {
    pub counts: Executions,
    /// Attempts that failed before.
    pub attempt: u32,
    pub designs: i64,
}

impl Load {
    /// A build or lot of pieces of one route; `wanted` is by part and not empty.
    pub fn pieces(kind: JobKind, shop: &Shop, wanted: Vec<Wanted>) -> Load {
        let table = shop.route(wanted[0].route);
        let volume = volume_of(shop, &wanted);
        let print = table.print.as_ref().map(|print| {
            let heights = wanted.iter().filter_map(|w| shop.part(w.part).stand(print.up));
            let tallest = heights.map(|s| s[2]).max().unwrap_or(0);
            let (solid, layers) = (print.solid(volume), print.layers(tallest));
            let added = match table.steps.first().map(|s| s.hold) {
                Some(HoldTable::Seconds(seconds)) => seconds,
                Some(HoldTable::Overnight) | None => 0,
            };
            PrintRun { seconds: print.seconds(solid, layers) + added, layers, solid }
        });
        let volume = print.map_or(volume, |p| p.solid);
        let mut load = Load {
            volume,
            nearly: volume.quick_f64(),
            area: area_of(shop, &wanted),
            print,
            ..Load::plain(kind, wanted)
        };
        let mut baths = bath::loads(shop, &load);
        let step = |(number, step): (usize, &StepTable)| {
            let clean = Counted { counts: step.executions, attempt: 0, designs: load.designs };
            StepLoad {
                draws: draws(&load, shop, number, clean),
                bath: baths.get_mut(number).and_then(Option::take),
            }
        };
        load.steps = table.steps.iter().enumerate().map(step).collect();
        load
    }

    fn plain(kind: JobKind, wanted: Vec<Wanted>) -> Load {
        let (part, route) = (wanted[0].part, wanted[0].route);
        Load {
            kind,
            route,
            part: wanted.iter().all(|w| w.part == part).then_some(part),
            only_route: wanted.iter().all(|w| w.route == route).then_some(route),
            pieces: wanted.iter().map(|w| w.copies).sum(),
            designs: i64::try_from(wanted.len()).unwrap_or(i64::MAX),
            volume: Exact::ZERO,
            nearly: 0.0,
            wanted,
            area: Exact::ZERO,
            print: None,
            placed: None,
            number: 0,
            steps: Vec::new(),
        }
    }

    /// An order of one group; `wanted` is by part and not empty.
    pub fn order(shop: &Shop, wanted: Vec<Wanted>, with_brief: bool) -> Load {
        let volume = volume_of(shop, &wanted);
        let terms = |w: &Wanted| shop.terms(w.route);
        let brief = |w: &Wanted| {
            let slots = vec![terms(w)?.brief?];
            Some(Task { slots, brief: Some((w.part, w.route)) })
        };
        let mut tasks: Vec<Task> = wanted.iter().filter(|_| with_brief).filter_map(brief).collect();
        let slots = wanted.iter().filter_map(|w| Some(terms(w)?.order_time)).collect();
        tasks.push(Task { slots, brief: None });
        let route = wanted.iter().map(|w| w.route).min().unwrap_or(wanted[0].route);
        let is_dated = wanted.iter().filter_map(terms).any(Terms::is_dated);
        let lines = wanted.iter().map(|w| (w.part, w.route, w.copies));
        let any_day = shop.scenario.start.map(day_of);
        let placed = if is_dated { None } else { place(shop, lines, any_day).ok() };
        let nearly = volume.quick_f64();
        Load { volume, nearly, route, placed, ..Load::plain(JobKind::Order(tasks), wanted) }
    }
}

impl Load {
    /// Which goes first where both could start: the larger volume, then by the first part's name, then by the route's.
    pub fn place(&self, other: &Load) -> Ordering {
        let apart = self.nearly - other.nearly;
        // Floats decide where they differ by more than they can be wrong.
        if apart.abs() > 1e-9 * self.nearly.max(other.nearly) {
            return if apart > 0.0 { Ordering::Less } else { Ordering::Greater };
        }
        (other.volume, self.wanted[0].part, self.route).cmp(&(
            self.volume,
            other.wanted[0].part,
            other.route,
        ))
    }
}

fn volume_of(shop: &Shop, wanted: &[Wanted]) -> Exact {
    wanted
        .iter()
        .map(|w| Exact::from_millionths(shop.part(w.part).volume) * Exact::from(w.copies))
        .sum()
}

fn area_of(shop: &Shop, wanted: &[Wanted]) -> Exact {
    wanted
        .iter()
        .map(|w| Exact::from_millionths(shop.part(w.part).area) * Exact::from(w.copies))
        .sum()
}

/// What a step draws: one draw per item, each rounded once.
pub(super) fn draws(load: &Load, shop: &Shop, number: usize, how: Counted) -> Vec<Draw> {
    let route = shop.route(load.route);
    let Some(step) = route.steps.get(number) else {
        return Vec::new();
    };
    let first = number == 0;
    let mut resin = Vec::new();
    if first
        && let (Some(print), Some(run)) = (&route.print, &load.print)
        && let Some(item) = print.resin
    {
        let amount = millionths(how.counts.runs * (run.solid + print.loss));
        let to = Fate::Print(run.solid.to_millionths().min(amount));
        resin.push(Draw { item, amount, packs: 0, bought: 0, to, assumed: print.assumed });
    }
    let litres = first.then(|| resin.first().map_or(0, |d| d.amount));
    let mut used = supplies((load, how), route, step, litres);
    used.retain(|&(_, amount)| !amount.is_zero());
    resin.extend(used.into_iter().map(|(item, amount)| Draw {
        item,
        amount: millionths(amount),
        packs: 0,
        bought: 0,
        to: Fate::Used,
        assumed: route.assumed,
    }));
    resin
}

/// Whole millionths, kept where stocks and packs still add up; valuation refuses amounts of that size.
fn millionths(amount: Exact) -> i64 {
    amount.to_millionths().min(1_000_000_000_000_000_000)
}

/// Supplies of a step, and with the first one those of the route, added up by item; then `resin` is what was drawn of it.
fn supplies(
    of: (&Load, Counted),
    route: &RouteTable,
    step: &StepTable,
    resin: Option<i64>,
) -> Vec<(ItemId, Exact)> {
    let mut used: Vec<(ItemId, Exact)> = Vec::new();
    for (c, times, ..) in uses(of, route, step, resin) {
        match used.iter_mut().find(|u| u.0 == c.item) {
            Some(entry) => entry.1 = entry.1 + c.amount * times,
            None => used.push((c.item, c.amount * times)),
        }
    }
    used
}

/// The same one by one: how often each counts, its index, and whether it is one of the route.
pub(super) fn uses<'t>(
    of: (&'t Load, Counted),
    route: &'t RouteTable,
    step: &'t StepTable,
    resin: Option<i64>,
) -> impl Iterator<Item = (&'t ConsumeTable, Exact, usize, bool)> {
    let own = step.consumes.iter().enumerate();
    let own = own.map(move |(at, c)| (c, per_step(c.per, of), at, false));
    let of_route = resin.into_iter().flat_map(move |resin| {
        let all = route.consumes.iter().enumerate();
        all.map(move |(at, c)| (c, per_route(c.per, of, resin), at, true))
    });
    own.chain(of_route)
}

fn per_step(per: Per, (load, how): (&Load, Counted)) -> Exact {
    match per {
        Per::Piece => how.counts.runs * Exact::from(load.pieces),
        Per::Attempt => how.counts.starts,
        _ => how.counts.runs,
    }
}

fn per_route(per: Per, (load, how): (&Load, Counted), resin: i64) -> Exact {
    let (run, counts) = (load.print, how.counts);
    match per {
        // Once per good build, however many attempts it takes.
        Per::Build | Per::Piece | Per::Design if how.attempt > 0 => Exact::ZERO,
        Per::Build => Exact::ONE,
        Per::Piece => Exact::from(load.pieces),
        Per::Attempt => counts.starts,
        Per::PrintHour => {
            let seconds = run.map_or(0, |p| p.seconds);
            Exact::from(seconds) * counts.runs / Exact::from(crate::model::HOUR)
        }
        Per::Layer => Exact::from(run.map_or(0, |p| p.layers)) * counts.runs,
        Per::LitreOfResin => Exact::from(resin) / Exact::from(1000 * MILLION),
        Per::Design => Exact::from(how.designs),
    }
}
