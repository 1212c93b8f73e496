//! Tests prepared for adding up: what depends on one small number or on pitch classes stands in tables, all else in short
//! lists of one kind each.

use std::sync::OnceLock;

use super::fired::Shares;
use super::places::Places;
use super::sink::{Sink, Source, Sum};
use super::sound::Sound;
use super::tables::{Heard, Tables};
use crate::rules::kind::{IntervalTest, LowTest, MelodyTest, ReachTest, StructureTest, Test};

/// Tests of one kind with the rules that they come from.
type Tests<T> = Vec<(Source, T)>;

/// All tests that are asked of all hands.
#[derive(Clone, Debug, Default)]
pub(super) struct Grouped {
    /// One by one, for reasons.
    all: Tests<Test>,
    /// For adding up: prepared, or made once somebody asks for a sum.
    groups: OnceLock<Groups>,
    /// By what they look at: made once somebody asks which rules fire.
    shares: OnceLock<Shares>,
}

/// Tests in the form in which they are added up fastest.
#[derive(Clone, Debug)]
struct Groups {
    tables: Tables,
    places: Places,
    intervals: Tests<IntervalTest>,
    lows: Tests<Box<LowTest>>,
    reaches: Tests<ReachTest>,
    /// No test of these fires where no hand stretches over more semitones.
    near: u8,
    structures: Tests<StructureTest>,
    melodies: Tests<Box<MelodyTest>>,
    /// What most sets have none of.
    rest: Tests<Test>,
}

impl Groups {
    fn new(all: &Tests<Test>) -> Self {
        let mut groups = Self {
            tables: Tables::default(),
            places: Places::default(),
            intervals: Vec::new(),
            lows: Vec::new(),
            reaches: Vec::new(),
            near: u8::MAX,
            structures: Vec::new(),
            melodies: Vec::new(),
            rest: Vec::new(),
        };
        for (source, test) in all {
            groups.take(*source, test);
        }
        groups
    }

    fn take(&mut self, source: Source, test: &Test) {
        if self.tables.take(test, &source) || self.places.take(test, &source) {
            return;
        }
        match test {
            Test::Interval(test) => self.intervals.push((source, *test)),
            Test::Low(test) => self.lows.push((source, test.clone())),
            Test::Reach(test) => {
                self.near = self.near.min(test.surely());
                self.reaches.push((source, *test));
            }
            Test::Structure(test) => self.structures.push((source, test.clone())),
            Test::Melody(test) => self.melodies.push((source, test.clone())),
            test => self.rest.push((source, test.clone())),
        }
    }

    /// Counts what fires, and what `others` add to it.
    #[inline]
    fn sum(&self, left: &[u8], right: &[u8], others: impl FnOnce(&Sound, &mut Sum)) -> Sum {
        let (mut sum, mut heard) = (Sum::default(), Heard::default());
        let sound = Sound::visit(left, right, |class, lower| self.tables.hear(class, lower, &mut heard));
        self.places.add(&sound, &mut heard.both);
        sum.add_both(heard.both);
        sum.clash = heard.clash;
        self.tables.sum_of_whole(&sound, &mut sum);

        if let Some(near) = sound.near() {
            for (source, test) in &self.intervals {
                test.run_near(near, &sound, &mut |times, classes| sum.fire(source, times, classes));
            }
        } else {
            for (source, test) in &self.intervals {
                test.run_far(&sound, &mut |times, classes| sum.fire(source, times, classes));
            }
        }
        for (source, test) in &self.lows {
            test.run(&sound, |times, classes| sum.fire(source, times, classes));
        }
        if sound.stretch() > self.near {
            for (source, test) in &self.reaches {
                test.run(&sound, |times, classes| sum.fire(source, times, classes));
            }
        }
        for (source, test) in &self.structures {
            test.run(&sound, |times, classes| sum.fire(source, times, classes));
        }
        for (source, test) in &self.melodies {
            test.run(&sound, |times, classes| sum.fire(source, times, classes));
        }
        for (source, test) in &self.rest {
            test.run(&sound, |times, classes| sum.fire(source, times, classes));
        }
        others(&sound, &mut sum);
        sum
    }
}

impl Grouped {
    pub(super) fn push(&mut self, source: Source, test: Test) {
        self.all.push((source, test));
        (self.groups, self.shares) = (OnceLock::new(), OnceLock::new());
    }

    /// By what they look at.
    pub(super) fn shares(&self) -> &Shares {
        self.shares.get_or_init(|| Shares::new(&self.all))
    }

    /// All tests, with the rules that they come from.
    pub(super) fn all(&self) -> &[(Source, Test)] {
        &self.all
    }

    /// Makes what adding up needs, so that it makes nothing itself.
    pub(super) fn prepare(&self) {
        self.groups.get_or_init(|| Groups::new(&self.all));
    }

