//! `function`: the tensions that suit what a dominant does. Fires once for each tension that sounds, is not among
//! them, and is not written in the symbol.
//!
//! ```toml
//! kind = "function"
//! functions = ["V7/iii", "V7/vi"]
//! tensions = ["b9", "#9", "b13"]
//! cost = 6
//! ```

use super::Test;
use crate::chord::{Degree, DegreeSet};
use crate::rules::fields::{Faults, Fields};
use crate::rules::judge::Frame;

#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) struct Function {
    tensions: DegreeSet,
}

impl Function {
    pub(super) fn read(fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        if !fields.has("functions") {
            faults.add(
                fields.span(),
                "a `function` rule needs `functions`",
                "write what the dominant does, such as `functions = [\"V7/ii\"]`",
            );
        }
        let tensions = fields.list::<Degree>("tensions", faults);
        if tensions.is_none() {
            faults.add(
                fields.span(),
                "a `function` rule needs `tensions`",
                "write those that suit, such as `tensions = [\"9\", \"13\"]`",
            );
        }
        Some(Self { tensions: tensions?.into_iter().collect() })
    }

    pub(super) fn bake(&self, frame: &Frame, tests: &mut Vec<Test>) {
        let written = frame.chord.tones();
        for degree in frame.degrees().filter(|d| d.is_tension()) {
            if let (false, false, Some(class)) =
                (self.tensions.contains(degree), written.contains(degree), frame.class_of(degree))
            {
                tests.push(Test::Present(class));
            }
        }
    }
}
