//! How a name that moves along the line of fifths is spelled.

use crate::chord::{Key, Mode};
use crate::pitch::NoteName;

/// The outermost names with one accidental: F flat and B sharp.
const SINGLE: std::ops::RangeInclusive<i16> = -8..=12;

/// A note of the melody, or a bass: two accidentals only where the key asks for them.
pub(super) fn note(name: NoteName, shift: i16, key: Key) -> NoteName {
    let fifths = i16::from(name.fifths()) + shift;
    let asked = i8::try_from(fifths).ok().and_then(NoteName::from_fifths).filter(|name| asks(key, *name));
    asked.unwrap_or_else(|| root(name, shift))
}

/// A root: one accidental at most. What does not move stays as it is.
pub(super) fn root(name: NoteName, shift: i16) -> NoteName {
    if shift == 0 {
        return name;
    }
    let mut fifths = i16::from(name.fifths()) + shift;
    while fifths > *SINGLE.end() {
        fifths -= 12;
    }
    while fifths < *SINGLE.start() {
        fifths += 12;
    }
    NoteName::from_fifths_respelled(fifths)
}

/// Whether a key asks for this name even with two accidentals: as the raised sixth or seventh of a minor key.
pub(super) fn asks(key: Key, name: NoteName) -> bool {
    let above = i16::from(name.fifths()) - i16::from(key.tonic().fifths());
    key.mode() == Mode::Minor && matches!(above, 3 | 5)
}
