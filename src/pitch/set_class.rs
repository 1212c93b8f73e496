//! Set classes: sets of pitch classes that are the same up to transposition and inversion, by their published names.

use super::{PitchClass, PitchSet};

/// Forte's prime forms as bits, by cardinality and in Forte's order; the empty set first.
///
/// Forte, *The Structure of Atonal Music*, Yale 1973, as tabled in music21 10.5.1.
#[rustfmt::skip]
const PRIME_FORMS: [u16; 224] = [
    0x000,
    // 1
    0x001,
    // 2
    0x003, 0x005, 0x009, 0x011, 0x021, 0x041,
    // 3
    0x007, 0x00b, 0x013, 0x023, 0x043, 0x015, 0x025, 0x045, 0x085, 0x049, 0x089, 0x111,
    // 4
    0x00f, 0x017, 0x01b, 0x027, 0x047, 0x087, 0x033, 0x063, 0x0c3, 0x02d, 0x02b, 0x04d,
    0x04b, 0x08d, 0x053, 0x0a3, 0x099, 0x093, 0x113, 0x123, 0x055, 0x095, 0x0a5, 0x115,
    0x145, 0x129, 0x125, 0x249, 0x08b,
    // 5
    0x01f, 0x02f, 0x037, 0x04f, 0x08f, 0x067, 0x0c7, 0x05d, 0x057, 0x05b, 0x09d, 0x06b,
    0x117, 0x0a7, 0x147, 0x09b, 0x11b, 0x0b3, 0x0cb, 0x18b, 0x133, 0x193, 0x0ad, 0x0ab,
    0x12d, 0x135, 0x12b, 0x14d, 0x14b, 0x153, 0x24b, 0x253, 0x155, 0x255, 0x295, 0x097,
    0x139, 0x127,
    // 6
    0x03f, 0x05f, 0x06f, 0x077, 0x0cf, 0x0e7, 0x1c7, 0x0bd, 0x0af, 0x0bb, 0x0b7, 0x0d7,
    0x0db, 0x13b, 0x137, 0x173, 0x197, 0x1a7, 0x19b, 0x333, 0x15d, 0x157, 0x16d, 0x15b,
    0x16b, 0x1ab, 0x25b, 0x26b, 0x34b, 0x2cb, 0x32b, 0x2b5, 0x2ad, 0x2ab, 0x555, 0x09f,
    0x11f, 0x18f, 0x13d, 0x12f, 0x14f, 0x24f, 0x167, 0x267, 0x25d, 0x257, 0x297, 0x2a7,
    0x29b, 0x2d3,
    // 7
    0x07f, 0x0bf, 0x13f, 0x0df, 0x0ef, 0x19f, 0x1cf, 0x17d, 0x15f, 0x25f, 0x17b, 0x29f,
    0x177, 0x1af, 0x1d7, 0x26f, 0x277, 0x32f, 0x2cf, 0x397, 0x337, 0x367, 0x2bd, 0x2af,
    0x2dd, 0x2bb, 0x2b7, 0x2eb, 0x2d7, 0x357, 0x2db, 0x35b, 0x557, 0x55b, 0x56b, 0x16f,
    0x1bb, 0x1b7,
    // 8
    0x0ff, 0x17f, 0x27f, 0x1bf, 0x1df, 0x1ef, 0x33f, 0x39f, 0x3cf, 0x2fd, 0x2bf, 0x2fb,
    0x2df, 0x2f7, 0x35f, 0x3af, 0x37b, 0x36f, 0x377, 0x3b7, 0x55f, 0x56f, 0x5af, 0x577,
    0x5d7, 0x6b7, 0x5b7, 0x6db, 0x2ef,
    // 9
    0x1ff, 0x2ff, 0x37f, 0x3bf, 0x3df, 0x57f, 0x5bf, 0x5df, 0x5ef, 0x6df, 0x6ef, 0x777,
    // 10
    0x3ff, 0x5ff, 0x6ff, 0x77f, 0x7bf, 0x7df,
    // 11
    0x7ff,
    // 12
    0xfff,
];

/// Place in [`PRIME_FORMS`] of the first class of each cardinality, and behind the last.
const FIRST: [u8; 14] = {
    let mut first = [0; 14];
    let mut index = 0;
    while index < PRIME_FORMS.len() {
        #[expect(clippy::indexing_slicing, reason = "const: an index out of bounds is a compile error")]
        {
            first[PRIME_FORMS[index].count_ones() as usize + 1] = index as u8 + 1;
        }
        index += 1;
    }
    first
};

