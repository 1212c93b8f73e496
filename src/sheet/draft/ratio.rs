//! Exact lengths.

use crate::sheet::TICKS_PER_QUARTER;

/// A length as a part of a whole note, in lowest terms, never negative.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::sheet) struct Ratio {
    over: u64,
    under: u64,
}

/// Parts beyond this are of no tune; what would need more is refused.
const MOST: u64 = 1 << 31;

impl Ratio {
    pub(in crate::sheet) const ZERO: Self = Self { over: 0, under: 1 };
    pub(in crate::sheet) const ONE: Self = Self { over: 1, under: 1 };

    /// `over / under`; `None` where that is too large, too fine or no number.
    pub(in crate::sheet) fn new(over: u64, under: u64) -> Option<Self> {
        let (mut a, mut b) = (over, under);
        while b > 0 {
            (a, b) = (b, a % b);
        }
        let (over, under) = (over.checked_div(a)?, under.checked_div(a)?);
        (under > 0 && over <= MOST && under <= MOST).then_some(Self { over, under })
    }

    pub(in crate::sheet) const fn over(self) -> u64 {
        self.over
    }

    pub(in crate::sheet) const fn under(self) -> u64 {
        self.under
    }

    pub(in crate::sheet) fn times(self, other: Self) -> Option<Self> {
        Self::new(self.over.checked_mul(other.over)?, self.under.checked_mul(other.under)?)
    }

    pub(in crate::sheet) fn plus(self, other: Self) -> Option<Self> {
        let over = (self.over * other.under).checked_add(other.over * self.under)?;
        Self::new(over, self.under * other.under)
    }

    /// What is left; `None` where less than nothing is.
    pub(in crate::sheet) fn minus(self, other: Self) -> Option<Self> {
        let over = (self.over * other.under).checked_sub(other.over * self.under)?;
        Self::new(over, self.under * other.under)
    }

    /// Ticks, rounded, and whether that is exact.
    pub(in crate::sheet) fn ticks(self) -> (u64, bool) {
        let over = self.over * 4 * u64::from(TICKS_PER_QUARTER);
        ((over + self.under / 2) / self.under, over.is_multiple_of(self.under))
    }

    /// So many ticks.
    pub(in crate::sheet) fn of_ticks(ticks: u32) -> Option<Self> {
        Self::new(u64::from(ticks), 4 * u64::from(TICKS_PER_QUARTER))
    }

    /// Reads `3`, `3/2`, `/2`, `/`, `//`, all of it digits and slashes: what stands in front of the first slash is 1 where it
    /// is missing, a slash alone halves.
    pub(in crate::sheet) fn read_length(text: &str) -> Option<Self> {
        let (over, under) = match text.split_once('/') {
            None => (text, ""),
            Some((over, under)) => (over, under),
        };
        let number = |text: &str| if text.is_empty() { Some(1) } else { text.parse::<u32>().ok() };
        let over = number(over)?;
        if !text.contains('/') {
            return Self::new(u64::from(over), 1);
        }
        let slashes = under.chars().take_while(|c| *c == '/').count();
        let halved = match under.get(slashes..)? {
            "" => 1u64.checked_shl(u32::try_from(slashes + 1).ok()?).filter(|_| slashes < 31)?,
            digits if slashes == 0 => u64::from(number(digits)?),
            _ => return None,
        };
        Self::new(u64::from(over), halved)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ABC 2.1, section 4.3, for a unit of 1.
    #[test]
    fn ok_lengths() {
        for (text, over, under) in [
            ("", 1, 1),
            ("2", 2, 1),
            ("/2", 1, 2),
            ("/", 1, 2),
            ("//", 1, 4),
            ("///", 1, 8),
            ("3/2", 3, 2),
            ("6/4", 3, 2),
            ("15/8", 15, 8),
            ("3/", 3, 2),
        ] {
            assert_eq!(Ratio::read_length(text), Ratio::new(over, under), "{text}");
        }
        for text in ["/0", "1/0", "99999999999", "//2", "2/3/4", &"/".repeat(40), "x"] {
            assert_eq!(Ratio::read_length(text), None, "{text}");
        }
    }

    #[test]
    fn ok_arithmetic() {
        let half = Ratio::new(1, 2).unwrap();
        assert_eq!(half.plus(half), Some(Ratio::ONE));
        assert_eq!(half.times(half), Ratio::new(1, 4));
        assert_eq!(Ratio::new(1, 12).unwrap().ticks(), (u64::from(TICKS_PER_QUARTER / 3), true));
        assert_eq!(Ratio::new(1, 11).unwrap().ticks(), (3665, false));
        let large = Ratio::new(MOST, 1).unwrap();
        assert_eq!((large.plus(large), large.times(large)), (None, None));
        assert_eq!(Ratio::of_ticks(TICKS_PER_QUARTER), Ratio::new(1, 4));
    }
}
