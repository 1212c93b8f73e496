//! A tune with all its candidates: the best arrangement, the next best, with what is pinned.

mod answer;
mod classes;
mod lack;
mod lattice;
mod pin;
mod place;
#[cfg(test)]
mod tests;
mod tied;

use std::borrow::Cow;

use self::answer::Teller;
pub(super) use self::answer::arranged;
use self::classes::{structure_classes, voicing_classes};
pub(super) use self::lack::{NO_VOICING, lack};
pub(super) use self::lattice::{DEAREST_WAY, Half, Part, Question, ways_between};
use self::lattice::{Lattice, Materials};
pub use self::pin::{Pin, Pinned};
pub(super) use self::place::{Place, Setting};
pub use self::tied::{arrange_tied, arrange_tied_watched};
use super::arrangement::Arrangement;
use super::options::{ArrangeOptions, Instead, SearchLimits};
use super::paths::{Costs, Halt, Layer, Path, Solved};
use super::progression::Progression;
use super::watch::{Told, Watch, unwatched};
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
    searched: Searched<'r>,
}

/// A tune in one octave, searched.
#[derive(Debug)]
struct Searched<'r> {
    lattice: Lattice<'r>,
    /// What the cheapest path to each pair costs.
    costs: Costs,
    best: Path,
}

impl<'r> Arranger<'r> {
    /// The tune with all its candidates, in the octave that comes out better.
    ///
    /// # Errors
    ///
    /// [`Error::is_limit`] where a limit of the options is exceeded.
    pub fn new(progression: &Progression, rules: &'r RuleSet, options: ArrangeOptions) -> Result<Self> {
        Self::watched(progression, rules, options, &mut unwatched())
    }

    /// The same, telling how far it is: every chord counts twice for each octave.
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
        let mut cheapest: Option<(i64, Searched<'r>)> = None;
        let mut refused: Option<Error> = None;
        let (shifts, chords) = (options.octave.shifts(), progression.slots.len());
        let mut told = Told::new(watch, 2 * shifts.len() * chords);
        let mut materials = Materials::new();
        for (index, shift) in shifts.iter().enumerate() {
            let told = told.part(2 * index * chords);
            let mut tell = |progress: super::Progress| told.tell(progress.done);
            let lattice = match Lattice::new(&question, &mut materials, *shift, &mut tell) {
                Ok(lattice) => lattice,
                // A pinned hand may fit one octave only.
                Err(error) if error.is_no_answer() => {
                    refused.get_or_insert(error);
                    continue;
                }
                Err(error) if error.is_stopped() => return Err(told.stopped()),
                Err(error) => return Err(error),
            };
            let told = told.part((2 * index + 1) * chords);
            let go_on = |layer| told.tell(lattice.slot_of(layer)).is_continue();
            let joint = |at, which, from, to| lattice.joint(at, which, from, to);
            let Ok(solved) = Solved::while_asked(&lattice.layers, joint, go_on) else {
                return Err(told.stopped());
            };
            // Every layer has a pair that can be played, so there is a path unless there are no layers.
            let best = solved.best().unwrap_or(Path { cost: 0, nodes: Vec::new() });
            let costs = solved.into_costs();
            let worth = best.cost + i64::from(NO_VOICING) * lattice.without.len() as i64;
            // The first of the cheapest, so that the melody stays where it is among equals; the other is let go at once.
            if cheapest.as_ref().is_none_or(|(least, _)| worth < *least) {
                cheapest = Some((worth, Searched { lattice, costs, best }));
            }
        }
        let Some((_, searched)) = cheapest else {
            return Err(refused
                .unwrap_or_else(|| Error::new(Kind::NoAnswer, "there is no octave to play the tune in")));
        };
        told.end()?;
        Ok(Self { progression, rules, options, pins, searched })
    }

    /// Pins what is to be played, or avoided, over a chord, by its place in the progression from 0; besides what is pinned there
    /// already. A chord with pins is played as it is written ([`Instead`] has no say there).
    ///
    /// # Errors
    ///
    /// [`Error::is_range`] where there is no such chord; [`Error::is_no_answer`] where no candidate meets the pin, or where it does
    /// not go together with another, which is then named. All is as it was then.
    pub fn pin(&mut self, chord: usize, pin: Pin) -> Result<()> {
        self.pin_watched(chord, pin, &mut unwatched())
    }

    /// The same, telling how far it is: every chord of the tune counts twice for each octave.
    ///
    /// # Errors
    ///
    /// Those of [`Arranger::pin`], and [`Error::is_stopped`] where `watch` says so. All is as it was then.
    pub fn pin_watched(&mut self, chord: usize, pin: Pin, watch: Watch<'_>) -> Result<()> {
        let mut pins = self.pins.clone();
        pins.push((chord, pin));
        self.repin(chord, pins, watch)
    }

