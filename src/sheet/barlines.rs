//! What the MusicXML 4.0 schema allows at a barline (`bar-style`, `ending-number`).

/// The styles of a barline.
pub(super) const STYLES: [&str; 11] = [
    "regular",
    "dotted",
    "dashed",
    "heavy",
    "light-light",
    "light-heavy",
    "heavy-light",
    "heavy-heavy",
    "tick",
    "short",
    "none",
];

/// Whether this numbers an ending: positive numbers without leading zeros between commas, or nothing at all.
pub(super) fn is_ending_number(text: &str) -> bool {
    let is_number =
        |part: &str| !part.starts_with('0') && !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    text.is_empty()
        || text.split(',').enumerate().all(|(index, part)| {
            is_number(if index > 0 { part.strip_prefix(' ').unwrap_or(part) } else { part })
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ok_ending_numbers() {
        for text in ["", "1", "1,2", "1, 2", "10"] {
            assert!(is_ending_number(text), "{text}");
        }
        for text in ["0", "01", "1,", ",1", "a", "1.", "1;2", "1,  2", "-1", "١"] {
            assert!(!is_ending_number(text), "{text}");
        }
    }
}
