//! The answer to "how do two hands play this tune".

use std::sync::Arc;

use crate::chord::{Chord, Degree, Function, Reharmonisation};
use crate::pitch::Pitch;
use crate::rules::Finding;
use crate::voicing::{Label, Triad, Voicing};

/// A voicing for every chord of a tune.
#[derive(Clone, Debug, PartialEq)]
pub struct Arrangement {
    /// One entry for each chord asked about, in order; two where a dominant is played as two chords. Arrangements told together
    /// share the entries in which they agree; [`Arc::make_mut`] gives one of its own to change.
    pub chords: Vec<Arc<ArrangedChord>>,
    /// By how many semitones the melody was moved: 0 or 12.
    pub octave_shift: i8,
    /// The sum that was minimised, in points: costs of voicings and motions less colours. Lower is better.
    pub cost: i32,
}

/// A chord of an [`Arrangement`].
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ArrangedChord {
    /// Which chord of the progression it is, from 0.
    pub slot: usize,
    /// The chord asked about, or the one played instead; `None` where none sounds or none could be read.
    pub chord: Option<Chord>,
    /// How the chord asked about was changed, where the options allow that.
    pub played_as: Option<Reharmonisation>,
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
    /// What it adds to the cost of the arrangement without the way to it: cost less colour as far as it counts; half of that where
    /// it takes half of a chord's time; and what playing something else costs.
    pub points: i32,
    /// The rules that fired, for and against.
    pub findings: Vec<Finding>,
    /// What the rules charge for the way from the chord before, dearest first.
    pub moves: Vec<Finding>,
}

impl ArrangedChord {
    /// A chord that is not voiced.
    pub(crate) fn empty(
        slot: usize,
        chord: Option<Chord>,
        function: Option<Function>,
        melody: Option<Pitch>,
    ) -> Self {
        Self { slot, chord, function, melody, ..Self::default() }
    }

    /// What the way from the chord before adds to the cost of the arrangement.
    pub fn points_of_moves(&self) -> i32 {
        self.moves.iter().fold(0, |sum, finding| sum.saturating_add(finding.effect.cost()))
    }
}

/// A triad above a shell, by the name musicians call it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Structure {
    /// The degree on which the triad stands.
    pub label: Label,
    /// The triad, spelled as one.
    pub triad: Triad,
}
