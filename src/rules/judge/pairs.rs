//! Every left hand with every right hand at once.
//!
//! A search asks about hundreds of pairs of the same few hands. Most tests look at one hand, or at one key or pitch class of the
//! left against the right; what they fire is found once for each hand, once for each left key, once for each left pitch class
//! and so on, as a row with a cell for each right hand, and the rows are added up. [`Judge::score_keys`] is the slow twin.

use smallvec::SmallVec;

use super::sink::{Both, Source, Sum};
use super::{Judge, Score, Sink, Sound};
use crate::rules::kind::{Division, PairTest, Test};

/// Scores of pairs of hands.
#[derive(Clone, Debug, Default)]
pub(crate) struct PairScores {
    rights: usize,
    cells: Row,
}

impl PairScores {
    /// The score of a left and a right hand, by their places.
    #[inline]
    pub(crate) fn get(&self, left: usize, right: usize) -> Score {
        let at = left * self.rights + right;
        let mut sum = Sum::default();
        sum.clash = self.cells.clash.get(at).copied().unwrap_or_default();
        sum.add_both(self.cells.both.get(at).copied().unwrap_or_default());
        sum.score()
    }
}

/// What fires for each right hand.
#[derive(Clone, Debug, Default)]
struct Row {
    both: Vec<Both>,
    clash: Vec<bool>,
    /// Whether there is a clash anywhere.
    clashes: bool,
}

impl Row {
    fn new(rights: usize) -> Self {
        Self { both: vec![Both::default(); rights], clash: vec![false; rights], clashes: false }
    }

    /// Adds what a source fires so many times for each right hand.
    fn fire<'h>(&mut self, source: &Source, hands: &'h [OneHand<'h>], times: impl Fn(&OneHand<'h>) -> i32) {
        self.fire_each(source, hands, times);
    }

    /// The same, asking whoever remembers.
    fn fire_each<'h>(
        &mut self,
        source: &Source,
        hands: &'h [OneHand<'h>],
        mut times: impl FnMut(&OneHand<'h>) -> i32,
    ) {
        let weight = source.weight();
        if weight.clash {
            self.clashes = true;
            for (clash, hand) in self.clash.iter_mut().zip(hands) {
                *clash |= times(hand) > 0;
            }
            return;
        }
        let mut once = Both::default();
        once.add_times(&weight, 1);
        for (both, hand) in self.both.iter_mut().zip(hands) {
            let times = times(hand).max(0).unsigned_abs();
            if times > 0 {
                both.add_product(once, times);
            }
        }
    }

    /// Takes points away that were added too many; a clash stays one.
    fn take_back<'h>(
        &mut self,
        source: &Source,
        hands: &'h [OneHand<'h>],
        times: impl Fn(&OneHand<'h>) -> i32,
    ) {
        let weight = source.weight();
        for (both, hand) in self.both.iter_mut().zip(hands) {
            both.take_times(&weight, times(hand).max(0).unsigned_abs());
        }
    }

    /// Takes over what another has.
    fn copy(&mut self, other: &Self) {
        self.both.clone_from(&other.both);
        self.clash.clone_from(&other.clash);
    }

    #[inline]
    fn add(&mut self, other: &Self) {
        for (both, other) in self.both.iter_mut().zip(&other.both) {
            both.add(*other);
        }
        if other.clashes {
            for (clash, other) in self.clash.iter_mut().zip(&other.clash) {
                *clash |= other;
            }
        }
    }
}

/// A hand and what is often asked of it.
struct OneHand<'a> {
    keys: &'a [u8],
    /// Alone.
    sound: Sound,
    /// Its lowest key alone.
    lowest: Sound,
    /// One bit for each key.
    bits: u128,
    /// One bit for each pitch class.
    classes: u16,
    /// For each pitch class those that lie above its lowest key.
    above: [u16; 12],
}

