//! Tests on one small number, such as where a hand ends or how far apart the hands lie, as tables: one look for each number,
//! however many rules speak of it.

use super::sink::{Both, Source};
use super::sound::Sound;
use crate::rules::kind::Test;

/// What the numbers are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::rules) enum Place {
    /// The lowest or the highest key of a hand.
    LeftLowest,
    LeftHighest,
    RightLowest,
    RightHighest,
    /// Semitones between the left hand's highest and the right hand's lowest key, and between the two highest keys.
    GapBetweenHands,
    GapOnTop,
    /// How many keys a hand has.
    LeftCount,
    RightCount,
}

/// What fires for each number, `0..=127`.
type Table = [Both; 128];

/// A table for each place.
#[derive(Clone, Debug)]
pub(super) struct Places(Box<[Table; 8]>);

impl Default for Places {
    fn default() -> Self {
        Self(Box::new([[Both::default(); 128]; 8]))
    }
}

impl Places {
    /// Takes a test in; `false` where it is about something else, or forbids.
    pub(super) fn take(&mut self, test: &Test, source: &Source) -> bool {
        match test {
            Test::Outside(test) => self.put(source, test.place(), |key| test.off(key)),
            Test::Spacing(test) => self.put(source, test.place(), |gap| test.off(gap)),
            Test::Voices(test) => self.put(source, test.place(), |count| test.off(count)),
            Test::Interval(test) => self.put(source, test.place(), |gap| test.times(gap)),
            _ => false,
        }
    }

    fn put(&mut self, source: &Source, place: impl Into<Option<Place>>, times: impl Fn(u8) -> i32) -> bool {
        let table = place.into().and_then(|place| self.0.get_mut(place as usize));
        let (Some(table), false) = (table, source.weight().clash) else { return false };
        for (number, sum) in (0..).zip(table) {
            sum.add_times(&source.weight(), times(number).max(0).unsigned_abs());
        }
        true
    }

    /// Counts what fires.
    #[inline]
    pub(super) fn add(&self, sound: &Sound, both: &mut Both) {
        for (table, number) in self.0.iter().zip(sound.places()) {
            if let Some(sum) = table.get(usize::from(number)) {
                both.add(*sum);
            }
        }
    }
}
