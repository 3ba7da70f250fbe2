//! Immersion: a closed mesh, a pose and a depth go in; the volume and the area below the level come out.
//!
//! Below the level plane z = h the volume of a closed surface is the sum, over its triangles clipped by the plane, of their signed
//! projected area times their mean z - h: the divergence theorem (Gauss) for the field (0, 0, z - h), which vanishes on the level
//! itself, so the cut needs no cap. The same sum without z - h is the cut's own area with a minus sign, which is also the rate at
//! which the volume grows with depth.

use super::sums::{CHUNK, Compensated, cross, dot, minus};
use super::{Mesh, Point, Triangle, Up};

/// What lies below a level, in file units.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Immersed {
    /// Volume below the level.
    pub volume: f64,
    /// Area of the mesh's surface below the level (without the cut).
    pub area: f64,
    /// Area of the cut at the level.
    pub cut: f64,
}

/// A closed mesh that stands in a pose, its lowest point at height 0.
///
/// The figures are right for meshes that [`super::check`] trusts; a mesh turned inside out as a whole is turned back.
#[derive(Clone, Debug)]
pub struct Posed<'a> {
    mesh: &'a Mesh,
    up: Up,
    /// What is subtracted from a turned corner: the middle of the box in plan, its bottom in height.
    origin: Point,
    height: f64,
    whole: Immersed,
    sign: f64,
}

impl<'a> Posed<'a> {
    /// Stands a mesh with the given axis up.
    pub fn new(mesh: &'a Mesh, up: Up) -> Self {
        let bounds = up.turn_bounds(&mesh.bounds());
        let [x, y, height] = bounds.size();
        let [left, front, bottom] = bounds.min;
        let mut posed = Self {
            mesh,
            up,
            origin: [left + x / 2.0, front + y / 2.0, bottom],
            height,
            whole: Immersed { volume: 0.0, area: 0.0, cut: 0.0 },
            sign: 1.0,
        };
        posed.whole = posed.sum(height);
        if posed.whole.volume < 0.0 {
            posed.sign = -1.0;
            posed.whole.volume = -posed.whole.volume;
        }
        posed.whole.cut = 0.0;
        posed
    }

    /// Height of the mesh in its pose.
    pub fn height(&self) -> f64 {
        self.height
    }

    /// Volume and area of the whole mesh.
    pub fn whole(&self) -> Immersed {
        self.whole
    }

    /// What lies below a level `depth` above the lowest point. Depths below 0 and above the height give nothing and the whole.
    pub fn immersed(&self, depth: f64) -> Immersed {
        if depth >= self.height {
            return self.whole;
        }
        if depth.is_nan() || depth <= 0.0 {
            return Immersed { volume: 0.0, area: 0.0, cut: 0.0 };
        }
        let found = self.sum(depth);
        Immersed {
            volume: found.volume.clamp(0.0, self.whole.volume),
            area: found.area.min(self.whole.area),
            cut: found.cut.max(0.0),
        }
    }

    /// The depth at which a volume is immersed; 0 for none, the height for the whole, `None` for more than the whole or NaN.
    ///
    /// Newton steps (the cut is the derivative), kept between bounds that close in by halving where a step leaves them.
    pub fn depth_for(&self, volume: f64) -> Option<f64> {
        if volume.is_nan() || volume > self.whole.volume {
            return None;
        }
        if volume <= 0.0 {
            return Some(0.0);
        }
        let (mut low, mut high) = (0.0, self.height);
        let mut depth = self.height * volume / self.whole.volume;
        for _ in 0..MOST_STEPS {
            let found = self.immersed(depth);
            let missing = volume - found.volume;
            if missing.abs() <= 1e-12 * self.whole.volume {
                break;
            }
            if missing > 0.0 {
                low = depth;
            } else {
                high = depth;
            }
            let step = depth + missing / found.cut;
            depth = if step > low && step < high { step } else { low + (high - low) / 2.0 };
        }
        Some(depth)
    }

    /// Sums over all triangles, in chunks as [`super::Measure`] does.
    fn sum(&self, depth: f64) -> Immersed {
        let mut total = Sums::default();
        for chunk in self.mesh.triangles.chunks(CHUNK) {
            let mut part = Part::default();
            for vertices in chunk {
                let corners = self
                    .mesh
                    .triangle(vertices)
                    .map(|corner| minus(&self.up.turn(corner), &self.origin));
                part.add(&corners, depth);
            }
            total.add(&part);
        }
        Immersed {
            volume: self.sign * total.volume.value(),
            area: total.area.value(),
            cut: self.sign * -total.plan.value(),
        }
    }
}

