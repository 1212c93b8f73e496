//! Rules in code, for what data cannot say.

use super::judge::{Frame, Sound};
use super::rule::Points;
use super::situation::MovingNote;
use crate::chord::{Chord, Degree, DegreeSet, Function};
use crate::voicing::HandSize;

/// A rule in code that looks at one voicing. [`RuleSet::with_rule`](super::RuleSet::with_rule) adds it to a set, where
/// it is a rule like any other: findings carry its id, a later set may replace it or switch it `off`.
///
/// A judge asks it for every voicing, thousands of times in a search: keep [`Rule::judge`] quick and without heap. Its
/// answer must depend on the context alone.
///
/// # Example
///
/// ```
/// use overshell::chord::chord;
/// use overshell::rules::{Context, Report, Rule, RuleSet};
///
/// /// Parallel to the fence: both hands on white keys only.
/// struct WhiteKeys;
///
/// impl Rule for WhiteKeys {
///     fn id(&self) -> &str { "white-keys" }
///     fn message(&self) -> &str { "every key is white" }
///     fn help(&self) -> &str { "nothing needs help" }
///     fn source(&self) -> &str { "invented for this example" }
///     fn judge(&self, context: &Context<'_>, report: &mut Report<'_>) {
///         if context.keys().iter().all(|key| [0, 2, 4, 5, 7, 9, 11].contains(&(key % 12))) {
///             report.colour(5, context.degrees().iter());
///         }
///     }
/// }
///
/// let rules = RuleSet::standard().clone().with_rule(WhiteKeys);
/// let judgement = rules.judge(chord("G7"), &"G2 F3 B3 | E4 A4 D5".parse()?);
/// assert!(judgement.findings.iter().any(|finding| finding.rule == "white-keys"));
/// # Ok::<(), overshell::Error>(())
/// ```
pub trait Rule: Send + Sync {
    /// What findings call it. Unique in a set: a rule of the same id is replaced.
    fn id(&self) -> &str;
    /// What is so when it fires, in one sentence, lower case, no full stop.
    fn message(&self) -> &str;
    /// What would help.
    fn help(&self) -> &str;
    /// Where it is published, or `common practice, no source`.
    fn source(&self) -> &str;
    /// Looks at a voicing and reports what it finds.
    fn judge(&self, context: &Context<'_>, report: &mut Report<'_>);
}

/// A rule in code that looks at the way from one voicing to the next. [`RuleSet::with_motion_rule`](super::RuleSet::with_motion_rule)
/// adds it to a set.
///
/// The arrangement stays the cheapest there is, at the price of time: with such a rule the two hands no longer factor, so
/// that pairs of whole voicings are compared, as few as the bound allows (which needs the cost to be ≥ 0).
///
/// # Example
///
/// ```
/// use overshell::rules::{Context, MotionRule, RuleSet};
/// use overshell::search::{Progression, arrange};
///
/// /// The lowest note goes by step or by fourth and fifth, not by third.
/// struct NoThirdsInTheBass;
///
/// impl MotionRule for NoThirdsInTheBass {
///     fn id(&self) -> &str { "no-thirds-in-the-bass" }
///     fn message(&self) -> &str { "the bass moves by a third" }
///     fn help(&self) -> &str { "use an inversion" }
///     fn source(&self) -> &str { "invented for this example" }
///     fn cost(&self, from: &Context<'_>, to: &Context<'_>) -> u16 {
///         match (from.keys().first(), to.keys().first()) {
///             (Some(a), Some(b)) if [3, 4].contains(&a.abs_diff(*b)) => 12,
///             _ => 0,
///         }
///     }
/// }
///
/// let rules = RuleSet::standard().clone().with_motion_rule(NoThirdsInTheBass);
/// let tune = Progression::from_symbols("C", [("Dm7", "F5"), ("G7", "D5"), ("Cmaj7", "E5")])?;
/// assert!(arrange(&tune, &rules, Default::default())?.cost >= arrange(&tune, RuleSet::standard(), Default::default())?.cost);
/// # Ok::<(), overshell::Error>(())
/// ```
pub trait MotionRule: Send + Sync {
    /// What findings call it. Unique in a set: a rule of the same id is replaced.
    fn id(&self) -> &str;
    /// What is so when it fires, in one sentence, lower case, no full stop.
    fn message(&self) -> &str;
    /// What would help.
    fn help(&self) -> &str;
    /// Where it is published, or `common practice, no source`.
    fn source(&self) -> &str;
    /// What it costs to go from the one to the other, in points; 0 where there is nothing to say.
    fn cost(&self, from: &Context<'_>, to: &Context<'_>) -> u16;
}

