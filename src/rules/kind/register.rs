//! `register`: where on the keyboard.

use super::{Division, RuleKind};
use crate::pitch::{Interval, Pitch};
use crate::rules::format::{Faults, Fields, Holds, Key, Way, names};
use crate::rules::judge::{Frame, HANDS, HandName, Place, Sound};
use crate::voicing::LowLimits;

/// Intervals up to a tenth are listed in the published tables.
const LARGEST_LIMITED: usize = 16;

const VOICES: [(&str, Voice); 2] = [("lowest", Voice::Lowest), ("highest", Voice::Highest)];
const VOICE_NAMES: [&str; 2] = names(&VOICES);
const HAND_NAMES: [&str; 2] = names(&HANDS);

const HAND: Key = Key::new("hand", Holds::Word(&HAND_NAMES), "the hand in question");
const VOICE: Key = Key::new("voice", Holds::Word(&VOICE_NAMES), "its lowest or its highest note");
const FROM: Key = Key::new("from", Holds::Pitch, "the lowest pitch that is right");
const TO: Key = Key::new("to", Holds::Pitch, "the highest pitch that is right");
const LIMITS: Key = Key::new(
    "limits",
    Holds::Limits,
    "for each interval the lowest pitch that its bottom note may have: a published table, `arrangers` (a dealer's page for \
     arrangers) or `overtones` (derived from just ratios), or a table of your own such as `{ m3 = \"C3\", M3 = \"B2\" }`",
);
const ASSUMED_ROOT: Key = Key::new(
    "assumed-root",
    Holds::Flag,
    "`true`: where the root is not lowest, it is imagined below and tested too (Lowell and Pullig 2003)",
);

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

impl RuleKind for Register {
    const NAME: &'static str = "register";
    const DOC: &'static str = "where on the keyboard; low interval limits";
    const WAYS: &'static [Way] = &[
        Way {
            needs: &[HAND, VOICE, FROM],
            may: &[TO],
            fires: "once for each semitone below (or above)",
            example: "hand = \"right\"\nvoice = \"lowest\"\nfrom = \"C4\"\nto = \"C5\"\ncost = 1",
        },
        Way {
            needs: &[HAND, VOICE, TO],
            may: &[FROM],
            fires: "once for each semitone above (or below)",
            example: "hand = \"right\"\nvoice = \"highest\"\nto = \"G5\"\ncost = 1",
        },
        Way {
            needs: &[LIMITS],
            may: &[ASSUMED_ROOT],
            fires: "once for each semitone that the bottom note of an interval between neighbours lies under its limit",
            example: "limits = \"arrangers\"\nassumed-root = true\ncost = 2",
        },
    ];

    fn read(way: usize, fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        if way == 2 {
            return Self::read_limits(fields, faults);
        }
        let hand = fields.word(&HAND, &HANDS, faults);
        let voice = fields.word(&VOICE, &VOICES, faults);
        let from = fields.parsed::<Pitch>(&FROM, faults).map_or(0, Pitch::midi);
        let to = fields.parsed::<Pitch>(&TO, faults).map_or(127, Pitch::midi);
        if from > to {
            faults.add(
                fields.span_of(&FROM),
                "`from` is higher than `to`",
                "no pitch is both; exchange the two",
            );
        }
        let place = match (hand?, voice?) {
            (HandName::Left, Voice::Lowest) => Place::LeftLowest,
            (HandName::Left, Voice::Highest) => Place::LeftHighest,
            (HandName::Right, Voice::Lowest) => Place::RightLowest,
            (HandName::Right, Voice::Highest) => Place::RightHighest,
        };
        Some(Self::Compass(Outside { place, from, to }))
    }

    fn bake(&self, frame: &Frame, tests: &mut Vec<super::Test>) {
        match self {
            Self::Compass(outside) => tests.push(super::Test::Outside(*outside)),
            Self::Limits { lowest, assumed_root } => {
                let root = assumed_root.then(|| frame.chord.root().pitch_class().get());
                let highest = lowest.iter().copied().max().unwrap_or_default();
                tests.push(super::Test::Low(Box::new(Low { lowest: *lowest, highest, root })));
            }
        }
    }
}

impl Register {
    fn read_limits(fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        let assumed_root = fields.flag(&ASSUMED_ROOT, faults).unwrap_or(false);
        let mut lowest = [0; LARGEST_LIMITED + 1];
        if fields.is_text(&LIMITS) {
            let table = fields.parsed::<LowLimits>(&LIMITS, faults)?;
            for (semitones, cell) in (0..).zip(&mut lowest) {
                *cell = table.lowest(semitones).unwrap_or(0);
            }
            return Some(Self::Limits { lowest, assumed_root });
        }
        for [(name_span, name), (value_span, value)] in fields.table(&LIMITS, faults)?.pairs(faults) {
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
}

/// A compass for one voice.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::rules) struct Outside {
    place: Place,
    from: u8,
    to: u8,
}

impl Outside {
    pub(super) fn division(&self) -> Division {
        match self.place {
            Place::LeftLowest | Place::LeftHighest => Division::Left,
            _ => Division::Right,
        }
    }

    pub(super) fn can_fire(&self) -> bool {
        self.from > 0 || self.to < 127
    }

    pub(in crate::rules) fn place(&self) -> Place {
        self.place
    }

    /// By how many semitones a key lies outside.
    pub(in crate::rules) fn off(&self, key: u8) -> i32 {
        i32::from(self.from.saturating_sub(key)) + i32::from(key.saturating_sub(self.to))
    }

    pub(in crate::rules) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        if let Some(key) = sound.at(self.place) {
            let off = self.off(key);
            if off > 0 {
                fire(off, 1 << (key % 12));
            }
        }
    }
}

/// Low interval limits over one chord.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) struct Low {
    lowest: [u8; LARGEST_LIMITED + 1],
    /// The highest of these; nothing fires from there on.
    highest: u8,
    root: Option<u8>,
}

impl Low {
    pub(super) fn can_fire(&self) -> bool {
        self.highest > 0
    }

    /// No key from here on lies too low under another.
    pub(super) fn highest(&self) -> u8 {
        self.highest
    }

    /// By how many semitones a key lies too low under the next.
    pub(super) fn joined(&self, low: u8, high: u8) -> i32 {
        if low < self.highest { self.under(low, high) } else { 0 }
    }

    fn under(&self, low: u8, high: u8) -> i32 {
        let limit = self.lowest.get(usize::from(high.saturating_sub(low))).copied().unwrap_or_default();
        i32::from(limit.saturating_sub(low))
    }

    #[inline]
    pub(in crate::rules) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        let keys = sound.keys();
        for neighbours in keys.windows(2) {
            let [low, high] = neighbours else { break };
            if *low >= self.highest {
                break;
            }
            let under = self.under(*low, *high);
            if under > 0 {
                fire(under, 1 << (low % 12) | 1 << (high % 12));
            }
        }
        // Where the bottom note is not the root, imagine the root just below it and test again.
        if let (Some(root), Some(bottom)) = (self.root, keys.first()) {
            let down = (bottom % 12 + 12 - root) % 12;
            let assumed = bottom.saturating_sub(down);
            if assumed >= self.highest {
                return;
            }
            let under = self.under(assumed, *bottom);
            if down > 0 && under > 0 {
                fire(under, 1 << root | 1 << (bottom % 12));
            }
        }
    }
}
