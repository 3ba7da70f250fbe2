//! Exact numbers and money: the only two types that carry decimals, and the only place that rounds them.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub};
use std::str::FromStr;

use rust_decimal::{Decimal, RoundingStrategy};

/// Millionths in one unit: quantities are counted in whole millionths of mL, g, cm2, mm or pieces.
pub const MILLION: i64 = 1_000_000;

/// Decimals kept before a rounding looks for its tie; see [`Exact::half_away`].
const GUARD: u32 = 15;

const TWO_TO_64: f64 = 18_446_744_073_709_551_616.0;

/// Powers of ten up to the largest scale of a decimal.
const TENS: [f64; 29] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
    1e17, 1e18, 1e19, 1e20, 1e21, 1e22, 1e23, 1e24, 1e25, 1e26, 1e27, 1e28,
];

/// The same as whole numbers, as far as a rounding needs them.
const WHOLE_TENS: [i64; GUARD as usize + 1] = {
    let mut tens = [1; GUARD as usize + 1];
    let mut power = 1;
    while power < tens.len() {
        tens[power] = 10 * tens[power - 1];
        power += 1;
    }
    tens
};

/// An unrounded decimal of up to 28 significant digits.
///
/// The operators are kept out of line: inlined decimal arithmetic makes the crate build several times slower. Loading bounds every
/// number (see `model::limits`), so no product of a scenario leaves the range; an operator that would leave it stays at the end of the
/// range, and valuation refuses amounts that large.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Exact(Decimal);

impl Exact {
    /// So many units of the last of `decimals` decimals.
    pub fn with_decimals(digits: i64, decimals: u32) -> Exact {
        Exact(Decimal::new(digits, decimals))
    }

    /// A number that the code itself states, such as `"0.25"`; `None` where the text is no plain number of up to 18 characters. In a
    /// constant, what is none is a fault of the build.
    pub const fn constant(text: &str) -> Option<Exact> {
        let text = text.as_bytes();
        let (mut digits, mut decimals, mut has_point, mut at) = (0_u64, 0, false, 0);
        if text.is_empty() || text.len() > 18 {
            return None;
        }
        while at < text.len() {
            match text[at] {
                digit @ b'0'..=b'9' => {
                    digits = 10 * digits + (digit - b'0') as u64;
                    decimals += has_point as u32;
                }
                b'.' if !has_point && at > 0 => has_point = true,
                _ => return None,
            }
            at += 1;
        }
        let (low, middle) = ((digits & 0xffff_ffff) as u32, (digits >> 32) as u32);
        Some(Exact(Decimal::from_parts(low, middle, 0, false, decimals)))
    }

    /// Zero.
    pub const ZERO: Exact = Exact(Decimal::ZERO);
    /// One.
    pub const ONE: Exact = Exact(Decimal::ONE);

    /// The same number as a decimal of the decimal library.
    pub fn decimal(self) -> Decimal {
        self.0
    }

    /// Whole millionths as a number: `from_millionths(1_500_000)` is 1.5.
    pub fn from_millionths(value: i64) -> Exact {
        Exact(Decimal::new(value, 6))
    }

    /// The number as whole millionths, rounded half away from zero.
    pub fn to_millionths(self) -> i64 {
        self.small_millionths().unwrap_or_else(|| (self * Exact::from(MILLION)).to_whole())
    }

    fn small_millionths(self) -> Option<i64> {
        match self.small()? {
            (digits, decimals @ 0..=6) => digits.checked_mul(WHOLE_TENS[6 - decimals]),
            (digits, decimals) => Some(half_away_over(digits, WHOLE_TENS[decimals - 6])),
        }
    }

    /// Whole millionths of a quotient, rounded half away from zero; the divisor is positive.
    pub fn millionths_over(self, divisor: i64) -> i64 {
        self.small_millionths_over(divisor)
            .unwrap_or_else(|| (self / Exact::from(divisor)).to_millionths())
    }

    /// In whole numbers, where they are small: what is no tie is then so far from one that a quotient of 28 digits rounds alike.
    fn small_millionths_over(self, divisor: i64) -> Option<i64> {
        let (digits, decimals) = self.small()?;
        if !(1..=10_000).contains(&divisor) {
            return None;
        }
        let (digits, over) = match decimals {
            0..=6 => (digits.checked_mul(WHOLE_TENS[6 - decimals])?, divisor),
            _ => (digits, divisor.checked_mul(WHOLE_TENS[decimals - 6])?),
        };
        Some(half_away_over(digits, over))
    }

