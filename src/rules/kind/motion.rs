//! `motion`: what it costs to go from one chord to the next. A rule applies where the second chord meets its conditions.
//!
//! Voices of a hand are matched in order, without crossings; where the hands differ in size, a voice may split or two may
//! join, in the cheapest way. Where they do not, voices are matched one by one, or as freely as that (`splits`): published
//! sizes of voice leadings are given both ways. The melody note is not counted: it moves as the tune says.

use super::RuleKind;
use crate::rules::format::{Faults, Fields, Holds, Key, Way, names};
use crate::rules::judge::{Frame, HANDS, HandName};

const HAND_NAMES: [&str; 2] = names(&HANDS);
const POINTS: Holds = Holds::Number(0, 1_000);
const HAND: Key = Key::new("hand", Holds::Word(&HAND_NAMES), "the hand that moves, without the melody note");
const PER_SEMITONE: Key = Key::new("per-semitone", POINTS, "points for each semitone that a voice moves");
const LEAP_OVER: Key = Key::new("leap-over", Holds::Number(0, 127), "semitones beyond which a voice leaps");
const LEAP: Key = Key::new("leap", POINTS, "points for each voice that leaps");
const VOICE_CHANGE: Key = Key::new("voice-change", POINTS, "points for each voice that comes or goes");
const COMMON_TONE: Key = Key::new(
    "common-tone",
    POINTS,
    "points for each pitch class of both chords in this hand that leaves its key",
);
const SPLITS: Key = Key::new(
    "splits",
    Holds::Flag,
    "`true`: a voice may split and two may join, in the cheapest way, also where both shapes have as many notes; else \
     those are matched one by one",
);
const PARALLEL: Key = Key::new(
    "parallel",
    Holds::Numbers(0, 11),
    "semitones, octaves apart or not, that the lowest and the highest note of both hands may not keep while both move: `0` \
     octaves, `7` fifths",
);
const PER_PARALLEL: Key = Key::new("per-parallel", POINTS, "points for such a move");
const SIMILAR: Key =
    Key::new("similar", POINTS, "points where the lowest and the highest note move in the same direction");

#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) enum Motion {
    Hand(HandMotion),
    Outer(Outer),
}

impl RuleKind for Motion {
    const NAME: &'static str = "motion";
    const DOC: &'static str = "the way from one chord to the next";
    const OWN_POINTS: bool = true;
    const WAYS: &'static [Way] = &[
        Way {
            needs: &[HAND],
            may: &[PER_SEMITONE, LEAP_OVER, LEAP, VOICE_CHANGE, COMMON_TONE, SPLITS],
            fires: "for the hand as a whole, with the sum of these points",
            example: "hand = \"right\"\nper-semitone = 1\nleap-over = 5\nleap = 3\nvoice-change = 2",
        },
        Way {
            needs: &[PARALLEL, PER_PARALLEL],
            may: &[SIMILAR],
            fires: "once, where the outer voices move in parallel",
            example: "parallel = [0, 7]\nper-parallel = 6",
        },
        Way {
            needs: &[SIMILAR],
            may: &[],
            fires: "once, where the outer voices move in the same direction",
            example: "similar = 2",
        },
    ];

    fn read(way: usize, fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        if way == 0 {
            let hand = fields.word(&HAND, &HANDS, faults);
            let splits = fields.flag(&SPLITS, faults).unwrap_or(false);
            let mut points = |key: &Key| fields.number(key, faults).unwrap_or(0);
            let motion = |hand| HandMotion {
                hand,
                per_semitone: points(&PER_SEMITONE),
                leap_over: points(&LEAP_OVER),
                leap: points(&LEAP),
                voice_change: points(&VOICE_CHANGE),
                common_tone: points(&COMMON_TONE),
                splits,
            };
            return hand.map(motion).map(Self::Hand);
        }
        let parallel = fields.numbers(&PARALLEL, faults).unwrap_or_default();
        Some(Self::Outer(Outer {
            parallel: parallel.iter().fold(0, |bits, semitones| bits | 1 << semitones),
            per_parallel: fields.number(&PER_PARALLEL, faults).unwrap_or(0),
            similar: fields.number(&SIMILAR, faults).unwrap_or(0),
        }))
    }

    fn bake(&self, _: &Frame, _: &mut Vec<super::Test>) {}
}

