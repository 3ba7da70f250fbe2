//! Edges: a mesh goes in; counts of the edges that are not met as they should be, and who neighbours whom, come out.
//!
//! Every triangle goes around three directed edges. The undirected ones are found by sorting the directed ones into one bucket per
//! lower vertex, where a handful meet; nothing is hashed, and neighbours in the file stay neighbours in memory.

use super::{Mesh, MeshError};

/// How the edges of a mesh are met.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub struct EdgeCounts {
    /// Undirected edges.
    pub edges: u64,
    /// Met by one triangle only: the rim of a hole.
    pub open: u64,
    /// Met by more than two triangles.
    pub non_manifold: u64,
    /// Met by two triangles that run the same way along it: they disagree on which side is outside.
    pub wrong_winding: u64,
}

impl EdgeCounts {
    /// Whether every edge is met exactly twice, in opposite directions.
    pub fn closed(&self) -> bool {
        self.open == 0 && self.non_manifold == 0 && self.wrong_winding == 0
    }
}

/// A directed edge in the bucket of its lower vertex: the upper vertex, then the triangle and whether it runs downwards.
type HalfEdge = (u32, u32);

/// Most triangles whose number and one bit fit a half-edge.
const MOST: u64 = 1 << 31;

/// Counts the edges; `meet` gets the triangles at each edge, the one with the lowest number first.
///
/// A triangle two of whose corners are one vertex has no inside and is passed over.
///
/// # Errors
/// When there are more than 2^31 triangles.
pub(super) fn count(
    mesh: &Mesh,
    mut meet: impl FnMut(u32, &[HalfEdge]),
) -> Result<EdgeCounts, MeshError> {
    if mesh.triangles.len() as u64 > MOST {
        return Err(MeshError::TooLarge {
            what: "triangles",
            found: mesh.triangles.len() as u64,
            limit: MOST,
        });
    }
    let (starts, mut half_edges) = buckets(mesh);
    let mut counts = EdgeCounts::default();
    for ends in starts.windows(2) {
        let bucket = &mut half_edges[ends[0]..ends[1]];
        bucket.sort_unstable();
        for edge in bucket.chunk_by(|a, b| a.0 == b.0) {
            classify(edge, &mut counts);
            meet(triangle(&edge[0]), edge);
        }
    }
    Ok(counts)
}

/// The triangle of a half-edge.
pub(super) fn triangle(half_edge: &HalfEdge) -> u32 {
    half_edge.1 >> 1
}

fn classify(edge: &[HalfEdge], counts: &mut EdgeCounts) {
    counts.edges += 1;
    match edge {
        [_] => counts.open += 1,
        [a, b] => counts.wrong_winding += u64::from(a.1 & 1 == b.1 & 1),
        _ => counts.non_manifold += 1,
    }
}

/// Whether a triangle has three different vertices.
pub(super) fn spans(&[a, b, c]: &[u32; 3]) -> bool {
    a != b && b != c && c != a
}

/// All half-edges by lower vertex, and where each vertex's begin.
fn buckets(mesh: &Mesh) -> (Vec<usize>, Vec<HalfEdge>) {
    let mut starts = vec![0_usize; mesh.points.len() + 1];
    for [a, b, c] in mesh.triangles.iter().filter(|t| spans(t)) {
        for (from, to) in [(a, b), (b, c), (c, a)] {
            starts[*from.min(to) as usize + 1] += 1;
        }
    }
    for vertex in 1..starts.len() {
        starts[vertex] += starts[vertex - 1];
    }
    let mut half_edges = vec![(0, 0); starts[mesh.points.len()]];
    let mut next = starts.clone();
    for (number, [a, b, c]) in (0_u32..).zip(&mesh.triangles).filter(|(_, t)| spans(t)) {
        for (from, to) in [(a, b), (b, c), (c, a)] {
            let place = &mut next[*from.min(to) as usize];
            half_edges[*place] = (*from.max(to), number << 1 | u32::from(from > to));
            *place += 1;
        }
    }
    (starts, half_edges)
}

#[cfg(test)]
mod tests {
    use super::super::shapes::mesh_of;
    use super::*;

    const O: [f64; 3] = [0.0, 0.0, 0.0];
    const X: [f64; 3] = [1.0, 0.0, 0.0];
    const Y: [f64; 3] = [0.0, 1.0, 0.0];
    const Z: [f64; 3] = [0.0, 0.0, 1.0];
    const W: [f64; 3] = [0.0, 0.0, -1.0];

    fn counts(triangles: &[[[f64; 3]; 3]]) -> EdgeCounts {
        count(&mesh_of(triangles), |_, _| ()).unwrap()
    }

    #[test]
    fn a_tetrahedron_has_six_edges_and_is_closed() {
        let closed = counts(&[[O, Y, X], [O, X, Z], [O, Z, Y], [X, Y, Z]]);
        assert_eq!(closed.edges, 6);
        assert!(closed.closed());
    }

    #[test]
    fn a_missing_a_turned_and_an_extra_triangle_are_counted() {
        let open = counts(&[[O, Y, X], [O, X, Z], [O, Z, Y]]);
        assert_eq!((open.edges, open.open), (6, 3));
        let turned = counts(&[[O, Y, X], [O, X, Z], [O, Z, Y], [X, Z, Y]]);
        assert_eq!((turned.open, turned.wrong_winding), (0, 3));
        let extra = counts(&[[O, Y, X], [O, X, Z], [O, Z, Y], [X, Y, Z], [X, Y, W]]);
        assert_eq!((extra.open, extra.non_manifold), (2, 1));
    }

    #[test]
    fn a_triangle_with_two_equal_corners_is_passed_over() {
        let counts = counts(&[[O, Y, X], [O, X, Z], [O, Z, Y], [X, Y, Z], [X, X, Y], [O, O, O]]);
        assert!(counts.closed());
    }
}
