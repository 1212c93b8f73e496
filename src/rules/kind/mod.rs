//! The kinds of rule. Each file owns what a rule file may say (`WAYS`, with documentation and an example), how it is read and
//! checked, what it becomes over a chord (`bake`) and how it is tested. Adding a kind: a file here, a line in `kinds!`, and
//! a variant of [`Test`] where none serves.

mod doubling;
mod function;
mod interval;
mod melody;
mod motion;
mod needs;
mod pair;
mod reach;
mod register;
mod roughness;
mod spacing;
mod structure;
mod tone;

use super::format::{Faults, Fields, Way};
use super::judge::{Frame, Sound};
use crate::chord::Function;
use crate::voicing::HandSize;
pub(super) use interval::Test as IntervalTest;
pub(super) use melody::Test as MelodyTest;
pub(super) use motion::{HandMotion as Motion, Outer};
pub(super) use pair::Test as PairTest;
pub(super) use reach::{Limit, Test as ReachTest};
pub(super) use register::Low as LowTest;
pub(super) use structure::Test as StructureTest;

/// A kind of rule.
pub(super) trait RuleKind: Sized {
    /// What rule files call it.
    const NAME: &'static str;
    /// What it looks at.
    const DOC: &'static str;
    /// The ways to write one.
    const WAYS: &'static [Way];
    /// Whether its keys say what it costs, so that there is no `effect`, `cost` or `colour`.
    const OWN_POINTS: bool = false;

    /// Reads the keys of this kind, which are those of the way taken.
    fn read(way: usize, fields: &mut Fields<'_, '_>, faults: &mut Faults<'_>) -> Option<Self>;

    /// What it tests over this chord; nothing where the chord gives it nothing to test.
    fn bake(&self, frame: &Frame, tests: &mut Vec<Test>);
}

/// What the reference and the schema know of a kind.
#[derive(Clone, Copy)]
pub(super) struct KindEntry {
    pub(super) name: &'static str,
    pub(super) doc: &'static str,
    pub(super) ways: &'static [Way],
    pub(super) own_points: bool,
    pub(super) read: fn(usize, &mut Fields<'_, '_>, &mut Faults<'_>) -> Option<Kind>,
}

macro_rules! kinds {
    ($($variant:ident($type:ty)),+ $(,)?) => {
        /// What a rule tests for, as checked.
        #[derive(Clone, Debug, PartialEq)]
        pub(super) enum Kind {
            $($variant($type)),+
        }

        /// All kinds, in the order of the documentation.
        pub(super) const KINDS: &[KindEntry] = &[$(KindEntry {
            name: <$type>::NAME,
            doc: <$type>::DOC,
            ways: <$type>::WAYS,
            own_points: <$type>::OWN_POINTS,
            read: |way, fields, faults| <$type>::read(way, fields, faults).map(Kind::$variant),
        }),+];

        impl Kind {
            pub(super) fn name(&self) -> &'static str {
                match self {
                    $(Self::$variant(_) => <$type>::NAME),+
                }
            }

            /// What it tests over this chord.
            pub(super) fn bake(&self, frame: &Frame, tests: &mut Vec<Test>) {
                match self {
                    $(Self::$variant(kind) => kind.bake(frame, tests)),+
                }
            }
        }
    };
}

kinds! {
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
    Roughness(roughness::Roughness),
    Motion(motion::Motion),
}

impl Kind {
    /// What it costs a hand to move, where it is about that.
    pub(super) fn motion(&self) -> Option<&Motion> {
        match self {
            Self::Motion(motion::Motion::Hand(motion)) => Some(motion),
            _ => None,
        }
    }

    /// What it costs the outer voices to move, where it is about that.
    pub(super) fn outer(&self) -> Option<&Outer> {
        match self {
            Self::Motion(motion::Motion::Outer(outer)) => Some(outer),
            _ => None,
        }
    }

