//! The table of scales.

use super::Scale;
use crate::chord::{Degree, DegreeSet, Fifth, Quality, Seventh, Source, Third};
use crate::pitch::{PitchClass, PitchSet};

/// A kind of chord that a scale is published for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct Served {
    /// The chord tones.
    pub quality: Quality,
    /// The tensions that it is chosen for, beside those of the plain scale of such chords.
    pub tensions: DegreeSet,
    /// Who says so.
    pub source: Source,
}

/// A row of the table, in the order of [`Scale`].
pub(super) struct Row {
    pub(super) name: &'static str,
    pub(super) notes: Notes,
    pub(super) serves: &'static [Served],
}

/// The notes of a scale as places on the line of fifths from its root.
pub(super) struct Notes {
    fifths: [i8; 8],
    len: usize,
}

impl Notes {
    pub(super) fn fifths(&self) -> &[i8] {
        self.fifths.get(..self.len).unwrap_or_default()
    }

    #[expect(clippy::indexing_slicing, reason = "at < len <= 8")]
    pub(super) const fn semitones(&self) -> PitchSet {
        let mut set = PitchSet::EMPTY;
        let mut at = 0;
        while at < self.len {
            set = set.with(PitchClass::wrapping(7 * self.fifths[at] as i32));
            at += 1;
        }
        set
    }
}

/// Reads `1 b2 #2 3`: each note by number and alteration, as it is spelled.
#[expect(clippy::indexing_slicing, reason = "const: an index out of bounds is a compile error")]
const fn notes(text: &str) -> Notes {
    const FIFTHS: [i8; 7] = [0, 2, 4, -1, 1, 3, 5];
    let bytes = text.as_bytes();
    let mut notes = Notes { fifths: [0; 8], len: 0 };
    let (mut at, mut alteration) = (0, 0);
    while at < bytes.len() {
        match bytes[at] {
            b'b' => alteration -= 1,
            b'#' => alteration += 1,
            b' ' => alteration = 0,
            digit => {
                notes.fifths[notes.len] = FIFTHS[(digit - b'1') as usize] + 7 * alteration;
                notes.len += 1;
            }
        }
        at += 1;
    }
    notes
}

const fn row(name: &'static str, text: &str, serves: &'static [Served]) -> Row {
    Row { name, notes: notes(text), serves }
}

#[expect(clippy::indexing_slicing, reason = "const: an index out of bounds is a compile error")]
const fn served(quality: Quality, tensions: &[Degree], source: Source) -> Served {
    let mut set = DegreeSet::EMPTY;
    let mut at = 0;
    while at < tensions.len() {
        set = set.with(tensions[at]);
        at += 1;
    }
    Served { quality, tensions: set, source }
}

use Degree::{FlatNine, FlatThirteen, SharpEleven, SharpNine, Thirteen};
use Source::{CommonPractice, Haerle, Handout, Levine, OpenMusicTheory, Summation, Terefenko, Wikipedia};

const ALTERED: Quality = Quality { third: Third::Major, fifth: Fifth::None, seventh: Seventh::Flat };

