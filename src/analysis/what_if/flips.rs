//! What changes the answer: for every input, the value at which the second best plan becomes the best, and how far its spread moves the
//! difference between the two.

use super::inert::{Followed, inert, telling};
use super::scan::{Change, NumberKind, nearest_change, thinned};
use crate::analysis::answer::Answer;
use crate::analysis::compare::is_in_time;
use crate::analysis::follow::{Pair, is_price};
use crate::analysis::parallel::in_order;
use crate::ledger::Category;
use crate::model::{DAY, Dim, Exact, Input, PartId, RouteId, Scenario, Slot, limits};
use crate::plan::{Shop, parts};
use crate::sim::What;
use crate::value::order_cost;

/// How many assumed values are named as those to replace first.
const REPLACE_FIRST: usize = 3;
/// A time of a minute or more counts in whole seconds.
const MINUTE: f64 = 60.0;

/// Copies and uses are followed so far, or to twice as many as today: hundreds of pieces are another question, and take long.
const MANY: i64 = 200;

/// What is varied.
#[derive(Clone, Debug, PartialEq)]
pub enum FlipInput {
    /// One number.
    Slot(Slot),
    /// What an hour is worth, where none is stated.
    Hour,
    /// What a day of delay costs, where none is stated.
    Day,
    /// The price of a piece of one part, in the scenario's currency.
    PieceOutside(PartId, RouteId),
    /// What pieces of these parts cost outside, as a multiple of today's prices.
    PiecesOutside(Vec<PartId>),
}

/// One row: an input and what it does.
#[derive(Clone, Debug, PartialEq)]
pub struct Flip {
    /// What is varied.
    pub input: FlipInput,
    /// Its value today in base units; `None` where it is not stated.
    pub today: Option<f64>,
    /// Where the answer changes.
    pub change: Change,
    /// How far the difference moves between its low and its high, in the scenario's currency; `None` where it has no spread.
    pub swing: Option<f64>,
    /// The plan the best is held against, by index; the second best but for outside prices, which need one that orders otherwise.
    pub against: usize,
}

/// What changes the answer.
#[derive(Clone, Debug, PartialEq)]
pub struct Flips {
    /// The best plan by index into [`Answer::plans`]: the cheapest of those in time.
    pub best: usize,
    /// The second best.
    pub second: usize,
    /// What the best costs less than the second, unrounded.
    pub less: f64,
    /// The worth of an hour, the cost of a day and the price to ask for, where there is one; then every number that moves the difference,
    /// the most telling first: those whose spread holds the change, then by how near the change is, then by swing.
    pub rows: Vec<Flip>,
    /// Numbers that move nothing between the two plans.
    pub without_effect: Vec<Slot>,
    /// The assumed numbers with the largest swings, the largest first.
    pub replace_first: Vec<Slot>,
}

/// Looks at every number of a scenario; `None` where fewer than two plans are feasible.
///
/// ```
/// use flipcount::analysis::Change;
/// use flipcount::{analysis, plan};
///
/// # let loaded = flipcount::model::load("scenarios/first-look".as_ref(), &Default::default());
/// # let scenario = loaded.scenario.expect("the first look is valid");
/// # let values = plan::Values::planning(&scenario.slots);
/// # let shop = plan::Shop::new(&scenario, &values);
/// # let answer = analysis::answer(&shop).expect("few enough plans");
/// let flips = analysis::flips(&shop, &answer).expect("two plans are feasible");
/// assert_eq!((flips.best, flips.second), (0, 1));
/// // At some worth of an hour the bench and the order cost the same.
/// let labour = flips.rows.iter().find(|row| row.input == analysis::FlipInput::Slot(scenario.labour.unwrap()));
/// assert!(matches!(labour.expect("labour is stated").change, Change::At(_)));
/// ```
pub fn flips(shop: &Shop, answer: &Answer) -> Option<Flips> {
    let order = by_time_and_cost(shop, answer);
    let (best, second) = (*order.first()?, *order.get(1)?);
    let pair = Pair::new(shop, &answer.plans[best].plan, &answer.plans[second].plan)?;
    let slots: Vec<Slot> = shop.scenario.slots.iter().map(|(slot, _)| slot).collect();
    let all: Vec<Followed> = slots.iter().map(|&slot| followed(&pair, slot)).collect();
    let inert = inert(&pair, &all);
    let look = |index: usize| flip(&pair, &all[index], second);
    let found = in_order(all.len(), |index| (!inert[index]).then(|| look(index)).flatten());
    let always = [
        hour(&pair, answer, (best, second)),
        day(&pair, answer, (best, second)),
        outside(shop, answer, &order),
    ];
    let mut rows: Vec<Flip> = always.into_iter().flatten().collect();
    let stands = |slot: Slot| rows.iter().any(|r| r.input == FlipInput::Slot(slot));
    let mut ranked: Vec<Flip> = Vec::new();
    let mut without_effect = Vec::new();
    for (slot, flip) in slots.into_iter().zip(found) {
        match flip {
            Some(flip) if !stands(slot) => ranked.push(flip),
            Some(_) => {}
            None if stands(slot) => {}
            None => without_effect.push(slot),
        }
    }
    let replace_first = replace_first(shop.scenario, rows.iter().chain(&ranked));
    ranked.sort_by(|a, b| rank_of(shop.scenario, a).total_cmp(&rank_of(shop.scenario, b)));
    rows.extend(ranked);
    Some(Flips { best, second, less: -pair.today, rows, without_effect, replace_first })
}

