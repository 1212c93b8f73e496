//! `reach`: how far one hand stretches, in semitones from its lowest to its highest key. Fires once for each semitone
//! beyond `comfortable`; hands beyond `largest` are not offered by the searches at all.
//!
//! ```toml
//! kind = "reach"
//! hand-size = "medium"
//! comfortable = 12
//! largest = 14
//! cost = 8
//! ```

use crate::rules::fields::{Faults, Fields};
use crate::rules::judge::{Frame, HandSize};
use crate::rules::sound::Sound;

#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) struct Reach {
    size: HandSize,
    comfortable: i32,
    largest: i32,
}

impl Reach {
    pub(super) fn read(fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        let size = fields.word("hand-size", &HandSize::NAMES, faults);
        if !fields.has("hand-size") {
            faults.add(fields.span(), "a `reach` rule needs `hand-size`", "write `hand-size = \"medium\"`");
        }
        let comfortable = fields.required_integer("comfortable", 0..=48, faults);
        let largest = fields.required_integer("largest", 0..=48, faults);
        let (comfortable, largest) = (comfortable?, largest?);
        if largest < comfortable {
            faults.add(
                fields.span_of("largest"),
                "`largest` is smaller than `comfortable`",
                "what a hand reaches at most is at least what is comfortable",
            );
        }
        Some(Self { size: size?, comfortable, largest })
    }

    /// The widest stretch that is offered to hands of this size.
    pub(in crate::rules) fn largest_for(&self, size: HandSize) -> Option<u8> {
        (self.size == size).then(|| u8::try_from(self.largest).unwrap_or(u8::MAX))
    }

    pub(super) fn bake(&self, frame: &Frame, tests: &mut Vec<super::Test>) {
        if self.size == frame.hand_size {
            tests.push(super::Test::Reach(Test { comfortable: self.comfortable }));
        }
    }
}

/// The stretch that is comfortable.
#[derive(Clone, Copy, Debug)]
pub(in crate::rules) struct Test {
    comfortable: i32,
}

impl Test {
    #[inline]
    pub(super) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        for hand in [sound.left(), sound.right()] {
            if let (Some(low), Some(high)) = (hand.first(), hand.last()) {
                let beyond = i32::from(*high) - i32::from(*low) - self.comfortable;
                if beyond > 0 {
                    fire(beyond, 1 << (low % 12) | 1 << (high % 12));
                }
            }
        }
    }
}
