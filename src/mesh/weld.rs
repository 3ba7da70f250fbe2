//! Welding: corners go in, an indexed [`Mesh`] comes out in which equal corners are one vertex.
//!
//! Two corners are equal when all their coordinates are equal bit for bit, after -0.0 is made 0.0. There is no tolerance: a near miss
//! is a gap in the surface, and a gap that is closed silently is a guess. Vertices are numbered as they are first met.

use super::measure::Tally;
use super::{Bounds, Measure, MeshError, Point, Triangle};

/// Triangles over shared vertices, in file units.
#[derive(Clone, PartialEq, Debug)]
pub struct Mesh {
    pub(super) points: Vec<Point>,
    pub(super) triangles: Vec<[u32; 3]>,
    pub(super) unit_mm: Option<f64>,
    pub(super) left_out: u64,
}

impl Mesh {
    /// The vertices.
    pub fn points(&self) -> &[Point] {
        &self.points
    }

    /// Each triangle's three vertices, counter-clockwise seen from outside. All are below the number of vertices.
    pub fn triangles(&self) -> &[[u32; 3]] {
        &self.triangles
    }

    /// Length of a file unit in mm, where the file states it (3MF only).
    pub fn unit_mm(&self) -> Option<f64> {
        self.unit_mm
    }

    /// Objects that were left out since they are no solids of the part: supports, bare surfaces (3MF only).
    pub fn left_out(&self) -> u64 {
        self.left_out
    }

    /// The corners of each triangle, in file order.
    pub fn corners(&self) -> impl Iterator<Item = Triangle> {
        self.triangles.iter().map(|triangle| self.triangle(triangle))
    }

    #[inline]
    pub(super) fn triangle(&self, vertices: &[u32; 3]) -> Triangle {
        vertices.map(|vertex| self.points[vertex as usize])
    }

    /// Volume, area and box; the same, bit for bit, as measuring the file without keeping its triangles.
    ///
    /// # Errors
    /// When there is no triangle, or the sums are not finite.
    pub fn measure(&self) -> Result<Measure, MeshError> {
        let mut tally = Tally::new();
        for triangle in self.corners() {
            tally.add(&triangle);
        }
        tally.finish()
    }

    /// The box around all triangles.
    pub fn bounds(&self) -> Bounds {
        let mut bounds = Bounds::EMPTY;
        for corner in self.corners().flatten() {
            bounds.take_in(&corner);
        }
        bounds
    }
}

/// Builds a [`Mesh`], welding as corners come.
///
/// The table is an open-addressed one over the vertices: a slot holds 32 bits of the hash, so that most other vertices are passed
/// over without looking at them, and the vertex's number.
#[derive(Clone, Debug)]
pub struct Welder {
    mesh: Mesh,
    /// Hash in the upper half, number of the vertex plus one in the lower; 0 is empty. The length is a power of two.
    slots: Vec<u64>,
    /// How far a 32-bit hash is shifted to give a slot.
    shift: u32,
    used: usize,
}

impl Default for Welder {
    fn default() -> Self {
        Self::with_room_for(0)
    }
}

/// Smallest table: 2^10 slots.
const LEAST_BITS: u32 = 10;

impl Welder {
    /// An empty mesh that expects so many triangles.
    pub fn with_room_for(triangles: usize) -> Self {
        // A closed mesh has half as many vertices as triangles; the table stays at most half full.
        let bits = triangles.max(1).next_power_of_two().trailing_zeros().clamp(LEAST_BITS, 31);
        let mesh = Mesh {
            points: Vec::with_capacity(triangles / 2 + 2),
            triangles: Vec::with_capacity(triangles),
            unit_mm: None,
            left_out: 0,
        };
        Self { mesh, slots: vec![0; 1 << bits], shift: 32 - bits, used: 0 }
    }

    /// Adds a triangle of finite corners.
    ///
    /// # Errors
    /// When there are more vertices than can be numbered.
    pub fn add(&mut self, triangle: &Triangle) -> Result<(), MeshError> {
        let [a, b, c] = triangle;
        let vertices = [self.vertex(a)?, self.vertex(b)?, self.vertex(c)?];
        self.mesh.triangles.push(vertices);
        Ok(())
    }

    /// Adds a triangle of vertices that [`Welder::vertex`] gave.
    pub(super) fn add_indexed(&mut self, vertices: [u32; 3]) {
        self.mesh.triangles.push(vertices);
    }