/// Plans by index, those in time first, each group as ranked.
fn by_time_and_cost(shop: &Shop, answer: &Answer) -> Vec<usize> {
    let all = 0..answer.plans.len();
    let (mut order, late): (Vec<usize>, Vec<usize>) =
        all.partition(|&i| is_in_time(shop, &answer.plans[i]));
    order.extend(late);
    order
}

/// A number with the values it is followed to.
fn followed(pair: &Pair, slot: Slot) -> Followed {
    let scenario = pair.shop.scenario;
    let input = scenario.slots.get(slot);
    let every = if is_price(input.dim) { 1 } else { sparse(pair) };
    let values = kind(scenario, slot, input).values(input.likely.quick_f64());
    Followed { slot, values: thinned(values, every) }
}

/// The row of one number; `None` where it moves nothing.
fn flip(pair: &Pair, Followed { slot, values }: &Followed, against: usize) -> Option<Flip> {
    let (slot, scenario) = (*slot, pair.shop.scenario);
    let input = scenario.slots.get(slot);
    let today = input.likely.quick_f64();
    let kind = kind(scenario, slot, input);
    let most = largest(input.dim);
    let at = |value: f64| (value <= most).then(|| pair.difference(&[(slot, value)])).flatten();
    let swing = pair.swing(slot);
    if swing.unwrap_or_default() == 0.0 && !moves(pair, values, &at) {
        return None;
    }
    let change = nearest_change(kind, values, (today, pair.today), &at);
    Some(Flip { input: FlipInput::Slot(slot), today: Some(today), change, swing, against })
}

/// Of how many steps one is taken: all but where the two plans are so large that each simulation takes long.
fn sparse(pair: &Pair) -> usize {
    const LARGE: usize = 20_000;
    const MOST: usize = 12;
    ((0..2).map(|plan| pair.events(plan).len()).sum::<usize>() / LARGE).clamp(1, MOST)
}

/// True if one of the values that would tell changes the difference.
fn moves(pair: &Pair, values: &[f64], at: &impl Fn(f64) -> Option<f64>) -> bool {
    telling(values).filter_map(at).any(|d| (d - pair.today).abs() > pair.noise)
}

/// What values a number may take.
fn kind(scenario: &Scenario, slot: Slot, input: &Input) -> NumberKind {
    let last = |key: &str| input.address.ends_with(key);
    let step = match input.dim {
        Dim::Time if input.likely.quick_f64() >= MINUTE => 1.0,
        _ => 0.0,
    };
    let unit = if input.dim == Dim::Time { MINUTE } else { 1.0 };
    let jumps = input.dim == Dim::Length;
    match input.dim {
        Dim::Count if slot == scenario.iterations.planned => {
            NumberKind::Whole(1, i64::from(scenario.iterations.horizon))
        }
        Dim::Count if is_days(&input.address) => NumberKind::Whole(0, limits::LEAD_DAYS),
        Dim::Count => {
            let twice = (input.likely * Exact::from(2i64)).to_whole();
            NumberKind::Whole(1, twice.clamp(MANY, limits::COPIES))
        }
        Dim::Share if is_factor(input) => NumberKind::Size { step, unit, jumps },
        // A chance of 1 would never be done.
        Dim::Share if [".spoil", ".misread", ".reject"].into_iter().any(last) => {
            NumberKind::Share(0.99)
        }
        Dim::Share => NumberKind::Share(1.0),
        _ => NumberKind::Size { step, unit, jumps },
    }
}

