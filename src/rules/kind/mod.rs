//! The kinds of rule. Each file owns what a rule file may say (`read`), what it becomes over a chord (`bake`) and how
//! it is tested (`Test`). Adding a kind: a file here, a line in [`Kind`] and [`Test`], a paragraph in the rule
//! documentation.

mod doubling;
mod function;
mod interval;
mod melody;
mod motion;
mod needs;
mod pair;
mod reach;
mod register;
mod spacing;
mod structure;
mod tone;

use super::fields::{Faults, Fields, suggestion};
use super::judge::Frame;
use super::sound::Sound;
pub(super) use motion::Motion;
pub(super) use pair::Test as PairTest;

/// What a rule tests for, as checked.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Kind {
    Tone(tone::Tone),
    Pair(pair::Pair),
    Interval(interval::Interval),
    Needs(needs::Needs),
    Doubling(doubling::Doubling),
    Spacing(spacing::Spacing),
    Register(register::Register),
    Reach(reach::Reach),
    Melody(melody::Melody),
    Function(function::Function),
    Structure(structure::Structure),
    Motion(Motion),
}

/// The names of the kinds in rule files.
pub(super) const NAMES: [&str; 12] = [
    "tone",
    "pair",
    "interval",
    "needs",
    "doubling",
    "spacing",
    "register",
    "reach",
    "melody",
    "function",
    "structure",
    "motion",
];

impl Kind {
    /// Reads the keys of this kind.
    pub(super) fn read(name: &str, fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self> {
        Some(match name {
            "tone" => Self::Tone(tone::Tone::read(fields, faults)?),
            "pair" => Self::Pair(pair::Pair::read(fields, faults)?),
            "interval" => Self::Interval(interval::Interval::read(fields, faults)?),
            "needs" => Self::Needs(needs::Needs::read(fields, faults)?),
            "doubling" => Self::Doubling(doubling::Doubling::read(fields, faults)?),
            "spacing" => Self::Spacing(spacing::Spacing::read(fields, faults)?),
            "register" => Self::Register(register::Register::read(fields, faults)?),
            "reach" => Self::Reach(reach::Reach::read(fields, faults)?),
            "melody" => Self::Melody(melody::Melody::read(fields, faults)?),
            "function" => Self::Function(function::Function::read(fields, faults)?),
            "structure" => Self::Structure(structure::Structure::read(fields, faults)?),
            "motion" => Self::Motion(Motion::read(fields, faults)?),
            other => {
                faults.add(
                    fields.span_of("kind"),
                    format!("`{}` is not a kind of rule", crate::pitch::shown(other)),
                    suggestion(other, NAMES.iter()),
                );
                return None;
            }
        })
    }

    /// What it tests over this chord; nothing where the chord gives it nothing to test.
    pub(super) fn bake(&self, frame: &Frame, tests: &mut Vec<Test>) {
        match self {
            Self::Tone(kind) => kind.bake(frame, tests),
            Self::Pair(kind) => kind.bake(frame, tests),
            Self::Interval(kind) => kind.bake(frame, tests),
            Self::Needs(kind) => kind.bake(frame, tests),
            Self::Doubling(kind) => kind.bake(frame, tests),
            Self::Spacing(kind) => tests.push(Test::Spacing(*kind)),
            Self::Register(kind) => kind.bake(frame, tests),
            Self::Reach(kind) => kind.bake(frame, tests),
            Self::Melody(kind) => kind.bake(frame, tests),
            Self::Function(kind) => kind.bake(frame, tests),
            Self::Structure(kind) => kind.bake(frame, tests),
            Self::Motion(_) => {}
        }
    }
}

/// What a rule tests for over one chord.
#[derive(Clone, Debug)]
pub(super) enum Test {
    /// This pitch class sounds.
    Present(u8),
    Pair(pair::Test),
    Interval(interval::Test),
    /// None of these pitch classes sounds.
    Absent(u16),
    /// The lowest key is of another pitch class than this.
    OtherBass(u8),
    Voices(needs::Voices),
    Doubling(doubling::Test),
    Spacing(spacing::Spacing),
    Outside(register::Outside),
    Low(Box<register::Low>),
    Reach(reach::Test),
    Melody(Box<melody::Test>),
    Structure(structure::Test),
}

impl Test {
    /// Calls `fire(times, classes)` for what it finds: how often, and which pitch classes are concerned.
    #[inline]
    pub(super) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        match self {
            // The judge runs these itself, from lists of their own.
            Self::Present(_) | Self::Absent(_) | Self::Pair(_) => {}
            Self::Interval(test) => test.run(sound, fire),
            Self::OtherBass(class) => {
                if sound.keys().first().is_some_and(|key| key % 12 != *class) {
                    fire(1, 1 << class);
                }
            }
            Self::Voices(test) => test.run(sound, fire),
            Self::Doubling(test) => test.run(sound, fire),
            Self::Spacing(test) => test.run(sound, fire),
            Self::Outside(test) => test.run(sound, fire),
            Self::Low(test) => test.run(sound, fire),
            Self::Reach(test) => test.run(sound, fire),
            Self::Melody(test) => test.run(sound, fire),
            Self::Structure(test) => test.run(sound, fire),
        }
    }
}
