//! What sounds, in the form that rules test fastest: a short list of keys, and bits.

use super::Place;

/// The most keys that two hands hold.
pub(in crate::rules) const MOST_KEYS: usize = 10;

/// In place of a number where there is none.
const NONE: u8 = u8::MAX;

/// The pitch classes of all keys.
const CLASS_OF: [u8; 128] = {
    let mut classes = [0; 128];
    let mut key = 0;
    while key < 128 {
        #[expect(clippy::indexing_slicing, reason = "the loop ends where the table ends")]
        {
            classes[key] = (key % 12) as u8;
        }
        key += 1;
    }
    classes
};

/// The keys of two hands.
#[derive(Clone, Copy, Debug)]
pub(in crate::rules) struct Sound {
    keys: [u8; MOST_KEYS],
    count: u8,
    left_count: u8,
    /// Bit *n*: the key *n* above the lowest sounds; of use where all keys lie within 63 semitones.
    near: u64,
    /// The same, left hand only.
    left_near: u64,
    /// Bit *n*: pitch class *n* sounds.
    pub(in crate::rules) classes: u16,
    /// The same, right hand only.
    pub(in crate::rules) right_classes: u16,
    /// Bit *n*: pitch class *n* sounds in more than one octave.
    pub(in crate::rules) doubled: u16,
}

impl Sound {
    /// Both hands ascending, the left below the right; keys that do not lie above the one before, keys over 127 and more
    /// than ten are ignored.
    #[inline]
    pub(in crate::rules) fn new(left: &[u8], right: &[u8]) -> Self {
        Self::visit(left, right, |_, _| {})
    }

    /// The same, and calls `hear(class, lower)` for each key from the bottom up: its pitch class, and those of all keys below
    /// it, one bit each.
    #[inline]
    pub(in crate::rules) fn visit(left: &[u8], right: &[u8], mut hear: impl FnMut(u8, u16)) -> Self {
        let mut sound = Self {
            keys: [0; MOST_KEYS],
            count: 0,
            left_count: 0,
            near: 0,
            left_near: 0,
            classes: 0,
            right_classes: 0,
            doubled: 0,
        };
        sound.push(left, &mut hear);
        (sound.left_count, sound.left_near) = (sound.count, sound.near);
        sound.right_classes = sound.push(right, &mut hear);
        sound
    }

    /// Takes the keys of a hand in and gives their pitch classes.
    #[inline(always)] // what is counted key by key stays in registers
    fn push(&mut self, hand: &[u8], hear: &mut impl FnMut(u8, u16)) -> u16 {
        let Self { mut count, mut near, mut classes, mut doubled, keys: [mut lowest, ..], .. } = *self;
        let mut above = self.keys().last().map_or(0, |key| key + 1);
        let mut own = 0;
        for key in hand {
            let cell = self.keys.get_mut(usize::from(count));
            let (Some(cell), Some(class)) = (cell, CLASS_OF.get(usize::from(*key))) else { continue };
            if *key < above {
                continue;
            }
            if count == 0 {
                lowest = *key;
            }
            *cell = *key;
            above = key + 1;
            count += 1;
            near |= 1 << (key.wrapping_sub(lowest) & 63);
            hear(*class, classes);
            let bit = 1 << class;
            doubled |= classes & bit;
            classes |= bit;
            own |= bit;
        }
        (self.count, self.near, self.classes, self.doubled) = (count, near, classes, doubled);
        own
    }

    /// The number of each [`Place`]; [`NONE`] where there is none.
    #[inline]
    pub(in crate::rules) fn places(&self) -> [u8; 8] {
        let (left, right) = (self.left(), self.right());
        let ends = |keys: &[u8]| match keys {
            [] => [NONE; 2],
            [only] => [*only; 2],
            [low, .., high] => [*low, *high],
        };
        let ([left_low, left_high], [right_low, right_high]) = (ends(left), ends(right));
        let between = if left.is_empty() || right.is_empty() { NONE } else { right_low - left_high };
        let top = match self.keys() {
            [.., low, high] => high - low,
            _ => NONE,
        };
        let (left_count, right_count) = (self.left_count, self.count - self.left_count);
        [left_low, left_high, right_low, right_high, between, top, left_count, right_count]
    }

    /// The number of a place, `None` where there is none.
    pub(in crate::rules) fn at(&self, place: Place) -> Option<u8> {
        let (left, right) = (self.left(), self.right());
        match place {
            Place::LeftLowest => left.first().copied(),
            Place::LeftHighest => left.last().copied(),
            Place::RightLowest => right.first().copied(),
            Place::RightHighest => right.last().copied(),
            Place::GapBetweenHands => left.last().zip(right.first()).map(|(low, high)| high - low),
            Place::GapOnTop => match self.keys() {
                [.., low, high] => Some(high - low),
                _ => None,
            },
            Place::LeftCount => Some(self.left_count),
            Place::RightCount => Some(self.count - self.left_count),
        }
    }

    /// How far the wider hand stretches, in semitones; 0 where both play nothing.
    #[inline]
    pub(in crate::rules) fn stretch(&self) -> u8 {
        let stretch = |keys: &[u8]| match keys {
            [low, .., high] => high - low,
            _ => 0,
        };
        stretch(self.left()).max(stretch(self.right()))
    }

    /// All keys, ascending.
    #[inline]
    pub(in crate::rules) fn keys(&self) -> &[u8] {
        self.keys.get(..usize::from(self.count)).unwrap_or_default()
    }

    /// The left hand's keys.
    #[inline]
    pub(in crate::rules) fn left(&self) -> &[u8] {
        self.keys.get(..usize::from(self.left_count)).unwrap_or_default()
    }

    /// The right hand's keys.
    #[inline]
    pub(in crate::rules) fn right(&self) -> &[u8] {
        self.keys.get(usize::from(self.left_count)..usize::from(self.count)).unwrap_or_default()
    }

    /// The keys of both hands, of the left and of the right, one bit each, counted from the lowest of all; `None` where they
    /// lie more than 63 semitones apart.
    #[inline]
    pub(in crate::rules) fn near(&self) -> Option<[u64; 3]> {
        let is_near = match self.keys() {
            [low, .., high] => high - low < 64,
            _ => true,
        };
        is_near.then_some([self.near, self.left_near, self.near & !self.left_near])
    }

    /// The pitch classes of the outer voices, one bit each.
    pub(in crate::rules) fn classes_of_outer(&self) -> u16 {
        bits_of([self.keys().first(), self.keys().last()])
    }
}

/// The pitch classes of these keys, one bit each.
fn bits_of(keys: [Option<&u8>; 2]) -> u16 {
    keys.into_iter().flatten().fold(0, |bits, key| bits | 1 << (key % 12))
}

/// Which hand a rule looks at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::rules) enum HandName {
    Left,
    Right,
}

pub(in crate::rules) const HANDS: [(&str, HandName); 2] =
    [("left", HandName::Left), ("right", HandName::Right)];

impl HandName {
    #[inline]
    pub(in crate::rules) fn keys_of(self, sound: &Sound) -> &[u8] {
        match self {
            Self::Left => sound.left(),
            Self::Right => sound.right(),
        }
    }
}
