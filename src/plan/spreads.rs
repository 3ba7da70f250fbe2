//! Spreads: what a sampled run draws, and how a draw is put into the vector of numbers.

use super::tabled::tabled;
use super::{Key, Pert, Values};
use crate::model::{
    Bath, BathKind, Bench, CountDraw, Dim, Exact, RouteKind, Scenario, Slot, Varies,
};

/// The turn that stands for the first final; finals after a refusal follow. No iteration has such a number.
pub const FINALS: u32 = 1 << 24;

/// A failure is never drawn likelier than this: some build must succeed.
const LIKELIEST_FAILURE: f64 = 0.95;

/// Everything about a scenario that a sampled run draws.
#[derive(Clone, Debug)]
pub struct Spreads {
    once: Vec<Drawn>,
    each: Vec<Drawn>,
    count: Count,
    accept: Option<(Key, Slot)>,
    horizon: u32,
    /// Iterations that are behind.
    done: u32,
    settled: bool,
    direct: bool,
    priced: bool,
    repriced: bool,
}

/// One number with a spread.
#[derive(Clone, Debug)]
struct Drawn {
    slot: Slot,
    key: Key,
    pert: Pert,
    /// Never above this: chances of failing.
    most: f64,
}

/// How the number of iterations is drawn.
#[derive(Clone, Debug)]
enum Count {
    Certain(u32),
    Pert(Key, Pert),
    /// Accepted in each iteration with a chance.
    Accepted(Key, f64),
    /// Counts, each with the chance of this or a smaller one.
    Table(Key, Vec<(u32, f64)>),
}

/// How many iterations a sample takes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Course {
    /// Iterations before the first final, or altogether.
    pub count: u32,
    /// Finals: one, and one more for each refusal; 0 where none is asked for.
    pub finals: u32,
    /// True where the horizon ended what would have gone on.
    pub cut: bool,
}

impl Spreads {
    /// What a scenario leaves open.
    pub fn new(scenario: &Scenario) -> Spreads {
        let iterations = &scenario.iterations;
        let settled = [Some(scenario.sure), Some(scenario.close), scenario.budget];
        let failures = failures(scenario);
        let mut spreads = Spreads {
            once: Vec::new(),
            each: Vec::new(),
            count: count(scenario),
            accept: scenario.last.as_ref().map(|l| (key_of(scenario, l.accept), l.accept)),
            horizon: iterations.horizon,
            done: scenario.done(),
            settled: true,
            direct: true,
            priced: false,
            repriced: false,
        };
        let (direct, tabled) = (direct(scenario), tabled(scenario));
        let unpriced: Vec<Slot> = failures.iter().copied().chain(unpriced(scenario)).collect();
        for (slot, input) in scenario.slots.iter().filter(|(_, input)| input.low < input.high) {
            if slot == iterations.planned || settled.contains(&Some(slot)) {
                continue;
            }
            let [low, likely, high] =
                [input.low, input.likely, input.high].map(Exact::to_f64_lossy);
            let drawn = Drawn {
                slot,
                key: Key::named(&input.address),
                pert: Pert::new(low, likely, high),
                most: if failures.contains(&slot) { LIKELIEST_FAILURE } else { f64::INFINITY },
            };
            let tabled = tabled[slot.index()];
            let free = match input.dim {
                // A machine's life is in no table.
                Dim::Time => tabled || direct.contains(&slot),
                Dim::Count => !tabled || unpriced.contains(&slot),
                _ => direct.contains(&slot) || unpriced.contains(&slot),
            };
            spreads.priced |= !free;
            spreads.repriced |= !free && input.varies == Varies::Each;
            match input.varies {
                Varies::Once => {
                    spreads.settled &= !tabled;
                    spreads.once.push(drawn);
                }
                Varies::Each => {
                    spreads.direct &= !tabled;
                    spreads.each.push(drawn);
                }
            }
        }
        spreads
    }

    /// True where nothing drawn in each iteration is in the tables of a [`super::Shop`]: then all turns of a sample share them.
    pub fn share_tables(&self) -> bool {
        self.direct
    }

    /// True where, further, nothing drawn once in a sample is in them: then all samples share them.
    pub fn keeps_tables(&self) -> bool {
        self.direct && self.settled
    }

    /// True where something drawn may change what is paid for a thing, and not only how often and when.
    pub fn moves_prices(&self) -> bool {
        self.priced
    }

    /// True where prices are drawn in each turn of a sample.
    pub fn moves_prices_in_each(&self) -> bool {
        self.repriced
    }

    /// The numbers drawn once in a sample, where nothing is drawn again in a turn; `key` is the sample's.
    pub fn once(&self, scenario: &Scenario, key: Key, values: &mut Values) {
        for drawn in &self.once {
            drawn.put(scenario, key, values);
        }
    }

    /// Takes over the numbers drawn once in a sample.
    pub fn same(&self, from: &Values, values: &mut Values) {
        for drawn in &self.once {
            values.copy(drawn.slot, from);
        }
    }

    /// The numbers drawn in a turn of a sample: an iteration, or a final.
    pub fn each(&self, scenario: &Scenario, (key, turn): (Key, u32), values: &mut Values) {
        for drawn in &self.each {
            drawn.put(scenario, key.with(u64::from(turn)), values);
        }
    }

