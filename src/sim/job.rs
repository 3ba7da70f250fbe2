//! Jobs: what goes through steps in one iteration. A build, an order, or a delivered lot.

use super::bath::{self, Washed};
use super::{Draw, Fate, State};
use crate::model::{BathId, EquipmentId, Exact, ItemId, MILLION, Moment, PartId, Per, RouteId};
use crate::plan::{ConsumeTable, Dip, Executions, HoldTable, RouteTable, Shop, StepTable};

/// What a job occupies.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Held {
    Machine(EquipmentId),
    Bath(BathId),
}

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
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Task {
    pub seconds: i64,
    /// The part a brief is for; `None` for placing the order.
    pub brief: Option<(PartId, RouteId)>,
}

/// Something that goes through steps; see [`JobKind`].
#[derive(Clone, Debug)]
pub(super) struct Job {
    pub kind: JobKind,
    pub wanted: Vec<Wanted>,
    /// Route of a build or lot; the first route of an order.
    pub route: RouteId,
    pub pieces: i64,
    /// Parts whose design counts with this job: a part printed in several builds counts with the one that starts first.
    pub designs: i64,
    /// What decides ties: solid volume of a build, copies x part volume of orders and lots.
    pub volume: Exact,
    /// Index of the next step or task.
    pub next: usize,
    /// When the step before ended.
    pub ready: Moment,
    pub held: Vec<Held>,
    /// Surface of the pieces in cm2.
    pub area: Exact,
    /// What each step that dips needs, by step number.
    pub dips: Vec<(usize, Dip)>,
    /// What the build carried into its first wash.
    pub washed: Option<Washed>,
    pub print: Option<PrintRun>,
    /// Which of the jobs of the iteration that begin with the same part.
    pub number: u32,
    /// How many attempts at it have failed.
    pub attempt: u32,
    /// How often the next step counts.
    pub counts: Executions,
    /// True where the next step fails.
    pub fails: bool,
    /// What the next step draws.
    pub draws: Vec<Draw>,
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

impl Job {
    /// The part a job's entries name: its only one, or `None` for several.
    pub fn part(&self) -> Option<PartId> {
        let first = self.wanted[0].part;
        self.wanted.iter().all(|w| w.part == first).then_some(first)
    }

    /// The route a job's entries name: its only one, or `None` for several.
    pub fn only_route(&self) -> Option<RouteId> {
        self.wanted.iter().all(|w| w.route == self.route).then_some(self.route)
    }

    /// A build or lot of pieces of one route; `wanted` is by part and not empty.
    pub fn pieces(kind: JobKind, shop: &Shop, wanted: Vec<Wanted>, ready: Moment) -> Job {
        let route = wanted[0].route;
        let table = shop.route(route);
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
        let mut job = Job {
            volume: print.map_or(volume, |p| p.solid),
            area: area_of(shop, &wanted),
            print,
            ..Job::plain(kind, wanted, ready)
        };
        job.dips = bath::dips(shop, &job);
        job.counts = table.steps.first().map_or(Executions::ONCE, |s| s.executions);
        job.draws = draws(&job, shop);
        job
    }

    fn plain(kind: JobKind, wanted: Vec<Wanted>, ready: Moment) -> Job {
        Job {
            kind,
            route: wanted[0].route,
            pieces: wanted.iter().map(|w| w.copies).sum(),
            designs: i64::try_from(wanted.len()).unwrap_or(i64::MAX),
            volume: Exact::ZERO,
            wanted,
            next: 0,
            ready,
            held: Vec::new(),
            area: Exact::ZERO,
            dips: Vec::new(),
            washed: None,
            print: None,
            number: 0,
            attempt: 0,
            counts: Executions::ONCE,
            fails: false,
            draws: Vec::new(),
        }
    }

    /// An order of one group; `wanted` is by part and not empty.
    pub fn order(shop: &Shop, wanted: Vec<Wanted>, with_brief: bool, ready: Moment) -> Job {
        let volume = volume_of(shop, &wanted);
        let terms = |w: &Wanted| shop.terms(w.route);
        let mut tasks: Vec<Task> = wanted
            .iter()
            .filter(|_| with_brief)
            .filter_map(|w| {
                let seconds = shop.values.whole(terms(w)?.brief?);
                Some(Task { seconds, brief: Some((w.part, w.route)) })
            })
            .collect();
        let order_time = wanted
            .iter()
            .filter_map(|w| Some(shop.values.whole(terms(w)?.order_time)))
            .max()
            .unwrap_or(0);
        tasks.push(Task { seconds: order_time, brief: None });
        let route = wanted.iter().map(|w| w.route).min().unwrap_or(wanted[0].route);
        Job { volume, route, ..Job::plain(JobKind::Order(tasks), wanted, ready) }
    }

