//! Volume, area and box: triangles go in one by one, a [`Measure`] comes out.
//!
//! The volume is the sum of signed tetrahedra from one reference point to each triangle (Zhang and Chen, "Efficient feature
//! extraction for 2D/3D objects in mesh representation", ICIP 2001, from memory). The reference is the first corner of the mesh
//! rather than the origin: far from the origin the terms would be large and cancel.

use super::MeshError;
use super::sums::{Block, CHUNK, Chunk, Total, WIDTH};

/// A corner: x, y, z in file units.
pub type Point = [f64; 3];

/// Three corners, counter-clockwise seen from outside.
pub type Triangle = [Point; 3];

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

    pub(super) fn is_finite(&self) -> bool {
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

/// Measures triangles as they come.
#[derive(Clone, Debug)]
pub(super) struct Tally {
    reference: Point,
    block: Block<f64>,
    in_block: usize,
    chunk: Chunk<f64>,
    in_chunk: usize,
    total: Total,
}

impl Tally {
    pub(super) fn new() -> Self {
        Self {
            reference: [0.0; 3],
            block: Block::filled([0.0; 9]),
            in_block: 0,
            chunk: Chunk::EMPTY,
            in_chunk: 0,
            total: Total::EMPTY,
        }
    }

    /// Adds a triangle of finite coordinates.
    #[inline]
    pub(super) fn add(&mut self, triangle: &Triangle) {
        if self.in_chunk == 0 && self.total.is_empty() {
            self.reference = triangle[0];
        }
        self.block.set(self.in_block, triangle.as_flattened().iter().copied());
        self.in_block += 1;
        self.in_chunk += 1;
        if self.in_block == WIDTH {
            self.close_block();
        }
        if self.in_chunk == CHUNK {
            self.close_chunk();
        }
    }

    fn close_block(&mut self) {
        self.chunk.add(&mut self.block, self.in_block, &self.reference);
        self.in_block = 0;
    }

    fn close_chunk(&mut self) {
        self.total.add(&self.chunk.finish());
        self.chunk = Chunk::EMPTY;
        self.in_chunk = 0;
    }

    /// The measure of all triangles added.
    ///
    /// # Errors
    /// When there was none, or the sums are not finite.
    pub(super) fn finish(mut self) -> Result<Measure, MeshError> {
        if self.in_block > 0 {
            self.close_block();
        }
        if self.in_chunk > 0 {
            self.close_chunk();
        }
        self.total.finish()
    }
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
