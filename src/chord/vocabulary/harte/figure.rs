//! Degrees as the syntax writes them.

use crate::chord::Degree;

/// Accidentals and a number: `b7`, `##4`. More of them than there are [`Degree`]s.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd)]
pub(super) struct Figure {
    /// From 1 to 13.
    pub(super) number: u8,
    /// Semitones against the major or perfect interval of that number.
    pub(super) alteration: i8,
}

impl Figure {
    pub(super) const ROOT: Self = Self { number: 1, alteration: 0 };
    pub(super) const ELEVENTH: Self = Self { number: 11, alteration: 0 };

    /// The figure of a degree. All degrees have one of their own.
    pub(super) const fn of(degree: Degree) -> Self {
        Self { number: degree.number(), alteration: degree.alteration() }
    }

    /// The figure that leads from one place on the line of fifths to another, within the octave.
    pub(super) fn between(from: i8, to: i8) -> Self {
        let fifths = to - from;
        let of_number = |number| natural(number).fifths();
        let number = (1..=7).find(|number| (fifths - of_number(*number)) % 7 == 0).unwrap_or(1);
        Self { number, alteration: (fifths - of_number(number)) / 7 }
    }

    /// Places up the line of fifths.
    pub(super) fn fifths(self) -> i16 {
        i16::from(natural(self.number).fifths()) + 7 * i16::from(self.alteration)
    }

    /// Semitones within the octave, `0..=11`.
    pub(super) fn semitones(self) -> u8 {
        let semitones = i16::from(natural(self.number).semitones()) + i16::from(self.alteration);
        semitones.rem_euclid(12) as u8
    }

    /// The degree of that name, or the one that stands on the same key.
    pub(super) fn degree(self) -> Degree {
        // An octave and the chord tones above it are the same degrees.
        let number = if matches!(self.number, 8 | 10 | 12) { self.number - 7 } else { self.number };
        Degree::from_number(number, self.alteration)
            .or_else(|| Degree::DEFAULTS.get(usize::from(self.semitones())).copied())
            .unwrap_or(Degree::Root)
    }
}

/// The unaltered degree of a number, within the octave.
fn natural(number: u8) -> Degree {
    Degree::from_number(number.saturating_sub(1) % 7 + 1, 0).unwrap_or(Degree::Root)
}

impl std::fmt::Display for Figure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let sign = if self.alteration < 0 { "b" } else { "#" };
        write!(f, "{}{}", sign.repeat(usize::from(self.alteration.unsigned_abs())), self.number)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pitch::NoteName;

    #[test]
    fn all_degrees_have_their_own_figure() {
        for degree in Degree::ALL {
            let figure = Figure::of(degree);
            assert_eq!(figure.degree(), degree);
            assert_eq!(figure.semitones(), degree.semitones());
            assert_eq!(figure.fifths(), i16::from(degree.fifths()));
        }
    }

    #[test]
    fn all_figures_keep_their_key() {
        for number in 1..=13 {
            for alteration in -64..=63 {
                let figure = Figure { number, alteration };
                assert_eq!(figure.degree().semitones(), figure.semitones(), "{figure}");
            }
        }
    }

    #[test]
    fn all_names_are_some_figure_apart() {
        for from in NoteName::all() {
            for to in NoteName::all() {
                let figure = Figure::between(from.fifths(), to.fifths());
                assert_eq!(i16::from(from.fifths()) + figure.fifths(), i16::from(to.fifths()), "{from} {to}");
            }
        }
    }

    #[test]
    fn ok_spellings() {
        for (number, alteration, text) in [(7, -1, "b7"), (7, -2, "bb7"), (9, 1, "#9"), (5, 0, "5")] {
            assert_eq!(Figure { number, alteration }.to_string(), text);
        }
    }
}
