//! Right hands, with what does not depend on the chord.

use super::members::Members;
use super::one_hand::{Lows, OneHand};

/// Right hands, ascending, with what does not depend on the chord: for all judges to which they are shown.
#[derive(Debug)]
pub(crate) struct Rights {
    pub(super) hands: Vec<OneHand>,
    pub(super) lows: Lows,
    /// For each right hand the number of what comes with its lowest key ([`OneHand::join`]).
    pub(super) join_of: Vec<u16>,
    /// The pitch classes that some right hand has in two octaves.
    pub(super) doubled: u16,
    /// Which right hands have what.
    pub(super) members: Members,
    /// Those that hold nothing.
    pub(super) empty: Vec<usize>,
}

impl Rights {
    pub(crate) fn new<'h>(hands: impl IntoIterator<Item = &'h [u8]>) -> Self {
        let mut lows = Lows::new();
        let hands: Vec<OneHand> = hands.into_iter().map(|keys| OneHand::right(keys, &mut lows)).collect();
        let empty = (0..).zip(&hands).filter(|(_, hand)| hand.keys().is_empty());
        Self {
            lows,
            join_of: hands.iter().map(OneHand::join).collect(),
            doubled: hands.iter().fold(0, |bits, hand| bits | hand.sound.doubled),
            members: Members::of(&hands),
            empty: empty.map(|(at, _)| at).collect(),
            hands,
        }
    }
}