    /// Counts what fires, and what `others` add to it.
    #[inline]
    pub(super) fn sum(&self, left: &[u8], right: &[u8], others: impl FnOnce(&Sound, &mut Sum)) -> Sum {
        self.groups.get_or_init(|| Groups::new(&self.all)).sum(left, right, others)
    }

    /// Names what fires, one by one.
    pub(super) fn fire(&self, sound: &Sound, sink: &mut impl Sink) {
        for (source, test) in &self.all {
            test.run(sound, |times, classes| sink.fire(source, times, classes));
        }
    }
}

#[cfg(test)]
pub(super) mod tests {
    use proptest::prelude::*;

    use super::super::Frame;
    use super::super::sink::Explain;
    use super::*;
    use crate::chord::{Function, chord};
    use crate::pitch::pitch;
    use crate::rules::kind::PairTest;
    use crate::rules::rule::{Body, Points};
    use crate::rules::{MovingNote, RuleSet, Situation};
    use crate::voicing::HandSize;

    /// Kinds of tests that the standard set has none of, at points that differ.
    const MORE: &str = r##"
        format = 1
        name = "more"
        extends = ["standard"]
        rule = [
            { id = "a", kind = "interval", semitones = [1, 2, 6, 48], between = "left", cost = 1, @ },
            { id = "b", kind = "interval", semitones = [3, 4], between = "right", except = ["3 5", "9 #11"], colour = 2, @ },
            { id = "c", kind = "interval", semitones = [6, 13, 25], between = "hands", effect = "clash", @ },
            { id = "d", kind = "interval", semitones = [3, 12], between = "top", except = ["3 5"], colour = 3, @ },
            { id = "e", kind = "spacing", between = "left", at-least = 3, at-most = 7, cost = 4, @ },
            { id = "f", kind = "spacing", between = "right", at-most = 5, effect = "clash", @ },
            { id = "g", kind = "spacing", between = "hands", at-least = 3, at-most = 9, colour = 5, @ },
            { id = "h", kind = "spacing", between = "top", at-least = 2, effect = "clash", @ },
            { id = "i", kind = "doubling", bass = true, between = "hands", colour = 6, @ },
            { id = "j", kind = "doubling", degrees = ["1", "5"], between = "left", cost = 7, @ },
            { id = "k", kind = "doubling", degrees = ["1", "3", "9"], between = "right", cost = 8, @ },
            { id = "l", kind = "doubling", degrees = ["b7", "13"], effect = "clash", @ },
            { id = "m", kind = "reach", comfortable = 9, largest = 14, cost = 9, @ },
            { id = "n", kind = "reach", fingers = "parncutt-1997", cost = 1, @ },
            { id = "o", kind = "tone", degrees = ["3", "b7", "b3"], hand = "right", cost = 11, @ },
            { id = "p", kind = "tone", degrees = ["#9"], effect = "clash", @ },
            { id = "q", kind = "structure", shells = ["1 3 7", "1 7"], others = true, cost = 12, @ },
            { id = "r", kind = "structure", labels = ["II", "bVI", "V"], colour = 13, @ },
            { id = "s", kind = "melody", above = [1, 2, 13], cost = 14, @ },
            { id = "t", kind = "register", limits = "overtones", effect = "clash", @ },
            { id = "u", kind = "register", hand = "left", voice = "highest", from = "C3", to = "C4", colour = 15, @ },
            { id = "v", kind = "roughness", model = "sethares", per = 50, cost = 1, @ },
        ]
    "##;

