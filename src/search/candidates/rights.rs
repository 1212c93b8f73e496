//! Right hands: triads, softened triads, fourths and other stacks under a note.

use itertools::Itertools;
use smallvec::{SmallVec, smallvec};

use super::tones::AVOIDED;
use super::{Material, STEPS, Shape, Tones};
use crate::chord::{Chord, Degree, DegreeSet, Family, Third};
use crate::pitch::{NoteName, Pitch, PitchClass};
use crate::rules::{Judge, keys};
use crate::voicing::{Hand, Spacing, Triad};

/// Where the melody rests, the right hand's top note lies between F4 and E5, or in the octave up to the melody note
/// that follows, so that the melody does not fall into the chord.
const FREE_TOP: (u8, u8) = (65, 76);

/// Room for so many right hands under a note is made at once.
const USUAL: usize = 80;

/// Triads with the names of root, third and fifth, as they are called over a chord.
pub(super) type Triads = SmallVec<[(Triad, [NoteName; 3]); 14]>;

impl Material {
    /// Every right hand under the melody note that the judge's hands reach: triads with the note on top, the same with one note under
    /// it softened, fourths below the note, and the note over up to three tones of the chord. Where the melody rests, the same under
    /// free notes, `following` being the melody note that comes next. Only those that `admits` lets through, by their keys.
    pub(in crate::search) fn rights(
        &self,
        melody: Option<Pitch>,
        following: Option<u8>,
        judge: &Judge<'_>,
        admits: impl Fn(&[u8]) -> bool,
    ) -> Vec<Shape> {
        let (lowest, highest) = match following {
            Some(next) if next < FREE_TOP.1 => (next.saturating_sub(11).min(FREE_TOP.0), next),
            _ => FREE_TOP,
        };
        let tops: SmallVec<[Pitch; 12]> = match melody {
            Some(note) => [note].into_iter().collect(),
            None => (lowest..=highest)
                .filter_map(|key| self.tones.pitch(key))
                .filter(|top| self.pool.contains(self.tones.degree(top.pitch_class())))
                .collect(),
        };
        let (shapes, seen) = (Vec::with_capacity(USUAL * tops.len()), Seen::default());
        let mut found = Found { shapes, seen, judge, admits, melody: melody.is_some() };
        for top in tops {
            self.under(top, &mut found);
        }
        found.shapes
    }

    fn under(&self, top: Pitch, found: &mut Found<'_, '_, impl Fn(&[u8]) -> bool>) {
        found.seen.clear();
        let triads = self.triads_under(top);
        for triad in &triads {
            found.take(triad.pitches());
        }
        for triad in &triads {
            softened_from(&self.tones, triad, |pitches| found.take(pitches));
        }
        for hand in fourths_under(&self.tones, top) {
            found.take(&hand);
        }
        self.stacks_under(top, found);
    }

    /// Every triad with this note on top, close and open; the note keeps its own spelling.
    fn triads_under(&self, top: Pitch) -> SmallVec<[Hand; 28]> {
        let class = top.pitch_class();
        let Some(triads) = self.triads.get(usize::from(class.get())) else { return SmallVec::new() };
        let triads = triads.get_or_init(|| {
            let all = Triad::all_with(self.chord, class);
            all.map(|triad| (triad, triad.names_over(self.chord))).collect()
        });
        let pairs = itertools::iproduct!(triads, Spacing::ALL);
        let hands = pairs.filter_map(|((triad, names), spacing)| {
            let hand = Triad::named(triad.keys_below(top.midi(), spacing)?, *names)?;
            Some(with_top(hand, top))
        });
        hands.collect()
    }

    /// The note over up to three others of the pool within the octave below it, close, and with the second voice dropped
    /// an octave.
    fn stacks_under(&self, top: Pitch, found: &mut Found<'_, '_, impl Fn(&[u8]) -> bool>) {
        let root = self.chord.root().pitch_class();
        let mut below: SmallVec<[Pitch; 12]> = self
            .pool
            .iter()
            .map(|degree| degree.class_over(root))
            .filter(|class| *class != top.pitch_class())
            .filter_map(|class| {
                let down = (top.pitch_class().get() + 12 - class.get()) % 12;
                self.tones.pitch(top.midi().checked_sub(down)?)
            })
            .collect();
        below.sort_unstable();
        below.dedup_by(|a, b| a.midi() == b.midi());
        found.take(&[top]);
        for note in &below {
            found.take(&[*note, top]);
        }
        for [low, high] in below.iter().copied().array_combinations() {
            found.take(&[low, high, top]);
            if let Some(dropped) = high.shift_octaves(-1) {
                found.take(&[dropped, low, top]);
            }
        }
        for [low, middle, high] in below.iter().copied().array_combinations() {
            found.take(&[low, middle, high, top]);
            if let Some(dropped) = high.shift_octaves(-1) {
                found.take(&[dropped, low, middle, top]);
            }
        }
    }
}

/// Right hands in reach, each once, in the order in which they were found.
struct Found<'j, 'r, A> {
    shapes: Vec<Shape>,
    /// Those under one top note.
    seen: Seen,
    judge: &'j Judge<'r>,
    admits: A,
    melody: bool,
}

