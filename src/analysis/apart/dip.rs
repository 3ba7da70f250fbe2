//! Dips: what to pour into each dye bath for each part, how high it stands before and with the pieces, and how that goes with the depth.
//!
//! Every figure follows from Archimedes' principle: what is poured, the pieces below the level and the displacers together fill the tub up
//! to the level.

use std::collections::{BTreeMap, BTreeSet};

use crate::model::{BathId, Exact, ItemId, Part, PartId, RouteId, Up};
use crate::plan::{BathKindTable, Dipped, DyeTable, PartTable, Shop};

/// Steps a table of depths aims at.
const STEPS: i64 = 10;
/// Halvings of the level that is looked for: ten metres come down to 10^-15 mm.
const HALVINGS: u32 = 64;

/// One part in one dye bath, standing one way.
#[derive(Clone, Debug)]
pub struct DipPlan {
    /// The bath.
    pub bath: BathId,
    /// The part.
    pub part: PartId,
    /// The axis that points up; never [`Up::Shortest`] where the box is known.
    pub up: Up,
    /// The routes that dip it so, in the order of their names.
    pub routes: Vec<RouteId>,
    /// True where one of them dips other parts in this bath too, so that a build may hold both.
    pub shares_build: bool,
    /// True where the immersed volume is an estimate: volume x immersed share of height.
    pub estimated: bool,
    /// Length, width and height as it stands, in mm; `None` where no box is known.
    pub stands: Option<[Exact; 3]>,
    /// The copies of one iteration together, then one piece alone where they are several.
    pub loads: Vec<DipLoad>,
    /// What other depths ask for, by depth; empty where the piece does not go into the tub at all.
    pub depths: Vec<DepthRow>,
}

/// Pieces that go in together.
#[derive(Clone, Debug)]
pub struct DipLoad {
    /// How many.
    pub copies: i64,
    /// What to pour, or why they cannot be dipped.
    pub pour: Result<Pour, String>,
}

/// What a dip asks for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Pour {
    /// Depth below the level of the pieces' lowest points, in mm.
    pub depth: Exact,
    /// Level above the floor with the pieces in, in mm.
    pub level: Exact,
    /// Level above the floor before they go in, in mm.
    pub before: Exact,
    /// From the level to the rim, in mm.
    pub free: Exact,
    /// What is poured, in mL.
    pub liquid: Exact,
    /// Solvent in it, in millionths of mL.
    pub solvent: i64,
    /// Dye in it, in millionths of mL.
    pub dye: i64,
    /// What the pieces displace, in mL.
    pub displaced: Exact,
    /// Wetted surface of the pieces in cm2.
    pub wetted: Exact,
    /// The pieces' boxes and the free area beside displacers at their underside, in cm2, where the boxes are the larger.
    pub crowded: Option<[Exact; 2]>,
}

/// What one depth asks for.
#[derive(Clone, Debug)]
pub struct DepthRow {
    /// How deep the pieces are immersed, in mm.
    pub depth: Exact,
    /// Level above the floor with the pieces in, in mm.
    pub level: Exact,
    /// True for the depth the bath states.
    pub planned: bool,
    /// True where the piece is just under.
    pub covered: bool,
    /// Solvent and dye in millionths of mL for each load, or why not.
    pub pours: Vec<Result<[i64; 2], Hindrance>>,
}

/// Why some depth cannot be used.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Hindrance {
    /// The level would be in the freeboard, or above the rim.
    TooHigh,
    /// A displacer is taller than the level.
    DisplacersStandOut,
    /// Less liquid than the stir room.
    TooLittle,
    /// The piece is wider than the tub.
    TooWide,
}

