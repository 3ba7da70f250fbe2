//! Dipping: how much liquid a tub holds up to a level, and what a dip of given pieces needs.

use super::{PartTable, Values};
use crate::model::{Depth, Dye, Exact, Tub, Up};

/// A tub in numbers, mm.
#[derive(Clone, Copy, Debug)]
pub struct TubTable {
    /// Length and width, or the diameter twice, at the floor.
    pub bottom: [Exact; 2],
    /// The same at the rim.
    pub top: [Exact; 2],
    /// Floor to rim.
    pub depth: Exact,
    /// True for a round tub.
    pub round: bool,
}

/// No tub holds more, in millionths of mL (1,000 m3).
const MOST: i64 = 1_000_000_000_000_000;

/// pi, to the digits a decimal holds.
const PI: &str = "3.1415926535897932384626433833";

/// pi / 4.
fn quarter_pi() -> Exact {
    let pi: rust_decimal::Decimal = PI.parse().unwrap_or_default();
    Exact::from(pi) / Exact::from(4i64)
}

impl TubTable {
    /// The numbers of a tub.
    pub fn new(tub: Tub, values: &Values) -> TubTable {
        let both = |s: [crate::model::Slot; 2]| s.map(|slot| values.exact(slot));
        match tub {
            Tub::Box { bottom, top, depth } => TubTable {
                bottom: both(bottom),
                top: both(top),
                depth: values.exact(depth),
                round: false,
            },
            Tub::Round { bottom, top, depth } => TubTable {
                bottom: both([bottom; 2]),
                top: both([top; 2]),
                depth: values.exact(depth),
                round: true,
            },
        }
    }

    /// Length and width (or the diameter twice) at a height above the floor.
    pub fn inside(&self, z: Exact) -> [Exact; 2] {
        [0, 1].map(|i| self.bottom[i] + (self.top[i] - self.bottom[i]) * z / self.depth)
    }

    /// The cross-section at a height above the floor, in mm2.
    pub fn area(&self, z: Exact) -> Exact {
        let [a, b] = self.inside(z);
        if self.round { a * b * quarter_pi() } else { a * b }
    }

    /// Volume up to a level, in mL: the prismoidal rule, z/6 x (area at the floor + 4 x area half way + area at the level), which is exact for
    /// a box with draft and for a conical frustum, whose cross-sections are quadratic in z.
    pub fn volume(&self, z: Exact) -> Exact {
        let half = z / Exact::from(2i64);
        let four = Exact::from(4i64);
        let areas = self.area(Exact::ZERO) + four * self.area(half) + self.area(z);
        z * areas / Exact::from(6000i64)
    }
}

/// Pieces that are dipped together: how each stands, and how many.
#[derive(Clone, Copy, Debug)]
pub struct Dipped<'t> {
    /// The part's numbers.
    pub part: &'t PartTable<'t>,
    /// How many.
    pub copies: i64,
}

/// What a dip needs.
#[derive(Clone, Copy, Debug)]
pub struct Dip {
    /// Level above the floor with the pieces in, in mm.
    pub level: Exact,
    /// Liquid up to that level, pieces and displacers left out, in mL.
    pub liquid: Exact,
    /// Solvent in it, in millionths of mL.
    pub solvent: i64,
    /// Dye in it, in millionths of mL.
    pub dye: i64,
    /// Wetted surface of the pieces in cm2.
    pub wetted: Exact,
}

/// A dye bath in numbers.
#[derive(Clone, Copy, Debug)]
pub struct DyeTable {
    /// The tub.
    pub tub: TubTable,
    /// mL of dye per mL of solvent.
    pub dye_share: Exact,
    /// mL of what stands in the tub.
    pub displacers: Exact,
    /// Height of the tallest of it, in mm.
    pub displacer_height: Exact,
    /// Height of the pieces above the floor, in mm.
    pub raise: Exact,
    /// How deep, in mm; `None` for wholly.
    pub depth: Option<Exact>,
    /// Liquid above the tallest piece, in mm.
    pub cover: Exact,
    /// Free height under the rim, in mm.
    pub freeboard: Exact,
    /// Least liquid in mL.
    pub stir_room: Exact,
    /// Seconds a fill keeps.
    pub keeps: Option<i64>,
}

impl DyeTable {
    /// The numbers of a dye bath.
    pub fn new(dye: &Dye, values: &Values) -> DyeTable {
        DyeTable {
            tub: TubTable::new(dye.tub, values),
            dye_share: values.exact(dye.dye_share),
            displacers: values.exact_or_zero(dye.displacers),
            displacer_height: values.exact_or_zero(dye.displacer_height),
            raise: values.exact_or_zero(dye.raise),
            depth: match dye.depth {
                Depth::Full => None,
                Depth::To(slot) => Some(values.exact(slot)),
            },
            cover: values.exact_or_zero(dye.cover),
            freeboard: values.exact_or_zero(dye.freeboard),
            stir_room: values.exact_or_zero(dye.stir_room),
            keeps: dye.keeps.map(|k| values.whole(k)),
        }
    }

