//! `spacing`: how far apart voices lie.

use super::{Division, RuleKind};
use crate::rules::format::{Faults, Fields, Holds, Key, Way, names};
use crate::rules::judge::{Frame, Place, Sound};

#[derive(Clone, Copy, Debug, PartialEq)]
enum Between {
    Hands,
    Top,
    Right,
    Left,
}

const BETWEEN: [(&str, Between); 4] =
    [("hands", Between::Hands), ("top", Between::Top), ("right", Between::Right), ("left", Between::Left)];
const BETWEEN_NAMES: [&str; 4] = names(&BETWEEN);

const WHERE: Key = Key::new(
    "between",
    Holds::Word(&BETWEEN_NAMES),
    "which voices: the left hand's highest and the right hand's lowest (`hands`), the two highest (`top`), or neighbours in \
     one hand",
);
const AT_LEAST: Key = Key::new("at-least", Holds::Number(0, 48), "the least distance, in semitones");
const AT_MOST: Key = Key::new("at-most", Holds::Number(0, 48), "the largest distance, in semitones");

#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::rules) struct Spacing {
    between: Between,
    at_least: i32,
    at_most: i32,
}

impl RuleKind for Spacing {
    const NAME: &'static str = "spacing";
    const DOC: &'static str = "how far apart voices lie";
    const WAYS: &'static [Way] = &[
        Way {
            needs: &[WHERE, AT_MOST],
            may: &[AT_LEAST],
            fires: "once for each semitone too far (or too near)",
            example: "between = \"hands\"\nat-most = 12\ncost = 1",
        },
        Way {
            needs: &[WHERE, AT_LEAST],
            may: &[AT_MOST],
            fires: "once for each semitone too near (or too far)",
            example: "between = \"top\"\nat-least = 3\ncost = 4",
        },
    ];

    fn read(_: usize, fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        let between = fields.word(&WHERE, &BETWEEN, faults);
        let (least, most) = (fields.number(&AT_LEAST, faults), fields.number(&AT_MOST, faults));
        if let (Some(least), Some(most)) = (least, most)
            && least > most
        {
            faults.add(
                fields.span_of(&AT_LEAST),
                "`at-least` is larger than `at-most`",
                "no distance is both; exchange the two",
            );
        }
        Some(Self { between: between?, at_least: least.unwrap_or(0), at_most: most.unwrap_or(127) })
    }

    fn bake(&self, _: &Frame, tests: &mut Vec<super::Test>) {
        tests.push(super::Test::Spacing(*self));
    }
}

impl Spacing {
    pub(super) fn division(self) -> Division {
        match self.between {
            Between::Hands => Division::Gap,
            Between::Top => Division::Top,
            Between::Right => Division::Right,
            Between::Left => Division::Left,
        }
    }

    pub(super) fn can_fire(&self) -> bool {
        self.at_least > 1 || self.at_most < 127
    }

    /// The gap that it is about; `None` for neighbours in a hand.
    pub(in crate::rules) fn place(self) -> Option<Place> {
        match self.between {
            Between::Hands => Some(Place::GapBetweenHands),
            Between::Top => Some(Place::GapOnTop),
            Between::Right | Between::Left => None,
        }
    }

    /// By how many semitones a distance is too near or too far; 0 or less where it is neither.
    pub(in crate::rules) fn off(self, distance: u8) -> i32 {
        (self.at_least - i32::from(distance)).max(i32::from(distance) - self.at_most)
    }

    pub(in crate::rules) fn run(self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        let mut measure = |low: u8, high: u8| {
            let off = self.off(high - low);
            if off > 0 {
                fire(off, 1 << (low % 12) | 1 << (high % 12));
            }
        };
        let keys = match self.between {
            Between::Hands => match (sound.left(), sound.right()) {
                ([.., low], [high, ..]) => return measure(*low, *high),
                _ => return,
            },
            Between::Top => match sound.keys() {
                [.., low, high] => return measure(*low, *high),
                _ => return,
            },
            Between::Right => sound.right(),
            Between::Left => sound.left(),
        };
        keys.iter().zip(keys.iter().skip(1)).for_each(|(low, high)| measure(*low, *high));
    }
}
