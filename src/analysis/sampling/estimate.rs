//! Estimates from samples: means, chances and quantiles with their standard errors.

/// A mean over samples.
#[derive(Clone, Copy, PartialEq, Debug, Default)]
pub struct Estimate {
    /// The mean.
    pub value: f64,
    /// Its standard error: the standard deviation of the samples over the root of their number.
    pub se: f64,
}

impl Estimate {
    /// The mean of values and its standard error. Two passes, so that nothing cancels.
    pub fn of_mean(values: impl Iterator<Item = f64> + Clone) -> Estimate {
        let (count, sum) = values.clone().fold((0u32, 0.0), |(n, sum), v| (n + 1, sum + v));
        if count == 0 {
            return Estimate::default();
        }
        let n = f64::from(count);
        let mean = sum / n;
        let squares: f64 = values.map(|v| (v - mean) * (v - mean)).sum();
        let variance = if count > 1 { squares / (n - 1.0) } else { 0.0 };
        Estimate { value: mean, se: (variance / n).sqrt() }
    }

    /// The share of samples in which something happened, with sqrt(p (1 - p) / n).
    pub fn of_chance(hits: usize, samples: usize) -> Estimate {
        if samples == 0 {
            return Estimate::default();
        }
        let n = samples as f64;
        let p = hits as f64 / n;
        Estimate { value: p, se: (p * (1.0 - p) / n).sqrt() }
    }
}

/// The quantile at a share `p` of ascending values: type 7 of Hyndman and Fan, Sample Quantiles in Statistical Packages, The American
/// Statistician 50 (1996): linear between the order statistics, the least at 0 and the greatest at 1. NaN for no values.
#[expect(clippy::cast_possible_truncation, reason = "an index below the number of values")]
pub fn quantile(ascending: &[f64], p: f64) -> f64 {
    let Some(last) = ascending.len().checked_sub(1) else {
        return f64::NAN;
    };
    let at = p.clamp(0.0, 1.0) * last as f64;
    let below = at.floor() as usize;
    let above = (below + 1).min(last);
    let share = at - below as f64;
    if share <= 0.0 {
        return ascending[below];
    }
    ascending[below] + share * (ascending[above] - ascending[below])
}

/// Mean and quantiles of a figure.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Distribution {
    /// The mean.
    pub mean: Estimate,
    /// A tenth is below.
    pub p10: f64,
    /// Half is below.
    pub p50: f64,
    /// Four fifths are below.
    pub p80: f64,
    /// Nine tenths are below.
    pub p90: f64,
    /// The wanted chance (`sure`) is below.
    pub sure: f64,
}

impl Distribution {
    /// That of some values; `sure` is the wanted chance.
    pub fn new(mut values: Vec<f64>, sure: f64) -> Distribution {
        let mean = Estimate::of_mean(values.iter().copied());
        values.sort_unstable_by(f64::total_cmp);
        let at = |p| quantile(&values, p);
        Distribution {
            mean,
            p10: at(0.1),
            p50: at(0.5),
            p80: at(0.8),
            p90: at(0.9),
            sure: at(sure),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(a: f64, b: f64) {
        assert!((a - b).abs() <= 1e-12 * b.abs().max(1.0), "{a} is not {b}");
    }

    #[test]
    fn quantiles_of_type_seven() {
        // numpy.quantile([1, 2, 4, 8, 16, 32], q), method "linear" (type 7), numpy 2.3: 1.5, 6, 16 at 0.1, 0.5, 0.8.
        let values = [1.0, 2.0, 4.0, 8.0, 16.0, 32.0];
        close(quantile(&values, 0.1), 1.5);
        close(quantile(&values, 0.5), 6.0);
        close(quantile(&values, 0.8), 16.0);
        close(quantile(&values, 0.0), 1.0);
        close(quantile(&values, 1.0), 32.0);
        close(quantile(&[3.0], 0.9), 3.0);
        assert!(quantile(&[], 0.5).is_nan());
    }

    #[test]
    fn means_of_certified_data() {
        // NIST StRD, univariate summary statistics, NumAcc2: 1001 values 1.2, then 1.1 and 1.3 in turn; certified mean 1.2, standard
        // deviation 0.1 (https://www.itl.nist.gov/div898/strd/univ/numacc2.html).
        let values: Vec<f64> = std::iter::once(1.2)
            .chain((0..1000).map(|i| if i % 2 == 0 { 1.1 } else { 1.3 }))
            .collect();
        let mean = Estimate::of_mean(values.iter().copied());
        close(mean.value, 1.2);
        close(mean.se * (1001.0f64).sqrt(), 0.1);
    }

    #[test]
    fn a_chance_has_the_error_of_a_share() {
        let chance = Estimate::of_chance(80, 100);
        close(chance.value, 0.8);
        close(chance.se, 0.04);
        close(Estimate::of_chance(0, 0).se, 0.0);
    }
}