/// What is known of each of the 4,096 sets: its class, and how it lies to the class's prime form.
const OF_SET: [(u8, Form); 4096] = {
    let mut table = [(0, Form::Symmetric); 4096];
    let mut index = 0;
    while index < PRIME_FORMS.len() {
        #[expect(clippy::indexing_slicing, reason = "const: an index out of bounds is a compile error")]
        {
            let mut semitones = 0;
            // Inverted ones first, so that a set that is both counts as what it is: symmetric.
            while semitones < 12 {
                let turned = PitchSet::of_bits(PRIME_FORMS[index]).invert().transpose(semitones).bits();
                table[turned as usize] = (index as u8, Form::Inverted);
                semitones += 1;
            }
            semitones = 0;
            while semitones < 12 {
                let moved = PitchSet::of_bits(PRIME_FORMS[index]).transpose(semitones).bits();
                table[moved as usize] = match table[moved as usize] {
                    (class, Form::Inverted) if class == index as u8 => (class, Form::Symmetric),
                    (class, form) if class == index as u8 => (class, form),
                    _ => (index as u8, Form::Prime),
                };
                semitones += 1;
            }
        }
        index += 1;
    }
    table
};

/// How a set lies to the prime form of its class.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
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
/// # Example
///
/// ```
/// use overshell::pitch::{PitchSet, SetClass};
///
/// let g7: PitchSet = "G B D F".parse()?;
/// let class = SetClass::of(g7);
/// assert_eq!(class.to_string(), "4-27");
/// assert_eq!(g7.forte_name(), "4-27B");
/// assert_eq!(class.interval_vector(), [0, 1, 2, 1, 1, 1]);
/// assert_eq!(class.prime_form().to_string(), "{0 2 5 8}");
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SetClass(u8);

impl SetClass {
    /// All 224, by cardinality and in Forte's order.
    pub fn all() -> impl DoubleEndedIterator<Item = Self> + Clone {
        (0..=u8::MAX).take(PRIME_FORMS.len()).map(Self)
    }

    /// The class of a set, by table.
    #[expect(clippy::indexing_slicing, reason = "a set has twelve bits and the table 4,096 entries")]
    pub const fn of(set: PitchSet) -> Self {
        Self(OF_SET[set.bits() as usize].0)
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

    /// Forte's prime form. It differs from [`SetClass::prime_form_rahn`] in six classes.
    #[expect(clippy::indexing_slicing, reason = "made from an index into the same table")]
    pub const fn prime_form(self) -> PitchSet {
        PitchSet::of_bits(PRIME_FORMS[self.0 as usize])
    }

    /// Rahn's prime form, which Straus and Open Music Theory print: of all transpositions and inversions that hold 0,
    /// the one whose highest member is lowest, then the next highest, and so on.
    pub fn prime_form_rahn(self) -> PitchSet {
        let forte = self.prime_form();
        let turns =
            [forte, forte.invert()].into_iter().flat_map(|set| (0..12).map(move |n| set.transpose(n)));
        turns.filter(|set| set.is_empty() || set.contains(PitchClass::constant(0))).min().unwrap_or(forte)
    }

    /// How many pairs of its members lie each interval class apart, from 1 to 6.
    pub fn interval_vector(self) -> [u8; 6] {
        self.prime_form().interval_vector()
    }

    /// Whether another class has the same interval vector (Forte's Z).
    pub fn is_z(self) -> bool {
        let vector = self.interval_vector();
        Self::all().any(|other| {
            other != self && other.cardinality() == self.cardinality() && other.interval_vector() == vector
        })
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
        let z = if self.is_z() { "Z" } else { "" };
        write!(f, "{}-{z}{}", self.cardinality(), self.number())
    }
}

impl PitchSet {
    /// The set with these bits, known to be twelve at most.
    const fn of_bits(bits: u16) -> Self {
        match Self::checked_bits(bits) {
            Some(set) => set,
            None => Self::EMPTY,
        }
    }

    /// How the set lies to the prime form of its class.
    #[expect(clippy::indexing_slicing, reason = "a set has twelve bits and the table 4,096 entries")]
    pub const fn form(self) -> Form {
        OF_SET[self.bits() as usize].1
    }

