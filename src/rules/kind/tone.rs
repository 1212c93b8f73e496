//! `tone`: what one degree is over a chord.

use super::{RuleKind, Test};
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
    Degrees { degrees: DegreeSet, hand: Option<HandName> },
    AgainstSymbol,
    Scale { scale: Scale, avoid: AvoidPolicy },
}

impl RuleKind for Tone {
    const NAME: &'static str = "tone";
    const DOC: &'static str = "one degree over the chord";
    const WAYS: &'static [Way] = &[
        Way {
            needs: &[DEGREES],
            may: &[HAND],
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
                Some(Self::Degrees { degrees, hand })
            }
            1 => {
                let span = fields.span_of(&AGAINST);
                let against = fields.flag(&AGAINST, faults)?;
                if !against {
                    faults.add(span, "`against-symbol` is `false`", "leave the rule out, or write `true`");
                }
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
            Self::Degrees { degrees, hand: None } => *degrees,
            Self::Degrees { degrees, hand: Some(hand) } => {
                let classes = frame.classes_of(*degrees);
                if classes != 0 {
                    tests.push(Test::InHand(InHand { classes, hand: *hand }));
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

/// Pitch classes, one bit each, in one hand.
#[derive(Clone, Copy, Debug)]
pub(in crate::rules) struct InHand {
    classes: u16,
    hand: HandName,
}

impl InHand {
    #[inline]
    pub(in crate::rules) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        let played = self.hand.keys_of(sound).iter().fold(0u16, |bits, key| bits | 1 << (key % 12));
        let found = played & self.classes;
        if found != 0 {
            fire(found.count_ones() as i32, found);
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

    #[test]
    fn all_policies_have_a_name() {
        for policy in AvoidPolicy::ALL {
            assert_eq!(POLICIES.iter().filter(|(_, own)| *own == policy).count(), 1, "{policy}");
        }
    }
}
