//! The ledger itself, and sums over it.

use super::{Category, Entry, Movement, Total};
use crate::model::{Exact, Money, Scenario};

/// All entries and movements of one plan, in order.
///
/// Every figure of money is a sum over it:
///
/// ```
/// use flipcount::ledger::Total;
/// use flipcount::model::Money;
/// use flipcount::{analysis, plan};
///
/// # let loaded = flipcount::model::load("scenarios/first-look".as_ref(), &Default::default());
/// # let scenario = loaded.scenario.expect("the first look is valid");
/// # let values = plan::Values::planning(&scenario.slots);
/// # let shop = plan::Shop::new(&scenario, &values);
/// # let answer = analysis::answer(&shop).expect("few enough plans");
/// let best = &answer.plans[0];
/// let ledger = analysis::ledger_of(&shop, &best.plan).expect("the plan can be carried out");
/// let outlay = ledger.total(Total::Outlay, shop.planned);
/// assert_eq!(outlay, best.decides.outlay);
///
/// let by_category = ledger.by_category(Total::Outlay, shop.planned);
/// assert_eq!(by_category.into_iter().map(|(_, amount)| amount).sum::<Money>(), outlay);
/// ```
#[derive(Clone, Debug, Default)]
pub struct Ledger {
    entries: Vec<Entry>,
    movements: Vec<Movement>,
}

impl Ledger {
    /// Puts entries and movements in their order. Entries that compare equal keep the order they came in.
    pub fn new(mut entries: Vec<Entry>, movements: Vec<Movement>, scenario: &Scenario) -> Ledger {
        entries.sort_by(|a, b| a.order(b, scenario));
        Ledger { entries, movements }
    }

    /// The entries and movements of two stretches of one plan.
    pub fn joined(mut self, later: Ledger, scenario: &Scenario) -> Ledger {
        self.entries.extend(later.entries);
        self.movements.extend(later.movements);
        Ledger::new(self.entries, self.movements, scenario)
    }

    /// The entries in order.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// What was moved, in the order it happened.
    pub fn movements(&self) -> &[Movement] {
        &self.movements
    }

    /// The entries of iterations up to `n`.
    pub fn up_to(&self, n: u32) -> impl Iterator<Item = &Entry> {
        self.entries.iter().filter(move |e| e.iteration <= n)
    }

    /// A total over iterations up to `n`.
    pub fn total(&self, total: Total, n: u32) -> Money {
        self.up_to(n).filter(|e| e.counts_in(total)).map(|e| e.amount).sum()
    }

    /// Cumulative totals at 1..=horizon: flat where nothing is entered.
    pub fn curve(&self, total: Total, horizon: u32) -> Vec<Money> {
        let amounts = self.entries.iter().filter(|e| e.counts_in(total));
        cumulative(amounts.map(|e| (e.iteration, e.amount)), horizon, Money::ZERO)
    }

    /// Cumulative attended hours at 1..=horizon.
    pub fn hours(&self, horizon: u32) -> Vec<Exact> {
        let hours = self.entries.iter().filter(|e| e.category == Category::Labour);
        cumulative(hours.map(|e| (e.iteration, e.quantity)), horizon, Exact::ZERO)
    }

    /// A total by category over iterations up to `n`, in the order of categories; categories without entries are left out.
    pub fn by_category(&self, total: Total, n: u32) -> Vec<(Category, Money)> {
        Category::ALL
            .into_iter()
            .filter_map(|category| {
                let mut of = self
                    .up_to(n)
                    .filter(|e| e.category == category && e.counts_in(total))
                    .peekable();
                of.peek()?;
                Some((category, of.map(|e| e.amount).sum()))
            })
            .collect()
    }
}

/// Running sums at iterations 1..=horizon.
pub fn cumulative<T: Copy + std::ops::Add<Output = T>>(
    values: impl Iterator<Item = (u32, T)>,
    horizon: u32,
    zero: T,
) -> Vec<T> {
    let mut sums = vec![zero; horizon as usize];
    for (iteration, value) in values {
        if let Some(sum) = sums.get_mut((iteration as usize).saturating_sub(1)) {
            *sum = *sum + value;
        }
    }
    for n in 1..sums.len() {
        sums[n] = sums[n - 1] + sums[n];
    }
    sums
}
