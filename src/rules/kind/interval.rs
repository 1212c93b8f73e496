//! `interval`: a distance in semitones between sounding voices, whatever their degrees.

use smallvec::SmallVec;

use super::RuleKind;
use crate::chord::Degree;
use crate::error::{Error, Kind};
use crate::rules::format::{Faults, Fields, Holds, Key, Way, names};
use crate::rules::judge::{Frame, Sound};

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
        let semitones = semitones.into_iter().filter_map(|n| u8::try_from(n).ok()).collect();
        Some(Self { semitones, between, except })
    }

    fn bake(&self, frame: &Frame, tests: &mut Vec<super::Test>) {
        let except = self
            .except
            .iter()
            .filter_map(|DegreePair(low, high)| Some((frame.class_of(*low)?, frame.class_of(*high)?)))
            .collect();
        let test =
            Test { semitones: self.semitones.iter().copied().collect(), between: self.between, except };
        if !test.semitones.is_empty() {
            tests.push(super::Test::Interval(test));
        }
    }
}

/// Distances and spared pairs of pitch classes.
#[derive(Clone, Debug)]
pub(in crate::rules) struct Test {
    semitones: SmallVec<[u8; 4]>,
    between: Between,
    except: SmallVec<[(u8, u8); 4]>,
}

impl Test {
    #[inline]
    pub(super) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        let (lower, upper) = match self.between {
            Between::Any => (sound.bits, sound.bits),
            Between::Left => (sound.left_bits, sound.left_bits),
            Between::Right => (sound.right_bits(), sound.right_bits()),
            Between::Hands => (sound.left_bits, sound.right_bits()),
            Between::Top => {
                let top_two = sound.keys().iter().rev().take(2).fold(0u128, |bits, key| bits | 1 << key);
                (top_two, top_two)
            }
        };
        for semitones in &self.semitones {
            let mut found = lower & (upper >> semitones);
            while found != 0 {
                let low = found.trailing_zeros() as u8;
                found &= found - 1;
                let classes = (low % 12, (low + semitones) % 12);
                if !self.except.contains(&classes) {
                    fire(1, 1 << classes.0 | 1 << classes.1);
                }
            }
        }
    }
}