/// What a rule in code sees: a chord, what is known around it, and two hands.
///
/// All keys are MIDI numbers, `0..=127`. Either hand may be empty. Where every voicing clashes with the melody, a search asks
/// of the notes under it alone: the melody note is then not among the keys, though [`Context::melody`] tells it.
#[derive(Clone, Copy, Debug)]
pub struct Context<'a> {
    frame: &'a Frame,
    sound: &'a Sound,
}

impl<'a> Context<'a> {
    pub(super) fn new(frame: &'a Frame, sound: &'a Sound) -> Self {
        Self { frame, sound }
    }

    /// The chord that is voiced.
    pub fn chord(&self) -> Chord {
        self.frame.chord
    }

    /// What it does in its key, where that is known.
    pub fn function(&self) -> Option<Function> {
        self.frame.function
    }

    /// The key of the melody note that goes on top, where there is one.
    pub fn melody(&self) -> Option<u8> {
        self.frame.melody
    }

    /// The melody notes that follow while the chord sounds on.
    pub fn moving(&self) -> &'a [MovingNote] {
        &self.frame.moving
    }

    /// For what the hands reach.
    pub fn hand_size(&self) -> HandSize {
        self.frame.hand_size
    }

    /// Whether somebody else plays the bass.
    pub fn bass_player(&self) -> bool {
        self.frame.bass_player
    }

    /// The left hand's keys, ascending.
    pub fn left(&self) -> &'a [u8] {
        self.sound.left()
    }

    /// The right hand's keys, ascending.
    pub fn right(&self) -> &'a [u8] {
        self.sound.right()
    }

    /// All keys, ascending.
    pub fn keys(&self) -> &'a [u8] {
        self.sound.keys()
    }

    /// What a key means over the chord.
    pub fn degree_of(&self, key: u8) -> Degree {
        self.frame.meaning_of(key % 12)
    }

    /// All that sounds, as degrees of the chord.
    pub fn degrees(&self) -> DegreeSet {
        self.frame.meanings_of(self.sound.classes)
    }
}

/// Where a rule in code says what it finds. It may say several things, or nothing.
///
/// The degrees are those concerned, for the finding; degrees that no key has over the chord are left out.
pub struct Report<'a> {
    pub(super) frame: &'a Frame,
    pub(super) fire: &'a mut dyn FnMut(Points, u16),
}

impl Report<'_> {
    /// The voicing clashes.
    pub fn clash(&mut self, degrees: impl IntoIterator<Item = Degree>) {
        self.say(Points::Clash, degrees);
    }

    /// It costs so many points; 0 says nothing.
    pub fn cost(&mut self, points: u16, degrees: impl IntoIterator<Item = Degree>) {
        if points > 0 {
            self.say(Points::Cost(i32::from(points)), degrees);
        }
    }

    /// It earns so many points of colour; 0 says nothing.
    pub fn colour(&mut self, points: u16, degrees: impl IntoIterator<Item = Degree>) {
        if points > 0 {
            self.say(Points::Colour(i32::from(points)), degrees);
        }
    }

    fn say(&mut self, points: Points, degrees: impl IntoIterator<Item = Degree>) {
        let classes = self.frame.classes_of(degrees.into_iter().collect());
        (self.fire)(points, classes);
    }
}

impl std::fmt::Debug for Report<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Report").finish_non_exhaustive()
    }
}
