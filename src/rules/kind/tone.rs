//! `tone`: what one degree is over a chord. Fires once for each of its degrees that sounds.
//!
//! ```toml
//! kind = "tone"
//! degrees = ["9", "13"]   # or: against-symbol = true
//! colour = 10
//! ```
//!
//! `against-symbol` stands for every degree that contradicts the written symbol: a natural ninth over `C7(b9)`.

use super::Test;
use crate::chord::{Degree, DegreeSet};
use crate::rules::fields::{Faults, Fields};
use crate::rules::judge::Frame;

#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) enum Tone {
    Degrees(DegreeSet),
    AgainstSymbol,
}

impl Tone {
    pub(super) fn read(fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        let against = fields.flag("against-symbol", faults);
        let degrees = fields.list::<Degree>("degrees", faults);
        match (against, degrees) {
            (true, None) => Some(Self::AgainstSymbol),
            (false, Some(degrees)) => Some(Self::Degrees(degrees.into_iter().collect())),
            _ => {
                faults.add(
                    fields.span(),
                    "a `tone` rule needs either `degrees` or `against-symbol`",
                    "write `degrees = [\"9\", \"13\"]`, or `against-symbol = true`",
                );
                None
            }
        }
    }

    pub(super) fn bake(&self, frame: &Frame, tests: &mut Vec<Test>) {
        for degree in frame.degrees() {
            let applies = match self {
                Self::Degrees(degrees) => degrees.contains(degree),
                Self::AgainstSymbol => contradicts(degree, frame.chord.tones()),
            };
            if let (true, Some(class)) = (applies, frame.class_of(degree)) {
                tests.push(Test::Present(class));
            }
        }
    }
}

/// Whether a degree that is not written contradicts one that is: the same number, altered otherwise. Raised and
/// lowered ninths go together.
fn contradicts(degree: Degree, written: DegreeSet) -> bool {
    let both_altered = |other: Degree| degree.alteration() != 0 && other.alteration() != 0;
    !written.contains(degree)
        && matches!(degree.number(), 5 | 9 | 11 | 13)
        && written.iter().any(|other| {
            other.number() == degree.number()
                && other != degree
                && !(degree.number() == 9 && both_altered(other))
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::chord;

    #[test]
    fn ok_contradictions() {
        let found = |symbol: &str| {
            let written = chord(symbol).tones();
            Degree::ALL.into_iter().filter(|d| contradicts(*d, written)).collect::<DegreeSet>().to_string()
        };
        assert_eq!(found("C7"), "b5 #5");
        assert_eq!(found("C7(b9)"), "9 b5 #5");
        assert_eq!(found("C13(#11)"), "b9 #9 11 b5 #5 b13");
        assert_eq!(found("C7#5"), "b5 5");
    }
}
