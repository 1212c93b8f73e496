//! How wide a text is, at the most, and cutting what is too wide.

/// Sizes of letters in hundredths of a millimetre; a point is 0.3528 mm (1/72 inch).
pub(super) mod size {
    /// Six points, the smallest: what is printed in the natural width can be read.
    pub(in crate::picture) const SMALL: i64 = 212;
    /// Seven points.
    pub(in crate::picture) const USUAL: i64 = 247;
    /// Eight points.
    pub(in crate::picture) const LARGE: i64 = 282;
    /// Eleven points.
    pub(in crate::picture) const HEADING: i64 = 388;
}

/// Above the line, letters take this much of their size, in hundredths: the capitals of usual faces without serifs.
pub(super) const CAPITALS: i64 = 73;

/// How far a character takes the line forward, in thousandths of the size of the letters: never less than in the regular (or
/// bold) face of DejaVu Sans, one of the widest of the usual faces, for printable ASCII. Others count as wide as they are high.
fn advance(c: char, bold: bool) -> i64 {
    let regular = match c {
        'i' | 'j' | 'l' | '\'' => 278,
        'I' | 'J' | ' ' | ',' | '.' | '/' | ':' | ';' | '\\' | '|' => 337,
        'f' | '-' | '(' | ')' | '[' | ']' | 't' | '!' | 'r' => 411,
        '"' | '*' | '_' | '`' | '°' | '–' | 's' | 'z' | '?' | '♭' | '♯' => 531,
        'c' | 'L' | 'F' | 'k' | 'v' | 'x' | 'y' | 'P' | 'T' | 'Y' => 611,
        'a'..='z' if c != 'm' && c != 'w' => 636,
        '0'..='9' | 'E' | '{' | '}' | '$' => 636,
        'K' | 'A' | 'V' | 'X' | 'Z' | 'B' | 'R' | 'C' => 698,
        'U' | 'N' | 'H' | 'D' | 'G' | '&' => 780,
        'O' | 'Q' | 'w' | '#' | '+' | '<' | '=' | '>' | '^' | '~' => 838,
        _ => 1_000,
    };
    if bold { regular * 9 / 8 } else { regular }
}

/// How wide a text is at the most, in the unit of `size`.
pub(super) fn width(text: &str, size: i64, bold: bool) -> i64 {
    text.chars().map(|c| advance(c, bold)).sum::<i64>() * size / 1_000 + 1
}

/// The text, cut where it would be wider than `room`; an ellipsis says so.
pub(super) fn fitted(text: &str, size: i64, bold: bool, room: i64) -> String {
    if width(text, size, bold) <= room {
        return text.to_owned();
    }
    let mut left = room - width("…", size, bold);
    let fits = |c: &char| {
        left -= width(c.encode_utf8(&mut [0; 4]), size, bold);
        left >= 0
    };
    let cut: String = text.chars().take_while(fits).collect();
    format!("{}…", cut.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Advances of some characters in the two faces, in thousandths, read from the font files (DejaVu 2.37).
    #[test]
    fn ok_no_narrower_than_in_a_wide_face() {
        for (text, regular, bold) in [
            ("0", 636, 696),
            ("b", 635, 716),
            ("#", 838, 838),
            ("C", 698, 734),
            ("E", 632, 683),
            ("F", 575, 683),
            ("G", 775, 821),
            ("I", 295, 372),
            ("V", 684, 774),
            ("m", 974, 1_042),
            ("s", 521, 595),
            ("r", 411, 493),
            ("i", 278, 343),
            ("W", 989, 1_103),
            ("(", 390, 457),
            (",", 318, 380),
            ("/", 337, 365),
            ("°", 500, 500),
            ("a", 613, 675),
            ("t", 392, 478),
            ("f", 352, 435),
            ("L", 557, 637),
            ("c", 550, 593),
        ] {
            assert!(width(text, 1_000, false) >= regular, "{text}");
            // Letters of the bold face are at most a few thousandths wider than we take them; the one added covers a word.
            assert!(width(text, 1_000, true) >= bold - 5, "{text}");
        }
    }

    #[test]
    fn ok_cut_with_an_ellipsis() {
        assert_eq!(fitted("C7", 100, false, 1_000), "C7");
        assert_eq!(fitted("Nine lamps at the harbour", 100, false, 700), "Nine lamps…");
        assert_eq!(fitted("Nine lamps", 100, false, 0), "…");
    }

    proptest::proptest! {
        #[test]
        fn prop_what_is_cut_fits(text in ".{0,60}", room in 120i64..4_000, bold: bool) {
            let cut = fitted(&text, 100, bold, room);
            proptest::prop_assert!(width(&cut, 100, bold) <= room + 2, "{cut}");
        }
    }
}