    /// What dipping some pieces together needs. The level is raise + depth, or raise + tallest piece + cover.
    pub fn dip(&self, pieces: &[Dipped], up: Up) -> Dip {
        let height = |p: &Dipped| Exact::from_millionths(p.part.stand(up).map_or(0, |s| s[2]));
        let tallest = pieces.iter().map(height).max().unwrap_or(Exact::ZERO);
        let level = self.raise + self.depth.unwrap_or(tallest + self.cover);
        let (mut below, mut wetted) = (Exact::ZERO, Exact::ZERO);
        for piece in pieces {
            let share = self.immersed(height(piece));
            let copies = Exact::from(piece.copies);
            below = below + copies * self.displaced(piece.part, up, share);
            wetted = wetted + copies * Exact::from_millionths(piece.part.area) * share;
        }
        let liquid = self.tub.volume(level) - below - self.displacers;
        let solvent = liquid / (Exact::ONE + self.dye_share);
        Dip {
            level,
            liquid,
            solvent: solvent.to_millionths().clamp(0, MOST),
            dye: (self.dye_share * solvent).to_millionths().clamp(0, MOST),
            wetted,
        }
    }

    /// What a piece takes of the room below the level, in mL: exact where its mesh is known and it is not wholly immersed, else its
    /// volume x the immersed share of its height.
    fn displaced(&self, part: &PartTable, up: Up, share: Exact) -> Exact {
        let whole = Exact::from_millionths(part.volume);
        let Some(((solid, size), depth)) = part.mesh.zip(part.size).zip(self.depth) else {
            return whole * share;
        };
        if share == Exact::ONE {
            return whole;
        }
        let down = matches!(up, Up::Axis { down: true, .. });
        solid.below_of(part.volume, (up.axis(size), down), depth)
    }

    /// Share of a piece's height that is immersed.
    fn immersed(&self, height: Exact) -> Exact {
        match self.depth {
            Some(depth) if depth < height => depth / height,
            _ => Exact::ONE,
        }
    }

    /// The area of the pieces' boxes and what is free for them beside displacers at their underside, both in cm2, where the boxes are the
    /// larger. Displacers are taken to have straight sides; pieces without a box are left out.
    pub fn crowded(&self, pieces: &[Dipped], up: Up) -> Option<[Exact; 2]> {
        let taken = if self.raise < self.displacer_height {
            Exact::from(1_000i64) * self.displacers / self.displacer_height
        } else {
            Exact::ZERO
        };
        let area = |p: &Dipped| {
            let [length, width, _] = p.part.stand(up)?.map(Exact::from_millionths);
            Some(Exact::from(p.copies) * length * width)
        };
        let boxes: Exact = pieces.iter().filter_map(area).sum();
        let free = self.tub.area(self.raise) - taken;
        let hundred = Exact::from(100i64);
        (boxes > free).then(|| [boxes / hundred, free / hundred])
    }

    /// Why some pieces cannot be dipped together, with the excess; `None` where they can.
    pub fn obstacle(&self, pieces: &[Dipped], up: Up) -> Option<String> {
        let dip = self.dip(pieces, up);
        let rim = self.tub.depth - self.freeboard;
        if dip.level > rim {
            return Some(over("the level would be", dip.level, rim, "above the floor"));
        }
        let inside = self.tub.inside(self.raise);
        let widest = pieces
            .iter()
            .filter_map(|p| p.part.stand(up))
            .find_map(|s| wider(s, inside, self.tub.round));
        if let Some((have, limit)) = widest {
            return Some(over("the piece is", have, limit, "wide at its underside"));
        }
        if self.displacer_height > dip.level {
            return Some(over(
                "a displacer is",
                self.displacer_height,
                dip.level,
                "tall, the level is lower",
            ));
        }
        (dip.liquid < self.stir_room || dip.liquid <= Exact::ZERO).then(|| {
            let short = (self.stir_room - dip.liquid).half_away(1);
            format!(
                "{} mL of liquid beside the pieces, {short} mL less than the stir room",
                dip.liquid.half_away(1)
            )
        })
    }
}

fn over(what: &str, have: Exact, limit: Exact, how: &str) -> String {
    let mm = |v: Exact| v.half_away(2);
    format!(
        "{what} {} mm {how}, {} mm more than the {} mm there are",
        mm(have),
        mm(have - limit),
        mm(limit)
    )
}

/// The side (or diagonal) that is too long for the inside of a tub, with its limit.
fn wider(size: [i64; 3], inside: [Exact; 2], round: bool) -> Option<(Exact, Exact)> {
    let [x, y] = [size[0], size[1]].map(Exact::from_millionths);
    if round {
        // Compared as squares: the diagonal itself is only for the message.
        let square = x * x + y * y;
        return (square > inside[0] * inside[0]).then(|| (root(square), inside[0]));
    }
    let (short, long) = (x.min(y), x.max(y));
    let (narrow, wide) = (inside[0].min(inside[1]), inside[0].max(inside[1]));
    if long > wide { Some((long, wide)) } else { (short > narrow).then_some((short, narrow)) }
}