/// More than bisection alone needs for a 64-bit number.
const MOST_STEPS: usize = 100;

struct Sums {
    volume: Compensated,
    area: Compensated,
    plan: Compensated,
}

impl Default for Sums {
    fn default() -> Self {
        Self { volume: Compensated::ZERO, area: Compensated::ZERO, plan: Compensated::ZERO }
    }
}

impl Sums {
    fn add(&mut self, part: &Part) {
        self.volume.add(part.volume);
        self.area.add(part.area);
        self.plan.add(part.plan);
    }
}

/// Sums of one chunk: volume, area, and signed area seen from above.
#[derive(Default)]
struct Part {
    volume: f64,
    area: f64,
    plan: f64,
}

impl Part {
    /// Adds the part of a triangle that lies below the level.
    fn add(&mut self, corners: &Triangle, depth: f64) {
        let below = corners.map(|corner| corner[2] < depth);
        match below.iter().filter(|&&below| below).count() {
            0 => {}
            3 => self.add_whole(corners, depth),
            1 => {
                // The lone corner below, and where its two sides meet the level.
                let [a, b, c] = first(corners, below, true);
                self.add_whole(&[a, meet(&a, &b, depth), meet(&a, &c, depth)], depth);
            }
            _ => {
                // The lone corner above: what is below has four corners, hence two triangles.
                let [a, b, c] = first(corners, below, false);
                let (ab, ac) = (meet(&b, &a, depth), meet(&c, &a, depth));
                self.add_whole(&[ab, b, c], depth);
                self.add_whole(&[ab, c, ac], depth);
            }
        }
    }

    #[inline]
    fn add_whole(&mut self, [a, b, c]: &Triangle, depth: f64) {
        let normal = cross(&minus(b, a), &minus(c, a));
        let plan = normal[2] / 2.0;
        let mean = ((a[2] - depth) + (b[2] - depth) + (c[2] - depth)) / 3.0;
        self.volume += plan * mean;
        self.plan += plan;
        self.area += dot(&normal, &normal).sqrt() / 2.0;
    }
}

/// The corners turned around so that the one that alone is below (or above) comes first.
fn first(&[a, b, c]: &Triangle, below: [bool; 3], wanted: bool) -> Triangle {
    if below[0] == wanted {
        [a, b, c]
    } else if below[1] == wanted {
        [b, c, a]
    } else {
        [c, a, b]
    }
}

/// Where the side from a corner below to one not below meets the level. Always computed from below, so that both triangles at an
/// edge meet the level at the same point, bit for bit.
fn meet(below: &Point, above: &Point, depth: f64) -> Point {
    let share = (depth - below[2]) / (above[2] - below[2]);
    [below[0] + share * (above[0] - below[0]), below[1] + share * (above[1] - below[1]), depth]
}

#[cfg(test)]
mod tests {
    use std::f64::consts::{PI, TAU};

    use super::super::shapes::{cuboid, frustum, mesh_of, sphere};
    use super::*;

    fn close(found: f64, expected: f64, relative: f64) {
        let allowed = relative * expected.abs().max(1e-300);
        assert!((found - expected).abs() <= allowed, "found {found}, expected {expected}");
    }

    /// Ratio of a regular polygon's area to its circle's: what a round body of so many sides lacks.
    fn polygon(sides: f64) -> f64 {
        (TAU / sides).sin() * sides / TAU
    }

    #[test]
    fn a_box_holds_base_times_depth_in_every_pose() {
        let mesh = mesh_of(&cuboid([5.0, -3.0, 1.0], [7.0, 0.0, 6.0]));
        for up in Up::ALL {
            let posed = Posed::new(&mesh, up);
            let [length, width, height] = up.turn_size([2.0, 3.0, 5.0]);
            close(posed.height(), height, 1e-15);
            for share in [0.1, 0.5, 0.9] {
                let found = posed.immersed(share * height);
                close(found.volume, length * width * height * share, 1e-12);
                close(found.area, length * width + 2.0 * (length + width) * height * share, 1e-12);
                close(found.cut, length * width, 1e-12);
            }
        }
    }