impl<'a> OneHand<'a> {
    fn new(keys: &'a [u8]) -> Self {
        let (mut classes, mut above) = (0u16, [0u16; 12]);
        for key in keys {
            let bit = 1 << (key % 12);
            for (class, above) in (0..).zip(&mut above) {
                *above |= if classes >> class & 1 == 1 { bit } else { 0 };
            }
            classes |= bit;
        }
        let bits = keys.iter().fold(0, |bits, key| bits | 1u128 << (key % 128));
        Self {
            keys,
            sound: Sound::new(&[], keys),
            lowest: Sound::new(&[], keys.get(..1).unwrap_or_default()),
            bits,
            classes,
            above,
        }
    }

    fn has(&self, class: u8) -> bool {
        self.classes >> class & 1 == 1
    }

    /// Whether the pair sounds in this hand alone.
    fn fires(&self, pair: &PairTest) -> bool {
        match pair.either_way {
            true => self.has(pair.lower) && self.has(pair.upper),
            false => {
                self.above.get(usize::from(pair.lower)).is_some_and(|above| above >> pair.upper & 1 == 1)
            }
        }
    }

    /// Whether the pair sounds where a left hand has its lower (its upper) degree.
    fn fires_with(&self, pair: &PairTest, lower: bool) -> bool {
        self.fires(pair)
            || (if lower { self.has(pair.upper) } else { pair.either_way && self.has(pair.lower) })
    }
}

/// A test of some pitch classes, these, and what it fires where the left hand has so much of them.
type OfSet<'t> = (Source, &'t Test, u16, Vec<(u16, Row)>);

