//! The PERT distribution: a spread of low, likely and high becomes a table from which values are drawn.

/// Cells of a table.
const CELLS: usize = 512;
/// Shares at each end that have finer tables of their own.
const ENDS: [f64; 2] = [1.0 / 16.0, 1.0 / 1024.0];
/// Stretches over which the density is integrated.
const STRETCHES: usize = 512;
/// How often a stretch is halved in search of a probability.
const HALVINGS: u32 = 12;

/// A beta distribution between two ends with a mode: alpha = 1 + 4 (m - a)/(b - a), beta = 1 + 4 (b - m)/(b - a).
///
/// Drawn by its inverse, tabulated in equal steps of probability with straight lines between; the two ends are tabulated in finer and
/// again finer steps, because there the inverse is steep.
#[derive(Clone, Debug)]
pub struct Pert {
    low: f64,
    high: f64,
    middle: Vec<f64>,
    /// The first shares, from the wider to the finer.
    first: [Vec<f64>; 2],
    /// The last shares, counted from the top.
    last: [Vec<f64>; 2],
}

impl Pert {
    /// The distribution of `low <= likely <= high`; equal ends mean a certain value.
    pub fn new(low: f64, likely: f64, high: f64) -> Pert {
        let width = high - low;
        let mode = if width > 0.0 { ((likely - low) / width).clamp(0.0, 1.0) } else { 0.5 };
        let inverse = Inverse::new(mode);
        let points = |share: &dyn Fn(f64) -> f64| -> Vec<f64> {
            let at = |i: usize| low + width * inverse.at(share(i as f64 / CELLS as f64));
            (0..=CELLS).map(at).collect()
        };
        Pert {
            low,
            high,
            middle: points(&|s| s),
            first: ENDS.map(|end| points(&|s| s * end)),
            last: ENDS.map(|end| points(&|s| 1.0 - s * end)),
        }
    }

    /// The value below which a share `u` (above 0, below 1) of all draws lies.
    #[inline]
    pub fn quantile(&self, u: f64) -> f64 {
        let rest = 1.0 - u;
        let value = if u >= ENDS[0] && rest >= ENDS[0] {
            between(&self.middle, u)
        } else if u < 0.5 {
            let level = usize::from(u < ENDS[1]);
            between(&self.first[level], u / ENDS[level])
        } else {
            let level = usize::from(rest < ENDS[1]);
            between(&self.last[level], rest / ENDS[level])
        };
        value.clamp(self.low, self.high)
    }
}

/// The value at a share of a table, straight between its points.
#[inline]
#[expect(
    clippy::cast_possible_truncation,
    reason = "the cell is the whole part of a number below 257"
)]
fn between(points: &[f64], share: f64) -> f64 {
    let at = share * CELLS as f64;
    let cell = (at as usize).min(CELLS - 1);
    let share = at - cell as f64;
    points[cell] + share * (points[cell + 1] - points[cell])
}

/// The inverse of the distribution function on 0..1.
struct Inverse {
    /// Angle t of each point, x = (1 - cos t)/2: close together where the density may be steep.
    angle: Vec<f64>,
    /// Probability up to it, from 0 to 1.
    below: Vec<f64>,
    /// Probability per angle there.
    density: Vec<f64>,
}

impl Inverse {
    fn new(mode: f64) -> Inverse {
        let (a, b) = (4.0 * mode, 4.0 - 4.0 * mode);
        // x^a (1-x)^b dx with x = sin^2(t/2): dx = sin(t/2) cos(t/2) dt.
        let per_angle = |t: f64| {
            let (s, c) = (t / 2.0).sin_cos();
            s.abs().powf(2.0 * a + 1.0) * c.abs().powf(2.0 * b + 1.0)
        };
        let width = std::f64::consts::PI / STRETCHES as f64;
        let angle: Vec<f64> = (0..=STRETCHES).map(|i| width * i as f64).collect();
        let mut below = vec![0.0];
        for pair in angle.windows(2) {
            let sofar = below[below.len() - 1];
            below.push(sofar + integral(pair[0], pair[1], per_angle));
        }
        let whole = below[STRETCHES];
        below.iter_mut().for_each(|p| *p /= whole);
        let density = angle.iter().map(|&t| per_angle(t) / whole).collect();
        Inverse { angle, below, density }
    }

    fn at(&self, u: f64) -> f64 {
        if u <= 0.0 {
            return 0.0;
        }
        if u >= 1.0 {
            return 1.0;
        }
        let next = self.below.partition_point(|&p| p < u).clamp(1, STRETCHES);
        let t = self.angle_in(next - 1, u);
        (t / 2.0).sin().powi(2)
    }