    /// Digits and decimals, where both are few: most numbers, which then need no decimal arithmetic to be rounded.
    #[inline]
    fn small(self) -> Option<(i64, usize)> {
        let parts = self.0.unpack();
        if parts.hi != 0 || parts.mid > u32::MAX >> 2 || parts.scale > GUARD {
            return None;
        }
        let digits = (i64::from(parts.mid) << 32) | i64::from(parts.lo);
        Some((if parts.negative { -digits } else { digits }, parts.scale as usize))
    }

    /// True if a whole number is more than this share of another; both are positive.
    pub fn is_exceeded_by(self, part: i64, whole: i64) -> bool {
        match self.small() {
            Some((digits, decimals)) if decimals <= 12 && whole < WHOLE_TENS[GUARD as usize] => {
                let [part, whole] = [part, whole].map(i128::from);
                part * i128::from(WHOLE_TENS[decimals]) > i128::from(digits) * whole
            }
            _ => Exact::from(part) / Exact::from(whole) > self,
        }
    }

    /// The number as an integer, rounded half away from zero; the ends of `i64` where it does not fit.
    pub fn to_whole(self) -> i64 {
        if let Some((digits, decimals)) = self.small() {
            return half_away_over(digits, WHOLE_TENS[decimals]);
        }
        let rounded = self.half_away(0);
        i64::try_from(rounded.0).unwrap_or(if rounded.0.is_sign_negative() {
            i64::MIN
        } else {
            i64::MAX
        })
    }

    /// The smallest integer not below the number.
    pub fn ceil(self) -> i64 {
        i64::try_from(self.snapped().0.ceil()).unwrap_or(i64::MAX)
    }

    /// Rounds to `decimals` places, half away from zero.
    ///
    /// A quotient such as 1 / 0.9 carries 28 digits, so a product that is a tie on paper may come out a hair beside it. The number is
    /// therefore first rounded to 15 places: what differs from a tie by less than 10^-15 counts as the tie.
    #[inline(never)]
    pub fn half_away(self, decimals: u32) -> Exact {
        if self.0.scale() <= decimals {
            return self;
        }
        Exact(
            self.snapped()
                .0
                .round_dp_with_strategy(decimals, RoundingStrategy::MidpointAwayFromZero),
        )
    }

    #[inline(never)]
    fn snapped(self) -> Exact {
        if self.0.scale() <= GUARD {
            return self;
        }
        Exact(self.0.round_dp_with_strategy(GUARD, RoundingStrategy::MidpointAwayFromZero))
    }

    /// The amount of money this is, rounded half away from zero to `minor` decimals. The only way from a number to money.
    pub fn to_money(self, minor: u32) -> Money {
        Money(self.half_away(minor).0)
    }

    /// The nearest binary float, for days, hours and other figures that are not money.
    pub fn to_f64_lossy(self) -> f64 {
        rust_decimal::prelude::ToPrimitive::to_f64(&self.0).unwrap_or(f64::NAN)
    }

    /// The decimal of a binary float, for numbers that are tried; `None` where it is out of range or no number.
    pub fn of_float(value: f64) -> Option<Exact> {
        rust_decimal::prelude::FromPrimitive::from_f64(value).map(Exact)
    }

    /// A binary float within a few units of its last place, ten times faster than the nearest one.
    #[inline]
    pub fn quick_f64(self) -> f64 {
        let parts = self.0.unpack();
        let low = (u64::from(parts.mid) << 32) | u64::from(parts.lo);
        let mut value = low as f64;
        if parts.hi != 0 {
            value += f64::from(parts.hi) * TWO_TO_64;
        }
        if parts.scale != 0 {
            value /= TENS[parts.scale as usize];
        }
        if parts.negative { -value } else { value }
    }

    /// True for exactly zero.
    pub fn is_zero(self) -> bool {
        self.0.is_zero()
    }

    /// The absolute value.
    pub fn abs(self) -> Exact {
        Exact(self.0.abs())
    }
}

/// A quotient of whole numbers, rounded half away from zero; the divisor is positive.
#[inline]
fn half_away_over(digits: i64, over: i64) -> i64 {
    let (quotient, rest) = (digits / over, digits % over);
    quotient + if 2 * rest.abs() >= over { digits.signum() } else { 0 }
}

