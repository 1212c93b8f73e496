//! The colours, and what may be written on what.
//!
//! The hues are those of Okabe and Ito, *Color Universal Design: how to make figures and presentations that are friendly
//! to colorblind people* (2008): people of all common kinds of colour vision can tell them apart. Colour never stands alone:
//! shape, hatch and lightness say the same, for black-and-white print.

pub(super) const BLACK: &str = "#000000";
pub(super) const WHITE: &str = "#ffffff";
/// Okabe and Ito's blue: (0, 114, 178).
pub(super) const BLUE: &str = "#0072b2";
/// Okabe and Ito's orange: (230, 159, 0).
pub(super) const ORANGE: &str = "#e69f00";
/// Okabe and Ito's bluish green: (0, 158, 115).
pub(super) const GREEN: &str = "#009e73";
/// Okabe and Ito's vermilion: (213, 94, 0).
pub(super) const VERMILION: &str = "#d55e00";
/// Bluish green with much white.
const PALE_GREEN: &str = "#dff3ec";
/// Vermilion with much white.
const PALE_VERMILION: &str = "#fbe7da";
/// What stands in the second row of importance.
const GREY: &str = "#4d4d4d";
/// Lines that guide the eye and carry no meaning of their own.
pub(super) const FAINT: &str = "#c8c8c8";

/// What a text stands on, and so with which ink it is written: there is no other way to write.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub(super) enum Ground {
    /// The paper.
    Paper,
    /// The paper, for what matters less.
    Aside,
    /// A note of the left hand.
    Left,
    /// A note of the right hand.
    Right,
    /// A triad that colours.
    Colour,
    /// A triad that clashes.
    Clash,
}

impl Ground {
    #[cfg(test)]
    pub(super) const ALL: [Self; 6] =
        [Self::Paper, Self::Aside, Self::Left, Self::Right, Self::Colour, Self::Clash];

    /// The colour of the ground.
    pub(super) const fn fill(self) -> &'static str {
        match self {
            Self::Paper | Self::Aside => WHITE,
            Self::Left => BLUE,
            Self::Right => ORANGE,
            Self::Colour => PALE_GREEN,
            Self::Clash => PALE_VERMILION,
        }
    }

    /// The colour of what is written on it.
    pub(super) const fn ink(self) -> &'static str {
        match self {
            Self::Left => WHITE,
            Self::Aside => GREY,
            Self::Paper | Self::Right | Self::Colour | Self::Clash => BLACK,
        }
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// Relative luminance, WCAG 2.1, "Definitions", w3.org/TR/WCAG21/#dfn-relative-luminance.
    fn luminance(colour: &str) -> f64 {
        let channel = |from: usize| {
            let value =
                f64::from(u8::from_str_radix(colour.get(from..from + 2).unwrap(), 16).unwrap()) / 255.0;
            if value <= 0.03928 { value / 12.92 } else { ((value + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
    }

    /// Contrast ratio, the same, #dfn-contrast-ratio.
    pub(in crate::picture) fn contrast(one: &str, other: &str) -> f64 {
        let (one, other) = (luminance(one), luminance(other));
        (one.max(other) + 0.05) / (one.min(other) + 0.05)
    }

    /// The ends of the scale as the definition gives them, 1:1 to 21:1.
    #[test]
    fn ok_contrast_runs_from_1_to_21() {
        assert!((contrast(BLACK, WHITE) - 21.0).abs() < 1e-9);
        assert!((contrast(BLUE, BLUE) - 1.0).abs() < 1e-9);
    }

    /// WCAG 2.1, success criterion 1.4.3: text against its ground, at least 4.5:1.
    #[test]
    fn all_texts_stand_out_from_their_grounds() {
        for ground in Ground::ALL {
            let ratio = contrast(ground.ink(), ground.fill());
            assert!(ratio >= 4.5, "{ground:?} has {ratio}");
        }
    }

    /// WCAG 2.1, success criterion 1.4.11: what is needed to understand a picture, at least 3:1 against what lies beside
    /// it. Marks on keys have outlines: black ones on white keys, white ones on black keys.
    #[test]
    fn all_marks_stand_out_from_what_is_beside_them() {
        for (mark, beside) in [
            (BLACK, WHITE),
            (BLUE, WHITE),
            (VERMILION, WHITE),
            (BLACK, ORANGE),
            (WHITE, GREEN),
            (BLACK, VERMILION),
            (BLUE, BLACK),
            (ORANGE, BLACK),
        ] {
            let ratio = contrast(mark, beside);
            assert!(ratio >= 3.0, "{mark} on {beside} has {ratio}");
        }
    }

    /// Printed without colour, the hands are a dark and a light grey: twice the light and more (a bound of our own).
    #[test]
    fn ok_the_hands_differ_in_lightness() {
        assert!(contrast(BLUE, ORANGE) > 2.0);
    }
}
