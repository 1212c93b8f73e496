//! What a right hand does by itself.

use smallvec::SmallVec;

use super::super::{Judge, Sound};
use super::rows::times;
use crate::rules::kind::{Division, PairTest, Test};

/// What forbids a right hand whatever the left plays.
pub(crate) struct Alone<'j> {
    classes: u16,
    pairs: SmallVec<[PairTest; 8]>,
    others: SmallVec<[&'j Test; 4]>,
}

impl Alone<'_> {
    /// Whether a right hand clashes by itself, and so with every left hand that there is.
    pub(crate) fn clashes(&self, right: &[u8]) -> bool {
        let classes = right.iter().fold(0u16, |bits, key| bits | 1 << (key % 12));
        let sounds = |pair: &PairTest| {
            let lowest = right.iter().position(|key| key % 12 == pair.lower);
            let highest = right.iter().rposition(|key| key % 12 == pair.upper);
            lowest.zip(highest).is_some_and(|(lowest, highest)| pair.either_way || lowest < highest)
        };
        classes & self.classes != 0
            || self.pairs.iter().any(|pair| classes & pair.classes() == pair.classes() && sounds(pair))
            || (!self.others.is_empty() && {
                let sound = Sound::new(&[], right);
                self.others.iter().any(|test| times(test, &sound) > 0)
            })
    }
}

impl Judge<'_> {
    /// What forbids a right hand by itself.
    pub(crate) fn alone(&self) -> Alone<'_> {
        let mut alone = Alone { classes: 0, pairs: SmallVec::new(), others: SmallVec::new() };
        for (_, test) in self.always.all().iter().filter(|(source, _)| source.weight().clash) {
            match test.division() {
                Division::Class(class) => alone.classes |= 1 << class,
                Division::Pair(pair) => alone.pairs.push(pair),
                Division::Right
                | Division::Each
                | Division::Across { within: true }
                | Division::Doubled(_) => alone.others.push(test),
                _ => {}
            }
        }
        alone
    }
}
