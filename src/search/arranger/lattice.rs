//! A whole tune with its candidates, as layers for the search.

use std::collections::HashMap;

use super::lack::lack;
use super::pin::{Pin, conflict, meets_melody};
use super::place::{Place, Setting};
use crate::chord::{Chord, Function, Reharmonisation};
use crate::error::{Error, Kind, Result};
use crate::pitch::Pitch;
use crate::rules::RuleSet;
use crate::search::candidates::{Material, Shape};
use crate::search::options::{ArrangeOptions, Instead, SearchLimits};
use crate::search::paths::{Coming, Layer, Ways, stride};
use crate::search::progression::{Progression, Slot};
use crate::search::watch::{Watch, tell};

/// No way from chord to chord counts more than this many points.
pub(in crate::search) const DEAREST_WAY: i32 = Layer::MOST;

/// A tune with its candidates in one octave.
#[derive(Debug)]
pub(super) struct Lattice<'r> {
    pub(super) shift: i8,
    /// The chords to be played with their candidates, each setting once.
    places: Vec<Place<'r>>,
    /// For each place the first with the same hands, between which ways cost the same.
    hands: Vec<usize>,
    /// One for each layer.
    pub(super) parts: Vec<Part>,
    pub(super) layers: Vec<Layer>,
    /// Slots whose chord has no candidates.
    pub(super) without: Vec<usize>,
}

/// What hands draw from over each chord, in whatever octave.
pub(super) type Materials = HashMap<Chord, Material>;

/// What is found once for all that ask again.
struct Known<'m> {
    materials: &'m mut Materials,
    /// The place of each setting; `None` where it has no candidates.
    places: HashMap<Setting, Option<usize>>,
    /// The first place under each beginning of a setting.
    begun: HashMap<Begun, Option<usize>>,
    /// By the first places with the same hands.
    ways: HashMap<(usize, usize), (Ways, Ways, bool)>,
}

/// What decides which hands are candidates: chord, function, and the melody note; where it rests, the one that follows.
type Begun = (Chord, Option<Function>, Option<Pitch>, Option<Pitch>);

/// A chord that may be played for a slot, or a part of it.
#[derive(Clone, Debug)]
pub(in crate::search) struct Part {
    pub(in crate::search) slot: usize,
    pub(in crate::search) place: usize,
    pub(in crate::search) setting: Setting,
    /// How the written chord is changed.
    pub(in crate::search) by: Option<Reharmonisation>,
    /// Whether it takes half of the slot's time and counts half.
    pub(in crate::search) half: Half,
    /// What the change costs, where this is its first part.
    pub(in crate::search) toll: i32,
}

impl Part {
    /// What a pair counts here that alone counts so much.
    pub(super) fn weighed(&self, points: i32) -> i32 {
        self.toll
            + match self.half {
                Half::Whole => points,
                Half::First => points - points.div_euclid(2),
                Half::Second => points.div_euclid(2),
            }
    }
}

/// Whether a part takes the whole time of its slot; of two halves the first counts the odd point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::search) enum Half {
    Whole,
    First,
    Second,
}

/// What is asked.
pub(in crate::search) struct Question<'q, 'r> {
    pub(in crate::search) progression: &'q Progression,
    pub(in crate::search) rules: &'r RuleSet,
    pub(in crate::search) options: &'q ArrangeOptions,
    pub(in crate::search) pins: &'q [(usize, Pin)],
}

impl<'r> Lattice<'r> {
    /// The candidates of every chord, with the melody so many semitones higher.
    pub(super) fn new(
        question: &Question<'_, 'r>,
        materials: &mut Materials,
        shift: i8,
        watch: Watch<'_>,
    ) -> Result<Self> {
        let Question { progression, options, pins, .. } = question;
        let limits = &options.limits;
        let functions = progression.functions();
        let mut lattice = Self {
            shift,
            places: Vec::new(),
            hands: Vec::new(),
            parts: Vec::new(),
            layers: Vec::new(),
            without: Vec::new(),
        };
        let mut known =
            Known { materials, places: HashMap::new(), begun: HashMap::new(), ways: HashMap::new() };
        let mut all_pairs = 0;
        // Where the chords before end.
        let mut ends: Vec<usize> = Vec::new();
        for (at, (slot, function)) in progression.slots.iter().zip(&functions).enumerate() {
            tell(watch, at, progression.slots.len())?;
            let own: Vec<Pin> = pins.iter().filter(|(slot, _)| *slot == at).map(|(_, pin)| *pin).collect();
            let mut new_ends = Vec::new();
            // What is pinned is pinned over the chord as it is written.
            let instead = if own.is_empty() { options.instead } else { Instead::NOTHING };
            for parts in plays(progression, at, slot, *function, shift, instead) {
                let first = lattice.layers.len();
                let mut before = ends.clone();
                for mut part in parts {
                    let Some(place) = lattice.place(&mut known, &part.setting, at, &own, question)? else {
                        // One part without candidates takes the whole play away.
                        lattice.layers.truncate(first);
                        lattice.parts.truncate(first);
                        before.clear();
                        break;
                    };
                    part.place = place;
                    let pairs = lattice.places.get(place).map_or(0, |place| place.base.len());
                    let of_chord = format!("pairs of hands for chord {}", at + 1);
                    SearchLimits::hold(pairs, limits.pairs, "pairs", &of_chord)?;
                    all_pairs += pairs;
                    SearchLimits::hold(
                        all_pairs,
                        limits.all_pairs,
                        "all_pairs",
                        "pairs of hands for all chords",
                    )?;
                    let layer = lattice.layer(&part, &before, &mut known);
                    lattice.layers.push(layer);
                    lattice.parts.push(part);
                    before = vec![lattice.layers.len() - 1];
                }
                new_ends.extend(before.into_iter().filter(|end| *end >= first));
            }
            if !new_ends.is_empty() {
                ends = new_ends;
            } else if slot.chord.is_some() {
                lattice.without.push(at);
            }
        }
        Ok(lattice)
    }

