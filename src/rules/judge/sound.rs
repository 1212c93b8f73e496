//! What sounds, in the form that rules test fastest: a short list of keys, and bits.

/// The most keys that two hands hold.
pub(in crate::rules) const MOST_KEYS: usize = 10;

/// In place of a key where a hand plays nothing.
const NO_KEY: u8 = u8::MAX;

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

/// The lowest or the highest key of a hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::rules) enum End {
    LeftLowest,
    LeftHighest,
    RightLowest,
    RightHighest,
}

/// The keys of two hands.
#[derive(Clone, Copy, Debug)]
pub(in crate::rules) struct Sound {
    keys: [u8; MOST_KEYS],
    /// The pitch classes of the keys.
    class_of: [u8; MOST_KEYS],
    count: u8,
    left_count: u8,
    /// The lowest and the highest key of the left hand and of the right, or [`NO_KEY`].
    ends: [u8; 4],
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
        let mut sound = Self {
            keys: [0; MOST_KEYS],
            class_of: [0; MOST_KEYS],
            count: 0,
            left_count: 0,
            ends: [NO_KEY; 4],
            near: 0,
            left_near: 0,
            classes: 0,
            right_classes: 0,
            doubled: 0,
        };
        sound.push(left);
        let [left_low, left_high] = sound.ends_from(0);
        (sound.left_count, sound.left_near) = (sound.count, sound.near);
        sound.right_classes = sound.push(right);
        let [right_low, right_high] = sound.ends_from(usize::from(sound.left_count));
        sound.ends = [left_low, left_high, right_low, right_high];
        sound
    }

    /// Takes the keys of a hand in and gives their pitch classes.
    #[inline]
    fn push(&mut self, hand: &[u8]) -> u16 {
        let mut classes = 0;
        for key in hand {
            let at = usize::from(self.count);
            let (Some(cell), Some(class_of), Some(class)) =
                (self.keys.get_mut(at), self.class_of.get_mut(at), CLASS_OF.get(usize::from(*key)))
            else {
                continue;
            };
            (*cell, *class_of) = (*key, *class);
            let [lowest, ..] = self.keys;
            let near = 1 << (key.wrapping_sub(lowest) & 63);
            // What lies higher than all before is no lower than the lowest and new.
            if at > 0 && self.keys.get(at - 1) >= Some(key) {
                continue;
            }
            self.count += 1;
            self.near |= near;
            let bit = 1 << class;
            self.doubled |= (self.classes | classes) & bit;
            classes |= bit;
        }
        self.classes |= classes;
        classes
    }

    /// The lowest and the highest key from this one on.
    #[inline]
    fn ends_from(&self, at: usize) -> [u8; 2] {
        match self.keys.get(at..usize::from(self.count)) {
            Some([only]) => [*only; 2],
            Some([low, .., high]) => [*low, *high],
            _ => [NO_KEY; 2],
        }
    }

    /// The lowest and the highest key of the left hand, then of the right; `None` where it plays nothing.
    #[inline]
    pub(in crate::rules) fn end(&self, end: End) -> Option<u8> {
        self.ends.get(end as usize).copied().filter(|key| *key != NO_KEY)
    }

    /// How far each hand stretches, in semitones; 0 where it plays nothing.
    #[inline]
    pub(in crate::rules) fn stretches(&self) -> [u8; 2] {
        let [left_low, left_high, right_low, right_high] = self.ends;
        [left_high - left_low, right_high - right_low]
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

    /// How many keys each hand has.
    #[inline]
    pub(in crate::rules) fn counts(&self) -> [u8; 2] {
        [self.left_count, self.count - self.left_count]
    }

    /// The pitch classes of all keys, from the bottom.
    #[inline]
    pub(in crate::rules) fn class_of_each(&self) -> &[u8] {
        self.class_of.get(..usize::from(self.count)).unwrap_or_default()
    }

    /// Semitones between the left hand's highest and the right hand's lowest key; `None` where a hand has none.
    #[inline]
    pub(in crate::rules) fn gap_between_hands(&self) -> Option<u8> {
        Some(self.end(End::RightLowest)? - self.end(End::LeftHighest)?)
    }

    /// Semitones between the two highest keys; `None` where there are fewer.
    #[inline]
    pub(in crate::rules) fn gap_on_top(&self) -> Option<u8> {
        match self.keys() {
            [.., low, high] => Some(high - low),
            _ => None,
        }
    }

    /// The pitch classes of the left hand's highest and the right hand's lowest key, one bit each.
    pub(in crate::rules) fn classes_between_hands(&self) -> u16 {
        bits_of([self.left().last(), self.right().first()])
    }

    /// The pitch classes of the two highest keys, one bit each.
    pub(in crate::rules) fn classes_on_top(&self) -> u16 {
        match self.keys() {
            [.., low, high] => bits_of([Some(low), Some(high)]),
            _ => 0,
        }
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
