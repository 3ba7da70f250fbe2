//! Orders remembered by the fast valuation, so that each is worked out once.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};
use std::sync::Arc;

use super::dated::Epochs;
use super::order::OrderCost;
use crate::model::{Exact, PartId, RouteId};
use crate::sim::{Line, Placed};

/// What some charges of an order come to, paid once.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Known {
    pub sum: f64,
    pub largest: f64,
    pub count: u32,
}

/// What an order costs: each part line, and what is charged for the order as a whole.
#[derive(Clone, Debug)]
pub(super) struct KnownCost {
    pub lines: Vec<Known>,
    pub whole: Known,
    /// Each charge, by its part line.
    pub charges: Vec<(Option<usize>, Exact)>,
    /// What the entries of the order sum to in minor units, and how often each line and the whole were paid then.
    pub entered: Option<(Vec<Exact>, i128)>,
}

/// What decides the cost of a part line under given numbers: the line, its rows, and the stretch of its dated rates.
type LineKey = (PartId, RouteId, i64, [usize; 3]);

/// The row that stands for none.
const NONE: usize = usize::MAX;

fn line_key(line: &Line, placed: &Placed, epochs: &[Epochs]) -> LineKey {
    let row = line.price.row.map_or(NONE, |r| r.index);
    let quote = line.price.quote.map_or(NONE, |q| q.index);
    let epoch = epochs[line.route.index()].number(placed.day);
    (line.part, line.route, line.copies, [row, quote, epoch])
}

/// The key is a hash already.
#[derive(Default)]
struct AsItIs(u64);

impl Hasher for AsItIs {
    fn finish(&self) -> u64 {
        self.0
    }

    fn write(&mut self, bytes: &[u8]) {
        bytes.iter().for_each(|&b| self.0 = mixed(self.0, u64::from(b)));
    }

    fn write_u64(&mut self, key: u64) {
        self.0 = key;
    }
}

/// One number mixed into a hash: rotate, xor, multiply by an odd number (the golden ratio's bits).
fn mixed(hash: u64, number: u64) -> u64 {
    (hash.rotate_left(5) ^ number).wrapping_mul(0x9E37_79B9_7F4A_7C15)
}

fn hash(placed: &Placed, epochs: &[Epochs]) -> u64 {
    let mut hash = delivery(placed) as u64;
    for line in placed.lines.iter() {
        let (part, route, copies, rows) = line_key(line, placed, epochs);
        hash = mixed(hash, u64::from(part.0) << 16 | u64::from(route.0));
        hash = mixed(hash, copies.cast_unsigned());
        hash = rows.iter().fold(hash, |hash, &row| mixed(hash, row as u64));
    }
    // The map looks at the high bits and the low ones; a product has its mixing in the high ones.
    hash ^ (hash >> 32)
}

/// One order and what it costs.
#[derive(Debug)]
struct Remembered {
    lines: Vec<LineKey>,
    delivery: usize,
    cost: KnownCost,
    /// The next order with the same hash.
    next: Option<usize>,
}

/// All orders met so far.
#[derive(Default)]
pub(super) struct Costs {
    by_hash: HashMap<u64, usize, BuildHasherDefault<AsItIs>>,
    all: Vec<Remembered>,
    /// Orders found last whose rates hold on every day, the newest first: most are placed again and again.
    latest: Vec<Latest>,
}

/// An order by its shared lines and its delivery row; while it is kept, no other lines can be where they are.
struct Latest {
    lines: Arc<[Line]>,
    delivery: usize,
    index: usize,
}

/// So many orders are kept as the latest.
const LATEST: usize = 8;

fn delivery(placed: &Placed) -> usize {
    placed.delivery.map_or(NONE, |d| d.index)
}

impl Costs {
    /// Finds an order.
    #[inline]
    pub(super) fn find(&mut self, placed: &Placed, epochs: &[Epochs]) -> Option<usize> {
        let is_it = |latest: &&Latest| {
            Arc::ptr_eq(&latest.lines, &placed.lines) && latest.delivery == delivery(placed)
        };
        if let Some(latest) = self.latest.iter().find(is_it) {
            return Some(latest.index);
        }
        let index = self.look_up(placed, epochs)?;
        if placed.lines.iter().all(|line| epochs[line.route.index()].is_one()) {
            self.latest.truncate(LATEST - 1);
            let latest =
                Latest { lines: Arc::clone(&placed.lines), delivery: delivery(placed), index };
            self.latest.insert(0, latest);
        }
        Some(index)
    }

    fn look_up(&self, placed: &Placed, epochs: &[Epochs]) -> Option<usize> {
        let mut at = self.by_hash.get(&hash(placed, epochs)).copied();
        while let Some(index) = at {
            let known = &self.all[index];
            let lines = placed.lines.iter().map(|line| line_key(line, placed, epochs));
            if known.delivery == delivery(placed) && known.lines.iter().copied().eq(lines) {
                return at;
            }
            at = known.next;
        }
        None
    }

    /// Remembers an order.
    pub(super) fn keep(&mut self, placed: &Placed, epochs: &[Epochs], cost: &OrderCost) -> usize {
        let mut known = KnownCost {
            lines: vec![Known::default(); placed.lines.len()],
            whole: Known::default(),
            charges: cost.charges.iter().map(|c| (c.line, c.amount())).collect(),
            entered: None,
        };
        for charge in &cost.charges {
            let of = charge.line.map_or(&mut known.whole, |line| &mut known.lines[line]);
            let amount = charge.amount().quick_f64();
            of.sum += amount;
            of.largest = of.largest.max(amount);
            of.count += u32::from(amount != 0.0);
        }
        let index = self.all.len();
        self.all.push(Remembered {
            lines: placed.lines.iter().map(|line| line_key(line, placed, epochs)).collect(),
            delivery: delivery(placed),
            cost: known,
            next: self.by_hash.insert(hash(placed, epochs), index),
        });
        index
    }

    /// What a found order costs.
    pub(super) fn get(&mut self, index: usize) -> &mut KnownCost {
        &mut self.all[index].cost
    }
}