    /// The place of a setting, found before or new; `None` where it has no candidates.
    fn place(
        &mut self,
        known: &mut Known<'_>,
        setting: &Setting,
        slot: usize,
        pins: &[Pin],
        question: &Question<'_, 'r>,
    ) -> Result<Option<usize>> {
        let (rules, options) = (question.rules, question.options);
        if !pins.is_empty() {
            for pin in pins {
                meets_melody(slot + 1, pin, setting.melody)?;
            }
            let place = Place::new(setting, pins, rules, options);
            if place.is_empty() {
                if Place::new(setting, &[], rules, options).is_empty() {
                    let finding = lack(question, self.shift, slot);
                    let message = format!(
                        "chord {} (`{}`) cannot be pinned: {}",
                        slot + 1,
                        setting.chord,
                        finding.message
                    );
                    return Err(Error::new(Kind::NoAnswer, message).with_help(finding.help));
                }
                let can = |pins: &[Pin]| !Place::new(setting, pins, rules, options).is_empty();
                return Err(conflict(slot + 1, setting.chord, pins, can));
            }
            return Ok(Some(self.take(place, None)));
        }
        if let Some(found) = known.places.get(setting) {
            return Ok(*found);
        }
        let following = setting.moving.first().map(|(pitch, _)| *pitch).filter(|_| setting.melody.is_none());
        let begun: Begun = (setting.chord, setting.function, setting.melody, following);
        let first = known.begun.get(&begun).copied();
        let moved = first.and_then(|first| match first {
            None => Some(None),
            Some(first) => Some(Some((self.places.get(first)?.moved(setting, rules, options)?, first))),
        });
        let found = match moved {
            Some(moved) => moved.map(|(place, first)| self.take(place, Some(first))),
            None => {
                let chord = setting.as_played();
                let material = known.materials.entry(chord).or_insert_with(|| Material::new(chord));
                let place = Place::from_material(material, setting, &[], rules, options);
                (!place.is_empty()).then(|| self.take(place, None))
            }
        };
        known.begun.entry(begun).or_insert(found);
        known.places.insert(setting.clone(), found);
        Ok(found)
    }

    /// Keeps a place, which has the hands of another where that is given; its number.
    fn take(&mut self, place: Place<'r>, hands_of: Option<usize>) -> usize {
        let at = self.places.len();
        self.places.push(place);
        self.hands.push(hands_of.unwrap_or(at));
        at
    }

    fn layer(&self, part: &Part, before: &[usize], known: &mut Known<'_>) -> Layer {
        let Some(place) = self.places.get(part.place) else { return Layer::default() };
        let weighed =
            |points: &i32| if *points == Layer::NEVER { Layer::NEVER } else { part.weighed(*points) };
        let is_plain = part.half == Half::Whole && part.toll == 0;
        let base = if is_plain { place.base.clone() } else { place.base.iter().map(weighed).collect() };
        let comings = before.iter().filter_map(|layer| {
            let from = self.parts.get(*layer)?.place;
            let before = self.places.get(from)?;
            let hands = (*self.hands.get(from)?, *self.hands.get(part.place)?);
            let (left, right, joint) =
                known.ways.entry(hands).or_insert_with(|| ways_between(before, place)).clone();
            Some(Coming { layer: *layer, left, right, joint })
        });
        Layer { lefts: place.lefts.len(), rights: place.rights.len(), base, from: comings.collect() }
    }

    /// The place of a layer.
    pub(super) fn place_of(&self, layer: usize) -> Option<&Place<'r>> {
        self.places.get(self.parts.get(layer)?.place)
    }

    /// What both hands together cost on the way to a layer.
    pub(super) fn joint(&self, layer: usize, which: usize, from: usize, to: usize) -> i32 {
        let coming = self.layers.get(layer).and_then(|layer| layer.from.get(which));
        let both = coming.and_then(|coming| Some((self.place_of(coming.layer)?, self.place_of(layer)?)));
        let Some((before, place)) = both else { return 0 };
        fn hands<'p>(place: &'p Place<'_>, pair: usize) -> Option<[&'p [u8]; 2]> {
            let rights = place.rights.len().max(1);
            Some([&place.lefts.get(pair / rights)?.keys, &place.rights.get(pair % rights)?.keys])
        }
        let Some((from, to)) = hands(before, from).zip(hands(place, to)) else { return 0 };
        place.judge.joint_motion_cost(&before.judge, from, to)
    }
}

