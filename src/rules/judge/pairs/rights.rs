//! Right hands, with what does not depend on the chord.

use std::ops::Range;

use super::members::{Keys, Members};
use super::one_hand::{Lows, OneHand};
use crate::rules::kind::Test;

/// Right hands, ascending, with what does not depend on the chord: for all judges to which they are shown.
#[derive(Debug)]
pub(crate) struct Rights {
    pub(super) hands: Vec<OneHand>,
    /// In how many octaves each hand stands, all in one octave after all in the one before.
    pub(super) octaves: usize,
    /// All in one octave; none where each hand stands for itself.
    shapes: Vec<OneHand>,
    /// Above a left hand so many octaves are looked at.
    most_octaves: usize,
    /// The highest of the lowest keys in each octave.
    highest_lows: Vec<u8>,
    pub(super) lows: Lows,
    /// For each right hand the number of what comes with its lowest key ([`OneHand::join`]).
    pub(super) join_of: Vec<u16>,
    /// The pitch classes that some right hand has in two octaves.
    pub(super) doubled: u16,
    /// Which shapes have what.
    pub(super) members: Members,
    /// Which right hands have which key.
    pub(super) keys: Keys,
    /// Those that hold nothing.
    pub(super) empty: Vec<usize>,
}

impl Rights {
    pub(crate) fn new<'h>(hands: impl IntoIterator<Item = &'h [u8]>) -> Self {
        Self::in_octaves(hands, 1, 1)
    }

    /// The same where all hands stand in so many octaves, one after the other, and only so many of them matter over a left hand: those
    /// from the first on in which some hand lies above it. That makes much shorter work of them.
    pub(crate) fn in_octaves<'h>(
        hands: impl IntoIterator<Item = &'h [u8]>,
        octaves: usize,
        most_octaves: usize,
    ) -> Self {
        let mut lows = Lows::new();
        let hands: Vec<OneHand> = hands.into_iter().map(|keys| OneHand::right(keys, &mut lows)).collect();
        let count = hands.len().checked_div(octaves).unwrap_or_default();
        let same = |(one, other): (&OneHand, &OneHand)| is_same(one, other);
        let several = octaves > 1
            && count > 0
            && hands.len() == count * octaves
            && hands.iter().zip(hands.iter().skip(count)).all(same);
        let (octaves, count) = if several { (octaves, count) } else { (1, hands.len()) };
        let shapes = if several { hands.iter().take(count).cloned().collect() } else { Vec::new() };
        let low = |hand: &OneHand| hand.keys().first().copied().unwrap_or(u8::MAX);
        let highest_lows =
            hands.chunks(count.max(1)).map(|octave| octave.iter().map(low).max().unwrap_or_default());
        let empty = (0..).zip(&hands).filter(|(_, hand)| hand.keys().is_empty());
        Self {
            octaves,
            most_octaves,
            highest_lows: highest_lows.collect(),
            lows,
            join_of: hands.iter().map(OneHand::join).collect(),
            doubled: hands.iter().fold(0, |bits, hand| bits | hand.sound.doubled),
            members: Members::of(if several { &shapes } else { &hands }),
            keys: Keys::of(&hands),
            empty: empty.map(|(at, _)| at).collect(),
            shapes,
            hands,
        }
    }

    /// Those in which a test is to be asked alone.
    pub(super) fn hands_for(&self, test: &Test) -> &[OneHand] {
        if test.is_the_same_in_octaves() { self.shapes() } else { &self.hands }
    }

    /// The places of those that matter over a left hand with this highest key.
    pub(super) fn above(&self, top: u8) -> Range<usize> {
        if self.octaves == 1 {
            return 0..self.hands.len();
        }
        let first = self.highest_lows.iter().take_while(|low| **low <= top).count();
        let last = self.octaves.min(first + self.most_octaves);
        first * self.shapes.len()..last * self.shapes.len()
    }

    /// The highest of the lowest keys of these hands, whole octaves of them.
    pub(super) fn highest_low(&self, places: &Range<usize>) -> u8 {
        let octaves = places.end.checked_div(self.shapes().len()).unwrap_or_default();
        let last = octaves.checked_sub(1).and_then(|last| self.highest_lows.get(last));
        last.copied().unwrap_or(u8::MAX)
    }

    /// Each hand once, in whatever octave.
    pub(super) fn shapes(&self) -> &[OneHand] {
        if self.octaves > 1 { &self.shapes } else { &self.hands }
    }
}

/// Whether two hands are the same but for the octave.
fn is_same(one: &OneHand, other: &OneHand) -> bool {
    fn keys(hand: &OneHand) -> impl Iterator<Item = u8> {
        let up = hand.keys().first().copied().unwrap_or_default() / 12 * 12;
        hand.keys().iter().map(move |key| key - up)
    }
    keys(one).eq(keys(other))
}
