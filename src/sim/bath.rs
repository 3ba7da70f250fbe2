//! Baths in use: what is in them, what a use pours, and what leaves.

use super::event::{Account, Draw, Event, Fate, Stamp, What};
use super::job::Job;
use super::load::Load;
use super::state::State;
use crate::model::{BathId, Exact, HOUR, ItemId, Moment};
use crate::plan::{
    BathKindTable, BathTable, Dip, Dipped, DyeTable, Executions, Shop, StepTable, WashTable,
};

/// What is in a bath, in millionths of mL.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct BathState {
    /// Solvent.
    pub solvent: i64,
    /// Dye.
    pub dye: i64,
    /// Dissolved resin by item.
    pub resin: Vec<(ItemId, i64)>,
    /// Uses since it was filled; a planning run counts starts that fail.
    pub uses: Exact,
    /// When it was filled; `None` while it stands empty.
    pub filled: Option<Moment>,
}

impl BathState {
    /// The state at the start: a half-used wash bath is full, anything else empty.
    ///
    /// Resin in it counts as the first resin by name: which one it was is not asked.
    pub(super) fn new(table: &BathTable, resin_item: Option<ItemId>, start: Moment) -> BathState {
        match table.kind {
            BathKindTable::Wash(WashTable { used: Some((resin, uses)), fill, .. }) => BathState {
                solvent: fill,
                resin: resin_item.map(|item| (item, resin)).into_iter().collect(),
                uses: Exact::from(uses),
                filled: Some(start),
                dye: 0,
            },
            _ => BathState::default(),
        }
    }

    /// Dissolved resin of all kinds.
    pub fn dissolved(&self) -> i64 {
        self.resin.iter().map(|r| r.1).sum()
    }

    /// Everything in it.
    pub fn mixture(&self) -> i64 {
        self.solvent + self.dye + self.dissolved()
    }

    fn resin_of(&self, item: ItemId) -> i64 {
        self.resin.iter().find(|r| r.0 == item).map_or(0, |r| r.1)
    }

    /// True where it has been used as often as it may be.
    fn is_worn(&self, table: &BathTable) -> bool {
        table.reuse_limit.is_some_and(|limit| self.uses >= Exact::from(limit))
    }

    /// True where a wash bath must be emptied before so much resin comes in. A fresh bath accepts one wash of any size.
    fn is_spent(&self, table: &BathTable, wash: &WashTable, coming: i64) -> bool {
        let fresh = self.filled.is_none() || (self.uses.is_zero() && self.dissolved() == 0);
        let resin = self.dissolved() + coming;
        let past = || wash.retire_share.is_exceeded_by(resin, resin + wash.fill);
        !fresh && (self.is_worn(table) || past())
    }

    /// True where a dye bath must be emptied before a use that starts at a moment.
    fn is_stale(&self, table: &BathTable, tub: &DyeTable, start: Moment) -> bool {
        let old = |filled: Moment| tub.keeps.is_some_and(|keeps| start > filled + keeps);
        self.filled.is_some_and(|filled| old(filled) || self.is_worn(table))
    }

    /// Nothing is left in it; the room of the list is.
    fn empty(&mut self) {
        let mut resin = std::mem::take(&mut self.resin);
        resin.clear();
        *self = BathState { resin, ..BathState::default() };
    }

    fn add_resin(&mut self, item: ItemId, amount: i64) {
        match self.resin.iter_mut().find(|r| r.0 == item) {
            Some(entry) => entry.1 += amount,
            None => self.resin.push((item, amount)),
        }
    }

    fn take_resin(&mut self, item: ItemId, wanted: i64) -> i64 {
        let Some(entry) = self.resin.iter_mut().find(|r| r.0 == item) else {
            return 0;
        };
        let taken = wanted.min(entry.1);
        entry.1 -= taken;
        taken
    }
}

/// What a bath and the pieces of a job do to each other in a step: nothing of it changes while the job goes on.
#[derive(Clone, Copy, Debug)]
pub(super) struct BathLoad {
    pub bath: BathId,
    /// What a dip needs, where it is one.
    dip: Option<Dip>,
    /// What a wash lets in.
    carried: Option<Carried>,
    /// Liquid that leaves on the pieces, mL for one run.
    film: Exact,
    /// Solvent and dye in it, for a run that counts as often as is expected.
    dragged: (i64, i64),
}

/// Resin that comes into a wash bath.
#[derive(Clone, Copy, Debug)]
pub(super) struct Carried {
    item: ItemId,
    /// What comes in, at most.
    amount: i64,
    /// The bath it comes from, where the build was washed before.
    from: Option<BathId>,
    /// What a good build carries into its first wash, in mL.
    each: Exact,
    /// The share of it that comes along.
    share: Exact,
}

/// Resin that comes into a bath in so many runs, where each carries so much and a share of it comes along.
fn coming(runs: Exact, each: Exact, share: Exact) -> i64 {
    whole(runs * share * each)
}

