//! Judging: a rule set prepared for one chord, and what it says of a voicing.

use smallvec::SmallVec;

use super::finding::{Effect, Finding};
use super::kind::Test;
use super::set::{Points, RuleSet};
use super::sound::Sound;
use crate::chord::{Chord, Degree, Function};
use crate::error::{Error, Kind, Result};
use crate::pitch::{Pitch, PitchClass};
use crate::voicing::Voicing;

/// How large the hands are, for what they reach.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum HandSize {
    /// An octave at most.
    Small,
    /// A ninth at most.
    #[default]
    Medium,
    /// A tenth at most.
    Large,
}

impl HandSize {
    /// The sizes with their names in rule files and on the command line.
    pub const NAMES: [(&'static str, Self); 3] =
        [("small", Self::Small), ("medium", Self::Medium), ("large", Self::Large)];
}

impl std::fmt::Display for HandSize {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let name = Self::NAMES.iter().find(|(_, size)| size == self).map_or("", |(name, _)| *name);
        f.pad(name)
    }
}

impl std::str::FromStr for HandSize {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        Self::NAMES.iter().find(|(name, _)| *name == text).map(|(_, size)| *size).ok_or_else(|| {
            Error::new(Kind::Range, format!("`{}` is not a size of hands", crate::pitch::shown(text)))
                .with_help("the sizes are `small`, `medium` and `large`")
        })
    }
}

/// A melody note that follows while the chord sounds on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct MovingNote {
    /// MIDI number.
    pub key: u8,
    /// Its share of the chord's time, in sixteenths of it, `1..=16`.
    pub sixteenths: u8,
}

/// What is known around a chord when it is judged. The default knows nothing: no function, no melody, medium hands.
///
/// # Example
///
/// ```
/// use overshell::chord::{chord, Function};
/// use overshell::rules::{RuleSet, Situation};
///
/// let rules = RuleSet::standard();
/// let going_to_e_minor = Situation { function: Some(Function::ToThree), ..Situation::default() };
/// let judge = rules.judge_for(chord("B7"), &going_to_e_minor);
/// // C#m holds 9 and 13 over B7... which fight the key on the way to E minor.
/// let judgement = judge.judge(&"B2 A3 | D#4 G#4 C#5".parse()?);
/// assert!(judgement.findings.iter().any(|f| f.rule == "tensions-to-minor"));
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Situation {
    /// What the chord does in its key.
    pub function: Option<Function>,
    /// The melody note that the right hand has on top.
    pub melody: Option<Pitch>,
    /// The melody notes that follow it while the chord sounds on.
    pub moving: Vec<MovingNote>,
    /// For what the hands reach.
    pub hand_size: HandSize,
}

/// The chord and its surroundings as rules see them.
pub(super) struct Frame {
    pub(super) chord: Chord,
    pub(super) function: Option<Function>,
    pub(super) melody: Option<u8>,
    pub(super) moving: Vec<MovingNote>,
    pub(super) hand_size: HandSize,
    /// What each pitch class means, by absolute pitch class.
    meaning: [Degree; 12],
}

impl Frame {
    pub(super) fn new(chord: Chord, situation: &Situation) -> Self {
        let (map, root) = (chord.degree_map(), chord.root().pitch_class());
        let meaning = PitchClass::ALL
            .map(|class| map.get(usize::from(root.semitones_up_to(class))).copied().unwrap_or(Degree::Root));
        Self {
            chord,
            function: situation.function,
            melody: situation.melody.map(Pitch::midi),
            moving: situation.moving.clone(),
            hand_size: situation.hand_size,
            meaning,
        }
    }

    /// The pitch class that has this meaning over the chord, `None` where that key means something else.
    pub(super) fn class_of(&self, degree: Degree) -> Option<u8> {
        let class = degree.class_over(self.chord.root().pitch_class()).get();
        (self.meaning.get(usize::from(class)) == Some(&degree)).then_some(class)
    }

    /// The twelve meanings.
    pub(super) fn degrees(&self) -> impl Iterator<Item = Degree> + '_ {
        self.meaning.iter().copied()
    }
}

