//! A tune with all its candidates: the best arrangement, the next best, with what is pinned.

mod answer;
mod classes;
mod lack;
mod lattice;
mod pin;
mod place;
#[cfg(test)]
mod tests;

use std::ops::ControlFlow;

use self::answer::answer;
pub(super) use self::answer::arranged;
use self::classes::{structure_classes, voicing_classes};
pub(super) use self::lack::{NO_VOICING, lack};
use self::lattice::Lattice;
pub(super) use self::lattice::{DEAREST_WAY, Half, Part, Question, ways_between};
pub use self::pin::{Pin, Pinned};
pub(super) use self::place::{Place, Setting};
use super::arrangement::Arrangement;
use super::options::{ArrangeOptions, Instead, SearchLimits};
use super::paths::{Path, Solved};
use super::progression::Progression;
use super::watch::{Progress, Watch, stopped};
use crate::error::{Error, Kind, Result};
use crate::rules::{Effect, Finding, RuleSet};

/// In what the arrangements of a list differ, each from all before it. A dominant played as two chords counts as two.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Variety {
    /// In the voicings of at least so many chords; 1 gives the cheapest arrangements one after the other.
    Chords(usize),
    /// In the upper structures over at least so many chords; a right hand without one counts as one of its own.
    Structures(usize),
}

/// A tune with all its candidates, to be asked for the best arrangement, the next best, and what goes best with what a user has
/// pinned.
///
/// # Example
///
/// ```
/// use overshell::rules::RuleSet;
/// use overshell::search::{Arranger, Pin, Pinned, Progression, Variety};
///
/// let tune = Progression::from_symbols("F", [("Gm7", "Bb4"), ("C7", "G4"), ("Fmaj7", "A4")])?;
/// let mut arranger = Arranger::new(&tune, RuleSet::standard(), Default::default())?;
/// let best = arranger.best();
/// let others = arranger.best_few(3, Variety::Structures(1))?;
/// assert_eq!(others[0], best);
/// assert!(others[1].cost >= best.cost);
///
/// arranger.pin(1, Pin::play(Pinned::Structure("bIII".parse()?)))?; // Eb major over C7
/// assert_eq!(arranger.best().chords[1].structure.unwrap().triad.to_string(), "Eb");
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Debug)]
pub struct Arranger<'r> {
    progression: Progression,
    rules: &'r RuleSet,
    options: ArrangeOptions,
    pins: Vec<(usize, Pin)>,
    lattice: Lattice<'r>,
    best: Path,
}

impl<'r> Arranger<'r> {
    /// The tune with all its candidates, in the octave that comes out better.
    ///
    /// # Errors
    ///
    /// [`Error::is_limit`] where a limit of the options is exceeded.
    pub fn new(progression: &Progression, rules: &'r RuleSet, options: ArrangeOptions) -> Result<Self> {
        Self::watched(progression, rules, options, &mut |_| ControlFlow::Continue(()))
    }

    /// The same, telling for every chord how far it is.
    ///
    /// # Errors
    ///
    /// Those of [`Arranger::new`], and [`Error::is_stopped`] where `watch` says so.
    pub fn watched(
        progression: &Progression,
        rules: &'r RuleSet,
        options: ArrangeOptions,
        watch: Watch<'_>,
    ) -> Result<Self> {
        Self::with_pins(progression.clone(), rules, options, Vec::new(), watch)
    }

