//! Sums over triangles: blocks of them go in, volume, area, box and the number of degenerate ones come out.
//!
//! Triangles are laid out in blocks, one array per coordinate, since the compiler then works on several at once (six times faster
//! than one by one). The order of every sum is fixed by the number of triangles alone: terms go round [`LANES`] sums within a chunk of
//! [`CHUNK`], and the chunks are added in order with a compensated sum. So neither threads nor a long file cost digits.

use super::{Bounds, Measure, MeshError, Point};

/// Triangles in a chunk.
pub(super) const CHUNK: usize = 4096;

/// Triangles in a block; a chunk is a whole number of them.
pub(super) const WIDTH: usize = 32;

/// Sums that take turns, so that one addition need not wait for the last.
const LANES: usize = 4;

/// Some triangles, one array for each of the nine coordinates.
#[derive(Clone, Debug)]
pub(super) struct Block<T>([[T; WIDTH]; 9]);

impl<T: Copy> Block<T> {
    /// A block of equal triangles.
    pub(super) fn filled(triangle: [T; 9]) -> Self {
        Self(triangle.map(|coordinate| [coordinate; WIDTH]))
    }

    /// Puts a triangle's coordinates at a place below [`WIDTH`].
    #[inline(always)]
    pub(super) fn set(&mut self, place: usize, coordinates: impl Iterator<Item = T>) {
        for (row, coordinate) in self.0.iter_mut().zip(coordinates) {
            row[place] = coordinate;
        }
    }
}

/// A coordinate as files hold it: 32 or 64 bits, both exact in 64.
pub(super) trait Number: Copy + PartialOrd + Into<f64> {
    /// Above all numbers.
    const INFINITY: Self;
    /// Below all numbers.
    const NEG_INFINITY: Self;
}

impl Number for f32 {
    const INFINITY: Self = Self::INFINITY;
    const NEG_INFINITY: Self = Self::NEG_INFINITY;
}

impl Number for f64 {
    const INFINITY: Self = Self::INFINITY;
    const NEG_INFINITY: Self = Self::NEG_INFINITY;
}

/// The sums of a chunk that is under way, relative to the reference point.
#[derive(Clone, Debug)]
pub(super) struct Chunk<T> {
    volume6: [f64; LANES],
    area2: [f64; LANES],
    /// Least of each coordinate, in lanes too.
    low: [[T; LANES]; 9],
    high: [[T; LANES]; 9],
    triangles: u64,
    degenerate: u64,
}

impl<T: Number> Chunk<T> {
    /// Nothing yet.
    pub(super) const EMPTY: Self = Self {
        volume6: [0.0; LANES],
        area2: [0.0; LANES],
        low: [[T::INFINITY; LANES]; 9],
        high: [[T::NEG_INFINITY; LANES]; 9],
        triangles: 0,
        degenerate: 0,
    };

    /// Adds the first `used` triangles of a block. The others are overwritten.
    pub(super) fn add(&mut self, block: &mut Block<T>, used: usize, reference: &Point) {
        if used < WIDTH {
            pad(block, used);
        }
        let (volume6, area2) = terms(block, reference);
        add_lanes(&mut self.volume6, &volume6);
        add_lanes(&mut self.area2, &area2);
        let flat = |areas: &[f64]| areas.iter().map(|&area| u64::from(area == 0.0)).sum::<u64>();
        self.degenerate += flat(&area2) - flat(&area2[used..]);
        self.triangles += used as u64;
        for ((row, low), high) in block.0.iter().zip(&mut self.low).zip(&mut self.high) {
            widen(row, low, high);
        }
    }

    /// The sums.
    pub(super) fn finish(&self) -> Partial {
        let mut bounds = Bounds::EMPTY;
        let corners = self.low.as_chunks::<3>().0.iter().chain(self.high.as_chunks::<3>().0);
        for [x, y, z] in corners {
            for lane in 0..LANES {
                bounds.take_in(&[x[lane].into(), y[lane].into(), z[lane].into()]);
            }
        }
        Partial {
            volume6: lanes(&self.volume6),
            area2: lanes(&self.area2),
            bounds,
            triangles: self.triangles,
            degenerate: self.degenerate,
        }
    }
}