    pub(in super::super) fn more() -> RuleSet {
        let text = MORE.replace('@', r#"message = "x", help = "y", source = "invented for this test""#);
        RuleSet::from_toml("more.toml", &text).unwrap()
    }

    /// What every rule of a set becomes over a chord, and more pairs.
    fn baked(rules: &RuleSet, frame: &Frame, pairs: &[(u8, u8, bool, Points)]) -> Vec<(Source, Test)> {
        let mut all = Vec::new();
        for (rule, index) in rules.rules().iter().zip(0..) {
            if let (true, Body::Data(kind)) = (rule.condition.admits(frame), &rule.body) {
                let mut tests = Vec::new();
                kind.bake(frame, &mut tests);
                all.extend(tests.into_iter().map(|test| (Source::new(index, rule.points), test)));
            }
        }
        for ((lower, upper, either_way, points), index) in pairs.iter().zip(1_000..) {
            if lower != upper {
                let test = PairTest { lower: *lower, upper: *upper, either_way: *either_way };
                all.push((Source::new(index, *points), Test::Pair(test)));
            }
        }
        all
    }

    /// What has fired, in an order that does not depend on who was asked first.
    fn fired(explain: &Explain) -> Vec<(u16, String, i32, u16)> {
        let row =
            |f: &super::super::Fired| (f.source.rule, format!("{:?}", f.source.points), f.times, f.classes);
        let mut fired: Vec<_> = explain.fired.iter().map(row).collect();
        fired.sort();
        fired
    }

    pub(in super::super) fn situation(at: usize) -> Situation {
        let moving = vec![MovingNote { key: 74, sixteenths: 3 }, MovingNote { key: 61, sixteenths: 8 }];
        [
            Situation::default(),
            Situation {
                function: Some(Function::ToThree),
                melody: Some(pitch("E5")),
                moving,
                ..Situation::default()
            },
            Situation { hand_size: HandSize::Small, bass_player: true, ..Situation::default() },
            Situation { hand_size: "205mm/152mm".parse().unwrap(), ..Situation::default() },
        ][at]
            .clone()
    }

    const CHORDS: [&str; 14] = [
        "C7", "F#7(b9)", "Bb7alt", "A7sus4", "Ebmaj7", "D6", "G", "Dm7", "Abm6", "Bm7b5", "C#dim7", "Faug",
        "E5", "G7/B",
    ];

    fn hands() -> impl Strategy<Value = [Vec<u8>; 2]> {
        let keys = |low: u8, high: u8| prop::collection::btree_set(low..=high, 0..=10usize);
        let keys = prop_oneof![4 => keys(40, 84), 1 => keys(0, 127), 2 => keys(45, 70)];
        (keys, 0usize..=10).prop_map(|(keys, left)| {
            let keys: Vec<u8> = keys.into_iter().collect();
            let (left, right) = keys.split_at(left.min(keys.len()));
            [left.to_vec(), right.to_vec()]
        })
    }

    fn points() -> impl Strategy<Value = Points> {
        prop_oneof![
            1 => Just(Points::Clash),
            4 => (0..=1_000).prop_map(Points::Cost),
            4 => (0..=1_000).prop_map(Points::Colour),
        ]
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

        /// The slow way: every test on its own, one by one.
        #[test]
        fn prop_grouped_as_one_by_one(
            symbol in prop::sample::select(&CHORDS[..]),
            surroundings in 0usize..4,
            pairs in prop_oneof![
                Just(Vec::new()),
                prop::collection::vec((0u8..12, 0u8..12, any::<bool>(), points()), 0..300)
            ],
            all_hands in prop::collection::vec(hands(), 100),
        ) {
            let frame = Frame::new(chord(symbol), &situation(surroundings));
            let tests = baked(&more(), &frame, &pairs);
            let mut grouped = Grouped::default();
            tests.iter().for_each(|(source, test)| grouped.push(*source, test.clone()));
            for [left, right] in all_hands {
                let sound = Sound::new(&left, &right);
                let mut one_by_one = Explain::default();
                for (source, test) in &tests {
                    test.run(&sound, |times, classes| one_by_one.fire(source, times, classes));
                }
                let sum = grouped.sum(&left, &right, |_, _| {});
                let mut explain = Explain::default();
                grouped.fire(&sound, &mut explain);
                prop_assert_eq!(sum, one_by_one.sum, "{} | {:?} {:?}", symbol, left, right);
                prop_assert_eq!(explain.sum, one_by_one.sum);
                prop_assert_eq!(fired(&explain), fired(&one_by_one), "{} | {:?} {:?}", symbol, left, right);
            }
        }
    }

    /// Every kind of test has its rule above, so that none is left out of the comparison.
    #[test]
    fn ok_all_kinds_of_tests_are_compared() {
        let mut kinds: Vec<String> = Vec::new();
        for symbol in CHORDS {
            let frame = Frame::new(chord(symbol), &situation(1));
            for (_, test) in baked(&more(), &frame, &[]) {
                let text = format!("{test:?}");
                kinds.push(text.chars().take_while(|c| c.is_alphanumeric()).collect());
            }
        }
        kinds.sort();
        kinds.dedup();
        insta::assert_snapshot!(kinds.join(" "), @"Absent Doubling Fingers Interval Low Melody OtherBass Outside Pair Present Reach Roughness Several Shells Spacing Structure Voices");
    }

    /// Keys that are not as they should be are left out, so that what is tested is ascending.
    #[test]
    fn ok_keys_out_of_order() {
        for (left, right, kept) in [
            (&[48, 48, 52][..], &[52, 60][..], &[48, 52, 60][..]),
            (&[60, 48], &[50, 64], &[60, 64]),
            (&[200, 0], &[128, 127, 126], &[0, 127]),
            (&[1, 2, 3, 4, 5, 6, 7], &[8, 9, 10, 11, 12], &[1, 2, 3, 4, 5, 6, 7, 8, 9, 10]),
        ] {
            assert_eq!(Sound::new(left, right).keys(), kept);
        }
    }
}
