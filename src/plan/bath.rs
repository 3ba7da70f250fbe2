//! Wash and dye baths in numbers.

use crate::model::{Bath, BathKind, Exact, ItemId, Scenario};

use super::{DyeTable, Values};

/// A bath's numbers.
#[derive(Clone, Copy, Debug)]
pub struct BathTable {
    /// The solvent.
    pub solvent: ItemId,
    /// Solvent that leaves on a piece, in mm.
    pub solvent_film: Exact,
    /// mL that evaporate in an hour.
    pub evaporates: Exact,
    /// Uses after which it is emptied.
    pub reuse_limit: Option<i64>,
    /// Wash or dye.
    pub kind: BathKindTable,
    /// True where a film, a carry or the evaporation is assumed.
    pub assumed: bool,
}

/// What a bath is for, in numbers.
#[derive(Clone, Copy, Debug)]
pub enum BathKindTable {
    /// Washes.
    Wash(WashTable),
    /// Dyes, with this dye.
    Dye(ItemId, DyeTable),
}

/// A wash bath in numbers.
#[derive(Clone, Copy, Debug)]
pub struct WashTable {
    /// Millionths of mL of solvent it is filled to.
    pub fill: i64,
    /// Share of resin at which it is retired.
    pub retire_share: Exact,
    /// Resin film in mm.
    pub resin_film: Exact,
    /// mL of resin the platform carries in.
    pub platform_carry: Exact,
    /// Share carried on from a first wash.
    pub carry_over: Exact,
    /// Resin in it at the start and uses behind it; `None` for an empty one.
    pub used: Option<(i64, i64)>,
}

/// The numbers of a bath.
pub(super) fn bath_table(bath: &Bath, scenario: &Scenario, values: &Values) -> BathTable {
    let mut rests_on = vec![bath.solvent_film, bath.evaporates];
    if let BathKind::Wash(wash) = &bath.kind {
        rests_on.extend([wash.resin_film, wash.platform_carry, wash.carry_over]);
    }
    let kind = match &bath.kind {
        BathKind::Wash(wash) => BathKindTable::Wash(WashTable {
            fill: values.whole(wash.fill),
            retire_share: values.exact(wash.retire_share),
            resin_film: values.exact(wash.resin_film),
            platform_carry: values.exact(wash.platform_carry),
            carry_over: values.exact(wash.carry_over),
            used: (wash.resin_now.is_some() || wash.uses_now.is_some()).then(|| {
                (values.whole_or_zero(wash.resin_now), values.whole_or_zero(wash.uses_now))
            }),
        }),
        BathKind::Dye(dye) => BathKindTable::Dye(dye.dye, DyeTable::new(dye, values)),
    };
    BathTable {
        solvent: bath.solvent,
        solvent_film: values.exact(bath.solvent_film),
        evaporates: values.exact(bath.evaporates),
        reuse_limit: bath.reuse_limit.map(|l| values.whole(l)),
        kind,
        assumed: rests_on.into_iter().any(|slot| scenario.slots.get(slot).assumed),
    }
}