/// Everything that some route dips, by bath, then part, then pose.
pub fn dip_plans(shop: &Shop) -> Vec<DipPlan> {
    let mut found: BTreeMap<(BathId, PartId, usize, bool), BTreeSet<RouteId>> = BTreeMap::new();
    for (route, bath, up) in dips(shop) {
        for part in parts_of(shop, route) {
            let (axis, down) = pose(shop.part(part), up);
            found.entry((bath, part, axis, down)).or_default().insert(route);
        }
    }
    found
        .into_iter()
        .filter_map(|((bath, part, axis, down), routes)| {
            let BathKindTable::Dye(_, table) = &shop.bath(bath).kind else {
                return None;
            };
            let mut plan = dip_plan(table, shop.part(part), (bath, part), Up::Axis { axis, down });
            plan.estimated = is_estimate(shop.scenario.part(part));
            plan.shares_build = routes.iter().any(|&r| parts_of(shop, r).nth(1).is_some());
            plan.routes = routes.into_iter().collect();
            Some(plan)
        })
        .collect()
}

/// Every use of a dye bath by a step of a route.
fn dips<'s>(shop: &'s Shop) -> impl Iterator<Item = (RouteId, BathId, Up)> + 's {
    let routes = (0..shop.routes.len()).map(RouteId::at);
    routes.flat_map(|route| {
        let uses = shop.route(route).steps.iter().filter_map(|step| step.bath);
        uses.filter(|&(bath, _)| matches!(shop.bath(bath).kind, BathKindTable::Dye(..)))
            .map(move |(bath, up)| (route, bath, up))
    })
}

fn parts_of<'s>(shop: &'s Shop, route: RouteId) -> impl Iterator<Item = PartId> + 's {
    let parts = (0..shop.parts.len()).map(PartId::at);
    parts.filter(move |&part| shop.scenario.route(route).is_for(part))
}

/// The axis that points up, and whether it points down instead. Where no box is known, "shortest" is left at z.
fn pose(part: &PartTable, up: Up) -> (usize, bool) {
    match up {
        Up::Axis { axis, down } => (axis, down),
        Up::Shortest => (part.size.map_or(2, |size| up.axis(size)), false),
    }
}

/// True where the volume below a level is not measured but a share of the whole.
fn is_estimate(part: &Part) -> bool {
    part.mesh.is_none()
}

fn dip_plan(table: &DyeTable, part: &PartTable, ids: (BathId, PartId), up: Up) -> DipPlan {
    let counts = if part.copies > 1 { vec![part.copies, 1] } else { vec![part.copies] };
    let loads = counts
        .iter()
        .map(|&copies| DipLoad { copies, pour: pour(table, Dipped { part, copies }, up) })
        .collect();
    DipPlan {
        bath: ids.0,
        part: ids.1,
        up,
        routes: Vec::new(),
        shares_build: false,
        estimated: true,
        stands: part.stand(up).map(|s| s.map(Exact::from_millionths)),
        loads,
        depths: unknown(part).map_or_else(|| depth_rows(table, part, &counts, up), |_| Vec::new()),
    }
}

/// What must be known of a part and is not.
fn unknown(part: &PartTable) -> Option<String> {
    let what = match (part.size, part.volume) {
        (None, _) => "box: its height is not known",
        (_, 0) => "volume: what it displaces is not known",
        _ => return None,
    };
    Some(format!("no mesh and no {what}"))
}

/// What dipping pieces asks for, or in words why they cannot be dipped.
pub fn pour(table: &DyeTable, pieces: Dipped, up: Up) -> Result<Pour, String> {
    let list = [pieces];
    if let Some(why) = unknown(pieces.part).or_else(|| table.obstacle(&list, up)) {
        return Err(why);
    }
    let dip = table.dip(&list, up);
    let displaced = table.tub.volume(dip.level) - table.displacers - dip.liquid;
    Ok(Pour {
        depth: dip.level - table.raise,
        level: dip.level,
        before: level_before(table, dip.liquid, dip.level),
        free: table.tub.depth - dip.level,
        liquid: dip.liquid,
        solvent: dip.solvent,
        dye: dip.dye,
        displaced,
        wetted: dip.wetted,
        crowded: table.crowded(&[pieces], up),
    })
}

