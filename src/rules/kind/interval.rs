//! `interval`: a distance in semitones between sounding voices, whatever their degrees.

use itertools::Itertools;

use super::{Division, RuleKind};
use crate::chord::Degree;
use crate::error::{Error, Kind};
use crate::rules::format::{Faults, Fields, Holds, Key, Way, names};
use crate::rules::judge::{Frame, Place, Sound};

#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::rules) enum Between {
    Any,
    Left,
    Right,
    Hands,
    Top,
}

const BETWEEN: [(&str, Between); 5] = [
    ("any", Between::Any),
    ("left", Between::Left),
    ("right", Between::Right),
    ("hands", Between::Hands),
    ("top", Between::Top),
];
const BETWEEN_NAMES: [&str; 5] = names(&BETWEEN);

const SEMITONES: Key = Key::new("semitones", Holds::Numbers(1, 48), "the distances");
const WHERE: Key = Key::new(
    "between",
    Holds::Word(&BETWEEN_NAMES),
    "which voices: `any` (the default), those of one hand, one of each (`hands`), or the two highest (`top`)",
);
const EXCEPT: Key =
    Key::new("except", Holds::DegreePairs, "pairs that are spared, lower and upper degree (`1 b9`)");

#[derive(Clone, Debug, PartialEq)]
pub(in crate::rules) struct Interval {
    semitones: Vec<u8>,
    between: Between,
    except: Vec<DegreePair>,
}

/// A pair of degrees written `1 b9`, the lower first.
#[derive(Clone, Copy, Debug, PartialEq)]
struct DegreePair(Degree, Degree);

impl std::str::FromStr for DegreePair {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self, Error> {
        match text.split_once(' ') {
            Some((lower, upper)) => Ok(Self(lower.parse()?, upper.trim().parse()?)),
            None => Err(Error::new(
                Kind::Rules,
                format!("`{}` is not a pair of degrees", crate::pitch::shown(text)),
            )
            .with_help("write the lower and the upper degree with a space between, such as `1 b9`")),
        }
    }
}

impl RuleKind for Interval {
    const NAME: &'static str = "interval";
    const DOC: &'static str = "a distance between voices, whatever their degrees";
    const WAYS: &'static [Way] = &[Way {
        needs: &[SEMITONES],
        may: &[WHERE, EXCEPT],
        fires: "once for each pair of voices at such a distance",
        example: "semitones = [13]\nbetween = \"any\"\nexcept = [\"1 b9\"]\ncost = 20",
    }];

    fn read(_: usize, fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        let between = fields.word(&WHERE, &BETWEEN, faults).unwrap_or(Between::Any);
        let except = fields.list(&EXCEPT, faults).unwrap_or_default();
        let semitones = fields.numbers(&SEMITONES, faults)?;
        let semitones = semitones.into_iter().filter_map(|n| u8::try_from(n).ok()).sorted().dedup().collect();
        Some(Self { semitones, between, except })
    }

    fn bake(&self, frame: &Frame, tests: &mut Vec<super::Test>) {
        let except = self
            .except
            .iter()
            .filter_map(|DegreePair(low, high)| Some((frame.class_of(*low)?, frame.class_of(*high)?)));
        tests.extend(self.semitones.iter().map(|semitones| {
            let fits = |(low, high): &(u8, u8)| (low + semitones) % 12 == *high;
            let spared = except.clone().filter(fits).fold(0, |bits, (low, _)| bits | 1 << low);
            super::Test::Interval(Test { between: self.between, semitones: *semitones, spared })
        }));
    }
}

/// A distance between some voices.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::rules) struct Test {
    between: Between,
    semitones: u8,
    /// The pitch classes that may lie lowest, one bit each.
    spared: u16,
}

impl Test {
    pub(super) fn division(self) -> Division {
        match self.between {
            Between::Any => Division::Across { within: true },
            Between::Hands => Division::Across { within: false },
            Between::Left => Division::Left,
            Between::Right => Division::Right,
            Between::Top => Division::Top,
        }
    }

    /// The key of the right hand with which it fires for this key of the left.
    pub(super) fn across(self, key: u8) -> Option<u8> {
        let upper = key.checked_add(self.semitones).filter(|upper| *upper < 128);
        upper.filter(|_| self.spared >> (key % 12) & 1 == 0)
    }

    /// How often it fires for these two keys.
    pub(super) fn joined(self, low: u8, high: u8) -> i32 {
        let spared = self.spared >> (low % 12) & 1 == 1;
        i32::from(!spared && high.saturating_sub(low) == self.semitones)
    }

