//! What comes over from one vocabulary into another, and what does not.

use std::fmt::Display;

use crate::chord::{Chord, Degree};

/// A value said in another vocabulary, with all that did not come along or had to be assumed.
///
/// # Example
///
/// ```
/// use overshell::chord::chord;
/// use overshell::chord::vocabulary::abc;
///
/// let text = abc::write(chord("C7(b9)"));
/// assert_eq!(text.value, "C7");
/// assert!(!text.is_exact());
/// assert_eq!(text.losses[0].to_string(), "`b9` is left out: the types of ABC have no word for it");
/// ```
#[derive(Clone, Debug, Eq, PartialEq)]
pub struct Translation<T> {
    /// What came over.
    pub value: T,
    /// What did not, or was assumed; empty where both sides say the same.
    pub losses: Vec<Loss>,
}

impl<T> Translation<T> {
    /// Whether nothing was lost or assumed.
    pub fn is_exact(&self) -> bool {
        self.losses.is_empty()
    }
}

/// Something that did not come over, or that had to be assumed.
///
/// Prints as `what: why`.
#[derive(Clone, Debug, Eq, PartialEq)]
pub struct Loss {
    /// What was found, and what became of it.
    pub what: String,
    /// Why.
    pub why: &'static str,
}

impl Loss {
    pub(super) fn new(what: impl Into<String>, why: &'static str) -> Self {
        Self { what: what.into(), why }
    }

    /// Says that a degree is in the chord under another name: a second that is a ninth. `None` where it is there under
    /// its own, or not at all.
    pub(super) fn renamed(chord: Chord, written: impl Display, number: u8, alteration: i8) -> Option<Self> {
        let natural = Degree::from_number(number.checked_sub(1)? % 7 + 1, 0)?;
        let semitones = (i16::from(natural.semitones()) + i16::from(alteration)).rem_euclid(12);
        let mut same_key = chord.tones().iter().filter(|degree| i16::from(degree.semitones()) == semitones);
        let name = same_key.next()?;
        let same_name = (name.number(), name.alteration()) == (number, alteration);
        (!same_name)
            .then(|| Self::new(format!("`{written}` is read as `{name}`"), "a chord has one name for a key"))
    }
}

impl Display for Loss {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}", self.what, self.why)
    }
}
