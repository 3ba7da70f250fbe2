//! Shapes for tests: sizes go in, triangles wound outwards come out.

use super::{Mesh, Point, Triangle, Welder};

/// The welded mesh of some triangles.
pub(super) fn mesh_of(triangles: &[Triangle]) -> Mesh {
    let mut welder = Welder::default();
    for triangle in triangles {
        welder.add(triangle).unwrap();
    }
    welder.finish().unwrap()
}

/// The same triangles as a binary STL (coordinates are rounded to 32 bits).
#[expect(clippy::cast_possible_truncation, reason = "the format has 32-bit numbers")]
pub(super) fn stl_of(triangles: &[Triangle]) -> Vec<u8> {
    let mut file = vec![0; 80];
    file.extend(u32::try_from(triangles.len()).unwrap().to_le_bytes());
    for triangle in triangles {
        file.extend([0; 12]);
        for coordinate in triangle.as_flattened() {
            file.extend((*coordinate as f32).to_le_bytes());
        }
        file.extend([0; 2]);
    }
    file
}

/// A box of twelve triangles.
pub(super) fn cuboid(min: Point, max: Point) -> Vec<Triangle> {
    let corner =
        |i: usize| [0, 1, 2].map(|axis| if i >> axis & 1 == 0 { min[axis] } else { max[axis] });
    let faces =
        [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    faces
        .into_iter()
        .flat_map(|[a, b, c, d]| [[a, b, c], [a, c, d]])
        .map(|t| t.map(corner))
        .collect()
}

/// A right prism or frustum about z: `bottom` and `top` are the distances of the corners from the axis.
pub(super) fn frustum(sides: u32, bottom: f64, top: f64, height: f64) -> Vec<Triangle> {
    let at = |i: u32, radius: f64, z: f64| {
        let angle = std::f64::consts::TAU * (f64::from(i % sides) + 0.5) / f64::from(sides);
        [radius * angle.cos(), radius * angle.sin(), z]
    };
    let (low, high) = ([0.0; 3], [0.0, 0.0, height]);
    (0..sides)
        .flat_map(|i| {
            let (a, b) = (at(i, bottom, 0.0), at(i + 1, bottom, 0.0));
            let (c, d) = (at(i, top, height), at(i + 1, top, height));
            [[low, b, a], [high, c, d], [a, b, d], [a, d, c]]
        })
        .collect()
}

/// A sphere about a centre: an icosahedron, each side halved `times` times, its corners on the sphere.
pub(super) fn sphere(centre: Point, radius: f64, times: u32) -> Vec<Triangle> {
    let mut triangles = icosahedron();
    for _ in 0..times {
        triangles = triangles.iter().flat_map(split).collect();
    }
    let place = |p: Point| [0, 1, 2].map(|axis| centre[axis] + radius * p[axis]);
    triangles.into_iter().map(|t| t.map(place)).collect()
}

fn icosahedron() -> Vec<Triangle> {
    let long = f64::midpoint(1.0, 5.0_f64.sqrt());
    let mut corners = Vec::new();
    for (a, b) in [(1.0, long), (-1.0, long), (1.0, -long), (-1.0, -long)] {
        corners.extend([[0.0, a, b], [a, b, 0.0], [b, 0.0, a]]);
    }
    let near = |a: &Point, b: &Point| {
        (a.iter().zip(b).map(|(x, y)| (x - y) * (x - y)).sum::<f64>() - 4.0).abs() < 1e-9
    };
    let mut triangles = Vec::new();
    for (i, a) in corners.iter().enumerate() {
        for (j, b) in corners.iter().enumerate().skip(i + 1).filter(|(_, b)| near(a, b)) {
            for c in corners.iter().skip(j + 1).filter(|c| near(a, c) && near(b, c)) {
                let triangle = [*a, *b, *c].map(on_sphere);
                triangles.push(outwards(triangle));
            }
        }
    }
    triangles
}

fn outwards([a, b, c]: Triangle) -> Triangle {
    use super::sums::{cross, dot};
    if dot(&a, &cross(&b, &c)) > 0.0 { [a, b, c] } else { [a, c, b] }
}

fn split([a, b, c]: &Triangle) -> [Triangle; 4] {
    // a + b is b + a, so both triangles at an edge get the same middle.
    let middle = |p: &Point, q: &Point| on_sphere([0, 1, 2].map(|axis| p[axis] + q[axis]));
    let (ab, bc, ca) = (middle(a, b), middle(b, c), middle(c, a));
    [[*a, ab, ca], [ab, *b, bc], [ca, bc, *c], [ab, bc, ca]]
}

fn on_sphere(p: Point) -> Point {
    let length = p.iter().map(|x| x * x).sum::<f64>().sqrt();
    p.map(|x| x / length)
}

/// Each corner moved.
pub(super) fn moved(triangles: &[Triangle], to: impl Fn(Point) -> Point) -> Vec<Triangle> {
    triangles.iter().map(|t| t.map(&to)).collect()
}
