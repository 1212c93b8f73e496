//! A tune that comes chord by chord.

mod arena;
mod known;
#[cfg(test)]
mod tests;
mod told;

use std::collections::VecDeque;
use std::sync::Arc;

use self::arena::{Arena, Leg};
use self::known::{Known, Shelf, Sought, Sounded, Way};
use self::told::Told;
use super::arrangement::ArrangedChord;
use super::options::{ArrangeOptions, Octave};
use super::progression::Slot;
use crate::chord::{Chord, Function, Key, destination_among, function};
use crate::error::{Error, Kind, Result};
use crate::pitch::Pitch;
use crate::rules::RuleSet;
use crate::voicing::Voicing;

/// Answers that are kept to be explained.
const TOLD: usize = 64;

/// A tune that comes chord by chord, arranged while it is played: takes a chord at a time with the melody note above it, and
/// answers what the hands play as soon as so many further chords are known as it may look ahead.
///
/// # Meaning
///
/// With a look-ahead of `n`, the answer for a slot is due when the `n`th slot behind it is pushed; slots in which no chord sounds
/// count. When it is due, it is the pair of hands on the cheapest path *from the pair answered last*, which has sounded and
/// stays, *through all chords known so far*; costs and candidates are those of [`arrange`](super::arrange), and among equally
/// cheap paths the one is taken that `arrange` would take. So where the look-ahead is at least as long as the tune, the answers
/// are those of `arrange` in the same octave; where it is shorter, the tune as a whole may come out dearer.
///
/// **What a chord does in its key** is seen from the chords that follow it ([`functions`](crate::chord::functions)). Of those only
/// the ones pushed so far are known: a chord is first taken for what it would do at the end of the tune, and put right with every
/// chord pushed after it, until it is answered. Most chords show with the next one what they do; a chord that is repeated, or
/// delayed by a minor chord a fifth above, with the one after that. So with a look-ahead of none every dominant counts as one
/// that does not resolve; with one chord nearly all do what they do in the whole tune.
///
/// **A chord without candidates**, and a slot without a chord, is answered without a voicing and passed over: the way leads from
/// the chord before it to the chord behind it. So is a chord of more pairs than the limit `pairs` of the options;
/// [`Live::explain`] says so.
///
/// **The octave** cannot be chosen by the whole tune: [`Octave::Auto`] means as written. A melody written low leaves no room;
/// say [`Octave::Up`]. Dominants are played as they are written; the limits `chords` and `all_pairs` of a search do not apply,
/// since however long the tune is, no more is kept.
///
/// # Complexity
///
/// An answer takes, for each chord that is looked ahead, a step of `L'·R'·R + L'·L·R` additions, with L, R the shapes of the two
/// hands over a chord and L', R' those over the chord before (about 40 and 100), and a look at `L'·R'` pairs; without looking
/// ahead, `L + R` ways and a look at `L·R` pairs. Where a rule looks at both hands at once and the melody rests, pairs of pairs
/// are looked at.
///
/// The candidates of the last [`Live::CHORDS_KEPT`] chords (the same chord with the same function and melody is one) and the ways
/// of the last [`Live::WAYS_KEPT`] steps from chord to chord are kept: some ten thousand bytes each, several times that where the
/// melody rests. Pushing chords that were met before, in an order met
/// before, allocates nothing, and without looking ahead in any order; [`Live::prepare`] makes that so for chords not yet met.
/// A chord met for the first time, or in another function, takes what preparing its judge and its candidates takes, several times
/// as long as the answer.
///
/// # Example
///
/// ```
/// use overshell::chord::Key;
/// use overshell::rules::RuleSet;
/// use overshell::search::{Live, Slot};
///
/// let mut live = Live::new(RuleSet::standard(), Key::C_MAJOR, Default::default(), 1)?;
/// assert_eq!(live.push(&"Dm7 F5".parse()?), None); // one more chord must be known
/// let first = live.push(&"G7 F5".parse()?).unwrap();
/// assert_eq!(first.chord.unwrap().to_string(), "Dm7");
/// assert_eq!(first.voicing.unwrap().top().unwrap().to_string(), "F5");
/// let second = live.push(&"Cmaj7 E5".parse()?).unwrap();
/// assert_eq!(second.function.unwrap().to_string(), "V7/I"); // seen from Cmaj7
/// assert_eq!(live.finish().unwrap().slot, 2);
/// assert_eq!(live.finish(), None);
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Debug)]
pub struct Live<'r> {
    rules: &'r RuleSet,
    key: Key,
    options: ArrangeOptions,
    look_ahead: usize,
    /// The slots that are not yet answered, at most as many as are looked ahead, and one.
    window: VecDeque<Open<'r>>,
    sounded: Option<Sounded<'r>>,
    /// The number of the next slot.
    next: usize,
    chords: Shelf<Known<'r>>,
    ways: Shelf<Way>,
    next_id: u64,
    arena: Arena,
    legs: Vec<Leg<'r>>,
    told: VecDeque<Told>,
}

