//! Every left hand with every right hand at once.
//!
//! A search asks about hundreds of pairs of the same few hands. Most tests look at one hand, or at one key or pitch class of the
//! left against the right; what they fire is found once for each hand, once for each left key, once for each left pitch class
//! and so on, as a row with a cell for each right hand, and the rows are added up. [`Judge::score_keys`] is the slow twin.
//! Right hands that stand in several octaves share cells for all that octaves do not change ([`Rights::in_octaves`]); what the same
//! right hands do by themselves is kept from chord to chord ([`Memory`]).

mod alone;
mod between;
mod cells;
pub(super) mod members;
mod memory;
mod one_hand;
mod rights;
mod rows;

use self::cells::Row;
use self::members::places;
pub(crate) use self::memory::Memory;
pub(crate) use self::rights::Rights;
use self::rows::Rows;
use super::Score;
use super::sink::{Both, Sum};
use super::{Judge, Sink, Sound};
use crate::registers::{Job, widest};

/// The scores of a left hand with each right hand.
pub(crate) struct PairScores<'s> {
    both: &'s [Both],
    /// One bit for each right hand.
    clash: &'s [u64],
}

impl PairScores<'_> {
    /// What each costs less its colour, up to `enough`, at the end of a list.
    pub(crate) fn push_points(&self, enough: i32, list: &mut Vec<i32>) {
        let start = list.len();
        list.resize(start + self.both.len(), 0);
        widest(Points { both: self.both, enough, points: list.get_mut(start..).unwrap_or_default() });
    }

    /// The right hands with which a rule that forbids has fired, and what each costs, whatever its colour.
    #[inline]
    pub(crate) fn clashing(&self) -> impl Iterator<Item = (usize, i32)> {
        let cost = |place: usize| self.both.get(place).map(|both| (place, both.points(0)));
        places(self.clash.iter().copied()).map_while(cost)
    }

    /// The score with the right hand of this place; the default where there is none.
    #[inline]
    pub(crate) fn at(&self, place: usize) -> Score {
        self.both.get(place).map_or_else(Score::default, |both| both.score(self.clashes(place)))
    }

    /// The scores with runs of right hands, one after the other.
    #[inline]
    pub(crate) fn put_scores(&self, runs: &Runs<'_>, scores: &mut [Score]) {
        // How long the runs mostly are is known when this is compiled.
        match runs.len {
            1 => self.put_runs::<1>(runs, scores),
            2 => self.put_runs::<2>(runs, scores),
            len => {
                for (scores, first) in scores.chunks_exact_mut(len.max(1)).zip(runs.firsts()) {
                    for (place, score) in (first..).step_by(runs.step.max(1)).zip(scores) {
                        *score = self.at(place);
                    }
                }
            }
        }
    }

    /// [`PairScores::put_scores`] of short runs: the octaves side by side, as many hands at a time as share a word.
    #[inline]
    fn put_runs<const LEN: usize>(&self, runs: &Runs<'_>, scores: &mut [Score]) {
        let octaves = [0, 1, 2].map(|octave| runs.start + octave * runs.step);
        // No run reaches an octave that is not there.
        let cells = octaves.map(|start| self.both.get(start..start + runs.step).unwrap_or(self.both));
        let [low, middle, high] = cells.map(|cells| cells.chunks(members::WORD));
        let scores = scores.as_chunks_mut::<LEN>().0.chunks_mut(members::WORD);
        for (at, ((((scores, low), middle), high), higher)) in
            scores.zip(low).zip(middle).zip(high).zip(runs.higher).enumerate()
        {
            let mut higher = *higher;
            let [first, second, third] = octaves.map(|start| self.word_from(start + at * members::WORD));
            let mut clashes = [first & !higher | second & higher, second & !higher | third & higher];
            for (((scores, low), middle), high) in scores.iter_mut().zip(low).zip(middle).zip(high) {
                let both = if higher & 1 == 1 { [middle, high] } else { [low, middle] };
                for ((score, both), clashes) in scores.iter_mut().zip(both).zip(&mut clashes) {
                    *score = both.score(*clashes & 1 == 1);
                    *clashes >>= 1;
                }
                higher >>= 1;
            }
        }
    }

    /// As many bits as a word has, from this place on.
    #[inline]
    fn word_from(&self, place: usize) -> u64 {
        let word = |at: usize| self.clash.get(at).copied().unwrap_or_default();
        let (at, shift) = (place / members::WORD, place % members::WORD);
        // Nothing of the next word where this one is wanted whole.
        let next = word(at + 1).checked_shl((members::WORD - shift) as u32).unwrap_or_default();
        word(at) >> shift | next
    }

    #[inline]
    fn clashes(&self, place: usize) -> bool {
        let word = self.clash.get(place / members::WORD).copied().unwrap_or_default();
        word >> (place % members::WORD) & 1 == 1
    }

    /// One after the other.
    #[cfg(test)]
    pub(crate) fn iter(&self) -> impl Iterator<Item = Score> {
        (0..self.both.len()).map(|place| self.at(place))
    }
}

