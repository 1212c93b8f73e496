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
        'i' | 'j' | 'l' | '\'' => 310,
        'I' | 'J' | ' ' | ',' | '.' | '/' | ':' | ';' | '\\' | '|' => 356,
        'f' | '-' | '(' | ')' | '[' | ']' | '!' => 411,
        '"' | '*' | '_' | '`' | '°' | '–' | 's' | 'z' | '?' | '♭' | '♯' | 'r' | 't' => 531,
        'c' | 'L' | 'F' | 'k' | 'v' | 'x' | 'y' => 611,
        'a'..='z' if c != 'm' && c != 'w' => 636,
        '0'..='9' | 'E' | '{' | '}' | '$' | 'S' => 640,
        'K' | 'A' | 'V' | 'X' | 'Z' | 'B' | 'R' | 'C' | 'P' | 'T' | 'Y' => 698,
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

    /// Advances in the two faces, in thousandths, rounded up, read from the font files (DejaVu 2.37).
    #[test]
    fn all_letters_are_counted_no_narrower_than_in_a_wide_face() {
        let mut count = 0;
        for (texts, regular, bold) in [
            ("'", 275, 307),
            ("ijl", 278, 343),
            ("IJ", 295, 373),
            (" ", 318, 349),
            (",.", 318, 380),
            ("/\\|", 337, 366),
            (":;", 337, 400),
            ("f", 353, 436),
            ("-", 361, 416),
            ("()[]", 391, 458),
            ("t", 393, 479),
            ("!", 401, 457),
            ("r", 412, 494),
            ("\"", 460, 521),
            ("♭", 472, 472),
            ("♯", 484, 484),
            ("_`°", 500, 500),
            ("*", 500, 523),
            ("s", 521, 596),
            ("z", 525, 583),
            ("?", 531, 581),
            ("c", 550, 593),
            ("L", 558, 638),
            ("F", 576, 684),
            ("k", 580, 666),
            ("x", 592, 646),
            ("vy", 592, 652),
            ("P", 604, 733),
            ("T", 611, 683),
            ("Y", 611, 725),
            ("o", 612, 688),
            ("a", 613, 675),
            ("e", 616, 679),
            ("E", 632, 684),
            ("hnu", 634, 712),
            ("bdgpq", 635, 716),
            ("S", 635, 721),
            ("$0123456789", 637, 696),
            ("{}", 637, 712),
            ("K", 656, 775),
            ("AV", 685, 774),
            ("Z", 686, 726),
            ("X", 686, 771),
            ("B", 687, 763),
            ("R", 695, 771),
            ("C", 699, 734),
            ("U", 732, 813),
            ("N", 749, 837),
            ("H", 752, 837),
            ("D", 771, 831),
            ("G", 775, 821),
            ("&", 780, 873),
            ("OQ", 788, 851),
            ("w", 818, 924),
            ("#+<=>^~", 838, 838),
            ("M", 863, 996),
            ("%", 951, 1_002),
            ("m", 975, 1_042),
            ("W", 989, 1_104),
            ("@…", 1_000, 1_000),
        ] {
            for c in texts.chars() {
                // What `width` adds for rounding comes once in a text, not once in a letter.
                let own = |bold| advance(c, bold) + 1;
                assert!(own(false) >= regular && own(true) >= bold, "{c}");
                count += usize::from(c.is_ascii());
            }
        }
        assert_eq!(count, 95);
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
