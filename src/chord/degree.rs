//! Degrees: what a note is over a root.

use crate::error::{Error, Excerpt, Kind, Result};
use crate::pitch::{Interval, NoteName, PitchClass};

/// A function over a root, not a number of semitones: `#9` and `b3` differ though both lie three semitones up.
///
/// Chord tones are `1 2 b3 3 4 b5 5 #5 6 bb7 b7 maj7`, tensions `b9 9 #9 11 #11 b13 13`. Which of two readings of one
/// key a chord means is the chord's business: see [`Chord::degree_of`](crate::chord::Chord::degree_of).
///
/// # Example
///
/// ```
/// use overshell::chord::Degree;
/// use overshell::pitch::note;
///
/// let sharp_nine: Degree = "#9".parse()?;
/// assert_eq!(sharp_nine.semitones(), 3);
/// assert_eq!(sharp_nine.name_over(note("C")), note("D#"));
/// assert_eq!(Degree::FlatThree.name_over(note("C")), note("Eb"));
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash)]
#[repr(u8)]
pub enum Degree {
    /// The root, `1`.
    Root,
    /// `b9`
    FlatNine,
    /// The second of a sus2 chord, `2`.
    Second,
    /// `9`
    Nine,
    /// `#9`
    SharpNine,
    /// The minor third, `b3`.
    FlatThree,
    /// The major third, `3`.
    Three,
    /// The fourth of a sus4 chord, `4`.
    Fourth,
    /// The natural eleventh, `11`.
    Eleven,
    /// `#11`
    SharpEleven,
    /// `b5`
    FlatFive,
    /// `5`
    Five,
    /// `#5`
    SharpFive,
    /// `b13`
    FlatThirteen,
    /// The sixth of a sixth chord, `6`.
    Six,
    /// `13`
    Thirteen,
    /// The diminished seventh, `bb7`.
    DoubleFlatSeven,
    /// The minor seventh, `b7`.
    FlatSeven,
    /// The major seventh, `maj7`.
    MajorSeven,
}

/// One row of the table of degrees.
struct Row {
    text: &'static str,
    /// Diatonic number as a simple or compound interval.
    number: u8,
    /// Semitones against the major or perfect interval of that number.
    alteration: i8,
}

/// The table of degrees, in the order of the enum. Tension offsets: the interval on the line of
/// fifths (Temperley, *Music Analysis* 19, 2000), as music21 10.5.1 transposes.
const ROWS: [Row; 19] = {
    const fn row(text: &'static str, number: u8, alteration: i8) -> Row {
        Row { text, number, alteration }
    }
    [
        row("1", 1, 0),
        row("b9", 9, -1),
        row("2", 2, 0),
        row("9", 9, 0),
        row("#9", 9, 1),
        row("b3", 3, -1),
        row("3", 3, 0),
        row("4", 4, 0),
        row("11", 11, 0),
        row("#11", 11, 1),
        row("b5", 5, -1),
        row("5", 5, 0),
        row("#5", 5, 1),
        row("b13", 13, -1),
        row("6", 6, 0),
        row("13", 13, 0),
        row("bb7", 7, -2),
        row("b7", 7, -1),
        row("maj7", 7, 0),
    ]
};

const SIMPLE_SEMITONES: [i8; 7] = [0, 2, 4, 5, 7, 9, 11];
const SIMPLE_FIFTHS: [i8; 7] = [0, 2, 4, -1, 1, 3, 5];

impl Degree {
    /// All degrees, ascending within the octave.
    pub const ALL: [Self; 19] = [
        Self::Root,
        Self::FlatNine,
        Self::Second,
        Self::Nine,
        Self::SharpNine,
        Self::FlatThree,
        Self::Three,
        Self::Fourth,
        Self::Eleven,
        Self::SharpEleven,
        Self::FlatFive,
        Self::Five,
        Self::SharpFive,
        Self::FlatThirteen,
        Self::Six,
        Self::Thirteen,
        Self::DoubleFlatSeven,
        Self::FlatSeven,
        Self::MajorSeven,
    ];

    /// The reading of each key over a root when the chord says nothing about it, by semitones: the twelve functions
    /// over a dominant seventh (common practice, no source).
    pub const DEFAULTS: [Self; 12] = [
        Self::Root,
        Self::FlatNine,
        Self::Nine,
        Self::SharpNine,
        Self::Three,
        Self::Eleven,
        Self::SharpEleven,
        Self::Five,
        Self::FlatThirteen,
        Self::Thirteen,
        Self::FlatSeven,
        Self::MajorSeven,
    ];

