//! Note names as places on the line of fifths.

use super::{Accidental, Interval, Letter, PitchClass};
use crate::error::{Error, Excerpt, Kind, Result};

/// A note name: a letter with an accidental, stored as its place on the line of fifths (C = 0, G = 1, F = −1).
///
/// There are 35 of them, `Fbb` to `B##`. Equal means spelled alike; compare [`NoteName::pitch_class`] for enharmony.
/// The line of fifths: Temperley, "The Line of Fifths", *Music Analysis* 19 (2000).
///
/// # Example
///
/// ```
/// use overshell::pitch::{note, Interval, NoteName};
///
/// let gb: NoteName = "Gb".parse()?;
/// assert_ne!(gb, note("F#"));
/// assert_eq!(gb.pitch_class(), note("F#").pitch_class());
/// assert_eq!(gb.fifths(), -6);
/// assert_eq!(note("Db").checked_add(Interval::MINOR_NINTH), Some(note("Ebb")));
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Eq, PartialEq, Ord, PartialOrd, Hash)]
pub struct NoteName(i8);

impl NoteName {
    const LOWEST: i8 = -15;
    const HIGHEST: i8 = 19;

    /// C, the middle of the line.
    pub const C: Self = Self(0);

    /// The name with this letter and accidental.
    pub const fn new(letter: Letter, accidental: Accidental) -> Self {
        let natural = match letter {
            Letter::F => -1,
            Letter::C => 0,
            Letter::G => 1,
            Letter::D => 2,
            Letter::A => 3,
            Letter::E => 4,
            Letter::B => 5,
        };
        Self(natural + 7 * accidental.semitones())
    }

    /// The name at this place on the line of fifths; `None` outside `-15..=19`, where a third accidental would be needed.
    pub const fn from_fifths(fifths: i8) -> Option<Self> {
        if fifths < Self::LOWEST || fifths > Self::HIGHEST { None } else { Some(Self(fifths)) }
    }

    /// The name nearest to this place on the line of fifths that sounds the same and needs no third accidental.
    pub(crate) const fn from_fifths_respelled(mut fifths: i16) -> Self {
        while fifths < Self::LOWEST as i16 {
            fifths += 12;
        }
        while fifths > Self::HIGHEST as i16 {
            fifths -= 12;
        }
        Self(fifths as i8)
    }

    /// All 35 names, along the line of fifths.
    pub fn all() -> impl DoubleEndedIterator<Item = Self> + Clone {
        (Self::LOWEST..=Self::HIGHEST).map(Self)
    }

    /// The place on the line of fifths, `-15..=19`, C = 0.
    pub const fn fifths(self) -> i8 {
        self.0
    }

    /// The letter.
    pub const fn letter(self) -> Letter {
        match (self.0 + 1).rem_euclid(7) {
            0 => Letter::F,
            1 => Letter::C,
            2 => Letter::G,
            3 => Letter::D,
            4 => Letter::A,
            5 => Letter::E,
            _ => Letter::B,
        }
    }

    /// The accidental.
    pub const fn accidental(self) -> Accidental {
        match (self.0 + 1).div_euclid(7) {
            ..=-2 => Accidental::DoubleFlat,
            -1 => Accidental::Flat,
            0 => Accidental::Natural,
            1 => Accidental::Sharp,
            2.. => Accidental::DoubleSharp,
        }
    }

    /// The key of the keyboard it names.
    pub const fn pitch_class(self) -> PitchClass {
        PitchClass::wrapping(7 * self.0 as i32)
    }

    /// The name an interval above; `None` where that would need a third accidental.
    pub const fn checked_add(self, interval: Interval) -> Option<Self> {
        Self::from_fifths(self.0.saturating_add(interval.fifths()))
    }

    /// The same key under the name 12 fifths away that lies nearer to the middle of the line (D), or itself where
    /// there is none nearer.
    ///
    /// ```
    /// use overshell::pitch::note;
    /// assert_eq!(note("Bbb").simplest(), note("A"));
    /// assert_eq!(note("F#").simplest(), note("F#"));
    /// ```
    #[must_use]
    pub const fn simplest(self) -> Self {
        // The middle of the line is D (2); names from Ab (-4) to G# (8) are within six fifths of it.
        let mut fifths = self.0;
        while fifths < -4 {
            fifths += 12;
        }
        while fifths > 8 {
            fifths -= 12;
        }
        // G flat (-6) and F sharp (6) are equally common, so a name within one accidental is left alone.
        if self.0 >= -8 && self.0 <= 12 { self } else { Self(fifths) }
    }

