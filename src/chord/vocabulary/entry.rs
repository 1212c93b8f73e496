//! A word of a vocabulary and what it stands for.

use crate::chord::{Chord, Degree, DegreeSet, Quality};
use crate::pitch::NoteName;

/// A row of a vocabulary's table.
#[derive(Clone, Copy, Debug)]
pub(super) struct Entry {
    /// As written.
    pub(super) text: &'static str,
    pub(super) quality: Quality,
    pub(super) tensions: &'static [Degree],
}

impl Entry {
    pub(super) const fn new(text: &'static str, quality: Quality, tensions: &'static [Degree]) -> Self {
        Self { text, quality, tensions }
    }

    /// Chord tones and tensions.
    pub(super) fn degrees(&self) -> DegreeSet {
        let tones = Chord::new(NoteName::C, self.quality).tones();
        self.tensions.iter().copied().fold(tones, DegreeSet::with)
    }

    /// Whether the vocabulary puts a natural eleventh into it that we leave out, as our `C13` does: in a thirteenth over a
    /// major third (common practice, no source).
    pub(super) fn hides_eleventh(&self) -> bool {
        self.tensions.contains(&Degree::Thirteen) && !self.tensions.contains(&Degree::Eleven)
    }
}