    /// Whether what it tests depends on the chord.
    pub(super) fn looks_at_chord(&self) -> bool {
        !matches!(
            self,
            Self::Motion(_)
                | Self::Reach(_)
                | Self::Spacing(_)
                | Self::Melody(_)
                | Self::Roughness(_)
                | Self::Needs(needs::Needs::Voices(_))
                | Self::Register(register::Register::Compass(_))
        )
    }

    /// Whether it has points of its own, and all of them are 0.
    pub(super) fn is_idle(&self) -> bool {
        matches!(self, Self::Motion(motion) if motion.is_idle())
    }

    /// The functions that it names itself, besides those among its conditions.
    pub(super) fn functions(&self) -> Vec<Function> {
        match self {
            Self::Function(function) => function.named().collect(),
            _ => Vec::new(),
        }
    }

    /// Whether it asks for the written bass.
    pub(super) fn asks_for_bass(&self) -> bool {
        matches!(self, Self::Needs(needs::Needs::Bass))
    }

    /// What a hand of this size may not exceed, where the rule is about that.
    pub(super) fn limit(&self, size: HandSize) -> Option<Limit> {
        match self {
            Self::Reach(reach) => reach.limit(size),
            _ => None,
        }
    }
}

/// What a rule tests for over one chord.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Test {
    /// This pitch class sounds.
    Present(u8),
    /// None of these pitch classes sounds.
    Absent(u16),
    Pair(pair::Test),
    Several(tone::Several),
    Interval(interval::Test),
    /// The lowest key is of another pitch class than this.
    OtherBass(u8),
    Voices(needs::Voices),
    Doubling(doubling::Test),
    Spacing(spacing::Spacing),
    Outside(register::Outside),
    Low(Box<register::Low>),
    Reach(reach::Test),
    Fingers(reach::Fingers),
    Melody(Box<melody::Test>),
    Structure(structure::Test),
    Shells(structure::Shells),
    Roughness(roughness::Test),
}

/// How what a test finds in two hands, neither of them empty, follows from what it finds in less.
#[derive(Clone, Copy, Debug)]
pub(super) enum Division {
    /// What it finds in the left hand alone.
    Left,
    /// What it finds in the right hand alone.
    Right,
    /// What it finds in each hand alone, added up.
    Each,
    /// Once for each left key with its key of the right hand ([`Test::across`]); and, `within`, what it finds
    /// in each hand alone.
    Across { within: bool },
    /// What it finds in the left hand's highest key with the right hand's lowest, less what it finds in that left key alone; and
    /// what it finds in each hand alone, but for what the right hand's lowest key alone gives. The former is nothing
    /// for a left key from `below` on.
    Neighbours { below: u8 },
    /// What it finds in the left hand's highest key and the right hand's lowest.
    Gap,
    /// What it finds in the two highest keys.
    Top,
    /// Once where either hand has this pitch class.
    Class(u8),
    /// It depends on which of these pitch classes sound ([`Test::times_of_classes`]).
    Classes(u16),
    /// What it finds in each hand alone, and once more for each of these pitch classes that both hands have.
    Doubled(u16),
    /// A pair of pitch classes.
    Pair(PairTest),
    /// None of these.
    Whole,
}

impl Test {
    /// How it divides between hands.
    pub(super) fn division(&self) -> Division {
        match self {
            Self::Present(class) => Division::Class(*class),
            Self::Absent(classes) => Division::Classes(*classes),
            Self::Pair(test) => Division::Pair(*test),
            Self::Several(test) => test.division(),
            Self::Interval(test) => test.division(),
            Self::OtherBass(_) | Self::Shells(_) => Division::Left,
            Self::Voices(test) => test.division(),
            Self::Doubling(test) => test.division(),
            Self::Spacing(test) => test.division(),
            Self::Outside(test) => test.division(),
            Self::Low(test) => Division::Neighbours { below: test.highest() },
            Self::Reach(_) | Self::Fingers(_) | Self::Melody(_) => Division::Each,
            Self::Structure(_) => Division::Right,
            Self::Roughness(_) => Division::Whole,
        }
    }