/// Contents and avoid notes are arithmetic on the names; which chord each serves is said by the source of the row.
/// The Summation also names blues and "Mixolydian #9" for I7 and IV7, without their notes; blues has no major third.
#[rustfmt::skip]
pub(super) const ROWS: [Row; 22] = [
    row("Ionian", "1 2 3 4 5 6 7", &[
        served(Quality::MAJOR_SEVENTH, &[], OpenMusicTheory),
        served(Quality::SIXTH, &[], CommonPractice),
    ]),
    row("Dorian", "1 2 b3 4 5 6 b7", &[
        served(Quality::MINOR_SEVENTH, &[], OpenMusicTheory),
        served(Quality::MINOR_SIXTH, &[], CommonPractice),
    ]),
    row("Phrygian", "1 b2 b3 4 5 b6 b7", &[
        served(Quality::MINOR_SEVENTH, &[], OpenMusicTheory),
        served(Quality::SEVENTH_SUSPENDED_FOURTH, &[FlatNine], Levine),
        served(Quality::SEVENTH_SUSPENDED_FOURTH, &[FlatNine, FlatThirteen], Terefenko),
    ]),
    row("Lydian", "1 2 3 #4 5 6 7", &[
        served(Quality::MAJOR_SEVENTH, &[], OpenMusicTheory),
        served(Quality::MAJOR_SEVENTH, &[SharpEleven], Levine),
        served(Quality::SIXTH, &[], CommonPractice),
    ]),
    row("Mixolydian", "1 2 3 4 5 6 b7", &[
        served(Quality::DOMINANT_SEVENTH, &[], OpenMusicTheory),
        served(Quality::SEVENTH_SUSPENDED_FOURTH, &[], Terefenko),
    ]),
    row("Aeolian", "1 2 b3 4 5 b6 b7", &[served(Quality::MINOR_SEVENTH, &[], OpenMusicTheory)]),
    row("Locrian", "1 b2 b3 4 b5 b6 b7", &[served(Quality::HALF_DIMINISHED, &[], OpenMusicTheory)]),
    row("melodic minor", "1 2 b3 4 5 6 7", &[
        served(Quality::MINOR_MAJOR_SEVENTH, &[], Haerle),
        served(Quality::MINOR_SIXTH, &[], CommonPractice),
    ]),
    row("Dorian b2", "1 b2 b3 4 5 6 b7", &[
        // Haerle lists the 2 as avoided: no tension.
        served(Quality::MINOR_SEVENTH, &[], Haerle),
        served(Quality::SEVENTH_SUSPENDED_FOURTH, &[FlatNine], Handout),
        served(Quality::SEVENTH_SUSPENDED_FOURTH, &[FlatNine, Thirteen], Terefenko),
    ]),
    row("Lydian augmented", "1 2 3 #4 #5 6 7", &[
        served(Quality::MAJOR_SEVENTH_SHARP_FIVE, &[], Haerle),
    ]),
    row("Lydian b7", "1 2 3 #4 5 6 b7", &[served(Quality::DOMINANT_SEVENTH, &[SharpEleven], Haerle)]),
    row("Mixolydian b6", "1 2 3 4 5 b6 b7", &[
        served(Quality::DOMINANT_SEVENTH, &[FlatThirteen], Summation),
        served(Quality::SEVENTH_SUSPENDED_FOURTH, &[FlatThirteen], Terefenko),
    ]),
    row("Locrian natural 2", "1 2 b3 4 b5 b6 b7", &[served(Quality::HALF_DIMINISHED, &[], Levine)]),
    row("altered", "1 b2 b3 b4 b5 b6 b7", &[
        served(ALTERED, &[FlatNine, SharpNine, SharpEleven, FlatThirteen], Summation),
    ]),
    row("harmonic minor", "1 2 b3 4 5 b6 7", &[served(Quality::MINOR_MAJOR_SEVENTH, &[], CommonPractice)]),
    row("Phrygian dominant", "1 b2 3 4 5 b6 b7", &[
        served(Quality::DOMINANT_SEVENTH, &[FlatNine, FlatThirteen], Wikipedia),
    ]),
    row("Phrygian dominant with #9", "1 b2 #2 3 4 5 b6 b7", &[
        served(Quality::DOMINANT_SEVENTH, &[FlatNine, SharpNine, FlatThirteen], Summation),
    ]),
    row("harmonic major", "1 2 3 4 5 b6 7", &[]),
    row("half-whole", "1 b2 #2 3 #4 5 6 b7", &[
        served(Quality::DOMINANT_SEVENTH, &[FlatNine, SharpNine, SharpEleven, Thirteen], Wikipedia),
        served(Quality::DOMINANT_SEVENTH, &[FlatNine, Thirteen], Levine),
    ]),
    row("whole-half", "1 2 b3 4 b5 b6 6 7", &[
        served(Quality::DIMINISHED_SEVENTH, &[], CommonPractice),
        served(Quality::DIMINISHED_MAJOR_SEVENTH, &[], Levine),
    ]),
    row("whole tone", "1 2 3 #4 #5 b7", &[
        served(Quality::AUGMENTED_SEVENTH, &[], CommonPractice),
        served(Quality::AUGMENTED, &[], CommonPractice),
    ]),
    row("augmented", "1 #2 3 5 b6 7", &[]),
];

/// Other names, each from a source of the tables or common practice.
#[rustfmt::skip]
pub(super) const OTHER_NAMES: &[(&str, Scale)] = &[
    ("major", Scale::Ionian),
    ("natural minor", Scale::Aeolian),
    ("Phrygian natural 6", Scale::DorianFlatTwo),
    ("Lydian dominant", Scale::LydianDominant),
    ("Mixolydian b13", Scale::MixolydianFlatSix),
    ("Locrian #2", Scale::LocrianNaturalTwo),
    ("alt", Scale::Altered),
    ("Mixolydian b9 b13", Scale::PhrygianDominant),
    ("Mixolydian b9 #9 b13", Scale::PhrygianDominantSharpNine),
];