impl From<Decimal> for Exact {
    fn from(value: Decimal) -> Exact {
        Exact(value)
    }
}

impl From<i64> for Exact {
    fn from(value: i64) -> Exact {
        Exact(Decimal::from(value))
    }
}

impl From<u32> for Exact {
    fn from(value: u32) -> Exact {
        Exact(Decimal::from(value))
    }
}

impl FromStr for Exact {
    type Err = rust_decimal::Error;

    fn from_str(text: &str) -> Result<Exact, rust_decimal::Error> {
        text.parse().map(Exact)
    }
}

fn end_of_range(negative: bool) -> Decimal {
    if negative { Decimal::MIN } else { Decimal::MAX }
}

impl Add for Exact {
    type Output = Exact;
    #[inline(never)]
    fn add(self, other: Exact) -> Exact {
        Exact(
            self.0.checked_add(other.0).unwrap_or_else(|| end_of_range(self.0.is_sign_negative())),
        )
    }
}

impl Sub for Exact {
    type Output = Exact;
    #[inline(never)]
    fn sub(self, other: Exact) -> Exact {
        Exact(
            self.0.checked_sub(other.0).unwrap_or_else(|| end_of_range(self.0.is_sign_negative())),
        )
    }
}

impl Mul for Exact {
    type Output = Exact;
    #[inline(never)]
    fn mul(self, other: Exact) -> Exact {
        Exact(self.0.checked_mul(other.0).unwrap_or_else(|| {
            end_of_range(self.0.is_sign_negative() != other.0.is_sign_negative())
        }))
    }
}

impl Div for Exact {
    type Output = Exact;
    #[inline(never)]
    fn div(self, other: Exact) -> Exact {
        Exact(self.0.checked_div(other.0).unwrap_or_else(|| {
            end_of_range(self.0.is_sign_negative() != other.0.is_sign_negative())
        }))
    }
}

impl Neg for Exact {
    type Output = Exact;
    fn neg(self) -> Exact {
        Exact(-self.0)
    }
}

impl Sum for Exact {
    fn sum<I: Iterator<Item = Exact>>(values: I) -> Exact {
        values.fold(Exact::ZERO, |a, b| a + b)
    }
}

impl fmt::Display for Exact {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0.normalize())
    }
}

impl fmt::Debug for Exact {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

/// An amount in the scenario's currency, already rounded to its minor unit. Amounts add and compare; nothing else.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Money(Decimal);

impl Money {
    /// No money.
    pub const ZERO: Money = Money(Decimal::ZERO);

    /// The amount as an unrounded number.
    pub fn exact(self) -> Exact {
        Exact(self.0)
    }

    /// True for exactly zero.
    pub fn is_zero(self) -> bool {
        self.0.is_zero()
    }

    /// The absolute amount.
    pub fn abs(self) -> Money {
        Money(self.0.abs())
    }

    /// The amount as a whole number of minor units.
    pub fn minor_units(self, minor: u32) -> i128 {
        let mut value = self.0;
        value.rescale(minor);
        value.mantissa()
    }

    /// So many minor units; `None` beyond 28 digits.
    pub fn of_minor_units(units: i128, minor: u32) -> Option<Money> {
        Decimal::try_from_i128_with_scale(units, minor).ok().map(Money)
    }

