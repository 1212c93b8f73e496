//! Which of the right hands have what, one bit for each hand.

use super::one_hand::OneHand;
use crate::rules::kind::PairTest;

/// So many hands share a word.
pub(super) const WORD: usize = u64::BITS as usize;

/// How many words so many hands take.
pub(in crate::rules::judge) const fn words_for(hands: usize) -> usize {
    hands.div_ceil(WORD)
}

/// The places of the bits that are set.
pub(in crate::rules::judge) fn places(words: impl IntoIterator<Item = u64>) -> impl Iterator<Item = usize> {
    words.into_iter().enumerate().flat_map(|(at, mut word)| {
        std::iter::from_fn(move || {
            let bit = (word != 0).then(|| word.trailing_zeros() as usize);
            word &= word.wrapping_sub(1);
            bit.map(|bit| at * WORD + bit)
        })
    })
}

/// Sets the bit of a hand, where it is to be set.
pub(in crate::rules::judge) fn put(words: &mut [u64], place: usize, set: bool) {
    if let Some(word) = words.get_mut(place / WORD) {
        *word |= u64::from(set) << (place % WORD);
    }
}

/// Sets the bit of a hand, or takes it away.
pub(super) fn set(words: &mut [u64], place: usize, set: bool) {
    if let Some(word) = words.get_mut(place / WORD) {
        *word &= !(1 << (place % WORD));
    }
    put(words, place, set);
}

/// Which of the right hands have what.
#[derive(Debug)]
pub(super) struct Members {
    words: usize,
    /// Those that have a pitch class.
    classes: Vec<u64>,
    /// Those in which a pitch class sounds above the lowest key of another: a row for each of the lower, a cell for each of the upper.
    above: Vec<u64>,
}

/// Which of the right hands have which key.
#[derive(Debug)]
pub(super) struct Keys {
    words: usize,
    keys: Vec<u64>,
}

impl Keys {
    pub(super) fn of(hands: &[OneHand]) -> Self {
        let words = words_for(hands.len());
        let mut keys = vec![0; 128 * words];
        for (place, hand) in hands.iter().enumerate() {
            for key in hand.keys() {
                put(&mut keys, usize::from(*key) * words * WORD + place, true);
            }
        }
        Self { words, keys }
    }

    /// Those that have this key.
    pub(super) fn with_key(&self, key: u8) -> impl Iterator<Item = u64> {
        let row = usize::from(key) * self.words;
        self.keys.get(row..row + self.words).unwrap_or_default().iter().copied()
    }
}

impl Members {
    pub(super) fn of(hands: &[OneHand]) -> Self {
        let words = words_for(hands.len());
        let none = |sets: usize| vec![0; sets * words];
        let mut members = Self { words, classes: none(12), above: none(12 * 12) };
        for (place, hand) in hands.iter().enumerate() {
            let (word, bit) = (place / WORD, 1 << (place % WORD));
            let set = |sets: &mut [u64], number: usize| {
                if let Some(cell) = sets.get_mut(number * words + word) {
                    *cell |= bit;
                }
            };
            for key in hand.keys() {
                let class = usize::from(key % 12);
                set(&mut members.classes, class);
                let mut above = hand.above.get(class).copied().unwrap_or_default();
                while above != 0 {
                    set(&mut members.above, class * 12 + above.trailing_zeros() as usize);
                    above &= above - 1;
                }
            }
        }
        members
    }

    fn set<'s>(&self, sets: &'s [u64], number: usize) -> &'s [u64] {
        sets.get(number * self.words..(number + 1) * self.words).unwrap_or_default()
    }

    /// Those that have this pitch class.
    pub(super) fn with_class(&self, class: u8) -> impl Iterator<Item = u64> {
        self.set(&self.classes, usize::from(class)).iter().copied()
    }

    /// Those that have not.
    pub(super) fn without_class(&self, class: u8) -> impl Iterator<Item = u64> {
        // The bits behind the last hand stand for none.
        self.with_class(class).map(|word| !word)
    }

    /// Those in which the pair sounds.
    pub(super) fn with_pair(&self, pair: &PairTest) -> impl Iterator<Item = u64> {
        let (lower, upper) = (pair.lower, pair.upper);
        let above = self.set(&self.above, usize::from(lower) * 12 + usize::from(upper)).iter();
        let both = self.with_class(lower).zip(self.with_class(upper));
        let either_way = pair.either_way;
        both.zip(above).map(move |((low, high), above)| if either_way { low & high } else { *above })
    }

    /// Those in which the pair does not sound, but does with a left hand that has its lower (its upper) degree.
    pub(super) fn completing(&self, pair: &PairTest, lower: bool) -> impl Iterator<Item = u64> {
        let wanted = if lower { pair.upper } else { pair.lower };
        let may = lower || pair.either_way;
        let words = self.with_class(wanted).zip(self.with_pair(pair));
        words.map(move |(with, fires)| if may { with & !fires } else { 0 })
    }
}
