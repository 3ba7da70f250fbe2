//! Axes: from numbers to places, and the round numbers that are written at them.

use super::super::words::grouped;

/// From numbers to places, straight.
#[derive(Clone, Copy, Debug)]
pub(super) struct Scale {
    least: f64,
    place: f64,
    per: f64,
}

impl Scale {
    /// Puts `least` at one place and `most` at another. Where both are equal, all is at the first.
    pub fn new((least, most): (f64, f64), (place, other): (f64, f64)) -> Scale {
        let span = most - least;
        Scale { least, place, per: if span > 0.0 { (other - place) / span } else { 0.0 } }
    }

    /// The place of a number.
    pub fn at(self, value: f64) -> f64 {
        self.place + (value - self.least) * self.per
    }

    /// Places for a unit.
    pub fn per(self) -> f64 {
        self.per
    }

    /// The place of 0.
    pub fn zero(self) -> f64 {
        self.at(0.0)
    }
}

/// A step of 1, 2 or 5 times a power of ten of which about so many cover a span.
pub(super) fn round_step(span: f64, want: f64) -> f64 {
    let raw = span / want;
    if !(raw.is_finite() && raw > 0.0) {
        return 1.0;
    }
    let power = 10f64.powf(raw.log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0];
    let step = steps.into_iter().find(|s| s * power >= raw * 0.999_999);
    step.unwrap_or(10.0) * power
}

/// Round numbers from at most `least` to at least `most`, two or more; what is no number counts as nothing.
pub(super) fn ticks((least, most): (f64, f64), want: f64) -> Vec<f64> {
    let [least, most] = [least, most].map(|v| if v.is_finite() { v } else { 0.0 });
    let step = round_step(most - least, want);
    let first = (least / step + 1e-9).floor();
    let count = ((most / step - 1e-9).ceil() - first).clamp(1.0, 50.0);
    (0..=50u8).map(f64::from).take_while(|n| *n <= count).map(|n| (first + n) * step).collect()
}

/// A number at an axis, with as many decimals as its step asks for.
pub(super) fn tick_text(value: f64, step: f64) -> String {
    let mut decimals = 0;
    let mut size = step;
    while decimals < 6 && (size - size.round()).abs() > 1e-6 * size.abs() {
        decimals += 1;
        size *= 10.0;
    }
    let text = format!("{:.decimals$}", value.abs());
    let sign = if value < 0.0 { "\u{2212}" } else { "" };
    format!("{sign}{}", grouped(&text))
}

/// Room left of an axis for the numbers at its ticks.
pub(super) fn room_for(ticks: &[f64]) -> f64 {
    const DIGIT: f64 = 7.3;
    let step = ticks.windows(2).map(|two| two[1] - two[0]).next().unwrap_or(1.0);
    let widths = ticks.iter().map(|&t| tick_text(t, step).chars().fold(2.0, |sum, _| sum + 1.0));
    widths.map(|count: f64| count * DIGIT).fold(40.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_cover_what_is_shown() {
        assert_eq!(ticks((0.0, 1340.0), 4.0), [0.0, 500.0, 1000.0, 1500.0]);
        assert_eq!(ticks((0.0, 0.9), 4.0).len(), 3);
        assert_eq!(ticks((-30.0, 90.0), 4.0), [-50.0, 0.0, 50.0, 100.0]);
        assert_eq!(ticks((0.0, 0.0), 4.0), [0.0, 1.0]);
        assert_eq!(ticks((0.0, f64::NAN), 4.0), [0.0, 1.0]);
    }

    #[test]
    fn numbers_at_an_axis_have_the_decimals_of_its_step() {
        assert_eq!(tick_text(1500.0, 500.0), "1500");
        assert_eq!(tick_text(0.5, 0.5), "0.5");
        assert_eq!(tick_text(-50.0, 50.0), "\u{2212}50");
        assert_eq!(tick_text(20_000.0, 5000.0), "20\u{202f}000");
    }

    #[test]
    fn a_scale_is_straight() {
        let scale = Scale::new((0.0, 10.0), (100.0, 0.0));
        let places = [0.0, 5.0, 10.0].map(|v| format!("{:.1}", scale.at(v)));
        assert_eq!(places, ["100.0", "50.0", "0.0"]);
        assert_eq!(format!("{:.1}", Scale::new((3.0, 3.0), (7.0, 9.0)).at(3.0)), "7.0");
    }
}