    /// The amount as plain text with exactly `minor` decimals.
    pub fn text(self, minor: u32) -> String {
        format!("{:.*}", minor as usize, self.0)
    }
}

impl Add for Money {
    type Output = Money;
    #[inline(never)]
    fn add(self, other: Money) -> Money {
        (self.exact() + other.exact()).unrounded_money()
    }
}

impl AddAssign for Money {
    fn add_assign(&mut self, other: Money) {
        *self = *self + other;
    }
}

impl Sub for Money {
    type Output = Money;
    #[inline(never)]
    fn sub(self, other: Money) -> Money {
        (self.exact() - other.exact()).unrounded_money()
    }
}

impl Neg for Money {
    type Output = Money;
    fn neg(self) -> Money {
        Money(-self.0)
    }
}

impl Sum for Money {
    fn sum<I: Iterator<Item = Money>>(values: I) -> Money {
        values.fold(Money::ZERO, |a, b| a + b)
    }
}

impl fmt::Debug for Money {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

impl Exact {
    /// Sums of rounded amounts are amounts: nothing to round.
    fn unrounded_money(self) -> Money {
        Money(self.0)
    }
}

/// A number by its text, for tests.
#[cfg(test)]
pub fn e(text: &str) -> Exact {
    text.parse().expect("a decimal")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_constant_is_the_number_its_text_reads_as() {
        for text in ["0", "0.25", "0.10", "1.5", "20", "999999999999999.99", "123456789012345678"] {
            let read: Decimal = text.parse().expect("a decimal");
            let stated = Exact::constant(text).map(Exact::decimal);
            // With as many decimals, not only equal.
            assert_eq!(stated.map(|d| d.to_string()), Some(read.to_string()), "{text}");
        }
        for text in ["", ".5", "-1", "1e3", "1.2.3", "1234567890123456789", "1 "] {
            assert_eq!(Exact::constant(text), None, "{text}");
        }
    }

    #[test]
    fn a_tie_rounds_away_from_zero() {
        assert_eq!(e("2.345").to_money(2).text(2), "2.35");
        assert_eq!(e("-2.345").to_money(2).text(2), "-2.35");
        assert_eq!(e("2.5").to_money(0).text(0), "3");
        assert_eq!(e("1.0005").to_money(3).text(3), "1.001");
    }

    #[test]
    fn a_tie_reached_through_a_quotient_is_still_a_tie() {
        // 45 / 90 is a tie to whole units; with 1/90 cut at 28 decimals the product is a hair below.
        let amount = e("45") * (Exact::ONE / e("90"));
        assert!(amount < e("0.5"));
        assert_eq!(amount.to_money(0).text(0), "1");
    }

    #[test]
    fn millionths_round_half_up() {
        assert_eq!(e("1.2345675").to_millionths(), 1_234_568);
        assert_eq!(Exact::from_millionths(1_500_000), e("1.5"));
        assert_eq!(e("649.0000000000000000001").ceil(), 649);
    }

    #[test]
    fn small_numbers_round_like_all_others() {
        let numbers = [
            "0",
            "0.5",
            "-0.5",
            "2.4999999",
            "-1234567.8901235",
            "0.0000005",
            "0.00000049999",
            "4611686018427387903",
            "4611686018427387904",
            "999999.999999999999999",
            "12.3456785",
        ];
        for text in numbers {
            let number = e(text);
            let whole = number.half_away(0).0;
            assert_eq!(Decimal::from(number.to_whole()), whole, "{text}");
            let millionths = (number * e("1000000")).half_away(0).0;
            let expected = i64::try_from(millionths).unwrap_or(i64::MAX);
            assert_eq!(number.to_millionths(), expected, "{text}");
            for divisor in [1, 7, 3600, 20_000] {
                let expected = (number / Exact::from(divisor)).to_millionths();
                assert_eq!(number.millionths_over(divisor), expected, "{text} / {divisor}");
            }
        }
    }

    #[test]
    fn a_share_is_exceeded_beyond_it_and_not_at_it() {
        let share = e("0.1");
        assert!(!share.is_exceeded_by(100, 1_000) && share.is_exceeded_by(101, 1_000));
        // Too large for whole numbers: the same by decimals.
        let whole = 4_000_000_000_000_000_000;
        assert!(!share.is_exceeded_by(whole / 10, whole));
        assert!(share.is_exceeded_by(whole / 10 + 1, whole));
        assert!(e("0.3333333333333333333333333333").is_exceeded_by(1, 2));
    }

    #[test]
    fn a_quick_float_is_near() {
        let texts = ["0", "1", "-1", "0.1", "1.1363636363636363636363636364", "-29.99", "1e15"];
        for text in
            texts.into_iter().chain(["79228162514264337593543950335", "18446744073709551616"])
        {
            let number = Exact(Decimal::from_scientific(text).or(text.parse()).expect("a decimal"));
            let nearest: f64 = text.parse().expect("a float");
            let off = (number.quick_f64() - nearest).abs();
            assert!(off <= 4.0 * f64::EPSILON * nearest.abs(), "{text}: {off}");
        }
    }

    #[test]
    fn the_range_has_ends() {
        let big = e("70000000000000000000000000000");
        assert_eq!((big * big).decimal(), Decimal::MAX);
        assert_eq!((big * -big).decimal(), Decimal::MIN);
        assert_eq!(big.to_whole(), i64::MAX);
        assert_eq!((Exact::ONE / Exact::ZERO).decimal(), Decimal::MAX);
    }
}
