//! `needs`: something that must sound. Fires where it is missing.
//!
//! ```toml
//! kind = "needs"
//! one-of = ["3"]        # one of these degrees, as far as the chord has them; or: written = true, or: bass = true
//! cost = 60
//! ```
//!
//! `written` stands for each tension of the symbol (fires once for each that is missing), `bass` for the written bass
//! in the lowest voice.

use super::Test;
use crate::chord::Degree;
use crate::rules::fields::{Faults, Fields};
use crate::rules::judge::Frame;

#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) enum Needs {
    OneOf(Vec<Degree>),
    Written,
    Bass,
}

impl Needs {
    pub(super) fn read(fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        let one_of = fields.list("one-of", faults);
        let written = fields.flag("written", faults);
        let bass = fields.flag("bass", faults);
        match (one_of, written, bass) {
            (Some(degrees), false, false) => Some(Self::OneOf(degrees)),
            (None, true, false) => Some(Self::Written),
            (None, false, true) => Some(Self::Bass),
            _ => {
                faults.add(
                    fields.span(),
                    "a `needs` rule needs one of `one-of`, `written` and `bass`",
                    "write `one-of = [\"3\"]`, `written = true` or `bass = true`",
                );
                None
            }
        }
    }

    pub(super) fn bake(&self, frame: &Frame, tests: &mut Vec<Test>) {
        match self {
            Self::OneOf(degrees) => {
                let own = frame.chord.tones();
                let classes = degrees.iter().filter(|d| own.contains(**d)).filter_map(|d| frame.class_of(*d));
                let mask = classes.fold(0u16, |mask, class| mask | 1 << class);
                if mask != 0 {
                    tests.push(Test::Absent(mask));
                }
            }
            Self::Written => {
                let classes = frame.chord.tensions().iter().filter_map(|d| frame.class_of(d));
                tests.extend(classes.map(|class| Test::Absent(1 << class)));
            }
            Self::Bass => {
                tests.extend(frame.chord.bass().map(|bass| Test::OtherBass(bass.pitch_class().get())));
            }
        }
    }
}