    #[expect(clippy::indexing_slicing, reason = "the enum and its table have the same length")]
    const fn row(self) -> &'static Row {
        &ROWS[self as usize]
    }

    /// Semitones above the root within the octave, `0..=11`.
    #[expect(clippy::indexing_slicing, reason = "an index modulo 7 into 7 entries")]
    pub const fn semitones(self) -> u8 {
        let row = self.row();
        (SIMPLE_SEMITONES[(row.number as usize - 1) % 7] + row.alteration).rem_euclid(12) as u8
    }

    /// Places up the line of fifths from the root.
    #[expect(clippy::indexing_slicing, reason = "an index modulo 7 into 7 entries")]
    pub const fn fifths(self) -> i8 {
        let row = self.row();
        SIMPLE_FIFTHS[(row.number as usize - 1) % 7] + 7 * row.alteration
    }

    /// The number: 9 for `b9`, `9` and `#9`; 7 for `b7`; `1..=13`.
    pub const fn number(self) -> u8 {
        self.row().number
    }

    /// Semitones against the major or perfect interval of that number, `-2..=1`.
    pub const fn alteration(self) -> i8 {
        self.row().alteration
    }

    /// The degree with this number and alteration, where it has a name.
    pub fn from_number(number: u8, alteration: i8) -> Option<Self> {
        Self::ALL.into_iter().find(|d| d.number() == number && d.alteration() == alteration)
    }

    /// Whether it is a ninth, eleventh or thirteenth of any kind.
    pub const fn is_tension(self) -> bool {
        self.number() > 7
    }

    /// Whether it is a tension raised or lowered: `b9 #9 #11 b13`.
    pub const fn is_altered_tension(self) -> bool {
        self.is_tension() && self.alteration() != 0
    }

    /// The interval from the root.
    pub fn interval(self) -> Interval {
        Interval::new(self.number(), self.alteration()).unwrap_or(Interval::UNISON)
    }

    /// The note on this degree over `root`, spelled by degree (a ninth is always a ninth).
    ///
    /// Over a root so far out that a third accidental would be needed, the enharmonic name 12 fifths nearer.
    pub const fn name_over(self, root: NoteName) -> NoteName {
        NoteName::from_fifths_respelled(root.fifths() as i16 + self.fifths() as i16)
    }

    /// The key of this degree over `root`.
    pub const fn class_over(self, root: PitchClass) -> PitchClass {
        root.up(self.semitones() as i32)
    }

    /// As written: `b9`, `maj7`.
    pub const fn as_str(self) -> &'static str {
        self.row().text
    }
}

impl std::fmt::Display for Degree {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.as_str())
    }
}

impl std::str::FromStr for Degree {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        Self::ALL.into_iter().find(|degree| degree.as_str() == text).ok_or_else(|| {
            Error::new(Kind::Pitch, format!("`{}` is not a degree", crate::pitch::shown(text)))
                .with_excerpt(Excerpt::of_line(text, 0, usize::MAX))
                .with_help(format!("the degrees are {}", itertools::join(Self::ALL, " ")))
        })
    }
}

/// A set of degrees.
///
/// # Example
///
/// ```
/// use overshell::chord::{Degree, DegreeSet};
/// let set: DegreeSet = [Degree::Nine, Degree::Root].into_iter().collect();
/// assert_eq!(set.to_string(), "1 9");
/// assert_eq!("1 9".parse::<DegreeSet>()?, set);
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq, Ord, PartialOrd, Hash)]
pub struct DegreeSet(u32);

impl DegreeSet {
    /// No degree.
    pub const EMPTY: Self = Self(0);

    /// The set with this degree too.
    #[must_use]
    pub const fn with(self, degree: Degree) -> Self {
        Self(self.0 | 1 << degree as u8)
    }

    /// The set without this degree.
    #[must_use]
    pub const fn without(self, degree: Degree) -> Self {
        Self(self.0 & !(1 << degree as u8))
    }

