//! `pair`: two degrees that sound together, the one anywhere below the other.
//!
//! ```toml
//! kind = "pair"
//! lower = "3"
//! upper = "11"
//! either-way = true     # also the other way round; absent: only with `lower` below
//! effect = "clash"
//! ```

use crate::chord::Degree;
use crate::rules::fields::{Faults, Fields};
use crate::rules::judge::Frame;
use crate::rules::sound::{KEYS_OF_CLASS, Sound};

#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) struct Pair {
    lower: Degree,
    upper: Degree,
    either_way: bool,
}

impl Pair {
    pub(super) fn read(fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        for key in ["lower", "upper"] {
            if !fields.has(key) {
                faults.add(
                    fields.span(),
                    format!("a `pair` rule needs `{key}`"),
                    format!("write `{key} = \"3\"`"),
                );
            }
        }
        let (lower, upper) = (fields.parsed("lower", faults), fields.parsed("upper", faults));
        let either_way = fields.flag("either-way", faults);
        Some(Self { lower: lower?, upper: upper?, either_way })
    }

    pub(super) fn bake(&self, frame: &Frame, tests: &mut Vec<super::Test>) {
        if let (Some(lower), Some(upper)) = (frame.class_of(self.lower), frame.class_of(self.upper)) {
            tests.push(super::Test::Pair(Test { lower, upper, either_way: self.either_way }));
        }
    }
}

/// Two pitch classes.
#[derive(Clone, Copy, Debug)]
pub(in crate::rules) struct Test {
    lower: u8,
    upper: u8,
    either_way: bool,
}

impl Test {
    pub(in crate::rules) fn classes(&self) -> u16 {
        1 << self.lower | 1 << self.upper
    }

    #[inline]
    pub(in crate::rules) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        let mask = |class: u8| KEYS_OF_CLASS.get(usize::from(class)).copied().unwrap_or_default();
        let (lower, upper) = (sound.bits & mask(self.lower), sound.bits & mask(self.upper));
        if lower == 0 || upper == 0 {
            return;
        }
        if self.either_way || lower.trailing_zeros() < 127 - upper.leading_zeros() {
            fire(1, self.classes());
        }
    }
}
