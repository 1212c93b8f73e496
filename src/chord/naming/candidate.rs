//! Readings before they are read: one integer each, in the order of the answer.

use smallvec::SmallVec;

use super::shape::{ALTERED_KEYS, SHAPES, SHAPES_OF_A_THIRD, Shape, key_of};
use crate::chord::{Chord, Degree, DegreeSet, Quality};
use crate::pitch::PitchClass;

/// A reading before it is one, as an integer in the order of the answer: points, whether the root is not the bass (or the
/// tonic, where no bass is known), altered tones, the way up from there to the root; then shape, tensions and root, so
/// that the order is total.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Candidate(u64);

impl Candidate {
    fn new(points: i32, altered: u32, way: u8, shape: usize, tension_keys: u16, root: PitchClass) -> Self {
        let shape = shape as u64; // below 64
        // Nothing in a candidate costs less than nothing.
        Self(
            u64::from(points.unsigned_abs()) << 40
                | u64::from(way != 0) << 39
                | u64::from(altered) << 32
                | u64::from(way) << 28
                | shape << 16
                | u64::from(tension_keys) << 4
                | u64::from(root.get()),
        )
    }

    pub(super) const fn points(self) -> i32 {
        (self.0 >> 40) as i32
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

/// The readings on one root of keys and bass given in semitones above it, `way` semitones up from the origin.
pub(super) fn candidates(
    root: PitchClass,
    way: u8,
    keys: u16,
    bass: Option<u8>,
    found: &mut SmallVec<[Candidate; 32]>,
) {
    for (number, shapes) in SHAPES.chunks(SHAPES_OF_A_THIRD).enumerate() {
        let third = shapes.first().map_or(0, |shape| key_of(shape.quality.third_degree()));
        if keys & third != third {
            continue;
        }
        for (place, shape) in shapes.iter().enumerate() {
            if let Some(tensions) = shape.tension_keys(keys) {
                let altered = (tensions & ALTERED_KEYS).count_ones() + u32::from(shape.has_altered_fifth);
                let index = number * SHAPES_OF_A_THIRD + place;
                let points = shape.points(keys, tensions, bass);
                found.push(Candidate::new(points, altered, way, index, tensions, root));
            }
        }
    }
}