/// What the hands play over a chord, as soon as it is known. Small and copied freely; [`Live::explain`] gives the reasons.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LiveAnswer {
    /// Which slot it is, from 0.
    pub slot: usize,
    /// The chord; `None` where none sounds.
    pub chord: Option<Chord>,
    /// What it does in its key, as far as that was known.
    pub function: Option<Function>,
    /// The melody note on top, moved with the tune.
    pub melody: Option<Pitch>,
    /// What the hands play; `None` where no chord sounds, or where nothing fits.
    pub voicing: Option<Voicing>,
    /// What the voicing costs, less its colour as far as that counts, in points; 0 without a voicing.
    pub points: i32,
    /// What the way from the voicing before costs, in points ≥ 0.
    pub way: i32,
}

/// A slot that is not yet answered.
#[derive(Clone, Debug)]
struct Open<'r> {
    slot: usize,
    chord: Option<Chord>,
    melody: Option<Pitch>,
    /// Where a chord sounds.
    known: Option<Arc<Known<'r>>>,
}

impl<'r> Live<'r> {
    /// No more slots than this can be looked ahead.
    pub const MOST_AHEAD: usize = 8;
    /// Of so many chords the candidates are kept.
    pub const CHORDS_KEPT: usize = 128;
    /// So many ways from chord to chord are kept.
    pub const WAYS_KEPT: usize = 256;

    /// Ready for the first chord, looking so many slots ahead, `0..=8`.
    ///
    /// # Errors
    ///
    /// [`Error::is_limit`] where it should look farther ahead; [`Error::is_range`] where the options allow dominants to be played
    /// otherwise than they are written.
    pub fn new(rules: &'r RuleSet, key: Key, options: ArrangeOptions, look_ahead: usize) -> Result<Self> {
        if look_ahead > Self::MOST_AHEAD {
            let most = Self::MOST_AHEAD;
            return Err(Error::new(
                Kind::Limit,
                format!("a look-ahead of {look_ahead} chords, expected at most {most} (limit `look_ahead`)"),
            )
            .with_help("look fewer chords ahead, or arrange the whole tune at once"));
        }
        if let Some(way) = options.instead.ways().next() {
            return Err(Error::new(
                Kind::Range,
                format!("`{way}` is allowed, but chords that come one by one are played as they are written"),
            )
            .with_help("allow nothing instead, or arrange the whole tune at once"));
        }
        Ok(Self {
            rules,
            key,
            options,
            look_ahead,
            window: VecDeque::with_capacity(look_ahead + 1),
            sounded: None,
            next: 0,
            chords: Shelf::new(Self::CHORDS_KEPT),
            ways: Shelf::new(Self::WAYS_KEPT),
            next_id: 0,
            arena: Arena::new(look_ahead + 1),
            legs: Vec::with_capacity(look_ahead + 1),
            told: VecDeque::with_capacity(TOLD),
        })
    }

    /// Takes the next slot, and answers the one that many slots before as are looked ahead; `None` where that is before the first.
    pub fn push(&mut self, slot: &Slot) -> Option<LiveAnswer> {
        self.take_in(slot);
        if self.window.len() > self.look_ahead { self.answer() } else { None }
    }

    /// The oldest answer still owed, from the chords known; `None` where none is. To be called until then at the end of a tune.
    /// What is pushed afterwards goes on in the tune.
    pub fn finish(&mut self) -> Option<LiveAnswer> {
        self.answer()
    }

    /// Ready for the first chord of a new tune; what is kept of chords met before stays.
    pub fn start_again(&mut self) {
        self.window.clear();
        self.told.clear();
        (self.sounded, self.next) = (None, 0);
    }

    /// Makes what pushing these slots in this order at the start of a tune, and finishing, will need, so that this will allocate
    /// nothing, as long as no more chords and ways than are kept are met in between. Neither answers nor what is known of the
    /// tune at hand are changed.
    ///
    /// # Example
    ///
    /// ```
    /// use overshell::chord::Key;
    /// use overshell::rules::RuleSet;
    /// use overshell::search::{Live, Slot};
    ///
    /// let mut live = Live::new(RuleSet::standard(), Key::C_MAJOR, Default::default(), 0)?;
    /// let slots: [Slot; 2] = ["G7 F5".parse()?, "Cmaj7 E5".parse()?];
    /// live.prepare(&slots);
    /// let answer = live.push(&slots[0]).unwrap(); // at once
    /// assert_eq!(answer.slot, 0);
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub fn prepare(&mut self, slots: &[Slot]) {
        let room = VecDeque::with_capacity(self.look_ahead + 1);
        let told = std::mem::replace(&mut self.told, VecDeque::with_capacity(TOLD));
        let window = std::mem::replace(&mut self.window, room);
        let (sounded, next) = (self.sounded.take(), self.next);
        for slot in slots {
            self.push(slot);
        }
        while self.finish().is_some() {}
        (self.window, self.told, self.sounded, self.next) = (window, told, sounded, next);
    }

