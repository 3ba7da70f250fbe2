//! Solids: the closed mesh of a part with the length of its unit goes in; the share of it below a level comes out.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use rust_decimal::Decimal;

use super::{Exact, MILLION};
use crate::mesh::{Mesh, Posed, Up};

/// How many levels are remembered: more than a table of depths asks for, few enough not to matter.
const MOST_LEVELS: usize = 4_096;

/// The level below which a volume was asked for: axis, direction, depth in mm bit for bit.
type Level = (usize, bool, u64);

/// A mesh that encloses a trusted volume, for dips.
///
/// A project dips the same piece equally deep many times over, and clipping a large mesh takes milliseconds: what was found below a
/// level is remembered. It depends on nothing but the level, so neither the order of asking nor the number of threads can matter.
#[derive(Clone, Debug)]
pub struct Solid {
    mesh: Arc<Mesh>,
    unit_mm: f64,
    /// Volume in millionths of mL.
    whole: i64,
    below: Arc<Mutex<BTreeMap<Level, i64>>>,
}

impl Solid {
    /// A mesh of which one file unit is so many mm, with its volume in mL.
    pub fn new(mesh: Arc<Mesh>, unit_mm: f64, volume: Exact) -> Solid {
        Solid { mesh, unit_mm, whole: volume.to_millionths(), below: Arc::default() }
    }

    /// The mesh, in its file's unit.
    pub fn mesh(&self) -> &Mesh {
        &self.mesh
    }

    /// What one unit of the mesh is in mm.
    pub fn unit_mm(&self) -> f64 {
        self.unit_mm
    }

    /// Volume in millionths of mL.
    pub fn volume(&self) -> i64 {
        self.whole
    }

    /// Volume below a level `depth` mm above the lowest point, in millionths of mL, with an axis (0 is x) pointing up, or `down`.
    pub fn below(&self, axis: usize, down: bool, depth: Exact) -> i64 {
        let depth = depth.to_f64_lossy();
        let level = (axis, down, depth.to_bits());
        // What a panic elsewhere left behind is still a list of finished figures.
        let known = self.below.lock().unwrap_or_else(PoisonError::into_inner).get(&level).copied();
        if let Some(known) = known {
            return known;
        }
        let posed = Posed::new(&self.mesh, pose(axis, down));
        let volume = millilitres(posed.immersed(depth / self.unit_mm).volume, self.unit_mm);
        let found = volume.map_or(0, Exact::to_millionths).clamp(0, self.whole);
        let mut below = self.below.lock().unwrap_or_else(PoisonError::into_inner);
        if below.len() < MOST_LEVELS {
            below.insert(level, found);
        }
        found
    }

    /// The same of a piece whose volume is taken to be `volume` millionths of mL, in mL: what is below goes with it.
    pub fn below_of(&self, volume: i64, (axis, down): (usize, bool), depth: Exact) -> Exact {
        let below = Exact::from_millionths(self.below(axis, down, depth));
        if volume == self.whole || self.whole == 0 {
            return below;
        }
        below * Exact::from(volume) / Exact::from(self.whole)
    }
}

fn pose(axis: usize, down: bool) -> Up {
    match (axis, down) {
        (0, false) => Up::PlusX,
        (0, true) => Up::MinusX,
        (1, false) => Up::PlusY,
        (1, true) => Up::MinusY,
        (_, false) => Up::PlusZ,
        (_, true) => Up::MinusZ,
    }
}

/// A volume in cubic file units as mL, rounded to millionths; `None` where it does not fit a decimal.
pub(super) fn millilitres(volume: f64, unit_mm: f64) -> Option<Exact> {
    millionths(volume * (unit_mm * unit_mm * unit_mm) / 1_000.0)
}

/// A float rounded to whole millionths, half away from zero; `None` where it is no number or has no room.
pub(super) fn millionths(value: f64) -> Option<Exact> {
    let decimal = Decimal::from_f64_retain(value)?;
    let most = Decimal::from(i64::MAX / MILLION);
    (decimal.abs() < most).then(|| Exact::from(decimal).half_away(6))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mesh::{Point, Welder};
    use crate::model::e;

    /// A wedge with a right angle: 30 long (x), 20 wide (y), its vertical side 12 tall (z) at x = 0 and no height at x = 30; moved away
    /// from the origin.
    fn wedge() -> Arc<Mesh> {
        let at = |x: f64, y: f64, z: f64| -> Point { [x + 7.0, y - 40.0, z + 3.0] };
        let (a, b, c) = (at(0.0, 0.0, 0.0), at(30.0, 0.0, 0.0), at(0.0, 0.0, 12.0));
        let (d, f, g) = (at(0.0, 20.0, 0.0), at(30.0, 20.0, 0.0), at(0.0, 20.0, 12.0));
        let faces = [
            [a, b, c],
            [d, g, f],
            [a, d, f],
            [a, f, b],
            [b, f, g],
            [b, g, c],
            [a, c, g],
            [a, g, d],
        ];
        let mut welder = Welder::default();
        for face in faces {
            welder.add(&face).expect("finite corners");
        }
        Arc::new(welder.finish().expect("eight triangles"))
    }

    #[test]
    fn a_wedge_below_a_level_by_hand() {
        // 30 x 12 / 2 x 20 = 3,600 mm3 = 3.6 mL. Standing on its base, up to a height h what is missing above is a similar wedge:
        // 3.6 (1 - (1 - h/12)^2). On its edge (z down), the similar wedge is below: 3.6 (h/12)^2. Upright on its vertical side (x up):
        // 3.6 (1 - (1 - h/30)^2). On a triangle (y): in proportion.
        let solid = Solid::new(wedge(), 1.0, e("3.6"));
        let found = |axis, down, depth: &str| solid.below(axis, down, e(depth));
        assert_eq!(found(2, false, "6"), 2_700_000);
        assert_eq!(found(2, true, "6"), 900_000);
        assert_eq!(found(2, true, "3"), 225_000);
        assert_eq!(found(0, false, "15"), 2_700_000);
        assert_eq!(found(0, true, "15"), 900_000);
        assert_eq!(found(1, false, "5"), 900_000);
        assert_eq!(found(1, true, "5"), 900_000);
        assert_eq!((found(2, false, "12"), found(2, false, "0")), (3_600_000, 0));
        // Asked again, what is remembered comes out.
        assert_eq!(found(2, true, "3"), 225_000);
    }

    #[test]
    fn a_unit_scales_depth_and_volume() {
        // The same numbers in inches: 3,600 in3 = 3,600 x 16.387064 mL; half way up three quarters of it.
        let solid = Solid::new(wedge(), 25.4, e("58993.4304"));
        assert_eq!(solid.below(2, false, e("152.4")), 44_245_072_800);
    }

    #[test]
    fn a_piece_taken_to_be_larger_has_more_below() {
        let solid = Solid::new(wedge(), 1.0, e("3.6"));
        assert_eq!(solid.below_of(3_600_000, (2, true), e("6")), e("0.9"));
        assert_eq!(solid.below_of(7_200_000, (2, true), e("6")), e("1.8"));
    }
}
