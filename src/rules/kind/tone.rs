//! `tone`: what one degree is over a chord.

use super::{Division, RuleKind, Test};
use crate::chord::{AvoidPolicy, Degree, DegreeSet, Scale};
use crate::rules::format::{Faults, Fields, Holds, Key, Way, names};
use crate::rules::judge::{Frame, HANDS, HandName, Sound};

const POLICIES: [(&str, AvoidPolicy); 3] = [
    ("whole-step", AvoidPolicy::WholeStep),
    ("dorian-sixth", AvoidPolicy::Nettles),
    ("none-in-minor-modes", AvoidPolicy::Levine),
];
const POLICY_NAMES: [&str; 3] = names(&POLICIES);
const HAND_NAMES: [&str; 2] = names(&HANDS);

const DEGREES: Key = Key::new("degrees", Holds::Degrees, "the degrees in question");
const HAND: Key = Key::new("hand", Holds::Word(&HAND_NAMES), "only where this hand plays it");
const BEYOND: Key = Key::new(
    "beyond",
    Holds::Number(1, 11),
    "so many of the degrees are free: fires for those that sound beyond, such as a second altered tension",
);
const AGAINST: Key =
    Key::new("against-symbol", Holds::Flag, "`true`: degrees that contradict the written symbol");
const SCALE: Key = Key::new("scale", Holds::Scale, "the scale that serves the chord, on its root");
const AVOID: Key = Key::new(
    "avoid",
    Holds::Word(&POLICY_NAMES),
    "which notes of the scale are avoided: `whole-step` all but those a whole step above a chord tone; `dorian-sixth` \
     (the default) also the sixth of Dorian (Nettles); `none-in-minor-modes` none in Dorian, Phrygian, Aeolian and the modes \
     of melodic minor, and a suspension may have its third (Levine)",
);

#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) enum Tone {
    Degrees { degrees: DegreeSet, hand: Option<HandName>, beyond: i32 },
    AgainstSymbol,
    Scale { scale: Scale, avoid: AvoidPolicy },
}

impl RuleKind for Tone {
    const NAME: &'static str = "tone";
    const DOC: &'static str = "one degree over the chord";
    const WAYS: &'static [Way] = &[
        Way {
            needs: &[DEGREES],
            may: &[HAND, BEYOND],
            fires: "once for each of the degrees that sounds",
            example: "degrees = [\"9\", \"13\"]\ncolour = 10",
        },
        Way {
            needs: &[AGAINST],
            may: &[],
            fires: "once for each degree that sounds and contradicts a written one: a natural ninth over `C7(b9)`",
            example: "against-symbol = true\neffect = \"clash\"",
        },
        Way {
            needs: &[SCALE],
            may: &[AVOID],
            fires: "once for each degree that sounds and is neither the chord's own, nor asked for by the symbol, nor a tension that \
                    is available in the scale: what is outside the scale, and what is avoided in it",
            example: "chords = [\"minor\"]\nscale = \"Dorian\"\navoid = \"dorian-sixth\"\neffect = \"clash\"",
        },
    ];

    fn read(way: usize, fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        match way {
            0 => {
                let hand = fields.word(&HAND, &HANDS, faults);
                let degrees = fields.list::<Degree>(&DEGREES, faults)?.into_iter().collect();
                let beyond = fields.number(&BEYOND, faults).unwrap_or(0);
                Some(Self::Degrees { degrees, hand, beyond })
            }
            1 => {
                fields.only_true(&AGAINST, faults)?;
                Some(Self::AgainstSymbol)
            }
            _ => {
                let avoid = fields.word(&AVOID, &POLICIES, faults).unwrap_or_default();
                Some(Self::Scale { scale: fields.parsed(&SCALE, faults)?, avoid })
            }
        }
    }

    fn bake(&self, frame: &Frame, tests: &mut Vec<Test>) {
        let chord = frame.chord;
        let fights = match self {
            Self::Degrees { degrees, hand: None, beyond: 0 } => *degrees,
            Self::Degrees { degrees, hand, beyond } => {
                let classes = frame.classes_of(*degrees);
                if classes.count_ones() as i32 > *beyond {
                    tests.push(Test::Several(Several { classes, hand: *hand, beyond: *beyond }));
                }
                return;
            }
            Self::AgainstSymbol => frame.degrees().filter(|d| contradicts(*d, chord.tones())).collect(),
            Self::Scale { scale, avoid } => {
                let served = scale.available(chord, *avoid).union(chord.tones());
                frame.degrees().filter(|d| !served.contains(*d)).collect()
            }
        };
        tests.extend(fights.iter().filter_map(|degree| frame.class_of(degree)).map(Test::Present));
    }
}

