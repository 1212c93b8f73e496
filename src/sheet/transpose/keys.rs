//! Which key becomes which.

use super::{Goal, Six, Transposition};
use crate::chord::Key;

/// The most accidentals that a signature has.
const MOST: i16 = 7;

/// The keys of one tune, moved.
pub(super) struct Keys {
    home: Key,
    goal: Key,
    /// Places up the line of fifths from the first key to where it goes.
    fifths: i16,
}

impl Keys {
    /// A tune that starts in `home`.
    pub(super) fn new(home: Key, how: Transposition) -> Self {
        let asked = match how.goal {
            Goal::Up(by) => i16::from(by.fifths()),
            Goal::Down(by) => -i16::from(by.fifths()),
            Goal::To(tonic) => i16::from(tonic.fifths()) - i16::from(home.tonic().fifths()),
        };
        let signature = i16::from(home.signature()) + asked;
        let named = matches!(how.goal, Goal::To(_)) || asked == 0;
        let goal = if named && signature.abs() <= MOST {
            with(home, signature)
        } else {
            with(home, fewest(signature, Some(how.six)))
        };
        Self { home, goal, fifths: i16::from(goal.signature()) - i16::from(home.signature()) }
    }

    /// What a key of the tune becomes.
    pub(super) fn of(&self, key: Key) -> Key {
        let signature = i16::from(key.signature()) + self.fifths;
        if key == self.home {
            self.goal
        } else if self.fifths == 0 && signature.abs() <= MOST {
            key
        } else {
            with(key, fewest(signature, None))
        }
    }

    /// By how many places up the line of fifths names move in this key of the tune.
    pub(super) fn shift(&self, key: Key) -> i16 {
        i16::from(self.of(key).signature()) - i16::from(key.signature())
    }
}

/// The key with another signature, of few accidentals.
pub(super) fn with(key: Key, signature: i16) -> Key {
    let moved = i8::try_from(signature).ok().and_then(|signature| Key::from_signature(signature, key.mode()));
    moved.unwrap_or(key)
}

/// The signature with the fewest accidentals of those that sound alike, -6 to 6. Of six flats and six sharps the wanted ones;
/// where nobody says, those on the side from which it comes.
pub(super) fn fewest(signature: i16, six: Option<Six>) -> i16 {
    let few = match signature {
        -6..=6 => signature,
        _ => (signature + 5).rem_euclid(12) - 5,
    };
    match (few.abs(), six) {
        (6, Some(Six::Flats)) => -6,
        (6, Some(Six::Sharps)) => 6,
        _ => few,
    }
}