    /// How often it fires where these pitch classes sound; for tests that look at no more than that.
    pub(super) fn times_of_classes(&self, classes: u16) -> i32 {
        match self {
            Self::Absent(absent) => i32::from(classes & absent == 0),
            Self::Several(test) => test.times(classes),
            _ => 0,
        }
    }

    /// Whether it cannot fire where these pitch classes sound, whatever else does; `false` where that is not known.
    pub(super) fn is_met_by(&self, classes: u16) -> bool {
        matches!(self, Self::Absent(absent) if classes & absent != 0)
    }

    /// How often it fires for the left hand's highest key and the right hand's lowest above it together; for tests that look at no
    /// more of both hands at once.
    pub(super) fn joined(&self, low: u8, high: u8) -> i32 {
        let mut found = 0;
        self.join(low, std::iter::once((0, high)), |_, times| found = times);
        found
    }

    /// The same for each of some lowest keys of the right hand with their numbers: calls `found(place, times)` where that is not nothing.
    pub(super) fn join(
        &self,
        low: u8,
        highs: impl Iterator<Item = (usize, u8)>,
        mut found: impl FnMut(usize, i32),
    ) {
        macro_rules! each {
            ($times:expr) => {
                for (place, high) in highs {
                    let times: i32 = $times(high);
                    if times > 0 {
                        found(place, times);
                    }
                }
            };
        }
        match self {
            Self::Low(test) => each!(|high| test.joined(low, high)),
            Self::Spacing(test) => each!(|high: u8| test.off(high.saturating_sub(low))),
            Self::Interval(test) => each!(|high| test.joined(low, high)),
            _ => {}
        }
    }

    /// The key of the right hand with which it fires once for this left key; for tests that look at pairs of keys.
    pub(super) fn across(&self, key: u8) -> Option<u8> {
        match self {
            Self::Interval(test) => test.across(key),
            _ => None,
        }
    }

    /// Whether what it finds in a right hand alone is the same an octave higher.
    pub(super) fn is_the_same_in_octaves(&self) -> bool {
        match self {
            Self::Present(_)
            | Self::Absent(_)
            | Self::Pair(_)
            | Self::Several(_)
            | Self::Interval(_)
            | Self::OtherBass(_)
            | Self::Voices(_)
            | Self::Doubling(_)
            | Self::Spacing(_)
            | Self::Reach(_)
            | Self::Fingers(_)
            | Self::Structure(_)
            | Self::Shells(_) => true,
            Self::Outside(_) | Self::Low(_) | Self::Melody(_) | Self::Roughness(_) => false,
        }
    }

    /// Whether there are hands for which it fires.
    pub(super) fn can_fire(&self) -> bool {
        match self {
            Self::Spacing(test) => test.can_fire(),
            Self::Outside(test) => test.can_fire(),
            Self::Low(test) => test.can_fire(),
            _ => true,
        }
    }

