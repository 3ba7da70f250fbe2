//! Plate packing: rectangles on plates, turned by 0 or 90 degrees. As found, not proven least.
//!
//! Pieces come by falling area, then part name; each goes to the first plate it fits on, else to a new one. On a plate the free room is
//! kept as maximal free rectangles; a piece goes where the shorter side left over is least (then the longer, then the lower, then the
//! further left place, then unturned). Sizes are tenths of a millimetre, pieces rounded up and plates down.

use crate::model::PartId;

/// Millionths of a millimetre in a tenth of one.
const TENTH: i64 = 100_000;

/// A footprint to be packed, in millionths of mm.
#[derive(Clone, Copy, Debug)]
pub struct Footprint {
    /// The part it belongs to.
    pub part: PartId,
    /// Length and width, gap included.
    pub size: [i64; 2],
    /// How many of them.
    pub copies: i64,
}

/// A rectangle in tenths of mm.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Rect {
    x: i64,
    y: i64,
    w: i64,
    h: i64,
}

impl Rect {
    fn holds(&self, other: &Rect) -> bool {
        self.x <= other.x
            && self.y <= other.y
            && self.x + self.w >= other.x + other.w
            && self.y + self.h >= other.y + other.h
    }

    fn meets(&self, other: &Rect) -> bool {
        self.x < other.x + other.w
            && other.x < self.x + self.w
            && self.y < other.y + other.h
            && other.y < self.y + self.h
    }
}

/// What decides between places, least first: shorter side left over, longer side, then y, x, and turned.
type Left = (i64, i64, i64, i64, bool);

/// A plate as it fills: what lies on it and what is free.
#[derive(Clone, Debug)]
struct Plate {
    free: Vec<Rect>,
    pieces: Vec<PartId>,
}

/// Packs footprints on as many plates as it takes; returns the pieces of each plate in the order they were laid. A footprint that fits no empty
/// plate is left out: it has been ruled out before.
pub fn pack(footprints: &[Footprint], plate: [i64; 2]) -> Vec<Vec<PartId>> {
    let (width, height) = (plate[0] / TENTH, plate[1] / TENTH);
    let mut order: Vec<(PartId, i64, i64, i64)> =
        footprints.iter().map(|f| (f.part, up(f.size[0]), up(f.size[1]), f.copies)).collect();
    order.sort_by_key(|&(part, w, h, _)| (std::cmp::Reverse(w.saturating_mul(h)), part));
    let mut plates: Vec<Plate> = Vec::new();
    for (part, w, h, copies) in order {
        // Plates only fill up: one that has refused this footprint need not be asked again.
        let mut from = 0;
        for _ in 0..copies {
            while from < plates.len() && !plates[from].lay(part, w, h) {
                from += 1;
            }
            if from < plates.len() {
                continue;
            }
            let mut fresh =
                Plate { free: vec![Rect { x: 0, y: 0, w: width, h: height }], pieces: Vec::new() };
            if !fresh.lay(part, w, h) {
                break;
            }
            plates.push(fresh);
        }
    }
    plates.into_iter().map(|p| p.pieces).collect()
}

fn up(size: i64) -> i64 {
    size.div_euclid(TENTH) + i64::from(size % TENTH != 0)
}

impl Plate {
    /// Lays a piece where it leaves the shortest side over; false where it does not fit.
    fn lay(&mut self, part: PartId, w: i64, h: i64) -> bool {
        let mut best: Option<(Left, Rect)> = None;
        for free in &self.free {
            for (turned, w, h) in [(false, w, h), (true, h, w)] {
                if w > free.w || h > free.h {
                    continue;
                }
                let (a, b) = (free.w - w, free.h - h);
                let key = (a.min(b), a.max(b), free.y, free.x, turned);
                if best.is_none_or(|(least, _)| key < least) {
                    best = Some((key, Rect { x: free.x, y: free.y, w, h }));
                }
            }
        }
        let Some((_, place)) = best else {
            return false;
        };
        self.take(place);
        self.pieces.push(part);
        true
    }

    /// Cuts a place out of every free rectangle it meets, and keeps those that lie in no other.
    fn take(&mut self, place: Rect) {
        let mut left: Vec<Rect> = Vec::with_capacity(self.free.len() + 4);
        for free in std::mem::take(&mut self.free) {
            if free.meets(&place) {
                left.extend(around(free, place));
            } else {
                left.push(free);
            }
        }
        for index in 0..left.len() {
            let held = |other: usize| {
                other != index
                    && left[other].holds(&left[index])
                    && (left[other] != left[index] || other < index)
            };
            if !(0..left.len()).any(held) {
                self.free.push(left[index]);
            }
        }
    }
}

/// What is left of a free rectangle round a place in it.
fn around(free: Rect, place: Rect) -> impl Iterator<Item = Rect> {
    let right = free.x + free.w - (place.x + place.w);
    let above = free.y + free.h - (place.y + place.h);
    [
        Rect { w: place.x - free.x, ..free },
        Rect { x: place.x + place.w, w: right, ..free },
        Rect { h: place.y - free.y, ..free },
        Rect { y: place.y + place.h, h: above, ..free },
    ]
    .into_iter()
    .filter(|r| r.w > 0 && r.h > 0)
}

#[cfg(test)]
mod tests {
    use super::*;

    const MM: i64 = 1_000_000;

    fn footprint(part: u16, size: [i64; 2], copies: i64) -> Footprint {
        Footprint { part: PartId(part), size: size.map(|s| s * MM), copies }
    }

    #[test]
    fn four_quarters_fill_a_plate_and_the_fifth_needs_another() {
        let plates = pack(&[footprint(0, [50, 50], 5)], [100 * MM, 100 * MM]);
        assert_eq!(plates.iter().map(Vec::len).collect::<Vec<_>>(), [4, 1]);
    }

    #[test]
    fn a_piece_is_turned_where_it_only_fits_turned() {
        assert_eq!(pack(&[footprint(0, [30, 90], 1)], [100 * MM, 40 * MM]).len(), 1);
        assert!(pack(&[footprint(0, [101, 10], 1)], [100 * MM, 40 * MM]).is_empty());
    }

    #[test]
    fn larger_pieces_come_first_and_small_ones_fill_the_gaps() {
        let plates =
            pack(&[footprint(0, [20, 20], 2), footprint(1, [80, 60], 1)], [100 * MM, 60 * MM]);
        assert_eq!(plates, [vec![PartId(1), PartId(0), PartId(0)]]);
    }

    #[test]
    fn no_piece_overlaps_another_or_leaves_the_plate() {
        // Every placed area together stays within the plates, for many sizes.
        let sizes: Vec<Footprint> = (0..40)
            .map(|i| footprint(i, [10 + i64::from(i % 7) * 5, 12 + i64::from(i % 5) * 6], 5))
            .collect();
        let plates = pack(&sizes, [190 * MM, 120 * MM]);
        assert_eq!(plates.iter().map(Vec::len).sum::<usize>(), 200);
        for plate in &plates {
            let area: i64 = plate
                .iter()
                .map(|p| sizes[p.index()].size)
                .map(|s| (s[0] / MM) * (s[1] / MM))
                .sum();
            assert!(area <= 190 * 120);
        }
    }
}
