//! Normal orders: a set arranged upwards from the pitch class that packs it best.

use super::set_table::{SETS, SetRow};
use super::{PitchClass, PitchSet};

/// The members of a set upwards from one of them, around the circle.
///
/// Made by [`PitchSet::normal_order`], which is Forte's, and [`PitchSet::normal_order_rahn`].
///
/// # Example
///
/// ```
/// use overshell::pitch::PitchSet;
///
/// let b_flat: PitchSet = "D F Bb".parse()?;
/// let order = b_flat.normal_order();
/// assert_eq!(order.to_string(), "[10 2 5]");
/// assert_eq!(order.from_zero().to_string(), "{0 4 7}");
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct NormalOrder {
    set: PitchSet,
    /// 0 for the empty set.
    first: u8,
}

impl NormalOrder {
    /// The set.
    pub const fn set(self) -> PitchSet {
        self.set
    }

    /// The pitch class that it starts from; `None` for the empty set.
    pub const fn first(self) -> Option<PitchClass> {
        if self.set.is_empty() { None } else { Some(PitchClass::wrapping(self.first as i32)) }
    }

    /// The set moved so that the order starts from 0.
    #[must_use]
    pub const fn from_zero(self) -> PitchSet {
        self.set.transpose(-(self.first as i32))
    }

    /// The members in order.
    pub fn iter(self) -> impl Iterator<Item = PitchClass> + Clone {
        self.from_zero().iter().map(move |class| class.up(self.first.into()))
    }
}

impl std::fmt::Display for NormalOrder {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "[{}]", itertools::join(self.iter(), " "))
    }
}

impl PitchSet {
    #[expect(clippy::indexing_slicing, reason = "a set has twelve bits and the table 4,096 rows")]
    const fn row(self) -> &'static SetRow {
        &SETS[self.bits() as usize]
    }

    /// Forte's normal order: of all orders around the circle the one that spans least; of several, the one whose second
    /// member lies lowest above the first, then the third, and so on. Where a set is its own transposition, so that
    /// some are left, the one from the lowest pitch class.
    ///
    /// Forte, *The Structure of Atonal Music*, Yale 1973; equal to music21's `normalOrder` for all 4,096 sets. It
    /// differs from [`PitchSet::normal_order_rahn`] for 204 of them: 36, 48, 48, 36 and 36 of five to nine members.
    pub const fn normal_order(self) -> NormalOrder {
        NormalOrder { set: self, first: self.row().forte_first }
    }

    /// Rahn's normal order: as [`PitchSet::normal_order`], but of several that span least the one whose last member but
    /// one lies lowest above the first, then the one before it, and so on. Straus and Open Music Theory print it.
    ///
    /// Rahn, *Basic Atonal Theory*, Longman 1980.
    ///
    /// ```
    /// use overshell::pitch::PitchSet;
    /// let set: PitchSet = "0 1 5 6 8".parse()?;
    /// assert_eq!(set.normal_order().to_string(), "[5 6 8 0 1]");
    /// assert_eq!(set.normal_order_rahn().to_string(), "[0 1 5 6 8]");
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub const fn normal_order_rahn(self) -> NormalOrder {
        NormalOrder { set: self, first: self.row().rahn_first }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The slow twin: the definitions, on lists.
    fn slow(set: PitchSet, key: fn(Vec<u8>) -> Vec<u8>) -> Vec<u8> {
        let members: Vec<u8> = set.iter().map(PitchClass::get).collect();
        let orders = (0..members.len()).map(|by| {
            let mut order = members.clone();
            order.rotate_left(by);
            order
        });
        let best = orders.min_by_key(|order| {
            let above: Vec<u8> = order.iter().map(|n| (n + 12 - order[0]) % 12).collect();
            (above.last().copied(), key(above), order[0])
        });
        best.unwrap_or_default()
    }

    #[test]
    fn all_normal_orders_agree_with_the_slow_twin() {
        let mut differ = [0; 13];
        for bits in 0..4096 {
            let set = PitchSet::from_bits(bits).unwrap();
            let numbers = |order: NormalOrder| order.iter().map(PitchClass::get).collect::<Vec<_>>();
            let (forte, rahn) = (numbers(set.normal_order()), numbers(set.normal_order_rahn()));
            assert_eq!(forte, slow(set, |above| above));
            assert_eq!(rahn, slow(set, |above| above.into_iter().rev().collect()));
            assert_eq!(set.normal_order().first().map(PitchClass::get), forte.first().copied());
            differ[forte.len()] += usize::from(forte != rahn);
        }
        // Counted independently in Python too: music21's normal orders against Rahn's (tests/data/language/sets.tsv).
        assert_eq!(differ, [0, 0, 0, 0, 0, 36, 48, 48, 36, 36, 0, 0, 0]);
        assert_eq!(differ.iter().sum::<usize>(), 204);
    }

    /// Both prime forms follow from the normal orders of the set and of its inversion.
    #[test]
    fn all_prime_forms_are_the_better_of_two_normal_orders() {
        for bits in 0..4096 {
            let set = PitchSet::from_bits(bits).unwrap();
            let class = super::super::SetClass::of(set);
            let both = [set, set.invert()];
            let lists = both.map(|s| s.normal_order().from_zero().iter().collect::<Vec<_>>());
            let best = lists.into_iter().min_by_key(|list| (list.last().copied(), list.clone())).unwrap();
            assert_eq!(class.prime_form().iter().collect::<Vec<_>>(), best, "{set}");
            let rahn = both.map(|s| s.normal_order_rahn().from_zero()).into_iter().min().unwrap();
            assert_eq!(class.prime_form_rahn(), rahn, "{set}");
        }
    }
}
