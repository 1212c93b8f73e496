//! Scales: what they hold, which chords they serve, and which of their notes to avoid over a chord.
//!
//! | question | answer |
//! |---|---|
//! | what is in it | [`Scale::on`], [`Scale::names_on`] |
//! | which serve this chord, and why | [`scales_for`]; in a key [`scales_in`] |
//! | which of its notes colour the chord, which fight it | [`Scale::notes_over`], [`Scale::available`], [`Scale::avoid`] |
//!
//! The tables are data with the source of each row; where sources disagree, each is on offer by name.

mod avoid;
mod serve;
mod table;

pub use avoid::{AvoidPolicy, NoteReason, Role, ScaleNote};
pub use serve::{ScaleChoice, ScaleReason, scales_for, scales_in};
pub use table::Served;

use smallvec::SmallVec;

use crate::error::{Error, Excerpt, Kind, Result};
use crate::pitch::{NoteName, PitchClass, PitchSet};

/// A scale, without a root.
///
/// Read and written by its name (`Lydian b7`); [`Scale::NAMES`] has the other names that are read.
///
/// # Example
///
/// ```
/// use overshell::chord::Scale;
/// use overshell::pitch::note;
///
/// let scale: Scale = "altered".parse()?;
/// let names: Vec<String> = scale.names_on(note("G")).iter().map(|n| n.to_string()).collect();
/// assert_eq!(names, ["G", "Ab", "Bb", "Cb", "Db", "Eb", "F"]);
/// assert_eq!(scale.on(note("G")), Scale::MelodicMinor.on(note("Ab")));
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash)]
#[non_exhaustive]
#[repr(u8)]
pub enum Scale {
    /// The major scale.
    Ionian,
    /// Second mode of the major scale.
    Dorian,
    /// Third mode of the major scale.
    Phrygian,
    /// Fourth mode of the major scale.
    Lydian,
    /// Fifth mode of the major scale.
    Mixolydian,
    /// Sixth mode of the major scale: natural minor.
    Aeolian,
    /// Seventh mode of the major scale.
    Locrian,
    /// Melodic minor, ascending.
    MelodicMinor,
    /// Second mode of melodic minor.
    DorianFlatTwo,
    /// Third mode of melodic minor.
    LydianAugmented,
    /// Fourth mode of melodic minor: Lydian b7.
    LydianDominant,
    /// Fifth mode of melodic minor.
    MixolydianFlatSix,
    /// Sixth mode of melodic minor.
    LocrianNaturalTwo,
    /// Seventh mode of melodic minor.
    Altered,
    /// Harmonic minor.
    HarmonicMinor,
    /// Fifth mode of harmonic minor: Mixolydian b9 b13.
    PhrygianDominant,
    /// Phrygian dominant with the `#9` added: eight notes.
    PhrygianDominantSharpNine,
    /// Harmonic major.
    HarmonicMajor,
    /// Semitone, whole tone: eight notes.
    HalfWhole,
    /// Whole tone, semitone: eight notes.
    WholeHalf,
    /// Six whole tones.
    WholeTone,
    /// Minor thirds and semitones: six notes.
    Augmented,
}

impl Scale {
    /// All scales.
    pub const ALL: [Self; 22] = [
        Self::Ionian,
        Self::Dorian,
        Self::Phrygian,
        Self::Lydian,
        Self::Mixolydian,
        Self::Aeolian,
        Self::Locrian,
        Self::MelodicMinor,
        Self::DorianFlatTwo,
        Self::LydianAugmented,
        Self::LydianDominant,
        Self::MixolydianFlatSix,
        Self::LocrianNaturalTwo,
        Self::Altered,
        Self::HarmonicMinor,
        Self::PhrygianDominant,
        Self::PhrygianDominantSharpNine,
        Self::HarmonicMajor,
        Self::HalfWhole,
        Self::WholeHalf,
        Self::WholeTone,
        Self::Augmented,
    ];

