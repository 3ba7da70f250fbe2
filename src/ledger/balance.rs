//! Movements of material between accounts, and the check that nothing appears or disappears.

use crate::model::{ItemId, Moment};

/// Where material can be.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Account {
    /// With the supplier, before it is bought.
    Supplier,
    /// On the shelf.
    Stock,
    /// In good pieces and their supports.
    Parts,
    /// Discarded: failed builds and what each build loses.
    Waste,
    /// Used up by a step.
    Used,
}

/// Material that moved, in millionths of the item's unit.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Movement {
    /// When.
    pub when: Moment,
    /// In which iteration.
    pub iteration: u32,
    /// What.
    pub item: ItemId,
    /// How much.
    pub amount: i64,
    /// From where.
    pub from: Account,
    /// To where.
    pub to: Account,
}

/// A moment at which more left an account than was in it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Imbalance {
    /// The item.
    pub item: ItemId,
    /// The movement that overdrew the shelf, by index.
    pub movement: usize,
    /// By how many millionths.
    pub missing: i64,
}

/// Follows every item through its movements: start stock + bought = stock + parts and supports + wasted + used, at every moment, with
/// no account below nothing. Returns the stock left of each item.
///
/// # Errors
/// The first [`Imbalance`].
pub fn balance(movements: &[Movement], start: &[i64]) -> Result<Vec<i64>, Imbalance> {
    let mut stock = start.to_vec();
    for (movement, m) in movements.iter().enumerate() {
        let index = m.item.index();
        if m.from == Account::Stock {
            stock[index] -= m.amount;
        }
        if m.to == Account::Stock {
            stock[index] += m.amount;
        }
        if stock[index] < 0 {
            return Err(Imbalance { item: m.item, movement, missing: -stock[index] });
        }
    }
    Ok(stock)
}
