//! One combination of a census.

use crate::chord::Chord;
use crate::voicing::{Hand, Inversion, Label, Shell, Spacing, Triad, Voicing};

/// One combination: a shell of a chord in an octave, and a triad above it.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash)]
pub struct Combination {
    /// The chord.
    pub chord: Chord,
    /// What the left hand plays of it.
    pub shell: Shell,
    /// In which octave it lies, from 0.
    pub left_octave: u8,
    /// The triad in the right hand, by its degree over the chord.
    pub label: Label,
    /// Which of its members lies lowest, in close position.
    pub inversion: Inversion,
    /// Close or open.
    pub spacing: Spacing,
    /// How many octaves above the next place over the left hand it lies.
    pub right_octave: u8,
}

impl Combination {
    /// The triad, spelled.
    pub fn triad(&self) -> Triad {
        self.label.triad_over(self.chord)
    }

    /// The left hand, where the lowest octave begins at the MIDI number `lowest`.
    pub(super) fn left(&self, lowest: u8) -> Option<Hand> {
        self.shell.hand_from(self.chord, lowest.checked_add(self.left_octave.checked_mul(12)?)?)
    }

    /// Both hands on the keyboard, spelled.
    pub(super) fn voicing(&self, lowest: u8) -> Option<Voicing> {
        let left = self.left(lowest)?;
        let above = left.highest()?.midi().checked_add(self.right_octave.checked_mul(12)?)?;
        let triad = self.triad();
        let keys = triad.keys_above(self.inversion, self.spacing, above)?;
        Voicing::new(left, triad.hand_over(self.chord, keys)?).ok()
    }
}