    /// The gap that it is about, where it is one alone and spares none.
    pub(in crate::rules) fn place(self) -> Option<Place> {
        (self.between == Between::Top && self.spared == 0).then_some(Place::GapOnTop)
    }

    /// How often it fires for such a gap.
    pub(in crate::rules) fn times(self, gap: u8) -> i32 {
        i32::from(gap == self.semitones)
    }

    pub(in crate::rules) fn run(self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        match sound.near() {
            Some(near) => self.run_near(near, sound, &mut fire),
            None => self.run_far(sound, &mut fire),
        }
    }

    /// The same where a word holds all keys.
    #[inline]
    pub(in crate::rules) fn run_near(
        self,
        [all, left, right]: [u64; 3],
        sound: &Sound,
        fire: &mut impl FnMut(i32, u16),
    ) {
        let (lower, upper) = match self.between {
            Between::Any => (all, all),
            Between::Left => (left, left),
            Between::Right => (right, right),
            Between::Hands => (left, right),
            Between::Top => return self.run_on_top(sound, fire),
        };
        let mut found = lower & (upper >> self.semitones);
        while found != 0 {
            let lowest = sound.keys().first().copied().unwrap_or_default();
            self.fire(lowest + found.trailing_zeros() as u8, fire);
            found &= found - 1;
        }
    }

    fn run_on_top(self, sound: &Sound, fire: &mut impl FnMut(i32, u16)) {
        if let [.., low, high] = sound.keys()
            && high - low == self.semitones
        {
            self.fire(*low, fire);
        }
    }

    /// The same where no word holds all keys: one by one.
    #[inline(never)]
    pub(in crate::rules) fn run_far(self, sound: &Sound, fire: &mut impl FnMut(i32, u16)) {
        let (lower, upper) = match self.between {
            Between::Any => (sound.keys(), sound.keys()),
            Between::Left => (sound.left(), sound.left()),
            Between::Right => (sound.right(), sound.right()),
            Between::Hands => (sound.left(), sound.right()),
            Between::Top => return self.run_on_top(sound, fire),
        };
        for low in lower {
            if upper.contains(&(low + self.semitones)) {
                self.fire(*low, fire);
            }
        }
    }

    /// Fires for the lower key of a pair.
    #[inline]
    fn fire(self, low: u8, fire: &mut impl FnMut(i32, u16)) {
        let bit = 1 << (low % 12);
        if self.spared & bit == 0 {
            fire(1, bit | 1 << ((low + self.semitones) % 12));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const ALL: [Between; 5] = [Between::Any, Between::Left, Between::Right, Between::Hands, Between::Top];

    /// The definition: every pair of voices.
    fn slow(test: Test, left: &[u8], right: &[u8]) -> Vec<(i32, u16)> {
        let keys = [left, right].concat();
        let top = keys.len().saturating_sub(2);
        let mut found = Vec::new();
        for (at, low) in keys.iter().enumerate() {
            for (other, high) in keys.iter().enumerate().skip(at + 1) {
                let meant = match test.between {
                    Between::Any => true,
                    Between::Left => other < left.len(),
                    Between::Right => at >= left.len(),
                    Between::Hands => at < left.len() && other >= left.len(),
                    Between::Top => at == top,
                };
                if meant && high - low == test.semitones && test.spared >> (low % 12) & 1 == 0 {
                    found.push((1, 1 << (low % 12) | 1 << (high % 12)));
                }
            }
        }
        found
    }

    proptest! {
        /// Near and far, for every distance that a rule may name.
        #[test]
        fn prop_as_pair_by_pair(
            keys in prop_oneof![
                prop::collection::btree_set(50u8..80, 0..=10usize),
                prop::collection::btree_set(0u8..=127, 0..=10usize),
            ],
            left in 0usize..=10,
            spared in 0u16..4096,
        ) {
            let keys: Vec<u8> = keys.into_iter().collect();
            let (left, right) = keys.split_at(left.min(keys.len()));
            let sound = Sound::new(left, right);
            for between in ALL {
                for semitones in 1..=48 {
                    let test = Test { between, semitones, spared };
                    let mut found = Vec::new();
                    test.run(&sound, |times, classes| found.push((times, classes)));
                    prop_assert_eq!(found, slow(test, left, right), "{:?}", test);
                }
            }
        }
    }
}
