//! How prices, stocks and services are drawn.

use proptest::collection::vec;
use proptest::option::weighted;
use proptest::prelude::*;

use super::describe::{Level, Machine, Offer, QuotePlan, Rates, Service, ShopPlan, Stocked};
use super::draw::weighted_flag;

/// Materials, supplies and machines.
pub fn shop() -> impl Strategy<Value = ShopPlan> {
    (vec(stocked(), 1..=2), vec(stocked(), 1..=3), vec(machine(), 3))
        .prop_map(|(materials, supplies, machines)| ShopPlan { materials, supplies, machines })
}

/// A material or supply.
pub fn stocked() -> impl Strategy<Value = Stocked> {
    let paid = (weighted(0.85, 1u32..10_000), 0u32..15_000, weighted_flag(0.2), weighted_flag(0.2));
    let held = (weighted(0.4, 0u32..9_000), weighted(0.3, 0u32..=100));
    let fees = (weighted(0.4, 0u32..1_500), weighted(0.6, 0u32..900));
    (0usize..4, paid, held, weighted(0.3, 0u32..6), fees, any::<bool>()).prop_map(
        |(
            kind,
            (pack, price, by_mass, foreign),
            (stock, keep),
            lead,
            (delivery, waste),
            opaque,
        )| {
            Stocked {
                kind,
                pack,
                price,
                by_mass,
                stock,
                keep,
                lead,
                delivery,
                foreign,
                opaque,
                waste,
            }
        },
    )
}

fn machine() -> impl Strategy<Value = Machine> {
    let paid = (0usize..3, 1u32..90_000, weighted(0.5, 0u32..=100), 1u32..3_000);
    let there = (vec(0u32..25, 0..3), weighted(0.2, 0u32..6), weighted(0.3, 0u32..3_000));
    (paid, weighted(0.6, 0u32..900), there).prop_map(
        |((charge, price, resale, life), watts, (down, lead, delivery))| Machine {
            charge,
            price,
            resale,
            life,
            watts,
            down,
            lead,
            delivery,
        },
    )
}

/// A service.
pub fn service() -> impl Strategy<Value = Service> {
    let lists = (vec(offer(), 1..=2), vec(level(), 1..=2), vec(quote(), 0..3));
    (lists, weighted_flag(0.4), weighted_flag(0.4), weighted(0.5, 8u32..18)).prop_map(
        |((offers, levels, quotes), foreign, calendar, cutoff)| Service {
            offers,
            levels,
            quotes,
            foreign,
            calendar,
            cutoff,
        },
    )
}

fn offer() -> impl Strategy<Value = Offer> {
    let price = (
        0usize..5,
        1u32..400,
        weighted(0.4, (2u32..5, 50u32..100)),
        weighted(0.3, (1u32..20, 80u32..130)),
    );
    let lines =
        (weighted(0.3, 1u32..6_000), weighted(0.5, 1u32..3_000), weighted(0.5, 1u32..3_000));
    let more = (weighted(0.3, 1u32..1_000), weighted(0.4, 1u32..30_000), 0u32..8, any::<bool>());
    (price, lines, more).prop_map(
        |(
            (basis, rate, tier, later),
            (piece_min, setup_part, setup_order),
            (finish, order_min, lead, opaque),
        )| Offer {
            basis,
            rate,
            tier,
            later,
            piece_min,
            setup_part,
            setup_order,
            finish,
            order_min,
            lead,
            opaque,
        },
    )
}

fn level() -> impl Strategy<Value = Level> {
    let price = (
        0u32..3_000,
        weighted(0.6, 1u32..1_000),
        weighted(0.5, 1_000u32..8_000),
        weighted(0.5, 1u32..20),
    );
    (price, weighted(0.8, 0u32..5), weighted(0.7, 6u32..20), weighted_flag(0.4)).prop_map(
        |((base, per_kg, divisor, mass_step), transit, arrives, calendar)| Level {
            base,
            per_kg,
            divisor,
            mass_step,
            transit,
            arrives,
            calendar,
        },
    )
}

fn quote() -> impl Strategy<Value = QuotePlan> {
    ((0usize..2, 0usize..3), 1u32..5, 1u32..20_000, weighted(0.5, 0u32..8), weighted(0.4, 1u32..20))
        .prop_map(|((offer, part), qty, price, lead, until)| QuotePlan {
            offer,
            part,
            qty,
            price,
            lead,
            until,
        })
}

/// Named rates.
pub fn rates() -> impl Strategy<Value = Rates> {
    let power = weighted(0.8, 1u32..90);
    let levies =
        (weighted(0.5, 0u32..25), weighted_flag(0.2), weighted(0.4, 0u32..20), any::<bool>());
    let exchange = (50u32..200, weighted(0.4, (1u32..20, 50u32..200)), weighted(0.5, 0u32..5));
    (power, levies, weighted(0.3, 1u32..2_000), exchange).prop_map(
        |(
            electricity,
            (tax, recoverable, duty, duty_on_delivery),
            import_fee,
            (exchange, exchange_later, exchange_fee),
        )| {
            Rates {
                electricity,
                tax,
                recoverable,
                duty,
                duty_on_delivery,
                import_fee,
                exchange,
                exchange_later,
                exchange_fee,
            }
        },
    )
}
