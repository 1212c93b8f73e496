//! Set classes: sets of pitch classes that are the same up to transposition and inversion, by their published names.

use super::set_table::{CLASSES, ClassRow, FIRST, PRIME_FORMS, SETS};
use super::{ForteName, PitchSet};
use crate::error::Error;

/// How a set lies to the prime form of its class.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Form {
    /// The class is its own inversion.
    Symmetric,
    /// A transposition of Forte's prime form, often marked `A`.
    Prime,
    /// A transposition of its inversion, often marked `B`.
    Inverted,
}

/// One of the 224 classes of sets of pitch classes under transposition and inversion.
///
/// Everything about a class is looked up. Printed as Forte's name with its Z; read with or without the Z.
///
/// # Example
///
/// ```
/// use overshell::pitch::{PitchSet, SetClass};
///
/// let g7: PitchSet = "G B D F".parse()?;
/// let class = SetClass::of(g7);
/// assert_eq!(class.to_string(), "4-27");
/// assert_eq!(g7.forte_name().as_str(), "4-27B");
/// assert_eq!(class.interval_vector(), [0, 1, 2, 1, 1, 1]);
/// assert_eq!(class.prime_form().to_string(), "{0 2 5 8}");
/// assert_eq!("4-27".parse::<SetClass>()?, class);
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SetClass(u8);

impl SetClass {
    /// All 224, by cardinality and in Forte's order.
    pub fn all() -> impl DoubleEndedIterator<Item = Self> + Clone {
        (0..=u8::MAX).take(PRIME_FORMS.len()).map(Self)
    }

    /// The class of a set.
    #[expect(clippy::indexing_slicing, reason = "a set has twelve bits and the table 4,096 rows")]
    pub const fn of(set: PitchSet) -> Self {
        Self(SETS[set.bits() as usize].class)
    }

    /// The class of this cardinality and number, as in Forte's name; `None` where there is none.
    pub(super) fn from_name(cardinality: u8, number: u8) -> Option<Self> {
        let first = *FIRST.get(usize::from(cardinality))?;
        let behind = *FIRST.get(usize::from(cardinality) + 1)?;
        let class = first.checked_add(number.checked_sub(1)?)?;
        (class < behind).then_some(Self(class))
    }

    /// Its place among all classes, `0..=223`.
    pub(crate) const fn index(self) -> usize {
        self.0 as usize
    }

    #[expect(clippy::indexing_slicing, reason = "made from an index into the same table")]
    const fn row(self) -> &'static ClassRow {
        &CLASSES[self.0 as usize]
    }

    /// How many pitch classes its sets have, `0..=12`.
    pub const fn cardinality(self) -> u8 {
        self.prime_form().len() as u8
    }

    /// Its number among the classes of the same cardinality, from 1.
    #[expect(clippy::indexing_slicing, reason = "a set has at most twelve members")]
    pub const fn number(self) -> u8 {
        self.0 - FIRST[self.cardinality() as usize] + 1
    }

    /// Forte's prime form: of the normal orders ([`PitchSet::normal_order`]) of the set and of its inversion, moved to
    /// start from 0, the one packed better to the left. It differs from [`SetClass::prime_form_rahn`] in six classes.
    #[expect(clippy::indexing_slicing, reason = "made from an index into the same table")]
    pub const fn prime_form(self) -> PitchSet {
        PitchSet::of_bits(PRIME_FORMS[self.0 as usize])
    }

    /// Rahn's prime form, which Straus and Open Music Theory print: of all transpositions and inversions that hold 0,
    /// the one whose highest member is lowest, then the next highest, and so on.
    pub const fn prime_form_rahn(self) -> PitchSet {
        PitchSet::of_bits(self.row().rahn)
    }

    /// How many pairs of its members lie each interval class apart, from 1 to 6.
    pub const fn interval_vector(self) -> [u8; 6] {
        self.row().vector
    }

    /// The other class with the same interval vector (Forte's Z), where there is one.
    ///
    /// ```
    /// use overshell::pitch::SetClass;
    /// let all_intervals: SetClass = "4-Z15".parse()?;
    /// assert_eq!(all_intervals.z_mate(), Some("4-Z29".parse()?));
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub const fn z_mate(self) -> Option<Self> {
        let mate = self.row().z_mate;
        if mate == self.0 { None } else { Some(Self(mate)) }
    }

    /// Whether another class has the same interval vector (Forte's Z).
    pub const fn is_z(self) -> bool {
        self.row().z_mate != self.0
    }

    /// The class of the complements of its sets.
    #[must_use]
    pub const fn complement(self) -> Self {
        Self::of(self.prime_form().complement())
    }
}

