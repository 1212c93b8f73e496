//! Spelling policies: which of two names a key gets over a chord.

use super::Chord;
use crate::pitch::{NoteName, PitchClass};

/// How a key is named over a chord. Practice differs, so both ways are on offer by name.
///
/// Theory books spell the degree (`b9` of `C7` is always D♭); books of voicings spell the triad first, for reading
/// (a reader's question about Levine's books: music.stackexchange 120813). Double accidentals follow from the first policy and not from the
/// second.
///
/// # Example
///
/// ```
/// use overshell::chord::{Chord, Spelling};
/// use overshell::pitch::note;
///
/// let chord: Chord = "Db7(b9)".parse()?;
/// let d = note("D").pitch_class();
/// assert_eq!(Spelling::ByDegree.name(chord, d), note("Ebb"));
/// assert_eq!(Spelling::ByTriad.name(chord, d), note("D"));
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Spelling {
    /// A degree keeps its letter, whatever accidentals that takes.
    ByDegree,
    /// A triad reads as a triad, and no note has a double accidental. Notes outside a triad go by degree as far as
    /// that allows.
    #[default]
    ByTriad,
}

impl Spelling {
    /// The name of a key that belongs to no triad, over this chord.
    pub fn name(self, chord: Chord, class: PitchClass) -> NoteName {
        let by_degree = chord.degree_of(class).name_over(chord.root());
        match self {
            Self::ByDegree => by_degree,
            Self::ByTriad => by_degree.simplest(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::Quality;

    #[test]
    fn all_names_sound_right_and_by_triad_has_no_double_accidental() {
        for root in NoteName::all().filter(|n| n.accidental().semitones().abs() < 2) {
            for (_, quality) in Quality::NAMED {
                let chord = Chord::new(root, *quality);
                for class in PitchClass::ALL {
                    assert_eq!(Spelling::ByDegree.name(chord, class).pitch_class(), class);
                    let simple = Spelling::ByTriad.name(chord, class);
                    assert_eq!(simple.pitch_class(), class);
                    assert!(simple.accidental().semitones().abs() < 2, "{simple} over {chord}");
                }
            }
        }
    }
}