    /// An answer with its reasons: the rules that fired, the upper structure, what the way from the chord before costs; as
    /// [`arrange`](super::arrange) gives them. Allocates. `None` where the answer is none of the last 64 of this tune.
    pub fn explain(&self, answer: &LiveAnswer) -> Option<ArrangedChord> {
        let told = self.told.iter().find(|told| told.answer == *answer)?;
        Some(told.explained(self.key, self.rules, &self.options))
    }

    /// How many slots it looks ahead.
    pub fn look_ahead(&self) -> usize {
        self.look_ahead
    }

    /// By how many semitones the melody is moved: 0 or 12.
    pub fn octave_shift(&self) -> i8 {
        if self.options.octave == Octave::Up { 12 } else { 0 }
    }

    /// Takes a slot in, and puts right what the chords before it do.
    fn take_in(&mut self, slot: &Slot) {
        let shift = self.octave_shift();
        let function_at_end = slot.chord.map(|chord| function(chord, None, self.key));
        let sought = slot.chord.zip(function_at_end).map(|(chord, function)| Sought {
            chord,
            function,
            melody: slot.melody,
            moving: &slot.moving,
            shift,
        });
        let known = sought.and_then(|sought| self.known(&sought));
        let melody = slot.melody.and_then(|pitch| pitch.shift_octaves(shift / 12));
        self.window.push_back(Open { slot: self.next, chord: slot.chord, melody, known });
        self.next = self.next.saturating_add(1);
        if slot.chord.is_none() {
            return;
        }
        for at in 0..self.window.len().saturating_sub(1) {
            let Some(chord) = self.window.get(at).and_then(|open| open.chord) else { continue };
            let function = function(chord, self.goes_to(at), self.key);
            let Some(known) = self.window.get(at).and_then(|open| open.known.clone()) else { continue };
            let setting = &known.setting;
            if setting.function == Some(function) {
                continue;
            }
            // The setting has its melody moved already.
            let (melody, moving) = (setting.melody, setting.moving.as_slice());
            let corrected = self.known(&Sought { chord, function, melody, moving, shift: 0 });
            if let Some(open) = self.window.get_mut(at) {
                open.known = corrected;
            }
        }
    }

    /// The chord to which the one at a place of the window goes, as far as is known.
    fn goes_to(&self, at: usize) -> Option<Chord> {
        let chord = self.window.get(at)?.chord?;
        destination_among(chord, self.window.iter().skip(at + 1).filter_map(|open| open.chord))
    }

    /// A chord with its candidates, met before or new.
    fn known(&mut self, sought: &Sought<'_>) -> Option<Arc<Known<'r>>> {
        if let Some(found) = self.chords.find(|known| sought.is(&known.setting)) {
            return Some(found);
        }
        let known = Known::new(self.next_id, sought.setting()?, self.rules, &self.options);
        self.next_id += 1;
        self.arena.reserve(known.layer.lefts, known.layer.rights);
        Some(self.chords.put(known))
    }

    /// Answers the oldest slot that is open.
    fn answer(&mut self) -> Option<LiveAnswer> {
        let pair = self.first_pair();
        self.legs.clear();
        let goes_to = self.goes_to(0);
        let Open { slot, chord, melody, known } = self.window.pop_front()?;
        let function = known.as_ref().and_then(|known| known.setting.function);
        let mut answer = LiveAnswer { slot, chord, function, melody, voicing: None, points: 0, way: 0 };
        let mut told = Told::new(answer, known.as_deref(), goes_to);
        if let Some((known, pair)) = known.zip(pair) {
            let rights = known.layer.rights.max(1);
            answer.voicing = known.place.voicing(pair / rights, pair % rights);
            answer.points = known.layer.base.get(pair).copied().unwrap_or_default();
            if let Some(sounded) = &self.sounded {
                answer.way = sounded.way_to(&known, pair);
                let before = sounded.voicing();
                told.before = before.map(|voicing| (Arc::clone(&sounded.known.setting), voicing));
            }
            self.sounded = Some(Sounded { known, pair });
        }
        told.answer = answer;
        if self.told.len() == TOLD {
            self.told.pop_front();
        }
        self.told.push_back(told);
        Some(answer)
    }

    /// The pair to be answered for the oldest slot that is open; `None` where it has none.
    fn first_pair(&mut self) -> Option<usize> {
        let first = self.window.front()?.known.clone().filter(|known| known.has_candidates())?;
        let mut before = Arc::clone(&first);
        self.legs.clear();
        let from_sounded = self.sounded.as_ref().and_then(|sounded| {
            let ids = (sounded.known.id, before.id);
            self.ways.find(|way| (way.from, way.to) == ids)
        });
        self.legs.push((first, from_sounded));
        for at in 1..self.window.len() {
            let known = self.window.get(at).and_then(|open| open.known.clone());
            let Some(known) = known.filter(|known| known.has_candidates()) else { continue };
            let way = match self.ways.find(|way| (way.from, way.to) == (before.id, known.id)) {
                Some(way) => way,
                None => self.ways.put(Way::new(&before, &known)),
            };
            self.legs.push((Arc::clone(&known), Some(way)));
            before = known;
        }
        self.arena.first_pair(self.sounded.as_ref(), &self.legs)
    }
}
