//! What sounds, in the form that rules test fastest: bits and a short list of keys.

/// The most keys that two hands hold.
pub(in crate::rules) const MOST_KEYS: usize = 10;

/// For each pitch class, the bits of its keys among 128.
pub(in crate::rules) const KEYS_OF_CLASS: [u128; 12] = {
    let mut masks = [0u128; 12];
    let mut key = 0;
    while key < 128 {
        #[expect(clippy::indexing_slicing, reason = "an index modulo 12 into 12 entries")]
        {
            masks[key % 12] |= 1 << key;
        }
        key += 1;
    }
    masks
};

/// The keys of two hands.
#[derive(Clone, Copy, Debug)]
pub(in crate::rules) struct Sound {
    keys: [u8; MOST_KEYS],
    count: u8,
    left_count: u8,
    /// Bit *n*: MIDI number *n* sounds.
    pub(in crate::rules) bits: u128,
    /// The same, left hand only.
    pub(in crate::rules) left_bits: u128,
    /// Bit *n*: pitch class *n* sounds.
    pub(in crate::rules) classes: u16,
    /// Bit *n*: pitch class *n* sounds in more than one octave.
    pub(in crate::rules) doubled: u16,
}

impl Sound {
    /// Both hands ascending, the left below the right; keys over 127, keys twice and more than ten are ignored.
    #[inline]
    pub(in crate::rules) fn new(left: &[u8], right: &[u8]) -> Self {
        let mut sound = Self {
            keys: [0; MOST_KEYS],
            count: 0,
            left_count: 0,
            bits: 0,
            left_bits: 0,
            classes: 0,
            doubled: 0,
        };
        for key in left {
            sound.push(*key);
        }
        sound.left_count = sound.count;
        sound.left_bits = sound.bits;
        for key in right {
            sound.push(*key);
        }
        sound
    }

    #[inline]
    fn push(&mut self, key: u8) {
        if key > 127 || self.bits >> key & 1 == 1 {
            return;
        }
        if let Some(cell) = self.keys.get_mut(usize::from(self.count)) {
            *cell = key;
            self.count += 1;
            self.bits |= 1 << key;
            self.doubled |= self.classes & 1 << (key % 12);
            self.classes |= 1 << (key % 12);
        }
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

    /// The pitch classes of the outer voices, one bit each.
    pub(in crate::rules) fn classes_of_outer(&self) -> u16 {
        let ends = [self.keys().first(), self.keys().last()];
        ends.into_iter().flatten().fold(0, |bits, key| bits | 1 << (key % 12))
    }

    /// The right hand only, as bits.
    #[inline]
    pub(in crate::rules) fn right_bits(&self) -> u128 {
        self.bits & !self.left_bits
    }
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