    /// Other names that are read, with the scale that each means.
    pub const NAMES: &'static [(&'static str, Self)] = table::OTHER_NAMES;

    #[expect(clippy::indexing_slicing, reason = "the enum and its table have the same length")]
    const fn row(self) -> &'static table::Row {
        &table::ROWS[self as usize]
    }

    /// The name: `Lydian b7`.
    pub const fn as_str(self) -> &'static str {
        self.row().name
    }

    /// Its notes as semitones above the root: the set on C.
    pub const fn semitones(self) -> PitchSet {
        self.row().notes.semitones()
    }

    /// The chords that it is published for.
    pub const fn serves(self) -> &'static [Served] {
        self.row().serves
    }

    /// Its keys on this root.
    pub const fn on(self, root: NoteName) -> PitchSet {
        self.semitones().transpose(root.pitch_class().get() as i32)
    }

    /// Whether it has this key on this root.
    pub const fn contains(self, root: NoteName, class: PitchClass) -> bool {
        self.on(root).contains(class)
    }

    /// Its notes on this root, ascending and spelled; each letter once where there are seven.
    ///
    /// Over a root so far out that a third accidental would be needed, that note takes the enharmonic name 12 fifths
    /// nearer.
    ///
    /// ```
    /// use overshell::chord::Scale;
    /// use overshell::pitch::note;
    /// let names = |scale: Scale, root| itertools::join(scale.names_on(note(root)), " ");
    /// assert_eq!(names(Scale::LydianDominant, "Db"), "Db Eb F G Ab Bb Cb");
    /// assert_eq!(names(Scale::HalfWhole, "C"), "C Db D# E F# G A Bb");
    /// ```
    pub fn names_on(self, root: NoteName) -> SmallVec<[NoteName; 8]> {
        let fifths = self.row().notes.fifths().iter();
        fifths.map(|f| NoteName::from_fifths_respelled(i16::from(root.fifths()) + i16::from(*f))).collect()
    }
}

impl std::fmt::Display for Scale {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.as_str())
    }
}

impl std::str::FromStr for Scale {
    type Err = Error;

    /// Reads a name in any case, or one of [`Scale::NAMES`].
    fn from_str(text: &str) -> Result<Self> {
        let own = Self::ALL.into_iter().map(|scale| (scale.as_str(), scale));
        own.chain(Self::NAMES.iter().copied())
            .find(|(name, _)| name.eq_ignore_ascii_case(text))
            .map(|(_, scale)| scale)
            .ok_or_else(|| {
                Error::new(Kind::Pitch, format!("`{}` is not a scale", crate::pitch::shown(text)))
                    .with_excerpt(Excerpt::of_line(text, 0, usize::MAX))
                    .with_help(format!("the scales are {}", itertools::join(Self::ALL, ", ")))
            })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pitch::Letter;

    #[test]
    fn all_scales_roundtrip_and_differ() {
        for (index, scale) in Scale::ALL.into_iter().enumerate() {
            assert_eq!(scale as usize, index);
            assert_eq!(scale.to_string().parse::<Scale>().unwrap(), scale);
            for other in &Scale::ALL[..index] {
                assert_ne!(scale.semitones(), other.semitones(), "{scale} {other}");
            }
        }
        for (name, scale) in Scale::NAMES {
            assert_eq!(name.parse::<Scale>().unwrap(), *scale);
            assert!(Scale::ALL.iter().all(|s| !s.as_str().eq_ignore_ascii_case(name)), "{name}");
        }
        assert!("ionianic".parse::<Scale>().unwrap_err().help().unwrap().contains("Ionian"));
    }

    /// What is spelled is what sounds, ascending, on all 35 roots; seven notes have seven letters wherever no third
    /// accidental would be needed.
    #[test]
    fn all_scales_are_spelled_as_they_sound() {
        for scale in Scale::ALL {
            for root in NoteName::all() {
                let names = scale.names_on(root);
                let set: PitchSet = names.iter().map(|name| name.pitch_class()).collect();
                assert_eq!(set, scale.on(root), "{scale} on {root}");
                let up = |n: &NoteName| root.pitch_class().semitones_up_to(n.pitch_class());
                assert!(names.windows(2).all(|w| up(&w[0]) < up(&w[1])), "{scale} on {root}");
                if names.len() == 7 && (-4..=9).contains(&root.fifths()) {
                    let letters: std::collections::BTreeSet<Letter> =
                        names.iter().map(|n| n.letter()).collect();
                    assert_eq!(letters.len(), 7, "{scale} on {root}");
                }
            }
        }
    }

    /// Modes are rotations of their parents.
    #[test]
    fn all_modes_are_rotations() {
        let modes = |parent: Scale, modes: &[(usize, Scale)]| {
            let notes: Vec<PitchClass> = parent.semitones().iter().collect();
            for (degree, mode) in modes {
                let by = i32::from(notes[degree - 1].get());
                assert_eq!(mode.semitones(), parent.semitones().transpose(-by), "{mode}");
            }
        };
        use Scale::*;
        modes(
            Ionian,
            &[(2, Dorian), (3, Phrygian), (4, Lydian), (5, Mixolydian), (6, Aeolian), (7, Locrian)],
        );
        let melodic = [DorianFlatTwo, LydianAugmented, LydianDominant, MixolydianFlatSix, LocrianNaturalTwo];
        for (mode, degree) in melodic.into_iter().zip(2..) {
            modes(MelodicMinor, &[(degree, mode)]);
        }
        modes(MelodicMinor, &[(7, Altered)]);
        modes(HarmonicMinor, &[(5, PhrygianDominant)]);
        modes(HalfWhole, &[(2, WholeHalf)]);
    }
}
