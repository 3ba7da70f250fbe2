//! Volume, area and box: triangles go in one by one, a [`Measure`] comes out.
//!
//! The volume is the sum of signed tetrahedra from one reference point to each triangle (Zhang and Chen, "Efficient feature
//! extraction for 2D/3D objects in mesh representation", ICIP 2001, from memory). The reference is the first corner of the mesh
//! rather than the origin: far from the origin the terms would be large and cancel. Terms are summed in chunks of fixed size, and
//! the chunks in order with a compensated sum: neither the number of threads nor a long file costs digits.

use super::MeshError;

/// A corner: x, y, z in file units.
pub type Point = [f64; 3];

/// Three corners, counter-clockwise seen from outside.
pub type Triangle = [Point; 3];

/// Triangles in a chunk; part of every result's last digits, so it is fixed.
pub(super) const CHUNK: usize = 4096;

/// The box around a mesh, along its own axes, in file units.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Bounds {
    /// Least x, y, z.
    pub min: Point,
    /// Greatest x, y, z.
    pub max: Point,
}

impl Bounds {
    /// A box around nothing, ready to grow.
    pub(super) const EMPTY: Self = Self { min: [f64::INFINITY; 3], max: [f64::NEG_INFINITY; 3] };

    /// Extent along x, y, z.
    pub fn size(&self) -> Point {
        [0, 1, 2].map(|axis| self.max[axis] - self.min[axis])
    }

    /// Whether two boxes share some inside (touching does not count).
    pub fn overlaps(&self, other: &Self) -> bool {
        (0..3).all(|axis| self.min[axis] < other.max[axis] && other.min[axis] < self.max[axis])
    }

    /// Whether the other box lies in this one.
    pub fn holds(&self, other: &Self) -> bool {
        (0..3).all(|axis| self.min[axis] <= other.min[axis] && other.max[axis] <= self.max[axis])
    }

    #[inline(always)]
    pub(super) fn take_in(&mut self, point: &Point) {
        let Self { min, max } = self;
        for ((&x, low), high) in point.iter().zip(min).zip(max) {
            // Not f64::min: these comparisons become one instruction each, and let NaN pass, which the sums then show.
            if x < *low {
                *low = x;
            }
            if x > *high {
                *high = x;
            }
        }
    }

    fn is_finite(&self) -> bool {
        self.min.iter().chain(&self.max).all(|bound| bound.is_finite())
    }
}

/// What a list of triangles measures, in file units.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Measure {
    /// Signed volume: negative where the winding is inside out, meaningless where the mesh is not closed.
    pub volume: f64,
    /// Sum of the triangles' areas.
    pub area: f64,
    /// The box around all corners.
    pub bounds: Bounds,
    /// Number of triangles.
    pub triangles: u64,
    /// How many of them have no area: two equal corners, or all three on one line.
    pub degenerate: u64,
}

/// The sums of one chunk, relative to the reference point.
#[derive(Clone, Copy, Debug)]
pub(super) struct Partial {
    volume6: f64,
    area2: f64,
    bounds: Bounds,
    degenerate: u32,
}

impl Partial {
    pub(super) const EMPTY: Self =
        Self { volume6: 0.0, area2: 0.0, bounds: Bounds::EMPTY, degenerate: 0 };

    /// Adds one triangle: the cross product of two sides gives its area and, times a corner, its tetrahedron.
    #[inline(always)]
    pub(super) fn add(&mut self, [a, b, c]: &Triangle, reference: &Point) {
        let normal = cross(&minus(b, a), &minus(c, a));
        let area2 = dot(&normal, &normal).sqrt();
        self.volume6 += dot(&minus(a, reference), &normal);
        self.area2 += area2;
        self.degenerate += u32::from(area2 == 0.0);
        self.bounds.take_in(a);
        self.bounds.take_in(b);
        self.bounds.take_in(c);
    }

    /// Whether every coordinate was finite: NaN spoils the volume, infinity the box.
    pub(super) fn is_finite(&self) -> bool {
        self.volume6.is_finite() && self.area2.is_finite() && self.bounds.is_finite()
    }
}

