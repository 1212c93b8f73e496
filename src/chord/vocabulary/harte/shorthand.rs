//! The shorthands: names for lists of degrees.

use crate::chord::vocabulary::entry::Entry;
use crate::chord::{Degree, Fifth, Quality, Seventh, Third};

/// All of them, as the pattern of mir_eval 0.8.2 (`chord.py`, `CHORD_RE`) accepts them, simpler ones first. Their
/// contents: `QUALITIES` and `EXTENDED_QUALITY_REDUX` there; those of `UNDEFINED` by their names (common practice, no
/// source).
pub(super) const SHORTHANDS: [Entry; 26] = {
    use Degree::{Eleven, Nine, Thirteen};
    [
        Entry::new("maj", Quality::MAJOR, &[]),
        Entry::new("min", Quality::MINOR, &[]),
        Entry::new("dim", Quality::DIMINISHED, &[]),
        Entry::new("aug", Quality::AUGMENTED, &[]),
        Entry::new("maj7", Quality::MAJOR_SEVENTH, &[]),
        Entry::new("min7", Quality::MINOR_SEVENTH, &[]),
        Entry::new("7", Quality::DOMINANT_SEVENTH, &[]),
        Entry::new("dim7", Quality::DIMINISHED_SEVENTH, &[]),
        Entry::new("hdim7", Quality::HALF_DIMINISHED, &[]),
        Entry::new("minmaj7", Quality::MINOR_MAJOR_SEVENTH, &[]),
        Entry::new("maj6", Quality::SIXTH, &[]),
        Entry::new("min6", Quality::MINOR_SIXTH, &[]),
        Entry::new("9", Quality::DOMINANT_SEVENTH, &[Nine]),
        Entry::new("maj9", Quality::MAJOR_SEVENTH, &[Nine]),
        Entry::new("min9", Quality::MINOR_SEVENTH, &[Nine]),
        Entry::new("sus2", Quality::SUSPENDED_SECOND, &[]),
        Entry::new("sus4", Quality::SUSPENDED_FOURTH, &[]),
        Entry::new("aug7", Quality::AUGMENTED_SEVENTH, &[]),
        Entry::new("11", Quality::DOMINANT_SEVENTH, &[Nine, Eleven]),
        Entry::new("maj11", Quality::MAJOR_SEVENTH, &[Nine, Eleven]),
        Entry::new("min11", Quality::MINOR_SEVENTH, &[Nine, Eleven]),
        Entry::new("13", Quality::DOMINANT_SEVENTH, &[Nine, Thirteen]),
        Entry::new("maj13", Quality::MAJOR_SEVENTH, &[Nine, Thirteen]),
        Entry::new("min13", Quality::MINOR_SEVENTH, &[Nine, Eleven, Thirteen]),
        Entry::new("1", BARE, &[]),
        Entry::new("5", Quality::POWER, &[]),
    ]
};

/// The root alone.
const BARE: Quality = Quality { third: Third::None, fifth: Fifth::None, seventh: Seventh::None };

/// The major triad, which a root alone stands for.
pub(super) const MAJOR: &Entry = {
    let [first, ..] = &SHORTHANDS;
    first
};

/// Shorthands that the pattern accepts and nothing defines.
const UNDEFINED: [&str; 2] = ["aug7", "maj11"];

/// Those that every reader takes for the same chord as we do.
pub(super) fn safe() -> impl Iterator<Item = &'static Entry> {
    SHORTHANDS.iter().filter(|entry| !entry.hides_eleventh() && !UNDEFINED.contains(&entry.text))
}

/// The shorthand written so.
pub(super) fn named(text: &str) -> Option<&'static Entry> {
    SHORTHANDS.iter().find(|entry| entry.text == text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::DegreeSet;

    fn keys(degrees: impl Iterator<Item = Degree>) -> u16 {
        degrees.fold(0, |keys, degree| keys | 1 << degree.semitones())
    }

    /// Bitmaps of mir_eval 0.8.2, `QUALITIES`, semitones 0 to 11. The trap: those of ninths, elevenths and thirteenths
    /// leave the extension out, which stands in `EXTENDED_QUALITY_REDUX`.
    #[test]
    fn all_bitmaps_are_the_chord_without_its_extension() {
        for (text, bitmap, extension) in [
            ("maj", "100010010000", ""),
            ("min", "100100010000", ""),
            ("aug", "100010001000", ""),
            ("dim", "100100100000", ""),
            ("sus4", "100001010000", ""),
            ("sus2", "101000010000", ""),
            ("7", "100010010010", ""),
            ("maj7", "100010010001", ""),
            ("min7", "100100010010", ""),
            ("minmaj7", "100100010001", ""),
            ("maj6", "100010010100", ""),
            ("min6", "100100010100", ""),
            ("dim7", "100100100100", ""),
            ("hdim7", "100100100010", ""),
            ("maj9", "100010010001", "9"),
            ("min9", "100100010010", "9"),
            ("9", "100010010010", "9"),
            ("min11", "100100010010", "9 11"),
            ("11", "100010010010", "9 11"),
            ("maj13", "100010010001", "9 11 13"),
            ("min13", "100100010010", "9 11 13"),
            ("13", "100010010010", "9 11 13"),
            ("1", "100000000000", ""),
            ("5", "100000010000", ""),
        ] {
            let shorthand = named(text).unwrap();
            let (extensions, tones): (Vec<_>, Vec<_>) =
                shorthand.degrees().iter().partition(|d| d.is_tension());
            let bits = bitmap.bytes().enumerate().filter(|(_, bit)| *bit == b'1');
            assert_eq!(keys(tones.into_iter()), bits.fold(0, |keys, (at, _)| keys | 1 << at), "{text}");
            let mut extensions: DegreeSet = extensions.into_iter().collect();
            if shorthand.hides_eleventh() {
                extensions = extensions.with(Degree::Eleven);
            }
            assert_eq!(extensions, extension.parse().unwrap(), "{text}");
        }
    }

    #[test]
    fn all_differ_in_text_and_content() {
        for (at, row) in SHORTHANDS.iter().enumerate() {
            for other in &SHORTHANDS[..at] {
                assert_ne!(row.text, other.text);
                assert_ne!(row.degrees(), other.degrees(), "{} {}", row.text, other.text);
            }
        }
    }
}
