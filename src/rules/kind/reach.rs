//! `reach`: how far one hand stretches.

use super::RuleKind;
use crate::rules::format::{Faults, Fields, Holds, Key, Way, names};
use crate::rules::judge::{Frame, Sound};
use crate::voicing::{FingerTable, HandSize, Keyboard, Side, cheapest_fingering};

/// The size that a rule speaks of.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Size {
    Named(HandSize),
    Custom,
}

const SIZES: [(&str, Size); 4] = [
    ("small", Size::Named(HandSize::Small)),
    ("medium", Size::Named(HandSize::Medium)),
    ("large", Size::Named(HandSize::Large)),
    ("custom", Size::Custom),
];
const SIZE_NAMES: [&str; 4] = names(&SIZES);
const TABLE_NAMES: [&str; 2] = names(&FingerTable::NAMES);

const SIZE: Key =
    Key::new("hand-size", Holds::Word(&SIZE_NAMES), "only for hands of this size; absent: for all");
const COMFORTABLE: Key = Key::new(
    "comfortable",
    Holds::Number(0, 48),
    "the widest stretch in comfort, lowest to highest key, in semitones",
);
const LARGEST: Key =
    Key::new("largest", Holds::Number(0, 48), "the widest that is offered at all, in semitones");
const COMFORTABLE_MM: Key = Key::new(
    "comfortable-mm",
    Holds::Number(0, 500),
    "the widest stretch in comfort, between the middles of the lowest and the highest key, in millimetres",
);
const LARGEST_MM: Key =
    Key::new("largest-mm", Holds::Number(0, 500), "the widest that is offered at all, in millimetres");
const MARGIN_MM: Key = Key::new(
    "margin-mm",
    Holds::Number(0, 500),
    "millimetres by which a comfortable stretch stays within the largest span of the hand in question",
);
const FINGERS: Key = Key::new(
    "fingers",
    Holds::Word(&TABLE_NAMES),
    "a published table of spans between pairs of fingers: Balliauw et al. 2017 (for chords), or Parncutt et al. 1997 (meant \
     for melodies)",
);

#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) struct Reach {
    size: Option<Size>,
    measure: Measure,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Measure {
    Semitones {
        comfortable: i32,
        largest: i32,
    },
    Millimetres {
        comfortable: i32,
        largest: i32,
    },
    /// Within the span of the hand itself, in millimetres.
    Margin(i32),
    Fingers(FingerTable),
}

/// Hundredths of a millimetre.
const fn hundredths(millimetres: i32) -> u32 {
    millimetres.unsigned_abs() * 100
}

impl RuleKind for Reach {
    const NAME: &'static str = "reach";
    const DOC: &'static str = "how far a hand stretches";
    const WAYS: &'static [Way] = &[
        Way {
            needs: &[COMFORTABLE, LARGEST],
            may: &[SIZE],
            fires: "once for each semitone beyond comfort, in each hand",
            example: "hand-size = \"medium\"\ncomfortable = 12\nlargest = 14\ncost = 8",
        },
        Way {
            needs: &[COMFORTABLE_MM, LARGEST_MM],
            may: &[SIZE],
            fires: "once for each centimetre begun beyond comfort, in each hand; on the keys of the hand's keyboard",
            example: "hand-size = \"medium\"\ncomfortable-mm = 165\nlargest-mm = 188\ncost = 8",
        },
        Way {
            needs: &[MARGIN_MM],
            may: &[SIZE],
            fires: "once for each centimetre begun beyond comfort; the largest span is the hand's own",
            example: "hand-size = \"custom\"\nmargin-mm = 24\ncost = 8",
        },
        Way {
            needs: &[FINGERS],
            may: &[SIZE],
            fires: "as many times as the cheapest fingering has points in the table, in each hand",
            example: "fingers = \"balliauw-2017\"\ncost = 1",
        },
    ];

    fn read(way: usize, fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        let size = fields.word(&SIZE, &SIZES, faults);
        let mut both = |comfortable: &Key, largest: &Key| {
            let (span, name) = (fields.span_of(largest), largest.name);
            let (comfort, most) = (fields.number(comfortable, faults), fields.number(largest, faults));
            let (comfort, most) = (comfort?, most?);
            if most < comfort {
                faults.add(
                    span,
                    format!("`{name}` is smaller than `{}`", comfortable.name),
                    "what a hand reaches at most is at least what is comfortable",
                );
            }
            Some((comfort, most))
        };
        let measure = match way {
            0 => both(&COMFORTABLE, &LARGEST)
                .map(|(comfortable, largest)| Measure::Semitones { comfortable, largest }),
            1 => both(&COMFORTABLE_MM, &LARGEST_MM)
                .map(|(comfortable, largest)| Measure::Millimetres { comfortable, largest }),
            2 => fields.number(&MARGIN_MM, faults).map(Measure::Margin),
            _ => fields.parsed(&FINGERS, faults).map(Measure::Fingers),
        };
        Some(Self { size, measure: measure? })
    }

    fn bake(&self, frame: &Frame, tests: &mut Vec<super::Test>) {
        let size = frame.hand_size;
        if !self.speaks_of(size) {
            return;
        }
        let keyboard = size.keyboard();
        let on_keys = |comfortable| super::Test::Reach(Test::on_keys(keyboard, comfortable));
        tests.push(match self.measure {
            Measure::Semitones { comfortable, .. } => {
                let surely = u8::try_from(comfortable).unwrap_or_default();
                super::Test::Reach(Test::Semitones { comfortable, surely })
            }
            Measure::Millimetres { comfortable, .. } => on_keys(hundredths(comfortable)),
            Measure::Margin(margin) => on_keys(size.largest().saturating_sub(hundredths(margin))),
            Measure::Fingers(table) => super::Test::Fingers(Fingers { table, size }),
        });
    }
}

