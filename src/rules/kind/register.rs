//! `register`: where on the keyboard. Fires once for each semitone outside.
//!
//! A compass for one voice of a hand:
//!
//! ```toml
//! kind = "register"
//! hand = "right"
//! voice = "lowest"              # or "highest"
//! from = "C4"
//! to = "C5"
//! cost = 1
//! ```
//!
//! Low interval limits: the lowest bottom note of each interval, and whether the root is imagined below where it is
//! missing:
//!
//! ```toml
//! kind = "register"
//! limits = { m2 = "E3", M2 = "Eb3" }
//! assumed-root = true
//! cost = 2
//! ```

use crate::pitch::{Interval, Pitch};
use crate::rules::fields::{Faults, Fields};
use crate::rules::judge::Frame;
use crate::rules::sound::{HANDS, HandName, Sound};

/// Intervals up to a tenth are listed in the published tables.
const LARGEST_LIMITED: usize = 16;

#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) enum Register {
    Compass(Outside),
    Limits { lowest: [u8; LARGEST_LIMITED + 1], assumed_root: bool },
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Voice {
    Lowest,
    Highest,
}

impl Register {
    pub(super) fn read(fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        if fields.has("limits") {
            return Self::read_limits(fields, faults);
        }
        let hand = fields.word("hand", &HANDS, faults);
        let voice = fields.word("voice", &[("lowest", Voice::Lowest), ("highest", Voice::Highest)], faults);
        let from = fields.parsed::<Pitch>("from", faults);
        let to = fields.parsed::<Pitch>("to", faults);
        if (from.is_none() && to.is_none()) || !fields.has("hand") || !fields.has("voice") {
            faults.add(
                fields.span(),
                "a `register` rule needs `limits`, or `hand`, `voice` and `from` or `to`",
                "for example `hand = \"right\"`, `voice = \"lowest\"`, `from = \"C4\"`, `to = \"C5\"`",
            );
            return None;
        }
        Some(Self::Compass(Outside {
            hand: hand?,
            voice: voice?,
            from: from.map_or(0, Pitch::midi),
            to: to.map_or(127, Pitch::midi),
        }))
    }

    fn read_limits(fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        let assumed_root = fields.flag("assumed-root", faults);
        let mut lowest = [0; LARGEST_LIMITED + 1];
        for (name_span, name, value_span, value) in fields.pairs("limits", faults)? {
            let interval = match name.parse::<Interval>() {
                Ok(interval) => interval,
                Err(error) => {
                    faults.add(name_span, error.to_string(), error.help().unwrap_or_default());
                    continue;
                }
            };
            let cell = usize::try_from(interval.semitones()).ok().and_then(|n| lowest.get_mut(n));
            match (cell, value.parse::<Pitch>()) {
                (Some(cell), Ok(pitch)) => *cell = pitch.midi(),
                (None, _) => faults.add(
                    name_span,
                    format!("`{name}` is wider than the limits go"),
                    "limits are listed up to the major tenth, `M10`",
                ),
                (_, Err(error)) => {
                    faults.add(value_span, error.to_string(), error.help().unwrap_or_default());
                }
            }
        }
        Some(Self::Limits { lowest, assumed_root })
    }

    pub(super) fn bake(&self, frame: &Frame, tests: &mut Vec<super::Test>) {
        match self {
            Self::Compass(outside) => tests.push(super::Test::Outside(*outside)),
            Self::Limits { lowest, assumed_root } => {
                let root = assumed_root.then(|| frame.chord.root().pitch_class().get());
                tests.push(super::Test::Low(Box::new(Low { lowest: *lowest, root })));
            }
        }
    }
}

/// A compass for one voice.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::rules) struct Outside {
    hand: HandName,
    voice: Voice,
    from: u8,
    to: u8,
}

impl Outside {
    #[inline]
    pub(super) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        let keys = self.hand.keys_of(sound);
        let key = match self.voice {
            Voice::Lowest => keys.first(),
            Voice::Highest => keys.last(),
        };
        if let Some(key) = key {
            let off = i32::from(self.from.saturating_sub(*key)) + i32::from(key.saturating_sub(self.to));
            if off > 0 {
                fire(off, 1 << (key % 12));
            }
        }
    }
}

/// Low interval limits over one chord.
#[derive(Clone, Debug)]
pub(in crate::rules) struct Low {
    lowest: [u8; LARGEST_LIMITED + 1],
    root: Option<u8>,
}

impl Low {
    fn under(&self, low: u8, high: u8) -> i32 {
        let limit = self.lowest.get(usize::from(high.saturating_sub(low))).copied().unwrap_or_default();
        i32::from(limit.saturating_sub(low))
    }

    #[inline]
    pub(super) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        let keys = sound.keys();
        for (low, high) in keys.iter().zip(keys.iter().skip(1)) {
            let under = self.under(*low, *high);
            if under > 0 {
                fire(under, 1 << (low % 12) | 1 << (high % 12));
            }
        }
        // Where the bottom note is not the root, imagine the root just below it and test again.
        if let (Some(root), Some(bottom)) = (self.root, keys.first()) {
            let down = (bottom % 12 + 12 - root) % 12;
            let assumed = bottom.saturating_sub(down);
            let under = self.under(assumed, *bottom);
            if down > 0 && under > 0 {
                fire(under, 1 << root | 1 << (bottom % 12));
            }
        }
    }
}
