//! Which notes of a staff show an accidental: one that differs from what the signature or the bar says so far, for
//! its letter and octave.

use smallvec::SmallVec;

use super::line::Written;
use crate::chord::Key;
use crate::pitch::{Accidental, Letter, NoteName, Pitch};

/// The accidental of a letter in a signature.
fn signed(key: Key, letter: Letter) -> i8 {
    let natural = NoteName::new(letter, Accidental::Natural).fifths();
    // Sharps go up the line of fifths from F (-1), flats down from B (5); past seven, doubles begin.
    let sharps = key.signature();
    let place = if sharps >= 0 { natural + 1 } else { 5 - natural };
    let times = (i16::from(sharps.unsigned_abs()) - i16::from(place) + 6).div_euclid(7);
    let times = i8::try_from(times.clamp(0, 2)).unwrap_or(0);
    if sharps >= 0 { times } else { -times }
}

const fn sign(pitch: Pitch) -> &'static str {
    match pitch.accidental() {
        Accidental::DoubleFlat => "flat-flat",
        Accidental::Flat => "flat",
        Accidental::Natural => "natural",
        Accidental::Sharp => "sharp",
        Accidental::DoubleSharp => "double-sharp",
    }
}

/// Marks the accidentals of all voices of one staff in one bar, in order of time.
pub(super) fn mark(key: Key, voices: &mut [&mut Vec<Written>]) {
    let mut order: Vec<(u32, usize, usize)> = Vec::new();
    for (voice, line) in voices.iter().enumerate() {
        order.extend(line.iter().enumerate().map(|(index, written)| (written.start, voice, index)));
    }
    order.sort_unstable();
    let mut holds = Places::new();
    for together in order.chunk_by(|a, b| a.0 == b.0) {
        let mut asked = Places::new();
        for (_, voice, index) in together {
            let Some(written) = voices.get(*voice).and_then(|line| line.get(*index)) else { continue };
            for pitch in written.pitches.iter().filter(|_| !written.continues) {
                let wanted = Some(pitch.accidental().semitones());
                match asked.iter_mut().find(|(place, _)| *place == place_of(*pitch)) {
                    Some((_, all)) if *all != wanted => *all = None,
                    Some(_) => {}
                    None => asked.push((place_of(*pitch), wanted)),
                }
            }
        }
        for (_, voice, index) in together {
            let Some(written) = voices.get_mut(*voice).and_then(|line| line.get_mut(*index)) else {
                continue;
            };
            if written.continues {
                continue;
            }
            for (pitch, shown) in written.pitches.iter().zip(&mut written.accidentals) {
                let place = place_of(*pitch);
                let wanted = Some(pitch.accidental().semitones());
                let held = at(&holds, place).unwrap_or_else(|| Some(signed(key, pitch.letter())));
                let agreed = at(&asked, place) != Some(None);
                *shown = (held != wanted || !agreed).then_some(sign(*pitch));
            }
        }
        for (place, all) in asked {
            match holds.iter_mut().find(|(own, _)| *own == place) {
                Some((_, held)) => *held = all,
                None => holds.push((place, all)),
            }
        }
    }
}

/// A letter in an octave.
type Place = (Letter, i8);

/// What each place has; `None` where notes that sound together disagree. There are fewer than a hundred places, and a few in a
/// bar.
type Places = SmallVec<[(Place, Option<i8>); 8]>;

fn place_of(pitch: Pitch) -> Place {
    (pitch.letter(), pitch.octave())
}

fn at(places: &Places, place: Place) -> Option<Option<i8>> {
    places.iter().find(|(own, _)| *own == place).map(|(_, has)| *has)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pitch::pitch;

    fn line(notes: &[(&str, bool)]) -> Vec<Written> {
        let starts = (0u32..).step_by(10);
        notes
            .iter()
            .zip(starts)
            .map(|((name, continues), start)| Written {
                start,
                duration: 10,
                pitches: vec![pitch(name)],
                continues: *continues,
                accidentals: vec![None],
                ..Written::default()
            })
            .collect()
    }

    fn shown(line: &[Written]) -> Vec<&'static str> {
        line.iter().map(|written| written.accidentals[0].unwrap_or("")).collect()
    }

    #[test]
    fn ok_signatures() {
        for (key, signs) in [
            ("C", [0, 0, 0, 0, 0, 0, 0]),
            ("D", [1, 0, 0, 1, 0, 0, 0]),
            ("Eb", [0, 0, -1, 0, 0, -1, -1]),
            ("C#", [1; 7]),
            ("Cb", [-1; 7]),
            ("Cm", [0, 0, -1, 0, 0, -1, -1]),
            ("G#", [1, 1, 1, 2, 1, 1, 1]),
        ] {
            assert_eq!(Letter::ALL.map(|letter| signed(key.parse().unwrap(), letter)), signs, "{key}");
        }
    }

    #[test]
    fn ok_an_accidental_holds_for_its_octave_and_bar() {
        let mut notes = line(&[
            ("F#5", false),
            ("F#5", false),
            ("F#4", false),
            ("F5", false),
            ("F5", false),
            ("Bb4", false),
        ]);
        mark("F".parse().unwrap(), &mut [&mut notes]);
        assert_eq!(shown(&notes), ["sharp", "", "sharp", "natural", "", ""]);
    }

    #[test]
    fn ok_a_tie_is_not_marked_again_and_does_not_hold() {
        let mut notes = line(&[("F#5", true), ("F#5", false)]);
        mark("C".parse().unwrap(), &mut [&mut notes]);
        assert_eq!(shown(&notes), ["", "sharp"]);
    }

    #[test]
    fn ok_voices_of_a_staff_know_each_other() {
        let mut upper = line(&[("C5", false), ("F#4", false)]);
        let mut lower = line(&[("F4", false), ("F4", false), ("F4", false)]);
        mark("C".parse().unwrap(), &mut [&mut upper, &mut lower]);
        assert_eq!(shown(&upper), ["", "sharp"]);
        assert_eq!(shown(&lower), ["", "natural", "natural"]);
    }
}