    fn with_pins(
        progression: Progression,
        rules: &'r RuleSet,
        options: ArrangeOptions,
        pins: Vec<(usize, Pin)>,
        watch: Watch<'_>,
    ) -> Result<Self> {
        SearchLimits::hold(progression.slots.len(), options.limits.chords, "chords", "chords")?;
        let question = Question { progression: &progression, rules, options: &options, pins: &pins };
        let mut cheapest: Option<(i64, Lattice<'r>, Path)> = None;
        let mut refused: Option<Error> = None;
        let shifts = options.octave.shifts();
        let of = 2 * shifts.len() * progression.slots.len();
        for (index, shift) in shifts.iter().enumerate() {
            let done_before = 2 * index * progression.slots.len();
            let mut last = Progress { done: done_before, of };
            let mut tell = |progress: Progress| {
                last.done = done_before + progress.done;
                watch(last)
            };
            let lattice = match Lattice::new(&question, *shift, &mut tell) {
                Ok(lattice) => lattice,
                // A pinned hand may fit one octave only.
                Err(error) if error.is_no_answer() => {
                    refused.get_or_insert(error);
                    continue;
                }
                Err(error) if error.is_stopped() => return Err(stopped(last)),
                Err(error) => return Err(error),
            };
            let done_before = done_before + progression.slots.len();
            let mut last = Progress { done: done_before, of };
            let go_on = |layer: usize| {
                let slot = lattice.parts.get(layer).map_or(0, |part| part.slot);
                last = Progress { done: done_before + slot, of };
                watch(last).is_continue()
            };
            let joint = |at, which, from, to| lattice.joint(at, which, from, to);
            let Ok(solved) = Solved::while_asked(&lattice.layers, joint, go_on) else {
                return Err(stopped(last));
            };
            // Every layer has a pair that can be played, so there is a path unless there are no layers.
            let path = solved.best().unwrap_or(Path { cost: 0, nodes: Vec::new() });
            drop(solved);
            let worth = path.cost + i64::from(NO_VOICING) * lattice.without.len() as i64;
            // The first of the cheapest, so that the melody stays where it is among equals; the other is let go at once.
            if cheapest.as_ref().is_none_or(|(least, ..)| worth < *least) {
                cheapest = Some((worth, lattice, path));
            }
        }
        let Some((_, lattice, best)) = cheapest else {
            return Err(refused
                .unwrap_or_else(|| Error::new(Kind::NoAnswer, "there is no octave to play the tune in")));
        };
        Ok(Self { progression, rules, options, pins, lattice, best })
    }

    /// Pins what is to be played, or avoided, over a chord, by its place in the progression from 0; besides what is pinned there
    /// already. A chord with pins is played as it is written ([`Instead`] has no say there).
    ///
    /// # Errors
    ///
    /// [`Error::is_range`] where there is no such chord; [`Error::is_no_answer`] where no candidate meets the pin, or where it does
    /// not go together with another, which is then named. All is as it was then.
    pub fn pin(&mut self, chord: usize, pin: Pin) -> Result<()> {
        let mut pins = self.pins.clone();
        pins.push((chord, pin));
        self.repin(chord, pins)
    }

    /// Takes away all that is pinned over a chord.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`] where there is no such chord.
    pub fn unpin(&mut self, chord: usize) -> Result<()> {
        let mut pins = self.pins.clone();
        pins.retain(|(at, _)| *at != chord);
        self.repin(chord, pins)
    }

    fn repin(&mut self, chord: usize, pins: Vec<(usize, Pin)>) -> Result<()> {
        let count = self.progression.slots.len();
        if self.progression.slots.get(chord).is_none_or(|slot| slot.chord.is_none()) {
            return Err(Error::new(
                Kind::Range,
                format!("no chord sounds at place {}, expected one of {count}", chord.saturating_add(1)),
            ));
        }
        let mut never = |_: Progress| ControlFlow::Continue(());
        *self = Self::with_pins(self.progression.clone(), self.rules, self.options, pins, &mut never)?;
        Ok(())
    }

    /// What is pinned, in the order of pinning.
    pub fn pins(&self) -> &[(usize, Pin)] {
        &self.pins
    }

    /// The arrangement that costs least.
    pub fn best(&self) -> Arrangement {
        answer(&self.question(), &self.lattice, &self.best)
    }

    /// The arrangements that cost least, in order, each different enough from all before it; fewer where there are no more. All in
    /// the octave of the best.
    ///
    /// # Errors
    ///
    /// [`Error::is_limit`] where more are asked for than the options allow, or where telling which is the next would take too long.
    ///
    /// # Complexity
    ///
    /// `Variety::Chords(1)`: little more than one search. Otherwise each arrangement takes as many searches as chords must differ,
    /// and best-first search among what is left.
    pub fn best_few(&self, count: usize, variety: Variety) -> Result<Vec<Arrangement>> {
        SearchLimits::hold(count, self.options.limits.arrangements, "arrangements", "arrangements")?;
        let lattice = &self.lattice;
        if count == 0 || lattice.layers.is_empty() {
            return Ok(Vec::new());
        }
        if count == 1 {
            return Ok(vec![self.best()]);
        }
        let (Variety::Chords(least) | Variety::Structures(least)) = variety;
        // No two arrangements differ in more chords than there are.
        let least = least.max(1);
        if least > lattice.layers.len() {
            return Ok(vec![self.best()]);
        }
        let pairs: usize = lattice.layers.iter().map(super::paths::Layer::pairs).sum();
        let is_plain = matches!(variety, Variety::Chords(1) | Variety::Chords(0))
            && self.options.instead == Instead::NOTHING;
        if !is_plain {
            let kept = pairs.saturating_mul(least).saturating_mul(count - 1);
            let what = "pairs of hands to be remembered, for all chords, differences and arrangements";
            SearchLimits::hold(kept, self.options.limits.all_pairs, "all_pairs", what)?;
        }
        let solved = Solved::new(&lattice.layers, |at, which, from, to| lattice.joint(at, which, from, to));
        let varied = |least: usize, classes: &[Vec<u32>]| {
            solved.varied(count, least, |layer, pair| {
                classes.get(layer).and_then(|classes| classes.get(pair)).copied().unwrap_or_default()
            })
        };
        let paths = match variety {
            _ if is_plain => solved.cheapest(count),
            Variety::Chords(_) => varied(least, &voicing_classes(lattice)),
            Variety::Structures(_) => varied(least, &structure_classes(lattice)),
        };
        let paths = paths.ok_or_else(|| {
            Error::new(Kind::Limit, "telling the next arrangement that differs so much takes too many steps")
                .with_help("ask for fewer arrangements, or for fewer differences")
        })?;
        Ok(paths.iter().map(|path| answer(&self.question(), lattice, path)).collect())
    }

    /// The best arrangement that plays something else over a chord, by its place in the progression from 0; `None` where there is
    /// nothing else. Where a dominant is played as two chords, something else in one of them at least.
    ///
    /// # Complexity
    ///
    /// One search, two where a dominant is played as two chords.
    pub fn runner_up(&self, chord: usize) -> Option<Arrangement> {
        let lattice = &self.lattice;
        let here = |layer: &usize| lattice.parts.get(*layer).is_some_and(|part| part.slot == chord);
        let mut best: Option<Path> = None;
        for (at, left, right) in self.best.nodes.iter().filter(|(layer, ..)| here(layer)) {
            let mut layers = lattice.layers.clone();
            if let Some(layer) = layers.get_mut(*at) {
                let pair = left * layer.rights + right;
                if let Some(cost) = layer.base.get_mut(pair) {
                    *cost = super::paths::Layer::NEVER;
                }
            }
            let solved = Solved::new(&layers, |at, which, from, to| lattice.joint(at, which, from, to));
            let other = solved.best();
            best = match (best, other) {
                (Some(best), Some(other)) if best.cost <= other.cost => Some(best),
                (best, other) => other.or(best),
            };
        }
        Some(answer(&self.question(), lattice, &best?))
    }

    fn question(&self) -> Question<'_, 'r> {
        Question {
            progression: &self.progression,
            rules: self.rules,
            options: &self.options,
            pins: &self.pins,
        }
    }

    /// What the search was given: a layer for each chord, and for each other way to play one.
    #[doc(hidden)]
    pub fn layers(&self) -> &[super::paths::Layer] {
        &self.lattice.layers
    }
}

/// A chord whose melody note leaves no room.
pub(super) fn no_room() -> Finding {
    Finding {
        rule: "no-room".into(),
        message: "no two hands find room under this melody note".into(),
        help: "play the tune an octave higher, or allow larger hands".into(),
        degrees: Vec::new(),
        effect: Effect::Cost(NO_VOICING),
    }
}