impl Motion {
    /// Whether nothing it sees costs anything.
    pub(super) fn is_idle(&self) -> bool {
        match self {
            Self::Hand(HandMotion { per_semitone, leap, voice_change, common_tone, .. }) => {
                [per_semitone, leap, voice_change, common_tone].iter().all(|points| **points == 0)
            }
            Self::Outer(Outer { per_parallel, similar, .. }) => *per_parallel == 0 && *similar == 0,
        }
    }
}

/// What it costs the outer voices to move.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::rules) struct Outer {
    /// Bit *n*: semitones *n*, octaves apart or not.
    parallel: u16,
    per_parallel: i32,
    similar: i32,
}

impl Outer {
    /// The cost from one voicing to another, all keys given, ascending.
    pub(in crate::rules) fn cost(&self, from: &[u8], to: &[u8]) -> i32 {
        let ends = |keys: &[u8]| Some((i32::from(*keys.first()?), i32::from(*keys.last()?)));
        let (Some((low, high)), Some((next_low, next_high))) = (ends(from), ends(to)) else { return 0 };
        let (bass, top) = (next_low - low, next_high - high);
        if bass.signum() * top.signum() <= 0 {
            return 0;
        }
        let interval = (next_high - next_low) % 12;
        let kept = interval == (high - low) % 12 && self.parallel >> interval & 1 == 1;
        self.similar + if kept { self.per_parallel } else { 0 }
    }
}

/// What it costs one hand to move.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::rules) struct HandMotion {
    pub(in crate::rules) hand: HandName,
    pub(in crate::rules) per_semitone: i32,
    pub(in crate::rules) leap_over: i32,
    pub(in crate::rules) leap: i32,
    pub(in crate::rules) voice_change: i32,
    pub(in crate::rules) common_tone: i32,
    /// Whether voices may split and join where there are as many on both sides.
    pub(in crate::rules) splits: bool,
}

impl HandMotion {
    fn voice(&self, from: u8, to: u8) -> i32 {
        let moved = i32::from(from.abs_diff(to));
        self.per_semitone * moved + if moved > self.leap_over { self.leap } else { 0 }
    }

    /// The cost from one shape to another, both ascending and of at most five keys. From or to an empty hand, voices
    /// come or go and nothing moves.
    pub(in crate::rules) fn cost(&self, from: &[u8], to: &[u8]) -> i32 {
        let moved = self.voices(from, to);
        if self.common_tone == 0 { moved } else { moved + self.common_tone * left_behind(from, to) }
    }

    fn voices(&self, from: &[u8], to: &[u8]) -> i32 {
        if from.len() == to.len() && !self.splits {
            return from.iter().zip(to).map(|(a, b)| self.voice(*a, *b)).sum();
        }
        let change = i32::try_from(from.len().abs_diff(to.len())).unwrap_or(0) * self.voice_change;
        if from.is_empty() || to.is_empty() {
            return change;
        }
        change + self.cheapest_matching(from, to)
    }

    /// The cheapest way to match every voice of both hands in order: the shortest path through the grid of pairs.
    fn cheapest_matching(&self, from: &[u8], to: &[u8]) -> i32 {
        const FAR: i32 = i32::MAX / 4;
        // Rows of the grid with one cell of margin: cell j stands for "all of `to` up to j matched".
        let mut row = [FAR; 6];
        if let Some(first) = row.first_mut() {
            *first = 0;
        }
        for a in from.iter().take(5) {
            let mut next = [FAR; 6];
            for (j, b) in to.iter().take(5).enumerate() {
                let cell = |row: &[i32; 6], at: usize| row.get(at).copied().unwrap_or(FAR);
                let before = cell(&row, j).min(cell(&row, j + 1)).min(cell(&next, j));
                if let Some(slot) = next.get_mut(j + 1) {
                    *slot = before + self.voice(*a, *b);
                }
            }
            row = next;
        }
        row.get(to.len().min(5)).copied().unwrap_or(FAR)
    }
}

/// How many pitch classes of both shapes have no key in common.
fn left_behind(from: &[u8], to: &[u8]) -> i32 {
    let classes = |keys: &[u8]| keys.iter().fold(0u16, |bits, key| bits | 1 << (key % 12));
    let held = from.iter().filter(|key| to.contains(key)).fold(0u16, |bits, key| bits | 1 << (key % 12));
    (classes(from) & classes(to) & !held).count_ones() as i32
}

#[cfg(test)]
mod tests {
    use super::*;

    const PLAIN: HandMotion = HandMotion {
        hand: HandName::Left,
        per_semitone: 1,
        leap_over: 127,
        leap: 0,
        voice_change: 0,
        common_tone: 0,
        splits: false,
    };