/// Adds up chunks in their order.
#[derive(Clone, Copy, Debug)]
pub(super) struct Total {
    volume6: Compensated,
    area2: Compensated,
    bounds: Bounds,
    triangles: u64,
    degenerate: u64,
}

impl Total {
    pub(super) const EMPTY: Self = Self {
        volume6: Compensated::ZERO,
        area2: Compensated::ZERO,
        bounds: Bounds::EMPTY,
        triangles: 0,
        degenerate: 0,
    };

    pub(super) fn add(&mut self, part: &Partial, triangles: u64) {
        self.volume6.add(part.volume6);
        self.area2.add(part.area2);
        self.bounds.take_in(&part.bounds.min);
        self.bounds.take_in(&part.bounds.max);
        self.triangles += triangles;
        self.degenerate += u64::from(part.degenerate);
    }

    /// The whole, or why there is none.
    pub(super) fn finish(&self) -> Result<Measure, MeshError> {
        if self.triangles == 0 {
            return Err(MeshError::Empty);
        }
        let measure = Measure {
            volume: self.volume6.value() / 6.0,
            area: self.area2.value() / 2.0,
            bounds: self.bounds,
            triangles: self.triangles,
            degenerate: self.degenerate,
        };
        if !(measure.volume.is_finite() && measure.area.is_finite()) {
            return Err(MeshError::Overflow);
        }
        Ok(measure)
    }
}

/// Measures triangles as they come.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tally {
    reference: Option<Point>,
    part: Partial,
    in_part: usize,
    total: Total,
}

impl Tally {
    pub(super) const EMPTY: Self =
        Self { reference: None, part: Partial::EMPTY, in_part: 0, total: Total::EMPTY };

    /// Adds a triangle of finite coordinates.
    #[inline]
    pub(super) fn add(&mut self, triangle: &Triangle) {
        let reference = *self.reference.get_or_insert(triangle[0]);
        self.part.add(triangle, &reference);
        self.in_part += 1;
        if self.in_part == CHUNK {
            self.close_part();
        }
    }

    fn close_part(&mut self) {
        self.total.add(&self.part, self.in_part as u64);
        self.part = Partial::EMPTY;
        self.in_part = 0;
    }

    /// The measure of all triangles added.
    ///
    /// # Errors
    /// When there was none, or the sums are not finite.
    pub(super) fn finish(mut self) -> Result<Measure, MeshError> {
        if self.in_part > 0 {
            self.close_part();
        }
        self.total.finish()
    }
}

/// A sum that keeps what rounding drops (Neumaier, "Rundungsfehleranalyse einiger Verfahren zur Summation endlicher Summen",
/// ZAMM 54, 1974, from memory).
#[derive(Clone, Copy, Debug)]
pub(super) struct Compensated {
    sum: f64,
    dropped: f64,
}

impl Compensated {
    pub(super) const ZERO: Self = Self { sum: 0.0, dropped: 0.0 };

    #[inline]
    pub(super) fn add(&mut self, term: f64) {
        let sum = self.sum + term;
        self.dropped += if self.sum.abs() >= term.abs() {
            (self.sum - sum) + term
        } else {
            (term - sum) + self.sum
        };
        self.sum = sum;
    }

    pub(super) fn value(&self) -> f64 {
        self.sum + self.dropped
    }
}

