//! One hand: up to five pitches, ascending.

use crate::error::{Error, Kind, Result};
use crate::pitch::Pitch;

/// Up to five pitches that one hand holds, ascending, no key twice.
///
/// # Example
///
/// ```
/// use overshell::voicing::Hand;
///
/// let hand: Hand = "Bb3 C3 E3".parse()?; // any order
/// assert_eq!(hand.to_string(), "C3 E3 Bb3");
/// assert_eq!(hand.span(), 10);
/// assert!("C4 D4 E4 F4 G4 A4".parse::<Hand>().unwrap_err().is_hand());
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Eq, PartialEq, Ord, PartialOrd, Hash)]
pub struct Hand {
    len: u8,
    /// The pitches, then fillers equal to each other, so that comparison sees the pitches only.
    pitches: [Pitch; Self::FINGERS],
}

impl Hand {
    /// How many fingers, and so pitches at most.
    pub const FINGERS: usize = 5;

    /// The hand that holds these pitches, in any order.
    ///
    /// # Errors
    ///
    /// [`Error::is_hand`] where there are more than five, or two on the same key.
    pub fn new(pitches: impl IntoIterator<Item = Pitch>) -> Result<Self> {
        let mut sorted: Vec<Pitch> = pitches.into_iter().collect();
        sorted.sort_unstable();
        if sorted.len() > Self::FINGERS {
            return Err(Error::new(
                Kind::Hand,
                format!("a hand of {} notes is too many, expected at most {}", sorted.len(), Self::FINGERS),
            ));
        }
        for (below, above) in sorted.iter().zip(sorted.iter().skip(1)) {
            if below.midi() == above.midi() {
                return Err(Error::new(Kind::Hand, format!("`{below}` and `{above}` are the same key"))
                    .with_help("leave one of the two out"));
            }
        }
        Ok(Self::from_sorted(&sorted))
    }

    /// The hand that holds these pitches, known to be ascending and at most five.
    pub(crate) fn from_sorted(sorted: &[Pitch]) -> Self {
        let mut hand = Self::empty();
        for (cell, pitch) in hand.pitches.iter_mut().zip(sorted) {
            *cell = *pitch;
            hand.len += 1;
        }
        hand
    }

    /// The hand that plays nothing.
    pub const fn empty() -> Self {
        Self { len: 0, pitches: [Pitch::MIDDLE_C; Self::FINGERS] }
    }

    /// The pitches, ascending.
    pub fn pitches(&self) -> &[Pitch] {
        self.pitches.get(..usize::from(self.len)).unwrap_or_default()
    }

    /// How many, `0..=5`.
    pub fn len(&self) -> usize {
        usize::from(self.len)
    }

    /// Whether the hand plays nothing.
    pub fn is_empty(&self) -> bool {
        self.len == 0
    }

    /// The lowest pitch.
    pub fn lowest(&self) -> Option<Pitch> {
        self.pitches().first().copied()
    }

    /// The highest pitch.
    pub fn highest(&self) -> Option<Pitch> {
        self.pitches().last().copied()
    }

    /// From lowest to highest, in semitones.
    pub fn span(&self) -> u8 {
        match (self.lowest(), self.highest()) {
            (Some(low), Some(high)) => high.midi() - low.midi(),
            _ => 0,
        }
    }
}

impl std::fmt::Display for Hand {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", itertools::join(self.pitches(), " "))
    }
}

impl std::fmt::Debug for Hand {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        std::fmt::Display::fmt(self, f)
    }
}

impl std::str::FromStr for Hand {
    type Err = Error;

    /// Reads pitches between spaces or commas, in any order.
    fn from_str(text: &str) -> Result<Self> {
        let words = text.split([' ', ',', '\t']).filter(|w| !w.is_empty());
        let pitches: Vec<Pitch> = words.map(str::parse).collect::<Result<_>>()?;
        Self::new(pitches)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pitch::pitch;

    #[test]
    fn ok_equal_whatever_stood_there_before() {
        let a: Hand = "C4 E4".parse().unwrap();
        let b = Hand::new([pitch("E4"), pitch("C4")]).unwrap();
        assert_eq!(a, b);
        assert_eq!(Hand::empty(), "".parse().unwrap());
    }

    #[test]
    fn err_hands() {
        assert!("C4 B#3".parse::<Hand>().unwrap_err().is_hand());
        assert!("C4 X".parse::<Hand>().unwrap_err().is_pitch());
    }
}