    /// Takes away all that is pinned over a chord.
    ///
    /// # Errors
    ///
    /// [`Error::is_range`] where there is no such chord.
    pub fn unpin(&mut self, chord: usize) -> Result<()> {
        self.unpin_watched(chord, &mut unwatched())
    }

    /// The same, telling how far it is, as [`Arranger::pin_watched`] does.
    ///
    /// # Errors
    ///
    /// Those of [`Arranger::unpin`], and [`Error::is_stopped`] where `watch` says so. All is as it was then.
    pub fn unpin_watched(&mut self, chord: usize, watch: Watch<'_>) -> Result<()> {
        let mut pins = self.pins.clone();
        pins.retain(|(at, _)| *at != chord);
        self.repin(chord, pins, watch)
    }

    fn repin(&mut self, chord: usize, pins: Vec<(usize, Pin)>, watch: Watch<'_>) -> Result<()> {
        let count = self.progression.slots.len();
        if self.progression.slots.get(chord).is_none_or(|slot| slot.chord.is_none()) {
            return Err(Error::new(
                Kind::Range,
                format!("no chord sounds at place {}, expected one of {count}", chord.saturating_add(1)),
            ));
        }
        *self = Self::with_pins(self.progression.clone(), self.rules, self.options, pins, watch)?;
        Ok(())
    }

    /// What is pinned, in the order of pinning.
    pub fn pins(&self) -> &[(usize, Pin)] {
        &self.pins
    }

    /// The arrangement that costs least.
    pub fn best(&self) -> Arrangement {
        self.answer(&self.searched.best)
    }

    /// The arrangements that cost least, in order, each different enough from all before it; fewer where there are no more. All in
    /// the octave of the best. Chords in which they agree, and the ways to them, are told once and shared.
    ///
    /// # Errors
    ///
    /// [`Error::is_limit`] where more are asked for than the options allow, or where telling which is the next would take too long.
    ///
    /// # Complexity
    ///
    /// `Variety::Chords(1)`: for each pair of hands that is played for the first time, a look at every pair before it. Otherwise each
    /// arrangement takes as many searches as chords must differ, and best-first search among what is left.
    pub fn best_few(&self, count: usize, variety: Variety) -> Result<Vec<Arrangement>> {
        self.best_few_watched(count, variety, &mut unwatched())
    }

    /// The same, telling how far it is: every chord counts twice for each arrangement asked for. Where best-first search goes on for
    /// long, the same is told again and again.
    ///
    /// # Errors
    ///
    /// Those of [`Arranger::best_few`], and [`Error::is_stopped`] where `watch` says so.
    pub fn best_few_watched(
        &self,
        count: usize,
        variety: Variety,
        watch: Watch<'_>,
    ) -> Result<Vec<Arrangement>> {
        SearchLimits::hold(count, self.options.limits.arrangements, "arrangements", "arrangements")?;
        let chords = self.progression.slots.len();
        let for_all = count.saturating_mul(chords);
        let mut told = Told::new(watch, for_all.saturating_mul(2));
        let paths = self.best_paths(count, variety, &mut told)?;
        let question = self.question();
        let mut teller = Teller::new(&question, &self.searched.lattice);
        let mut arrangements = Vec::with_capacity(paths.len());
        for (at, path) in paths.iter().enumerate() {
            if told.part(for_all).tell(at.saturating_mul(chords)).is_break() {
                return Err(told.stopped());
            }
            arrangements.push(teller.tell(path));
        }
        told.end()?;
        Ok(arrangements)
    }

