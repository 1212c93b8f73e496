//! Text on pages for programs that have no fonts of their own: PNG and PDF are drawn with the fonts of the machine.
//!
//! In SVG the engraver's own font draws signs within text, and whoever shows the page finds letters for the rest. Here both are
//! settled beforehand, so that nothing is left out without a word.

use std::sync::OnceLock;

use crate::error::{Error, Kind, Result};

/// Families with serifs, the first that is there is taken; failing all, whatever family there is.
const FAMILIES: [&str; 6] =
    ["Times New Roman", "Liberation Serif", "Tinos", "Noto Serif", "DejaVu Serif", "FreeSerif"];

/// What stands for a sign of the engraver's font, by its number in SMuFL 1.4 (sections "Standard accidentals (12-EDO)", "Chord
/// symbols", "Figured bass" and "Metronome marks").
const SIGNS: [(char, &str); 25] = [
    ('\u{E260}', "b"),
    ('\u{E261}', "n"),
    ('\u{E262}', "#"),
    ('\u{E263}', "##"),
    ('\u{E264}', "bb"),
    ('\u{EA63}', "bb"),
    ('\u{EA64}', "b"),
    ('\u{EA65}', "n"),
    ('\u{EA66}', "#"),
    ('\u{EA67}', "##"),
    ('\u{ED60}', "b"),
    ('\u{ED61}', "n"),
    ('\u{ED62}', "#"),
    ('\u{ED63}', "##"),
    ('\u{ED64}', "bb"),
    ('\u{ECA2}', "whole"),
    ('\u{ECA3}', "half"),
    ('\u{ECA4}', "half"),
    ('\u{ECA5}', "quarter"),
    ('\u{ECA6}', "quarter"),
    ('\u{ECA7}', "eighth"),
    ('\u{ECA8}', "eighth"),
    ('\u{ECA9}', "16th"),
    ('\u{ECAA}', "16th"),
    ('\u{ECB7}', "."),
];

/// How the engraver begins a sign of its own font within text.
const SIGN: &str = "<tspan font-family=\"Leipzig\" font-size=\"720px\">";

/// A page whose text is in a family of this machine, without signs of the engraver's own font in it.
pub(super) fn lettered(svg: &str) -> Result<String> {
    lettered_in(svg, family()?)
}

fn lettered_in(svg: &str, family: &str) -> Result<String> {
    let mut parts = svg.split(SIGN);
    let mut page = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        let (signs, rest) = part.split_once('<').unwrap_or((part, ""));
        page.push_str("<tspan font-size=\"405px\">");
        for sign in signs.chars() {
            let known = SIGNS.iter().find(|(known, _)| *known == sign);
            let (_, text) = known.ok_or_else(|| {
                let message =
                    format!("a text has the sign U+{:04X}, for which there are no letters", u32::from(sign));
                Error::new(Kind::Sheet, message).with_help("take the page as SVG, in which it is drawn")
            })?;
            page.push_str(text);
        }
        page.push('<');
        page.push_str(rest);
    }
    let page = page.replace("font-family=\"Times, serif\"", &format!("font-family=\"{family}\""));
    Ok(page.replace("font-family=\"Times\"", &format!("font-family=\"{family}\"")))
}

/// The family that text is set in.
fn family() -> Result<&'static str> {
    static FAMILY: OnceLock<Option<String>> = OnceLock::new();
    let found = FAMILY.get_or_init(|| {
        let mut fonts = fontdb::Database::new();
        fonts.load_system_fonts();
        let families = || fonts.faces().flat_map(|face| face.families.iter().map(|(name, _)| name.as_str()));
        let wanted = FAMILIES.into_iter().find(|wanted| families().any(|family| family == *wanted));
        wanted.or_else(|| families().find(|name| !name.contains(['"', '<', '&']))).map(str::to_owned)
    });
    found.as_deref().ok_or_else(|| {
        Error::new(Kind::NoAnswer, "no font is installed, so that a picture would have no text")
            .with_help("install one, such as Liberation Serif or DejaVu Serif, or take the page as SVG")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ok_signs_become_letters() {
        let svg = format!(
            "<svg font-family=\"Times, serif\"><text font-family=\"Times\">B{SIGN}\u{EA64}</tspan>7 {SIGN}\u{ECA5}\u{ECB7}</tspan> = 90</text></svg>"
        );
        let page = lettered_in(&svg, "Serif").unwrap();
        assert_eq!(
            page,
            "<svg font-family=\"Serif\"><text font-family=\"Serif\">B<tspan font-size=\"405px\">b</tspan>7 \
             <tspan font-size=\"405px\">quarter.</tspan> = 90</text></svg>"
        );
    }

    #[test]
    fn err_a_sign_without_letters_is_not_left_out() {
        let error = lettered_in(&format!("<svg>{SIGN}\u{E050}</tspan></svg>"), "Serif").unwrap_err();
        assert!(error.is_sheet() && error.to_string().contains("U+E050") && error.help().is_some());
        assert_eq!(lettered_in("<svg/>", "Serif").unwrap(), "<svg/>");
        assert!(lettered_in(&format!("<svg>{SIGN}"), "Serif").is_ok());
    }
}
