//! `M:`, `L:` and `Q:` — metre, unit of length, tempo.

use crate::sheet::Metre;
use crate::sheet::draft::Ratio;

/// What an `M:` says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum MetreField {
    /// A metre.
    Is(Metre),
    /// `none` or nothing: free.
    Free,
}

/// Reads the value of an `M:` (ABC 2.1, section 3.1.6): `3/4`, `C`, `C|`, `none`, `(2+3+2)/8`.
pub(super) fn metre(text: &str) -> Option<MetreField> {
    let is = |beats, unit| Some(MetreField::Is(Metre { beats, unit }));
    match text.trim() {
        "" => return Some(MetreField::Free),
        "C" => return is(4, 4),
        "C|" => return is(2, 2),
        word if word.eq_ignore_ascii_case("none") => return Some(MetreField::Free),
        _ => {}
    }
    let (beats, unit) = text.split_once('/')?;
    let unit: u8 = unit.trim().parse().ok().filter(|unit| [1, 2, 4, 8, 16, 32].contains(unit))?;
    let beats = beats.trim();
    let beats = beats.strip_prefix('(').and_then(|beats| beats.strip_suffix(')')).unwrap_or(beats);
    let sum = beats.split('+').try_fold(0u8, |sum, beats| sum.checked_add(beats.trim().parse().ok()?))?;
    is(sum, unit).filter(|_| sum > 0)
}

/// The unit of length of a tune that gives none (section 3.1.7): a sixteenth where the metre is less than 3/4 of a whole
/// note, an eighth otherwise.
pub(super) fn usual_unit(metre: MetreField) -> Ratio {
    let is_short = match metre {
        MetreField::Is(metre) => 4 * u32::from(metre.beats) < 3 * u32::from(metre.unit),
        MetreField::Free => false,
    };
    Ratio::new(1, if is_short { 16 } else { 8 }).unwrap_or(Ratio::ONE)
}

/// Reads the value of an `L:` (section 3.1.7): `1/8`, `1`.
pub(super) fn unit(text: &str) -> Option<Ratio> {
    let (over, under) = text.trim().split_once('/').unwrap_or((text.trim(), "1"));
    let (over, under): (u16, u16) = (over.trim().parse().ok()?, under.trim().parse().ok()?);
    Ratio::new(over.into(), under.into()).filter(|unit| *unit != Ratio::ZERO)
}

/// What a `Q:` says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum TempoField {
    /// Quarters a minute, rounded.
    Is(u16),
    /// Words only.
    Words,
}

/// Reads the value of a `Q:` (section 3.1.8): `1/4=120`, several lengths that add up, words in quotes around it; also the old
/// `120` and `C=120`, beats of the unit of length.
pub(super) fn tempo(text: &str, unit: Ratio) -> Option<TempoField> {
    // Every second part is between quotes.
    let words = text.contains('"');
    let outside = itertools::join(text.split('"').step_by(2), " ");
    let outside = outside.trim();
    if outside.is_empty() {
        return words.then_some(TempoField::Words);
    }
    let (lengths, number) = outside.split_once('=').unwrap_or(("C", outside));
    let number: u16 = number.trim().parse().ok()?;
    let mut sum = Ratio::ZERO;
    for length in lengths.split_whitespace() {
        let length = match length.strip_prefix('C') {
            Some(count) => unit.times(Ratio::read_length(count)?)?,
            None => self::unit(length)?,
        };
        sum = sum.plus(length)?;
    }
    let (over, under) = (sum.over().checked_mul(4 * u64::from(number))?, sum.under());
    let quarters = (over + under / 2) / under;
    u16::try_from(quarters).ok().filter(|tempo| (1..=1000).contains(tempo)).map(TempoField::Is)
}

/// So many notes of a tuplet in the time of so many (section 4.13), where only the first number is given.
pub(super) fn usual_time(notes: u8, metre: MetreField) -> Option<u8> {
    let is_compound = matches!(metre, MetreField::Is(metre) if metre.beats > 3 && metre.beats % 3 == 0);
    Some(match notes {
        2 | 4 | 8 => 3,
        3 | 6 => 2,
        5 | 7 | 9 => {
            if is_compound {
                3
            } else {
                2
            }
        }
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn is(beats: u8, unit: u8) -> MetreField {
        MetreField::Is(Metre { beats, unit })
    }

    #[test]
    fn ok_metres() {
        for (text, expected) in [
            ("3/4", is(3, 4)),
            (" 6 / 8 ", is(6, 8)),
            ("C", is(4, 4)),
            ("C|", is(2, 2)),
            ("(2+3+2)/8", is(7, 8)),
            ("2+3/8", is(5, 8)),
            ("none", MetreField::Free),
            ("", MetreField::Free),
        ] {
            assert_eq!(metre(text), Some(expected), "{text}");
        }
        for text in ["3", "3/0", "0/4", "3/5", "x/4", "200+200/4", "(3/4", "3/4/4"] {
            assert_eq!(metre(text), None, "{text}");
        }
    }

    /// ABC 2.1, section 3.1.7: 2/4 is 0.5, so a sixteenth; 3/4 is 0.75, so an eighth.
    #[test]
    fn ok_usual_units() {
        for (text, under) in [
            ("2/4", 16),
            ("3/4", 8),
            ("6/8", 8),
            ("4/4", 8),
            ("C", 8),
            ("C|", 8),
            ("none", 8),
            ("3/8", 16),
            ("9/16", 16),
        ] {
            assert_eq!(usual_unit(metre(text).unwrap()), Ratio::new(1, under).unwrap(), "{text}");
        }
    }

    /// ABC 2.1, section 3.1.8.
    #[test]
    fn ok_tempos() {
        let eighth = Ratio::new(1, 8).unwrap();
        for (text, quarters) in [
            ("1/4=120", 120),
            ("1/2=120", 240),
            ("3/8=50", 75),
            ("1/4 3/8 1/4 3/8=40", 200),
            ("\"Allegro\" 1/4=120", 120),
            ("3/8=50 \"Slowly\"", 75),
            ("120", 60),
            ("C=120", 60),
            ("C3=40", 60),
        ] {
            assert_eq!(tempo(text, eighth), Some(TempoField::Is(quarters)), "{text}");
        }
        assert_eq!(tempo("\"Andante\"", eighth), Some(TempoField::Words));
        for text in ["", "fast", "1/4=", "1/0=120", "1/4=0", "1/4=9999", "=120", "1/4=x"] {
            assert_eq!(tempo(text, eighth), None, "{text}");
        }
    }

    /// ABC 2.1, section 4.13.
    #[test]
    fn ok_tuplets() {
        for (notes, simple, compound) in
            [(2, 3, 3), (3, 2, 2), (4, 3, 3), (5, 2, 3), (6, 2, 2), (7, 2, 3), (8, 3, 3), (9, 2, 3)]
        {
            assert_eq!(usual_time(notes, is(4, 4)), Some(simple));
            assert_eq!(usual_time(notes, is(3, 8)), Some(simple));
            assert_eq!(usual_time(notes, MetreField::Free), Some(simple));
            for compound_metre in [is(6, 8), is(9, 8), is(12, 8)] {
                assert_eq!(usual_time(notes, compound_metre), Some(compound));
            }
        }
        assert_eq!((usual_time(1, is(4, 4)), usual_time(10, is(4, 4))), (None, None));
    }
}
