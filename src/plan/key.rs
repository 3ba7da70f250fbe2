//! Keys: every draw has an address, and its value depends on nothing but that address.

/// The address of a draw, folded word by word into 64 bits.
///
/// There is no running stream: a draw is a function of (seed, sample, input, part, iteration, step, attempt). Plans that ask for the same
/// address get the same draw, so they stay paired, and neither the order of asking nor the number of threads can matter.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Key(u64);

/// The odd number nearest to 2^64 divided by the golden ratio: words that differ in few bits are spread by it.
const SPREAD: u64 = 0x9e37_79b9_7f4a_7c15;

/// Shortens 53 random bits to a number between 0 and 1.
const FINEST: f64 = 1.0 / (1u64 << 53) as f64;

impl Key {
    /// The root of all draws with a seed.
    pub fn new(seed: u64) -> Key {
        Key(mixed(seed.wrapping_add(SPREAD)))
    }

    /// The key of something with a name; the same wherever it stands in a file.
    pub fn named(name: &str) -> Key {
        name.bytes().fold(Key(SPREAD), |key, byte| key.with(u64::from(byte)))
    }

    /// The same address with one more word.
    #[inline]
    pub fn with(self, word: u64) -> Key {
        Key(mixed((self.0 ^ word).wrapping_add(SPREAD)))
    }

    /// The same address with another address behind it.
    #[inline]
    pub fn of(self, other: Key) -> Key {
        self.with(other.0)
    }

    /// The number drawn at this address: uniform, above 0 and below 1.
    #[inline]
    pub fn uniform(self) -> f64 {
        ((self.0 >> 11) as f64 + 0.5) * FINEST
    }
}

/// The finalizer of SplitMix64 (Steele, Lea, Flood: Fast Splittable Pseudorandom Number Generators, 2014, with the constants of Stafford's
/// variant 13): every bit of the result depends on every bit of the word.
#[inline]
fn mixed(word: u64) -> u64 {
    let word = (word ^ (word >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let word = (word ^ (word >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    word ^ (word >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_finalizer_is_the_published_one() {
        // First outputs of SplitMix64 with seed 1234567, as listed at rosettacode.org, "Pseudo-random numbers/Splitmix64" (from memory).
        let mut state = 1_234_567u64;
        let next = |state: &mut u64| {
            *state = state.wrapping_add(SPREAD);
            mixed(*state)
        };
        assert_eq!(next(&mut state), 6_457_827_717_110_365_317);
        assert_eq!(next(&mut state), 3_203_168_211_198_807_973);
        assert_eq!(next(&mut state), 9_817_491_932_198_370_423);
    }

    #[test]
    fn draws_are_uniform_and_neighbours_do_not_know_each_other() {
        let key = Key::new(7);
        let n = 100_000u32;
        let draw = |i: u32| key.with(u64::from(i)).with(3).uniform();
        let mut bins = [0u32; 20];
        let (mut sum, mut lag) = (0.0, 0.0);
        for i in 0..n {
            let u = draw(i);
            assert!(u > 0.0 && u < 1.0);
            let bin = (1..20).take_while(|&bin| u >= f64::from(bin) / 20.0).count();
            bins[bin] += 1;
            sum += u;
            lag += (u - 0.5) * (draw(i + 1) - 0.5);
        }
        let expected = f64::from(n) / 20.0;
        let chi: f64 = bins.iter().map(|&b| (f64::from(b) - expected).powi(2) / expected).sum();
        // 19 degrees of freedom: above 43.8 with a chance of 0.001 (NIST/SEMATECH e-Handbook, table 1.3.6.7.4).
        assert!(chi < 43.8, "chi-squared {chi}");
        assert!((sum / f64::from(n) - 0.5).abs() < 4.0 * (1.0f64 / 12.0 / f64::from(n)).sqrt());
        assert!((lag / f64::from(n) * 12.0).abs() < 4.0 / f64::from(n).sqrt(), "correlated");
    }

    #[test]
    fn names_and_words_make_different_keys() {
        let key = Key::new(1);
        assert_ne!(key.with(1).with(2), key.with(2).with(1));
        assert_ne!(Key::named("route[a]"), Key::named("route[b]"));
        assert_eq!(key.of(Key::named("labour")), key.of(Key::named("labour")));
    }
}
