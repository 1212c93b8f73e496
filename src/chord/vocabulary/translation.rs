//! What comes over from one vocabulary into another.

use super::Loss;

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
#[derive(Clone, Debug, Eq, PartialEq, Hash, serde::Serialize)]
#[non_exhaustive]
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
