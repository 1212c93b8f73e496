//! `needs`: something that must sound. Fires where it is missing.
//!
//! ```toml
//! kind = "needs"
//! one-of = ["3"]        # one of these degrees, as far as the chord has them; or: written = true, or: bass = true
//! cost = 60
//! ```
//!
//! `written` stands for each tension of the symbol (fires once for each that is missing), `bass` for the written bass
//! in the lowest voice. `hand = "left"` with `voices = 2` asks for that many notes in a hand (fires once for each that
//! is missing).

use super::Test;
use crate::chord::Degree;
use crate::rules::fields::{Faults, Fields};
use crate::rules::judge::Frame;
use crate::rules::sound::{HANDS, HandName, Sound};

#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) enum Needs {
    OneOf(Vec<Degree>),
    Written,
    Bass,
    Voices(Voices),
}

/// At least so many notes in a hand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::rules) struct Voices {
    hand: HandName,
    at_least: i32,
}

impl Voices {
    #[inline]
    pub(super) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        let missing = self.at_least - self.hand.keys_of(sound).len() as i32;
        if missing > 0 {
            fire(missing, 0);
        }
    }
}

impl Needs {
    pub(super) fn read(fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        let one_of = fields.list("one-of", faults);
        let written = fields.flag("written", faults);
        let bass = fields.flag("bass", faults);
        let voices = fields.integer("voices", 1..=5, faults);
        let hand = fields.word("hand", &HANDS, faults);
        match (one_of, written, bass, voices, hand) {
            (Some(degrees), false, false, None, None) => Some(Self::OneOf(degrees)),
            (None, true, false, None, None) => Some(Self::Written),
            (None, false, true, None, None) => Some(Self::Bass),
            (None, false, false, Some(at_least), Some(hand)) => Some(Self::Voices(Voices { hand, at_least })),
            _ => {
                faults.add(
                    fields.span(),
                    "a `needs` rule needs one of `one-of`, `written`, `bass`, or `hand` with `voices`",
                    "write `one-of = [\"3\"]`, `written = true`, `bass = true`, or `hand = \"left\"` and `voices = 2`",
                );
                None
            }
        }
    }

    pub(super) fn bake(&self, frame: &Frame, tests: &mut Vec<Test>) {
        match self {
            Self::OneOf(degrees) => {
                let own = frame.chord.tones();
                let classes = degrees.iter().filter(|d| own.contains(**d)).filter_map(|d| frame.class_of(*d));
                let mask = classes.fold(0u16, |mask, class| mask | 1 << class);
                if mask != 0 {
                    tests.push(Test::Absent(mask));
                }
            }
            Self::Written => {
                let classes = frame.chord.tensions().iter().filter_map(|d| frame.class_of(d));
                tests.extend(classes.map(|class| Test::Absent(1 << class)));
            }
            Self::Voices(voices) => tests.push(Test::Voices(*voices)),
            Self::Bass => {
                tests.extend(frame.chord.bass().map(|bass| Test::OtherBass(bass.pitch_class().get())));
            }
        }
    }
}
