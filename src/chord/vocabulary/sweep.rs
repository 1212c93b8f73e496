//! Every chord there is, for sweeps in tests.

use crate::chord::Chord;
use crate::pitch::NoteName;

/// Every quality with every set of tensions that it can take, on C.
pub(super) fn all_contents() -> impl Iterator<Item = Chord> {
    Chord::all_on(NoteName::C)
}

/// The chord over each of the 35 basses; its root as bass is no bass.
pub(super) fn all_basses(chord: Chord) -> impl Iterator<Item = Chord> {
    NoteName::all().map(move |bass| chord.with_bass(bass))
}