impl Reach {
    fn speaks_of(&self, size: HandSize) -> bool {
        self.size.is_none_or(|own| match own {
            Size::Named(own) => own == size,
            Size::Custom => matches!(size, HandSize::Custom(_)),
        })
    }

    /// What a hand of this size may not exceed.
    pub(in crate::rules) fn limit(&self, size: HandSize) -> Option<Limit> {
        let keyboard = size.keyboard();
        let on_keys = |largest| Some(Limit::Keys { keyboard, largest });
        self.speaks_of(size).then_some(())?;
        match self.measure {
            Measure::Semitones { largest, .. } => {
                Some(Limit::Semitones(u8::try_from(largest).unwrap_or(u8::MAX)))
            }
            Measure::Millimetres { largest, .. } => on_keys(hundredths(largest)),
            Measure::Margin(_) => on_keys(size.largest()),
            Measure::Fingers(_) => None,
        }
    }
}

/// What a hand may not exceed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::rules) enum Limit {
    Semitones(u8),
    /// Hundredths of a millimetre on a keyboard.
    Keys {
        keyboard: Keyboard,
        largest: u32,
    },
}

impl Limit {
    /// Whether these keys, ascending, stay within it.
    #[inline]
    pub(in crate::rules) fn holds(&self, keys: &[u8]) -> bool {
        let (Some(low), Some(high)) = (keys.first(), keys.last()) else { return true };
        match self {
            Self::Semitones(largest) => high.saturating_sub(*low) <= *largest,
            Self::Keys { keyboard, largest } => keyboard.distance(*low, *high) <= *largest,
        }
    }
}

/// The stretch that is comfortable.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::rules) enum Test {
    Semitones {
        comfortable: i32,
        surely: u8,
    },
    /// Hundredths of a millimetre on a keyboard.
    Keys {
        keyboard: Keyboard,
        comfortable: u32,
        /// So many semitones are comfortable wherever they lie.
        surely: u8,
    },
}

impl Test {
    fn on_keys(keyboard: Keyboard, comfortable: u32) -> Self {
        let everywhere =
            |semitones: &u8| (0..12).all(|low| keyboard.distance(low, low + semitones) <= comfortable);
        // Steps of all sizes take as much room as the octave on average, and somewhere no less.
        let at_most = 12 * (comfortable + 1) / (10 * u32::from(keyboard.octave())) + 1;
        let at_most = u8::try_from(at_most).unwrap_or(u8::MAX).min(115);
        let surely = (1..=at_most).rev().find(everywhere).unwrap_or_default();
        Self::Keys { keyboard, comfortable, surely }
    }

    /// The widest stretch, in semitones, for which it does not fire wherever it lies.
    pub(in crate::rules) fn surely(&self) -> u8 {
        let (Self::Semitones { surely, .. } | Self::Keys { surely, .. }) = self;
        *surely
    }

    pub(in crate::rules) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        for hand in [sound.left(), sound.right()] {
            let (Some(low), Some(high)) = (hand.first(), hand.last()) else { continue };
            let times = match self {
                Self::Semitones { comfortable, .. } => i32::from(high.saturating_sub(*low)) - comfortable,
                Self::Keys { keyboard, comfortable, .. } => {
                    let beyond = keyboard.distance(*low, *high).saturating_sub(*comfortable);
                    beyond.div_ceil(1_000) as i32
                }
            };
            if times > 0 {
                fire(times, 1 << (low % 12) | 1 << (high % 12));
            }
        }
    }
}

/// The cheapest fingering by a published table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::rules) struct Fingers {
    table: FingerTable,
    size: HandSize,
}

impl Fingers {
    pub(in crate::rules) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        for (side, hand) in [(Side::Left, sound.left()), (Side::Right, sound.right())] {
            let points =
                cheapest_fingering(side, hand, self.table, self.size).map_or(0, |found| found.points);
            if points > 0 {
                let classes = hand.iter().fold(0, |bits, key| bits | 1 << (key % 12));
                fire(i32::try_from(points).unwrap_or(i32::MAX), classes);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The slow twin: every stretch, from the narrowest, on keyboards and for hands of all widths.
    #[test]
    fn all_stretches_that_are_surely_comfortable() {
        for octave in (1_000..=2_500u16).step_by(35) {
            let keyboard = Keyboard::with_octave(octave).unwrap();
            for comfortable in (0..=40_000).step_by(97) {
                let everywhere = |by: &u8| (0..12).all(|low| keyboard.distance(low, low + by) <= comfortable);
                let slow = (1..=115).take_while(everywhere).last().unwrap_or_default();
                assert_eq!(Test::on_keys(keyboard, comfortable).surely(), slow, "{octave} {comfortable}");
            }
        }
    }
}
