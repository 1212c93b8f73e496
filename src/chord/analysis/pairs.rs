//! Pairs of ii and V.

use crate::chord::function::{acts_as_dominant, root_motion};
use crate::chord::{Chord, Family, Key, Mode, Seventh};

/// A ii and its V.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash, serde::Serialize, serde::Deserialize)]
#[non_exhaustive]
pub struct TwoFive {
    /// The place of the ii: a minor triad, a minor seventh or a half-diminished chord.
    pub two: usize,
    /// The place of the V.
    pub five: usize,
    /// Minor where the ii is half-diminished.
    pub mode: Mode,
    /// The place of the chord that the V resolves to; `None` where it goes elsewhere.
    pub resolves_to: Option<usize>,
    /// What the pair is in its key.
    pub kind: TwoFiveKind,
}

/// What a pair of ii and V is.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum TwoFiveKind {
    /// Of the tonic: `Dm7 G7` in C.
    Tonic,
    /// Of another degree: `Em7 A7` in C, on the way to the ii.
    Secondary,
    /// The tritone substitute in place of the V: `Dm7 Db7` on the way to C.
    WithSubstitute,
    /// The tritone substitute with its own ii: `Abm7 Db7` on the way to C.
    OfSubstitute,
}

impl TwoFive {
    /// All pairs in order of their ii; those that are no substitutes are [`TwoFiveKind::Secondary`] until
    /// [`TwoFive::in_key`] says of what.
    pub(super) fn all(chords: &[Option<Chord>], to: &[Option<(usize, Chord)>]) -> Vec<Self> {
        let chord = |at: usize| chords.get(at).copied().flatten();
        let pair = |two: usize| {
            let ii = chord(two).filter(|chord| is_two(*chord))?;
            let (five, v) = to.get(two).copied().flatten().filter(|(_, v)| acts_as_dominant(*v))?;
            // The pair starts at the chord right before its V.
            if (two + 1..five).any(|at| chord(at).is_some()) {
                return None;
            }
            let goes = to.get(five).copied().flatten();
            let resolves = |by: u8| goes.filter(|(_, to)| root_motion(v, *to) == by).map(|(at, _)| at);
            let (resolves_to, kind) = match (root_motion(ii, v), resolves(5), resolves(11)) {
                (5, None, Some(at)) => (Some(at), TwoFiveKind::OfSubstitute),
                (5, at, _) => (at, TwoFiveKind::Secondary),
                (11, _, Some(at)) => (Some(at), TwoFiveKind::WithSubstitute),
                _ => return None,
            };
            let mode = if ii.family() == Family::HalfDiminished { Mode::Minor } else { Mode::Major };
            Some(Self { two, five, mode, resolves_to, kind })
        };
        (0..chords.len()).filter_map(pair).collect()
    }

    /// The pair with the kind that it has in this key.
    pub(super) fn in_key(mut self, five: Chord, key: Key) -> Self {
        if self.kind == TwoFiveKind::Secondary && key.semitones_to(five.root()) == 7 {
            self.kind = TwoFiveKind::Tonic;
        }
        self
    }
}

fn is_two(chord: Chord) -> bool {
    let seventh = chord.quality().seventh;
    chord.family() == Family::HalfDiminished
        || (chord.family() == Family::Minor && matches!(seventh, Seventh::None | Seventh::Flat))
}
