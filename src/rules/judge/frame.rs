//! The chord and its surroundings as rules see them.

use crate::chord::{Chord, Degree, DegreeSet, Function};
use crate::pitch::{Pitch, PitchClass};
use crate::rules::{MovingNote, Situation};
use crate::voicing::HandSize;

/// The chord and its surroundings as rules see them.
#[derive(Clone, Debug)]
pub(in crate::rules) struct Frame {
    pub(in crate::rules) chord: Chord,
    pub(in crate::rules) function: Option<Function>,
    pub(in crate::rules) melody: Option<u8>,
    pub(in crate::rules) moving: Vec<MovingNote>,
    pub(in crate::rules) hand_size: HandSize,
    pub(in crate::rules) bass_player: bool,
    /// What each pitch class means, by absolute pitch class.
    pub(in crate::rules) meaning: [Degree; 12],
}

impl Frame {
    pub(in crate::rules) fn new(chord: Chord, situation: &Situation) -> Self {
        let (map, root) = (chord.degree_map(), chord.root().pitch_class());
        let meaning = PitchClass::ALL
            .map(|class| map.get(usize::from(root.semitones_up_to(class))).copied().unwrap_or(Degree::Root));
        Self {
            chord,
            function: situation.function,
            melody: situation.melody.map(Pitch::midi),
            moving: situation.moving.clone(),
            hand_size: situation.hand_size,
            bass_player: situation.bass_player,
            meaning,
        }
    }

    /// The pitch class that has this meaning over the chord, `None` where that key means something else.
    pub(in crate::rules) fn class_of(&self, degree: Degree) -> Option<u8> {
        let class = degree.class_over(self.chord.root().pitch_class()).get();
        (self.meaning.get(usize::from(class)) == Some(&degree)).then_some(class)
    }

    /// The pitch classes that have one of these meanings, one bit each.
    pub(in crate::rules) fn classes_of(&self, degrees: DegreeSet) -> u16 {
        degrees.iter().filter_map(|degree| self.class_of(degree)).fold(0, |bits, class| bits | 1 << class)
    }

    /// The twelve meanings.
    pub(in crate::rules) fn degrees(&self) -> impl Iterator<Item = Degree> + '_ {
        self.meaning.iter().copied()
    }

    /// What a pitch class means.
    #[inline]
    pub(in crate::rules) fn meaning_of(&self, class: u8) -> Degree {
        self.meaning.get(usize::from(class % 12)).copied().unwrap_or(Degree::Root)
    }

    /// The meanings of these pitch classes.
    pub(in crate::rules) fn meanings_of(&self, classes: u16) -> DegreeSet {
        (0..12).filter(|class| classes >> class & 1 == 1).map(|class| self.meaning_of(class)).collect()
    }
}