/// Runs of right hands that stand in octaves ([`Rights::in_octaves`]): each begins in one octave or the next, and goes up from octave
/// to octave.
pub(crate) struct Runs<'r> {
    /// The place of the first hand of the lower octave.
    pub(crate) start: usize,
    /// From a hand to the same an octave higher; as many runs are there.
    pub(crate) step: usize,
    /// How many hands are in a run.
    pub(crate) len: usize,
    /// One bit for each run: whether it begins in the higher octave.
    pub(crate) higher: &'r [u64],
}

impl<'r> Runs<'r> {
    /// So many runs share a word.
    pub(crate) const WORD: usize = members::WORD;

    /// Where they begin.
    pub(crate) fn firsts(&self) -> impl Iterator<Item = usize> + use<'r> {
        let Self { start, step, higher, .. } = *self;
        let is_higher = move |run: usize| {
            higher.get(run / members::WORD).is_some_and(|word| word >> (run % members::WORD) & 1 == 1)
        };
        (start..).take(step).enumerate().map(move |(run, place)| place + step * usize::from(is_higher(run)))
    }
}

struct Points<'a> {
    both: &'a [Both],
    enough: i32,
    points: &'a mut [i32],
}

impl Job for Points<'_> {
    type Answer = ();

    #[inline(always)]
    fn run(self) {
        for (points, both) in self.points.iter_mut().zip(self.both) {
            *points = both.points(self.enough);
        }
    }
}