    #[test]
    fn a_frustum_agrees_with_the_papyrus_and_the_cone() {
        // Square frustum, height 6, sides 4 and 2: volume 56 (Moscow Mathematical Papyrus, problem 14). The corners of a square of
        // side a lie a / sqrt(2) from its middle.
        let root = 2.0_f64.sqrt();
        let mesh = mesh_of(&frustum(4, 4.0 / root, 2.0 / root, 6.0));
        let posed = Posed::new(&mesh, Up::PlusZ);
        close(posed.whole().volume, 56.0, 1e-14);
        // Half way up the side is 3: h / 3 (a^2 + a b + b^2) = 3 / 3 (16 + 12 + 9) = 37.
        close(posed.immersed(3.0).volume, 37.0, 1e-14);
        // Upside down, the other 19 are below.
        close(Posed::new(&mesh, Up::MinusZ).immersed(3.0).volume, 19.0, 1e-14);
        // Conical frustum R = 3, r = 1, h = 4: 52 pi / 3 (formula read at subjectcoach.com).
        let cone = mesh_of(&frustum(720, 3.0, 1.0, 4.0));
        close(Posed::new(&cone, Up::PlusZ).whole().volume, 52.0 * PI / 3.0 * polygon(720.0), 1e-12);
    }

    #[test]
    fn spherical_caps_agree_with_the_closed_form() {
        // Volume of a cap: pi h^2 (3 R - h) / 3 (Weisstein, MathWorld, "Spherical Cap", from memory); printed values 54.4543 and
        // 117.2861 for R = 5 and 10, h = 2 (azcalk.com), 2 pi / 3 for half a unit sphere.
        for (radius, depth, printed) in
            [(5.0, 2.0, 54.4543), (10.0, 2.0, 117.2861), (2.5, 2.0, 23.0383), (1.0, 1.0, 2.0944)]
        {
            let exact = PI * depth * depth * (3.0 * radius - depth) / 3.0;
            close(exact, printed, 1e-5);
            let mesh = mesh_of(&sphere([40.0, -20.0, 7.0], radius, 6));
            let posed = Posed::new(&mesh, Up::PlusZ);
            let found = posed.immersed(depth - (2.0 * radius - posed.height()) / 2.0).volume;
            assert!(found < exact, "an inscribed mesh holds less");
            close(found, exact, 1e-3);
        }
    }

    #[test]
    fn outside_depths_give_nothing_and_the_whole() {
        let mesh = mesh_of(&sphere([0.0; 3], 1.0, 3));
        let posed = Posed::new(&mesh, Up::PlusY);
        for depth in [0.0, -1.0, f64::NAN, f64::NEG_INFINITY] {
            close(posed.immersed(depth).volume, 0.0, 0.0);
        }
        for depth in [posed.height(), 1e9, f64::INFINITY] {
            assert_eq!(posed.immersed(depth), posed.whole());
        }
    }

    #[test]
    fn depth_for_is_the_inverse_of_immersed() {
        let mesh = mesh_of(&sphere([3.0; 3], 2.0, 4));
        let posed = Posed::new(&mesh, Up::PlusX);
        for share in [1e-6, 0.01, 0.3, 0.5, 0.99, 0.999_999] {
            let volume = share * posed.whole().volume;
            let depth = posed.depth_for(volume).unwrap();
            close(posed.immersed(depth).volume, volume, 1e-6);
        }
        close(posed.depth_for(posed.whole().volume).unwrap(), posed.height(), 1e-5);
        assert_eq!(posed.depth_for(0.0), Some(0.0));
        assert_eq!(posed.depth_for(posed.whole().volume * 1.01), None);
        assert_eq!(posed.depth_for(f64::NAN), None);
    }

    #[test]
    fn a_step_in_the_shape_does_not_mislead_the_inverse() {
        // A wide plate with a thin post: the cut jumps from 100 to 0.01.
        let mut triangles = cuboid([0.0; 3], [10.0, 10.0, 1.0]);
        triangles.extend(cuboid([5.0, 5.0, 2.0], [5.1, 5.1, 40.0]));
        let mesh = mesh_of(&triangles);
        let posed = Posed::new(&mesh, Up::PlusZ);
        let depth = posed.depth_for(100.19).unwrap();
        close(depth, 21.0, 1e-9);
        close(posed.immersed(1.5).cut, 0.0, 0.0);
    }

    #[test]
    fn a_floating_ball_sinks_as_archimedes_says() {
        // Density ratio 0.6: t = h / R solves t^3 - 3 t^2 + 2.4 = 0 (Gerald and Wheatley, Applied Numerical Analysis, exercise,
        // read at imathworks.com), so t = 1.1341378457.
        let mesh = mesh_of(&sphere([0.0; 3], 1.0, 6));
        let posed = Posed::new(&mesh, Up::PlusZ);
        let depth = posed.depth_for(0.6 * posed.whole().volume).unwrap();
        close(depth, 1.134_137_845_7, 1e-4);
    }
}
