//! Where the keys of a drawn keyboard lie: whole octaves, from a C up to a B.

use itertools::Itertools;

use crate::voicing::Keyboard;

/// White keys above the C of their octave, in semitones.
const WHITE: [u8; 7] = [0, 2, 4, 5, 7, 9, 11];

/// Whether a key is black.
pub(super) const fn is_black(key: u8) -> bool {
    matches!(key % 12, 1 | 3 | 6 | 8 | 10)
}

/// Whole octaves of keys, drawn `width` units wide from `left` on.
#[derive(Clone, Copy, Debug)]
pub(super) struct Keys {
    /// The lowest key, a C.
    first: u8,
    /// How many octaves, at least one.
    octaves: u8,
    left: i64,
    width: i64,
}

impl Keys {
    /// The fewest octaves that hold these keys; the octave of middle C where there are none.
    pub(super) fn around(keys: impl Iterator<Item = u8>, left: i64, width: i64) -> Self {
        let (low, high) = keys.minmax().into_option().unwrap_or((60, 60));
        Self { first: low / 12 * 12, octaves: high / 12 - low / 12 + 1, left, width }
    }

    /// All of them, ascending.
    pub(super) fn all(self) -> impl Iterator<Item = u8> {
        (self.first..=u8::MAX).take(12 * usize::from(self.octaves))
    }

    /// The width of a white key, rounded down.
    pub(super) fn white_width(self) -> i64 {
        self.width / (7 * i64::from(self.octaves))
    }

    /// The middle of a key.
    pub(super) fn middle(self, key: u8) -> i64 {
        let keyboard = Keyboard::STANDARD;
        // Hundredths of a millimetre; a tenth of one a unit of `octave`, and a white key is a seventh.
        let octave = 10 * i64::from(keyboard.octave());
        let way = i64::from(keyboard.distance(self.first, key)) + octave / 14;
        self.left + way * self.width / (octave * i64::from(self.octaves))
    }

    /// The edges of a key.
    pub(super) fn edges(self, key: u8) -> (i64, i64) {
        if is_black(key) {
            // As wide as the tails between which it lies: some three fifths of a white key.
            let half = self.white_width() * 3 / 10;
            return (self.middle(key) - half, self.middle(key) + half);
        }
        let octave = i64::from(key / 12) - i64::from(self.first / 12);
        let within = WHITE.iter().position(|white| *white == key % 12).unwrap_or_default();
        let index = 7 * octave + i64::try_from(within).unwrap_or_default();
        let edge = |index: i64| self.left + index * self.width / (7 * i64::from(self.octaves));
        (edge(index), edge(index + 1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_ranges_are_whole_octaves_and_hold_their_keys() {
        for low in 0..=127u8 {
            for high in low..=127 {
                let keys = Keys::around([high, low].into_iter(), 60, 5_880);
                let all: Vec<u8> = keys.all().collect();
                assert_eq!((all[0] % 12, all.len() % 12), (0, 0));
                assert!(all[0] + 12 > low && all[0] <= low && all.contains(&high));
                assert!(all[all.len() - 1] - high < 12);
            }
        }
        assert_eq!(
            Keys::around(std::iter::empty(), 0, 700).all().collect::<Vec<u8>>(),
            (60..72).collect::<Vec<u8>>()
        );
    }

    /// White keys lie side by side from edge to edge; a black one lies over the boundary of its neighbours and leaves the
    /// middles of both free, so that a line down the middle of a white key crosses no black one.
    #[test]
    fn all_keys_lie_as_on_a_keyboard() {
        for (low, high) in [(60, 60), (48, 74), (36, 84), (21, 108), (0, 127)] {
            let keys = Keys::around([low, high].into_iter(), 60, 5_880);
            let all: Vec<u8> = keys.all().collect();
            let whites: Vec<u8> = all.iter().copied().filter(|key| !is_black(*key)).collect();
            assert_eq!(keys.edges(whites[0]).0, 60);
            assert_eq!(keys.edges(*whites.last().unwrap()).1, 5_940);
            for pair in whites.windows(2) {
                assert_eq!(keys.edges(pair[0]).1, keys.edges(pair[1]).0);
            }
            for key in &all {
                let (from, to) = keys.edges(*key);
                assert!((from + to - 2 * keys.middle(*key)).abs() <= 3, "{key}");
                if is_black(*key) {
                    assert!(
                        keys.middle(key - 1) < from && to < keys.middle(key + 1),
                        "{key} of {low} to {high}"
                    );
                }
            }
        }
    }
}
