//! `motion`: what it costs a hand to go from one chord to the next.
//!
//! ```toml
//! kind = "motion"
//! hand = "right"
//! per-semitone = 1      # for each semitone that a voice moves
//! leap-over = 5         # a voice that moves further than this…
//! leap = 3              # …costs so much more
//! voice-change = 2      # for each voice that comes or goes
//! ```
//!
//! Voices are matched in order, without crossings; where the hands differ in size, a voice may split or two may join,
//! in the cheapest way. The melody note is not counted: it moves as the tune says.

use crate::rules::fields::{Faults, Fields};
use crate::rules::sound::{HANDS, HandName};

/// The cost of motion for one hand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::rules) struct Motion {
    pub(in crate::rules) hand: HandName,
    per_semitone: i32,
    leap_over: i32,
    leap: i32,
    voice_change: i32,
}

impl Motion {
    pub(super) fn read(fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        let hand = fields.word("hand", &HANDS, faults);
        if !fields.has("hand") {
            faults.add(fields.span(), "a `motion` rule needs `hand`", "write `hand = \"right\"`");
        }
        let mut points = |key| fields.integer(key, 0..=1_000, faults).unwrap_or(0);
        let motion = |hand| Self {
            hand,
            per_semitone: points("per-semitone"),
            leap_over: points("leap-over"),
            leap: points("leap"),
            voice_change: points("voice-change"),
        };
        hand.map(motion)
    }

    fn voice(&self, from: u8, to: u8) -> i32 {
        let moved = i32::from(from.abs_diff(to));
        self.per_semitone * moved + if moved > self.leap_over { self.leap } else { 0 }
    }

    /// The cost from one shape to another, both ascending and of at most five keys. From or to an empty hand, voices
    /// come or go and nothing moves.
    pub(in crate::rules) fn cost(&self, from: &[u8], to: &[u8]) -> i32 {
        if from.len() == to.len() {
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

#[cfg(test)]
mod tests {
    use super::*;

    const PLAIN: Motion =
        Motion { hand: HandName::Left, per_semitone: 1, leap_over: 127, leap: 0, voice_change: 0 };

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
        }
    }
}