impl Judge<'_> {
    /// Calls `each` for every left hand with its scores with every right hand, as [`Judge::score_keys`] gives them one by one.
    /// `memory` is of these right hands and keeps what they do from chord to chord. Hands are ascending; where a left hand does not
    /// lie below a right one, and where that stands higher than so many octaves as matter ([`Rights::in_octaves`]), the score means
    /// nothing.
    ///
    /// # Complexity
    ///
    /// For each pair some ten additions; for each hand, each left key and each left pitch class what its tests take. Tests that
    /// look at all voices together, those with conditions on hands and rules in code are asked for every pair.
    pub(crate) fn score_pairs<'l>(
        &self,
        lefts: impl Iterator<Item = &'l [u8]>,
        rights: &Rights,
        memory: Option<&mut Memory>,
        mut each: impl FnMut(&PairScores<'_>),
    ) {
        let Rights { hands, empty, .. } = rights;
        let mut row = Row::new(hands.len());
        let mut known = Rows::new(rights, memory);
        for (source, test) in self.always.all() {
            known.take(*source, test);
        }
        known.ready();
        let whole = std::mem::take(&mut known.whole);
        let is_rare = self.is_rare || !whole.is_empty();
        for left in lefts {
            let one_by_one = |places: &mut dyn Iterator<Item = usize>, row: &mut Row| {
                for place in places {
                    if let Some(right) = hands.get(place) {
                        let sum = self.sum_of(left, right.keys());
                        row.set(place, Both::of(&sum), sum.clash);
                    }
                }
            };
            if left.is_empty() {
                one_by_one(&mut (0..hands.len()), &mut row);
                each(&PairScores { both: &row.both, clash: &row.clash });
                continue;
            }
            known.of(left, &mut row);
            if is_rare {
                let above = rights.above(left.last().copied().unwrap_or_default());
                for (place, right) in hands.iter().enumerate().take(above.end).skip(above.start) {
                    let (sound, mut sum) = (Sound::new(left, right.keys()), Sum::default());
                    for (source, test) in &whole {
                        test.run(&sound, |times, classes| sum.fire(source, times, classes));
                    }
                    self.run_rare(&sound, &mut sum);
                    row.add(place, Both::of(&sum), sum.clash);
                }
            }
            // What tests divide into is told of hands that hold something.
            if !empty.is_empty() {
                one_by_one(&mut empty.iter().copied(), &mut row);
            }
            each(&PairScores { both: &row.both, clash: &row.clash });
        }
        known.done();
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::Sound;
    use super::super::grouped::tests::{more, situation};
    use super::rows::times;
    use crate::chord::{Chord, chord};
    use crate::rules::RuleSet;
    use crate::rules::kind::Division;

    fn hands(count: std::ops::Range<usize>) -> impl Strategy<Value = Vec<Vec<u8>>> {
        let near = prop::collection::btree_set(36u8..84, 1..=5usize);
        let far = prop::collection::btree_set(0u8..=127, 0..=5usize);
        let hand = prop_oneof![9 => near, 1 => far].prop_map(|keys| keys.into_iter().collect::<Vec<u8>>());
        prop::collection::vec(hand, count)
    }

    /// The slow twin of what two keys between the hands do: the test itself on both, less what it finds in the left alone.
    #[test]
    fn all_pairs_of_keys_between_hands() {
        let mut asked = 0;
        let more = more();
        for (rules, symbol) in
            itertools::iproduct!([RuleSet::standard(), &more], ["C7", "Dm7", "A7sus4", "G"])
        {
            let judge = rules.judge_for(chord(symbol), &situation(1));
            for (_, test) in judge.always.all() {
                if !matches!(test.division(), Division::Neighbours { .. } | Division::Gap | Division::Top) {
                    continue;
                }
                asked += 1;
                for (low, high) in itertools::iproduct!(0u8..128, 0u8..128).filter(|(low, high)| low < high) {
                    let alone = times(test, &Sound::new(&[low], &[]));
                    let both = times(test, &Sound::new(&[low], &[high]));
                    assert_eq!(test.joined(low, high), both - alone, "{test:?} {low} {high}");
                }
            }
        }
        assert!(asked > 20, "{asked}");
    }

    /// Where a test is met by some pitch classes, it does not fire with any others beside them.
    #[test]
    fn all_tests_that_are_met() {
        let judge = RuleSet::standard().judge_for(chord("C7(b9)"), &situation(0));
        let tests: Vec<_> = judge
            .always
            .all()
            .iter()
            .map(|(_, test)| test)
            .filter(|test| matches!(test.division(), Division::Classes(_)))
            .collect();
        assert!(tests.iter().any(|test| test.is_met_by(0xFFF)));
        for (test, classes) in itertools::iproduct!(tests, 0u16..1 << 12) {
            if test.is_met_by(classes) {
                assert!((0..12).all(|more| test.times_of_classes(classes | 1 << more) <= 0));
                assert!(test.times_of_classes(classes) <= 0);
            }
        }
    }

    /// What is said to be the same in every octave is, in right hands of up to three keys within a ninth.
    #[test]
    fn all_tests_that_are_the_same_in_octaves() {
        let (more, mut asked) = (more(), [0; 2]);
        for (rules, symbol) in
            itertools::iproduct!([RuleSet::standard(), &more], ["C7", "Dm7", "A7sus4", "G"])
        {
            let judge = rules.judge_for(chord(symbol), &situation(1));
            for (_, test) in judge.always.all() {
                let in_octaves = test.is_the_same_in_octaves();
                asked[usize::from(in_octaves)] += 1;
                let differs = itertools::iproduct!(0u8..12, 0u8..15, 0u8..15).any(|(low, middle, high)| {
                    let mut keys = vec![low, low + middle, low + high.max(middle)];
                    keys.dedup();
                    let found = |up: u8| {
                        let keys: Vec<u8> = keys.iter().map(|key| key + up).collect();
                        times(test, &Sound::new(&[], &keys))
                    };
                    let lowest = found(0);
                    (1..=8).any(|octave| found(12 * octave) != lowest)
                });
                assert!(!in_octaves || !differs, "{test:?}");
            }
        }
        assert!(asked[0] > 10 && asked[1] > 100, "{asked:?}");
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(60))]

        /// The slow twin where right hands stand in several octaves: one pair after the other. What is kept from chord to chord
        /// changes nothing.
        #[test]
        fn prop_in_octaves(
            chords in prop::collection::vec((0usize..4_704, prop::sample::select(vec!["Eb", "E"])), 1..4),
            at in 0usize..4,
            lefts in hands(1..6),
            shapes in prop::collection::vec((0u8..12, prop::collection::btree_set(1u8..20, 0..4usize)), 1..90),
            first in 2u8..6,
            octaves in 2u8..5,
            most in 1usize..5,
        ) {
            let up = |octave: u8, (low, more): &(u8, std::collections::BTreeSet<u8>)| {
                let low = low + 12 * octave;
                std::iter::once(low).chain(more.iter().map(|by| low + by)).collect::<Vec<u8>>()
            };
            let all = itertools::iproduct!(first..first + octaves, &shapes).map(|(octave, shape)| up(octave, shape));
            let rights: Vec<Vec<u8>> = all.collect();
            let sets = RuleSet::names().map(|name| RuleSet::named(name).unwrap()).chain([more()]);
            for rules in sets {
                let hands = super::Rights::in_octaves(rights.iter().map(|keys| &keys[..]), usize::from(octaves), most);
                prop_assert_eq!(hands.octaves, usize::from(octaves));
                let mut memory = super::Memory::default();
                for (chord, root) in &chords {
                    let chord = Chord::all_on(crate::pitch::note(root)).nth(*chord).unwrap();
                    let judge = rules.judge_for(chord, &situation(at));
                    let mut of_lefts = lefts.iter();
                    let mut differs = None;
                    judge.score_pairs(lefts.iter().map(|keys| &keys[..]), &hands, Some(&mut memory), |scores| {
                        let left = of_lefts.next().unwrap();
                        let top = left.last().copied().unwrap_or_default();
                        let above = if left.is_empty() { 0..rights.len() } else { hands.above(top) };
                        for place in above {
                            let right = &rights[place];
                            let score = judge.score_keys(left, right);
                            if (left.is_empty() || top < right[0]) && scores.at(place) != score {
                                differs = Some((left.clone(), right.clone(), score, scores.at(place)));
                            }
                        }
                    });
                    prop_assert_eq!(differs, None, "{} {}", rules.name(), chord);
                }
            }
        }

        /// Over a left hand the nearest of each shape is looked at, and so many octaves from there on less one.
        #[test]
        fn prop_what_is_above(top in 0u8..100, lows in prop::collection::vec(0u8..12, 1..9), octaves in 2usize..8, most in 1usize..5) {
            let rights: Vec<[u8; 1]> = itertools::iproduct!(2..2 + octaves as u8, &lows).map(|(octave, low)| [low + 12 * octave]).collect();
            let hands = super::Rights::in_octaves(rights.iter().map(|keys| &keys[..]), octaves, most);
            let above = hands.above(top);
            for (shape, _) in lows.iter().enumerate() {
                let of_shape = (0..octaves).map(|octave| octave * lows.len() + shape).filter(|place| rights[*place][0] > top);
                for place in of_shape.take(most - 1) {
                    prop_assert!(above.contains(&place), "{:?} {}", above, place);
                }
            }
        }

        /// A right hand that clashes by itself clashes with every left hand.
        #[test]
        fn prop_what_clashes_alone_clashes(chord in 0usize..4_704, at in 0usize..4, (lefts, rights) in (hands(1..7), hands(1..7))) {
            let chord = Chord::all_on(crate::pitch::note("Eb")).nth(chord).unwrap();
            for rules in RuleSet::names().map(|name| RuleSet::named(name).unwrap()).chain([more()]) {
                let judge = rules.judge_for(chord, &situation(at));
                let alone = judge.alone();
                for right in rights.iter().filter(|right| alone.clashes(right)) {
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
            lefts in hands(1..7),
            // More than one word and more than two among them.
            rights in prop_oneof![3 => hands(1..7), 1 => hands(60..140)],
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
                let right_hands = super::Rights::new(rights.iter().map(|keys| &keys[..]));
                let mut scores: Vec<Vec<crate::rules::Score>> = Vec::new();
                judge.score_pairs(lefts.iter().map(|keys| &keys[..]), &right_hands, None, |row| scores.push(row.iter().collect()));
                prop_assert_eq!(scores.len(), lefts.len());
                for (l, left) in lefts.iter().enumerate() {
                    for (r, right) in rights.iter().enumerate() {
                        if left.last().zip(right.first()).is_none_or(|(low, high)| low < high) {
                            prop_assert_eq!(scores[l][r], judge.score_keys(left, right), "{} {:?} {:?}", rules.name(), left, right);
                        }
                    }
                }
            }
        }
    }
}