/// What a use of a bath does before the pieces go in.
#[derive(Clone, Copy, Debug)]
pub(super) struct Use {
    pub bath: BathId,
    /// Resin that comes in from the pieces, drawn anew (first wash) or moved from the first bath.
    resin: Option<Carried>,
    /// True where the bath is emptied first.
    empties: bool,
    /// Solvent and dye that must be in it.
    solvent: i64,
    dye: i64,
    /// The dye, where it is a dye bath.
    dye_item: Option<ItemId>,
    /// Solvent and dye that leave on the pieces.
    dragged: (i64, i64),
}

/// What the steps of a job do in their baths, by step.
pub(super) fn loads(shop: &Shop, load: &Load) -> Vec<Option<BathLoad>> {
    let pieces = dipped(shop, load);
    let mut first: Option<(BathId, Exact)> = None;
    let mut washed: Vec<BathId> = Vec::new();
    let mut of_step = |step: &StepTable| {
        let (id, up) = step.bath?;
        let table = shop.bath(id);
        let (dip, carried, wetted) = match &table.kind {
            BathKindTable::Dye(_, tub) => {
                let dip = tub.dip(&pieces, up);
                (Some(dip), None, dip.wetted)
            }
            BathKindTable::Wash(_) if washed.contains(&id) => (None, None, load.area),
            BathKindTable::Wash(wash) => {
                let carried = carried(shop, load, wash, (first, step.executions.runs));
                if let Some(carried) = carried {
                    first.get_or_insert((id, carried.each));
                    washed.push(id);
                }
                (None, carried, load.area)
            }
        };
        let film = film(wetted, table.solvent_film);
        let dragged = dragged(table, film * step.executions.runs);
        Some(BathLoad { bath: id, dip, carried, film, dragged })
    };
    shop.route(load.route).steps.iter().map(&mut of_step).collect()
}

/// What a build carries into a wash in so many runs: from the printer, or from the bath it was washed in first.
fn carried(
    shop: &Shop,
    load: &Load,
    wash: &WashTable,
    (first, runs): (Option<(BathId, Exact)>, Exact),
) -> Option<Carried> {
    let print = shop.route(load.route).print.as_ref()?;
    let item = print.resin?;
    let (from, each, share) = match first {
        None => {
            let each = film(load.area * print.film_area, wash.resin_film) + wash.platform_carry;
            (None, each, Exact::ONE)
        }
        Some((from, each)) => (Some(from), each, wash.carry_over),
    };
    Some(Carried { item, amount: coming(runs, each, share), from, each, share })
}

/// Works out what the next step of a job would do to its bath if it started at `start`; `None` where it uses none.
pub(super) fn plan_use(shop: &Shop, state: &State, job: &Job, start: Moment) -> Option<Use> {
    let load = job.load.steps.get(job.next)?.bath.as_ref()?;
    let table = shop.bath(load.bath);
    let dragged =
        if job.expected { load.dragged } else { dragged(table, load.film * job.counts.runs) };
    let bath = &state.baths[load.bath.index()];
    Some(match &table.kind {
        BathKindTable::Wash(wash) => {
            let resin = load.carried.map(|c| entering(c, state, job));
            let coming = resin.map_or(0, |r| r.amount);
            Use {
                bath: load.bath,
                resin,
                empties: bath.is_spent(table, wash, coming),
                solvent: wash.fill,
                dye: 0,
                dye_item: None,
                dragged,
            }
        }
        BathKindTable::Dye(dye, tub) => Use {
            bath: load.bath,
            resin: None,
            empties: bath.is_stale(table, tub, start),
            solvent: load.dip.map_or(0, |d| d.solvent),
            dye: load.dip.map_or(0, |d| d.dye),
            dye_item: Some(*dye),
            dragged,
        },
    })
}

/// What comes in now: no more than the bath it was washed in first holds.
fn entering(carried: Carried, state: &State, job: &Job) -> Carried {
    let Carried { amount, item, from, each, share } = carried;
    let wanted = if job.expected { amount } else { coming(job.counts.runs, each, share) };
    let held = from.map(|first| state.baths[first.index()].resin_of(item));
    Carried { amount: held.map_or(wanted, |held| wanted.min(held)), ..carried }
}

/// Millionths up to which sums over a bath stay in range; valuation refuses draws of that size.
const MOST: i64 = 1_000_000_000_000_000;

/// Whole millionths.
fn whole(amount: Exact) -> i64 {
    amount.to_millionths().min(MOST)
}

/// mL of a film of so many mm on so many cm2.
fn film(area: Exact, thickness: Exact) -> Exact {
    area * thickness / Exact::from(10i64)
}

/// The draws a use needs: resin from the pieces, solvent and dye poured.
pub(super) fn draws(planned: &Use, shop: &Shop, state: &State) -> [Option<Draw>; 3] {
    let table = shop.bath(planned.bath);
    let bath = &state.baths[planned.bath.index()];
    let (solvent, dye) = if planned.empties { (0, 0) } else { (bath.solvent, bath.dye) };
    let draw = |item, amount| Draw {
        item,
        amount,
        packs: 0,
        bought: 0,
        to: Fate::Bath(planned.bath),
        assumed: table.assumed,
    };
    let resin = planned.resin.filter(|r| r.from.is_none()).map(|r| draw(r.item, r.amount));
    let dye = planned.dye_item.map(|item| draw(item, planned.dye - dye));
    let poured = draw(table.solvent, planned.solvent - solvent);
    [resin, Some(poured), dye].map(|d| d.filter(|d| d.amount > 0))
}