    /// The number of the vertex at this corner.
    ///
    /// # Errors
    /// When there are more vertices than can be numbered.
    #[inline]
    pub fn vertex(&mut self, corner: &Point) -> Result<u32, MeshError> {
        // Adding 0.0 turns -0.0 into 0.0 and leaves everything else.
        let corner = corner.map(|x| x + 0.0);
        let hash = hash(&corner);
        let mask = self.slots.len() - 1;
        let mut slot = (hash >> self.shift) as usize;
        loop {
            let entry = self.slots[slot];
            if entry == 0 {
                return self.insert(slot, hash, corner);
            }
            if (entry >> 32) as u32 == hash {
                let vertex = low(entry) - 1;
                if self.mesh.points[vertex as usize].map(f64::to_bits) == corner.map(f64::to_bits) {
                    return Ok(vertex);
                }
            }
            slot = (slot + 1) & mask;
        }
    }

    fn insert(&mut self, slot: usize, hash: u32, corner: Point) -> Result<u32, MeshError> {
        let limit = u32::MAX - 1;
        let vertex = u32::try_from(self.mesh.points.len()).ok().filter(|&vertex| vertex < limit);
        let vertex = vertex.ok_or(MeshError::TooLarge {
            what: "vertices",
            found: u64::from(limit) + 1,
            limit: u64::from(limit),
        })?;
        self.mesh.points.push(corner);
        self.slots[slot] = u64::from(hash) << 32 | u64::from(vertex + 1);
        self.used += 1;
        if self.used * 2 > self.slots.len() && self.shift > 1 {
            self.grow();
        }
        Ok(vertex)
    }

    fn grow(&mut self) {
        self.shift -= 1;
        let old = std::mem::replace(&mut self.slots, vec![0; 1 << (32 - self.shift)]);
        let mask = self.slots.len() - 1;
        for entry in old.into_iter().filter(|&entry| entry != 0) {
            let mut slot = (entry >> 32 >> self.shift) as usize & mask;
            while self.slots[slot] != 0 {
                slot = (slot + 1) & mask;
            }
            self.slots[slot] = entry;
        }
    }

    /// From here on corners weld among themselves only: two solids that touch stay two.
    pub(super) fn next_body(&mut self) {
        self.used = 0;
        self.shift = 32 - LEAST_BITS;
        self.slots.clear();
        self.slots.resize(1 << LEAST_BITS, 0);
    }

    /// The mesh.
    ///
    /// # Errors
    /// When no triangle was added.
    pub fn finish(self) -> Result<Mesh, MeshError> {
        if self.mesh.triangles.is_empty() {
            return Err(MeshError::Empty);
        }
        Ok(self.mesh)
    }
}

/// The lower half of an entry.
#[expect(clippy::cast_possible_truncation, reason = "the lower half is what is asked for")]
fn low(entry: u64) -> u32 {
    entry as u32
}

/// Two rounds of multiply and fold over the three bit patterns.
#[inline]
#[expect(clippy::cast_possible_truncation, reason = "folding takes halves")]
fn hash(corner: &Point) -> u32 {
    fn fold(a: u64, b: u64) -> u64 {
        let product = u128::from(a) * u128::from(b);
        product as u64 ^ (product >> 64) as u64
    }
    // Odd constants with about as many ones as zeros: the fractions of pi.
    let [x, y, z] = corner.map(f64::to_bits);
    let mixed = fold(x ^ 0x243f_6a88_85a3_08d3, y ^ 0x1319_8a2e_0370_7345);
    (fold(mixed ^ z, 0xa409_3822_299f_31d1) >> 32) as u32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_corners_are_one_vertex_and_minus_zero_is_zero() {
        // Trap: stl-models tetrahedronMinusZero.bin.stl.
        let mut welder = Welder::default();
        let a = welder.vertex(&[0.0, 1.0, -0.0]).unwrap();
        assert_eq!(welder.vertex(&[-0.0, 1.0, 0.0]).unwrap(), a);
        let near = f64::from_bits(1.0_f64.to_bits() + 1);
        assert_ne!(welder.vertex(&[0.0, near, 0.0]).unwrap(), a);
    }

    #[test]
    fn many_vertices_keep_their_numbers_while_the_table_grows() {
        let mut welder = Welder::default();
        let grid = |i: u32| [f64::from(i % 100), f64::from(i / 100), 0.5];
        for round in 0..2 {
            for i in 0..20_000 {
                assert_eq!(welder.vertex(&grid(i)).unwrap(), i, "round {round}");
            }
        }
        assert!(welder.slots.len() >= 40_000);
    }

    #[test]
    fn bodies_do_not_weld_with_one_another() {
        let mut welder = Welder::default();
        let first = welder.vertex(&[1.0, 2.0, 3.0]).unwrap();
        welder.next_body();
        assert_ne!(welder.vertex(&[1.0, 2.0, 3.0]).unwrap(), first);
    }
}
