//! The types of chord that the standard has words for, and which of them is nearest to a chord.

use crate::chord::vocabulary::Loss;
use crate::chord::vocabulary::entry::Entry;
use crate::chord::{Chord, Degree, DegreeSet, Quality};

/// Types made of the standard's words (ABC 2.1, section 4.18: `m`, `maj`, `dim`, `+`, `sus`, numbers), simpler ones first.
/// What they hold is common practice, no source: the standard does not say.
const TYPES: [Entry; 32] = {
    use Degree::{Eleven, Nine, Thirteen};
    [
        Entry::new("", Quality::MAJOR, &[]),
        Entry::new("m", Quality::MINOR, &[]),
        Entry::new("dim", Quality::DIMINISHED, &[]),
        Entry::new("+", Quality::AUGMENTED, &[]),
        Entry::new("sus", Quality::SUSPENDED_FOURTH, &[]),
        Entry::new("6", Quality::SIXTH, &[]),
        Entry::new("m6", Quality::MINOR_SIXTH, &[]),
        Entry::new("7", Quality::DOMINANT_SEVENTH, &[]),
        Entry::new("m7", Quality::MINOR_SEVENTH, &[]),
        Entry::new("maj7", Quality::MAJOR_SEVENTH, &[]),
        Entry::new("dim7", Quality::DIMINISHED_SEVENTH, &[]),
        Entry::new("+7", Quality::AUGMENTED_SEVENTH, &[]),
        Entry::new("7sus", Quality::SEVENTH_SUSPENDED_FOURTH, &[]),
        Entry::new("mmaj7", Quality::MINOR_MAJOR_SEVENTH, &[]),
        Entry::new("+maj7", Quality::MAJOR_SEVENTH_SHARP_FIVE, &[]),
        Entry::new("maj7sus", Quality::MAJOR_SEVENTH_SUSPENDED_FOURTH, &[]),
        Entry::new("dimmaj7", Quality::DIMINISHED_MAJOR_SEVENTH, &[]),
        Entry::new("6sus", Quality::SIXTH_SUSPENDED_FOURTH, &[]),
        Entry::new("9", Quality::DOMINANT_SEVENTH, &[Nine]),
        Entry::new("m9", Quality::MINOR_SEVENTH, &[Nine]),
        Entry::new("maj9", Quality::MAJOR_SEVENTH, &[Nine]),
        Entry::new("9sus", Quality::SEVENTH_SUSPENDED_FOURTH, &[Nine]),
        Entry::new("+9", Quality::AUGMENTED_SEVENTH, &[Nine]),
        Entry::new("mmaj9", Quality::MINOR_MAJOR_SEVENTH, &[Nine]),
        Entry::new("+maj9", Quality::MAJOR_SEVENTH_SHARP_FIVE, &[Nine]),
        Entry::new("11", Quality::DOMINANT_SEVENTH, &[Nine, Eleven]),
        Entry::new("m11", Quality::MINOR_SEVENTH, &[Nine, Eleven]),
        Entry::new("maj11", Quality::MAJOR_SEVENTH, &[Nine, Eleven]),
        Entry::new("13", Quality::DOMINANT_SEVENTH, &[Nine, Thirteen]),
        Entry::new("m13", Quality::MINOR_SEVENTH, &[Nine, Eleven, Thirteen]),
        Entry::new("maj13", Quality::MAJOR_SEVENTH, &[Nine, Thirteen]),
        Entry::new("13sus", Quality::SEVENTH_SUSPENDED_FOURTH, &[Nine, Thirteen]),
    ]
};

/// The type nearest to a chord: exactly it where there is one.
pub(super) fn nearest(chord: Chord) -> &'static Entry {
    let [simplest, ..] = &TYPES;
    let meant = (chord, keys(chord.tones()));
    TYPES.iter().min_by_key(|entry| apart(entry, meant)).unwrap_or(simplest)
}

/// How far a type is from a chord with these keys: keys, with one too many as bad as two too few; another family; other
/// names.
fn apart(entry: &Entry, (chord, meant): (Chord, u16)) -> (u32, bool, u32) {
    let said = keys(entry.degrees());
    let (too_many, too_few) = ((said & !meant).count_ones(), (meant & !said).count_ones());
    let renamed = chord.tones().difference(entry.degrees()).len();
    (2 * too_many + too_few, entry.quality.family() != chord.family(), renamed)
}

/// A bit for each key above the root.
fn keys(degrees: DegreeSet) -> u16 {
    degrees.iter().fold(0, |keys, degree| keys | 1 << degree.semitones())
}

/// What the type does not say of the chord, or says too much.
pub(super) fn losses(entry: &Entry, chord: Chord) -> Vec<Loss> {
    let (said, meant) = (entry.degrees(), chord.tones());
    let off = |degrees: DegreeSet, other: DegreeSet| {
        degrees.iter().filter(move |degree| keys(other) >> degree.semitones() & 1 == 0)
    };
    let renamed = meant.difference(said).iter().filter_map(|degree| {
        let written = said.iter().find(|d| d.semitones() == degree.semitones())?;
        Some(Loss::DegreeWrittenAs { degree, written })
    });
    let left_out = off(meant, said).map(|degree| Loss::NoWord { degree });
    let added = off(said, meant).map(|degree| Loss::Unwanted { degree });
    itertools::chain!(left_out, added, renamed).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::chord;
    use crate::pitch::NoteName;

    fn meant(entry: &Entry) -> Chord {
        Chord::new(NoteName::C, entry.quality).with_tensions(entry.tensions.iter().copied()).unwrap()
    }

    /// Words of the standard only, and the reader of chord symbols reads each type as what the table says.
    #[test]
    fn all_types_are_words_of_the_standard_and_chord_symbols() {
        for entry in &TYPES {
            let mut rest = entry.text;
            while !rest.is_empty() {
                let words = ["maj", "m", "dim", "+", "sus", "6", "7", "9", "11", "13"];
                rest = words.iter().find_map(|word| rest.strip_prefix(word)).unwrap();
            }
            assert_eq!(chord(&format!("C{}", entry.text)), meant(entry), "{}", entry.text);
            assert_eq!(nearest(meant(entry)).text, entry.text);
            assert!(losses(entry, meant(entry)).is_empty());
        }
    }

    #[test]
    fn ok_nearest_types() {
        for (symbol, text, said) in [
            ("C7(b9)", "7", "b9 is left out"),
            ("C9(#11)", "9", "#11 is left out"),
            ("C(add9)", "", "9 is left out"),
            ("C6/9", "6", "9 is left out"),
            ("C7(13)", "7", "13 is left out"),
            ("Cm7b5", "dim", "b7 is left out"),
            ("C7b5", "7", "b5 is left out, 5 is added"),
            ("C7(no5)", "7", "5 is added"),
            ("C5", "", "3 is added"),
            ("Csus2", "sus", "2 is left out, 4 is added"),
            ("C9sus4(no5)", "9sus", "5 is added"),
            ("C7sus2", "9sus", "4 is added, 2 is written as 9"),
            ("C7alt", "+7", "b9 is left out, #9 is left out, #11 is left out, b13 is written as #5"),
        ] {
            let entry = nearest(chord(symbol));
            let what = |loss: Loss| loss.to_string().split_once(':').unwrap().0.replace('`', "");
            let losses = itertools::join(losses(entry, chord(symbol)).into_iter().map(what), ", ");
            assert_eq!((entry.text, losses.as_str()), (text, said), "{symbol}");
        }
    }
}
