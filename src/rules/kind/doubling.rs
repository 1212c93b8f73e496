//! `doubling`: a degree that sounds in more than one octave.

use super::{Division, RuleKind};
use crate::chord::Degree;
use crate::rules::format::{Faults, Fields, Holds, Key, Way, names};
use crate::rules::judge::{Frame, Sound};

/// Where the octaves lie.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Within {
    Any,
    Left,
    Right,
    Hands,
}

const WITHIN: [(&str, Within); 4] =
    [("any", Within::Any), ("left", Within::Left), ("right", Within::Right), ("hands", Within::Hands)];
const WITHIN_NAMES: [&str; 4] = names(&WITHIN);

const DEGREES: Key = Key::new("degrees", Holds::Degrees, "the degrees in question");
const LOWEST: Key = Key::new("bass", Holds::Flag, "`true`: whatever degree lies lowest");
const BETWEEN: Key = Key::new(
    "between",
    Holds::Word(&WITHIN_NAMES),
    "which voices are counted: `any` (the default), those of one hand, or, with `hands`, once where both hands have it",
);

#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) struct Doubling {
    /// `None`: the lowest voice.
    degrees: Option<Vec<Degree>>,
    within: Within,
}

impl RuleKind for Doubling {
    const NAME: &'static str = "doubling";
    const DOC: &'static str = "a degree in more than one octave";
    const WAYS: &'static [Way] = &[
        Way {
            needs: &[DEGREES],
            may: &[BETWEEN],
            fires: "once for each voice beyond the first that has such a degree",
            example: "degrees = [\"3\", \"b7\"]\ncost = 4",
        },
        Way {
            needs: &[LOWEST],
            may: &[BETWEEN],
            fires: "once for each voice beyond the first that has the degree of the lowest",
            example: "bass = true\nbetween = \"hands\"\ncolour = 1",
        },
    ];

    fn read(way: usize, fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        let within = fields.word(&BETWEEN, &WITHIN, faults).unwrap_or(Within::Any);
        if way == 0 {
            return Some(Self { degrees: Some(fields.list(&DEGREES, faults)?), within });
        }
        fields.only_true(&LOWEST, faults)?;
        Some(Self { degrees: None, within })
    }

    fn bake(&self, frame: &Frame, tests: &mut Vec<super::Test>) {
        let classes = match &self.degrees {
            Some(degrees) => frame.classes_of(degrees.iter().copied().collect()),
            None => ALL,
        };
        if classes != 0 {
            let test = Test { classes, bass: self.degrees.is_none(), within: self.within };
            tests.push(super::Test::Doubling(test));
        }
    }
}

/// All pitch classes.
const ALL: u16 = 0xFFF;

/// Pitch classes, one bit each.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::rules) struct Test {
    classes: u16,
    bass: bool,
    within: Within,
}

impl Test {
    pub(super) fn division(&self) -> Division {
        match self.within {
            _ if self.bass => Division::Whole,
            Within::Any => Division::Doubled(self.classes),
            Within::Left => Division::Left,
            Within::Right => Division::Right,
            Within::Hands => Division::Doubled(self.classes),
        }
    }

    /// Whether one of these pitch classes is among its own.
    pub(in crate::rules) fn looks_at(&self, classes: u16) -> bool {
        self.classes & classes != 0
    }

    /// The pitch classes, where it counts the voices of both hands.
    pub(in crate::rules) fn anywhere(&self) -> Option<u16> {
        (!self.bass && self.within == Within::Any).then_some(self.classes)
    }

    #[inline]
    pub(in crate::rules) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        let mut doubled = sound.doubled & self.classes;
        if self.bass {
            doubled &= sound.keys().first().map_or(0, |key| 1 << (key % 12));
        }
        while doubled != 0 {
            let class = doubled.trailing_zeros();
            doubled &= doubled - 1;
            let count = |keys: &[u8]| keys.iter().filter(|key| u32::from(**key % 12) == class).count() as i32;
            let [left, right] = [count(sound.left()), count(sound.right())];
            let times = match self.within {
                Within::Any => left + right - 1,
                Within::Left => left - 1,
                Within::Right => right - 1,
                Within::Hands => i32::from(left > 0 && right > 0),
            };
            if times > 0 {
                fire(times, 1 << class);
            }
        }
    }
}