    /// Calls `fire(times, classes)` for what it finds: how often, and which pitch classes are concerned.
    #[inline]
    pub(in crate::rules) fn run(&self, sound: &Sound, mut fire: impl FnMut(i32, u16)) {
        match self {
            Self::Present(class) => {
                if sound.classes >> class & 1 == 1 {
                    fire(1, 1 << class);
                }
            }
            Self::Absent(classes) => {
                if sound.classes & classes == 0 {
                    fire(1, 0);
                }
            }
            Self::Pair(test) => test.run(sound, fire),
            Self::Several(test) => test.run(sound, fire),
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
            Self::Fingers(test) => test.run(sound, fire),
            Self::Melody(test) => test.run(sound, fire),
            Self::Structure(test) => test.run(sound, fire),
            Self::Shells(test) => test.run(sound, fire),
            Self::Roughness(test) => test.run(sound, fire),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::RuleSet;

    fn rule(kind: &str, lines: &str) -> String {
        format!(
            "format = 1\nname = \"x\"\n[[rule]]\nid = \"x\"\nkind = \"{kind}\"\nmessage = \"m\"\nhelp = \"h\"\n\
             source = \"s\"\n{lines}\n"
        )
    }

    fn ways() -> impl Iterator<Item = (&'static KindEntry, &'static Way)> {
        KINDS.iter().flat_map(|kind| kind.ways.iter().map(move |way| (kind, way)))
    }

    /// The example of each way is a rule that can fire, in its own way, and has the keys that the way needs.
    #[test]
    fn all_examples_are_rules() {
        for (kind, way) in ways() {
            let text = rule(kind.name, way.example);
            let set = RuleSet::from_toml("x", &text).unwrap();
            let warnings = set.warnings();
            assert!(warnings.is_empty(), "{text}\n{warnings:?}");
            for key in way.needs {
                assert!(way.example.contains(&format!("{} = ", key.name)), "{} {}", kind.name, key.name);
            }
        }
    }

    /// What a way needs is missed by name, and the help is an example that reads.
    #[test]
    fn err_all_needs_are_asked_for() {
        for (kind, way) in ways() {
            for key in way.needs.iter().filter(|_| kind.ways.len() == 1) {
                let lines: Vec<&str> = way
                    .example
                    .lines()
                    .filter(|line| !line.starts_with(&format!("{} =", key.name)))
                    .collect();
                let error = RuleSet::from_toml("x", &rule(kind.name, &lines.join("\n"))).unwrap_err();
                assert!(error.to_string().contains(&format!("`{}`", key.name)), "{error:?}");
            }
            let none = RuleSet::from_toml("x", &rule(kind.name, "cost = 1")).unwrap_err();
            let all: Vec<_> = std::iter::once(&none).chain(none.others()).collect();
            let needs = format!("a `{}` rule needs ", kind.name);
            assert!(all.iter().any(|error| error.to_string().contains(&needs)), "{none:?}");
        }
    }

    /// Values that no key takes: each is a located fault, whatever the key.
    #[test]
    fn err_all_keys_refuse_values_of_another_type() {
        for (kind, way) in ways() {
            for key in way.keys() {
                for value in ["nan", "-inf", "1.5", "2026-01-02", "[[0.5]]", "99999999999999999999"] {
                    let others = |line: &&str| !line.starts_with(&format!("{} =", key.name));
                    let lines: Vec<&str> = way.example.lines().filter(others).collect();
                    let text = rule(kind.name, &format!("{} = {value}\n{}", key.name, lines.join("\n")));
                    let error = RuleSet::from_toml("x", &text).unwrap_err();
                    assert!(error.excerpt().is_some(), "{} {} = {value}: {error:?}", kind.name, key.name);
                }
            }
        }
    }

    /// Numbers just outside their range are refused by name, the ends themselves are not.
    #[test]
    fn err_all_numbers_have_a_range() {
        use crate::rules::format::Holds;
        for (kind, way) in ways() {
            for key in way.keys() {
                let (Holds::Number(from, to) | Holds::Numbers(from, to)) = key.holds else { continue };
                let refused = |value: i64| {
                    let list = matches!(key.holds, Holds::Numbers(..));
                    let value = if list { format!("[{value}]") } else { value.to_string() };
                    let others =
                        way.example.lines().filter(|line| !line.starts_with(&format!("{} =", key.name)));
                    let lines: Vec<&str> = others.collect();
                    let text = rule(kind.name, &format!("{} = {value}\n{}", key.name, lines.join("\n")));
                    let range = format!("{from} to {to}");
                    RuleSet::from_toml("x", &text).is_err_and(|error| error.to_string().contains(&range))
                };
                let (from, to) = (i64::from(from), i64::from(to));
                assert!(refused(from - 1) && refused(to + 1), "{} {}", kind.name, key.name);
                assert!(!refused(from) && !refused(to), "{} {}", kind.name, key.name);
            }
        }
    }
}
