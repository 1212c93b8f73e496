//! Readings before they are read: one integer each, in the order of the answer.

use std::sync::LazyLock;

use smallvec::SmallVec;

use super::reason::Reason;
use super::shape::{ALTERED_KEYS, MAJOR_TRIAD, MINOR_TRIAD, SHAPES, Shape};
use crate::chord::{Chord, Degree, DegreeSet, Quality};
use crate::pitch::PitchClass;

/// A reading before it is one, as an integer in the order of the answer: points, whether the root is not the bass (or the
/// tonic, where no bass is known), altered tones, tensions, the way from there to the root; then shape, tensions and root,
/// so that the order is total.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Candidate(u64);

/// Where the points stand in a candidate.
const POINTS: u32 = 44;

impl Candidate {
    fn new(points: i32, altered: u32, shape: usize, tension_keys: u16) -> Self {
        let shape = shape as u64; // below 64
        // Nothing in a candidate costs less than nothing.
        Self(
            u64::from(points.unsigned_abs()) << POINTS
                | u64::from(altered) << 36
                | u64::from(tension_keys.count_ones()) << 32
                | shape << 16
                | u64::from(tension_keys) << 4,
        )
    }

    /// The same on a root, with more points.
    fn on(self, root: PitchClass, way: u8, more: i32) -> Self {
        let more = u64::from(more.unsigned_abs()) << POINTS;
        Self((self.0 + more) | u64::from(way != 0) << 40 | u64::from(way) << 28 | u64::from(root.get()))
    }

    pub(super) const fn points(self) -> i32 {
        (self.0 >> POINTS) as i32
    }

    #[expect(clippy::indexing_slicing, reason = "made from an index into the same table")]
    const fn shape(self) -> &'static Shape {
        &SHAPES[(self.0 >> 16 & 0xFFF) as usize]
    }

    pub(super) const fn quality(self) -> Quality {
        self.shape().quality
    }

    pub(super) fn tensions(self) -> DegreeSet {
        let mut keys = self.0 >> 4 & 0xFFF;
        let mut tensions = DegreeSet::EMPTY;
        while keys != 0 {
            if let Some(degree) = Degree::DEFAULTS.get(keys.trailing_zeros() as usize) {
                tensions = tensions.with(*degree);
            }
            keys &= keys - 1;
        }
        tensions
    }

    pub(super) const fn root(self) -> PitchClass {
        PitchClass::wrapping((self.0 & 0xF) as i32)
    }

    /// Whether it is this chord, whatever the spelling of its root and its bass.
    pub(super) fn is(self, chord: Chord) -> bool {
        (self.root(), self.quality(), self.tensions())
            == (chord.root().pitch_class(), chord.quality(), chord.tensions())
    }
}

/// What 4,096 sets of keys above a root can be, before root and bass are known.
struct Table {
    /// Where the candidates of each set start, and where the last ones end.
    starts: [u16; 4097],
    candidates: Vec<Candidate>,
}

/// Made at the first question, in less than a millisecond.
static TABLE: LazyLock<Table> = LazyLock::new(|| {
    let mut table = Table { starts: [0; 4097], candidates: Vec::new() };
    for (keys, start) in (0..).zip(&mut table.starts) {
        *start = table.candidates.len() as u16; // some four thousand, as a test shows
        if keys < 4096 {
            table.candidates.extend(of_keys(keys));
        }
    }
    table
});

/// All readings of keys given in semitones above a root, as bits.
fn of_keys(keys: u16) -> impl Iterator<Item = Candidate> {
    SHAPES.iter().enumerate().filter_map(move |(index, shape)| {
        let tensions = shape.tension_keys(keys)?;
        let altered = (tensions & ALTERED_KEYS).count_ones() + u32::from(shape.has_altered_fifth);
        Some(Candidate::new(shape.points(keys, tensions), altered, index, tensions))
    })
}

/// The readings on one root of keys and bass given in semitones above it; `way` is how far the root lies from the bass, or
/// from the tonic in the order of expectation.
pub(super) fn candidates(
    root: PitchClass,
    way: u8,
    keys: u16,
    bass: Option<u8>,
    found: &mut SmallVec<[Candidate; 64]>,
) {
    let table = &*TABLE;
    let range = match table.starts.get(usize::from(keys)..usize::from(keys) + 2) {
        Some([start, end]) => usize::from(*start)..usize::from(*end),
        _ => 0..0,
    };
    let bass = bass.filter(|bass| *bass != 0);
    found.extend(table.candidates.get(range).unwrap_or_default().iter().map(|candidate| {
        let more = bass.map_or(0, |bass| in_bass(candidate.shape(), keys, bass));
        candidate.on(root, way, more)
    }));
    // A triad over a bass of its own: `F#/C`.
    if let Some(bass) = bass {
        for index in [MAJOR_TRIAD, MINOR_TRIAD] {
            let foreign =
                SHAPES.get(index).is_some_and(|triad| keys == triad.tones | 1 << bass && keys != triad.tones);
            if foreign {
                let candidate = Candidate::new(Reason::ForeignBass.points(), 0, index, 0);
                found.push(candidate.on(root, way, 0));
            }
        }
    }
}

/// What it costs that this key, in semitones above the root, is the lowest.
fn in_bass(shape: &Shape, keys: u16, bass: u8) -> i32 {
    let is_tone = shape.tones >> bass & 1 == 1;
    let reason = match (keys & 1, is_tone) {
        (0, _) if shape.guides >> bass & 1 == 1 => return 0,
        (0, _) => Reason::RootlessOver(Degree::Nine),
        (_, true) if bass == Degree::MajorSeven.semitones() => Reason::Inversion(Degree::MajorSeven),
        (_, true) => Reason::Inversion(Degree::Five),
        (_, false) => Reason::TensionInBass(Degree::Nine),
    };
    reason.points()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ok_the_table_is_as_large_as_it_says() {
        assert_eq!(TABLE.candidates.len(), 4_239);
        assert_eq!(usize::from(TABLE.starts[4096]), TABLE.candidates.len());
    }
}