    #[test]
    fn ok_common_tones_that_are_left() {
        let held = HandMotion { per_semitone: 0, common_tone: 3, ..PLAIN };
        assert_eq!(held.cost(&[53, 60], &[53, 59]), 0); // F stays
        assert_eq!(held.cost(&[53, 60], &[65, 71]), 3); // F leaves its key
        assert_eq!(held.cost(&[53, 60], &[60, 65]), 3); // C stays, F does not
        assert_eq!(held.cost(&[53, 60], &[55, 58]), 0); // nothing in common
    }

    #[test]
    fn ok_splits_where_both_have_as_many() {
        let splits = HandMotion { splits: true, ..PLAIN };
        assert_eq!((PLAIN.cost(&[60, 72], &[71, 73]), splits.cost(&[60, 72], &[71, 73])), (12, 12));
        // C4 C5 C#5 to C4 C#4 C#5: C5 falls to C#4, or C4 splits while C5 and C#5 join.
        assert_eq!(
            (PLAIN.cost(&[60, 72, 73], &[60, 61, 73]), splits.cost(&[60, 72, 73], &[60, 61, 73])),
            (11, 2)
        );
        assert_eq!((PLAIN.cost(&[], &[]), splits.cost(&[], &[])), (0, 0));
    }

    #[test]
    fn ok_outer_voices() {
        let outer = Outer { parallel: 1 << 0 | 1 << 7, per_parallel: 6, similar: 2 };
        assert_eq!(outer.cost(&[48, 55, 72], &[50, 57, 74]), 8); // octaves up together
        assert_eq!(outer.cost(&[48, 67], &[53, 72]), 8); // fifths
        assert_eq!(outer.cost(&[48, 64], &[50, 69]), 2); // the same direction only
        assert_eq!(outer.cost(&[48, 72], &[50, 71]), 0); // contrary
        assert_eq!(outer.cost(&[48, 72], &[48, 74]), 0); // the bass stays
        assert_eq!(outer.cost(&[48, 72], &[60, 60]), 0);
        assert_eq!(outer.cost(&[], &[60]), 0);
    }

    /// The slow twin: every way to cover both hands by pairs in order.
    fn brute(from: &[u8], to: &[u8]) -> i32 {
        match (from, to) {
            ([a], [b]) => PLAIN.voice(*a, *b),
            ([a, rest @ ..], [b, others @ ..]) => {
                let here = PLAIN.voice(*a, *b);
                let mut best = i32::MAX;
                if !rest.is_empty() {
                    best = best.min(here + brute(rest, to));
                }
                if !others.is_empty() {
                    best = best.min(here + brute(from, others));
                }
                if !rest.is_empty() && !others.is_empty() {
                    best = best.min(here + brute(rest, others));
                }
                best
            }
            _ => 0,
        }
    }

    /// Moves of two worked two-hand cadences (a reader's comment on Levine, *The Jazz Piano Book*, ch. 7), counted by hand.
    #[test]
    fn ok_published_moves() {
        // D3 F3 | C4 E4 A4 - G2 F3 | B3 E4 A4 - C3 E3 | B3 D4 G4: the right hand moves 1, then 4.
        assert_eq!(PLAIN.cost(&[60, 64, 69], &[59, 64, 69]), 1);
        assert_eq!(PLAIN.cost(&[59, 64, 69], &[59, 62, 67]), 4);
        // F3 A3 C4 E4 - F3 A3 B3 E4 - E3 G3 B3 D4: sums 1, 5.
        assert_eq!(PLAIN.cost(&[53, 57, 60, 64], &[53, 57, 59, 64]), 1);
        assert_eq!(PLAIN.cost(&[53, 57, 59, 64], &[52, 55, 59, 62]), 5);
    }

    proptest::proptest! {
        #[test]
        fn prop_the_matching_is_the_cheapest(
            from in proptest::collection::btree_set(40u8..80, 1..=5),
            to in proptest::collection::btree_set(40u8..80, 1..=5),
        ) {
            let (from, to): (Vec<u8>, Vec<u8>) = (from.into_iter().collect(), to.into_iter().collect());
            assert_eq!(PLAIN.cheapest_matching(&from, &to), brute(&from, &to));
            assert_eq!(PLAIN.cost(&from, &to), PLAIN.cost(&to, &from));
            let splits = HandMotion { splits: true, ..PLAIN };
            assert_eq!(splits.cost(&from, &to), brute(&from, &to));
            assert!(splits.cost(&from, &to) <= PLAIN.cost(&from, &to));
        }
    }
}
