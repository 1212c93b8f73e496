//! Which characters XML can hold.

/// Whether XML 1.0 can hold this character at all, escaped or not (section 2.2 of its specification).
pub(crate) const fn is_allowed(c: char) -> bool {
    !matches!(c, '\0'..='\u{8}' | '\u{B}' | '\u{C}' | '\u{E}'..='\u{1F}' | '\u{FFFE}' | '\u{FFFF}')
}
