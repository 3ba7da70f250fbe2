//! Baths in use: what is in them, what a use pours, and what leaves.

use super::event::{Account, Draw, Event, Fate, What};
use super::job::Job;
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

/// Where a build has been washed.
#[derive(Clone, Debug)]
pub(super) struct Washed {
    /// The baths, in order; the first is where later washes have their resin from.
    pub baths: Vec<BathId>,
    /// What a good build carried into the first, in mL.
    pub each: Exact,
}

/// What a use of a bath does before the pieces go in.
#[derive(Clone, Debug)]
pub(super) struct Use {
    pub bath: BathId,
    /// Resin that comes in from the pieces, drawn anew (first wash) or moved from the first bath.
    pub resin: Option<Carried>,
    /// True where the bath is emptied first.
    pub empties: bool,
    /// Solvent and dye that must be in it.
    pub solvent: i64,
    pub dye: i64,
    /// The dye, where it is a dye bath.
    pub dye_item: Option<ItemId>,
    /// Liquid that leaves on the pieces, mL for one run.
    pub dragged: Exact,
}

/// Resin that comes into a wash bath.
#[derive(Clone, Copy, Debug)]
pub(super) struct Carried {
    pub item: ItemId,
    pub amount: i64,
    /// The bath it comes from, where the build was washed before.
    pub from: Option<BathId>,
    /// What a good build carries into its first wash, in mL.
    pub each: Exact,
}

/// Works out what the next step of a job would do to its bath if it started at `start`; `None` where it uses none.
pub(super) fn plan_use(shop: &Shop, state: &State, job: &Job, start: Moment) -> Option<Use> {
    let step = shop.route(job.route).steps.get(job.next)?;
    let (id, _) = step.bath?;
    let table = shop.bath(id);
    Some(match table.kind {
        BathKindTable::Wash(wash) => wash_use(shop, state, job, (id, &wash)),
        BathKindTable::Dye(dye, ref tub) => dye_use(state, job, (table, id, dye, tub), start),
    })
}

fn wash_use(
    shop: &Shop,
    state: &State,
    job: &Job,
    (id, wash): (BathId, &WashTable),
) -> Use {
    let table = shop.bath(id);
    let bath = &state.baths[id.index()];
    let resin = carried(shop, state, job, (id, wash));
    let coming = resin.map_or(0, |r| r.amount);
    let after = Exact::from(bath.dissolved() + coming);
    let share = after / (after + Exact::from(wash.fill));
    let worn = table.reuse_limit.is_some_and(|limit| bath.uses >= Exact::from(limit));
    // A fresh bath accepts one wash of any size.
    let fresh = bath.filled.is_none() || (bath.uses.is_zero() && bath.dissolved() == 0);
    Use {
        bath: id,
        resin,
        empties: !fresh && (worn || share > wash.retire_share),
        solvent: wash.fill,
        dye: 0,
        dye_item: None,
        dragged: film(job.area, table.solvent_film),
    }
}

/// Whole millionths, kept where sums over a bath stay in range; valuation refuses draws of that size.
fn whole(amount: Exact) -> i64 {
    amount.to_millionths().min(1_000_000_000_000_000)
}

/// mL of a film of so many mm on so many cm2.
fn film(area: Exact, thickness: Exact) -> Exact {
    area * thickness / Exact::from(10i64)
}

fn carried(
    shop: &Shop,
    state: &State,
    job: &Job,
    (id, wash): (BathId, &WashTable),
) -> Option<Carried> {
    let print = shop.route(job.route).print.as_ref()?;
    let item = print.resin?;
    let runs = job.counts.runs;
    match &job.washed {
        None => {
            let each = film(job.area * print.film_area, wash.resin_film) + wash.platform_carry;
            Some(Carried { item, amount: whole(runs * each), from: None, each })
        }
        // Two washes in one bath move nothing.
        Some(washed) if washed.baths.contains(&id) => None,
        Some(Washed { baths, each }) => {
            let (first, each) = (baths[0], *each);
            let wanted = whole(runs * wash.carry_over * each);
            let held = state.baths[first.index()].resin.iter().find(|r| r.0 == item);
            let amount = wanted.min(held.map_or(0, |r| r.1));
            Some(Carried { item, amount, from: Some(first), each })
        }
    }
}

fn dye_use(
    state: &State,
    job: &Job,
    (table, id, dye, tub): (&BathTable, BathId, ItemId, &DyeTable),
    start: Moment,
) -> Use {
    let bath = &state.baths[id.index()];
    let dip = job.dips.iter().find(|d| d.0 == job.next).map(|d| d.1);
    let old = |filled: Moment| tub.keeps.is_some_and(|keeps| start > filled + keeps);
    let worn = table.reuse_limit.is_some_and(|limit| bath.uses >= Exact::from(limit));
    Use {
        bath: id,
        resin: None,
        empties: bath.filled.is_some_and(|filled| worn || old(filled)),
        solvent: dip.map_or(0, |d| d.solvent),
        dye: dip.map_or(0, |d| d.dye),
        dye_item: Some(dye),
        dragged: film(dip.map_or(Exact::ZERO, |d| d.wetted), table.solvent_film),
    }
}

/// The draws a use needs: resin from the pieces, solvent and dye poured.
pub(super) fn draws(planned: &Use, shop: &Shop, state: &State) -> Vec<Draw> {
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
    let mut result = Vec::new();
    if let Some(resin) = planned.resin.filter(|r| r.from.is_none()) {
        result.push(draw(resin.item, resin.amount));
    }
    result.push(draw(table.solvent, (planned.solvent - solvent).max(0)));
    if let Some(item) = planned.dye_item {
        result.push(draw(item, (planned.dye - dye).max(0)));
    }
    result.retain(|d| d.amount > 0);
    result
}