/// The largest value a scenario may state.
fn largest(dim: Dim) -> f64 {
    let most = match dim {
        Dim::Time => limits::TIME,
        Dim::Money | Dim::Rate => limits::MONEY,
        _ => limits::QUANTITY,
    };
    most as f64
}

/// Counts of business days may be 0.
fn is_days(address: &str) -> bool {
    [".lead", ".transit", ".arrives_after", ".uses_now"]
        .into_iter()
        .any(|key| address.ends_with(key))
}

/// Numbers without a unit that are no shares: the life of a machine in hours, an exchange rate, whatever is above 1.
fn is_factor(input: &Input) -> bool {
    input.likely > Exact::ONE
        || input.address.ends_with(".life_hours")
        || (input.address.starts_with("rates[exchange ") && !input.address.contains("_fee"))
}

/// Smaller is more telling.
fn rank_of(scenario: &Scenario, flip: &Flip) -> f64 {
    const LATER: f64 = 1e3;
    let today = flip.today.unwrap_or_default();
    let far = match flip.change {
        Change::At(place) | Change::Jumps(place) if today > 0.0 && place > 0.0 => {
            (place / today).ln().abs()
        }
        Change::At(_) | Change::Jumps(_) => LATER / 2.0,
        // By swing, the larger first; those without a swing last.
        Change::Never => LATER + 1.0 / (1.0 + flip.swing.unwrap_or_default()),
    };
    if holds_change(scenario, flip) { far - LATER } else { far }
}

/// True if the answer changes between the low and the high value of a row's number.
pub fn holds_change(scenario: &Scenario, flip: &Flip) -> bool {
    let (FlipInput::Slot(slot), Change::At(place) | Change::Jumps(place)) =
        (&flip.input, flip.change)
    else {
        return false;
    };
    let input = scenario.slots.get(*slot);
    input.low < input.high && (input.low.quick_f64()..=input.high.quick_f64()).contains(&place)
}

fn replace_first<'f>(scenario: &Scenario, rows: impl Iterator<Item = &'f Flip>) -> Vec<Slot> {
    let mut assumed: Vec<(Slot, f64)> = rows
        .filter_map(|row| match row.input {
            FlipInput::Slot(slot) if scenario.slots.get(slot).assumed => {
                Some((slot, row.swing.filter(|&s| s > 0.0)?))
            }
            _ => None,
        })
        .collect();
    assumed.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    assumed.into_iter().take(REPLACE_FIRST).map(|a| a.0).collect()
}

/// The worth of an hour; where none is stated, from the hours of the two plans.
fn hour(pair: &Pair, answer: &Answer, (best, second): (usize, usize)) -> Option<Flip> {
    let hours = |plan: usize| answer.plans[plan].decides.attended.quick_f64();
    stated_or_solved(
        pair,
        (pair.shop.scenario.labour, FlipInput::Hour),
        hours(best) - hours(second),
        second,
    )
}

/// What a day of delay costs; where none is stated, from the days of the two plans.
fn day(pair: &Pair, answer: &Answer, (best, second): (usize, usize)) -> Option<Flip> {
    let days = |plan: usize| answer.plans[plan].decides.seconds as f64 / DAY as f64;
    stated_or_solved(
        pair,
        (pair.shop.scenario.iterations.delay_cost_per_day, FlipInput::Day),
        days(best) - days(second),
        second,
    )
}

fn stated_or_solved(
    pair: &Pair,
    (slot, unstated): (Option<Slot>, FlipInput),
    more: f64,
    against: usize,
) -> Option<Flip> {
    let Some(slot) = slot else {
        let equal = -pair.today / more;
        let change =
            if equal > 0.0 && equal.is_finite() { Change::At(equal) } else { Change::Never };
        return Some(Flip { input: unstated, today: None, change, swing: None, against });
    };
    let today = pair.shop.scenario.slots.get(slot).likely.quick_f64();
    let unmoved = Flip {
        input: FlipInput::Slot(slot),
        today: Some(today),
        change: Change::Never,
        swing: None,
        against,
    };
    Some(flip(pair, &followed(pair, slot), against).unwrap_or(unmoved))
}

