//! How plates and baths are drawn.

use proptest::collection::vec;
use proptest::option::weighted;
use proptest::prelude::*;

use super::describe::{BathPlan, DyePlan, Room, WashPlan};
use super::draw::weighted_flag;
use super::prices::stocked;

/// Plate and baths.
pub fn room() -> impl Strategy<Value = Room> {
    let printer = (weighted(0.7, [60u32..260, 60u32..160]), weighted(0.4, 40u32..170));
    let washes = prop_oneof![1 => Just(0usize), 2 => Just(1), 3 => Just(2)];
    let washes = washes.prop_flat_map(|n| vec(wash(), n));
    let baths = (washes, vec(dye(), 1..=2));
    (printer, weighted_flag(0.2), baths, (stocked(), stocked())).prop_map(
        |((plate, height), tight, (washes, dyes), (solvent, dye))| Room {
            plate,
            height,
            tight,
            washes,
            dyes,
            solvent,
            dye,
        },
    )
}

fn bath() -> impl Strategy<Value = BathPlan> {
    (weighted(0.6, 1u32..12), weighted(0.7, 0u32..20), weighted(0.7, 0u32..300))
        .prop_map(|(limit, film, evaporates)| BathPlan { limit, film, evaporates })
}

fn wash() -> impl Strategy<Value = WashPlan> {
    let resin = (weighted(0.7, 1u32..30), weighted(0.7, 0u32..20), weighted(0.7, 0u32..200));
    let used = (weighted(0.3, 0u32..800), weighted(0.3, 0u32..12));
    (bath(), 50u32..2_000, resin, weighted(0.7, 0u32..=100), used).prop_map(
        |(bath, fill, (retire, resin_film, carry), over, (resin_now, uses_now))| WashPlan {
            bath,
            fill,
            retire,
            resin_film,
            carry,
            over,
            resin_now,
            uses_now,
        },
    )
}

fn dye() -> impl Strategy<Value = DyePlan> {
    let tub = (weighted_flag(0.4), 60u32..200, 40u32..160, 0u32..30);
    let inside = (
        weighted(0.4, (0u32..300, 1u32..60)),
        weighted(0.6, 0u32..20),
        weighted(0.6, 1u32..90),
        weighted(0.6, 0u32..15),
    );
    let limits = (weighted(0.6, 0u32..20), weighted(0.6, 0u32..300), weighted(0.8, 1u32..8));
    (bath(), 1u32..120, tub, inside, limits).prop_map(
        |(
            bath,
            share,
            (round, narrow, shallow, draft),
            (displacers, raise, depth, cover),
            (freeboard, stir, keeps),
        )| DyePlan {
            bath,
            share,
            round,
            narrow,
            shallow,
            draft,
            displacers,
            raise,
            depth,
            cover,
            freeboard,
            stir,
            keeps,
        },
    )
}
