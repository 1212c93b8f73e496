//! A hand and what is often asked of it.

use smallvec::SmallVec;

use super::super::Sound;
use crate::rules::kind::PairTest;

/// A hand and what is often asked of it.
#[derive(Clone, Debug)]
pub(super) struct OneHand {
    /// Alone.
    pub(super) sound: Sound,
    /// One bit for each pitch class.
    pub(super) classes: u16,
    /// For each pitch class those that lie above its lowest key.
    pub(super) above: [u16; 12],
    /// The place of its lowest key among those of all right hands.
    pub(super) low: usize,
}

/// The lowest keys of all right hands, each once, and whether some hand has no other key.
pub(super) type Lows = SmallVec<[(u8, bool); 24]>;

impl OneHand {
    /// A right hand, its lowest key among those of all.
    pub(super) fn right(keys: &[u8], lows: &mut Lows) -> Self {
        let lowest = keys.first().copied().unwrap_or_default();
        let low = lows.iter().position(|(known, _)| *known == lowest).unwrap_or_else(|| {
            lows.push((lowest, false));
            lows.len() - 1
        });
        if let Some((_, is_alone)) = lows.get_mut(low) {
            *is_alone |= keys.len() == 1;
        }
        Self { low, ..Self::new(keys, Sound::new(&[], keys)) }
    }

    /// A left hand.
    pub(super) fn left(keys: &[u8]) -> Self {
        Self::new(keys, Sound::new(keys, &[]))
    }

    fn new(keys: &[u8], sound: Sound) -> Self {
        let (mut classes, mut above) = (0u16, [0u16; 12]);
        for key in keys.iter().rev() {
            let class = key % 12;
            // What stands for the lowest key of a class is written last.
            if let Some(above) = above.get_mut(usize::from(class)) {
                *above = classes;
            }
            classes |= 1 << class;
        }
        Self { sound, classes, above, low: 0 }
    }

    /// The number of what comes with its lowest key: two for each, of which the second is that of hands without another key.
    pub(super) fn join(&self) -> u16 {
        (2 * self.low) as u16 + u16::from(self.keys().len() == 1)
    }

    /// Its keys, ascending.
    #[inline]
    pub(super) fn keys(&self) -> &[u8] {
        self.sound.keys()
    }

    #[inline]
    pub(super) fn has(&self, class: u8) -> bool {
        self.classes >> class & 1 == 1
    }

    /// Whether the pair sounds in this hand alone.
    #[inline]
    pub(super) fn fires(&self, pair: &PairTest) -> bool {
        match pair.either_way {
            true => self.has(pair.lower) && self.has(pair.upper),
            false => {
                self.above.get(usize::from(pair.lower)).is_some_and(|above| above >> pair.upper & 1 == 1)
            }
        }
    }
}
