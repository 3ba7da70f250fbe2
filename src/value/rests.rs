//! On which prices the amounts of an event rest.

use crate::model::{ItemPrice, Price, RateRows, RouteKind, Scenario, Slot, Terms};
use crate::sim::{Event, What};

/// Tells every price that the amounts of an event may rest on, some of them more than once: with any other price changed they stay as they are.
/// Exchange rates, shares and densities are no prices.
pub fn prices_of(scenario: &Scenario, event: &Event, mut told: impl FnMut(Slot)) {
    let mut price = |price: Option<Price>| {
        if let Some(price) = price {
            told(price.value);
        }
    };
    match &event.what {
        What::Work { .. } => scenario.labour.into_iter().for_each(told),
        What::Machine { equipment, .. } => {
            let machine = &scenario.equipment[equipment.index()];
            price(machine.price);
            price(machine.resale);
            rows(&scenario.electricity, &mut told);
        }
        What::Draw(draw) => {
            let item = &scenario.items[draw.item.index()];
            price(item_price(item.price));
            price(item.delivery_cost);
        }
        What::Emptied(bath, _) => {
            let solvent = scenario.baths[bath.index()].solvent;
            price(scenario.items[solvent.index()].waste_charge_per_l);
        }
        What::Purchase(id) => {
            let machine = &scenario.equipment[id.index()];
            [machine.price, machine.resale, machine.delivery_cost].into_iter().for_each(price);
        }
        What::BuyFirst => price(event.route.and_then(|r| scenario.route(r).buy_first)),
        What::Order(placed) => {
            for line in placed.lines.iter() {
                if let RouteKind::Order(terms) = &scenario.route(line.route).kind {
                    of_terms(terms, &mut told);
                }
            }
        }
        What::Wait(_) => scenario.iterations.delay_cost_per_day.into_iter().for_each(told),
        What::Kept(item, _) => price(item_price(scenario.items[item.index()].price)),
        // What a cancellation returns is recorded as an amount.
        What::Move { .. } | What::Cancelled(_) => {}
    }
}

fn item_price(price: ItemPrice) -> Option<Price> {
    match price {
        ItemPrice::Unknown => None,
        ItemPrice::Pack { price, .. } | ItemPrice::PerUnit(price) => Some(price),
    }
}

fn rows(rows: &RateRows, told: &mut impl FnMut(Slot)) {
    rows.0.iter().for_each(|row| told(row.value));
}

fn of_terms(terms: &Terms, told: &mut impl FnMut(Slot)) {
    for row in &terms.rows {
        let own = [row.rate, row.piece_min, row.setup_per_part, row.setup_per_order];
        own.into_iter().chain([row.finish_per_piece, row.order_min]).flatten().for_each(&mut *told);
    }
    terms.quotes.iter().for_each(|quote| told(quote.unit_price.value));
    for row in &terms.deliveries {
        [row.base, row.per_kg].into_iter().flatten().for_each(&mut *told);
    }
    rows(&terms.import_fee, told);
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;
    use std::path::Path;

    use super::prices_of;
    use crate::model::{Dim, Exact, Overrides, Slot, load};
    use crate::plan::{Shop, Values, plans, ruled_out};
    use crate::sim::Simulation;
    use crate::value::Prices;

    #[test]
    fn no_other_price_changes_an_amount() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("scenarios/river-sonde");
        let scenario = load(&folder, &Overrides::default()).scenario.expect("the demo");
        let values = Values::planning(&scenario.slots);
        let shop = Shop::new(&scenario, &values);
        let set = plans(&shop, &ruled_out(&shop)).expect("few plans");
        let mut moved = 0;
        for plan in &set.whole {
            let mut simulation = Simulation::new(&shop);
            for n in 1..=4 {
                simulation.iterate(n, &plan.assign).expect("it goes on");
            }
            let events = &simulation.events;
            let told: Vec<BTreeSet<Slot>> = events
                .iter()
                .map(|event| {
                    let mut told = BTreeSet::new();
                    prices_of(&scenario, event, |slot| _ = told.insert(slot));
                    told
                })
                .collect();
            let sums = |shop: &Shop| -> Vec<_> {
                let mut prices = Prices::new(shop);
                let of = |event| prices.rounded(shop, std::slice::from_ref(event)).ok();
                events.iter().map(of).collect()
            };
            let before = sums(&shop);
            let priced = |dim| matches!(dim, Dim::Money | Dim::Rate);
            for (slot, input) in scenario.slots.iter().filter(|(_, i)| priced(i.dim)) {
                let mut values = values.clone();
                values.set(&scenario.slots, slot, input.likely * Exact::from(3i64) + Exact::ONE);
                for ((told, then), now) in told.iter().zip(&before).zip(sums(&shop.beside(&values)))
                {
                    assert!(told.contains(&slot) || *then == now, "{}", input.address);
                    moved += u32::from(*then != now);
                }
            }
        }
        assert!(moved > 100, "{moved}");
    }
}
