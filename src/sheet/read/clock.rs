//! Durations of the source in ticks: positions are rounded, never lengths, so that nothing drifts.

use crate::sheet::TICKS_PER_QUARTER;

/// Decimals are read to this part.
const SCALE: i128 = 1_000_000;
/// A bar of 256 whole notes is no bar.
pub(super) const LONGEST_BAR: i64 = 1024 * TICKS_PER_QUARTER as i64;
/// Far above what any program writes; more is a fault.
const MOST_DIVISIONS: i128 = 10_000_000;

/// A decimal number of the source, in millionths.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Decimal(i128);

impl Decimal {
    pub(super) const ZERO: Self = Self(0);

    /// Reads an optional sign, digits and an optional fraction.
    pub(super) fn read(text: &str) -> Option<Self> {
        let (negative, digits) = match text.strip_prefix('-') {
            Some(rest) => (true, rest),
            None => (false, text.strip_prefix('+').unwrap_or(text)),
        };
        let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
        let only_digits = |part: &str| part.bytes().all(|b| b.is_ascii_digit());
        if whole.len() + fraction.len() == 0
            || whole.len() > 12
            || !only_digits(whole)
            || !only_digits(fraction)
        {
            return None;
        }
        let whole: i128 = if whole.is_empty() { 0 } else { whole.parse().ok()? };
        let millionths: i128 = fraction
            .bytes()
            .chain(std::iter::repeat(b'0'))
            .take(6)
            .fold(0, |sum, digit| sum * 10 + i128::from(digit - b'0'));
        let value = whole * SCALE + millionths;
        Some(Self(if negative { -value } else { value }))
    }

    /// Without its sign.
    pub(super) const fn absolute(self) -> Self {
        Self(self.0.abs())
    }

    /// With the other sign.
    pub(super) const fn negated(self) -> Self {
        Self(-self.0)
    }

    /// Times a fraction, rounded to millionths; `None` where the fraction makes no sense.
    pub(super) fn scaled(self, numerator: i64, denominator: i64) -> Option<Self> {
        if denominator <= 0 {
            return None;
        }
        Some(Self(divide(self.0.checked_mul(i128::from(numerator))?, i128::from(denominator))))
    }

    /// Rounded to a whole number, halves away from zero, and whether that was exact.
    pub(super) fn rounded(self) -> (i64, bool) {
        let rounded = divide(self.0, SCALE);
        (i64::try_from(rounded).unwrap_or(i64::MAX), rounded * SCALE == self.0)
    }
}

/// Division rounded to the nearest, halves away from zero.
fn divide(a: i128, b: i128) -> i128 {
    let half = if a < 0 { -b / 2 } else { b / 2 };
    let raised = a + half;
    // Long division takes many times as long, and is hardly ever needed.
    let short = i64::try_from(raised).ok().zip(i64::try_from(b).ok());
    short.and_then(|(a, b)| a.checked_div(b)).map_or_else(|| raised / b, i128::from)
}

/// The place in a bar.
#[derive(Clone, Debug)]
pub(super) struct Clock {
    /// Millionths of divisions in a quarter.
    divisions: i128,
    /// Ticks at which the divisions last changed.
    base: i64,
    /// Millionths of divisions since.
    since: i128,
}

impl Clock {
    pub(super) const fn new() -> Self {
        Self { divisions: SCALE, base: 0, since: 0 }
    }

    /// Begins a bar.
    pub(super) fn restart(&mut self) {
        (self.base, self.since) = (0, 0);
    }

    /// Changes the divisions of a quarter; `false` where the number makes no sense.
    pub(super) fn set_divisions(&mut self, divisions: Decimal) -> bool {
        if divisions.0 <= 0 || divisions.0 > MOST_DIVISIONS * SCALE {
            return false;
        }
        self.base = self.tick().0;
        self.since = 0;
        self.divisions = divisions.0;
        true
    }

    fn tick_of(&self, since: i128) -> (i64, bool) {
        let numerator = since * i128::from(TICKS_PER_QUARTER);
        let ticks = divide(numerator, self.divisions);
        let exact = ticks * self.divisions == numerator;
        let farthest = if ticks < 0 { i64::MIN } else { i64::MAX };
        (self.base.saturating_add(i64::try_from(ticks).unwrap_or(farthest)), exact)
    }

    /// Ticks from the start of the bar, and whether that is exact.
    pub(super) fn tick(&self) -> (i64, bool) {
        self.tick_of(self.since)
    }

    /// The tick so far from here, without moving.
    pub(super) fn at_offset(&self, by: Decimal) -> (i64, bool) {
        self.tick_of(self.since + by.0)
    }

    /// Moves; `false`, and not moved, where that would leave the bar's start or any sensible length behind.
    pub(super) fn advance(&mut self, by: Decimal) -> bool {
        let (tick, _) = self.at_offset(by);
        let sensible = (0..=LONGEST_BAR).contains(&tick);
        if sensible {
            self.since += by.0;
        }
        sensible
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn decimal(text: &str) -> Decimal {
        Decimal::read(text).unwrap()
    }

    #[test]
    fn ok_decimals() {
        assert_eq!(decimal("2.5").rounded(), (3, false));
        assert_eq!(decimal("-2.5").rounded(), (-3, false));
        assert_eq!(decimal("+7").rounded(), (7, true));
        assert_eq!(decimal(".25"), Decimal(250_000));
        for text in ["", "-", ".", "1e3", "0x1", "1.2.3", "9999999999999", "٣", "NaN"] {
            assert_eq!(Decimal::read(text), None, "{text}");
        }
    }

    #[test]
    fn ok_thirds_of_an_awkward_quarter_do_not_drift() {
        let mut clock = Clock::new();
        assert!(clock.set_divisions(decimal("11")));
        let ends: Vec<i64> = (0..11)
            .map(|_| {
                assert!(clock.advance(decimal("1")));
                clock.tick().0
            })
            .collect();
        assert_eq!(ends.first(), Some(&916)); // 10080 / 11 = 916.36
        assert_eq!(clock.tick(), (10_080, true));
    }

    #[test]
    fn ok_senseless_numbers_are_refused() {
        let mut clock = Clock::new();
        for text in ["0", "-1", "99999999999"] {
            assert!(!clock.set_divisions(decimal(text)), "{text}");
        }
        assert!(!clock.advance(decimal("999999999999")));
        assert!(!clock.advance(decimal("-1")));
        assert_eq!(clock.tick(), (0, true));
    }
}