/// A square root for a message.
fn root(square: Exact) -> Exact {
    let root = square.to_f64_lossy().sqrt();
    rust_decimal::Decimal::try_from(root).map_or(square, Exact::from)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::e;

    fn tub(bottom: [&str; 2], top: [&str; 2], depth: &str, round: bool) -> TubTable {
        TubTable { bottom: bottom.map(e), top: top.map(e), depth: e(depth), round }
    }

    #[test]
    fn a_truncated_pyramid_is_the_published_one() {
        // Moscow Mathematical Papyrus, problem 14: height 6, sides 4 and 2, volume 56 (here in cm: mm and mL).
        let papyrus = tub(["40", "40"], ["20", "20"], "60", false);
        assert_eq!(papyrus.volume(e("60")), e("56"));
    }

    #[test]
    fn a_round_tub_is_a_conical_frustum() {
        // V = pi h / 3 (R^2 + R r + r^2) with R = 3, r = 1, h = 4: 52 pi / 3 = 54.4542727 (formula read at subjectcoach.com).
        let cone = tub(["60", "60"], ["20", "20"], "40", true);
        assert_eq!(cone.volume(e("40")).half_away(7), e("54.4542727"));
    }

    /// A part whose mesh is a wedge, dipped into a tub with straight walls of 100 x 50 mm.
    const WEDGE: &str = r#"
currency = "USD"
[iterations]
planned = 3
[[part]]
name = "vane"
mesh = "vane.obj"
[[bath]]
name = "tub"
kind = "dye"
solvent = "spirit"
dye = "blue"
dye_share = 1
depth = DEPTH
tub = { shape = "box", bottom = "100 x 50 mm", top = "100 x 50 mm", depth = "80 mm" }
[[route]]
name = "bench"
kind = "bench"
printer = "printer"
print_time = "2 h"
resin = "120 per L"
steps = [
  { do = "print", attended = "5 min" },
  { do = "dye", bath = "tub", attended = "5 min", pose = POSE },
]
"#;

    #[test]
    fn a_dip_takes_what_the_mesh_has_below_the_level() {
        // A wedge 60 x 40 mm at its base, its edge along y 30 mm up above x = 0: 36 mL. 15 mm deep on its base, a quarter is above: 27 mL
        // below. On its edge a quarter is below: 9 mL. On a side of 40 x 30 mm (x up, shortest is z) 15 of 60 mm: 36 (1 - 9/16) = 15.75 mL.
        // The tub holds 75 mL up to 15 mm, 150 mL up to 30.
        let wedge = "v 0 0 0\nv 60 0 0\nv 0 40 0\nv 60 40 0\nv 0 0 30\nv 0 40 30\n\
                     f 1 3 4\nf 1 4 2\nf 1 5 6\nf 1 6 3\nf 2 4 6\nf 2 6 5\nf 1 2 5\nf 3 6 4\n";
        for (pose, depth, liquid, half) in [
            ("z", "15 mm", "48", true),
            ("-z", "15 mm", "66", true),
            ("shortest", "15 mm", "48", true),
            ("x", "15 mm", "59.25", false),
            ("z", "full", "114", false),
            ("z", "30 mm", "114", false),
        ] {
            let folder = tempfile::tempdir().expect("a folder");
            let quoted = |text: &str| format!("\"{text}\"");
            let text = WEDGE.replace("POSE", &quoted(pose)).replace("DEPTH", &quoted(depth));
            std::fs::write(folder.path().join("scenario.toml"), text).expect("written");
            std::fs::write(folder.path().join("vane.obj"), wedge).expect("written");
            let loaded = crate::model::load(folder.path(), &crate::model::Overrides::default());
            let scenario = loaded.scenario.expect("nothing is wrong with it");
            let values = Values::planning(&scenario.slots);
            let shop = crate::plan::Shop::new(&scenario, &values);
            let (id, up) = shop.routes[0].steps[1].bath.expect("the dye bath");
            let crate::plan::BathKindTable::Dye(_, table) = &shop.bath(id).kind else {
                unreachable!("the only bath is a dye bath");
            };
            let part = &shop.parts[0];
            let dip = table.dip(&[Dipped { part, copies: 1 }], up);
            assert_eq!(dip.liquid, e(liquid), "{pose} {depth}");
            assert_eq!(dip.solvent + dip.dye, e(liquid).to_millionths());
            if half {
                // Drag-out goes by the share of the height.
                assert_eq!(dip.wetted, Exact::from_millionths(part.area) / Exact::from(2i64));
            }
        }
    }

    #[test]
    fn half_a_box_with_draft_by_hand() {
        // 190 x 120 mm at the floor, 206 x 136 at the rim 110 mm up; at 55 mm it is 198 x 128.
        let tub = tub(["190", "120"], ["206", "136"], "110", false);
        assert_eq!(tub.inside(e("55")), [e("198"), e("128")]);
        // 55/6 x (22800 + 4 x 194 x 124 + 25344) mm3 = 1323.3733.. mL
        assert_eq!(tub.volume(e("55")).half_away(4), e("1323.3733"));
    }
}
