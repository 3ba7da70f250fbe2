//! One vector of numbers for the slots of a scenario.

use crate::model::{Dim, Exact, Input, Slot, Slots};

/// The numbers of one run, by slot: exact, and where they are times, quantities or counts also whole.
#[derive(Clone, Debug)]
pub struct Values {
    exact: Vec<Exact>,
    whole: Vec<i64>,
}

impl Values {
    /// The likely value of every slot: what a planning run uses.
    pub fn planning(slots: &Slots) -> Values {
        let mut values = Values {
            exact: Vec::with_capacity(slots.len()),
            whole: Vec::with_capacity(slots.len()),
        };
        for (_, input) in slots.iter() {
            let (exact, whole) = enter(input, input.likely);
            values.exact.push(exact);
            values.whole.push(whole);
        }
        values
    }

    /// Puts another number into one slot: a probe.
    pub fn set(&mut self, slots: &Slots, slot: Slot, value: Exact) {
        let (exact, whole) = enter(slots.get(slot), value);
        self.exact[slot.index()] = exact;
        self.whole[slot.index()] = whole;
    }

    /// Takes over the number in one slot.
    pub fn copy(&mut self, slot: Slot, from: &Values) {
        self.exact[slot.index()] = from.exact[slot.index()];
        self.whole[slot.index()] = from.whole[slot.index()];
    }

    /// Puts a drawn number into one slot: rounded half up to whole seconds, days and counts, to millionths, or to twelve significant digits,
    /// which is far finer than any spread.
    pub fn draw(&mut self, slots: &Slots, slot: Slot, value: f64) {
        let (exact, whole) = match slots.get(slot).dim {
            Dim::Count => {
                let whole = half_up(value);
                (Exact::from(whole), whole)
            }
            Dim::Time => (drawn(value), half_up(value)),
            Dim::Volume | Dim::Mass | Dim::Area | Dim::Length | Dim::Pieces => {
                let whole = half_up(value * 1e6);
                (Exact::from_millionths(whole), whole)
            }
            _ => (drawn(value), 0),
        };
        self.exact[slot.index()] = exact;
        self.whole[slot.index()] = whole;
    }

    /// The number in base units. Quantities are already rounded to whole millionths.
    pub fn exact(&self, slot: Slot) -> Exact {
        self.exact[slot.index()]
    }

    /// Times in whole seconds, quantities in whole millionths, counts as they are; 0 for anything else.
    pub fn whole(&self, slot: Slot) -> i64 {
        self.whole[slot.index()]
    }

    /// The number in an optional slot, or 0.
    pub fn exact_or_zero(&self, slot: Option<Slot>) -> Exact {
        slot.map_or(Exact::ZERO, |s| self.exact(s))
    }

    /// The whole number in an optional slot, or 0.
    pub fn whole_or_zero(&self, slot: Option<Slot>) -> i64 {
        slot.map_or(0, |s| self.whole(s))
    }
}

/// The nearest whole number; a tie goes up.
#[expect(clippy::cast_possible_truncation, reason = "numbers are bounded where they are loaded")]
fn half_up(value: f64) -> i64 {
    (value + 0.5).floor() as i64
}

/// A drawn number with twelve digits behind its leading power of ten.
#[expect(clippy::cast_possible_truncation, reason = "twelve digits fit")]
fn drawn(value: f64) -> Exact {
    const SCALES: [f64; 13] = [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12];
    let size = value.abs();
    let decimals = (0..12u32).find(|&d| size * SCALES[d as usize] >= 1e11).unwrap_or(12);
    let digits = (value * SCALES[decimals as usize]).round() as i64;
    Exact::with_decimals(digits, decimals)
}

/// Rounds a number where it enters: times to whole seconds (the exact value is kept for coefficients), quantities to millionths.
fn enter(input: &Input, value: Exact) -> (Exact, i64) {
    match input.dim {
        Dim::Time | Dim::Count => (value, value.to_whole()),
        Dim::Volume | Dim::Mass | Dim::Area | Dim::Length | Dim::Pieces => {
            let whole = value.to_millionths();
            (Exact::from_millionths(whole), whole)
        }
        Dim::Share
        | Dim::Power
        | Dim::Density
        | Dim::Money
        | Dim::Rate
        | Dim::Pace
        | Dim::Ratio => (value, 0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{SourceId, Varies, e};

    fn input(dim: Dim, likely: &str) -> Input {
        let likely = e(likely);
        Input {
            address: String::new(),
            source: SourceId(0),
            dim,
            low: likely,
            likely,
            high: likely,
            varies: Varies::Once,
            assumed: false,
        }
    }

    #[test]
    fn quantities_are_rounded_where_they_enter_and_coefficients_are_not() {
        let mut slots = Slots::default();
        let volume = slots.add(input(Dim::Volume, "92.1234567"));
        let time = slots.add(input(Dim::Time, "89.5"));
        let pace = slots.add(input(Dim::Pace, "8.54"));
        let values = Values::planning(&slots);
        assert_eq!(values.whole(volume), 92_123_457);
        assert_eq!(values.exact(volume).to_string(), "92.123457");
        assert_eq!(values.whole(time), 90);
        assert_eq!(values.exact(pace).to_string(), "8.54");
    }

    #[test]
    fn a_probe_changes_one_number() {
        let mut slots = Slots::default();
        let a = slots.add(input(Dim::Count, "6"));
        let b = slots.add(input(Dim::Count, "2"));
        let mut values = Values::planning(&slots);
        values.set(&slots, a, Exact::from(9i64));
        assert_eq!((values.whole(a), values.whole(b)), (9, 2));
    }
}