/// The sums of one chunk, relative to the reference point.
#[derive(Clone, Copy, Debug)]
pub(super) struct Partial {
    volume6: f64,
    area2: f64,
    bounds: Bounds,
    triangles: u64,
    degenerate: u64,
}

impl Partial {
    /// Whether every coordinate was finite: NaN spoils the volume, infinity the box.
    pub(super) fn is_finite(&self) -> bool {
        self.volume6.is_finite() && self.area2.is_finite() && self.bounds.is_finite()
    }
}

/// Fills the unused places with a triangle of no area in a corner that is there.
fn pad<T: Number>(block: &mut Block<T>, used: usize) {
    let corner = [block.0[0][0], block.0[1][0], block.0[2][0]];
    for (row, coordinate) in block.0.iter_mut().zip(corner.into_iter().cycle()) {
        row[used..].fill(coordinate);
    }
}

/// Six times the tetrahedron, and twice the area, of each triangle: the cross product of two sides gives both.
#[inline(always)]
fn terms<T: Number>(block: &Block<T>, reference: &Point) -> ([f64; WIDTH], [f64; WIDTH]) {
    let (mut volume6, mut area2) = ([0.0; WIDTH], [0.0; WIDTH]);
    let [ax, ay, az, bx, by, bz, cx, cy, cz] = &block.0;
    for i in 0..WIDTH {
        let a: Point = [ax[i].into(), ay[i].into(), az[i].into()];
        let b: Point = [bx[i].into(), by[i].into(), bz[i].into()];
        let c: Point = [cx[i].into(), cy[i].into(), cz[i].into()];
        let normal = cross(&minus(&b, &a), &minus(&c, &a));
        volume6[i] = dot(&minus(&a, reference), &normal);
        area2[i] = dot(&normal, &normal).sqrt();
    }
    (volume6, area2)
}

/// Takes in a row. Not `min` and `max`: these comparisons become one instruction each, and let NaN pass, which the sums show.
#[inline(always)]
fn widen<T: Number>(row: &[T; WIDTH], low: &mut [T; LANES], high: &mut [T; LANES]) {
    for group in row.as_chunks::<LANES>().0 {
        for lane in 0..LANES {
            low[lane] = if group[lane] < low[lane] { group[lane] } else { low[lane] };
            high[lane] = if group[lane] > high[lane] { group[lane] } else { high[lane] };
        }
    }
}

/// Adds each term to the sum whose turn it is.
#[inline(always)]
fn add_lanes(sums: &mut [f64; LANES], terms: &[f64; WIDTH]) {
    for group in terms.as_chunks::<LANES>().0 {
        for (sum, term) in sums.iter_mut().zip(group) {
            *sum += term;
        }
    }
}

fn lanes(sums: &[f64; LANES]) -> f64 {
    (sums[0] + sums[1]) + (sums[2] + sums[3])
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

    /// Whether nothing was added yet.
    pub(super) fn is_empty(&self) -> bool {
        self.triangles == 0
    }

    pub(super) fn add(&mut self, part: &Partial) {
        self.volume6.add(part.volume6);
        self.area2.add(part.area2);
        self.bounds.take_in(&part.bounds.min);
        self.bounds.take_in(&part.bounds.max);
        self.triangles += part.triangles;
        self.degenerate += part.degenerate;
    }

    /// The whole, or why there is none.
    pub(super) fn finish(&self) -> Result<Measure, MeshError> {
        if self.is_empty() {
            return Err(MeshError::Empty);
        }
        let measure = Measure {
            volume: self.volume6.value() / 6.0,
            area: self.area2.value() / 2.0,
            // -0.0 becomes 0.0, as welding makes it.
            bounds: Bounds {
                min: self.bounds.min.map(|x| x + 0.0),
                max: self.bounds.max.map(|x| x + 0.0),
            },
            triangles: self.triangles,
            degenerate: self.degenerate,
        };
        if !(measure.volume.is_finite() && measure.area.is_finite()) {
            return Err(MeshError::Overflow);
        }
        Ok(measure)
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
