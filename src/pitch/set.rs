//! Sets of pitch classes as twelve bits.

use super::PitchClass;
use crate::error::{Error, Kind, Result};

/// A set of pitch classes: bit *n* is pitch class *n*.
///
/// # Example
///
/// ```
/// use overshell::pitch::{PitchClass, PitchSet};
///
/// let c_major: PitchSet = [0, 4, 7].into_iter().map(PitchClass::constant).collect();
/// assert_eq!(c_major.to_string(), "{0 4 7}");
/// assert_eq!(c_major.transpose(5).to_string(), "{0 5 9}");
/// assert_eq!(c_major.invert().to_string(), "{0 5 8}");
/// ```
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq, Ord, PartialOrd, Hash)]
pub struct PitchSet(u16);

impl PitchSet {
    /// No pitch class.
    pub const EMPTY: Self = Self(0);
    /// All twelve.
    pub const CHROMATIC: Self = Self(0xFFF);

    /// The set with these bits.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`] where a bit above the twelfth is set.
    pub fn from_bits(bits: u16) -> Result<Self> {
        Self::checked_bits(bits).ok_or_else(|| {
            Error::new(Kind::Range, format!("pitch set bits {bits:#x} are out of range, expected 0 to 0xfff"))
        })
    }

    /// The set with these bits; `None` where a bit above the twelfth is set.
    const fn checked_bits(bits: u16) -> Option<Self> {
        if bits <= Self::CHROMATIC.0 { Some(Self(bits)) } else { None }
    }

    /// The set with these bits, known to be twelve at most.
    pub(super) const fn of_bits(bits: u16) -> Self {
        match Self::checked_bits(bits) {
            Some(set) => set,
            None => Self::EMPTY,
        }
    }

    /// The bits, `0..=0xFFF`.
    pub const fn bits(self) -> u16 {
        self.0
    }

    /// How many pitch classes, `0..=12`.
    pub const fn len(self) -> u32 {
        self.0.count_ones()
    }

    /// Whether there is none.
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// Whether the pitch class is a member.
    pub const fn contains(self, class: PitchClass) -> bool {
        self.0 & (1 << class.get()) != 0
    }

    /// The set with this pitch class too.
    #[must_use]
    pub const fn with(self, class: PitchClass) -> Self {
        Self(self.0 | 1 << class.get())
    }

    /// Members of either.
    #[must_use]
    pub const fn union(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// Members of both.
    #[must_use]
    pub const fn intersection(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }

    /// Members of this one only.
    #[must_use]
    pub const fn difference(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }

    /// Whether every member is in `other`.
    pub const fn is_subset(self, other: Self) -> bool {
        self.0 & !other.0 == 0
    }

    /// The pitch classes that are not members.
    #[must_use]
    pub const fn complement(self) -> Self {
        Self(!self.0 & 0xFFF)
    }

    /// Every member so many semitones up, around the circle (the operation Tn of set theory).
    #[must_use]
    pub const fn transpose(self, semitones: i32) -> Self {
        let by = semitones.rem_euclid(12) as u32;
        let wide = (self.0 as u32) << by;
        Self(((wide | wide >> 12) & 0xFFF) as u16)
    }

    /// Every member mirrored at pitch class 0 (the operation I of set theory).
    #[must_use]
    pub const fn invert(self) -> Self {
        let mirrored = self.0.reverse_bits() >> 4; // bit n to bit 11 - n
        Self(mirrored).transpose(1)
    }

    /// How many of the twelve transpositions leave the set as it is, `1..=12`: with
    /// [`PitchSet::inversional_symmetry`] its degree of symmetry (Straus, *Introduction to Post-Tonal Theory*).
    ///
    /// ```
    /// use overshell::pitch::PitchSet;
    /// let diminished_seventh: PitchSet = "0 3 6 9".parse()?;
    /// assert_eq!(diminished_seventh.transpositional_symmetry(), 4);
    /// assert_eq!(diminished_seventh.inversional_symmetry(), 4);
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub const fn transpositional_symmetry(self) -> u8 {
        self.transpositions_onto(self)
    }

    /// How many of the twelve inversions (mirrored, then transposed) leave the set as it is, `0..=12`.
    pub const fn inversional_symmetry(self) -> u8 {
        self.invert().transpositions_onto(self)
    }

    const fn transpositions_onto(self, other: Self) -> u8 {
        let mut count = 0;
        let mut by = 0;
        while by < 12 {
            count += (self.transpose(by).0 == other.0) as u8;
            by += 1;
        }
        count
    }

    /// Every set whose members are all in this one, from itself down to the empty set: 2 to the power of its length.
    ///
    /// ```
    /// use overshell::pitch::{PitchSet, SetClass};
    /// let c_major: PitchSet = "C D E F G A B".parse()?;
    /// let triads: SetClass = "3-11".parse()?;
    /// assert_eq!(c_major.subsets().filter(|set| SetClass::of(*set) == triads).count(), 6);
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub fn subsets(self) -> impl Iterator<Item = Self> + Clone {
        std::iter::successors(Some(self), move |set| Some(Self(set.0.checked_sub(1)? & self.0)))
    }

    /// The members, ascending from C.
    pub fn iter(self) -> impl Iterator<Item = PitchClass> + Clone {
        PitchClass::ALL.into_iter().filter(move |class| self.contains(*class))
    }
}

impl FromIterator<PitchClass> for PitchSet {
    fn from_iter<I: IntoIterator<Item = PitchClass>>(classes: I) -> Self {
        classes.into_iter().fold(Self::EMPTY, Self::with)
    }
}

impl std::fmt::Display for PitchSet {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{{{}}}", itertools::join(self.iter(), " "))
    }
}