    /// True when nothing is left to do.
    pub fn is_done(&self, shop: &Shop) -> bool {
        match &self.kind {
            JobKind::Order(tasks) => self.next >= tasks.len(),
            JobKind::Build | JobKind::Lot => self.next >= shop.route(self.route).steps.len(),
        }
    }

    /// The next step's hold, print time included; `None` where the step has none.
    pub fn hold(&self, step: &StepTable) -> HoldOf {
        let print = match (&self.print, self.next) {
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

/// A hold: seconds, then perhaps until the next morning.
#[derive(Clone, Copy, Debug)]
pub(super) struct HoldOf {
    pub first: i64,
    pub overnight: bool,
}

/// What the next step of a job draws: one draw per item, each rounded once.
pub(super) fn draws(job: &Job, shop: &Shop) -> Vec<Draw> {
    let route = shop.route(job.route);
    let Some(step) = route.steps.get(job.next) else {
        return Vec::new();
    };
    let mut resin = Vec::new();
    if job.next == 0
        && let (Some(print), Some(run)) = (&route.print, &job.print)
        && let Some(item) = print.resin
    {
        let amount = millionths(job.counts.runs * (run.solid + print.loss));
        let to = Fate::Print(run.solid.to_millionths().min(amount));
        resin.push(Draw { item, amount, packs: 0, bought: 0, to, assumed: print.assumed });
    }
    let litres = resin.first().map_or(0, |d| d.amount);
    let mut used = supplies(job, route, step, litres);
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

fn supplies(job: &Job, route: &RouteTable, step: &StepTable, resin: i64) -> Vec<(ItemId, Exact)> {
    let mut used: Vec<(ItemId, Exact)> = Vec::new();
    let mut add = |c: &ConsumeTable, times: Exact| match used.iter_mut().find(|u| u.0 == c.item) {
        Some(entry) => entry.1 = entry.1 + c.amount * times,
        None => used.push((c.item, c.amount * times)),
    };
    for c in &step.consumes {
        add(c, per_step(c.per, job));
    }
    if job.next == 0 {
        for c in &route.consumes {
            add(c, per_route(c.per, job, resin));
        }
    }
    used
}

fn per_step(per: Per, job: &Job) -> Exact {
    match per {
        Per::Piece => job.counts.runs * Exact::from(job.pieces),
        Per::Attempt => job.counts.starts,
        _ => job.counts.runs,
    }
}

fn per_route(per: Per, job: &Job, resin: i64) -> Exact {
    let run = job.print;
    match per {
        // Once per good build, however many attempts it takes.
        Per::Build | Per::Piece | Per::Design if job.attempt > 0 => Exact::ZERO,
        Per::Build => Exact::ONE,
        Per::Piece => Exact::from(job.pieces),
        Per::Attempt => job.counts.starts,
        Per::PrintHour => {
            let seconds = run.map_or(0, |p| p.seconds);
            Exact::from(seconds) * job.counts.runs / Exact::from(crate::model::HOUR)
        }
        Per::Layer => Exact::from(run.map_or(0, |p| p.layers)) * job.counts.runs,
        Per::LitreOfResin => Exact::from(resin) / Exact::from(1000 * MILLION),
        Per::Design => Exact::from(job.designs),
    }
}

/// Takes draws from stock, buying the fewest packs that cover what is missing.
pub(super) fn take(draws: &mut [Draw], shop: &Shop, state: &mut State) {
    for draw in draws {
        let index = draw.item.index();
        let item = shop.item(draw.item);
        let stock = &mut state.stock[index];
        let missing = draw.amount - *stock;
        match (item.pack, item.price) {
            (Some(pack), _) => {
                draw.packs = packs_for(missing, pack);
                draw.bought = draw.packs * pack;
            }
            // Paid by use: what is used is bought.
            (None, Some(_)) => draw.bought = draw.amount,
            // Without a price only what is missing comes from outside.
            (None, None) => draw.bought = missing.max(0),
        }
        *stock += draw.bought - draw.amount;
    }
}

/// The fewest packs that cover what is missing.
fn packs_for(missing: i64, pack: i64) -> i64 {
    if missing <= 0 { 0 } else { missing / pack + i64::from(missing % pack != 0) }
}

/// The moment from which every draw can be had: the first that takes an item past its stock waits for the item's lead.
pub(super) fn draws_from(draws: &[Draw], state: &State) -> Moment {
    let wanted = |index: usize| -> i64 {
        let same = draws[..=index].iter().filter(|d| d.item == draws[index].item);
        same.map(|d| d.amount).fold(0, i64::saturating_add)
    };
    (0..draws.len())
        .filter(|&i| wanted(i) > state.stock[draws[i].item.index()])
        .map(|i| state.item_from[draws[i].item.index()])
        .max()
        .unwrap_or(Moment::MIN)
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
