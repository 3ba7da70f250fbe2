//! What failures say of a chance: a prior of some weight, updated, and how surprising they were under it.

/// Weight of what was believed before, in trials.
pub const PRIOR_WEIGHT: f64 = 8.0;

/// A chance as a Beta distribution.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Belief {
    /// Weight of failures.
    pub fails: f64,
    /// Weight of successes.
    pub holds: f64,
}

impl Belief {
    /// A chance held with the weight of so many trials.
    pub fn of(chance: f64, weight: f64) -> Belief {
        Belief { fails: chance * weight, holds: (1.0 - chance) * weight }
    }

    /// The chance to be expected.
    pub fn mean(self) -> f64 {
        self.fails / (self.fails + self.holds)
    }

    /// How far it may be off: the standard deviation.
    pub fn deviation(self) -> f64 {
        let (a, b) = (self.fails, self.holds);
        (a * b / (a + b + 1.0)).sqrt() / (a + b)
    }

    /// After so many trials of which some failed.
    #[must_use]
    pub fn after(self, failed: u32, trials: u32) -> Belief {
        let held = trials.saturating_sub(failed);
        Belief { fails: self.fails + f64::from(failed), holds: self.holds + f64::from(held) }
    }

    /// The chance of exactly so many failures in so many trials (Beta-binomial).
    pub fn exactly(self, failed: u32, trials: u32) -> f64 {
        // From one count of failures to the next the chance changes by a factor: no gamma function is needed.
        let (a, b, n) = (self.fails, self.holds, f64::from(trials));
        let none: f64 = (0..trials).map(|i| (b + f64::from(i)) / (a + b + f64::from(i))).product();
        (0..failed.min(trials)).fold(none, |chance, k| {
            let k = f64::from(k);
            // With no success believed in at all, all but the last count are impossible.
            let next = b + n - k - 1.0;
            if next == 0.0 { 0.0 } else { chance * (n - k) / (k + 1.0) * (a + k) / next }
        })
    }

    /// How surprising so many failures are: the chance of as many or more, or of as few or fewer, whichever they are rather.
    pub fn surprise(self, failed: u32, trials: u32) -> Surprise {
        let expected = self.mean() * f64::from(trials);
        let more = f64::from(failed) >= expected;
        let counts = if more { failed..=trials } else { 0..=failed };
        let chance: f64 = counts.map(|k| self.exactly(k, trials)).sum();
        Surprise { more, chance: chance.min(1.0) }
    }
}

/// How surprising a count of failures is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Surprise {
    /// True where there were more than was to be expected, or as many.
    pub more: bool,
    /// The chance of that many or more; or of that few or fewer.
    pub chance: f64,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: f64, expected: f64, tolerance: f64) {
        assert!((found - expected).abs() <= tolerance, "{found}, not {expected}");
    }

    #[test]
    fn figures_of_the_books() {
        // Johnson, Ott and Dogucu, Bayes Rules!, chapter 3: Beta(45, 55), 30 of 50: Beta(75, 75), mean 0.5, deviation 0.0407;
        // from memory.
        let after = Belief { fails: 45.0, holds: 55.0 }.after(30, 50);
        assert_eq!(after, Belief { fails: 75.0, holds: 75.0 });
        near(after.mean(), 0.5, 1e-12);
        near(after.deviation(), 0.040_689, 1e-6);
        near(Belief { fails: 45.0, holds: 55.0 }.deviation(), 0.049_502, 1e-6);
        // Agresti, Kateri and Mira, Bayesian Statistics: A Primer, code of chapter 2: Beta(138, 138) and Beta(7, 7/9).
        near(Belief { fails: 138.0, holds: 138.0 }.deviation(), 0.030_042_09, 1e-8);
        let other = Belief { fails: 7.0, holds: 7.0 / 9.0 };
        near(other.mean(), 0.9, 1e-12);
        near(other.deviation(), 0.101_257_9, 1e-7);
    }

    #[test]
    fn counts_under_a_flat_belief_are_equally_likely() {
        // The Beta-binomial with Beta(1, 1) is uniform on 0..n: Laplace's rule, in any text on it.
        let flat = Belief { fails: 1.0, holds: 1.0 };
        for k in 0..=7 {
            near(flat.exactly(k, 7), 1.0 / 8.0, 1e-12);
        }
        near(flat.surprise(6, 7).chance, 2.0 / 8.0, 1e-12);
        near(flat.surprise(1, 7).chance, 2.0 / 8.0, 1e-12);
        // Beta(2, 3), two trials: B(4,3)/B(2,3) = 0.2, 2 B(3,4)/B(2,3) = 0.4, B(2,5)/B(2,3) = 0.4, by hand with factorials.
        let belief = Belief { fails: 2.0, holds: 3.0 };
        near(belief.exactly(2, 2), 0.2, 1e-12);
        near(belief.exactly(1, 2), 0.4, 1e-12);
        near(belief.exactly(0, 2), 0.4, 1e-12);
    }

    #[test]
    fn chances_sum_to_one_and_certainty_is_no_fault() {
        for (chance, trials) in [(0.12, 9), (0.0, 5), (0.5, 40), (0.95, 3)] {
            let belief = Belief::of(chance, PRIOR_WEIGHT);
            near((0..=trials).map(|k| belief.exactly(k, trials)).sum(), 1.0, 1e-12);
        }
        let never = Belief::of(0.0, PRIOR_WEIGHT);
        near(never.surprise(1, 3).chance, 0.0, 0.0);
        near(never.after(1, 2).mean(), 0.1, 1e-12);
    }
}
