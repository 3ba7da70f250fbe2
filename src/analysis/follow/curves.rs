//! Curves: what a plan has cost, used and taken after 1, 2, 3 ... iterations.

use std::collections::BTreeMap;

use super::Project;
use crate::ledger::{Account, Category, Ledger, Movement, Total, cumulative};
use crate::model::{Exact, ItemClass, ItemId, Moment, Money};
use crate::plan::Shop;

/// The totals in the order of [`PlanDetail::categories`](crate::analysis::PlanDetail::categories).
pub const TOTALS: [Total; 3] = [Total::Avoidable, Total::Outlay, Total::Consumed];

/// Cumulative figures of one plan; index 0 is iteration 1, the last index the horizon. The final is not in them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Curves {
    /// Money leaving.
    pub outlay: Vec<Money>,
    /// What can be avoided today.
    pub avoidable: Vec<Money>,
    /// The cost of the versions.
    pub consumed: Vec<Money>,
    /// Seconds from start to in hand.
    pub seconds: Vec<i64>,
    /// Attended hours, expected.
    pub attended: Vec<Exact>,
    /// Millionths of mL drawn, by item and class.
    pub drawn: BTreeMap<ItemId, Vec<i64>>,
    /// Millionths of mL of resin discarded.
    pub waste: Vec<i64>,
}

impl Curves {
    /// A curve of money by total.
    pub fn money(&self, total: Total) -> &[Money] {
        match total {
            Total::Outlay => &self.outlay,
            Total::Consumed => &self.consumed,
            Total::Avoidable => &self.avoidable,
        }
    }

    /// The curves of a project.
    pub(super) fn of(shop: &Shop, project: &Project) -> Curves {
        let horizon = shop.scenario.iterations.horizon;
        let ledger = &project.ledger;
        let class = |m: &Movement| shop.scenario.items[m.item.index()].class;
        let drawn_of = |item: ItemId| {
            let of = ledger
                .movements()
                .iter()
                .filter(move |m| m.item == item && m.from == Account::Stock);
            cumulative(of.map(|m| (m.iteration, m.amount)), horizon, 0)
        };
        let rests = project.open.iter().flat_map(|open| open.rest.movements());
        let mut items: Vec<ItemId> = ledger
            .movements()
            .iter()
            .chain(rests)
            .filter(|m| class(m) != ItemClass::Supply)
            .map(|m| m.item)
            .collect();
        items.sort_unstable();
        items.dedup();
        let wasted = ledger
            .movements()
            .iter()
            .filter(|m| m.to == Account::Waste && class(m) != ItemClass::Supply);
        let mut curves = Curves {
            outlay: ledger.curve(Total::Outlay, horizon),
            avoidable: ledger.curve(Total::Avoidable, horizon),
            consumed: ledger.curve(Total::Consumed, horizon),
            seconds: seconds(shop, project, horizon),
            attended: ledger.hours(horizon),
            drawn: items.into_iter().map(|item| (item, drawn_of(item))).collect(),
            waste: cumulative(wasted.map(|m| (m.iteration, m.amount)), horizon, 0),
        };
        if !project.open.is_empty() {
            curves.end_at_each(shop, project, horizon);
        }
        curves
    }

    /// Where something runs on past an in hand: each count as if the work ended there.
    fn end_at_each(&mut self, shop: &Shop, project: &Project, horizon: u32) {
        for (at, n) in (0..).zip(1..=horizon) {
            let Some(open) = project.open_at(n) else {
                continue;
            };
            let rest = Sums::of(shop, &open.rest);
            let late = Sums::of(shop, &open.late);
            for (curve, total) in
                [&mut self.avoidable, &mut self.outlay, &mut self.consumed].into_iter().zip(TOTALS)
            {
                curve[at] += open.rest.total(total, u32::MAX) - open.late.total(total, u32::MAX);
            }
            self.attended[at] = self.attended[at] + rest.attended - late.attended;
            self.waste[at] += rest.waste - late.waste;
            for (item, drawn) in &mut self.drawn {
                let of = |sums: &Sums| sums.drawn.get(item).copied().unwrap_or_default();
                drawn[at] += of(&rest) - of(&late);
            }
        }
    }
}

/// What a whole ledger comes to beside money.
struct Sums {
    attended: Exact,
    waste: i64,
    drawn: BTreeMap<ItemId, i64>,
}

impl Sums {
    fn of(shop: &Shop, ledger: &Ledger) -> Sums {
        let labour = ledger.entries().iter().filter(|e| e.category == Category::Labour);
        let mut sums =
            Sums { attended: labour.map(|e| e.quantity).sum(), waste: 0, drawn: BTreeMap::new() };
        for m in ledger.movements() {
            if m.from == Account::Stock {
                *sums.drawn.entry(m.item).or_default() += m.amount;
            }
            let is_supply = shop.scenario.items[m.item.index()].class == ItemClass::Supply;
            if m.to == Account::Waste && !is_supply {
                sums.waste += m.amount;
            }
        }
        sums
    }
}

/// Seconds from start to the in hand of each iteration; flat where nothing is made any more.
fn seconds(shop: &Shop, project: &Project, horizon: u32) -> Vec<i64> {
    let mut last: Moment = shop.start;
    (0..horizon as usize)
        .map(|i| {
            last = project.dates.get(i).map_or(last, |d| d.in_hand);
            last - shop.start
        })
        .collect()
}
