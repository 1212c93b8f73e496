//! What each hand could play for one chord under one melody note.

mod forms;
mod lefts;
mod rights;
mod tones;

use std::cell::OnceCell;

use smallvec::SmallVec;

use self::rights::Triads;
pub(super) use self::tones::{STEPS, Tones};
use crate::chord::{Chord, DegreeSet};
use crate::rules::{Judge, keys};
use crate::voicing::Hand;

/// A shape of one hand with its keys at hand.
#[derive(Clone, Debug)]
pub(super) struct Shape {
    pub(super) hand: Hand,
    /// All keys, ascending.
    pub(super) keys: SmallVec<[u8; 5]>,
    /// How many of them motion looks at: all, but not the melody note on top.
    moving: usize,
}

impl Shape {
    pub(super) fn new(hand: Hand, melody: bool) -> Self {
        Self::with_keys(hand, keys(hand.pitches()), melody)
    }

    fn with_keys(hand: Hand, keys: SmallVec<[u8; 5]>, melody: bool) -> Self {
        let moving = keys.len() - usize::from(melody && !keys.is_empty());
        Self { hand, keys, moving }
    }

    /// The keys without the melody note.
    pub(super) fn inner(&self) -> &[u8] {
        self.keys.get(..self.moving).unwrap_or_default()
    }
}

/// What both hands draw from over a chord, whatever its melody: to be prepared once for a chord that comes again.
#[derive(Debug)]
pub(super) struct Material {
    chord: Chord,
    tones: Tones,
    /// The degrees that a right hand without a triad draws from.
    pool: DegreeSet,
    /// The triads with each pitch class, once they were asked for.
    triads: [OnceCell<Triads>; 12],
    /// All left hands, whoever plays the written bass: somebody else, or the left hand itself.
    lefts: [OnceCell<Vec<Shape>>; 2],
}

impl Material {
    pub(super) fn new(chord: Chord) -> Self {
        let tones = Tones::new(chord);
        let pool = rights::pool(chord, &tones);
        Self { chord, tones, pool, triads: Default::default(), lefts: Default::default() }
    }

    /// Every left hand that the judge's hands reach and that lies below the key `under`.
    pub(super) fn lefts(&self, judge: &Judge<'_>, under: u8) -> Vec<Shape> {
        let asked = judge.asks_for_bass();
        let [free, bound] = &self.lefts;
        let all = if asked { bound } else { free }.get_or_init(|| lefts::all(self.chord, &self.tones, asked));
        let fits = |shape: &&Shape| {
            shape.keys.last().is_some_and(|top| *top < under) && judge.within_reach(&shape.keys)
        };
        all.iter().filter(fits).cloned().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::{Spelling, chord};
    use crate::pitch::{Pitch, PitchClass, pitch};
    use crate::rules::{RuleSet, Situation};
    use crate::voicing::{HandSize, HandSpan};

    #[test]
    fn all_candidates_are_in_reach_and_hold_the_melody() {
        for symbol in
            ["C7", "Dm7", "Ebmaj7", "F#m7b5", "Bdim7", "A7sus4", "G", "C7/E", "Am7/G", "D5", "Gb7alt"]
        {
            let chord = chord(symbol);
            let judge = RuleSet::standard().judge_for(chord, &Situation::default());
            let within = |hand: &Hand| judge.within_reach(&keys(hand.pitches()));
            for key in 55..84 {
                let name = Spelling::default().name(chord, PitchClass::wrapping(key));
                let melody = Pitch::from_midi(key as u8, name).unwrap();
                let rights = Material::new(chord).rights(Some(melody), None, &judge, |_| true);
                assert!(!rights.is_empty());
                for shape in &rights {
                    assert_eq!(shape.hand.highest(), Some(melody));
                    assert!(within(&shape.hand));
                    assert_eq!(shape.inner().len() + 1, shape.keys.len());
                    assert!(shape.keys.windows(2).all(|w| w[0] < w[1]), "{symbol} {:?}", shape.hand);
                }
                for shape in Material::new(chord).lefts(&judge, melody.midi()) {
                    assert!(within(&shape.hand));
                    assert!(shape.hand.highest().unwrap().midi() < melody.midi());
                    let bottom = shape.hand.lowest().unwrap().pitch_class();
                    assert!(chord.bass().is_none_or(|bass| bass.pitch_class() == bottom));
                }
            }
        }
    }

    /// Where nobody asks for the written bass, shells are offered beside it.
    #[test]
    fn ok_a_bass_player_frees_the_left_hand() {
        let chord = chord("C7/G");
        for (bass_player, symbol) in [(false, false), (true, true)] {
            let situation = Situation { bass_player, ..Situation::default() };
            let judge = RuleSet::standard().judge_for(chord, &situation);
            let lefts = Material::new(chord).lefts(&judge, 72);
            let guide_tones: Hand = "E3 Bb3".parse().unwrap();
            assert_eq!(lefts.iter().any(|shape| shape.hand == guide_tones), symbol);
            assert!(lefts.iter().any(|shape| shape.hand == "G3 E4".parse().unwrap()));
        }
    }

    #[test]
    fn ok_every_triad_with_the_note_is_a_candidate() {
        let wide = HandSize::Custom(HandSpan::new(2_600, 1_645).unwrap());
        let large = Situation { hand_size: wide, ..Situation::default() };
        let judge = RuleSet::standard().judge_for(chord("C7"), &large);
        let rights = Material::new(chord("C7")).rights(Some(pitch("D5")), None, &judge, |_| true);
        for text in ["F#4 A4 D5", "A3 F#4 D5", "G4 Bb4 D5"] {
            let hand: Hand = text.parse().unwrap();
            assert!(rights.iter().any(|shape| shape.hand == hand), "{text}");
        }
    }
}