/// Pitch classes, one bit each, in one hand or both, of which so many are free.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::rules) struct Several {
    classes: u16,
    hand: Option<HandName>,
    beyond: i32,
}

impl Several {
    pub(super) fn division(&self) -> Division {
        match self.hand {
            None => Division::Classes(self.classes),
            Some(HandName::Left) => Division::Left,
            Some(HandName::Right) => Division::Right,
        }
    }

    /// How many too many of these pitch classes there are; 0 or less where there are not.
    pub(super) fn times(&self, played: u16) -> i32 {
        (played & self.classes).count_ones() as i32 - self.beyond
    }

    #[inline]
    pub(in crate::rules) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        let played = match self.hand {
            Some(hand) => hand.keys_of(sound).iter().fold(0u16, |bits, key| bits | 1 << (key % 12)),
            None => sound.classes,
        };
        let found = played & self.classes;
        let times = self.times(played);
        if times > 0 {
            fire(times, found);
        }
    }
}

/// Whether a degree that is not written contradicts one that is: the same number, altered otherwise. Raised and
/// lowered ninths go together.
fn contradicts(degree: Degree, written: DegreeSet) -> bool {
    let both_altered = |other: Degree| degree.alteration() != 0 && other.alteration() != 0;
    !written.contains(degree)
        && matches!(degree.number(), 5 | 9 | 11 | 13)
        && written.iter().any(|other| {
            other.number() == degree.number()
                && other != degree
                && !(degree.number() == 9 && both_altered(other))
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::chord;

    #[test]
    fn ok_contradictions() {
        let found = |symbol: &str| {
            let written = chord(symbol).tones();
            Degree::ALL.into_iter().filter(|d| contradicts(*d, written)).collect::<DegreeSet>().to_string()
        };
        assert_eq!(found("C7"), "b5 #5");
        assert_eq!(found("C7(b9)"), "9 b5 #5");
        assert_eq!(found("C13(#11)"), "b9 #9 11 b5 #5 b13");
        assert_eq!(found("C7#5"), "b5 5");
    }

    /// Every set of keys in either hand, against counting.
    #[test]
    fn all_numbers_of_degrees_beyond() {
        let altered = [1, 3, 6, 8];
        for (hand, beyond) in itertools::iproduct!(["", "hand = \"right\"\n", "hand = \"left\"\n"], 0..4) {
            let beyond_line = if beyond > 0 { format!("beyond = {beyond}\n") } else { String::new() };
            let text = format!(
                "format = 1\nname = \"x\"\n[[rule]]\nid = \"x\"\nkind = \"tone\"\ndegrees = [\"b9\", \"#9\", \"#11\", \"b13\"]\n\
                 {hand}{beyond_line}cost = 1\nmessage = \"m\"\nhelp = \"h\"\nsource = \"invented for this test\"\n"
            );
            let rules = crate::rules::RuleSet::from_toml("x", &text).unwrap();
            let judge = rules.judge_for(chord("C7"), &Default::default());
            for (left, right) in itertools::iproduct!(0..16u8, 0..16u8) {
                let keys = |bits: u8, octave: u8| -> Vec<u8> {
                    let chosen = (0..4).filter(|at| bits >> at & 1 == 1);
                    chosen.map(|at| octave + altered[at as usize]).collect()
                };
                let counted = match hand {
                    "" => left | right,
                    hand if hand.contains("left") => left,
                    _ => right,
                };
                let expected = (counted.count_ones() as i32 - beyond).max(0);
                let score = judge.score_keys(&keys(left, 48), &keys(right, 60));
                assert_eq!(score.cost, expected, "{hand}{beyond_line}{left} {right}");
            }
        }
    }

    #[test]
    fn all_policies_have_a_name() {
        for policy in AvoidPolicy::ALL {
            assert_eq!(POLICIES.iter().filter(|(_, own)| *own == policy).count(), 1, "{policy}");
        }
    }
}
