//! The twelve keys over a chord: what each means, what it is called, how sharp it is; and notes a step away that are milder.

use smallvec::SmallVec;

use crate::chord::{Chord, Degree, Spelling, Third};
use crate::pitch::{NoteName, Pitch, PitchClass};
use crate::voicing::Hand;

/// How far a note may move to be softened, in semitones, in the order in which it is tried.
pub(in crate::search) const STEPS: [i16; 4] = [-1, 1, -2, 2];

/// How sharp a note is that the chord avoids.
pub(in crate::search) const AVOIDED: u32 = 3;

/// The twelve keys over a chord, looked up once.
#[derive(Clone, Debug)]
pub(in crate::search) struct Tones {
    names: [NoteName; 12],
    degrees: [Degree; 12],
    sharpness: [u32; 12],
}

impl Tones {
    pub(in crate::search) fn new(chord: Chord) -> Self {
        let degrees = PitchClass::ALL.map(|class| chord.degree_of(class));
        Self {
            names: PitchClass::ALL.map(|class| Spelling::default().name(chord, class)),
            degrees,
            sharpness: degrees.map(|degree| sharpness(chord, degree)),
        }
    }

    /// What a key means.
    pub(in crate::search) fn degree(&self, class: PitchClass) -> Degree {
        self.degrees.get(usize::from(class.get())).copied().unwrap_or(Degree::Root)
    }

    /// A key as it is called over the chord.
    pub(in crate::search) fn pitch(&self, key: u8) -> Option<Pitch> {
        Pitch::from_midi(key, *self.names.get(usize::from(key % 12))?)
    }

    /// These degrees from the bottom up, each as low as it can be above the one before, the first from `lowest` on.
    pub(super) fn stacked(&self, chord: Chord, degrees: &[Degree], lowest: u8) -> Option<Hand> {
        let root = chord.root().pitch_class();
        let mut floor = lowest;
        let mut pitches: SmallVec<[Pitch; Hand::FINGERS]> = SmallVec::new();
        for degree in degrees {
            let key = floor.checked_add((degree.class_over(root).get() + 12 - floor % 12) % 12)?;
            pitches.push(self.pitch(key)?);
            floor = key + 1;
        }
        Some(Hand::from_sorted(&pitches))
    }

    /// How sharp a note is: 0 a tone of the chord, 1 a natural tension, 2 an altered one, [`AVOIDED`] a note that is avoided: the
    /// eleventh over a major third, a seventh that is not the chord's.
    pub(in crate::search) fn sharpness(&self, class: PitchClass) -> u32 {
        self.sharpness.get(usize::from(class.get())).copied().unwrap_or(AVOIDED)
    }

    /// The same of a key.
    pub(in crate::search) fn sharpness_of(&self, key: u8) -> u32 {
        self.sharpness.get(usize::from(key % 12)).copied().unwrap_or(AVOIDED)
    }

    /// The pitch a step away, where it is milder: a chord tone, or a natural tension instead of an altered one.
    pub(in crate::search) fn stepped(&self, from: Pitch, semitones: i16) -> Option<Pitch> {
        let key = u8::try_from(i16::from(from.midi()) + semitones).ok()?;
        let (old, new) = (self.sharpness_of(from.midi()), self.sharpness_of(key));
        (new < old && new < 2).then(|| self.pitch(key)).flatten()
    }
}

fn sharpness(chord: Chord, degree: Degree) -> u32 {
    let major = chord.quality().third == Third::Major;
    match degree {
        own if chord.quality().tones().contains(own) => 0,
        Degree::Eleven if major => AVOIDED,
        d if d.is_altered_tension() => 2,
        d if d.is_tension() => 1,
        _ => AVOIDED,
    }
}