/// A rule set prepared for one chord in one situation.
///
/// Preparing costs a few microseconds, judging a voicing tens of nanoseconds: prepare once, judge many.
#[derive(Debug)]
pub struct Judge<'r> {
    rules: &'r RuleSet,
    meaning: [Degree; 12],
    /// For each pitch class, what fires when it sounds: the most frequent kind of test.
    sounding: [SmallVec<[Source; 2]>; 12],
    /// The pitch classes for which something fires.
    heard: u16,
    /// Tests whether none of a few pitch classes sounds.
    silent: Vec<Class>,
    /// Tests that need two pitch classes, or one in two octaves.
    pairs: Vec<Pair>,
    /// All other tests.
    others: Vec<Other>,
}

/// Which rule a test belongs to and what it does.
#[derive(Clone, Copy, Debug)]
struct Source {
    rule: u16,
    points: Points,
}

/// A test on pitch classes alone.
#[derive(Debug)]
struct Class {
    classes: u16,
    source: Source,
}

/// A test that is worth running only where its pitch classes sound.
#[derive(Debug)]
struct Pair {
    classes: u16,
    source: Source,
    test: super::kind::PairTest,
}

/// Any other test.
#[derive(Debug)]
struct Other {
    source: Source,
    test: Test,
}

/// Verdict and points, without the reasons.
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq, Hash)]
pub struct Score {
    /// Whether a rule that forbids has fired.
    pub clash: bool,
    /// What the rules charge, in points, ≥ 0.
    pub cost: i32,
    /// What the rules credit, in points, ≥ 0.
    pub colour: i32,
}

/// Whether a voicing fights the chord, says it plainly, or colours it.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// A rule that forbids has fired.
    Clash,
    /// No clash, and less colour than the set's threshold.
    Plain,
    /// No clash, and colour.
    Colour,
}

impl std::fmt::Display for Verdict {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(match self {
            Self::Clash => "clash",
            Self::Plain => "plain",
            Self::Colour => "colour",
        })
    }
}

/// What a rule set says of a voicing, with its reasons.
#[derive(Clone, Debug, PartialEq)]
pub struct Judgement {
    /// Clash, plain or colour.
    pub verdict: Verdict,
    /// What the rules charge, in points, ≥ 0.
    pub cost: i32,
    /// What the rules credit, in points, ≥ 0.
    pub colour: i32,
    /// The rules that fired, those that forbid first, then in the order of the rule files.
    pub findings: Vec<Finding>,
}

/// Where firings go: the one difference between a score and a judgement.
trait Sink {
    fn fire(&mut self, source: Source, times: i32, classes: u16);
}

struct Count(Score);

impl Sink for Count {
    #[inline]
    fn fire(&mut self, source: Source, times: i32, _: u16) {
        match source.points {
            Points::Clash => self.0.clash = true,
            Points::Cost(points) => self.0.cost = self.0.cost.saturating_add(points.saturating_mul(times)),
            Points::Colour(points) => {
                self.0.colour = self.0.colour.saturating_add(points.saturating_mul(times))
            }
            Points::None => {}
        }
    }
}

#[derive(Default)]
struct Explain {
    count: CountDefault,
    fired: SmallVec<[(u16, Points, i32, u16); 8]>,
}

type CountDefault = Score;

impl Sink for Explain {
    fn fire(&mut self, source: Source, times: i32, classes: u16) {
        let mut count = Count(self.count);
        count.fire(source, times, classes);
        self.count = count.0;
        match self.fired.iter_mut().find(|(rule, ..)| *rule == source.rule) {
            Some((_, _, earlier, all)) => {
                *earlier += times;
                *all |= classes;
            }
            None => self.fired.push((source.rule, source.points, times, classes)),
        }
    }
}

impl<'r> Judge<'r> {
    pub(super) fn new(rules: &'r RuleSet, chord: Chord, situation: &Situation) -> Self {
        let frame = Frame::new(chord, situation);
        let mut judge = Self {
            rules,
            meaning: frame.meaning,
            sounding: Default::default(),
            heard: 0,
            silent: Vec::new(),
            pairs: Vec::new(),
            others: Vec::new(),
        };
        let mut tests = Vec::new();
        for (index, rule) in rules.rules().iter().enumerate() {
            if rule.filter.admits(&frame) {
                rule.kind.bake(&frame, &mut tests);
                let source = Source { rule: u16::try_from(index).unwrap_or(u16::MAX), points: rule.points };
                tests.drain(..).for_each(|test| judge.add(source, test));
            }
        }
        judge
    }