    /// Reads a name at the start of a text and says how many bytes it took.
    pub(crate) fn read_prefix(text: &str) -> Option<(Self, usize)> {
        Self::read_prefix_bytes(text.as_bytes())
    }

    /// The same for the bytes of a text.
    pub(crate) fn read_prefix_bytes(text: &[u8]) -> Option<(Self, usize)> {
        let (first, rest) = text.split_first()?;
        let letter = Letter::from_char(char::from(*first))?;
        let (accidental, taken) = Accidental::read_prefix(rest);
        Some((Self::new(letter, accidental), 1 + taken))
    }
}

impl std::fmt::Display for NoteName {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}{}", self.letter(), self.accidental())
    }
}

impl std::fmt::Debug for NoteName {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        std::fmt::Display::fmt(self, f)
    }
}

impl std::str::FromStr for NoteName {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        match Self::read_prefix(text) {
            Some((name, taken)) if taken == text.len() => Ok(name),
            Some((_, taken)) => {
                Err(Error::new(Kind::Pitch, format!("`{}` has more than a note name", shown(text)))
                    .with_excerpt(Excerpt::of_line(
                        text,
                        text.get(..taken).map_or(0, |t| t.chars().count()),
                        usize::MAX,
                    ))
                    .with_help(
                        "a note name is a letter A to G with at most two accidentals, such as `Eb` or `F##`",
                    ))
            }
            None => Err(Error::new(Kind::Pitch, format!("`{}` is not a note name", shown(text)))
                .with_excerpt(Excerpt::of_line(text, 0, 1))
                .with_help("start with an upper-case letter A to G, such as `Eb`")),
        }
    }
}

/// A text as a message shows it: cut where it is long.
pub(crate) fn shown(text: &str) -> String {
    const LONGEST: usize = 40;
    let clean: String = text.chars().take(LONGEST).map(|c| if c.is_control() { ' ' } else { c }).collect();
    if text.chars().nth(LONGEST).is_some() { format!("{clean}…") } else { clean }
}

/// The note name written so: a short door for tests and literals.
///
/// # Panics
///
/// Panics when parsing the text would return an error.
#[expect(clippy::unwrap_used, reason = "a short door for literals, documented to panic")]
pub fn note(text: &str) -> NoteName {
    text.parse().unwrap()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Handbook of check values, part 1, section 10: C = 0, letter = FCGDAEB[(lof + 1) mod 7], pc = 7 lof mod 12.
    #[test]
    fn all_names_roundtrip() {
        let mut count = 0;
        for letter in Letter::ALL {
            for accidental in Accidental::ALL {
                let name = NoteName::new(letter, accidental);
                assert_eq!((name.letter(), name.accidental()), (letter, accidental));
                assert_eq!(NoteName::from_fifths(name.fifths()), Some(name));
                assert_eq!(name.to_string().parse::<NoteName>().unwrap(), name);
                let semitones = i32::from(letter.semitones()) + i32::from(accidental.semitones());
                assert_eq!(name.pitch_class(), PitchClass::wrapping(semitones));
                assert_eq!(name.simplest().pitch_class(), name.pitch_class());
                count += 1;
            }
        }
        assert_eq!(count, 35);
        assert_eq!(NoteName::all().count(), 35);
        assert_eq!((NoteName::from_fifths(-16), NoteName::from_fifths(20)), (None, None));
    }

    #[test]
    fn ok_unicode_signs() {
        assert_eq!("B♭".parse::<NoteName>().unwrap(), note("Bb"));
        assert_eq!("F𝄪".parse::<NoteName>().unwrap(), note("F##"));
    }

    #[test]
    fn err_names() {
        for text in ["", "H", "c", "Ebbb", "E4", "♭", "é"] {
            assert!(text.parse::<NoteName>().unwrap_err().is_pitch(), "{text}");
        }
        assert_eq!("Ebbb".parse::<NoteName>().unwrap_err().excerpt().unwrap().marked(), "b");
    }

    proptest::proptest! {
        #[test]
        fn prop_any_text_gives_a_name_or_an_error(text in ".*") {
            if let Ok(name) = text.parse::<NoteName>() {
                assert_eq!(name.to_string().parse::<NoteName>().unwrap(), name);
            }
        }
    }
}