    /// Members of either.
    #[must_use]
    pub const fn union(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// Members of this one only.
    #[must_use]
    pub const fn difference(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }

    /// Whether the degree is a member.
    pub const fn contains(self, degree: Degree) -> bool {
        self.0 & (1 << degree as u8) != 0
    }

    /// Whether any of these is a member.
    pub fn contains_any(self, degrees: &[Degree]) -> bool {
        degrees.iter().any(|d| self.contains(*d))
    }

    /// Whether there is none.
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// How many.
    pub const fn len(self) -> u32 {
        self.0.count_ones()
    }

    /// The members, ascending within the octave.
    pub fn iter(self) -> impl Iterator<Item = Degree> + Clone {
        let mut rest = self.0;
        std::iter::from_fn(move || {
            let degree = Degree::ALL.get(rest.trailing_zeros() as usize).copied();
            rest &= rest.wrapping_sub(1);
            degree
        })
    }

    /// Semitones above the root of all members, as twelve bits.
    pub(crate) fn keys(self) -> u16 {
        self.iter().fold(0, |keys, degree| keys | 1 << degree.semitones())
    }

    /// Whether a member of one is the same key as a member of the other.
    pub(super) fn shares_a_key_with(self, other: Self) -> bool {
        self.keys() & other.keys() != 0
    }

    /// The members that are no key of another set's members.
    pub(super) fn without_keys_of(self, other: Self) -> Self {
        let keys = other.keys();
        self.iter().filter(|degree| keys >> degree.semitones() & 1 == 0).collect()
    }

    /// The members ordered by number, as a musician reads them out: `b9 9 #11 13`.
    pub fn by_number(self) -> Vec<Degree> {
        let mut degrees: Vec<_> = self.iter().collect();
        degrees.sort_by_key(|d| (d.number(), d.alteration()));
        degrees
    }
}

impl FromIterator<Degree> for DegreeSet {
    fn from_iter<I: IntoIterator<Item = Degree>>(degrees: I) -> Self {
        degrees.into_iter().fold(Self::EMPTY, Self::with)
    }
}

impl std::fmt::Display for DegreeSet {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", itertools::join(self.iter(), " "))
    }
}

impl std::str::FromStr for DegreeSet {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        text.split_whitespace().map(str::parse::<Degree>).collect()
    }
}

crate::pitch::serde_as_text!(Degree, DegreeSet);

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pitch::note;

    #[test]
    fn all_degrees_roundtrip() {
        for (index, degree) in Degree::ALL.into_iter().enumerate() {
            assert_eq!(degree as usize, index);
            assert_eq!(degree.to_string().parse::<Degree>().unwrap(), degree);
            assert_eq!(i32::from(degree.semitones()), i32::from(degree.interval().semitones()) % 12);
            assert_eq!(degree.fifths(), degree.interval().fifths());
            for name in NoteName::all() {
                let above = degree.name_over(name);
                assert_eq!(
                    above.pitch_class(),
                    degree.class_over(name.pitch_class()),
                    "{degree} over {name}"
                );
            }
        }
        for (semitones, degree) in Degree::DEFAULTS.into_iter().enumerate() {
            assert_eq!(usize::from(degree.semitones()), semitones);
        }
    }

    /// Spelling of tensions over twelve roots (music21 10.5.1
    /// transposition by m9 M9 A9 P11 A11 m13 M13).
    #[test]
    fn all_tensions_are_spelled_as_published() {
        const TABLE: &str = "\
            C Db D D# F F# Ab A
            Db Ebb Eb E Gb G Bbb Bb
            D Eb E E# G G# Bb B
            Eb Fb F F# Ab A Cb C
            E F F# F## A A# C C#
            F Gb G G# Bb B Db D
            F# G G# G## B B# D D#
            G Ab A A# C C# Eb E
            Ab Bbb Bb B Db D Fb F
            A Bb B B# D D# F F#
            Bb Cb C C# Eb E Gb G
            B C C# C## E E# G G#";
        let tensions: Vec<Degree> =
            ["b9", "9", "#9", "11", "#11", "b13", "13"].iter().map(|t| t.parse().unwrap()).collect();
        let mut cells = 0;
        for row in TABLE.lines() {
            let names: Vec<NoteName> = row.split_whitespace().map(note).collect();
            for (degree, expected) in tensions.iter().zip(&names[1..]) {
                assert_eq!(degree.name_over(names[0]), *expected, "{degree} over {}", names[0]);
                cells += 1;
            }
        }
        assert_eq!(cells, 84);
    }
}