    fn best_paths<'p>(
        &'p self,
        count: usize,
        variety: Variety,
        told: &mut Told<'_>,
    ) -> Result<Cow<'p, [Path]>> {
        let Searched { lattice, costs, best } = &self.searched;
        if count == 0 || lattice.layers.is_empty() {
            return Ok(Cow::default());
        }
        let (Variety::Chords(least) | Variety::Structures(least)) = variety;
        // No two arrangements differ in more chords than there are.
        let least = least.max(1);
        if count == 1 || least > lattice.layers.len() {
            return Ok(std::slice::from_ref(best).into());
        }
        let is_plain = matches!(variety, Variety::Chords(1) | Variety::Chords(0))
            && self.options.instead == Instead::NOTHING;
        if !is_plain {
            let pairs: usize = lattice.layers.iter().map(Layer::pairs).sum();
            let kept = pairs.saturating_mul(least).saturating_mul(count - 1);
            let what = "pairs of hands to be remembered, for all chords, differences and arrangements";
            SearchLimits::hold(kept, self.options.limits.all_pairs, "all_pairs", what)?;
        }
        let chords = self.progression.slots.len();
        // All costs are known, so that nothing is asked yet.
        let Some(solved) = self.solved_from(Cow::Borrowed(costs), &mut |_| true) else {
            return Err(told.stopped());
        };
        let mut go_on = |arrangements: usize, chord: usize| {
            told.tell(arrangements.saturating_mul(chords).saturating_add(chord)).is_continue()
        };
        let mut varied = |classes: &[Vec<u32>]| {
            let class = |layer: usize, pair: usize| {
                classes.get(layer).and_then(|classes| classes.get(pair)).copied().unwrap_or_default()
            };
            let go_on = |past: usize, layer: usize| go_on(past, lattice.slot_of(layer));
            solved.varied_while(count, least, class, go_on)
        };
        let paths = match variety {
            Variety::Chords(_) if !is_plain => varied(&voicing_classes(lattice)),
            Variety::Structures(_) => varied(&structure_classes(lattice)),
            Variety::Chords(_) => solved.cheapest_while(count, |found| go_on(found, 0)),
        };
        match paths {
            Ok(paths) => Ok(paths.into()),
            Err(Halt::Stopped) => Err(told.stopped()),
            Err(Halt::TooLong) => Err(Error::new(
                Kind::Limit,
                "telling the next arrangement that differs so much takes too many steps",
            )
            .with_help("ask for fewer arrangements, or for fewer differences")),
        }
    }

    /// The best arrangement that plays something else over a chord, by its place in the progression from 0; `None` where there is
    /// nothing else. Where a dominant is played as two chords, something else in one of them at least.
    ///
    /// # Complexity
    ///
    /// A search through the chords behind it; two where a dominant is played as two chords.
    pub fn runner_up(&self, chord: usize) -> Option<Arrangement> {
        // It fails only where it is stopped.
        self.runner_up_watched(chord, &mut unwatched()).ok().flatten()
    }

    /// The same, telling how far it is: every chord of the tune counts once, twice where a dominant is played as two chords.
    ///
    /// # Errors
    ///
    /// [`Error::is_stopped`] where `watch` says so.
    pub fn runner_up_watched(&self, chord: usize, watch: Watch<'_>) -> Result<Option<Arrangement>> {
        let Searched { lattice, costs, best: played } = &self.searched;
        let nodes = played.nodes.iter().filter(|(layer, ..)| lattice.slot_of(*layer) == chord);
        let chords = self.progression.slots.len();
        let mut told = Told::new(watch, nodes.clone().count() * chords);
        let mut best: Option<Path> = None;
        for (index, (at, left, right)) in nodes.enumerate() {
            let pair = lattice.layers.get(*at).map_or(0, |layer| left * layer.rights + right);
            let told = told.part(index * chords);
            let mut go_on = |layer| told.tell(lattice.slot_of(layer)).is_continue();
            // What stands before the chord costs what it cost.
            let Some(solved) = self.solved_from(Cow::Owned(costs.without(*at, pair)), &mut go_on) else {
                return Err(told.stopped());
            };
            let other = solved.best();
            best = match (best, other) {
                (Some(best), Some(other)) if best.cost <= other.cost => Some(best),
                (best, other) => other.or(best),
            };
        }
        let arrangement = best.map(|path| self.answer(&path));
        told.end()?;
        Ok(arrangement)
    }

    /// The tune with what is known of the costs, and the rest; `None` where it is not to go on.
    fn solved_from<'s>(
        &'s self,
        known: Cow<'s, Costs>,
        go_on: &mut dyn FnMut(usize) -> bool,
    ) -> Option<Solved<'s, impl Fn(usize, usize, usize, usize) -> i32 + use<'s, 'r>>> {
        let lattice = &self.searched.lattice;
        let joint = |at, which, from, to| lattice.joint(at, which, from, to);
        Solved::resume(&lattice.layers, joint, known, go_on).ok()
    }

    fn answer(&self, path: &Path) -> Arrangement {
        Teller::new(&self.question(), &self.searched.lattice).tell(path)
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
    pub fn layers(&self) -> &[Layer] {
        &self.searched.lattice.layers
    }
}

impl Lattice<'_> {
    /// The place in the progression of the chord that a layer plays.
    fn slot_of(&self, layer: usize) -> usize {
        self.parts.get(layer).map_or(0, |part| part.slot)
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