/// The level at which tub less displacers hold a liquid, looked for by halving below a level that holds at least as much.
///
/// Displacers are taken to have straight sides: up to their height they take room in proportion.
fn level_before(table: &DyeTable, liquid: Exact, top: Exact) -> Exact {
    let two = Exact::from(2i64);
    let (mut low, mut high) = (Exact::ZERO, top);
    for _ in 0..HALVINGS {
        let middle = (low + high) / two;
        if table.tub.volume(middle) - displacers_below(table, middle) < liquid {
            low = middle;
        } else {
            high = middle;
        }
    }
    high.half_away(6)
}

fn displacers_below(table: &DyeTable, level: Exact) -> Exact {
    if level < table.displacer_height {
        table.displacers * level / table.displacer_height
    } else {
        table.displacers
    }
}

/// Depths in steps a ruler shows, with the piece's height, the bath's own depth and full with cover among them.
fn depth_rows(table: &DyeTable, part: &PartTable, counts: &[i64], up: Up) -> Vec<DepthRow> {
    let height = part.stand(up).map_or(Exact::ZERO, |s| Exact::from_millionths(s[2]));
    let planned = table.depth.unwrap_or(height + table.cover);
    let top = planned.max(height + table.cover);
    let step = ruler_step(top);
    let mut depths: Vec<Exact> = (1..STEPS).map(|n| step * Exact::from(n)).collect();
    depths.retain(|&depth| depth < top);
    depths.extend([height, planned, top]);
    depths.sort_unstable();
    depths.dedup();
    let row = |depth: Exact| {
        let at = DyeTable { depth: Some(depth), ..*table };
        let of = |&copies: &i64| depth_pour(&at, Dipped { part, copies }, up);
        DepthRow {
            depth,
            level: table.raise + depth,
            planned: depth == planned,
            covered: depth == height,
            pours: counts.iter().map(of).collect(),
        }
    };
    let rows: Vec<DepthRow> = depths.into_iter().filter(|d| *d > Exact::ZERO).map(row).collect();
    let too_wide = |row: &DepthRow| row.pours.contains(&Err(Hindrance::TooWide));
    if rows.iter().any(too_wide) { Vec::new() } else { rows }
}

/// The least step of 1, 1.5, 2, 2.5, 3, 4, 5, 6 or 8 times a power of ten that takes at most ten steps to a depth.
fn ruler_step(top: Exact) -> Exact {
    let least = top / Exact::from(STEPS);
    let (ten, fine) = (Exact::from(10i64), Exact::from_millionths(1_000));
    let powers = std::iter::successors(Some(fine), |p| Some(*p * ten)).take(8);
    let mut steps = powers.flat_map(|power| {
        [10i64, 15, 20, 25, 30, 40, 50, 60, 80].map(|tenths| power * Exact::from(tenths) / ten)
    });
    steps.find(|step| *step >= least).unwrap_or(least)
}

fn depth_pour(table: &DyeTable, pieces: Dipped, up: Up) -> Result<[i64; 2], Hindrance> {
    let list = [pieces];
    let dip = table.dip(&list, up);
    if table.obstacle(&list, up).is_none() {
        return Ok([dip.solvent, dip.dye]);
    }
    Err(if dip.level > table.tub.depth - table.freeboard {
        Hindrance::TooHigh
    } else if table.displacer_height > dip.level {
        Hindrance::DisplacersStandOut
    } else if dip.liquid < table.stir_room || dip.liquid <= Exact::ZERO {
        Hindrance::TooLittle
    } else {
        Hindrance::TooWide
    })
}

