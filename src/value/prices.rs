//! The prices of a scenario as binary floats: what the fast valuation multiplies with.

use super::dated::{Dated, Epochs};
use super::remembered::Costs;
use crate::model::{Charge, CurrencyId, DAY, HOUR, ItemPrice, MILLION, Price};
use crate::plan::{Shop, Values};

/// An amount of money in a currency.
#[derive(Clone, Copy)]
pub(super) struct Sum {
    pub(super) value: f64,
    pub(super) currency: CurrencyId,
}

impl Sum {
    pub(super) fn of(price: Price, values: &Values) -> Sum {
        Sum { value: values.exact(price.value).quick_f64(), currency: price.currency }
    }
}

/// What an item costs.
pub(super) struct ItemSums {
    /// One pack; of an item paid by use, one unit.
    pub(super) price: Sum,
    /// Packs, or units, in a millionth.
    pub(super) share: f64,
    /// True where it is bought in packs.
    pub(super) packs: bool,
    pub(super) keep: f64,
}

/// What a machine costs.
#[derive(Clone, Copy)]
pub(super) struct MachineSums {
    /// kWh in a second.
    pub(super) power: Option<f64>,
    /// Price and resale, and the share of their difference that a second wears off.
    pub(super) wear: Option<(Sum, Option<Sum>, f64)>,
}

/// Every price of a scenario as a binary float, and the orders met so far.
///
/// Made from one shop, and good for every shop whose numbers differ from it in times, chances, leads and counts alone: prices, packs,
/// geometry, densities, watts and shares kept are taken once.
pub struct Prices {
    pub(super) labour: f64,
    pub(super) labour_paid: bool,
    pub(super) delay: f64,
    pub(super) has_start: bool,
    /// By currency; that of the scenario is empty and never asked.
    pub(super) exchange: Vec<Dated>,
    pub(super) electricity: Dated,
    pub(super) electricity_currency: CurrencyId,
    pub(super) items: Vec<Option<ItemSums>>,
    pub(super) machines: Vec<MachineSums>,
    /// By route: the days on which what an order costs may change.
    pub(super) epochs: Vec<Epochs>,
    pub(super) costs: Costs,
}

impl Prices {
    /// Takes the prices of a shop.
    pub fn new(shop: &Shop) -> Prices {
        let (scenario, values) = (shop.scenario, shop.values);
        let per = |slot, unit: i64| values.exact_or_zero(slot).quick_f64() / unit as f64;
        Prices {
            labour: per(scenario.labour, HOUR),
            labour_paid: scenario.labour_paid,
            delay: per(scenario.iterations.delay_cost_per_day, DAY),
            has_start: scenario.start.is_some(),
            exchange: scenario.exchange.iter().map(|rows| Dated::new(rows, values)).collect(),
            electricity: Dated::new(&scenario.electricity, values),
            electricity_currency: scenario.electricity_currency,
            items: (0..scenario.items.len()).map(|index| item_sums(shop, index)).collect(),
            machines: (0..scenario.equipment.len()).map(|at| machine_sums(shop, at)).collect(),
            epochs: scenario.routes.iter().map(Epochs::of_route).collect(),
            costs: Costs::default(),
        }
    }
}

fn item_sums(shop: &Shop, index: usize) -> Option<ItemSums> {
    let table = &shop.items[index];
    let price = Sum::of(table.price?, shop.values);
    let unit = match shop.scenario.items[index].price {
        ItemPrice::Pack { .. } => table.pack?,
        _ => MILLION,
    };
    Some(ItemSums {
        price,
        share: 1.0 / unit as f64,
        packs: table.pack.is_some(),
        keep: table.keep.quick_f64(),
    })
}

fn machine_sums(shop: &Shop, index: usize) -> MachineSums {
    let (machine, values) = (&shop.scenario.equipment[index], shop.values);
    let number = |slot| values.exact(slot).quick_f64();
    let wears = machine.charge == Charge::Wear;
    let worn = machine.price.zip(machine.life_hours).filter(|_| wears);
    MachineSums {
        power: machine.watts.map(|watts| number(watts) / (1000 * HOUR) as f64),
        wear: worn.map(|(price, life)| {
            let resale = machine.resale.map(|resale| Sum::of(resale, values));
            (Sum::of(price, values), resale, 1.0 / (number(life) * HOUR as f64))
        }),
    }
}
