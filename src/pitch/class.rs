//! Pitch classes: the twelve keys of the octave, circular by construction.

use crate::error::{Error, Kind, Result};

/// One of the twelve pitch classes, C = 0, counted in semitones around the circle.
///
/// # Example
///
/// ```
/// use overshell::pitch::PitchClass;
/// let a = PitchClass::new(9)?;
/// assert_eq!(a.up(5).get(), 2);
/// assert_eq!(a.semitones_up_to(PitchClass::constant(0)), 3);
/// assert!(PitchClass::new(12).unwrap_err().is_range());
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash)]
pub struct PitchClass(u8);

impl PitchClass {
    /// All twelve, from C.
    pub const ALL: [Self; 12] = {
        let mut all = [Self(0); 12];
        let mut value = 0;
        while value < 12 {
            #[expect(clippy::indexing_slicing, reason = "value < 12, and a const fault is a compile error")]
            {
                all[value as usize] = Self(value);
            }
            value += 1;
        }
        all
    };

    /// The pitch class with this number.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`] unless `value` is `0..=11`.
    pub fn new(value: u8) -> Result<Self> {
        if value < 12 {
            Ok(Self(value))
        } else {
            Err(Error::new(Kind::Range, format!("pitch class {value} is out of range, expected 0 to 11")))
        }
    }

    /// The pitch class with this number, for literals.
    ///
    /// # Panics
    ///
    /// Panics when [`PitchClass::new`] would return an error; in a `const` that is a compile error.
    pub const fn constant(value: u8) -> Self {
        assert!(value < 12, "a pitch class is 0 to 11");
        Self(value)
    }

    /// The pitch class any number of semitones above (or below) C.
    pub const fn wrapping(semitones: i32) -> Self {
        Self(semitones.rem_euclid(12) as u8)
    }

    /// Its number, `0..=11`.
    pub const fn get(self) -> u8 {
        self.0
    }

    /// The pitch class so many semitones up, around the circle; negative goes down.
    #[must_use]
    pub const fn up(self, semitones: i32) -> Self {
        Self::wrapping(self.0 as i32 + semitones % 12)
    }

    /// How many semitones up from here to `other`, `0..=11`.
    pub const fn semitones_up_to(self, other: Self) -> u8 {
        (other.0 + 12 - self.0) % 12
    }
}

impl std::fmt::Display for PitchClass {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.0)
    }
}

impl std::str::FromStr for PitchClass {
    type Err = Error;

    /// Reads a number `0` to `11`, or a note name.
    fn from_str(text: &str) -> Result<Self> {
        match text.parse::<u8>() {
            Ok(value) => Self::new(value),
            Err(_) => Ok(text.parse::<super::NoteName>()?.pitch_class()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_pitch_classes_are_circular() {
        for a in PitchClass::ALL {
            for b in PitchClass::ALL {
                assert_eq!(a.up(i32::from(a.semitones_up_to(b))), b);
            }
            assert_eq!(a.up(i32::MAX).up(i32::MIN).up(1), a.up(0));
            assert_eq!(a.to_string().parse::<PitchClass>().unwrap(), a);
        }
    }
}