    /// How many iterations and finals a sample takes. The same for every plan.
    pub fn course(&self, key: Key, values: &Values) -> Course {
        let wanted = self.count.draw(key, (self.done, self.horizon));
        let count = wanted.clamp(self.done.max(1), self.horizon);
        let Some((accept, slot)) = self.accept else {
            return Course { count, finals: 0, cut: wanted > self.horizon };
        };
        let chance = values.exact(slot).to_f64_lossy();
        let most = 1 + self.horizon - count;
        let refused = |k: &u32| key.of(accept).with(u64::from(FINALS + k)).uniform() >= chance;
        let refusals = (0..most).take_while(refused).count();
        let refusals = u32::try_from(refusals).unwrap_or(u32::MAX);
        let finals = (refusals + 1).min(most);
        Course { count, finals, cut: wanted > self.horizon || refusals == most }
    }
}

impl Drawn {
    #[inline]
    fn put(&self, scenario: &Scenario, key: Key, values: &mut Values) {
        let value = self.pert.quantile(key.of(self.key).uniform()).min(self.most);
        values.draw(&scenario.slots, self.slot, value);
    }
}

impl Count {
    /// The number of iterations; above the horizon where that would cut it.
    #[expect(clippy::cast_possible_truncation, reason = "a count is rounded to a whole number")]
    fn draw(&self, key: Key, (done, horizon): (u32, u32)) -> u32 {
        match self {
            Count::Certain(n) => *n,
            // Rounded half up.
            Count::Pert(own, pert) => (pert.quantile(key.of(*own).uniform()) + 0.5) as u32,
            Count::Accepted(own, chance) => (done + 1..=horizon)
                .find(|&n| key.of(*own).with(u64::from(n)).uniform() < *chance)
                .unwrap_or(horizon + 1),
            Count::Table(own, rows) => {
                let u = key.of(*own).uniform();
                let row = rows.iter().find(|r| u < r.1).or(rows.last());
                row.map_or(1, |r| r.0)
            }
        }
    }
}

fn key_of(scenario: &Scenario, slot: Slot) -> Key {
    Key::named(&scenario.slots.get(slot).address)
}

fn count(scenario: &Scenario) -> Count {
    let planned = scenario.iterations.planned;
    let input = scenario.slots.get(planned);
    let key = key_of(scenario, planned);
    match &scenario.iterations.drawn {
        CountDraw::Accepted(chance) => Count::Accepted(key, chance.to_f64_lossy()),
        CountDraw::Table(rows) => {
            let mut below = 0.0;
            let sum = |&(n, chance): &(u32, Exact)| {
                below += chance.to_f64_lossy();
                (n, below)
            };
            Count::Table(key, rows.iter().map(sum).collect())
        }
        CountDraw::Spread if input.low < input.high => {
            let [low, likely, high] =
                [input.low, input.likely, input.high].map(Exact::to_f64_lossy);
            Count::Pert(key, Pert::new(low, likely, high))
        }
        CountDraw::Spread => Count::Certain(scenario.planned()),
    }
}

/// Chances that something fails.
fn failures(scenario: &Scenario) -> Vec<Slot> {
    let of_route = |r: &crate::model::Route| -> Vec<Slot> {
        let mut found: Vec<Slot> = r.steps.iter().filter_map(|s| s.spoil).collect();
        if let RouteKind::Order(terms) = &r.kind {
            found.extend(terms.misread.into_iter().chain(terms.reject));
        }
        found
    };
    scenario.routes.iter().flat_map(of_route).collect()
}

/// Numbers of baths and of printing, and counts, on which no price rests.
fn unpriced(scenario: &Scenario) -> Vec<Slot> {
    let of_bath = |bath: &Bath| match &bath.kind {
        BathKind::Wash(w) => vec![w.retire_share, w.resin_film, w.platform_carry, w.carry_over],
        BathKind::Dye(d) => vec![d.dye_share],
    };
    let mut found: Vec<Slot> = scenario.baths.iter().flat_map(of_bath).collect();
    for bath in &scenario.baths {
        found.extend([bath.solvent_film, bath.evaporates]);
        found.extend(bath.reuse_limit);
    }
    for route in &scenario.routes {
        if let RouteKind::Bench(Bench { print: Some(print), .. }) = &route.kind {
            found.extend([print.supports, print.loss, print.support_area]);
        }
    }
    found
}

/// Numbers that a simulation reads by itself and on which no price rests; counts are left out.
fn direct(scenario: &Scenario) -> Vec<Slot> {
    let iterations = &scenario.iterations;
    let mut found = vec![iterations.evaluate, iterations.redesign, iterations.overlap];
    found.extend(scenario.last.iter().flat_map(|last| [Some(last.accept), last.copies]).flatten());
    for route in &scenario.routes {
        if let RouteKind::Order(terms) = &route.kind {
            found.push(terms.order_time);
            found.extend(terms.brief);
            found.extend(terms.rows.iter().map(|r| r.lead));
            found.extend(terms.quotes.iter().filter_map(|q| q.lead));
            found.extend(terms.deliveries.iter().filter_map(|d| d.transit));
        }
    }
    found
}
