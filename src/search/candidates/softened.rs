//! Notes a step away that are milder.

use crate::chord::{Chord, Degree, Spelling, Third};
use crate::pitch::{Pitch, PitchClass};

/// How far a note may move to be softened, in semitones, in the order in which it is tried.
pub(in crate::search) const STEPS: [i16; 4] = [-1, 1, -2, 2];

/// How sharp a degree is over a chord: 0 a tone of its own, 1 a natural tension, 2 an altered one, 3 a note that is avoided: the
/// eleventh over a major third, a seventh that is not the chord's.
pub(in crate::search) fn sharpness(chord: Chord, degree: Degree) -> u32 {
    let major = chord.quality().third == Third::Major;
    match degree {
        own if chord.quality().tones().contains(own) => 0,
        Degree::Eleven if major => 3,
        d if d.is_altered_tension() => 2,
        d if d.is_tension() => 1,
        _ => 3,
    }
}

/// The pitch a step away, where it is milder: a chord tone, or a natural tension instead of an altered one.
pub(in crate::search) fn stepped(chord: Chord, from: Pitch, semitones: i16) -> Option<Pitch> {
    let key = u8::try_from(i16::from(from.midi()) + semitones).ok()?;
    let class = PitchClass::wrapping(i32::from(key));
    let sharpness = |class| sharpness(chord, chord.degree_of(class));
    let (old, new) = (sharpness(from.pitch_class()), sharpness(class));
    (new < old && new < 2).then(|| Pitch::from_midi(key, Spelling::default().name(chord, class))).flatten()
}
