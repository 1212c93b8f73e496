//! Chords met before with their candidates, and the ways between them.

use std::sync::Arc;

use crate::chord::{Chord, Function};
use crate::pitch::Pitch;
use crate::rules::RuleSet;
use crate::search::arranger::{DEAREST_WAY, Place, Setting, ways_between};
use crate::search::candidates::Shape;
use crate::search::options::ArrangeOptions;
use crate::search::paths::{Coming, Layer};
use crate::search::progression::Slot;
use crate::voicing::Voicing;

/// So many things used last; where there is no more room, the one goes that was not used for the longest time.
#[derive(Debug)]
pub(super) struct Shelf<T> {
    kept: Vec<(u64, Arc<T>)>,
    most: usize,
    uses: u64,
}

impl<T> Shelf<T> {
    pub(super) fn new(most: usize) -> Self {
        Self { kept: Vec::with_capacity(most), most, uses: 0 }
    }

    /// The first that fits, which is then the one used last.
    pub(super) fn find(&mut self, fits: impl Fn(&T) -> bool) -> Option<Arc<T>> {
        let (used, found) = self.kept.iter_mut().find(|(_, item)| fits(item))?;
        self.uses += 1;
        *used = self.uses;
        Some(Arc::clone(found))
    }

    pub(super) fn put(&mut self, item: T) -> Arc<T> {
        self.uses += 1;
        let item = Arc::new(item);
        let new = (self.uses, Arc::clone(&item));
        if self.kept.len() < self.most {
            self.kept.push(new);
        } else if let Some(oldest) = self.kept.iter_mut().min_by_key(|(used, _)| *used) {
            *oldest = new;
        }
        item
    }

    #[cfg(test)]
    pub(super) fn len(&self) -> usize {
        self.kept.len()
    }
}

/// A chord in its tune, asked for; its melody so many semitones higher.
#[derive(Clone, Copy)]
pub(super) struct Sought<'s> {
    pub(super) chord: Chord,
    pub(super) function: Function,
    pub(super) melody: Option<Pitch>,
    pub(super) moving: &'s [(Pitch, u8)],
    pub(super) shift: i8,
}

impl Sought<'_> {
    fn up(&self, pitch: Pitch) -> Option<Pitch> {
        pitch.shift_octaves(self.shift / 12)
    }

    /// Whether this is it; makes nothing.
    pub(super) fn is(&self, setting: &Setting) -> bool {
        let moving = self.moving.iter().filter_map(|(pitch, share)| Some((self.up(*pitch)?, *share)));
        setting.chord == self.chord
            && setting.function == Some(self.function)
            && setting.melody == self.melody.and_then(|pitch| self.up(pitch))
            && moving.eq(setting.moving.iter().copied())
    }

    pub(super) fn setting(&self) -> Option<Setting> {
        let moving = self.moving.to_vec();
        let slot = Slot { chord: Some(self.chord), melody: self.melody, moving };
        Setting::new(&slot, Some(self.function), self.shift)
    }
}

/// A chord in its tune with its candidates.
#[derive(Debug)]
pub(super) struct Known<'r> {
    pub(super) id: u64,
    pub(super) setting: Arc<Setting>,
    pub(super) place: Place<'r>,
    /// What each pair costs; no pairs where there is no candidate.
    pub(super) layer: Layer,
    /// How many pairs there were, where those were too many.
    pub(super) too_many: Option<usize>,
    only_top: Option<u8>,
}

impl<'r> Known<'r> {
    pub(super) fn new(id: u64, setting: Setting, rules: &'r RuleSet, options: &ArrangeOptions) -> Self {
        let mut place = Place::new(&setting, &[], rules, options);
        let too_many = Some(place.base.len()).filter(|pairs| *pairs > options.limits.pairs);
        if too_many.is_some() {
            place = Place::without_candidates(&setting, rules, options);
        }
        let base = std::mem::take(&mut place.base);
        let (lefts, rights) = if base.is_empty() { (0, 0) } else { (place.lefts.len(), place.rights.len()) };
        let layer = Layer { lefts, rights, base, from: Vec::new() };
        Self { id, setting: Arc::new(setting), only_top: place.only_top(), place, layer, too_many }
    }

    pub(super) fn has_candidates(&self) -> bool {
        self.layer.pairs() > 0
    }

