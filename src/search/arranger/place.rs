//! One chord with its candidates.

use super::pin::Pin;
use crate::chord::{Chord, Degree, Function, Seventh};
use crate::pitch::Pitch;
use crate::rules::{Judge, MovingNote, PairScores, RuleSet, Situation};
use crate::search::candidates::{Shape, lefts, rights};
use crate::search::options::ArrangeOptions;
use crate::search::paths::Layer;
use crate::search::progression::Slot;
use crate::voicing::Voicing;

/// One chord with its candidates.
#[derive(Debug)]
pub(in crate::search) struct Place<'r> {
    /// The chord as it is played.
    pub(in crate::search) chord: Chord,
    pub(in crate::search) judge: Judge<'r>,
    pub(in crate::search) lefts: Vec<Shape>,
    pub(in crate::search) rights: Vec<Shape>,
    /// What each pair costs, a row for each left shape; [`Layer::NEVER`] where it is no candidate.
    pub(in crate::search) base: Vec<i32>,
}

/// What a pair must not do to be a candidate.
#[derive(Clone, Copy, PartialEq)]
enum Strictness {
    NoClash,
    /// The melody may clash, the notes under it may not.
    NoClashUnderMelody,
    Anything,
}

/// What is known of a chord in its tune.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(in crate::search) struct Setting {
    pub(in crate::search) chord: Chord,
    pub(in crate::search) function: Option<Function>,
    pub(in crate::search) melody: Option<Pitch>,
    pub(in crate::search) moving: Vec<(Pitch, u8)>,
}

impl Setting {
    /// The slot with its melody so many semitones higher; `None` where no chord sounds.
    pub(in crate::search) fn new(slot: &Slot, function: Option<Function>, shift: i8) -> Option<Self> {
        let up = |pitch: Pitch| pitch.shift_octaves(shift / 12);
        Some(Self {
            chord: slot.chord?,
            function,
            melody: slot.melody.and_then(up),
            moving: slot.moving.iter().filter_map(|(pitch, share)| Some((up(*pitch)?, *share))).collect(),
        })
    }

    /// The chord as it is played under the melody.
    fn as_played(&self) -> Chord {
        self.melody
            .map_or_else(|| self.chord.as_played(), |note| self.chord.as_played_under(note.pitch_class()))
    }

    pub(in crate::search) fn situation(&self, options: &ArrangeOptions) -> Situation {
        let moving = self.moving.iter();
        Situation {
            function: self.function,
            melody: self.melody,
            moving: moving
                .map(|(pitch, sixteenths)| MovingNote { key: pitch.midi(), sixteenths: *sixteenths })
                .collect(),
            hand_size: options.hand,
            bass_player: options.bass_player,
        }
    }
}

impl<'r> Place<'r> {
    /// The candidates of a chord under its pins; without pairs where there are none.
    pub(in crate::search) fn new(
        setting: &Setting,
        pins: &[Pin],
        rules: &'r RuleSet,
        options: &ArrangeOptions,
    ) -> Self {
        let chord = setting.as_played();
        let judge = rules.judge_for(chord, &setting.situation(options));
        let melody = setting.melody;
        let mut lefts = lefts(chord, &judge, melody.map_or(Pitch::HIGHEST_MIDI, Pitch::midi));
        let following = setting.moving.first().map(|(pitch, _)| pitch.midi());
        let mut rights = rights(chord, melody, following, &judge);
        for pin in pins {
            let Pin { what, avoid: false } = pin else { continue };
            let [left, right] = what.hands();
            add(&mut lefts, left.map(|hand| Shape::new(hand, false)));
            add(&mut rights, right.map(|hand| Shape::new(hand, melody.is_some())));
        }
        let mut place = Self { chord, judge, lefts, rights, base: Vec::new() };
        // A major seventh over a dominant is no reason to give the chord's own seventh up: the melody is left to clash.
        let foreign = melody.is_some_and(|note| chord.degree_of(note.pitch_class()) == Degree::MajorSeven)
            && chord.quality().seventh == Seventh::Flat;
        if !foreign {
            // A hand that clashes by itself clashes in every pair.
            let all = std::mem::take(&mut place.rights);
            let quiet = all.iter().filter(|right| !place.judge.right_clashes(&right.keys));
            place.rights = quiet.cloned().collect();
            if place.fill(Strictness::NoClash, pins, rules) {
                return place;
            }
            place.rights = all;
        }
        let _ = [Strictness::NoClashUnderMelody, Strictness::Anything]
            .into_iter()
            .any(|strictness| place.fill(strictness, pins, rules));
        place
    }

