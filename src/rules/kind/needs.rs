//! `needs`: something that must sound.

use super::{Division, RuleKind, Test};
use crate::chord::Degree;
use crate::rules::format::{Faults, Fields, Holds, Key, Way, names};
use crate::rules::judge::{Frame, HANDS, HandName, Place, Sound};

const HAND_NAMES: [&str; 2] = names(&HANDS);
const ONE_OF: Key =
    Key::new("one-of", Holds::Degrees, "degrees of which one must sound, as far as the chord has them");
const WRITTEN: Key = Key::new("written", Holds::Flag, "`true`: the tensions that the symbol asks for");
const BASS: Key = Key::new("bass", Holds::Flag, "`true`: the written bass, in the lowest voice");
const HAND: Key = Key::new("hand", Holds::Word(&HAND_NAMES), "the hand whose notes are counted");
const VOICES: Key = Key::new("voices", Holds::Number(1, 5), "how many notes it must have");
const AT_MOST: Key = Key::new("at-most", Holds::Number(1, 5), "how many notes it may have");

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
        Way {
            needs: &[HAND, AT_MOST],
            may: &[],
            fires: "once for each note that the hand has beyond",
            example: "hand = \"right\"\nat-most = 3\ncost = 10",
        },
    ];

    fn read(way: usize, fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        let mut flagged = |key: &Key, needs| fields.only_true(key, faults).map(|()| needs);
        match way {
            1 => flagged(&WRITTEN, Self::Written),
            2 => flagged(&BASS, Self::Bass),
            0 => Some(Self::OneOf(fields.list(&ONE_OF, faults)?)),
            _ => {
                let hand = fields.word(&HAND, &HANDS, faults);
                let count = fields.number(if way == 3 { &VOICES } else { &AT_MOST }, faults);
                let (hand, count) = (hand?, count?);
                let (at_least, at_most) = if way == 3 { (count, i32::MAX) } else { (0, count) };
                Some(Self::Voices(Voices { hand, at_least, at_most }))
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

/// At least and at most so many notes in a hand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::rules) struct Voices {
    hand: HandName,
    at_least: i32,
    at_most: i32,
}

impl Voices {
    pub(super) fn division(&self) -> Division {
        match self.hand {
            HandName::Left => Division::Left,
            HandName::Right => Division::Right,
        }
    }

    pub(in crate::rules) fn place(&self) -> Place {
        match self.hand {
            HandName::Left => Place::LeftCount,
            HandName::Right => Place::RightCount,
        }
    }

    /// How many are missing or too many; 0 or less where there are enough and not too many.
    pub(in crate::rules) fn off(&self, count: u8) -> i32 {
        let count = i32::from(count);
        (self.at_least - count).max(count.saturating_sub(self.at_most))
    }

    pub(in crate::rules) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        let off = sound.at(self.place()).map_or(0, |count| self.off(count));
        if off > 0 {
            fire(off, 0);
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::chord::chord;
    use crate::rules::RuleSet;

    /// Hands of no to five notes, against counting.
    #[test]
    fn all_numbers_of_notes() {
        for (key, hand, limit) in itertools::iproduct!(["voices", "at-most"], ["left", "right"], 1..=5usize) {
            let rules = RuleSet::from_toml(
                "notes",
                &format!(
                    "format = 1\nname = \"notes\"\n[[rule]]\nid = \"notes\"\nkind = \"needs\"\nhand = \"{hand}\"\n\
                     {key} = {limit}\ncost = 1\nmessage = \"x\"\nhelp = \"y\"\nsource = \"invented for this test\"\n"
                ),
            )
            .unwrap();
            let judge = rules.judge_for(chord("C7"), &Default::default());
            let (low, high) = ([48, 50, 52, 55, 57], [60, 62, 64, 67, 69]);
            for (left, right) in itertools::iproduct!(0..=5, 0..=5) {
                let notes = if hand == "left" { left } else { right };
                let off = match key {
                    "voices" => limit.saturating_sub(notes),
                    _ => notes.saturating_sub(limit),
                };
                let score = judge.score_keys(&low[..left], &high[..right]);
                assert_eq!(score.cost as usize, off, "{key} = {limit}, {left} and {right} notes");
            }
        }
    }
}
