//! The answer to "how do two hands play this tune".

use crate::chord::{Chord, Degree, Function};
use crate::pitch::Pitch;
use crate::rules::Finding;
use crate::voicing::{Label, Triad, Voicing};

/// A voicing for every chord of a tune.
#[derive(Clone, Debug, PartialEq)]
pub struct Arrangement {
    /// One entry for each chord asked about, in order.
    pub chords: Vec<ArrangedChord>,
    /// By how many semitones the melody was moved: 0 or 12.
    pub octave_shift: i8,
    /// The sum that was minimised, in points: costs of voicings and motions less colours. Lower is better.
    pub cost: i32,
}

/// A chord of an [`Arrangement`].
#[derive(Clone, Debug, PartialEq)]
pub struct ArrangedChord {
    /// The chord asked about; `None` where none sounds or none could be read.
    pub chord: Option<Chord>,
    /// What it does in its key.
    pub function: Option<Function>,
    /// The melody note on top, moved with the tune; `None` over a rest.
    pub melody: Option<Pitch>,
    /// What the hands play, the melody note last in the right hand; `None` where there is no chord.
    pub voicing: Option<Voicing>,
    /// The upper structure in the right hand: a triad with at least one tension in it.
    pub structure: Option<Structure>,
    /// The tensions that sound, by number.
    pub tensions: Vec<Degree>,
    /// What sounds, as a chord.
    pub sounding: Option<Chord>,
    /// What the rules charge this voicing, in points, ≥ 0.
    pub cost: i32,
    /// What the rules credit it, in points, ≥ 0.
    pub colour: i32,
    /// The rules that fired.
    pub findings: Vec<Finding>,
}

/// A triad above a shell, by the name musicians call it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Structure {
    /// The degree on which the triad stands.
    pub label: Label,
    /// The triad, spelled as one.
    pub triad: Triad,
}
