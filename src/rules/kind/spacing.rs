//! `spacing`: how far apart voices lie, in semitones. Fires once for each semitone too near or too far.
//!
//! ```toml
//! kind = "spacing"
//! between = "hands"     # hands, top (melody and next voice), right, left (adjacent voices of a hand)
//! at-most = 12          # and/or: at-least = 3
//! cost = 1
//! ```

use crate::rules::fields::{Faults, Fields};
use crate::rules::sound::Sound;

#[derive(Clone, Copy, Debug, PartialEq)]
enum Between {
    Hands,
    Top,
    Right,
    Left,
}

const BETWEEN: [(&str, Between); 4] =
    [("hands", Between::Hands), ("top", Between::Top), ("right", Between::Right), ("left", Between::Left)];

#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::rules) struct Spacing {
    between: Between,
    at_least: i32,
    at_most: i32,
}

impl Spacing {
    pub(super) fn read(fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        let between = fields.word("between", &BETWEEN, faults);
        if between.is_none() && !fields.has("between") {
            faults.add(fields.span(), "a `spacing` rule needs `between`", "write `between = \"hands\"`");
        }
        let at_least = fields.integer("at-least", 0..=48, faults);
        let at_most = fields.integer("at-most", 0..=48, faults);
        if at_least.is_none() && at_most.is_none() {
            faults.add(
                fields.span(),
                "a `spacing` rule needs `at-least` or `at-most`",
                "write the distance in semitones, such as `at-most = 12`",
            );
        }
        Some(Self { between: between?, at_least: at_least.unwrap_or(0), at_most: at_most.unwrap_or(127) })
    }

    #[inline]
    pub(super) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        let mut measure = |low: u8, high: u8| {
            let distance = i32::from(high) - i32::from(low);
            let off = (self.at_least - distance).max(distance - self.at_most);
            if off > 0 {
                fire(off, 1 << (low % 12) | 1 << (high % 12));
            }
        };
        match self.between {
            Between::Hands => {
                if let (Some(low), Some(high)) = (sound.left().last(), sound.right().first()) {
                    measure(*low, *high);
                }
            }
            Between::Top => {
                if let [.., low, high] = sound.keys() {
                    measure(*low, *high);
                }
            }
            Between::Right => {
                sound.right().iter().zip(sound.right().iter().skip(1)).for_each(|(l, h)| measure(*l, *h))
            }
            Between::Left => {
                sound.left().iter().zip(sound.left().iter().skip(1)).for_each(|(l, h)| measure(*l, *h))
            }
        }
    }
}
