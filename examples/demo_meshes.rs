//! Makes the two meshes of the demo scenario: `cargo run --example demo_meshes -- FOLDER`.
//!
//! The sensor collar is the level set of a periodic implicit function (a gyroid, A. Schoen 1970) between an oval outside and a bore,
//! with a solid rim at each end; the cable boot is a body of revolution. Only additions, multiplications, divisions and square roots
//! are used, so the files are the same on every machine. Both are checked before they are written.

use std::error::Error;
use std::fs;
use std::path::Path;

use flipcount::mesh::{Point, Triangle, Welder, check};

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args().nth(1).ok_or("expected a folder to write to")?;
    for (name, triangles) in meshes() {
        let path = Path::new(&folder).join(name).with_extension("stl");
        let file = stl(name, &triangles)?;
        println!("{}: {}", path.display(), describe(&triangles)?);
        fs::write(path, file)?;
    }
    Ok(())
}

fn meshes() -> [(&'static str, Vec<Triangle>); 2] {
    [("sensor-collar", collar()), ("cable-boot", boot())]
}

/// The name and the bytes of a mesh file.
type Named = (&'static str, Vec<u8>);

/// The files by name, as a test compares them with the committed ones.
#[allow(dead_code, reason = "only a test calls it")]
pub(crate) fn files() -> Result<Vec<Named>, Box<dyn Error>> {
    meshes().into_iter().map(|(name, triangles)| Ok((name, stl(name, &triangles)?))).collect()
}

/// Checks a mesh and says what it is.
fn describe(triangles: &[Triangle]) -> Result<String, Box<dyn Error>> {
    let mut welder = Welder::with_room_for(triangles.len());
    for triangle in triangles {
        welder.add(&triangle.map(|corner| corner.map(as_written)))?;
    }
    let found = check(&welder.finish()?)?;
    let volume = found.volume()?;
    let [x, y, z] = found.measure.bounds.size();
    let holes: Vec<i64> = found.shells.iter().map(|shell| (2 - shell.euler()) / 2).collect();
    Ok(format!(
        "{} triangles, {:.3} cm3, {:.2} cm2, {x:.3} x {y:.3} x {z:.3} mm, {} shells, {holes:?} holes through, {} degenerate",
        found.measure.triangles,
        volume / 1000.0,
        found.measure.area / 100.0,
        found.shells.len(),
        found.measure.degenerate,
    ))
}

/// A coordinate as the file will hold it.
#[expect(clippy::cast_possible_truncation, reason = "the format has 32-bit numbers")]
fn as_written(coordinate: f64) -> f64 {
    f64::from(coordinate as f32)
}

/// A binary STL.
#[expect(clippy::cast_possible_truncation, reason = "the format has 32-bit numbers")]
fn stl(name: &str, triangles: &[Triangle]) -> Result<Vec<u8>, Box<dyn Error>> {
    let mut file = format!("{name:<80}").into_bytes();
    file.extend(u32::try_from(triangles.len())?.to_le_bytes());
    for triangle in triangles {
        for coordinate in normal(triangle).iter().chain(triangle.as_flattened()) {
            file.extend((*coordinate as f32).to_le_bytes());
        }
        file.extend([0; 2]);
    }
    Ok(file)
}

fn normal([a, b, c]: &Triangle) -> Point {
    let side = |p: &Point| [p[0] - a[0], p[1] - a[1], p[2] - a[2]];
    let ([ux, uy, uz], [vx, vy, vz]) = (side(b), side(c));
    let n = [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
    let length = n.iter().map(|x| x * x).sum::<f64>().sqrt();
    n.map(|x| x / length)
}

/// Sine of a number of turns, by a series: system libraries differ in the last digit.
fn sine(turns: f64) -> f64 {
    // Into the quarter turns around 0, where eight terms are enough.
    let part = turns - turns.round();
    let part = if part > 0.25 {
        0.5 - part
    } else if part < -0.25 {
        -0.5 - part
    } else {
        part
    };
    let angle = part * std::f64::consts::TAU;
    let (mut term, mut sum) = (angle, angle);
    for step in 1..9 {
        let step = f64::from(step);
        term *= -angle * angle / (2.0 * step * (2.0 * step + 1.0));
        sum += term;
    }
    sum
}

fn cosine(turns: f64) -> f64 {
    sine(turns + 0.25)
}

// The collar.

/// Half of length and width, and the height, in mm.
const OUTSIDE: [f64; 2] = [40.0, 38.0];
const HEIGHT: f64 = 34.0;
/// Half of the bore's length and width.
const BORE: [f64; 2] = [20.5, 18.5];
/// Height of the solid rim at each end.
const RIM: f64 = 4.0;
/// Length of the lattice's period, and where in it the wall ends: larger is thicker.
const PERIOD: f64 = 16.0;
const LEVEL: f64 = 0.174;
/// How near two surfaces come before their edge is rounded.
const ROUND: f64 = 2.0;
/// Distance of the grid's points.
const STEP: f64 = 1.6;

/// Less than zero inside of the collar.
fn collar_field([x, y, z]: Point) -> f64 {
    let oval = |half: [f64; 2]| {
        (((x / half[0]) * (x / half[0]) + (y / half[1]) * (y / half[1])).sqrt() - 1.0) * half[1]
    };
    let ends = (-z).max(z - HEIGHT);
    let ring = rounded_max(rounded_max(oval(OUTSIDE), -oval(BORE)), ends);
    let [u, v, w] = [x / PERIOD, y / PERIOD, z / PERIOD];
    let gyroid = sine(u) * cosine(v) + sine(v) * cosine(w) + sine(w) * cosine(u);
    // The gyroid's slope is about 1.5 turns of 2 pi in a period; so it becomes a length, as the others are.
    let lattice = (gyroid - LEVEL) * PERIOD / (1.5 * std::f64::consts::TAU);
    let rim = (z - RIM).min(HEIGHT - RIM - z);
    rounded_max(ring, -rounded_max(-lattice, -rim))
}

/// The larger of two, with the edge between them rounded off: the grid would make saw teeth of a sharp one.
fn rounded_max(a: f64, b: f64) -> f64 {
    let near = (ROUND - (a - b).abs()).max(0.0);
    a.max(b) + near * near / (4.0 * ROUND)
}

fn collar() -> Vec<Triangle> {
    // The grid reaches past the collar on all sides, by a share of a step, so that no flat face falls on grid points.
    let low = [-OUTSIDE[0] - 0.6 * STEP, -OUTSIDE[1] - 0.6 * STEP, -0.6 * STEP];
    let high = [OUTSIDE[0], OUTSIDE[1], HEIGHT];
    let mut grid = Grid::sample(low, high, collar_field);
    grid.keep_largest();
    grid.surface()
}

/// Values of a field at the points of a grid.
struct Grid {
    low: Point,
    counts: [usize; 3],
    values: Vec<f64>,
}

impl Grid {
    fn sample(low: Point, high: Point, field: impl Fn(Point) -> f64) -> Self {
        let mut counts = [0; 3];
        for (axis, count) in counts.iter_mut().enumerate() {
            while low[axis] + STEP * (as_number(*count) - 1.6) < high[axis] {
                *count += 1;
            }
        }
        let mut grid = Self { low, counts, values: Vec::new() };
        grid.values = (0..counts.iter().product()).map(|node| field(grid.place(node))).collect();
        grid
    }

    fn cell(&self, node: usize) -> [usize; 3] {
        let [x, y, _] = self.counts;
        [node % x, node / x % y, node / x / y]
    }

    fn place(&self, node: usize) -> Point {
        let cell = self.cell(node);
        [0, 1, 2].map(|axis| self.low[axis] + STEP * as_number(cell[axis]))
    }

    /// The node a corner of a cell is at: bit `axis` of `corner` steps along that axis.
    fn corner(&self, node: usize, corner: usize) -> usize {
        let [x, y, _] = self.counts;
        node + (corner & 1) + (corner >> 1 & 1) * x + (corner >> 2) * x * y
    }

    fn inside(&self, node: usize) -> bool {
        self.values[node] < 0.0
    }

    /// Leaves one body and one outside: cut-off crumbs go, and closed bubbles are filled.
    fn keep_largest(&mut self) {
        for wanted in [true, false] {
            let groups = self.groups(wanted);
            let largest = groups.iter().max_by_key(|group| group.len()).map(|group| group[0]);
            for group in groups.iter().filter(|group| Some(group[0]) != largest) {
                group.iter().for_each(|&node| self.values[node] = -self.values[node]);
            }
        }
    }

    /// Nodes on one side of the surface that hang together along edges of the tetrahedra.
    fn groups(&self, inside: bool) -> Vec<Vec<usize>> {
        let mut seen = vec![false; self.values.len()];
        let mut groups = Vec::new();
        for start in 0..seen.len() {
            if seen[start] || self.inside(start) != inside {
                continue;
            }
            seen[start] = true;
            let mut group = vec![start];
            let mut next = 0;
            while let Some(&node) = group.get(next) {
                next += 1;
                for other in self.neighbours(node) {
                    if !seen[other] && self.inside(other) == inside {
                        seen[other] = true;
                        group.push(other);
                    }
                }
            }
            groups.push(group);
        }
        groups
    }

    fn neighbours(&self, node: usize) -> impl Iterator<Item = usize> {
        let cell = self.cell(node);
        (1..8).flat_map(move |corner| {
            let along = |axis: usize| corner >> axis & 1 == 1;
            let up = (0..3).all(|axis| !along(axis) || cell[axis] + 1 < self.counts[axis]);
            let down = (0..3).all(|axis| !along(axis) || cell[axis] > 0);
            let step = self.corner(0, corner);
            [up.then(|| node + step), down.then(|| node - step)].into_iter().flatten()
        })
    }

    /// The surface between inside and outside, by marching tetrahedra: each cell is cut into six around its long diagonal, alike in
    /// all cells, so that they meet face to face and the surface is closed wherever the grid's rim is outside.
    fn surface(&self) -> Vec<Triangle> {
        let mut triangles = Vec::new();
        for node in 0..self.values.len() {
            let cell = self.cell(node);
            if (0..3).all(|axis| cell[axis] + 1 < self.counts[axis]) {
                for tetrahedron in TETRAHEDRA {
                    self.cut(tetrahedron.map(|corner| self.corner(node, corner)), &mut triangles);
                }
            }
        }
        triangles
    }

    /// The part of the surface in a tetrahedron whose corners turn right-handed.
    fn cut(&self, corners: [usize; 4], triangles: &mut Vec<Triangle>) {
        let [a, b, c, d] = corners;
        let at = |p: usize, q: usize| self.crossing(p, q);
        let lone = |[p, q, r, s]: [usize; 4]| [at(p, q), at(p, r), at(p, s)];
        let turned = |[p, q, r]: Triangle| [p, r, q];
        let mut two = |[p, q, r, s]: [usize; 4]| {
            triangles.extend([[at(p, r), at(p, s), at(q, s)], [at(p, r), at(q, s), at(q, r)]]);
        };
        match corners.map(|corner| self.inside(corner)) {
            [true, true, false, false] => two([a, b, c, d]),
            [true, false, true, false] => two([a, c, d, b]),
            [true, false, false, true] => two([a, d, b, c]),
            [false, false, true, true] => two([c, d, a, b]),
            [false, true, false, true] => two([d, b, a, c]),
            [false, true, true, false] => two([b, c, a, d]),
            [true, false, false, false] => triangles.push(lone([a, b, c, d])),
            [false, true, false, false] => triangles.push(lone([b, a, d, c])),
            [false, false, true, false] => triangles.push(lone([c, a, b, d])),
            [false, false, false, true] => triangles.push(lone([d, a, c, b])),
            [false, true, true, true] => triangles.push(turned(lone([a, b, c, d]))),
            [true, false, true, true] => triangles.push(turned(lone([b, a, d, c]))),
            [true, true, false, true] => triangles.push(turned(lone([c, a, b, d]))),
            [true, true, true, false] => triangles.push(turned(lone([d, a, c, b]))),
            [true, true, true, true] | [false, false, false, false] => {}
        }
    }

    /// Where the surface meets an edge: from the lower node to the higher, so that all tetrahedra there agree bit for bit, and not
    /// at a node itself, where several would fall together.
    fn crossing(&self, p: usize, q: usize) -> Point {
        let (p, q) = (p.min(q), p.max(q));
        let share = (self.values[p] / (self.values[p] - self.values[q])).clamp(0.05, 0.95);
        let (from, to) = (self.place(p), self.place(q));
        [0, 1, 2].map(|axis| from[axis] + share * (to[axis] - from[axis]))
    }
}

/// The six tetrahedra of a cell: ways from corner 0 to corner 7 along the axes, all right-handed.
const TETRAHEDRA: [[usize; 4]; 6] =
    [[0, 1, 3, 7], [0, 2, 6, 7], [0, 4, 5, 7], [0, 3, 2, 7], [0, 6, 4, 7], [0, 5, 1, 7]];

/// Counts here are far below 2^32.
fn as_number(count: usize) -> f64 {
    f64::from(u32::try_from(count).unwrap_or(u32::MAX))
}

// The boot.

/// Corners around the axis, and steps along the tube.
const SIDES: usize = 48;
const TUBE_STEPS: usize = 30;
/// Radius and height of the flange, and height of the boot, in mm.
const FLANGE: [f64; 2] = [19.0, 4.0];
const BOOT_HEIGHT: f64 = 52.0;
/// Middle of the wall at both ends of the tube, half its thickness, and its folds: how many, and how far they reach.
const WALL: [f64; 2] = [12.8, 7.6];
const HALF_THICK: f64 = 1.79;
const FOLDS: f64 = 5.0;
const FOLD_REACH: f64 = 1.57;

/// The outline from the axis' point of view: radius and height, up the outside and down the inside.
fn outline() -> Vec<[f64; 2]> {
    let middle =
        |share: f64| WALL[0] + share * (WALL[1] - WALL[0]) + FOLD_REACH * sine(FOLDS * share);
    let at = |step: usize, side: f64, low: f64| {
        let share = as_number(step) / as_number(TUBE_STEPS);
        [middle(share) + side * HALF_THICK, low + share * (BOOT_HEIGHT - low)]
    };
    let mut outline = vec![[FLANGE[0], 0.0], FLANGE];
    outline.extend((0..=TUBE_STEPS).map(|step| at(step, 1.0, FLANGE[1])));
    outline.extend((0..=TUBE_STEPS).rev().map(|step| at(step, -1.0, FLANGE[1])));
    outline.push([WALL[0] - HALF_THICK, 0.0]);
    outline
}

fn boot() -> Vec<Triangle> {
    let outline = outline();
    let at = |place: usize, side: usize| {
        let [radius, height] = outline[place % outline.len()];
        // Whole sides only, so that the last meets the first bit for bit.
        let turns = as_number(side % SIDES) / as_number(SIDES);
        [radius * cosine(turns), radius * sine(turns), height]
    };
    (0..outline.len())
        .flat_map(|place| (0..SIDES).map(move |side| (place, side)))
        .flat_map(|(place, side)| {
            let (a, b) = (at(place, side), at(place, side + 1));
            let (c, d) = (at(place + 1, side), at(place + 1, side + 1));
            [[a, b, d], [a, d, c]]
        })
        .collect()
}
