//! Intervals: a diatonic size and a quality, upwards.

use crate::error::{Error, Excerpt, Kind, Result};

/// An ascending interval: a number (3 = third, 10 = tenth) and a quality.
///
/// Written as quality and number: `P5`, `m3`, `M7`, `A4`, `d5`, `m9`, `AA1`.
///
/// # Example
///
/// ```
/// use overshell::pitch::{note, Interval};
///
/// let ninth: Interval = "A9".parse()?;
/// assert_eq!((ninth.semitones(), ninth.number()), (15, 9));
/// assert_eq!(note("C").checked_add(ninth), Some(note("D#")));
/// assert!("P3".parse::<Interval>().is_err()); // a third is major or minor
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Eq, PartialEq, Ord, PartialOrd, Hash)]
pub struct Interval {
    /// Diatonic steps up, from 0.
    steps: u8,
    /// Semitones against the major or perfect interval of that number, `-3..=2`.
    alteration: i8,
}

/// Semitones of the major or perfect interval, by steps.
const SEMITONES: [i8; 7] = [0, 2, 4, 5, 7, 9, 11];
/// Places on the line of fifths of the major or perfect interval, by steps.
const FIFTHS: [i8; 7] = [0, 2, 4, -1, 1, 3, 5];
/// Three octaves: no hand and no symbol asks for more.
const LARGEST_NUMBER: u8 = 22;

impl Interval {
    /// The perfect unison.
    pub const UNISON: Self = Self { steps: 0, alteration: 0 };
    /// The minor ninth, 13 semitones.
    pub const MINOR_NINTH: Self = Self { steps: 8, alteration: -1 };

    /// The interval with this number whose quality lies `alteration` semitones from major (or perfect).
    ///
    /// # Errors
    ///
    /// [`Error::is_range`] unless `number` is `1..=22`, and unless the alteration is `-2..=2` for unisons, fourths
    /// and fifths or `-3..=2` for the others, and the interval does not fall below the unison.
    pub fn new(number: u8, alteration: i8) -> Result<Self> {
        let interval = Self { steps: number.wrapping_sub(1), alteration };
        let lowest = if interval.is_perfect_kind() { -2 } else { -3 };
        if !(1..=LARGEST_NUMBER).contains(&number) {
            return Err(Error::new(
                Kind::Range,
                format!("interval number {number} is out of range, expected 1 to {LARGEST_NUMBER}"),
            ));
        }
        if !(lowest..=2).contains(&alteration) || interval.semitones() < 0 {
            return Err(Error::new(
                Kind::Range,
                format!("alteration {alteration} is out of range for interval number {number}"),
            ));
        }
        Ok(interval)
    }

    /// The number: 1 = unison, 8 = octave; `1..=22`.
    pub const fn number(self) -> u8 {
        self.steps + 1
    }

    /// Diatonic steps up, from 0.
    pub const fn steps(self) -> u8 {
        self.steps
    }

    /// Size in semitones.
    #[expect(clippy::indexing_slicing, reason = "an index modulo 7 into 7 entries")]
    pub const fn semitones(self) -> i8 {
        SEMITONES[(self.steps % 7) as usize] + 12 * (self.steps / 7) as i8 + self.alteration
    }

    /// Places up the line of fifths, octaves ignored.
    #[expect(clippy::indexing_slicing, reason = "an index modulo 7 into 7 entries")]
    pub const fn fifths(self) -> i8 {
        FIFTHS[(self.steps % 7) as usize] + 7 * self.alteration
    }

    const fn is_perfect_kind(self) -> bool {
        matches!(self.steps % 7, 0 | 3 | 4)
    }

    fn quality(self) -> &'static str {
        match (self.is_perfect_kind(), self.alteration) {
            (true, 0) => "P",
            (false, 0) => "M",
            (false, -1) => "m",
            (true, -1) | (false, -2) => "d",
            (true, -2) | (false, -3) => "dd",
            (_, 1) => "A",
            _ => "AA",
        }
    }
}

impl std::fmt::Display for Interval {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}{}", self.quality(), self.number())
    }
}

impl std::fmt::Debug for Interval {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        std::fmt::Display::fmt(self, f)
    }
}

impl std::str::FromStr for Interval {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        let wrong = || {
            Error::new(Kind::Pitch, format!("`{}` is not an interval", super::name::shown(text)))
                .with_excerpt(Excerpt::of_line(text, 0, usize::MAX))
                .with_help("write a quality (P M m A d) and a number, such as `m3`, `P5` or `m9`")
        };
        let digits = text.find(|c: char| c.is_ascii_digit()).ok_or_else(wrong)?;
        let (quality, number) = text.split_at_checked(digits).ok_or_else(wrong)?;
        let number: u8 = number.parse().map_err(|_| wrong())?;
        let steps = number.wrapping_sub(1);
        let perfect = Self { steps, alteration: 0 }.is_perfect_kind();
        let alteration = match (quality, perfect) {
            ("P", true) | ("M", false) => 0,
            ("m", false) | ("d", true) => -1,
            ("d", false) | ("dd", true) => -2,
            ("dd", false) => -3,
            ("A", _) => 1,
            ("AA", _) => 2,
            _ => return Err(wrong()),
        };
        Self::new(number, alteration)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pitch::NoteName;

    #[test]
    fn all_intervals_roundtrip_and_agree_with_the_line_of_fifths() {
        for number in 1..=LARGEST_NUMBER {
            for alteration in -3..=2 {
                let Ok(interval) = Interval::new(number, alteration) else { continue };
                assert_eq!(interval.to_string().parse::<Interval>().unwrap(), interval);
                for name in NoteName::all() {
                    let Some(above) = name.checked_add(interval) else { continue };
                    assert_eq!(above.letter(), name.letter().up(interval.steps()));
                    assert_eq!(above.pitch_class(), name.pitch_class().up(i32::from(interval.semitones())));
                }
            }
        }
    }

    /// Handbook, part 1, section 10 (computed from the line of fifths).
    #[test]
    fn ok_published_offsets() {
        for (text, fifths) in [
            ("P5", 1),
            ("M2", 2),
            ("M6", 3),
            ("M3", 4),
            ("M7", 5),
            ("A4", 6),
            ("A1", 7),
            ("A5", 8),
            ("A2", 9),
            ("A6", 10),
            ("P4", -1),
            ("m7", -2),
            ("m3", -3),
            ("m6", -4),
            ("m2", -5),
            ("d5", -6),
            ("d4", -8),
            ("d7", -9),
        ] {
            assert_eq!(text.parse::<Interval>().unwrap().fifths(), fifths, "{text}");
        }
    }

    #[test]
    fn err_intervals() {
        for text in ["", "5", "P", "P3", "M5", "m0", "P300", "P23", "d1", "Ä4", "ddd5"] {
            assert!(text.parse::<Interval>().is_err(), "{text}");
        }
    }
}
