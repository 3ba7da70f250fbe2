//! Nesting: where a point lies with regard to a closed shell.

use super::sums::{cross, minus};
use super::{Mesh, Point};

/// How often the triangles go around a point: 1 inside of a shell wound outwards, -1 inside of one turned inside out, 0 outside.
///
/// Counted along the ray that goes up from the point. Edges are half-open in y, and the side of the point on an edge is computed
/// with products that differ only in sign for its two triangles, so an edge right above the point is never counted twice. A point on
/// the surface itself may be counted either way.
pub(super) fn winding(mesh: &Mesh, triangles: &[u32], point: &Point) -> i64 {
    triangles
        .iter()
        .map(|&number| {
            above(
                &mesh
                    .triangle(&mesh.triangles[number as usize])
                    .map(|corner| minus(&corner, point)),
            )
        })
        .sum()
}

/// 1 or -1 where a triangle, seen from the origin, lies above it, with its front or its back up; else 0.
fn above([a, b, c]: &[Point; 3]) -> i64 {
    let around = passes(a, b) + passes(b, c) + passes(c, a);
    if around == 0 {
        return 0;
    }
    let normal = cross(&minus(b, a), &minus(c, a));
    let height = a[2] + (normal[0] * a[0] + normal[1] * a[1]) / normal[2];
    if height > 0.0 { around } else { 0 }
}

/// How an edge passes the origin in the plan view: 1 upwards on its right side, -1 downwards, 0 elsewhere.
fn passes(from: &Point, to: &Point) -> i64 {
    let side = from[0] * to[1] - from[1] * to[0];
    match (from[1] <= 0.0, to[1] <= 0.0) {
        (true, false) if side > 0.0 => 1,
        (false, true) if side < 0.0 => -1,
        _ => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::super::shapes::{cuboid, mesh_of};
    use super::*;

    #[test]
    fn inside_outside_and_inside_out() {
        let cube = mesh_of(&cuboid([0.0; 3], [2.0; 3]));
        let all: Vec<u32> = (0..12).collect();
        assert_eq!(winding(&cube, &all, &[0.5, 1.5, 0.25]), 1);
        // Right below an edge shared by two triangles.
        assert_eq!(winding(&cube, &all, &[1.0, 1.0, 1.0]), 1);
        for outside in [[1.0, 1.0, -1.0], [1.0, 1.0, 3.0], [3.0, 1.0, 1.0], [1.0, -1.0, 1.0]] {
            assert_eq!(winding(&cube, &all, &outside), 0, "{outside:?}");
        }
        let turned: Vec<_> =
            cuboid([0.0; 3], [2.0; 3]).iter().map(|[a, b, c]| [*a, *c, *b]).collect();
        assert_eq!(winding(&mesh_of(&turned), &all, &[1.0, 1.0, 1.0]), -1);
    }
}
