//! Movements of material between accounts, and the check that nothing appears or disappears.

use std::collections::BTreeMap;

use super::Movement;
use crate::model::{Account, BathId, ItemId};

/// A moment at which more left a shelf or a bath than was in it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Imbalance {
    /// The item.
    pub item: ItemId,
    /// The movement that overdrew the shelf, by index.
    pub movement: usize,
    /// By how many millionths.
    pub missing: i64,
}

/// What was in a bath at the start: the bath, the item, millionths of it.
pub type InBath = (BathId, ItemId, i64);

/// Follows every item through its movements: start stock + bought = stock + baths + parts and supports + wasted + dragged out +
/// evaporated + used, at every moment, with no shelf and no bath below nothing. Returns the stock left of each item.
///
/// # Errors
/// The first [`Imbalance`].
pub fn balance(
    movements: &[Movement],
    start: &[i64],
    in_baths: &[InBath],
) -> Result<Vec<i64>, Imbalance> {
    let mut stock = start.to_vec();
    let mut baths: BTreeMap<(BathId, ItemId), i64> = BTreeMap::new();
    for &(bath, item, amount) in in_baths {
        *baths.entry((bath, item)).or_default() += amount;
    }
    for (movement, m) in movements.iter().enumerate() {
        let index = m.item.index();
        if m.from == Account::Stock {
            stock[index] -= m.amount;
        }
        if m.to == Account::Stock {
            stock[index] += m.amount;
        }
        let mut least = stock[index];
        for (account, amount) in [(m.from, -m.amount), (m.to, m.amount)] {
            if let Account::Bath(bath) = account {
                let held = baths.entry((bath, m.item)).or_default();
                *held += amount;
                least = least.min(*held);
            }
        }
        if least < 0 {
            return Err(Imbalance { item: m.item, movement, missing: -least });
        }
    }
    Ok(stock)
}