    /// Forte's name of its class, with `A` for a transposition of the prime form and `B` for one of its inversion
    /// where the two differ: `4-27B` for a dominant seventh, `3-11A` for a minor triad.
    pub fn forte_name(self) -> String {
        let form = match self.form() {
            Form::Symmetric => "",
            Form::Prime => "A",
            Form::Inverted => "B",
        };
        format!("{}{form}", SetClass::of(self))
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

    fn set(members: &[u8]) -> PitchSet {
        members.iter().map(|n| PitchClass::constant(*n)).collect()
    }

    /// Counts: handbook of check values, part 1, section 7 (computed there; 208 classes of 3 to 9 as in Open Music
    /// Theory's table).
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

    /// The six: handbook, part 1, section 7 (Rahn's column from Open Music Theory, Forte's from music21).
    #[test]
    fn all_prime_forms_agree_but_for_the_six() {
        let differ: Vec<SetClass> =
            SetClass::all().filter(|c| c.prime_form() != c.prime_form_rahn()).collect();
        let expected = [
            ("5-20", set(&[0, 1, 3, 7, 8]), set(&[0, 1, 5, 6, 8])),
            ("6-Z29", set(&[0, 1, 3, 6, 8, 9]), set(&[0, 2, 3, 6, 7, 9])),
            ("6-31", set(&[0, 1, 3, 5, 8, 9]), set(&[0, 1, 4, 5, 7, 9])),
            ("7-Z18", set(&[0, 1, 2, 3, 5, 8, 9]), set(&[0, 1, 4, 5, 6, 7, 9])),
            ("7-20", set(&[0, 1, 2, 4, 7, 8, 9]), set(&[0, 1, 2, 5, 6, 7, 9])),
            ("8-26", set(&[0, 1, 2, 4, 5, 7, 9, 10]), set(&[0, 1, 3, 4, 5, 7, 8, 10])),
        ];
        assert_eq!(differ.len(), 6);
        for (class, (name, forte, rahn)) in differ.into_iter().zip(expected) {
            assert_eq!(class.to_string(), name);
            assert_eq!((class.prime_form(), class.prime_form_rahn()), (forte, rahn), "{name}");
        }
    }

    /// 46 classes of 3 to 9 pitch classes carry a Z (handbook, part 1, section 7), always in pairs.
    #[test]
    fn all_z_classes_are_46() {
        let z: Vec<SetClass> = SetClass::all().filter(|class| class.is_z()).collect();
        assert_eq!(z.len(), 46);
        for class in &z {
            let same = z.iter().filter(|o| o.cardinality() == class.cardinality());
            assert_eq!(same.filter(|o| o.interval_vector() == class.interval_vector()).count(), 2, "{class}");
        }
    }

    /// Names of common chords: handbook, part 1, section 7 (music21).
    #[test]
    fn ok_published_names_of_chords() {
        for (members, name) in [
            (&[0, 4, 7][..], "3-11B"),
            (&[0, 3, 7], "3-11A"),
            (&[0, 3, 6], "3-10"),
            (&[0, 4, 8], "3-12"),
            (&[0, 5, 7], "3-9"),
            (&[0, 4, 7, 11], "4-20"),
            (&[0, 4, 7, 10], "4-27B"),
            (&[0, 3, 6, 10], "4-27A"),
            (&[0, 3, 7, 10], "4-26"),
            (&[0, 3, 6, 9], "4-28"),
            (&[0, 3, 7, 11], "4-19A"),
            (&[0, 4, 8, 11], "4-19B"),
            (&[0, 4, 8, 10], "4-24"),
            (&[0, 4, 6, 10], "4-25"),
            (&[0, 5, 7, 10], "4-23"),
            (&[0, 4, 6, 11], "4-16A"),
            (&[0, 2, 4, 7, 11], "5-27A"),
            (&[0, 2, 3, 7, 10], "5-27B"),
            (&[0, 2, 4, 7, 10], "5-34"),
            (&[0, 1, 4, 7, 10], "5-31B"),
            (&[0, 3, 4, 7, 10], "5-32B"),
            (&[0, 2, 4, 7, 9], "5-35"),
            (&[0, 2, 4, 7, 9, 10], "6-33A"),
            (&[4, 9, 10, 2], "4-16A"),
            (&[0, 4, 10], "3-8A"),
        ] {
            assert_eq!(set(members).forte_name(), name, "{members:?}");
        }
    }
}