    /// The hands of a pair.
    pub(super) fn hands(&self, pair: usize) -> Option<[&Shape; 2]> {
        let rights = self.layer.rights.max(1);
        Some([self.place.lefts.get(pair / rights)?, self.place.rights.get(pair % rights)?])
    }

    /// What both hands together cost on the way from a pair of the chord before to one of this.
    pub(super) fn joint(&self, before: &Known<'_>, from: usize, to: usize) -> i32 {
        fn keys([left, right]: [&Shape; 2]) -> [&[u8]; 2] {
            [&left.keys, &right.keys]
        }
        let Some((from, to)) = before.hands(from).zip(self.hands(to)) else { return 0 };
        self.place.judge.joint_motion_cost(&before.place.judge, keys(from), keys(to))
    }
}

/// The ways from the candidates of one chord to those of another.
#[derive(Debug)]
pub(super) struct Way {
    pub(super) from: u64,
    pub(super) to: u64,
    pub(super) coming: Coming,
}

impl Way {
    pub(super) fn new(before: &Known<'_>, known: &Known<'_>) -> Self {
        let (left, right, joint) = ways_between(&before.place, &known.place);
        let coming = Coming { layer: 0, left, right, joint }.settled();
        Self { from: before.id, to: known.id, coming }
    }
}

/// A pair that has sounded.
#[derive(Clone, Debug)]
pub(super) struct Sounded<'r> {
    pub(super) known: Arc<Known<'r>>,
    pub(super) pair: usize,
}

impl Sounded<'_> {
    pub(super) fn voicing(&self) -> Option<Voicing> {
        let rights = self.known.layer.rights.max(1);
        self.known.place.voicing(self.pair / rights, self.pair % rights)
    }

    /// What it costs each hand to go from here to each shape of a chord, as [`ways_between`] says it for all pairs, into the two
    /// lists; whether both together cost something more. Read from `way` where the ways are kept.
    pub(super) fn ways_to(
        &self,
        to: &Known<'_>,
        way: Option<&Way>,
        [left, right]: [&mut Vec<i32>; 2],
    ) -> bool {
        left.clear();
        right.clear();
        let Some([from_left, from_right]) = self.known.hands(self.pair) else { return false };
        if let Some(Way { coming, .. }) = way {
            let rights = self.known.layer.rights.max(1);
            left.extend((0..to.layer.lefts).map(|shape| coming.left.get(self.pair / rights, shape)));
            right.extend((0..to.layer.rights).map(|shape| coming.right.get(self.pair % rights, shape)));
            return coming.joint;
        }
        let judge = &to.place.judge;
        let way = |is_left, from: &Shape, to: &Shape| {
            judge.motion_cost(is_left, from.inner(), to.inner()).min(DEAREST_WAY)
        };
        left.extend(to.place.lefts.iter().map(|shape| way(true, from_left, shape)));
        right.extend(to.place.rights.iter().map(|shape| way(false, from_right, shape)));
        if !judge.has_joint_motion() {
            return false;
        }
        let (false, Some(top_before), Some(top)) =
            (judge.has_coded_motion(), self.known.only_top, to.only_top)
        else {
            return true;
        };
        // Where the tune gives both tops, the outer voices are a matter of the left hands.
        for (shape, cost) in to.place.lefts.iter().zip(left) {
            let (from, to): ([&[u8]; 2], [&[u8]; 2]) =
                ([&from_left.keys, &[top_before]], [&shape.keys, &[top]]);
            let both = judge.joint_motion_cost(&self.known.place.judge, from, to);
            *cost = cost.saturating_add(both).min(DEAREST_WAY);
        }
        false
    }

    /// What the way from here to one pair costs, in points ≥ 0.
    pub(super) fn way_to(&self, to: &Known<'_>, pair: usize) -> i32 {
        let hands = self.known.hands(self.pair).zip(to.hands(pair));
        let Some(([from_left, from_right], [left, right])) = hands else { return 0 };
        let judge = &to.place.judge;
        let left = judge.motion_cost(true, from_left.inner(), left.inner());
        let right = judge.motion_cost(false, from_right.inner(), right.inner());
        let both = if judge.has_joint_motion() { to.joint(&self.known, self.pair, pair) } else { 0 };
        left.saturating_add(right).saturating_add(both)
    }
}