impl std::fmt::Display for SetClass {
    /// Forte's name with its Z: `4-27`, `4-Z29`.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(ForteName::of_class(*self))
    }
}

impl std::str::FromStr for SetClass {
    type Err = Error;

    /// Reads Forte's name without `A` or `B`, with or without the Z.
    fn from_str(text: &str) -> Result<Self, Error> {
        match ForteName::read(text)? {
            (class, None) => Ok(class),
            (class, Some(_)) => Err(ForteName::wrong(text, "names a form, expected a class".into())
                .with_help(format!("the class is `{class}`"))),
        }
    }
}

impl PitchSet {
    /// How the set lies to the prime form of its class.
    #[expect(clippy::indexing_slicing, reason = "a set has twelve bits and the table 4,096 rows")]
    pub const fn form(self) -> Form {
        SETS[self.bits() as usize].form
    }

    /// How many pairs of its members lie each interval class apart, from 1 to 6.
    pub const fn interval_vector(self) -> [u8; 6] {
        let mut vector = [0; 6];
        let mut interval = 1;
        while interval <= 6 {
            let pairs = self.intersection(self.transpose(interval)).len() as u8;
            // A tritone is its own inversion and was counted from both ends.
            #[expect(clippy::indexing_slicing, reason = "from 1 to 6 into six entries")]
            {
                vector[interval as usize - 1] = if interval == 6 { pairs / 2 } else { pairs };
            }
            interval += 1;
        }
        vector
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Counts: 208 classes of 3 to 9 as in Open Music Theory's table, 224 and 352 in all (bracelets and necklaces of
    /// twelve beads in two colours). The prime forms that differ between Forte and Rahn: `tests/language_sets.rs`.
    #[test]
    fn all_4096_sets_fall_into_224_classes_and_352_types() {
        let mut classes = [0; 13];
        for class in SetClass::all() {
            classes[usize::from(class.cardinality())] += 1;
            assert_eq!(SetClass::of(class.prime_form()), class);
        }
        assert_eq!(classes, [1, 1, 6, 12, 29, 38, 50, 38, 29, 12, 6, 1, 1]);
        let types: usize = SetClass::all()
            .map(|class| if class.prime_form().form() == Form::Symmetric { 1 } else { 2 })
            .sum();
        assert_eq!((SetClass::all().count(), types), (224, 352));
        for bits in 0..4096 {
            let set = PitchSet::from_bits(bits).unwrap();
            let class = SetClass::of(set);
            // The slow twin: some transposition of the set or of its inversion is the prime form.
            let is = |set: PitchSet| (0..12).any(|n| set.transpose(n) == class.prime_form());
            let form = match (is(set), is(set.invert())) {
                (true, true) => Form::Symmetric,
                (true, false) => Form::Prime,
                (false, true) => Form::Inverted,
                (false, false) => panic!("{set} is not in {class}"),
            };
            assert_eq!(set.form(), form, "{set}");
            // Interval vectors the slow way: count the pairs.
            let mut vector = [0; 6];
            for a in set.iter() {
                for b in set.iter().filter(|b| a < *b) {
                    let up = a.semitones_up_to(b);
                    vector[usize::from(up.min(12 - up)) - 1] += 1;
                }
            }
            assert_eq!((set.interval_vector(), class.interval_vector()), (vector, vector));
            assert_eq!(SetClass::of(set.complement()), class.complement());
        }
    }

    /// 46 classes of 3 to 9 pitch classes carry a Z (Open Music Theory's table), always in pairs.
    #[test]
    fn all_z_classes_are_46() {
        let z: Vec<SetClass> = SetClass::all().filter(|class| class.is_z()).collect();
        assert_eq!(z.len(), 46);
        for class in &z {
            let same = z.iter().filter(|o| o.cardinality() == class.cardinality());
            assert_eq!(same.filter(|o| o.interval_vector() == class.interval_vector()).count(), 2, "{class}");
        }
    }
}
