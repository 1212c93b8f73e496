//! Guide tones: third and seventh in the tenor, struck lightly.

use std::ops::RangeInclusive;

use super::ruled::{Ruled, strokes_of_chord};
use crate::chord::{Chord, Degree};
use crate::pitch::PitchClass;
use crate::search::{ArrangedChord, Arrangement};
use crate::sheet::write::midi::struck::Struck;
use crate::sheet::{LeadSheet, TICKS_PER_QUARTER};

/// C3 to G4, as a tenor sings (common practice, no source).
pub(super) const RANGE: RangeInclusive<u8> = 48..=67;
/// Where the first pair is looked for: E3 and Bb3. Chosen by us.
const FIRST: [u8; 2] = [52, 58];
/// Softer than any other part: it must not be missed where the hands play, nor get in their way. Chosen by us.
const VELOCITY: u8 = 46;
/// No stroke is longer. Chosen by us.
const LONGEST: u32 = TICKS_PER_QUARTER;

/// The strokes, once through the tune, in order.
pub(super) fn comping(sheet: &LeadSheet, arrangement: &Arrangement, bars: &[Ruled]) -> Vec<Struck> {
    let mut notes = Vec::new();
    let mut pair = FIRST;
    for (index, (placed, arranged)) in sheet.chords.iter().zip(&arrangement.chords).enumerate() {
        let Some(chord) = heard(arranged) else { continue };
        let end = sheet.chord_end(index);
        let [one, other] = guides(chord);
        pair = nearest(one, other, pair);
        let strokes = strokes_of_chord(bars, placed.start..end, |strokes| &strokes.comping).concat();
        for (at, start) in strokes.iter().enumerate() {
            let next = strokes.get(at + 1).copied().unwrap_or(end);
            let end = next.min(start.saturating_add(LONGEST));
            notes.extend(pair.map(|key| Struck::new(*start, end, key, VELOCITY)));
        }
    }
    notes
}

/// The chord as the hands take it: suspended where its eleventh, or its fourth in the melody, is in the way of the third.
fn heard(arranged: &ArrangedChord) -> Option<Chord> {
    let chord = arranged.chord?;
    Some(
        arranged
            .melody
            .map_or_else(|| chord.as_played(), |melody| chord.as_played_under(melody.pitch_class())),
    )
}

/// Third and seventh, or what stands in for them; where the chord lacks one, its fifth, then its root. A root alone is
/// named twice, and sounds once or with its octave.
fn guides(chord: Chord) -> [PitchClass; 2] {
    let quality = chord.quality();
    let degrees = [quality.third_degree(), quality.seventh_degree(), quality.fifth_degree()];
    let mut found = degrees
        .into_iter()
        .flatten()
        .chain([Degree::Root, Degree::Root])
        .map(|degree| degree.class_over(chord.root().pitch_class()));
    let root = chord.root().pitch_class();
    std::array::from_fn(|_| found.next().unwrap_or(root))
}

/// The two keys in range that lie nearest to the pair before, the lower first; of equals the lower pair.
fn nearest(one: PitchClass, other: PitchClass, before: [u8; 2]) -> [u8; 2] {
    let [low, high] = before;
    let pairs = itertools::iproduct!(keys(one), keys(other)).map(|(a, b)| [a.min(b), a.max(b)]);
    pairs
        .min_by_key(|[a, b]| (u16::from(a.abs_diff(low)) + u16::from(b.abs_diff(high)), *a, *b))
        .unwrap_or(FIRST)
}

/// The keys of a class in the tenor.
fn keys(class: PitchClass) -> impl Iterator<Item = u8> + Clone {
    RANGE.filter(move |key| PitchClass::constant(key % 12) == class)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::chord;
    use crate::pitch::{NoteName, pitch};

    fn pair(text: &str, before: [u8; 2]) -> [u8; 2] {
        let [one, other] = guides(chord(text));
        nearest(one, other, before)
    }

    /// Third and seventh change places in fifths and move by steps: C4 and F3 to B3 and F3 to B3 and E3.
    #[test]
    fn ok_guide_tones_lead_by_steps() {
        let two = pair("Dm7", FIRST);
        let five = pair("G7", two);
        let one = pair("Cmaj7", five);
        assert_eq!([two, five, one], [[53, 60], [53, 59], [52, 59]]);
    }

    #[test]
    fn ok_what_stands_in() {
        let classes =
            |text: &str| guides(chord(text)).map(|class| PitchClass::constant(0).semitones_up_to(class));
        assert_eq!(classes("C6"), [4, 9]);
        assert_eq!(classes("C7sus4"), [5, 10]);
        assert_eq!(classes("C"), [4, 7]);
        assert_eq!(classes("C5"), [7, 0]);
        let arranged = |melody: &str| ArrangedChord {
            chord: Some(chord("G7")),
            melody: Some(pitch(melody)),
            ..ArrangedChord::default()
        };
        assert_eq!(heard(&arranged("C5")), Some(chord("G7sus4")));
        assert_eq!(heard(&arranged("D5")), Some(chord("G7")));
        assert_eq!(heard(&ArrangedChord::default()), None);
    }

    /// Every chord from everywhere: two keys of the chord in range.
    #[test]
    fn all_chords_have_two_keys_in_range() {
        let near = |a: [u8; 2], b: [u8; 2]| a[0].abs_diff(b[0]) + a[1].abs_diff(b[1]);
        for own in Chord::all_on(NoteName::C) {
            for fifths in -6..6 {
                let own = own.on_root(NoteName::from_fifths(fifths).unwrap());
                let [one, other] = guides(own);
                let found = nearest(one, other, FIRST);
                assert!(
                    (found[0] < found[1] || one == other) && found.iter().all(|key| RANGE.contains(key)),
                    "{own}"
                );
                assert!(
                    found.iter().all(|key| own.pitch_set().contains(PitchClass::constant(key % 12))),
                    "{own}"
                );
                // The slow twin: no pair of keys of these classes is nearer.
                for (a, b) in itertools::iproduct!(RANGE, RANGE) {
                    let mut classes = [a, b].map(|key| PitchClass::constant(key % 12));
                    classes.sort_unstable();
                    let mut wanted = [one, other];
                    wanted.sort_unstable();
                    if a <= b && classes == wanted {
                        assert!(near(found, FIRST) <= near([a, b], FIRST), "{own}: {a} {b}");
                    }
                }
            }
        }
    }
}
