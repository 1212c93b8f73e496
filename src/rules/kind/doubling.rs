//! `doubling`: a degree that sounds in more than one octave. Fires once for each voice too many.
//!
//! ```toml
//! kind = "doubling"
//! degrees = ["3", "b7"]
//! cost = 4
//! ```

use crate::chord::Degree;
use crate::rules::fields::{Faults, Fields};
use crate::rules::judge::Frame;
use crate::rules::sound::{KEYS_OF_CLASS, Sound};

#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) struct Doubling {
    degrees: Vec<Degree>,
}

impl Doubling {
    pub(super) fn read(fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        let degrees = fields.list("degrees", faults);
        if degrees.is_none() {
            faults.add(fields.span(), "a `doubling` rule needs `degrees`", "write `degrees = [\"3\"]`");
        }
        Some(Self { degrees: degrees? })
    }

    pub(super) fn bake(&self, frame: &Frame, tests: &mut Vec<super::Test>) {
        let classes = self.degrees.iter().filter_map(|d| frame.class_of(*d));
        let classes = classes.fold(0, |bits, class| bits | 1 << class);
        if classes != 0 {
            tests.push(super::Test::Doubling(Test { classes }));
        }
    }
}

/// Pitch classes, one bit each.
#[derive(Clone, Copy, Debug)]
pub(in crate::rules) struct Test {
    classes: u16,
}

impl Test {
    #[inline]
    pub(super) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        let mut doubled = sound.doubled & self.classes;
        while doubled != 0 {
            let class = doubled.trailing_zeros();
            doubled &= doubled - 1;
            let keys = KEYS_OF_CLASS.get(class as usize).copied().unwrap_or_default();
            fire((sound.bits & keys).count_ones() as i32 - 1, 1 << class);
        }
    }
}
