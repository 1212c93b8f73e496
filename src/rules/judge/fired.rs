//! Which rules fire, put together from what many voicings share.

use smallvec::SmallVec;

use super::pairs::members::{places, put, words_for};
use super::sink::{Sink, Source};
use super::{Judge, Sound};
use crate::rules::kind::{Division, Test};

/// Some rules of a set, one bit for each.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct FiredRules {
    words: SmallVec<[u64; 2]>,
}

impl FiredRules {
    /// Takes in those of others.
    #[inline]
    pub(crate) fn add(&mut self, others: &Self) {
        if self.words.len() < others.words.len() {
            self.words.resize(others.words.len(), 0);
        }
        self.words.iter_mut().zip(&others.words).for_each(|(word, other)| *word |= other);
    }

    /// Their places in the set, ascending.
    #[inline]
    pub(crate) fn iter(&self) -> impl Iterator<Item = u16> {
        places(self.words.iter().copied()).map(|place| place as u16)
    }
}

impl Sink for FiredRules {
    #[inline]
    fn fire(&mut self, source: &Source, _: i32, _: u16) {
        let words = words_for(usize::from(source.rule) + 1);
        if self.words.len() < words {
            self.words.resize(words, 0);
        }
        put(&mut self.words, source.rule.into(), true);
    }
}

/// Tests by what they look at in two hands, neither of them empty; some stand in several lists.
#[derive(Clone, Debug, Default)]
pub(super) struct Shares {
    left: Vec<(Source, Test)>,
    right: Vec<(Source, Test)>,
    /// At the pitch classes of both together.
    classes: Vec<(Source, Test)>,
    /// At a pitch class of each hand: one of the left, one of the right.
    crosses: Vec<(Source, [u8; 2])>,
    /// At the two highest keys.
    top: Vec<(Source, Test)>,
    rest: Vec<(Source, Test)>,
}

impl Shares {
    pub(super) fn new(all: &[(Source, Test)]) -> Self {
        let mut shares = Self::default();
        for (source, test) in all {
            let own = (*source, test.clone());
            match test.division() {
                Division::Left => shares.left.push(own),
                Division::Right => shares.right.push(own),
                Division::Each => shares.push_each(own),
                Division::Class(_) | Division::Classes(_) => shares.classes.push(own),
                Division::Pair(pair) if pair.lower == pair.upper => shares.rest.push(own),
                Division::Pair(pair) if pair.either_way => shares.classes.push(own),
                Division::Pair(pair) => {
                    shares.crosses.push((*source, [pair.lower, pair.upper]));
                    shares.push_each(own);
                }
                Division::Doubled(classes) => {
                    let both = (0..12u8).filter(|class| classes >> class & 1 == 1);
                    shares.crosses.extend(both.map(|class| (*source, [class; 2])));
                    shares.push_each(own);
                }
                Division::Top => shares.top.push(own),
                Division::Across { .. } | Division::Neighbours { .. } | Division::Gap | Division::Whole => {
                    shares.rest.push(own);
                }
            }
        }
        shares
    }

    fn push_each(&mut self, own: (Source, Test)) {
        self.left.push(own.clone());
        self.right.push(own);
    }
}

fn fire(tests: &[(Source, Test)], sound: &Sound, sink: &mut impl Sink) {
    for (source, test) in tests {
        test.run(sound, |times, classes| sink.fire(source, times, classes));
    }
}

/// Both hands of a voicing, neither of them empty, ascending, the left below the right: what fires is what these four say together.
impl Judge<'_> {
    /// Which rules fire by what the left hand holds alone.
    pub(crate) fn fired_in_left(&self, left: &[u8]) -> FiredRules {
        let mut fired = FiredRules::default();
        fire(&self.always.shares().left, &Sound::new(left, &[]), &mut fired);
        fired
    }

    /// The same, the right hand.
    pub(crate) fn fired_in_right(&self, right: &[u8]) -> FiredRules {
        let (sound, mut fired) = (Sound::new(&[], right), FiredRules::default());
        let Shares { right: tests, top, .. } = self.always.shares();
        fire(tests, &sound, &mut fired);
        if right.len() > 1 {
            fire(top, &sound, &mut fired);
        }
        fired
    }

    /// Which rules fire by the pitch classes of each hand.
    pub(crate) fn fired_by_classes(&self, left: &[u8], right: &[u8]) -> FiredRules {
        let (sound, mut fired) = (Sound::new(left, right), FiredRules::default());
        let Shares { classes, crosses, .. } = self.always.shares();
        fire(classes, &sound, &mut fired);
        let of_left = Sound::new(left, &[]).classes;
        for (source, [low, high]) in crosses {
            if of_left >> low & sound.right_classes >> high & 1 == 1 {
                fired.fire(source, 1, 0);
            }
        }
        fired
    }

    /// Which rules fire by anything else.
    pub(crate) fn fired_by_rest(&self, left: &[u8], right: &[u8]) -> FiredRules {
        let (sound, mut fired) = (Sound::new(left, right), FiredRules::default());
        let Shares { rest, top, .. } = self.always.shares();
        fire(rest, &sound, &mut fired);
        if right.len() == 1 {
            fire(top, &sound, &mut fired);
        }
        if self.is_rare {
            self.run_rare(&sound, &mut fired);
        }
        fired
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::grouped::tests::{more, situation};
    use super::*;
    use crate::chord::Chord;
    use crate::rules::RuleSet;

    fn hand(keys: std::ops::Range<u8>) -> impl Strategy<Value = Vec<u8>> {
        prop::collection::btree_set(keys, 1..=5usize).prop_map(|keys| keys.into_iter().collect())
    }

    proptest! {
        /// The slow twin: all tests on both hands, one after the other. All sets that ship, and every kind of test.
        #[test]
        fn prop_what_fires_is_put_together(
            chord in 0usize..4_704,
            at in 0usize..4,
            lefts in prop::collection::vec(hand(30..60), 1..5),
            rights in prop::collection::vec(hand(60..96), 1..5),
        ) {
            let chord = Chord::all_on(crate::pitch::note("Eb")).nth(chord).unwrap();
            for rules in RuleSet::names().map(|name| RuleSet::named(name).unwrap()).chain([more()]) {
                let judge = rules.judge_for(chord, &situation(at));
                for (left, right) in itertools::iproduct!(&lefts, &rights) {
                    let (sound, mut asked) = (Sound::new(left, right), FiredRules::default());
                    judge.always.fire(&sound, &mut asked);
                    judge.run_rare(&sound, &mut asked);
                    let mut found = judge.fired_in_left(left);
                    found.add(&judge.fired_in_right(right));
                    found.add(&judge.fired_by_classes(left, right));
                    found.add(&judge.fired_by_rest(left, right));
                    prop_assert!(found.iter().eq(asked.iter()), "{} {:?} {:?}", rules.name(), left, right);
                    prop_assert!(found.iter().is_sorted_by(|one, other| one < other));
                }
            }
        }
    }
}
