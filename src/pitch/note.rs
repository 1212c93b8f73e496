//! Pitches: a name in an octave.

use super::name::shown;
use super::{Accidental, Interval, Letter, NoteName, PitchClass};
use crate::error::{Error, Excerpt, Kind, Result};

/// A spelled pitch: a name in an octave, MIDI number `0..=127`, middle C = `C4` = 60.
///
/// The octave belongs to the letter, as in scientific notation: `Cb4` is MIDI 59, `B#3` is 60.
/// Ordered by sound first, then by spelling.
///
/// # Example
///
/// ```
/// use overshell::pitch::{note, pitch, Pitch};
///
/// let eb4: Pitch = "Eb4".parse()?;
/// assert_eq!(eb4.midi(), 63);
/// assert_eq!(Pitch::new(note("Eb"), 4)?, eb4);
/// assert_ne!(eb4, pitch("D#4"));
/// assert!(Pitch::new(note("A"), 9).unwrap_err().is_range()); // MIDI 129
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Eq, PartialEq, Ord, PartialOrd, Hash)]
pub struct Pitch {
    midi: u8,
    name: NoteName,
}

impl Pitch {
    /// Middle C.
    pub const MIDDLE_C: Self = Self { midi: 60, name: NoteName::C };
    /// The highest MIDI number.
    pub const HIGHEST_MIDI: u8 = 127;

    /// The pitch with this name in this octave.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`] where the MIDI number would not be `0..=127` (about `C-1` to `G9`).
    pub fn new(name: NoteName, octave: i8) -> Result<Self> {
        let midi = 12 * (i32::from(octave) + 1)
            + i32::from(name.letter().semitones())
            + i32::from(name.accidental().semitones());
        match u8::try_from(midi) {
            Ok(midi) if midi <= Self::HIGHEST_MIDI => Ok(Self { midi, name }),
            _ => Err(Error::new(
                Kind::Range,
                format!("pitch `{name}{octave}` is out of range, expected MIDI number 0 to 127"),
            )
            .with_help("the lowest pitch is C-1, the highest G9; a piano has A0 to C8")),
        }
    }

    /// The pitch with this MIDI number under this name; `None` where the name is of another key or the number is over 127.
    pub fn from_midi(midi: u8, name: NoteName) -> Option<Self> {
        (midi <= Self::HIGHEST_MIDI && midi % 12 == name.pitch_class().get()).then_some(Self { midi, name })
    }

    /// The name.
    pub const fn name(self) -> NoteName {
        self.name
    }

    /// The letter of the name.
    pub const fn letter(self) -> Letter {
        self.name.letter()
    }

    /// The accidental of the name.
    pub const fn accidental(self) -> Accidental {
        self.name.accidental()
    }

    /// The octave of the letter: 4 from middle C up; about `-1..=9`.
    pub const fn octave(self) -> i8 {
        let natural = self.midi as i16 - self.name.accidental().semitones() as i16;
        (natural.div_euclid(12) - 1) as i8
    }

    /// The MIDI number, `0..=127`.
    pub const fn midi(self) -> u8 {
        self.midi
    }

    /// The key of the octave.
    pub const fn pitch_class(self) -> PitchClass {
        self.name.pitch_class()
    }

    /// The pitch an interval above; `None` outside MIDI or where the name would need a third accidental.
    pub fn checked_add(self, interval: Interval) -> Option<Self> {
        let midi = i16::from(self.midi) + i16::from(interval.semitones());
        Self::from_midi(u8::try_from(midi).ok()?, self.name.checked_add(interval)?)
    }

    /// The same name so many octaves up (negative: down); `None` outside MIDI.
    pub fn shift_octaves(self, octaves: i8) -> Option<Self> {
        let midi = i16::from(self.midi) + 12 * i16::from(octaves);
        Self::from_midi(u8::try_from(midi).ok()?, self.name)
    }

    /// The same key under another name; `None` where the name is of another key.
    pub fn renamed(self, name: NoteName) -> Option<Self> {
        Self::from_midi(self.midi, name)
    }
}

impl std::fmt::Display for Pitch {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}{}", self.name, self.octave())
    }
}

impl std::fmt::Debug for Pitch {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        std::fmt::Display::fmt(self, f)
    }
}

impl std::str::FromStr for Pitch {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        const HELP: &str = "write a note name and an octave, such as `Eb4` (middle C is `C4`)";
        let wrong = |from: usize, message: String| {
            Error::new(Kind::Pitch, message)
                .with_excerpt(Excerpt::of_line(text, from, usize::MAX))
                .with_help(HELP)
        };
        let (name, taken) = NoteName::read_prefix(text)
            .ok_or_else(|| wrong(0, format!("`{}` is not a pitch", shown(text))))?;
        let octave = text.get(taken..).unwrap_or_default();
        let column = text.get(..taken).map_or(0, |t| t.chars().count());
        if octave.is_empty() {
            return Err(wrong(0, format!("`{}` has no octave", shown(text))));
        }
        match octave.parse::<i8>() {
            Ok(number) if !octave.starts_with('+') => Self::new(name, number),
            _ => Err(wrong(column, format!("`{}` is not an octave", shown(octave)))),
        }
    }
}

/// The pitch written so: a short door for tests and literals.
///
/// # Panics
///
/// Panics when parsing the text would return an error.
#[expect(clippy::unwrap_used, reason = "a short door for literals, documented to panic")]
pub fn pitch(text: &str) -> Pitch {
    text.parse().unwrap()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_pitches_roundtrip() {
        let mut count = 0;
        for name in NoteName::all() {
            for midi in 0..=Pitch::HIGHEST_MIDI {
                let Some(p) = Pitch::from_midi(midi, name) else { continue };
                assert_eq!(Pitch::new(name, p.octave()).unwrap(), p);
                assert_eq!(p.to_string().parse::<Pitch>().unwrap(), p);
                count += 1;
            }
        }
        // 35 names over 10 or 11 octaves each.
        assert_eq!(
            count,
            (0..=127u8)
                .map(|m| NoteName::all().filter(|n| n.pitch_class().get() == m % 12).count())
                .sum::<usize>()
        );
    }

    #[test]
    fn ok_the_octave_belongs_to_the_letter() {
        assert_eq!((pitch("Cb4").midi(), pitch("B#3").midi(), pitch("C4").midi()), (59, 60, 60));
    }

    #[test]
    fn err_pitches() {
        for text in ["", "C", "H4", "C44", "C-2", "Abb9x", "c4", "C4 ", "C+4", "A9"] {
            assert!(text.parse::<Pitch>().is_err(), "{text}");
        }
    }
}
