//! `pair`: two degrees that sound together, the one anywhere below the other.

use super::RuleKind;
use crate::chord::Degree;
use crate::rules::format::{Faults, Fields, Holds, Key, Way};
use crate::rules::judge::{Frame, Sound};

const LOWER: Key = Key::new("lower", Holds::Degree, "the degree below");
const UPPER: Key = Key::new("upper", Holds::Degree, "the degree above");
const EITHER_WAY: Key = Key::new("either-way", Holds::Flag, "`true`: whichever of the two lies below");

#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) struct Pair {
    lower: Degree,
    upper: Degree,
    either_way: bool,
}

impl RuleKind for Pair {
    const NAME: &'static str = "pair";
    const DOC: &'static str = "two degrees, the one below the other";
    const WAYS: &'static [Way] = &[Way {
        needs: &[LOWER, UPPER],
        may: &[EITHER_WAY],
        fires: "once, where the one sounds anywhere below the other",
        example: "lower = \"3\"\nupper = \"11\"\neffect = \"clash\"",
    }];

    fn read(_: usize, fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        let (lower, upper) =
            (fields.parsed::<Degree>(&LOWER, faults), fields.parsed::<Degree>(&UPPER, faults));
        if lower.is_some() && lower == upper {
            faults.add(
                fields.span_of(&UPPER),
                "`lower` and `upper` are the same degree",
                "write a `doubling` rule for a degree in two octaves",
            );
        }
        let either_way = fields.flag(&EITHER_WAY, faults).unwrap_or(false);
        Some(Self { lower: lower?, upper: upper?, either_way })
    }

    fn bake(&self, frame: &Frame, tests: &mut Vec<super::Test>) {
        if let (Some(lower), Some(upper)) = (frame.class_of(self.lower), frame.class_of(self.upper)) {
            tests.push(super::Test::Pair(Test { lower, upper, either_way: self.either_way }));
        }
    }
}

/// Two pitch classes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::rules) struct Test {
    pub(in crate::rules) lower: u8,
    pub(in crate::rules) upper: u8,
    pub(in crate::rules) either_way: bool,
}

impl Test {
    /// The two, one bit each.
    pub(in crate::rules) const fn classes(&self) -> u16 {
        1 << self.lower | 1 << self.upper
    }

    /// Whether there are two voices for which both fire.
    pub(in crate::rules) fn meets(&self, other: &Self) -> bool {
        let same_way = (self.lower, self.upper) == (other.lower, other.upper);
        self.classes() == other.classes() && (same_way || self.either_way || other.either_way)
    }

    #[inline]
    pub(in crate::rules) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        let lowest = sound.keys().iter().position(|key| key % 12 == self.lower);
        let highest = sound.keys().iter().rposition(|key| key % 12 == self.upper);
        if let (Some(lowest), Some(highest)) = (lowest, highest)
            && (self.either_way || lowest < highest)
        {
            fire(1, self.classes());
        }
    }
}
