//! The five accidentals.

/// An accidental from double flat to double sharp.
///
/// # Example
///
/// ```
/// use overshell::pitch::Accidental;
/// assert_eq!(Accidental::Flat.semitones(), -1);
/// assert_eq!(Accidental::DoubleSharp.to_string(), "##");
/// ```
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash)]
pub enum Accidental {
    /// Two semitones down.
    DoubleFlat,
    /// One semitone down.
    Flat,
    /// As the letter stands.
    Natural,
    /// One semitone up.
    Sharp,
    /// Two semitones up.
    DoubleSharp,
}

impl Accidental {
    /// All five, from the lowest.
    pub const ALL: [Self; 5] = [Self::DoubleFlat, Self::Flat, Self::Natural, Self::Sharp, Self::DoubleSharp];

    /// How far it moves the letter, in semitones, `-2..=2`.
    pub const fn semitones(self) -> i8 {
        self as i8 - 2
    }

    /// The accidental that moves a letter so far; `None` beyond two semitones.
    pub const fn from_semitones(semitones: i8) -> Option<Self> {
        Some(match semitones {
            -2 => Self::DoubleFlat,
            -1 => Self::Flat,
            0 => Self::Natural,
            1 => Self::Sharp,
            2 => Self::DoubleSharp,
            _ => return None,
        })
    }

    /// As printed: `bb`, `b`, nothing, `#`, `##`.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::DoubleFlat => "bb",
            Self::Flat => "b",
            Self::Natural => "",
            Self::Sharp => "#",
            Self::DoubleSharp => "##",
        }
    }

    /// Reads an accidental at the start of a text, in ASCII or in the signs ♭ ♯ 𝄫 𝄪 (and `x`), and says how many
    /// bytes it took. Two signs at most are read; a natural takes none.
    pub(crate) fn read_prefix(text: &[u8]) -> (Self, usize) {
        const SIGNS: [(&str, Accidental); 12] = [
            ("bb", Accidental::DoubleFlat),
            ("b", Accidental::Flat),
            ("##", Accidental::DoubleSharp),
            ("#", Accidental::Sharp),
            ("x", Accidental::DoubleSharp),
            ("♭♭", Accidental::DoubleFlat),
            ("♭", Accidental::Flat),
            ("♯♯", Accidental::DoubleSharp),
            ("♯", Accidental::Sharp),
            ("＃", Accidental::Sharp),
            ("𝄫", Accidental::DoubleFlat),
            ("𝄪", Accidental::DoubleSharp),
        ];
        let may_start =
            text.first().is_some_and(|byte| matches!(byte, b'b' | b'#' | b'x') || !byte.is_ascii());
        let found = SIGNS.into_iter().find(|(sign, _)| may_start && text.starts_with(sign.as_bytes()));
        found.map_or((Self::Natural, 0), |(sign, accidental)| (accidental, sign.len()))
    }
}

impl std::fmt::Display for Accidental {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.as_str())
    }
}
