//! What a note is: pitch classes, spelled names, pitches with an octave, intervals, sets.
//!
//! | type | what it says | equal when |
//! |---|---|---|
//! | [`PitchClass`] | a key of the keyboard, whatever the octave and the spelling | same key: C♯ = D♭ |
//! | [`NoteName`] | letter and accidental: a place on the line of fifths | same spelling: C♯ ≠ D♭ |
//! | [`Pitch`] | a name in an octave, with its MIDI number (C4 = 60) | same spelling and octave |
//! | [`Interval`] | a diatonic size and a quality, upwards | same size and quality |
//! | [`PitchSet`] | any set of pitch classes, as twelve bits | same keys |
//! | [`NormalOrder`] | the members of a set upwards from where they are packed best | same set, same first |
//! | [`SetClass`] | all sets that are transpositions or inversions of each other | same class |
//! | [`ForteName`] | all sets that are transpositions of each other, by name | same name |
//!
//! It is not: tuning, frequency or notation. Everything here is a small `Copy` integer.
//!
//! # Example
//!
//! ```
//! use overshell::pitch::{note, pitch, Interval};
//!
//! let tenth: Interval = "m10".parse()?;
//! assert_eq!(note("C").checked_add(tenth), Some(note("Eb")));
//! assert_eq!(pitch("C4").checked_add(tenth), Some(pitch("Eb5")));
//! # Ok::<(), overshell::Error>(())
//! ```

mod accidental;
mod class;
mod forte_name;
mod interval;
mod letter;
mod name;
mod normal_order;
mod note;
mod set;
mod set_class;
mod set_table;

pub use accidental::Accidental;
pub use class::PitchClass;
pub use forte_name::ForteName;
pub use interval::Interval;
pub use letter::Letter;
pub use name::{NoteName, note};
pub use normal_order::NormalOrder;
pub use note::{Pitch, pitch};
pub use set::PitchSet;
pub use set_class::{Form, SetClass};

/// Implements `serde` through the textual form: what `Display` prints is what is stored.
macro_rules! serde_as_text {
    ($($type:ty),+ $(,)?) => {$(
        impl serde::Serialize for $type {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }
        impl<'de> serde::Deserialize<'de> for $type {
            fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                let text = <std::borrow::Cow<'de, str>>::deserialize(deserializer)?;
                text.parse().map_err(serde::de::Error::custom)
            }
        }
    )+};
}
pub(crate) use name::shown;
pub(crate) use serde_as_text;
serde_as_text!(NoteName, Pitch, Interval, PitchSet, PitchClass, SetClass, ForteName);