    fn add(&mut self, source: Source, test: Test) {
        match test {
            Test::Present(class) => {
                if let Some(list) = self.sounding.get_mut(usize::from(class)) {
                    list.push(source);
                    self.heard |= 1 << class;
                }
            }
            Test::Absent(classes) => self.silent.push(Class { classes, source }),
            Test::Pair(test) => self.pairs.push(Pair { classes: test.classes(), source, test }),
            test => self.others.push(Other { source, test }),
        }
    }

    #[inline]
    fn run(&self, sound: &Sound, sink: &mut impl Sink) {
        let mut heard = sound.classes & self.heard;
        while heard != 0 {
            let class = heard.trailing_zeros();
            heard &= heard - 1;
            for source in self.sounding.get(class as usize).into_iter().flatten() {
                sink.fire(*source, 1, 1 << class);
            }
        }
        for Class { classes, source } in &self.silent {
            if sound.classes & classes == 0 {
                sink.fire(*source, 1, 0);
            }
        }
        for Pair { classes, source, test } in &self.pairs {
            if sound.classes & classes == *classes {
                test.run(sound, |times, classes| sink.fire(*source, times, classes));
            }
        }
        for Other { source, test } in &self.others {
            test.run(sound, |times, classes| sink.fire(*source, times, classes));
        }
    }

    /// Verdict and points of two hands given as MIDI numbers, each ascending, the left below the right.
    ///
    /// # Complexity
    ///
    /// Linear in the number of rules that apply to the chord; no allocation.
    #[inline]
    pub fn score_keys(&self, left: &[u8], right: &[u8]) -> Score {
        let mut count = Count(Score::default());
        self.run(&Sound::new(left, right), &mut count);
        count.0
    }

    /// Verdict and points of a voicing.
    pub fn score(&self, voicing: &Voicing) -> Score {
        let (left, right) = (keys(voicing.left().pitches()), keys(voicing.right().pitches()));
        self.score_keys(&left, &right)
    }

    /// The same with the reasons.
    pub fn judge(&self, voicing: &Voicing) -> Judgement {
        let (left, right) = (keys(voicing.left().pitches()), keys(voicing.right().pitches()));
        let mut explain = Explain::default();
        self.run(&Sound::new(&left, &right), &mut explain);
        let Score { cost, colour, .. } = explain.count;
        explain.fired.sort_by_key(|(rule, points, ..)| (!matches!(points, Points::Clash), *rule));
        let findings = explain.fired.iter().filter_map(|(rule, points, times, classes)| {
            let rule = self.rules.rules().get(usize::from(*rule))?;
            let degrees = self.meaning.iter().enumerate();
            let mut degrees: Vec<Degree> =
                degrees.filter(|(class, _)| classes >> class & 1 == 1).map(|(_, degree)| *degree).collect();
            degrees.sort_by_key(|d| (d.number(), d.alteration()));
            Some(Finding {
                rule: rule.id.clone(),
                message: rule.message.clone(),
                help: rule.help.clone(),
                degrees,
                effect: match points {
                    Points::Clash => Effect::Clash,
                    Points::Cost(points) => Effect::Cost(points.saturating_mul(*times)),
                    Points::Colour(points) => Effect::Colour(points.saturating_mul(*times)),
                    Points::None => return None,
                },
            })
        });
        Judgement { verdict: self.verdict(explain.count), cost, colour, findings: findings.collect() }
    }

    /// What a key means over the chord, as [`Chord::degree_of`] says, from a table.
    pub fn meaning_of(&self, class: PitchClass) -> Degree {
        self.meaning.get(usize::from(class.get())).copied().unwrap_or(Degree::Root)
    }

    /// The verdict that a score amounts to under this rule set.
    pub fn verdict(&self, score: Score) -> Verdict {
        if score.clash {
            Verdict::Clash
        } else if score.colour >= self.rules.colour_threshold() {
            Verdict::Colour
        } else {
            Verdict::Plain
        }
    }
}

/// The MIDI numbers of a hand.
pub(crate) fn keys(pitches: &[Pitch]) -> SmallVec<[u8; 5]> {
    pitches.iter().map(|p| p.midi()).collect()
}