/// The price to ask for: outside prices of the parts that are ordered in the best plan or in the plan it is held against, but not in both.
fn outside(shop: &Shop, answer: &Answer, order: &[usize]) -> Option<Flip> {
    let best = *order.first()?;
    let assign = |plan: usize| answer.plans[plan].plan.assign.as_slice();
    let ordered = |plan: usize| -> Vec<(PartId, RouteId, usize)> {
        let is_order = |r: RouteId| shop.terms(r).is_some();
        let both = assign(best).iter().zip(assign(plan));
        let of = parts(shop.scenario).zip(both).filter_map(|((part, _), (&a, &b))| {
            match (is_order(a), is_order(b)) {
                (true, false) => Some((part, a, 0)),
                (false, true) => Some((part, b, 1)),
                _ => None,
            }
        });
        of.collect()
    };
    let (against, bought) = order[1..].iter().find_map(|&plan| {
        let bought = ordered(plan);
        (!bought.is_empty()).then_some((plan, bought))
    })?;
    let pair = Pair::new(shop, &answer.plans[best].plan, &answer.plans[against].plan)?;
    let slots = prices_of_pieces(shop, &bought);
    let at = |factor: f64| {
        let tried: Vec<(Slot, f64)> =
            slots.iter().map(|&s| (s, shop.values.exact(s).quick_f64() * factor)).collect();
        pair.difference(&tried)
    };
    let kind = NumberKind::Size { step: 0.0, unit: 1.0, jumps: false };
    let change = nearest_change(kind, &kind.values(1.0), (1.0, pair.today), &at);
    let (input, today) = match (bought.as_slice(), price_of_piece(&pair, bought[0])) {
        (&[(part, route, _)], Some(price)) => (FlipInput::PieceOutside(part, route), price),
        _ => (FlipInput::PiecesOutside(bought.iter().map(|b| b.0).collect()), 1.0),
    };
    let change = change.scaled(today);
    Some(Flip { input, today: Some(today), change, swing: None, against })
}

/// The slots that decide what pieces of these parts cost.
fn prices_of_pieces(shop: &Shop, bought: &[(PartId, RouteId, usize)]) -> Vec<Slot> {
    let mut slots: Vec<Slot> = Vec::new();
    for &(part, route, _) in bought {
        let Some(terms) = shop.terms(route) else {
            continue;
        };
        slots.extend(terms.rows.iter().flat_map(|r| [r.rate, r.piece_min]).flatten());
        let quotes = terms.quotes.iter().filter(|q| q.part == part);
        slots.extend(quotes.map(|q| q.unit_price.value));
    }
    slots.retain(|&slot| is_price(shop.scenario.slots.get(slot).dim));
    slots.sort_unstable();
    slots.dedup();
    slots
}

/// What a piece costs in the first order that has it, in the scenario's currency.
fn price_of_piece(pair: &Pair, (part, _, plan): (PartId, RouteId, usize)) -> Option<f64> {
    pair.events(plan).iter().find_map(|event| {
        let What::Order(placed) = &event.what else {
            return None;
        };
        let line = placed.lines.iter().position(|l| l.part == part)?;
        let cost = order_cost(pair.shop, placed).ok()?;
        let of_line =
            |c: &&crate::value::OrderCharge| c.line == Some(line) && c.category == Category::Piece;
        let price = cost.charges.iter().find(of_line)?.unit_price.quick_f64();
        (price > 0.0).then_some(price)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::Values;

    #[test]
    fn what_is_left_out_moves_nothing_when_it_is_followed() {
        let loaded = crate::model::load("scenarios/river-sonde".as_ref(), &Default::default());
        let scenario = loaded.scenario.expect("the demo is valid");
        let values = Values::planning(&scenario.slots);
        let shop = Shop::new(&scenario, &values);
        let answer = crate::analysis::answer(&shop).expect("few enough plans");
        let [a, b] = [0, 1].map(|index| &answer.plans[index].plan);
        let pair = Pair::new(&shop, a, b).expect("both can be carried out");
        let slots = scenario.slots.iter().map(|(slot, _)| slot);
        let all: Vec<Followed> = slots.map(|slot| followed(&pair, slot)).collect();
        let inert = inert(&pair, &all);
        let left_out = all.iter().zip(&inert).filter(|(_, inert)| **inert);
        let left_out: Vec<&Followed> = left_out.map(|(number, _)| number).collect();
        assert!(left_out.len() > 20 && left_out.len() < all.len(), "{}", left_out.len());
        for number in left_out {
            let address = &scenario.slots.get(number.slot).address;
            assert_eq!(flip(&pair, number, 1), None, "{address}");
        }
    }
}