/// Carries out a use: empties and fills the bath, lets resin in, solvent and dye out. It stood open for so many seconds of each
/// run, and once for `first_time`.
pub(super) fn carry_out(
    planned: &Use,
    shop: &Shop,
    (state, events): (&mut State, &mut Vec<Event>),
    stamp: Stamp,
    open: (i64, i64, Executions),
) {
    let (seconds, once, counts) = open;
    let id = planned.bath;
    let table = shop.bath(id);
    let mut log = Log { events, stamp };
    if planned.empties {
        empty(table, id, state, &mut log);
    }
    if let Some(Carried { item, amount, from: Some(first), .. }) = planned.resin {
        let taken = state.baths[first.index()].take_resin(item, amount);
        state.baths[id.index()].add_resin(item, taken);
        log.moves((item, taken), (Account::Bath(first), Account::Bath(id)));
    }
    let bath = &mut state.baths[id.index()];
    bath.filled.get_or_insert(stamp.when);
    bath.solvent = bath.solvent.max(planned.solvent);
    bath.dye = bath.dye.max(planned.dye);
    if let Some(Carried { item, amount, from: None, .. }) = planned.resin {
        bath.add_resin(item, amount);
    }
    let (solvent, dye) = planned.dragged;
    let (solvent, dye) = (solvent.min(bath.solvent), dye.min(bath.dye));
    bath.solvent -= solvent;
    bath.dye -= dye;
    let open = Exact::from(seconds) * counts.runs + Exact::from(once);
    let gone = (table.evaporates * open).millionths_over(HOUR);
    let gone = gone.min(MOST).min(bath.solvent);
    bath.solvent -= gone;
    bath.uses = bath.uses + counts.starts;
    let from = Account::Bath(id);
    log.moves((table.solvent, solvent), (from, Account::DraggedOut));
    if let Some(item) = planned.dye_item {
        log.moves((item, dye), (from, Account::DraggedOut));
    }
    log.moves((table.solvent, gone), (from, Account::Evaporated));
}

/// What a film takes out of a bath: solvent, or solvent and dye at the bath's ratio; a wash film carries no resin.
fn dragged(table: &BathTable, liquid: Exact) -> (i64, i64) {
    let share = match &table.kind {
        BathKindTable::Wash(_) => Exact::ZERO,
        BathKindTable::Dye(_, tub) => tub.dye_share,
    };
    let solvent = liquid / (Exact::ONE + share);
    let dye = (liquid * share) / (Exact::ONE + share);
    (whole(solvent), whole(dye))
}

fn empty(table: &BathTable, id: BathId, state: &mut State, log: &mut Log) {
    let bath = &mut state.baths[id.index()];
    let mixture = bath.mixture();
    let waste = (Account::Bath(id), Account::Waste);
    log.moves((table.solvent, bath.solvent), waste);
    if let BathKindTable::Dye(item, _) = table.kind {
        log.moves((item, bath.dye), waste);
    }
    for &resin in &bath.resin {
        log.moves(resin, waste);
    }
    log.enter(What::Emptied(id, mixture));
    bath.empty();
}

/// Where what a use does is written down.
struct Log<'e> {
    events: &'e mut Vec<Event>,
    stamp: Stamp,
}

impl Log<'_> {
    fn enter(&mut self, what: What) {
        self.events.push(self.stamp.of(what));
    }

    fn moves(&mut self, (item, amount): (ItemId, i64), (from, to): (Account, Account)) {
        if amount != 0 {
            self.enter(What::Move { item, amount, from, to });
        }
    }
}

/// Why the pieces of a job cannot be dipped together, with the bath.
pub(super) fn obstacle(shop: &Shop, load: &Load) -> Option<(BathId, String)> {
    let dipped = dipped(shop, load);
    shop.route(load.route).steps.iter().find_map(|step| {
        let (id, up) = step.bath?;
        match &shop.bath(id).kind {
            BathKindTable::Dye(_, tub) => tub.obstacle(&dipped, up).map(|why| (id, why)),
            BathKindTable::Wash(_) => None,
        }
    })
}

/// The dips of a load whose pieces' boxes are larger than the free area of the tub: the bath, and both areas in cm2.
pub(super) fn crowded(shop: &Shop, load: &Load) -> Vec<(BathId, [Exact; 2])> {
    let dipped = dipped(shop, load);
    let of_step = |step: &StepTable| {
        let (id, up) = step.bath?;
        match &shop.bath(id).kind {
            BathKindTable::Dye(_, tub) => Some((id, tub.crowded(&dipped, up)?)),
            BathKindTable::Wash(_) => None,
        }
    };
    shop.route(load.route).steps.iter().filter_map(of_step).collect()
}

fn dipped<'s>(shop: &'s Shop, load: &Load) -> Vec<Dipped<'s>> {
    load.wanted.iter().map(|w| Dipped { part: shop.part(w.part), copies: w.copies }).collect()
}
