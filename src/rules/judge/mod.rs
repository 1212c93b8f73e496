//! Judging: a rule set prepared for one chord, and what it says of a voicing.

mod fired;
mod frame;
mod grouped;
mod motion;
mod moving;
mod pairs;
mod places;
mod sink;
mod sound;
mod tables;
mod ways;

use smallvec::SmallVec;

pub(crate) use self::fired::FiredRules;
pub(super) use self::frame::Frame;
use self::grouped::Grouped;
pub(crate) use self::pairs::{Memory, Rights, Runs};
pub(super) use self::places::Place;
use self::sink::{Explain, Fired, Sink, Source, Sum};
pub(super) use self::sound::{HANDS, HandName, Sound};
use super::condition::Gate;
use super::finding::{Effect, Finding};
use super::kind::{Limit, Motion, Outer, Test};
use super::plug_in::{Context, MotionRule, Report, Rule as CodeRule};
use super::rule::{Body, Points};
use super::set::RuleSet;
use super::situation::Situation;
use crate::chord::{Chord, Degree};
use crate::pitch::{Pitch, PitchClass};
use crate::voicing::Voicing;

/// A rule set prepared for one chord in one situation.
///
/// Preparing costs up to some ten microseconds, judging a voicing about a hundred nanoseconds: prepare once, judge many.
#[derive(Debug)]
pub struct Judge<'r> {
    rules: &'r RuleSet,
    frame: Frame,
    /// Tests that are asked of all hands.
    always: Grouped,
    /// Tests that are asked only of some hands.
    gated: Vec<(Gate, Source, Test)>,
    coded: Vec<Coded<'r, dyn CodeRule>>,
    /// Whether there are gated tests or rules in code.
    is_rare: bool,
    motions: Vec<(u16, &'r Motion)>,
    outer: Vec<(u16, &'r Outer)>,
    coded_motions: Vec<Coded<'r, dyn MotionRule>>,
    limits: SmallVec<[(u16, Limit); 2]>,
    asks_for_bass: bool,
}

/// A rule in code, with its place in the set.
struct Coded<'r, R: ?Sized> {
    rule: u16,
    code: &'r R,
}

impl<R: ?Sized> std::fmt::Debug for Coded<'_, R> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Coded").field("rule", &self.rule).finish_non_exhaustive()
    }
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

impl Verdict {
    /// In one word, as it is serialised.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Clash => "clash",
            Self::Plain => "plain",
            Self::Colour => "colour",
        }
    }
}

impl std::fmt::Display for Verdict {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.as_str())
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
    /// The rules that fired: those that forbid, then what they charge, dearest first, then what they credit, richest
    /// first; among equals by id. So the order of rules in a set changes nothing.
    pub findings: Vec<Finding>,
}

impl<'r> Judge<'r> {
    pub(super) fn new(rules: &'r RuleSet, chord: Chord, situation: &Situation) -> Self {
        let mut judge = Self {
            rules,
            frame: Frame::new(chord, situation),
            always: Grouped::default(),
            gated: Vec::new(),
            coded: Vec::new(),
            is_rare: false,
            motions: Vec::new(),
            outer: Vec::new(),
            coded_motions: Vec::new(),
            limits: SmallVec::new(),
            asks_for_bass: false,
        };
        let mut tests = Vec::new();
        for (index, rule) in rules.rules().iter().enumerate() {
            if !rule.condition.admits(&judge.frame) {
                continue;
            }
            let source = Source::new(u16::try_from(index).unwrap_or(u16::MAX), rule.points);
            match &rule.body {
                Body::Data(kind) => {
                    judge.motions.extend(kind.motion().map(|motion| (source.rule, motion)));
                    judge.outer.extend(kind.outer().map(|outer| (source.rule, outer)));
                    judge.asks_for_bass |= kind.asks_for_bass();
                    judge.limits.extend(kind.limit(judge.frame.hand_size).map(|limit| (source.rule, limit)));
                    kind.bake(&judge.frame, &mut tests);
                    let gate = rule.condition.gate(&judge.frame);
                    tests.drain(..).for_each(|test| judge.add(gate.as_ref(), source, test));
                }
                Body::Code(code) => judge.coded.push(Coded { rule: source.rule, code: &**code }),
                Body::MotionCode(code) => {
                    judge.coded_motions.push(Coded { rule: source.rule, code: &**code })
                }
            }
        }
        judge.is_rare = !judge.gated.is_empty() || !judge.coded.is_empty();
        judge
    }

    /// Prepares for hands that come one by one, so that judging them allocates nothing. Who asks for pairs of hands at once can
    /// do without.
    pub(super) fn prepared(self) -> Self {
        self.always.prepare();
        self
    }

    fn add(&mut self, gate: Option<&Gate>, source: Source, test: Test) {
        match gate {
            Some(gate) => self.gated.push((gate.clone(), source, test)),
            None => self.always.push(source, test),
        }
    }