/// Grams of so many millionths of mL of an item; `None` where its density is not known.
pub fn grams(shop: &Shop, item: ItemId, millionths: i64) -> Option<Exact> {
    let density = shop.scenario.items[item.index()].density?;
    Some(Exact::from_millionths(millionths) * shop.values.exact(density))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::e;
    use crate::plan::TubTable;

    /// A tub with straight walls, 100 x 50 mm and 80 mm deep: 5 mL a millimetre.
    fn straight() -> DyeTable {
        let sides = [e("100"), e("50")];
        DyeTable {
            tub: TubTable { bottom: sides, top: sides, depth: e("80"), round: false },
            dye_share: e("0.25"),
            displacers: Exact::ZERO,
            displacer_height: Exact::ZERO,
            raise: e("4"),
            depth: None,
            cover: e("6"),
            freeboard: e("10"),
            stir_room: e("20"),
            keeps: None,
        }
    }

    /// A part of 40 mL and 90 cm2 in a box of 60 x 40 x 30 mm.
    fn part(copies: i64) -> PartTable<'static> {
        PartTable {
            copies,
            volume: 40_000_000,
            area: 90_000_000,
            size: Some([60_000_000, 40_000_000, 30_000_000]),
            count: None,
            mesh: None,
            key: crate::plan::Key::new(0),
        }
    }

    fn one(table: &DyeTable) -> Result<Pour, String> {
        pour(table, Dipped { part: &part(1), copies: 1 }, Up::Z)
    }

    #[test]
    fn straight_walls_by_hand() {
        // Level 4 + 30 + 6 = 40 mm: 200 mL, of which the piece takes 40 mL. 160 mL alone stand 160 / 5 = 32 mm high.
        let pour = one(&straight()).expect("it can be dipped");
        assert_eq!((pour.level, pour.before, pour.free), (e("40"), e("32"), e("40")));
        assert_eq!((pour.liquid, pour.displaced, pour.wetted), (e("160"), e("40"), e("90")));
        // 160 mL with a quarter of dye to the solvent: 128 and 32.
        assert_eq!((pour.solvent, pour.dye), (128_000_000, 32_000_000));
    }

    #[test]
    fn what_is_poured_and_what_is_displaced_fill_the_tub_up_to_the_level() {
        // Archimedes, On Floating Bodies I, proposition 5 and after: a body displaces as much as is below the level.
        let round =
            TubTable { bottom: [e("97"); 2], top: [e("121"); 2], depth: e("90"), round: true };
        let draft = TubTable {
            bottom: [e("103"), e("71")],
            top: [e("131"), e("88")],
            depth: e("77"),
            round: false,
        };
        for tub in [round, draft] {
            for depth in [None, Some(e("11")), Some(e("29.9")), Some(e("33"))] {
                let table = DyeTable {
                    tub,
                    depth,
                    displacers: e("12.5"),
                    displacer_height: e("9"),
                    stir_room: Exact::ZERO,
                    ..straight()
                };
                let pour = one(&table).expect("it can be dipped");
                let share = ((pour.level - table.raise) / e("30")).min(Exact::ONE);
                assert_eq!(pour.displaced.half_away(9), (e("40") * share).half_away(9));
                let filled = pour.liquid + pour.displaced + table.displacers;
                assert_eq!(filled.half_away(9), tub.volume(pour.level).half_away(9));
                // The same liquid without the piece stands at the level before.
                let alone = tub.volume(pour.before) - displacers_below(&table, pour.before);
                let off = (alone - pour.liquid).abs();
                assert!(off < e("0.00002"), "{off} mL off at {depth:?}");
                assert!(pour.before < pour.level);
                let poured = Exact::from_millionths(pour.solvent + pour.dye);
                assert!((poured - pour.liquid).abs() <= e("0.000001"));
            }
        }
    }

    #[test]
    fn displacers_that_stand_out_before_take_only_what_is_below() {
        // 100 mL of displacers 40 mm tall, 2.5 mL a millimetre of the tub's 5: 60 mL stand 24 mm high before.
        let table = DyeTable { displacers: e("100"), displacer_height: e("40"), ..straight() };
        let pour = one(&table).expect("it can be dipped");
        assert_eq!((pour.liquid, pour.before), (e("60"), e("24")));
    }

    #[test]
    fn each_obstacle_is_named() {
        let high = DyeTable { cover: e("50"), ..straight() };
        assert!(one(&high).expect_err("too high").contains("14 mm more than the 70 mm"));
        let narrow = TubTable { bottom: [e("100"), e("30")], ..straight().tub };
        let narrow = DyeTable { tub: narrow, ..straight() };
        assert!(one(&narrow).expect_err("too wide").contains("wide at its underside"));
        let little = DyeTable { stir_room: e("170"), ..straight() };
        assert!(one(&little).expect_err("too little").contains("10 mL less than the stir room"));
        let flat = PartTable { size: None, ..part(1) };
        let pieces = Dipped { part: &flat, copies: 1 };
        assert!(pour(&straight(), pieces, Up::Z).expect_err("no box").contains("no box"));
    }

    #[test]
    fn pieces_that_cannot_lie_side_by_side_are_told() {
        // Three footprints of 24 cm2 are 72 cm2; the tub has 50.
        let three = part(3);
        let pieces = Dipped { part: &three, copies: 3 };
        let pour = pour(&straight(), pieces, Up::Z).expect("by volume it can be dipped");
        assert_eq!(pour.crowded, Some([e("72"), e("50")]));
        assert_eq!(one(&straight()).expect("one can").crowded, None);
    }

    #[test]
    fn depths_rise_in_steps_of_a_ruler_and_end_at_full_with_cover() {
        let ids = (BathId(0), PartId(0));
        let plan = dip_plan(&straight(), &part(2), ids, Up::Z);
        let depths: Vec<String> = plan.depths.iter().map(|r| r.depth.to_string()).collect();
        assert_eq!(depths, ["4", "8", "12", "16", "20", "24", "28", "30", "32", "36"]);
        let marks = |of: fn(&DepthRow) -> bool| plan.depths.iter().position(of);
        assert_eq!((marks(|r| r.covered), marks(|r| r.planned)), (Some(7), Some(9)));
        assert_eq!(plan.loads.iter().map(|l| l.copies).collect::<Vec<_>>(), [2, 1]);
        // 16 mm deep: 20 mm x 5 mL less 2 x 40 x 16/30 mL = 57.33 mL, four fifths of it solvent.
        assert_eq!(plan.depths[3].pours[0], Ok([45_866_667, 11_466_667]));
        // 4 mm deep: 40 mL less 2 x 40 x 4/30 is 29.33 mL for two; all are above the stir room of 20 mL.
        assert!(plan.depths.iter().all(|r| r.pours.iter().all(Result::is_ok)));
    }

    #[test]
    fn a_depth_that_cannot_be_used_says_why() {
        let ids = (BathId(0), PartId(0));
        let table = DyeTable { freeboard: e("45"), stir_room: e("50"), ..straight() };
        let rows = dip_plan(&table, &part(1), ids, Up::Z).depths;
        assert_eq!(rows[0].pours, [Err(Hindrance::TooLittle)]);
        assert_eq!(rows.last().expect("a row").pours, [Err(Hindrance::TooHigh)]);
        let tall = DyeTable { displacers: e("1"), displacer_height: e("10"), ..straight() };
        let rows = dip_plan(&tall, &part(1), ids, Up::Z).depths;
        assert_eq!(rows[0].pours, [Err(Hindrance::DisplacersStandOut)]);
        let narrow = TubTable { bottom: [e("100"), e("30")], ..straight().tub };
        let narrow = DyeTable { tub: narrow, ..straight() };
        assert!(dip_plan(&narrow, &part(1), ids, Up::Z).depths.is_empty());
    }

    #[test]
    fn steps_are_round() {
        let steps = ["39", "7.5", "100", "101", "0.9", "1500"].map(|top| ruler_step(e(top)));
        assert_eq!(steps.map(|s| s.to_string()), ["4", "0.8", "10", "15", "0.1", "150"]);
    }
}
