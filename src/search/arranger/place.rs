//! One chord with its candidates.

use super::pin::Pin;
use crate::chord::{Chord, Degree, Function, Seventh};
use crate::pitch::Pitch;
use crate::rules::{Judge, MovingNote, Rights, RuleSet, Situation};
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

    /// The same chord with the same function under the same melody note, where the melody moves on in another way: the same hands, of which
    /// each costs more or less. `None` where the notes that follow may do more than that.
    pub(super) fn moved(
        &self,
        setting: &Setting,
        rules: &'r RuleSet,
        options: &ArrangeOptions,
    ) -> Option<Self> {
        let judge = rules.judge_for_pairs(self.chord, &setting.situation(options));
        fn keys(shapes: &[Shape]) -> impl Iterator<Item = &[u8]> {
            shapes.iter().map(|shape| &shape.keys[..])
        }
        let lefts = judge.moving_costs(&self.judge, true, keys(&self.lefts))?;
        let rights = judge.moving_costs(&self.judge, false, keys(&self.rights))?;
        let mut base = self.base.clone();
        // Beyond this, sums might have been cut off somewhere.
        let fits = |points: &i32| (-Layer::MOST..=Layer::MOST).contains(points);
        let all = base.iter().filter(|cost| **cost != Layer::NEVER).chain(&lefts).chain(&rights);
        if !all.fold(true, |all, points| all & fits(points)) {
            return None;
        }
        for (row, left) in base.chunks_exact_mut(rights.len().max(1)).zip(&lefts) {
            for (cost, right) in row.iter_mut().zip(&rights) {
                let sum = cost.wrapping_add(left + right);
                *cost = if *cost == Layer::NEVER { Layer::NEVER } else { sum };
            }
        }
        Some(Self { chord: self.chord, judge, lefts: self.lefts.clone(), rights: self.rights.clone(), base })
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
            let inner = Rights::new(self.rights.iter().map(Shape::inner));
            self.judge.score_pairs(lefts(), &inner, None, |scores| {
                let start = under.len();
                under.resize(start + self.rights.len(), false);
                let row = under.get_mut(start..).unwrap_or_default();
                for (right, _) in scores.clashing() {
                    row.get_mut(right).into_iter().for_each(|clash| *clash = true);
                }
            });
        }
        let width = self.rights.len();
        let rights = Rights::new(self.rights.iter().map(|right| &right.keys[..]));
        let low = |right: &Shape| right.keys.first().map_or(i32::MAX, |key| i32::from(*key));
        let lows: Vec<i32> = self.rights.iter().map(low).collect();
        let (forbids, enough) = (strictness == Strictness::NoClash, rules.colour_enough());
        let mut base: Vec<i32> = Vec::with_capacity(self.lefts.len() * width);
        let mut left_hands = self.lefts.iter();
        self.judge.score_pairs(lefts(), &rights, None, |scores| {
            let Some(left) = left_hands.next() else { return };
            let top = left.keys.last().map_or(i32::MIN, |key| i32::from(*key));
            let start = base.len();
            scores.push_points(enough, &mut base);
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
        let is_narrower = keep_right.contains(&false);
        let count = |keep: &[bool]| keep.iter().filter(|keep| **keep).count();
        let mut base = Vec::with_capacity(count(&keep_left) * count(&keep_right));
        for (row, _) in rows {
            match is_narrower {
                true => {
                    base.extend(row.iter().zip(&keep_right).filter(|(_, keep)| **keep).map(|(cost, _)| *cost))
                }
                false => base.extend_from_slice(row),
            }
        }
        self.base = base;
        kept(&mut self.lefts, &keep_left);
        kept(&mut self.rights, &keep_right);
    }
}

/// Adds a shape unless its keys are there.
fn add(shapes: &mut Vec<Shape>, shape: Option<Shape>) {
    let new = shape.filter(|shape| shapes.iter().all(|known| known.keys != shape.keys));
    shapes.extend(new);
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::chord::chord;
    use crate::pitch::pitch;

    /// Notes that the melody moves on to cost, each in its way.
    const COSTS: &str = r##"
        format = 1
        name = "costs"
        extends = ["standard"]
        rule = [
            { id = "a", kind = "melody", above = [1, 2, 13, 14], moving = true, cost = 7, @ },
            { id = "b", kind = "melody", above = [3, 15, 1], cost = 5, @ },
        ]
    "##;
    /// They do more than cost.
    const MORE: [&str; 3] = [
        r#"{ id = "c", kind = "melody", above = [1, 13], moving = true, effect = "clash", @ }"#,
        r#"{ id = "c", kind = "melody", above = [1, 13], moving = true, colour = 3, @ }"#,
        r#"{ id = "c", kind = "melody", above = [1, 13], moving = true, when = { lowest-to = "C3" }, cost = 3, @ }"#,
    ];

    fn set(text: &str) -> RuleSet {
        let text = text.replace('@', r#"message = "x", help = "y", source = "invented for this test""#);
        RuleSet::from_toml("moving.toml", &text).unwrap()
    }

    fn moving() -> impl Strategy<Value = Vec<(Pitch, u8)>> {
        let note = prop::sample::select(vec!["C4", "Db4", "E4", "F#4", "A4", "Bb4", "C5", "D5", "Eb5", "G5"]);
        prop::collection::vec((note.prop_map(pitch), 1u8..=16), 0..5)
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

        /// The slow twin: the place made anew.
        #[test]
        fn prop_moved_as_made_anew(
            symbol in prop::sample::select(vec!["C7", "Dm7", "Ebmaj7", "F#m7b5", "G", "A7sus4", "Bb7(b9)"]),
            // Some fight the chord.
            melody in prop::sample::select(vec!["C4", "C#5", "B4", "E5", "F4", "Ab4", "Bb4"]),
            [first, then] in [moving(), moving()],
            small in any::<bool>(),
        ) {
            let hand = if small { crate::voicing::HandSize::Small } else { crate::voicing::HandSize::Medium };
            let options = ArrangeOptions { hand, ..ArrangeOptions::default() };
            let setting = |moving| Setting { chord: chord(symbol), function: None, melody: Some(pitch(melody)), moving };
            for rules in RuleSet::names().map(|name| RuleSet::named(name).unwrap().clone()).chain([set(COSTS)]) {
                let before = Place::new(&setting(first.clone()), &[], &rules, &options);
                let anew = Place::new(&setting(then.clone()), &[], &rules, &options);
                let moved = before.moved(&setting(then.clone()), &rules, &options);
                if rules.name() == "standard" || rules.name() == "costs" {
                    prop_assert!(moved.is_some());
                }
                let Some(moved) = moved else { continue };
                let keys = |place: &Place<'_>| [&place.lefts, &place.rights].map(|shapes| shapes.iter().map(|shape| (shape.hand, shape.inner().to_vec())).collect::<Vec<_>>());
                prop_assert_eq!(keys(&moved), keys(&anew));
                prop_assert_eq!(moved.base, anew.base, "{} under {}", symbol, melody);
            }
        }
    }

    #[test]
    fn err_notes_that_do_more_than_cost() {
        let setting = Setting {
            chord: chord("C7"),
            function: None,
            melody: Some(pitch("E5")),
            moving: vec![(pitch("D5"), 8)],
        };
        let options = ArrangeOptions::default();
        for rule in MORE {
            let rules = set(&COSTS.replace("rule = [", &format!("rule = [{rule},")));
            let place = Place::new(&setting, &[], &rules, &options);
            assert!(place.moved(&setting, &rules, &options).is_none(), "{rule}");
        }
    }
}