    /// What most sets have none of: gated tests and rules in code.
    #[inline(never)]
    fn run_rare(&self, sound: &Sound, sink: &mut impl Sink) {
        for (gate, source, test) in &self.gated {
            if gate.is_open(sound) {
                test.run(sound, |times, classes| sink.fire(source, times, classes));
            }
        }
        for Coded { rule, code } in &self.coded {
            let context = Context::new(&self.frame, sound);
            let mut fire = |points, classes| sink.fire(&Source::new(*rule, points), 1, classes);
            code.judge(&context, &mut Report { frame: &self.frame, fire: &mut fire });
        }
    }

    /// Verdict and points of two hands given as MIDI numbers, each ascending, the left below the right.
    ///
    /// # Complexity
    ///
    /// Rules about degrees, pairs of degrees, doublings, compasses and gaps stand in tables, so that their number does not
    /// matter; linear in the number of other rules that apply to the chord. No allocation.
    #[inline]
    pub fn score_keys(&self, left: &[u8], right: &[u8]) -> Score {
        self.sum_of(left, right).score()
    }

    #[inline]
    fn sum_of(&self, left: &[u8], right: &[u8]) -> Sum {
        let others = |sound: &Sound, sum: &mut Sum| {
            if self.is_rare {
                self.run_rare(sound, sum);
            }
        };
        self.always.sum(left, right, others)
    }

    /// Verdict and points of a voicing.
    pub fn score(&self, voicing: &Voicing) -> Score {
        let (left, right) = (keys(voicing.left().pitches()), keys(voicing.right().pitches()));
        self.score_keys(&left, &right)
    }

    /// The same with the reasons.
    pub fn judge(&self, voicing: &Voicing) -> Judgement {
        let (left, right) = (keys(voicing.left().pitches()), keys(voicing.right().pitches()));
        let (sound, mut explain) = (Sound::new(&left, &right), Explain::default());
        self.always.fire(&sound, &mut explain);
        self.run_rare(&sound, &mut explain);
        let score = explain.sum.score();
        let Score { cost, colour, .. } = score;
        Judgement { verdict: self.verdict(score), cost, colour, findings: self.findings(&explain.fired) }
    }

    /// What has fired, in the order in which people are told.
    fn findings(&self, fired: &[Fired]) -> Vec<Finding> {
        let mut findings: Vec<Finding> = fired.iter().filter_map(|fired| self.finding(fired)).collect();
        findings.sort_by(|a, b| (a.effect.rank(), &a.rule).cmp(&(b.effect.rank(), &b.rule)));
        findings
    }

    fn finding(&self, fired: &Fired) -> Option<Finding> {
        let rule = self.rules.rules().get(usize::from(fired.source.rule))?;
        let mut degrees: Vec<Degree> = self.frame.meanings_of(fired.classes).iter().collect();
        degrees.sort_by_key(|d| (d.number(), d.alteration()));
        let effect = match fired.source.points {
            Points::Clash => Effect::Clash,
            Points::Cost(points) => Effect::Cost(points.saturating_mul(fired.times)),
            Points::Colour(points) => Effect::Colour(points.saturating_mul(fired.times)),
            Points::Own => return None,
        };
        Some(Finding {
            rule: rule.id.clone(),
            message: rule.message.clone(),
            help: rule.help.clone(),
            degrees,
            effect,
        })
    }

    /// Whether the set lets a hand of the size in question play these keys, ascending: none of its `reach` rules that
    /// apply here sees more than its largest stretch. The searches offer nothing else.
    pub fn within_reach(&self, keys: &[u8]) -> bool {
        self.limits.iter().all(|(_, limit)| limit.holds(keys))
    }

    /// The rules that say what hands reach here.
    pub(crate) fn reach_rules(&self) -> Vec<&str> {
        let rules = self.limits.iter().filter_map(|(rule, _)| self.rules.rules().get(usize::from(*rule)));
        rules.map(|rule| rule.id.as_str()).collect()
    }

    /// Whether some rule asks for the written bass.
    pub(crate) fn asks_for_bass(&self) -> bool {
        self.asks_for_bass
    }

    /// What a key means over the chord, as [`Chord::degree_of`] says, from a table.
    pub fn meaning_of(&self, class: PitchClass) -> Degree {
        self.frame.meaning_of(class.get())
    }

    /// The verdict that a score amounts to under this rule set.
    pub fn verdict(&self, score: Score) -> Verdict {
        self.rules.verdict(score)
    }
}

/// The MIDI numbers of a hand.
pub(crate) fn keys(pitches: &[Pitch]) -> SmallVec<[u8; 5]> {
    let mut keys = [0; 5];
    if pitches.len() > keys.len() {
        return pitches.iter().map(|p| p.midi()).collect();
    }
    for (key, pitch) in keys.iter_mut().zip(pitches) {
        *key = pitch.midi();
    }
    SmallVec::from_buf_and_len(keys, pitches.len())
}
