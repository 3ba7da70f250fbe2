//! How a plan goes about its iterations: one variant of each part in each, or several in fewer.

use super::{Plan, Shop};
use crate::model::Exact;

/// How many variants of each part an iteration makes, and how many iterations that takes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Pace {
    /// Variants in one iteration: copies are multiplied by it. 1 for a plan without variants.
    pub variants: i64,
    /// Iterations after which nothing is made any more; `None`: as many as are asked about.
    pub most: Option<u32>,
}

impl Pace {
    /// One variant at a time.
    pub const PLAIN: Pace = Pace { variants: 1, most: None };

    /// The iterations the plan is compared at where so many are planned.
    pub fn planned(self, planned: u32) -> u32 {
        self.most.map_or(planned, |most| most.min(planned))
    }
}

impl Plan {
    /// How the plan goes about its iterations with the numbers of a shop.
    pub fn pace(&self, shop: &Shop) -> Pace {
        let Some(stated) = self.variants else {
            return Pace::PLAIN;
        };
        let variants = shop.values.whole(stated.count).max(1);
        // What is behind is behind, one variant at a time or however it went.
        let done = shop.done();
        let left = shop.planned.saturating_sub(done);
        let most = match left {
            0 => done,
            left => done + iterations(left, variants, shop.values.exact(stated.worth)),
        };
        Pace { variants, most: Some(most) }
    }
}

/// The iterations that `planned` ones with one variant each come down to: planned / (1 + worth x (variants - 1)), rounded up. Each further
/// variant stands for `worth` of an iteration. At least 1.
pub fn iterations(planned: u32, variants: i64, worth: Exact) -> u32 {
    let each = Exact::ONE + worth * Exact::from(variants - 1);
    let count = (Exact::from(i64::from(planned)) / each).ceil();
    u32::try_from(count).unwrap_or(planned).max(1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::e;

    #[test]
    fn further_variants_stand_for_a_share_of_an_iteration() {
        // 6 / (1 + 0.5) = 4; 6 / (1 + 2 x 0.5) = 3; 7 / 1.5 = 4.67, rounded up; worth nothing, worth all.
        assert_eq!(iterations(6, 2, e("0.5")), 4);
        assert_eq!(iterations(6, 3, e("0.5")), 3);
        assert_eq!(iterations(7, 2, e("0.5")), 5);
        assert_eq!(iterations(6, 4, e("0")), 6);
        assert_eq!(iterations(6, 4, e("1")), 2);
        assert_eq!(iterations(6, 1, e("0.3")), 6);
        assert_eq!(iterations(2, 100, e("1")), 1);
        // 7 / 1.4 is 5 and 9 / 1.8 is 5: no hair above.
        assert_eq!((iterations(7, 2, e("0.4")), iterations(9, 2, e("0.8"))), (5, 5));
    }
}
