//! How the numbers of a description are drawn.

use proptest::collection::vec;
use proptest::option::weighted;
use proptest::prelude::*;

use super::describe::{
    Blueprint, HoldPlan, Last, Money, Ordering, PartPlan, Plain, Printed, RoutePlan, Served, Short,
    StepPlan, Time, Use, Way,
};
use super::prices::{rates, service, shop};
use super::rooms::room;

/// Every scenario the tests are held against.
pub fn blueprint() -> impl Strategy<Value = Blueprint> {
    let who = (money(), time(), weighted(0.4, last()), (weighted_flag(0.7), weighted_flag(0.8)));
    let what = (vec(part(), 1..=3), vec(route(), 1..=3), weighted(0.3, plans()));
    let with = (shop(), room(), vec(service(), 1..=2), rates());
    (who, what, with).prop_map(
        |(
            (money, time, last, (boxes, areas)),
            (parts, routes, plans),
            (shop, room, services, rates),
        )| Blueprint {
            money,
            time,
            last,
            parts,
            routes,
            plans: plans.unwrap_or_default(),
            shop,
            services,
            rates,
            boxes,
            areas,
            room,
        },
    )
}

fn money() -> impl Strategy<Value = Money> {
    let labour = weighted(0.9, 0u32..6_000);
    (0usize..4, labour, weighted_flag(0.2), weighted(0.5, 0u32..20), weighted(0.3, 1u32..5_000))
        .prop_map(|(currency, labour, labour_paid, close, delay_cost)| Money {
            currency,
            labour,
            labour_paid,
            close,
            delay_cost,
        })
}

fn time() -> impl Strategy<Value = Time> {
    let dates = (weighted(0.7, (0u32..7, 6u32..20)), 1u32..=3, 0u32..3);
    let design = (0u32..200, 0u32..900, weighted(0.4, 0u32..=100));
    let bench = (0usize..3, vec(0u32..20, 0..3));
    (dates, design, bench).prop_map(
        |((start, planned, beyond), (evaluate, redesign, overlap), (hours, closed))| Time {
            start,
            planned,
            beyond,
            evaluate,
            redesign,
            overlap,
            hours,
            closed,
        },
    )
}

fn last() -> impl Strategy<Value = Last> {
    (weighted(0.5, 1u32..5), weighted(0.4, 0usize..4))
        .prop_map(|(copies, assign)| Last { copies, assign })
}

fn plans() -> impl Strategy<Value = Vec<Vec<usize>>> {
    vec(vec(0usize..4, 3), 1..4)
}

fn part() -> impl Strategy<Value = PartPlan> {
    let solid = (1u32..1_500, 1u32..3_000, [5u32..120, 5u32..90, 5u32..100], weighted_flag(0.2));
    (solid, 1u32..=5, weighted(0.4, 1u32..=3), weighted(0.1, 1u32..=4)).prop_map(
        |((volume, area, size, fill), copies, own, opaque_from)| PartPlan {
            volume,
            area,
            size,
            fill,
            copies,
            own,
            opaque_from,
        },
    )
}

fn route() -> impl Strategy<Value = RoutePlan> {
    (way(), weighted(0.3, 1u32..20_000), weighted(0.15, 0usize..3), vec(a_use(), 0..5))
        .prop_map(|(way, buy_first, only, consumes)| RoutePlan { way, buy_first, only, consumes })
}

fn way() -> impl Strategy<Value = Way> {
    prop_oneof![
        1 => short().prop_map(Way::Short),
        1 => vec(step(), 1..4).prop_map(Way::Crafted),
        3 => printed().prop_map(Way::Printed),
        1 => (plain(), ordering()).prop_map(|(plain, ordering)| Way::Plain(plain, ordering)),
        4 => (served(), ordering()).prop_map(|(served, ordering)| Way::Served(served, ordering)),
    ]
}

fn short() -> impl Strategy<Value = Short> {
    let resin = (weighted(0.9, 1u32..30_000), weighted_flag(0.3));
    let times = (1u32..900, 0u32..400, weighted(0.7, 0u32..600));
    let used = (weighted(0.7, 0u32..30), weighted(0.7, 0u32..50), weighted(0.7, 0u32..2_000));
    (resin, times, used).prop_map(
        |((resin, pack), (print_time, attended, other), (spoil, supports, solvent))| Short {
            resin,
            pack,
            print_time,
            attended,
            spoil,
            supports,
            solvent,
            other,
        },
    )
}

fn printed() -> impl Strategy<Value = Printed> {
    let run = (0usize..3, any::<bool>(), 1u32..900, weighted(0.2, 1u32..60));
    let resin = (weighted(0.8, 0u32..50), weighted(0.8, 0u32..300), weighted(0.6, 0u32..8));
    let stand = (weighted(0.5, 0usize..7), weighted(0.6, 0u32..80), weighted(0.6, 0u32..=100));
    let then = (weighted(0.6, [step(), step()]), vec(step(), 0..4));
    (run, resin, stand, step(), then).prop_map(
        |(
            (material, layers, print_time, cool),
            (supports, loss, stand_off),
            (up, gap, support_area),
            first,
            (washed, steps),
        )| Printed {
            material,
            layers,
            print_time,
            supports,
            loss,
            stand_off,
            up,
            gap,
            support_area,
            cool,
            first,
            washed,
            steps,
        },
    )
}

fn plain() -> impl Strategy<Value = Plain> {
    (1u32..30_000, weighted(0.8, 0u32..4_000), 0u32..9)
        .prop_map(|(piece, delivery, arrives_after)| Plain { piece, delivery, arrives_after })
}

fn served() -> impl Strategy<Value = Served> {
    (0usize..2, 0usize..2, 0usize..2).prop_map(|(service, offer, level)| Served {
        service,
        offer,
        level,
    })
}

fn ordering() -> impl Strategy<Value = Ordering> {
    let work = (weighted(0.7, 0u32..60), weighted(0.3, 1u32..40));
    (work, weighted(0.3, 0u32..30), weighted(0.3, 0u32..30), vec(step(), 0..2)).prop_map(
        |((order_time, brief), misread, reject, steps)| Ordering {
            order_time,
            brief,
            misread,
            reject,
            steps,
        },
    )
}

fn step() -> impl Strategy<Value = StepPlan> {
    let work = (0u32..60, weighted_flag(0.25), weighted(0.2, 1u32..60));
    let hold = prop_oneof![
        3 => Just(HoldPlan::None),
        4 => (1u32..300).prop_map(HoldPlan::Minutes),
        2 => Just(HoldPlan::Overnight),
    ];
    let fails = (weighted(0.4, 0u32..25), weighted(0.5, 0u32..=100));
    let place = (weighted(0.8, 0usize..9), weighted(0.5, 0usize..7));
    (work, hold, place, fails, vec(a_use(), 0..2)).prop_map(
        |((attended, per_piece, first_time), hold, (at, pose), (spoil, spent), uses)| StepPlan {
            attended,
            per_piece,
            first_time,
            hold,
            at,
            pose,
            spoil,
            spent,
            uses,
        },
    )
}

fn a_use() -> impl Strategy<Value = Use> {
    (0usize..3, 1u32..300, 0usize..7).prop_map(|(item, amount, per)| Use { item, amount, per })
}

/// A flag that is set so often.
pub fn weighted_flag(chance: f64) -> impl Strategy<Value = bool> {
    proptest::bool::weighted(chance)
}