/// The ways to play a slot: as written, and otherwise where that is allowed and possible.
fn plays(
    progression: &Progression,
    at: usize,
    slot: &Slot,
    function: Option<Function>,
    shift: i8,
    instead: Instead,
) -> Vec<Vec<Part>> {
    let part = |setting, by, half, toll| Part { slot: at, place: 0, setting, by, half, toll };
    let Some(setting) = Setting::new(slot, function, shift) else { return Vec::new() };
    let mut plays = vec![vec![part(setting, None, Half::Whole, 0)]];
    let mut ways = instead.ways().peekable();
    if ways.peek().is_none() {
        return plays;
    }
    let here = from_here(progression, at);
    for by in ways {
        let Ok(changed) = here.reharmonised(0, by) else { continue };
        let count = (changed.slots.len() + 1).saturating_sub(here.slots.len());
        let functions = changed.functions();
        // A substitute falls a semitone to where the dominant goes (common practice, no source).
        let root = |slot: &Slot| slot.chord.map(|chord| chord.root().pitch_class());
        let dominant = changed.slots.get(count.saturating_sub(1)).and_then(root);
        let goal = changed.slots.iter().skip(count).find_map(root);
        let falls = dominant.zip(goal).is_some_and(|(dominant, goal)| goal.up(1) == dominant);
        if matches!(by, Reharmonisation::Substitute | Reharmonisation::SubstituteTwoFive) && !falls {
            continue;
        }
        let own = changed.slots.iter().zip(functions).take(count);
        let settings: Option<Vec<Setting>> =
            own.map(|(slot, function)| Setting::new(slot, function, shift)).collect();
        let Some(settings) = settings else { continue };
        let toll = |index: usize| if index == 0 { i32::from(instead.toll()) } else { 0 };
        let half = |index: usize| match (count, index) {
            (1, _) => Half::Whole,
            (_, 0) => Half::First,
            _ => Half::Second,
        };
        let parts = settings.into_iter().enumerate();
        plays.push(parts.map(|(index, setting)| part(setting, Some(by), half(index), toll(index))).collect());
    }
    plays
}

/// The chord at this place and those that follow, as far as what it does depends on them: up to the second chord on another root.
fn from_here(progression: &Progression, at: usize) -> Progression {
    let mut slots: Vec<Slot> = Vec::new();
    let mut others = 0;
    for slot in progression.slots.iter().skip(at) {
        let root = |slot: &Slot| slot.chord.map(|chord| chord.root().pitch_class());
        let is_other = root(slot).is_some() && slots.last().is_some_and(|before| root(before) != root(slot));
        others += usize::from(is_other);
        slots.push(slot.clone());
        if others == 2 {
            break;
        }
    }
    Progression { key: progression.key, slots }
}

/// What it costs each hand to go from one place to the next, and whether both together cost something more.
pub(in crate::search) fn ways_between(before: &Place<'_>, place: &Place<'_>) -> (Ways, Ways, bool) {
    let judge = &place.judge;
    fn inner(shapes: &[Shape]) -> Vec<&[u8]> {
        shapes.iter().map(Shape::inner).collect()
    }
    let way = |left: bool, from: &[Shape], to: &[Shape]| -> Vec<i32> {
        let mut costs = Vec::new();
        judge.motion_costs(left, &inner(from), &inner(to), DEAREST_WAY, &mut costs);
        costs
    };
    let ways = |left: bool, from: &[Shape], to: &[Shape]| {
        let mut costs = Vec::new();
        match judge.short_motion_costs(left, &inner(from), &inner(to), stride(to.len()), &mut costs) {
            true => Ways::short(to.len(), costs),
            false => Ways::new(to.len(), &way(left, from, to)),
        }
    };
    let right = ways(false, &before.rights, &place.rights);
    if judge.has_joint_motion() {
        let mut joint = false;
        let mut left = way(true, &before.lefts, &place.lefts);
        match (judge.has_coded_motion(), before.only_top(), place.only_top()) {
            // Where the tune gives both tops, the outer voices are a matter of the left hands.
            (false, Some(top_before), Some(top)) => {
                let pairs = itertools::iproduct!(&before.lefts, &place.lefts);
                for ((from, to), cost) in pairs.zip(&mut left) {
                    let (from, to) = ([&from.keys[..], &[top_before]], [&to.keys[..], &[top]]);
                    *cost = cost
                        .saturating_add(judge.joint_motion_cost(&before.judge, from, to))
                        .min(DEAREST_WAY);
                }
            }
            _ => joint = true,
        }
        return (Ways::new(place.lefts.len(), &left), right, joint);
    }
    (ways(true, &before.lefts, &place.lefts), right, false)
}
