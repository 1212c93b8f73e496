//! One chord with its candidates.

use super::pin::Pin;
use crate::chord::{Chord, Degree, Function, Seventh};
use crate::pitch::Pitch;
use crate::rules::{Judge, MovingNote, RuleSet, Situation};
use crate::search::candidates::{Material, Shape};
use crate::search::options::ArrangeOptions;
use crate::search::paths::Layer;
use crate::search::progression::Slot;
use crate::voicing::{Hand, Voicing};

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
    pub(super) fn as_played(&self) -> Chord {
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
        Self::from_material(&Material::new(setting.as_played()), setting, pins, rules, options)
    }

    /// The same, from what was prepared for the chord as it is played.
    pub(super) fn from_material(
        material: &Material,
        setting: &Setting,
        pins: &[Pin],
        rules: &'r RuleSet,
        options: &ArrangeOptions,
    ) -> Self {
        let chord = setting.as_played();
        let judge = rules.judge_for_pairs(chord, &setting.situation(options));
        let melody = setting.melody;
        let lefts = material.lefts(&judge, melody.map_or(Pitch::HIGHEST_MIDI, Pitch::midi));
        let following = setting.moving.first().map(|(pitch, _)| pitch.midi());
        let mut place = Self { chord, judge, lefts, rights: Vec::new(), base: Vec::new() };
        let pinned = || pins.iter().filter(|pin| !pin.avoid).map(|pin| pin.what.hands());
        pinned().for_each(|[left, _]| add(&mut place.lefts, left.map(|hand| Shape::new(hand, false))));
        // A major seventh over a dominant is no reason to give the chord's own seventh up: the melody is left to clash.
        let foreign = melody.is_some_and(|note| chord.degree_of(note.pitch_class()) == Degree::MajorSeven)
            && chord.quality().seventh == Seventh::Flat;
        let right = |hand: Option<Hand>| hand.map(|hand| Shape::new(hand, melody.is_some()));
        if !foreign {
            // A hand that clashes by itself clashes in every pair.
            place.rights = {
                let alone = place.judge.alone();
                material.rights(melody, following, &place.judge, |keys| !alone.clashes(keys))
            };
            pinned().for_each(|[_, hand]| add(&mut place.rights, right(hand)));
            if place.fill(Strictness::NoClash, pins, rules) {
                return place;
            }
        }
        place.rights = material.rights(melody, following, &place.judge, |_| true);
        pinned().for_each(|[_, hand]| add(&mut place.rights, right(hand)));
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
        let judge = rules.judge_for_pairs(chord, &setting.situation(options));
        Self { chord, judge, lefts: Vec::new(), rights: Vec::new(), base: Vec::new() }
    }

    /// Finds what pairs cost, and drops what no pair uses; `false` where no pair is admitted.
    fn fill(&mut self, strictness: Strictness, pins: &[Pin], rules: &RuleSet) -> bool {
        let lefts = || self.lefts.iter().map(|left| &left.keys[..]);
        // Whether a pair clashes under the melody.
        let mut under: Vec<bool> = Vec::new();
        if strictness == Strictness::NoClashUnderMelody {
            let inner: Vec<&[u8]> = self.rights.iter().map(Shape::inner).collect();
            self.judge.score_pairs(lefts(), &inner, |scores| {
                let start = under.len();
                under.resize(start + inner.len(), false);
                let row = under.get_mut(start..).unwrap_or_default();
                for (right, _) in scores.clashing() {
                    row.get_mut(right).into_iter().for_each(|clash| *clash = true);
                }
            });
        }
        let width = self.rights.len();
        let rights: Vec<&[u8]> = self.rights.iter().map(|right| &right.keys[..]).collect();
        let lows: Vec<i32> =
            rights.iter().map(|right| right.first().map_or(i32::MAX, |key| i32::from(*key))).collect();
        let (forbids, enough) = (strictness == Strictness::NoClash, rules.colour_enough());
        let mut base: Vec<i32> = Vec::with_capacity(self.lefts.len() * width);
        let mut left_hands = self.lefts.iter();
        self.judge.score_pairs(lefts(), &rights, |scores| {
            let Some(left) = left_hands.next() else { return };
            let top = left.keys.last().map_or(i32::MIN, |key| i32::from(*key));
            let start = base.len();
            base.extend(scores.points(enough));
            let row = base.get_mut(start..).unwrap_or_default();
            for (right, cost) in scores.clashing() {
                if let Some(points) = row.get_mut(right) {
                    // Colour is no gain where the melody fights the chord already.
                    *points = if forbids { Layer::NEVER } else { cost };
                }
            }
            for (cost, low) in row.iter_mut().zip(&lows) {
                *cost = if *low <= top { Layer::NEVER } else { *cost };
            }
            if !pins.is_empty() {
                let row = base.get_mut(start..).unwrap_or_default();
                for (cost, right) in row.iter_mut().zip(&self.rights) {
                    let allowed = pins.iter().all(|pin| pin.allows(self.chord, left, right));
                    *cost = if allowed { *cost } else { Layer::NEVER };
                }
            }
        });
        for (cost, clash) in base.iter_mut().zip(&under) {
            *cost = if *clash { Layer::NEVER } else { *cost };
        }
        self.base = base;
        self.drop_unused();
        !self.base.is_empty()
    }

    /// What a score adds to an arrangement: up to `enough` points of colour, which is no gain where
    /// the melody fights the chord already.
    pub(in crate::search) fn points(score: crate::rules::Score, enough: i32) -> i32 {
        let colour = if score.clash { 0 } else { score.colour.min(enough) };
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

    /// Drops the shapes that no pair uses: they cannot be part of any path. Drops no shape, but all pairs, where none can be played.
    fn drop_unused(&mut self) {
        let rights = self.rights.len().max(1);
        let mut cheapest = vec![Layer::NEVER; rights];
        let mut keep_left = Vec::with_capacity(self.lefts.len());
        for row in self.base.chunks_exact(rights) {
            keep_left.push(row.iter().any(|cost| *cost != Layer::NEVER));
            for (cheapest, cost) in cheapest.iter_mut().zip(row) {
                *cheapest = (*cheapest).min(*cost);
            }
        }
        if !keep_left.contains(&true) {
            self.base.clear();
            return;
        }
        let keep_right: Vec<bool> = cheapest.iter().map(|cost| *cost != Layer::NEVER).collect();
        if !keep_left.contains(&false) && !keep_right.contains(&false) {
            return;
        }
        fn kept<T>(items: &mut Vec<T>, keep: &[bool]) {
            let mut keep = keep.iter();
            items.retain(|_| keep.next().copied().unwrap_or(false));
        }
        let rows = self.base.chunks_exact(rights).zip(&keep_left).filter(|(_, keep)| **keep);
        let cells = rows.flat_map(|(row, _)| row.iter().zip(&keep_right));
        self.base = cells.filter(|(_, keep)| **keep).map(|(cost, _)| *cost).collect();
        kept(&mut self.lefts, &keep_left);
        kept(&mut self.rights, &keep_right);
    }
}

/// Adds a shape unless its keys are there.
fn add(shapes: &mut Vec<Shape>, shape: Option<Shape>) {
    let new = shape.filter(|shape| shapes.iter().all(|known| known.keys != shape.keys));
    shapes.extend(new);
}