/// Carries out a use: empties and fills the bath, lets resin in, solvent and dye out. It stood open for so many seconds of each
/// run, and once for `first_time`.
pub(super) fn carry_out(
    planned: &Use,
    shop: &Shop,
    state: &mut State,
    event: &Event,
    open: (i64, i64, Executions),
) -> Vec<Event> {
    let (seconds, once, counts) = open;
    let mut out = Vec::new();
    let id = planned.bath;
    if planned.empties {
        empty(id, shop, state, event, &mut out);
    }
    if let Some(Carried { item, amount, from: Some(first), .. }) = planned.resin {
        let taken = state.baths[first.index()].take_resin(item, amount);
        state.baths[id.index()].add_resin(item, taken);
        push_move(&mut out, event, (item, taken), (Account::Bath(first), Account::Bath(id)));
    }
    let table = *shop.bath(id);
    let bath = &mut state.baths[id.index()];
    if bath.filled.is_none() {
        bath.filled = Some(event.when);
    }
    bath.solvent = bath.solvent.max(planned.solvent);
    bath.dye = bath.dye.max(planned.dye);
    if let Some(Carried { item, amount, from: None, .. }) = planned.resin {
        bath.add_resin(item, amount);
    }
    let runs = counts.runs;
    let (solvent, dye) = dragged(bath, &table, planned.dragged * runs);
    bath.solvent -= solvent;
    bath.dye -= dye;
    let open = Exact::from(seconds) * runs + Exact::from(once);
    let gone = table.evaporates * open / Exact::from(HOUR);
    let gone = whole(gone).min(bath.solvent);
    bath.solvent -= gone;
    bath.uses = bath.uses + counts.starts;
    let from = Account::Bath(id);
    push_move(&mut out, event, (table.solvent, solvent), (from, Account::DraggedOut));
    if let Some(item) = planned.dye_item {
        push_move(&mut out, event, (item, dye), (from, Account::DraggedOut));
    }
    push_move(&mut out, event, (table.solvent, gone), (from, Account::Evaporated));
    out
}

/// What a film takes out of a bath: solvent, or solvent and dye at the bath's ratio; a wash film carries no resin.
fn dragged(bath: &BathState, table: &BathTable, liquid: Exact) -> (i64, i64) {
    let share = match &table.kind {
        BathKindTable::Wash(_) => Exact::ZERO,
        BathKindTable::Dye(_, tub) => tub.dye_share,
    };
    let solvent = liquid / (Exact::ONE + share);
    let dye = (liquid * share) / (Exact::ONE + share);
    (whole(solvent).min(bath.solvent), whole(dye).min(bath.dye))
}

fn empty(id: BathId, shop: &Shop, state: &mut State, event: &Event, out: &mut Vec<Event>) {
    let table = shop.bath(id);
    let bath = std::mem::take(&mut state.baths[id.index()]);
    let from = Account::Bath(id);
    push_move(out, event, (table.solvent, bath.solvent), (from, Account::Waste));
    if let BathKindTable::Dye(item, _) = table.kind {
        push_move(out, event, (item, bath.dye), (from, Account::Waste));
    }
    for &(item, amount) in &bath.resin {
        push_move(out, event, (item, amount), (from, Account::Waste));
    }
    out.push(Event { what: What::Emptied(id, bath.mixture()), ..event.clone() });
}

fn push_move(
    out: &mut Vec<Event>,
    event: &Event,
    (item, amount): (ItemId, i64),
    (from, to): (Account, Account),
) {
    if amount != 0 {
        out.push(Event { what: What::Move { item, amount, from, to }, ..event.clone() });
    }
}

/// What each dip of a job's steps needs, by step number.
pub(super) fn dips(shop: &Shop, job: &Job) -> Vec<(usize, Dip)> {
    let dipped = dipped(shop, job);
    let steps = &shop.route(job.route).steps;
    let of_step = |(number, step): (usize, &StepTable)| {
        let (id, up) = step.bath?;
        match &shop.bath(id).kind {
            BathKindTable::Dye(_, tub) => Some((number, tub.dip(&dipped, up))),
            BathKindTable::Wash(_) => None,
        }
    };
    steps.iter().enumerate().filter_map(of_step).collect()
}

/// Why the pieces of a job cannot be dipped together, with the bath.
pub(super) fn obstacle(shop: &Shop, job: &Job) -> Option<(BathId, String)> {
    let dipped = dipped(shop, job);
    shop.route(job.route).steps.iter().find_map(|step| {
        let (id, up) = step.bath?;
        match &shop.bath(id).kind {
            BathKindTable::Dye(_, tub) => tub.obstacle(&dipped, up).map(|why| (id, why)),
            BathKindTable::Wash(_) => None,
        }
    })
}

/// The dips of a job whose pieces' boxes are larger than the free area of the tub: the bath, and both areas in cm2.
pub(super) fn crowded(shop: &Shop, job: &Job) -> Vec<(BathId, [Exact; 2])> {
    let dipped = dipped(shop, job);
    let of_step = |step: &StepTable| {
        let (id, up) = step.bath?;
        match &shop.bath(id).kind {
            BathKindTable::Dye(_, tub) => Some((id, tub.crowded(&dipped, up)?)),
            BathKindTable::Wash(_) => None,
        }
    };
    shop.route(job.route).steps.iter().filter_map(of_step).collect()
}

fn dipped<'s>(shop: &'s Shop, job: &Job) -> Vec<Dipped<'s>> {
    job.wanted.iter().map(|w| Dipped { part: shop.part(w.part), copies: w.copies }).collect()
}
