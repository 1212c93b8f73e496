//! Labels of upper structures.

use super::{Triad, TriadKind};
use crate::chord::Chord;
use crate::error::{Error, Excerpt, Kind, Result};
use crate::pitch::NoteName;

/// The degree of the chord's root on which a triad stands: upper case for major, lower case for minor, `°`
/// diminished, `+` augmented, `sus` suspended.
///
/// The nine published ones are `II bIII bV bVI VI i bii biii #iv` (Levine, *The Jazz Piano Book*, 1989, ch. 14, by
/// way of Wikipedia, "Upper structure"). The
/// others follow the same rule: flats, but sharps where the flat triad over C would need a double accidental.
///
/// # Example
///
/// ```
/// use overshell::chord::chord;
/// use overshell::voicing::Triad;
///
/// let label = "F#m".parse::<Triad>()?.label_over(chord("C7"));
/// assert_eq!(label.to_string(), "#iv");
/// assert_eq!(label.triad_over(chord("F7")).to_string(), "Bm");
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash)]
pub struct Label {
    semitones: u8,
    kind: TriadKind,
}

/// Roman numerals and places on the line of fifths of the degrees, with flats and with sharps.
const FLATS: [(&str, i8); 12] = [
    ("I", 0),
    ("bII", -5),
    ("II", 2),
    ("bIII", -3),
    ("III", 4),
    ("IV", -1),
    ("bV", -6),
    ("V", 1),
    ("bVI", -4),
    ("VI", 3),
    ("bVII", -2),
    ("VII", 5),
];
const SHARPS: [(&str, i8); 12] = [
    ("I", 0),
    ("#I", 7),
    ("II", 2),
    ("#II", 9),
    ("III", 4),
    ("IV", -1),
    ("#IV", 6),
    ("V", 1),
    ("#V", 8),
    ("VI", 3),
    ("#VI", 10),
    ("VII", 5),
];

impl Label {
    /// The label of a triad so many semitones above the chord's root (taken modulo 12).
    pub const fn new(semitones: u8, kind: TriadKind) -> Self {
        Self { semitones: semitones % 12, kind }
    }

    fn degree(self) -> (&'static str, i8) {
        let at = usize::from(self.semitones);
        let flat = FLATS.get(at).copied().unwrap_or_default();
        let over_c = NoteName::from_fifths_respelled(i16::from(flat.1));
        let triad = Triad::new(over_c, self.kind);
        let double = triad.names().iter().any(|name| name.accidental().semitones() < -1);
        if double { SHARPS.get(at).copied().unwrap_or_default() } else { flat }
    }

    /// The kind of triad.
    pub const fn kind(self) -> TriadKind {
        self.kind
    }

    /// Semitones from the chord's root up to the triad's, `0..=11`.
    pub const fn semitones(self) -> u8 {
        self.semitones
    }

    /// The note on which it stands over this root, spelled by degree.
    pub fn root_over(self, root: NoteName) -> NoteName {
        NoteName::from_fifths_respelled(i16::from(root.fifths()) + i16::from(self.degree().1))
    }

    /// The triad it means over a chord.
    pub fn triad_over(self, chord: Chord) -> Triad {
        Triad::over(chord, self.semitones, self.kind)
    }
}

impl std::fmt::Display for Label {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (numeral, _) = self.degree();
        f.pad(&match self.kind {
            TriadKind::Major => numeral.to_owned(),
            TriadKind::Minor => numeral.to_lowercase(),
            TriadKind::Diminished => numeral.to_lowercase() + "°",
            TriadKind::Augmented => numeral.to_owned() + "+",
            TriadKind::Suspended => numeral.to_owned() + "sus",
        })
    }
}

impl std::str::FromStr for Label {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        let all = TriadKind::ALL.into_iter().flat_map(|kind| (0..12).map(move |s| Self::new(s, kind)));
        all.into_iter().find(|label| label.to_string() == text).ok_or_else(|| {
            Error::new(Kind::Pitch, format!("`{}` is not the label of a triad", crate::pitch::shown(text)))
                .with_excerpt(Excerpt::of_line(text, 0, usize::MAX))
                .with_help("labels read `II` (major), `#iv` (minor), `i°` (diminished), `bV+`, `IIsus`")
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::chord;
    use crate::pitch::note;

    #[test]
    fn all_labels_roundtrip() {
        for kind in TriadKind::ALL {
            for semitones in 0..12 {
                let label = Label::new(semitones, kind);
                assert_eq!(label.to_string().parse::<Label>().unwrap(), label);
                assert_eq!(label.triad_over(chord("Eb7")).label_over(chord("Eb7")), label);
            }
        }
    }

    /// The published nine over C7 with their notes: Wikipedia, "Upper structure", citing Levine, *The Jazz Piano Book*,
    /// Sher 1989, ch. 14.
    #[test]
    fn all_published_labels_and_spellings() {
        for (label, triad, names) in [
            ("II", "D", "D F# A"),
            ("bIII", "Eb", "Eb G Bb"),
            ("bV", "Gb", "Gb Bb Db"),
            ("bVI", "Ab", "Ab C Eb"),
            ("VI", "A", "A C# E"),
            ("i", "Cm", "C Eb G"),
            ("bii", "Dbm", "Db Fb Ab"),
            ("biii", "Ebm", "Eb Gb Bb"),
            ("#iv", "F#m", "F# A C#"),
        ] {
            let found = label.parse::<Label>().unwrap().triad_over(chord("C7"));
            assert_eq!(found.to_string(), triad);
            assert_eq!(itertools::join(found.names(), " "), names);
        }
        assert_eq!("bVI".parse::<Label>().unwrap().root_over(note("Gb")), note("Ebb"));
    }
}