    /// The chord with its judge alone, to explain what was played over it.
    pub(in crate::search) fn without_candidates(
        setting: &Setting,
        rules: &'r RuleSet,
        options: &ArrangeOptions,
    ) -> Self {
        let chord = setting.as_played();
        let judge = rules.judge_for(chord, &setting.situation(options));
        Self { chord, judge, lefts: Vec::new(), rights: Vec::new(), base: Vec::new() }
    }

    /// Finds what pairs cost, and drops what no pair uses; `false` where no pair is admitted.
    fn fill(&mut self, strictness: Strictness, pins: &[Pin], rules: &RuleSet) -> bool {
        fn keys(shapes: &[Shape]) -> Vec<&[u8]> {
            shapes.iter().map(|shape| &shape.keys[..]).collect()
        }
        let lefts = keys(&self.lefts);
        let scores = self.judge.score_pairs(&lefts, &keys(&self.rights));
        let under = (strictness == Strictness::NoClashUnderMelody).then(|| {
            let inner: Vec<&[u8]> = self.rights.iter().map(Shape::inner).collect();
            self.judge.score_pairs(&lefts, &inner)
        });
        let mut base = Vec::with_capacity(self.lefts.len() * self.rights.len());
        for (l, left) in self.lefts.iter().enumerate() {
            for (r, right) in self.rights.iter().enumerate() {
                let pair = [(l, left), (r, right)];
                let cost = self.pair_cost(pair, &scores, under.as_ref(), strictness, pins, rules);
                base.push(cost.unwrap_or(Layer::NEVER));
            }
        }
        let any = base.iter().any(|cost| *cost != Layer::NEVER);
        if any {
            self.base = base;
            self.drop_unused();
        }
        any
    }

    fn pair_cost(
        &self,
        [(l, left), (r, right)]: [(usize, &Shape); 2],
        scores: &PairScores,
        under: Option<&PairScores>,
        strictness: Strictness,
        pins: &[Pin],
        rules: &RuleSet,
    ) -> Option<i32> {
        if left.keys.last().zip(right.keys.first()).is_some_and(|(low, high)| low >= high) {
            return None;
        }
        let score = scores.get(l, r);
        let admitted = match strictness {
            Strictness::NoClash => !score.clash,
            Strictness::NoClashUnderMelody => under.is_some_and(|under| !under.get(l, r).clash),
            Strictness::Anything => true,
        };
        if !admitted || !pins.iter().all(|pin| pin.allows(self.chord, left, right)) {
            return None;
        }
        Some(Self::points(score, rules))
    }

    /// What a score adds to an arrangement: colour is no gain where the melody fights the chord already.
    pub(in crate::search) fn points(score: crate::rules::Score, rules: &RuleSet) -> i32 {
        let colour = if score.clash { 0 } else { score.colour.min(rules.colour_enough()) };
        score.cost.saturating_sub(colour)
    }

    /// The one top note of all right hands, where there is a left hand below each.
    pub(in crate::search) fn only_top(&self) -> Option<u8> {
        let mut tops = self.rights.iter().map(|right| right.keys.last().copied());
        let first = tops.next()??;
        let under = self.lefts.iter().all(|left| !left.keys.is_empty());
        (under && tops.all(|top| top == Some(first))).then_some(first)
    }

    /// Whether no pair is a candidate.
    pub(in crate::search) fn is_empty(&self) -> bool {
        self.base.is_empty()
    }

    /// The voicing of a pair.
    pub(in crate::search) fn voicing(&self, left: usize, right: usize) -> Option<Voicing> {
        Voicing::new(self.lefts.get(left)?.hand, self.rights.get(right)?.hand).ok()
    }

    /// Drops the shapes that no pair uses: they cannot be part of any path.
    fn drop_unused(&mut self) {
        let rights = self.rights.len().max(1);
        let mut keep_left = vec![false; self.lefts.len()];
        let mut keep_right = vec![false; rights];
        for (row, keep) in self.base.chunks_exact(rights).zip(&mut keep_left) {
            for (cost, keep_right) in row.iter().zip(&mut keep_right) {
                *keep |= *cost != Layer::NEVER;
                *keep_right |= *cost != Layer::NEVER;
            }
        }
        let mut both = keep_left.iter().flat_map(|left| keep_right.iter().map(move |right| *left && *right));
        self.base.retain(|_| both.next().unwrap_or(false));
        let (mut left, mut right) = (keep_left.iter(), keep_right.iter());
        self.lefts.retain(|_| left.next().copied().unwrap_or(false));
        self.rights.retain(|_| right.next().copied().unwrap_or(false));
    }
}

/// Adds a shape unless its keys are there.
fn add(shapes: &mut Vec<Shape>, shape: Option<Shape>) {
    let new = shape.filter(|shape| shapes.iter().all(|known| known.keys != shape.keys));
    shapes.extend(new);
}
