//! What comes over from one vocabulary into another, and what does not.

/// A value said in another vocabulary, with all that did not come along or had to be assumed.
///
/// # Example
///
/// ```
/// use overshell::chord::chord;
/// use overshell::chord::vocabulary::musicxml;
///
/// assert!(musicxml::write(chord("C7(b9)")).is_exact());
/// let thirteenth = musicxml::write(chord("C13"));
/// assert_eq!(
///     thirteenth.losses[0].to_string(),
///     "others may hear an `11` in the kind `dominant-13th`: the schema puts it there, we leave it out over a major third"
/// );
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
}

impl std::fmt::Display for Loss {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}", self.what, self.why)
    }
}