    /// The angle at which the probability is `u`, inside a stretch: there it is taken for the cubic with the right values and slopes at both
    /// ends, and halved down to it.
    fn angle_in(&self, stretch: usize, u: f64) -> f64 {
        let (from, width) = (self.angle[stretch], self.angle[stretch + 1] - self.angle[stretch]);
        let (p, q) = (self.below[stretch], self.below[stretch + 1]);
        let (dp, dq) = (self.density[stretch] * width, self.density[stretch + 1] * width);
        let cubic = |s: f64| {
            let (rest, s2) = (1.0 - s, s * s);
            p * (1.0 + 2.0 * s) * rest * rest
                + dp * s * rest * rest
                + q * s2 * (3.0 - 2.0 * s)
                + dq * s2 * (s - 1.0)
        };
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if cubic(middle) < u {
                low = middle;
            } else {
                high = middle;
            }
        }
        // What is left is straight.
        let (below, above) = (cubic(low), cubic(high));
        let share =
            if above > below { ((u - below) / (above - below)).clamp(0.0, 1.0) } else { 0.5 };
        from + width * (low + share * (high - low))
    }
}

/// Gauss-Legendre with four points (Abramowitz and Stegun, table 25.4).
fn integral(from: f64, to: f64, of: impl Fn(f64) -> f64) -> f64 {
    const POINTS: [(f64, f64); 2] = [
        (0.339_981_043_584_856, 0.652_145_154_862_546),
        (0.861_136_311_594_053, 0.347_854_845_137_454),
    ];
    let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
    let pair = |&(x, weight): &(f64, f64)| weight * (of(middle - half * x) + of(middle + half * x));
    half * POINTS.iter().map(pair).sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Mean and variance of a table, by its own quantiles.
    fn moments(pert: &Pert) -> (f64, f64) {
        let n = 400_000;
        let draw = |i: u32| pert.quantile((f64::from(i) + 0.5) / f64::from(n));
        let mean = (0..n).map(draw).sum::<f64>() / f64::from(n);
        let variance = (0..n).map(|i| (draw(i) - mean).powi(2)).sum::<f64>() / f64::from(n);
        (mean, variance)
    }

    #[test]
    fn moments_are_those_of_the_beta_distribution() {
        // Mean (a + 4m + b)/6 and variance (mean - a)(b - mean)/7: Johnson, Kotz, Balakrishnan, Continuous Univariate Distributions,
        // vol. 2, ch. 25 (beta moments); the PERT mean is that of Malcolm et al. 1959.
        for (a, m, b) in [
            (0.0, 0.5, 1.0),
            (4.0, 6.0, 12.0),
            (0.0, 0.0, 1.0),
            (2.0, 5.0, 5.0),
            (10.0, 11.0, 40.0),
        ] {
            let (mean, variance) = moments(&Pert::new(a, m, b));
            let expected = (a + 4.0 * m + b) / 6.0;
            assert!((mean - expected).abs() < 1e-5 * (b - a), "{a} {m} {b}: mean {mean}");
            let expected = (expected - a) * (b - expected) / 7.0;
            assert!((variance / expected - 1.0).abs() < 3e-5, "{a} {m} {b}: variance {variance}");
        }
    }

    #[test]
    fn closed_form_quantiles() {
        // Mode at the low end: beta(1, 5), F(x) = 1 - (1-x)^5. Mode at the high end: its mirror.
        let first = Pert::new(0.0, 0.0, 1.0);
        let last = Pert::new(0.0, 1.0, 1.0);
        for u in [1e-5, 0.001, 0.05, 0.3, 0.5, 0.9, 0.999, 0.99999] {
            let expected: f64 = 1.0 - (1.0f64 - u).powf(0.2);
            assert!((first.quantile(u) - expected).abs() < 4e-4, "{u}: {}", first.quantile(u));
            assert!((last.quantile(1.0 - u) - (1.0 - expected)).abs() < 4e-4, "{u}");
        }
        // Mode in the middle: beta(3, 3), F(x) = 10 x^3 - 15 x^4 + 6 x^5, so F(0.25) = 0.103515625.
        assert!((Pert::new(0.0, 0.5, 1.0).quantile(0.103_515_625) - 0.25).abs() < 1e-5);
    }

    #[test]
    fn a_certain_value_is_drawn_as_it_is() {
        assert_eq!(Pert::new(3.0, 3.0, 3.0).quantile(0.2).to_bits(), 3.0f64.to_bits());
    }
}