impl std::str::FromStr for PitchSet {
    type Err = Error;

    /// Reads numbers or note names between braces, or without them.
    fn from_str(text: &str) -> Result<Self> {
        let inner = text.strip_prefix('{').and_then(|t| t.strip_suffix('}')).unwrap_or(text);
        inner.split_whitespace().map(str::parse::<PitchClass>).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The slow twin: a list of numbers.
    fn slow(set: PitchSet, f: impl Fn(i32) -> i32) -> PitchSet {
        set.iter().map(|class| PitchClass::wrapping(f(i32::from(class.get())))).collect()
    }

    #[test]
    fn all_4096_sets_agree_with_the_slow_twin() {
        for bits in 0..=0xFFF {
            let set = PitchSet::from_bits(bits).unwrap();
            assert_eq!(set.iter().count() as u32, set.len());
            assert_eq!(set.to_string().parse::<PitchSet>().unwrap(), set);
            assert_eq!(set.invert(), slow(set, |n| -n));
            assert_eq!(set.invert().invert(), set);
            assert_eq!(set.union(set.complement()), PitchSet::CHROMATIC);
            assert!(set.intersection(set.complement()).is_empty());
            // Each operation that moves the set makes a set of its orbit as often as one that leaves it as it is.
            let orbit: std::collections::BTreeSet<PitchSet> =
                (0..12).flat_map(|by| [set.transpose(by), set.invert().transpose(by)]).collect();
            let degree = set.transpositional_symmetry() + set.inversional_symmetry();
            assert_eq!(orbit.len() * usize::from(degree), 24);
            assert_eq!(set.inversional_symmetry() > 0, set.form() == crate::pitch::Form::Symmetric);
            for by in -12..=24 {
                assert_eq!(set.transpose(by), slow(set, |n| n + by));
            }
        }
        let is_subset = |a: PitchSet, b: PitchSet| a.iter().all(|class| b.contains(class));
        for bits in 0..0x200 {
            let set = PitchSet::from_bits(bits).unwrap();
            let mut slow: Vec<_> = (0..=bits).rev().map(|b| PitchSet::from_bits(b).unwrap()).collect();
            slow.retain(|other| is_subset(*other, set));
            assert_eq!(set.subsets().collect::<Vec<_>>(), slow);
        }
        assert!(PitchSet::from_bits(0x1000).unwrap_err().is_range());
    }
}
