//! Curves: what a plan has cost, used and taken after 1, 2, 3 ... iterations.

use std::collections::BTreeMap;

use super::Project;
use crate::ledger::{Account, Movement, Total, cumulative};
use crate::model::{Exact, ItemClass, ItemId, Moment, Money};
use crate::plan::Shop;

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
        let mut items: Vec<ItemId> = ledger
            .movements()
            .iter()
            .filter(|m| class(m) != ItemClass::Supply)
            .map(|m| m.item)
            .collect();
        items.sort_unstable();
        items.dedup();
        let wasted = ledger
            .movements()
            .iter()
            .filter(|m| m.to == Account::Waste && class(m) != ItemClass::Supply);
        Curves {
            outlay: ledger.curve(Total::Outlay, horizon),
            avoidable: ledger.curve(Total::Avoidable, horizon),
            consumed: ledger.curve(Total::Consumed, horizon),
            seconds: seconds(shop, project, horizon),
            attended: ledger.hours(horizon),
            drawn: items.into_iter().map(|item| (item, drawn_of(item))).collect(),
            waste: cumulative(wasted.map(|m| (m.iteration, m.amount)), horizon, 0),
        }
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