impl<A: Fn(&[u8]) -> bool> Found<'_, '_, A> {
    /// A triad is spelled as one; where the same keys come up twice, the first spelling stays.
    fn take(&mut self, pitches: &[Pitch]) {
        let keys = keys(pitches);
        // What is admitted depends on the keys alone, so that nothing else need be remembered.
        if self.judge.within_reach(&keys) && (self.admits)(&keys) && self.seen.is_new(&keys) {
            self.shapes.push(Shape::with_keys(Hand::from_sorted(pitches), keys, self.melody));
        }
    }
}

/// Hands that have been seen.
#[derive(Default)]
struct Seen {
    /// The keys of each, in one number.
    numbers: Vec<u64>,
    /// One bit for each, so that most new ones are known at once.
    bits: [u64; 8],
}

impl Seen {
    fn clear(&mut self) {
        self.numbers.clear();
        self.bits = Default::default();
    }

    /// Takes a hand of at most five keys in; whether it was not there.
    fn is_new(&mut self, keys: &[u8]) -> bool {
        let number = keys.iter().fold(0u64, |number, key| number << 8 | u64::from(*key));
        // Multiplied by an odd number (that of the golden section), all bits have a say in the highest.
        let mixed = number.wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 55;
        let Some(word) = self.bits.get_mut(mixed as usize / 64) else { return false };
        let bit = 1 << (mixed % 64);
        if *word & bit != 0 && self.numbers.contains(&number) {
            return false;
        }
        *word |= bit;
        self.numbers.push(number);
        true
    }
}

/// A triad with one of its notes under the top moved by a step to something milder; calls `take` for each.
fn softened_from(tones: &Tones, triad: &Hand, mut take: impl FnMut(&[Pitch])) {
    let mut moved: SmallVec<[Pitch; Hand::FINGERS]> = triad.pitches().into();
    for (at, note) in triad.pitches().iter().enumerate().take(triad.len().saturating_sub(1)) {
        if tones.sharpness_of(note.midi()) == 0 {
            continue;
        }
        for step in STEPS {
            let (Some(milder), Some(cell)) = (tones.stepped(*note, step), moved.get_mut(at)) else {
                continue;
            };
            *cell = milder;
            if moved.iter().tuple_windows().all(|(low, high)| low.midi() < high.midi()) {
                take(&moved);
            }
        }
        if let Some(cell) = moved.get_mut(at) {
            *cell = *note;
        }
    }
}

/// The note over one and over two fourths below it, one of which may be augmented, of notes that the chord does not avoid (fourth
/// voicings; Mantooth, *The Instrumentalist*, June 1984).
fn fourths_under(tones: &Tones, top: Pitch) -> SmallVec<[SmallVec<[Pitch; 3]>; 5]> {
    let below = |from: u8, by: u8| {
        let key = from.checked_sub(by)?;
        let class = PitchClass::wrapping(i32::from(key));
        (tones.sharpness(class) < AVOIDED).then(|| tones.pitch(key)).flatten()
    };
    let mut hands = SmallVec::new();
    for by in [5, 6] {
        let Some(second) = below(top.midi(), by) else { continue };
        hands.push(smallvec![second, top]);
        // Two augmented fourths make an octave.
        for third in
            [5, 6].into_iter().filter(|third| by + third < 12).filter_map(|third| below(second.midi(), third))
        {
            hands.push(smallvec![third, second, top]);
        }
    }
    hands
}

fn with_top(hand: Hand, top: Pitch) -> Hand {
    let mut pitches: SmallVec<[Pitch; 5]> = hand.pitches().iter().copied().collect();
    if let Some(last) = pitches.last_mut() {
        *last = top;
    }
    Hand::from_sorted(&pitches)
}

/// The degrees that a right hand without a triad draws from: the chord's own, and the natural tensions where the
/// chord is no dominant, whose tensions come as triads.
pub(super) fn pool(chord: Chord, tones: &Tones) -> DegreeSet {
    let natural: &[Degree] = match (chord.family(), chord.quality().third) {
        (Family::Dominant, _) => &[],
        (_, Third::Major) => &[Degree::Nine, Degree::Thirteen],
        _ => &[Degree::Nine, Degree::Eleven, Degree::Thirteen],
    };
    chord.tones().union(
        natural
            .iter()
            .copied()
            .filter(|d| {
                // Over a chord that has the key as a tone of its own, the key is that tone.
                tones.degree(d.class_over(chord.root().pitch_class())) == *d
            })
            .collect(),
    )
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        /// The slow way: a list of all hands.
        #[test]
        fn prop_seen_once(hands in prop::collection::vec(prop::collection::vec(58u8..64, 1..=5), 0..200)) {
            let (mut seen, mut slow) = (Seen::default(), Vec::new());
            for hand in hands {
                let is_new = !slow.contains(&hand);
                prop_assert_eq!(seen.is_new(&hand), is_new);
                slow.push(hand);
            }
            seen.clear();
            prop_assert!(slow.first().is_none_or(|hand| seen.is_new(hand)));
        }
    }
}
