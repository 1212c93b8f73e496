//! Low interval limits: where an interval gets muddy.

use super::named::text_by_name;

/// A table of the lowest bottom note of each interval. Guidelines, not absolutes: tables differ by up to an octave.
///
/// Lowell & Pullig, *Arranging for Large Jazz Ensemble* (Berklee Press 2003) print a third table; of its rows only the
/// minor third from C3 and the major third from Bb2 are confirmed, so it is not here.
///
/// # Example
///
/// ```
/// use overshell::voicing::LowLimits;
///
/// let limits: LowLimits = "arrangers".parse()?;
/// assert_eq!(limits.lowest(4), Some(47)); // a major third from B2 up
/// assert_eq!(LowLimits::Overtones.lowest(4), Some(45)); // from A2 up
/// assert_eq!(limits.lowest(12), None); // not listed
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash)]
pub enum LowLimits {
    /// "Low Interval Limit", Sweetwater inSync: minor second to major seventh. It is printed with C3 as middle C; here
    /// middle C is C4.
    Arrangers,
    /// The harmonic rule of a thread in rec.music.theory: an interval is taken as two partials of one fundamental, in
    /// the just ratio `p:q`, and the fundamental shall not lie below A0 (27.5 Hz), so that the lower note is no lower
    /// than `q` times that. The thread gives minor third to fifth and both sixths; major second (9:8) and octave (2:1)
    /// are computed by its rule.
    Overtones,
}

text_by_name!(LowLimits, "a table of low interval limits", "tables");

/// Lowest bottom keys by interval, a minor second to a major tenth.
type Rows = [Option<u8>; 16];

#[rustfmt::skip]
const ARRANGERS: Rows = [
    Some(52), Some(51), Some(48), Some(47), Some(45), Some(35), // E3 Eb3 C3 B2 A2 B1: m2 to tritone
    Some(37), Some(41), Some(41), Some(41), Some(41), None,     // C#2 F2 F2 F2 F2: P5 to M7
    None, None, None, None,
];

#[rustfmt::skip]
const OVERTONES: Rows = [
    None, Some(57), Some(49), Some(45), Some(40), None, // A3 C#3 A2 E2: M2 9:8, m3 6:5, M3 5:4, P4 4:3
    Some(33), Some(49), Some(40), None, None, Some(21), // A1 C#3 E2 A0: P5 3:2, m6 8:5, M6 5:3, octave 2:1
    None, None, None, None,
];

impl LowLimits {
    /// The tables with their names in rule files.
    pub const NAMES: [(&'static str, Self); 2] =
        [("arrangers", Self::Arrangers), ("overtones", Self::Overtones)];

    /// The lowest key (MIDI number) on which an interval of so many semitones may stand; `None` where the table lists
    /// no limit, and outside of `1..=16`, a minor second to a major tenth.
    pub const fn lowest(self, semitones: u8) -> Option<u8> {
        let rows = match self {
            Self::Arrangers => &ARRANGERS,
            Self::Overtones => &OVERTONES,
        };
        match semitones {
            #[expect(clippy::indexing_slicing, reason = "the match keeps within the rows")]
            1..=16 => rows[semitones as usize - 1],
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_names_and_everything_outside() {
        for (name, limits) in LowLimits::NAMES {
            assert_eq!(name.parse::<LowLimits>().unwrap(), limits);
            assert_eq!(limits.to_string(), name);
            let json = serde_json::to_string(&limits).unwrap();
            assert_eq!(serde_json::from_str::<LowLimits>(&json).unwrap(), limits);
            assert!((17..=255).chain([0]).all(|semitones| limits.lowest(semitones).is_none()));
        }
        insta::assert_snapshot!("overtone".parse::<LowLimits>().unwrap_err().report(), @"
        error: `overtone` is not a table of low interval limits
          overtone
          ^^^^^^^^
        help: did you mean `overtones`? the tables are `arrangers`, `overtones`
        ");
    }
}
