//! `melody`: what the note on top, and the notes that follow it while the chord sounds on, may not do.

use smallvec::SmallVec;

use super::RuleKind;
use crate::rules::MovingNote;
use crate::rules::format::{Faults, Fields, Holds, Key, Way};
use crate::rules::judge::{Frame, Sound};

const ABOVE: Key =
    Key::new("above", Holds::Numbers(0, 48), "semitones between a held note and a melody note above it");
const MOVING: Key = Key::new(
    "moving",
    Holds::Flag,
    "`true`: the melody notes behind the first, each counted once for every sixteenth of the chord's time that it takes; \
     otherwise the note on top itself",
);

#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) struct Melody {
    above: u64,
    moving: bool,
}

impl RuleKind for Melody {
    const NAME: &'static str = "melody";
    const DOC: &'static str = "the note on top and the notes that follow it";
    const WAYS: &'static [Way] = &[Way {
        needs: &[ABOVE],
        may: &[MOVING],
        fires: "once for each held note at such a distance below the melody note",
        example: "above = [1, 13]\nmoving = true\ncost = 1",
    }];

    fn read(_: usize, fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        let moving = fields.flag(&MOVING, faults).unwrap_or(false);
        let above = fields.numbers(&ABOVE, faults)?;
        Some(Self { above: above.iter().fold(0, |bits, n| bits | 1 << n), moving })
    }

    fn bake(&self, frame: &Frame, tests: &mut Vec<super::Test>) {
        let notes: SmallVec<[MovingNote; 8]> = match (self.moving, frame.melody) {
            (true, _) => frame.moving.iter().copied().collect(),
            (false, Some(key)) => [MovingNote { key, sixteenths: 16 }].into_iter().collect(),
            (false, None) => SmallVec::new(),
        };
        if !notes.is_empty() && self.above != 0 {
            tests.push(super::Test::Melody(Box::new(Test {
                above: self.above,
                notes,
                top: frame.melody,
                per_sixteenth: self.moving,
            })));
        }
    }
}

/// Melody notes to hold against what sounds.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) struct Test {
    above: u64,
    notes: SmallVec<[MovingNote; 8]>,
    top: Option<u8>,
    per_sixteenth: bool,
}

impl Test {
    #[inline]
    pub(in crate::rules) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        let Some(lowest) = sound.keys().first() else { return };
        for note in &self.notes {
            let Some(up) = note.key.checked_sub(*lowest) else { continue };
            match sound.near() {
                Some([all, ..]) if up < 64 => {
                    // Bit d of `above` is d semitones below the note.
                    let mut found = all & (self.above.reverse_bits() >> (63 - up));
                    while found != 0 {
                        self.meet(*note, lowest + found.trailing_zeros() as u8, &mut fire);
                        found &= found - 1;
                    }
                }
                _ => self.run_far(*note, sound, &mut fire),
            }
        }
    }

    /// One note against all keys, one by one.
    #[inline(never)]
    fn run_far(&self, note: MovingNote, sound: &Sound, fire: &mut impl FnMut(i32, u16)) {
        for key in sound.keys().iter().filter(|key| **key <= note.key) {
            let distance = note.key - key;
            if distance < 64 && self.above >> distance & 1 == 1 {
                self.meet(note, *key, fire);
            }
        }
    }

    /// Fires for a note and a held key; the melody's own key is not held on against the melody.
    #[inline]
    fn meet(&self, note: MovingNote, key: u8, fire: &mut impl FnMut(i32, u16)) {
        if self.top != Some(key) {
            let times = if self.per_sixteenth { i32::from(note.sixteenths) } else { 1 };
            fire(times, 1 << (key % 12) | 1 << (note.key % 12));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// The definition: every note against every key, near and far.
        #[test]
        fn prop_as_key_by_key(
            keys in prop_oneof![
                prop::collection::btree_set(50u8..80, 0..=10usize),
                prop::collection::btree_set(0u8..=127, 0..=10usize),
            ],
            notes in prop::collection::vec((any::<u8>(), 1u8..=16), 1..4),
            top in prop::option::of(0u8..=127),
            above in 0u64..1 << 49,
            per_sixteenth: bool,
        ) {
            let keys: Vec<u8> = keys.into_iter().collect();
            let notes = notes.into_iter().map(|(key, sixteenths)| MovingNote { key, sixteenths }).collect();
            let test = Test { above, notes, top, per_sixteenth };
            let mut expected = Vec::new();
            for note in &test.notes {
                for key in keys.iter().filter(|key| **key <= note.key && Some(**key) != top) {
                    let below = note.key - key;
                    if below <= 48 && above >> below & 1 == 1 {
                        let times = if per_sixteenth { i32::from(note.sixteenths) } else { 1 };
                        expected.push((times, 1 << (key % 12) | 1 << (note.key % 12)));
                    }
                }
            }
            let mut found = Vec::new();
            test.run(&Sound::new(&[], &keys), |times, classes| found.push((times, classes)));
            prop_assert_eq!(found, expected);
        }
    }
}