#[inline(always)]
pub(super) fn minus(a: &Point, b: &Point) -> Point {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

#[inline(always)]
pub(super) fn cross(a: &Point, b: &Point) -> Point {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

#[inline(always)]
pub(super) fn dot(a: &Point, b: &Point) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

#[cfg(test)]
mod tests {
    use super::super::shapes::{cuboid, frustum, mesh_of, moved, sphere};
    use super::*;

    fn measured(triangles: &[Triangle]) -> Measure {
        mesh_of(triangles).measure().unwrap()
    }

    fn close(found: f64, expected: f64, relative: f64) {
        assert!(
            (found - expected).abs() <= relative * expected.abs(),
            "found {found}, expected {expected}"
        );
    }

    #[test]
    fn a_regular_tetrahedron_has_its_closed_form() {
        // Edge 10 sqrt(2): volume a^3 / (6 sqrt(2)) = 333.3333, area sqrt(3) a^2 = 346.4101615 (closed form; the same figures as
        // the 3MF Consortium's sample pyramid).
        let [o, a, b, c] = [[0.0; 3], [10.0, 10.0, 0.0], [10.0, 0.0, 10.0], [0.0, 10.0, 10.0]];
        let found = measured(&[[o, a, b], [o, b, c], [o, c, a], [a, c, b]]);
        close(found.volume.abs(), 1000.0 / 3.0, 1e-14);
        close(found.area, 346.410_161_513_775_5, 1e-14);
        assert_eq!((found.triangles, found.degenerate), (4, 0));
    }

    #[test]
    fn a_box_is_length_times_width_times_height_wherever_it_stands() {
        for offset in [0.0, 1e3, 1e6, 1e9] {
            let found = measured(&cuboid([offset; 3], [offset + 2.0, offset + 3.0, offset + 4.0]));
            close(found.volume, 24.0, 1e-15);
            close(found.area, 52.0, 1e-15);
            assert!(
                found.bounds.size().iter().zip([2.0, 3.0, 4.0]).all(|(x, y)| (x - y).abs() < 1e-15)
            );
        }
    }

    #[test]
    fn a_sphere_of_642_vertices_lacks_what_its_faces_cut_off() {
        // unit_sphere.STL of trimesh: 1280 faces, volume 4.152740749, 0.991394 of the ball; ours is the same subdivision.
        let found = measured(&sphere([0.0; 3], 1.0, 3));
        assert_eq!(found.triangles, 1280);
        close(found.volume, 4.152_740, 1e-6);
        close(found.area, 12.506_492, 1e-6);
        // Each halving of the sides leaves about a quarter of the error.
        let ball = 4.0 / 3.0 * std::f64::consts::PI;
        let lack = |times| 1.0 - measured(&sphere([0.0; 3], 1.0, times)).volume / ball;
        for times in 1..5 {
            let ratio = lack(times) / lack(times + 1);
            assert!((3.5..4.2).contains(&ratio), "{times}: {ratio}");
        }
    }

    #[test]
    fn a_cone_frustum_has_its_lateral_area() {
        // pi (R + r) sqrt(h^2 + (R - r)^2) and both ends (formula read at subjectcoach.com), R = 3, r = 1, h = 4.
        let found = measured(&frustum(3600, 3.0, 1.0, 4.0));
        let exact = std::f64::consts::PI * (4.0 * 20.0_f64.sqrt() + 9.0 + 1.0);
        close(found.area, exact, 1e-6);
    }

    #[test]
    fn triangles_without_area_are_counted() {
        let mut triangles = cuboid([0.0; 3], [1.0; 3]);
        let (a, b) = ([0.1, 0.2, 0.3], [0.5, 0.5, 0.5]);
        triangles.extend([[a, a, b], [[0.0; 3], [1.0; 3], [2.0; 3]]]);
        let found = measured(&triangles);
        assert_eq!((found.triangles, found.degenerate), (14, 2));
        close(found.volume, 1.0, 1e-15);
    }

    #[test]
    fn a_long_sum_keeps_its_digits() {
        // 20 cubes far apart, and one that is tiny beside them.
        let mut triangles = Vec::new();
        for i in 0..20 {
            triangles.extend(moved(&cuboid([0.0; 3], [1.0; 3]), |[x, y, z]| {
                [x + 1e6 * f64::from(i), y, z]
            }));
        }
        close(measured(&triangles).volume, 20.0, 1e-9);
    }

    #[test]
    fn coordinates_too_large_for_a_finite_sum_are_refused() {
        let found = mesh_of(&cuboid([0.0; 3], [1e200; 3])).measure();
        assert_eq!(found, Err(MeshError::Overflow));
    }
}
