//! `needs`: something that must sound.

use super::{RuleKind, Test};
use crate::chord::Degree;
use crate::rules::format::{Faults, Fields, Holds, Key, Way, names};
use crate::rules::judge::{Frame, HANDS, HandName, Sound};

const HAND_NAMES: [&str; 2] = names(&HANDS);
const ONE_OF: Key =
    Key::new("one-of", Holds::Degrees, "degrees of which one must sound, as far as the chord has them");
const WRITTEN: Key = Key::new("written", Holds::Flag, "`true`: the tensions that the symbol asks for");
const BASS: Key = Key::new("bass", Holds::Flag, "`true`: the written bass, in the lowest voice");
const HAND: Key = Key::new("hand", Holds::Word(&HAND_NAMES), "the hand whose notes are counted");
const VOICES: Key = Key::new("voices", Holds::Number(1, 5), "how many notes it must have");

#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) enum Needs {
    OneOf(Vec<Degree>),
    Written,
    Bass,
    Voices(Voices),
}

impl RuleKind for Needs {
    const NAME: &'static str = "needs";
    const DOC: &'static str = "something that must sound";
    const WAYS: &'static [Way] = &[
        Way {
            needs: &[ONE_OF],
            may: &[],
            fires: "once, where none of the degrees sounds that the chord has",
            example: "one-of = [\"3\", \"b3\", \"4\"]\ncost = 60",
        },
        Way {
            needs: &[WRITTEN],
            may: &[],
            fires: "once for each written tension that does not sound",
            example: "written = true\ncost = 10",
        },
        Way {
            needs: &[BASS],
            may: &[],
            fires: "once, where another note is lowest",
            example: "bass = true\ncost = 80",
        },
        Way {
            needs: &[HAND, VOICES],
            may: &[],
            fires: "once for each note that the hand lacks",
            example: "hand = \"left\"\nvoices = 2\ncost = 10",
        },
    ];

    fn read(way: usize, fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        let mut flagged = |key: &Key, needs| {
            let span = fields.span_of(key);
            if !fields.flag(key, faults)? {
                faults.add(span, format!("`{}` is `false`", key.name), "leave the rule out, or write `true`");
            }
            Some(needs)
        };
        match way {
            1 => flagged(&WRITTEN, Self::Written),
            2 => flagged(&BASS, Self::Bass),
            0 => Some(Self::OneOf(fields.list(&ONE_OF, faults)?)),
            _ => {
                let (hand, voices) = (fields.word(&HAND, &HANDS, faults), fields.number(&VOICES, faults));
                Some(Self::Voices(Voices { hand: hand?, at_least: voices? }))
            }
        }
    }

    fn bake(&self, frame: &Frame, tests: &mut Vec<Test>) {
        match self {
            Self::OneOf(degrees) => {
                let own = frame.chord.tones();
                let classes =
                    frame.classes_of(degrees.iter().copied().filter(|d| own.contains(*d)).collect());
                if classes != 0 {
                    tests.push(Test::Absent(classes));
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

/// At least so many notes in a hand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::rules) struct Voices {
    hand: HandName,
    at_least: i32,
}

impl Voices {
    #[inline]
    pub(in crate::rules) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        let missing = self.missing(sound);
        if missing > 0 {
            fire(missing, 0);
        }
    }

    /// How many are missing; less than 0 where there are more.
    #[inline]
    pub(in crate::rules) fn missing(&self, sound: &Sound) -> i32 {
        let [left, right] = sound.counts();
        self.at_least
            - i32::from(match self.hand {
                HandName::Left => left,
                HandName::Right => right,
            })
    }
}
