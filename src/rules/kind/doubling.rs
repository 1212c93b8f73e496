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
        tests.extend(classes.map(|class| super::Test::Doubling(Test { class })));
    }
}

/// A pitch class.
#[derive(Clone, Copy, Debug)]
pub(in crate::rules) struct Test {
    class: u8,
}

impl Test {
    pub(super) fn classes(&self) -> u16 {
        1 << self.class
    }

    #[inline]
    pub(super) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        let mask = KEYS_OF_CLASS.get(usize::from(self.class)).copied().unwrap_or_default();
        let voices = (sound.bits & mask).count_ones() as i32;
        if voices > 1 {
            fire(voices - 1, self.classes());
        }
    }
}