/// All rows of one question.
struct Rows<'t, 'h> {
    hands: &'h [OneHand<'h>],
    /// What fires for each right hand, whatever the left plays.
    right: Row,
    /// What comes with each pitch class in the left hand.
    classes: Vec<Row>,
    /// What comes with each key in the left hand, where it has been asked for.
    keys: Vec<Option<Row>>,
    /// What comes with each highest key of a left hand.
    tops: Vec<Option<Row>>,
    /// What comes where the left hand has so much of these pitch classes.
    sets: Vec<OfSet<'t>>,
    /// What has been found for pitch classes of a left hand.
    known: Vec<(u16, Row)>,
    pairs: Vec<(Source, PairTest)>,
    left: Vec<(Source, &'t Test)>,
    across: Vec<(Source, &'t Test)>,
    joins: Vec<(Source, &'t Test)>,
    whole: Vec<(Source, &'t Test)>,
}

impl<'t, 'h> Rows<'t, 'h> {
    fn new(hands: &'h [OneHand<'h>]) -> Self {
        Self {
            hands,
            right: Row::new(hands.len()),
            classes: vec![Row::new(hands.len()); 12],
            keys: vec![None; 128],
            tops: vec![None; 128],
            sets: Vec::new(),
            known: Vec::new(),
            pairs: Vec::new(),
            left: Vec::new(),
            across: Vec::new(),
            joins: Vec::new(),
            whole: Vec::new(),
        }
    }

    fn take(&mut self, source: Source, test: &'t Test) {
        match test.division() {
            Division::Left => self.left.push((source, test)),
            Division::Right => self.take_right(&source, test),
            Division::Each => {
                self.left.push((source, test));
                self.take_right(&source, test);
            }
            Division::Across { within } => {
                if within {
                    self.left.push((source, test));
                    self.take_right(&source, test);
                }
                self.across.push((source, test));
            }
            Division::Neighbours => {
                self.left.push((source, test));
                self.right
                    .fire(&source, self.hands, |hand| times(test, &hand.sound) - times(test, &hand.lowest));
                self.joins.push((source, test));
            }
            Division::Gap => self.joins.push((source, test)),
            Division::Top => {
                let of_two =
                    |hand: &OneHand<'_>| if hand.keys.len() > 1 { times(test, &hand.sound) } else { 0 };
                self.right.fire(&source, self.hands, of_two);
                if self.hands.iter().any(|hand| hand.keys.len() == 1) {
                    self.joins.push((source, test));
                }
            }
            Division::Class(class) => {
                self.right.fire(&source, self.hands, |hand| i32::from(hand.has(class)));
                self.with_class(class, |row, hands| {
                    row.fire(&source, hands, |hand| i32::from(!hand.has(class)))
                });
            }
            Division::Classes(classes) => self.sets.push((source, test, classes, Vec::new())),
            Division::Doubled(classes) => {
                self.left.push((source, test));
                self.take_right(&source, test);
                for class in (0..12u8).filter(|class| classes >> class & 1 == 1) {
                    self.with_class(class, |row, hands| {
                        row.fire(&source, hands, |hand| i32::from(hand.has(class)))
                    });
                }
            }
            Division::Pair(pair) if pair.lower != pair.upper => {
                self.right.fire(&source, self.hands, |hand| i32::from(hand.fires(&pair)));
                for (class, lower) in [(pair.lower, true), (pair.upper, false)] {
                    let more =
                        |hand: &OneHand<'_>| i32::from(hand.fires_with(&pair, lower) && !hand.fires(&pair));
                    if lower || pair.either_way {
                        self.with_class(class, |row, hands| row.fire(&source, hands, more));
                    }
                }
                self.pairs.push((source, pair));
            }
            Division::Pair(_) | Division::Whole => self.whole.push((source, test)),
        }
    }

    fn with_class(&mut self, class: u8, change: impl FnOnce(&mut Row, &'h [OneHand<'h>])) {
        if let Some(row) = self.classes.get_mut(usize::from(class)) {
            change(row, self.hands);
        }
    }

    fn take_right(&mut self, source: &Source, test: &Test) {
        self.right.fire(source, self.hands, |hand| times(test, &hand.sound));
    }

    /// The place among the rows known of what fires with these pitch classes in the left hand, whichever keys they are.
    fn at_classes(&mut self, classes: u16) -> usize {
        if let Some(at) = self.known.iter().position(|(known, _)| *known == classes) {
            return at;
        }
        let mut into = self.right.clone();
        for class in (0..12).filter(|class| classes >> class & 1 == 1) {
            if let Some(row) = self.classes.get(class) {
                into.add(row);
            }
        }
        for (source, test, asked, rows) in &mut self.sets {
            let held = classes & *asked;
            let at = rows.iter().position(|(known, _)| *known == held).unwrap_or_else(|| {
                let mut row = Row::new(self.hands.len());
                row.fire(source, self.hands, |hand| test.times_of_classes(held | hand.classes));
                rows.push((held, row));
                rows.len() - 1
            });
            if let Some((_, row)) = rows.get(at) {
                into.add(row);
            }
        }
        self.known.push((classes, into));
        self.known.len() - 1
    }

    /// What fires for a left hand with each right hand.
    fn of(&mut self, left: &[u8], into: &mut Row) {
        let classes = left.iter().fold(0u16, |bits, key| bits | 1 << (key % 12));
        let at = self.at_classes(classes);
        if let Some((_, row)) = self.known.get(at) {
            into.copy(row);
        }
        let (sound, own) = (Sound::new(left, &[]), OneHand::new(left));
        // Where a pair sounds in the left hand alone, it fires once, whatever the right hand plays.
        for (source, pair) in &self.pairs {
            if own.fires(pair) {
                let has = |class: u8| classes >> class & 1 == 1;
                into.take_back(source, self.hands, |hand| {
                    let again = |lower| i32::from(hand.fires_with(pair, lower) && !hand.fires(pair));
                    let upper = if pair.either_way && has(pair.upper) { again(false) } else { 0 };
                    i32::from(hand.fires(pair)) + again(true) + upper
                });
                into.fire(source, self.hands, |_| 1);
            }
        }
        let mut own = Sum::default();
        for (source, test) in &self.left {
            test.run(&sound, |times, _| own.fire(source, times, 0));
        }
        into.add_everywhere(&own);
        for key in left {
            let Some(cell) = self.keys.get_mut(usize::from(*key)) else { continue };
            let row = cell.get_or_insert_with(|| {
                let mut row = Row::new(self.hands.len());
                for (source, test) in &self.across {
                    row.fire(source, self.hands, |hand| test.times_across(*key, hand.bits));
                }
                row
            });
            into.add(row);
        }
        let Some(top) = left.last() else { return };
        let Some(cell) = self.tops.get_mut(usize::from(*top)) else { return };
        let row = cell.get_or_insert_with(|| {
            let mut row = Row::new(self.hands.len());
            let alone = Sound::new(&[*top], &[]);
            // What is found for a gap depends on the lowest right key alone, of which there are few.
            let mut known: SmallVec<[(u8, i32); 16]> = SmallVec::new();
            for (source, test) in &self.joins {
                let division = test.division();
                let less = if matches!(division, Division::Neighbours) { times(test, &alone) } else { 0 };
                known.clear();
                row.fire_each(source, self.hands, |hand| {
                    let [low, rest @ ..] = hand.keys else { return 0 };
                    if matches!(division, Division::Top) && !rest.is_empty() {
                        return 0;
                    }
                    if let Some((_, times)) = known.iter().find(|(key, _)| key == low) {
                        return *times;
                    }
                    let found = times(test, &Sound::new(&[*top], &[*low])) - less;
                    known.push((*low, found));
                    found
                });
            }
            row
        });
        into.add(row);
    }
}

impl Row {
    fn add_everywhere(&mut self, sum: &Sum) {
        let mut both = Both::default();
        both.add_times(sum, 1);
        self.both.iter_mut().for_each(|own| own.add(both));
        if sum.clash {
            self.clash.fill(true);
        }
    }
}

/// How often a test fires.
fn times(test: &Test, sound: &Sound) -> i32 {
    let mut all = 0i32;
    test.run(sound, |times, _| all = all.saturating_add(times));
    all
}

impl Judge<'_> {
    /// Whether a right hand clashes by itself, and so with every left hand that there is.
    pub(crate) fn right_clashes(&self, right: &[u8]) -> bool {
        let hand = OneHand::new(right);
        let found = |test: &Test| match test.division() {
            Division::Right | Division::Each | Division::Across { within: true } | Division::Doubled(_) => {
                times(test, &hand.sound) > 0
            }
            Division::Class(class) => hand.has(class),
            Division::Pair(pair) => hand.fires(&pair),
            _ => false,
        };
        self.always.all().iter().any(|(source, test)| source.weight().clash && found(test))
    }

    /// The scores of every left hand with every right hand, as [`Judge::score_keys`] gives them one by one. Hands are ascending;
    /// where a left hand does not lie below a right one, the score means nothing.
    ///
    /// # Complexity
    ///
    /// For each pair some ten additions; for each hand, each left key and each left pitch class what its tests take. Tests that
    /// look at all voices together, those with conditions on hands and rules in code are asked for every pair.
    pub(crate) fn score_pairs(&self, lefts: &[&[u8]], rights: &[&[u8]]) -> PairScores {
        let mut scores = PairScores { rights: rights.len(), cells: Row::default() };
        if lefts.iter().chain(rights).any(|hand| hand.is_empty()) {
            for left in lefts {
                for right in rights {
                    let sum = self.sum_of(left, right);
                    let mut both = Both::default();
                    both.add_times(&sum, 1);
                    scores.cells.both.push(both);
                    scores.cells.clash.push(sum.clash);
                }
            }
            return scores;
        }
        let hands: Vec<OneHand<'_>> = rights.iter().map(|keys| OneHand::new(keys)).collect();
        let mut rows = Rows::new(&hands);
        for (source, test) in self.always.all() {
            rows.take(*source, test);
        }
        let whole = std::mem::take(&mut rows.whole);
        let is_rare = self.is_rare || !whole.is_empty();
        scores.cells.both.reserve(lefts.len() * rights.len());
        scores.cells.clash.reserve(lefts.len() * rights.len());
        let mut row = Row::new(hands.len());
        for left in lefts {
            rows.of(left, &mut row);
            if is_rare {
                for ((both, clash), right) in row.both.iter_mut().zip(&mut row.clash).zip(rights) {
                    let (sound, mut sum) = (Sound::new(left, right), Sum::default());
                    for (source, test) in &whole {
                        test.run(&sound, |times, classes| sum.fire(source, times, classes));
                    }
                    self.run_rare(&sound, &mut sum);
                    both.add_times(&sum, 1);
                    *clash |= sum.clash;
                }
            }
            scores.cells.both.extend_from_slice(&row.both);
            scores.cells.clash.extend_from_slice(&row.clash);
        }
        scores
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::grouped::tests::{more, situation};
    use crate::chord::Chord;
    use crate::rules::RuleSet;

    fn hands() -> impl Strategy<Value = Vec<Vec<u8>>> {
        let near = prop::collection::btree_set(36u8..84, 1..=5usize);
        let far = prop::collection::btree_set(0u8..=127, 0..=5usize);
        let hand = prop_oneof![9 => near, 1 => far].prop_map(|keys| keys.into_iter().collect::<Vec<u8>>());
        prop::collection::vec(hand, 1..7)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(60))]

        /// A right hand that clashes by itself clashes with every left hand.
        #[test]
        fn prop_what_clashes_alone_clashes(chord in 0usize..4_704, at in 0usize..4, (lefts, rights) in (hands(), hands())) {
            let chord = Chord::all_on(crate::pitch::note("Eb")).nth(chord).unwrap();
            for rules in RuleSet::names().map(|name| RuleSet::named(name).unwrap()).chain([more()]) {
                let judge = rules.judge_for(chord, &situation(at));
                for right in rights.iter().filter(|right| judge.right_clashes(right)) {
                    for left in &lefts {
                        let below: Vec<u8> = left.iter().copied().filter(|key| right.first().is_some_and(|low| key < low)).collect();
                        prop_assert!(judge.score_keys(&below, right).clash, "{} {:?} {:?}", rules.name(), below, right);
                    }
                }
            }
        }

        /// The slow twin: one pair after the other. All sets that ship, and every kind of test.
        #[test]
        fn prop_as_one_by_one(
            chord in 0usize..4_704,
            at in 0usize..4,
            (lefts, rights) in (hands(), hands()),
            raised in any::<bool>(),
        ) {
            let chord = Chord::all_on(crate::pitch::note("Eb")).nth(chord).unwrap();
            let chord = if raised { chord } else { chord.with_bass(crate::pitch::note("G")) };
            // Mostly one hand below the other.
            let up = |key: u8| if raised { (key + 24).min(127) } else { key };
            let rights: Vec<Vec<u8>> = rights.into_iter().map(|hand| hand.into_iter().map(up).collect::<std::collections::BTreeSet<_>>().into_iter().collect()).collect();
            let sets = RuleSet::names().map(|name| RuleSet::named(name).unwrap()).chain([more()]);
            for rules in sets {
                let judge = rules.judge_for(chord, &situation(at));
                let (left_keys, right_keys): (Vec<&[u8]>, Vec<&[u8]>) =
                    (lefts.iter().map(|keys| &keys[..]).collect(), rights.iter().map(|keys| &keys[..]).collect());
                let scores = judge.score_pairs(&left_keys, &right_keys);
                for (l, left) in lefts.iter().enumerate() {
                    for (r, right) in rights.iter().enumerate() {
                        if left.last().zip(right.first()).is_none_or(|(low, high)| low < high) {
                            prop_assert_eq!(scores.get(l, r), judge.score_keys(left, right), "{} {:?} {:?}", rules.name(), left, right);
                        }
                    }
                }
            }
        }
    }
}
