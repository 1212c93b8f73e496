//! When a rule applies: over which chords, in which function and situation, and for which hands.

use smallvec::SmallVec;

use super::format::{Faults, Fields, Holds, Key};
use super::judge::{Frame, Sound};
use crate::chord::{Chord, Degree, DegreeSet, Family, Function};
use crate::pitch::{Pitch, PitchClass};
use crate::voicing::Shell;

const CHORDS: Key = Key::new("chords", Holds::Families, "only over chords of these families");
const HAS: Key = Key::new(
    "has",
    Holds::Degrees,
    "only over chords that have all of these among their own tones and written tensions",
);
const HAS_ONE_OF: Key =
    Key::new("has-one-of", Holds::Degrees, "only over chords that have one of these at the least");
const LACKS: Key = Key::new("lacks", Holds::Degrees, "only over chords that have none of these");
pub(super) const FUNCTIONS: Key = Key::new(
    "functions",
    Holds::Functions,
    "only over chords that do one of these in their key; where nothing is known of it, the rule is silent",
);
pub(super) const WHEN: Key = Key::new("when", Holds::When, "only in this situation; all its keys must hold");

/// The conditions that stand among the keys of a rule.
pub(super) const KEYS: [Key; 6] = [CHORDS, HAS, HAS_ONE_OF, LACKS, FUNCTIONS, WHEN];

const BASS_PLAYER: Key =
    Key::new("bass-player", Holds::Flag, "somebody else plays the bass, or, with `false`, nobody does");
const MELODY: Key =
    Key::new("melody", Holds::Degrees, "the melody note is one of these degrees of the chord");
const SHELLS: Key = Key::new(
    "shells",
    Holds::Shells,
    "the left hand is one of these shells, by roles from the bottom (`1 3 7`)",
);
const LOWEST_FROM: Key =
    Key::new("lowest-from", Holds::Pitch, "the lowest note of both hands is this or higher");
const LOWEST_TO: Key = Key::new("lowest-to", Holds::Pitch, "the lowest note of both hands is this or lower");
const HIGHEST_FROM: Key =
    Key::new("highest-from", Holds::Pitch, "the highest note of both hands is this or higher");
const HIGHEST_TO: Key =
    Key::new("highest-to", Holds::Pitch, "the highest note of both hands is this or lower");
/// The conditions of the table `when`.
pub(super) const WHEN_KEYS: [Key; 7] =
    [BASS_PLAYER, MELODY, SHELLS, LOWEST_FROM, LOWEST_TO, HIGHEST_FROM, HIGHEST_TO];

/// The conditions of a rule; all must hold. Absent keys hold always.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Condition {
    families: Option<Vec<Family>>,
    has: DegreeSet,
    has_one_of: Option<Vec<Degree>>,
    lacks: DegreeSet,
    pub(super) functions: Option<Vec<Function>>,
    pub(super) bass_player: Option<bool>,
    pub(super) melody: Option<DegreeSet>,
    pub(super) hands: HandCondition,
}

/// What a condition asks of the hands.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct HandCondition {
    shells: Option<Vec<Shell>>,
    lowest: Range,
    highest: Range,
}

/// MIDI numbers, both ends included.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Range(u8, u8);

impl Default for Range {
    fn default() -> Self {
        Self(0, 127)
    }
}

impl Range {
    fn holds(self, key: Option<&u8>) -> bool {
        self == Self::default() || key.is_some_and(|key| (self.0..=self.1).contains(key))
    }
}

impl Condition {
    pub(super) fn read(fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Self {
        let set = |list: Option<Vec<Degree>>| list.map(|list| list.into_iter().collect::<DegreeSet>());
        let mut condition = Self {
            families: fields.list(&CHORDS, faults),
            has: set(fields.list(&HAS, faults)).unwrap_or_default(),
            has_one_of: fields.list(&HAS_ONE_OF, faults),
            lacks: set(fields.list(&LACKS, faults)).unwrap_or_default(),
            functions: fields.list(&FUNCTIONS, faults),
            ..Self::default()
        };
        if let Some(mut when) = fields.table(&WHEN, faults) {
            condition.bass_player = when.flag(&BASS_PLAYER, faults);
            condition.melody = set(when.list(&MELODY, faults));
            let mut range = |from: &Key, to: &Key| {
                let (span, low) =
                    (when.span_of(from), when.parsed::<Pitch>(from, faults).map_or(0, Pitch::midi));
                let high = when.parsed::<Pitch>(to, faults).map_or(127, Pitch::midi);
                if low > high {
                    let message = format!("`{}` is higher than `{}`", from.name, to.name);
                    faults.add(span, message, "no pitch is both; exchange the two");
                }
                Range(low, high)
            };
            let (lowest, highest) = (range(&LOWEST_FROM, &LOWEST_TO), range(&HIGHEST_FROM, &HIGHEST_TO));
            condition.hands = HandCondition { shells: when.list(&SHELLS, faults), lowest, highest };
            when.finish(true, faults);
        }
        condition
    }

    /// Whether the rule speaks of this chord, whatever the situation.
    pub(super) fn admits_chord(&self, chord: Chord) -> bool {
        let tones = chord.tones();
        self.families.as_ref().is_none_or(|families| families.contains(&chord.family()))
            && self.has.difference(tones).is_empty()
            && self.has_one_of.as_ref().is_none_or(|degrees| tones.contains_any(degrees))
            && self.lacks.iter().all(|degree| !tones.contains(degree))
    }

    pub(super) fn admits(&self, frame: &Frame) -> bool {
        let in_function = |functions: &Vec<Function>| frame.function.is_some_and(|f| functions.contains(&f));
        let under =
            |degrees: DegreeSet| frame.melody.is_some_and(|key| degrees.contains(frame.meaning_of(key % 12)));
        self.admits_chord(frame.chord)
            && self.functions.as_ref().is_none_or(in_function)
            && self.bass_player.is_none_or(|wanted| wanted == frame.bass_player)
            && self.melody.is_none_or(under)
    }

    /// What remains to be asked of the hands; `None` where nothing does.
    pub(super) fn gate(&self, frame: &Frame) -> Option<Gate> {
        let HandCondition { shells, lowest, highest } = &self.hands;
        let root = frame.chord.root().pitch_class();
        let classes = |shell: &Shell| {
            Some(shell.degrees(frame.chord)?.into_iter().map(|degree| degree.class_over(root)).collect())
        };
        (self.hands != HandCondition::default()).then(|| Gate {
            shells: shells.as_ref().map(|shells| shells.iter().filter_map(classes).collect()),
            lowest: *lowest,
            highest: *highest,
        })
    }
}

/// What a condition asks of the hands, over one chord.
#[derive(Clone, Debug)]
pub(super) struct Gate {
    shells: Option<Vec<SmallVec<[PitchClass; 4]>>>,
    lowest: Range,
    highest: Range,
}

impl Gate {
    /// Whether no hands open it.
    pub(super) fn is_shut(&self) -> bool {
        self.shells.as_ref().is_some_and(Vec::is_empty)
    }

    pub(super) fn is_open(&self, sound: &Sound) -> bool {
        let left = || sound.left().iter().map(|key| PitchClass::wrapping(i32::from(*key)));
        let plays = |shell: &SmallVec<[PitchClass; 4]>| left().eq(shell.iter().copied());
        self.lowest.holds(sound.keys().first())
            && self.highest.holds(sound.keys().last())
            && self.shells.as_ref().is_none_or(|shells| shells.iter().any(plays))
    }
}
