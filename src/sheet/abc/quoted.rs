//! What stands between quotes in front of a note, and texts with escaped signs.

use crate::chord::ChordSymbol;
use crate::chord::vocabulary::abc::{Text, read};
use crate::pitch::shown;
use crate::sheet::PlacedSymbol;
use crate::sheet::draft::{symbol, unread};
use crate::sheet::read::chords::Understood;
use crate::sheet::road::{self, Mark, Said};

/// What a quoted text is to a lead sheet.
pub(super) enum Quoted {
    /// A chord symbol.
    Chord(Understood),
    /// Words for the player.
    Words,
    /// A mark that says where the music goes on.
    Mark(Mark),
    /// A jump that is not understood.
    Unclear,
    /// Neither.
    Neither,
}

/// Reads a quoted text: in the words of the ABC vocabulary first, then as any chord symbol.
pub(super) fn quoted(text: &str) -> Quoted {
    let text = decoded(text);
    let trimmed = text.trim();
    match road::read(trimmed.strip_prefix(['^', '_', '<', '>']).unwrap_or(trimmed)) {
        Said::Mark(mark) => return Quoted::Mark(mark),
        Said::Unclear => return Quoted::Unclear,
        Said::Nothing => {}
    }
    // What starts a chord, an annotation or the words for no chord; nothing else is looked at more closely.
    let may_be_more = |c: char| matches!(c, 'A'..='G') || "^_<>@([{NnTtOo".contains(c);
    if !trimmed.starts_with(may_be_more) {
        return Quoted::Neither;
    }
    match read(trimmed) {
        Ok(found) => {
            let (chord, alternate) = match found.value {
                Text::Annotation { .. } => return Quoted::Words,
                Text::NoChord => (None, None),
                Text::Chord { chord, alternate } => (Some(chord), alternate),
            };
            // As written, where that is a chord symbol of ours with the same meaning.
            let written: Option<ChordSymbol> =
                trimmed.parse().ok().filter(|s: &ChordSymbol| s.chord() == chord);
            let own = written.or_else(|| chord.map(ChordSymbol::of_chord));
            let Some(own) = own else { return Quoted::Chord(symbol(trimmed)) };
            let mut understood = Understood::read(own);
            let lost = found.losses.iter().map(ToString::to_string);
            let aside =
                alternate.map(|chord| format!("the alternate `{chord}` is left out: it is for print only"));
            for message in lost.chain(aside) {
                let help = "write the chord that sounds alone";
                understood.findings.push((format!("`{}`: {message}", shown(trimmed)), help.into()));
            }
            Quoted::Chord(understood)
        }
        Err(error) if trimmed.starts_with(|c| matches!(c, 'A'..='G')) => {
            Quoted::Chord(unread(trimmed, &error))
        }
        Err(_) => match trimmed.parse::<ChordSymbol>() {
            Ok(own) => Quoted::Chord(Understood { symbol: PlacedSymbol::Read(own), findings: Vec::new() }),
            Err(_) => Quoted::Neither,
        },
    }
}

/// A text with its escaped signs as they are (ABC 2.1, section 8.2): `\\`, `\%`, `\&`, `\"`, `\u00e9`, and accents of letters
/// such as `\'e`.
pub(super) fn decoded(text: &str) -> String {
    if !text.contains('\\') {
        return text.to_owned();
    }
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some((before, behind)) = rest.split_once('\\') {
        out.push_str(before);
        let (sign, length) = escaped(behind).unwrap_or(('\\', 0));
        out.push(sign);
        rest = behind.get(length..).unwrap_or_default();
    }
    out + rest
}

/// The sign that is meant behind a backslash, and how many bytes it takes.
fn escaped(text: &str) -> Option<(char, usize)> {
    let first = text.chars().next()?;
    if matches!(first, '\\' | '%' | '&' | '"') && accented(text).is_none() {
        return Some((first, 1));
    }
    if first == 'u' {
        let code = text.get(1..5).filter(|code| code.bytes().all(|b| b.is_ascii_hexdigit()))?;
        return Some((char::from_u32(u32::from_str_radix(code, 16).ok()?)?, 5));
    }
    accented(text).map(|sign| (sign, 2))
}

/// A letter with an accent.
fn accented(text: &str) -> Option<char> {
    /// An accent, the letters that take it, and both together.
    const ACCENTS: [(char, &str, &str); 7] = [
        ('`', "AEIOUaeiou", "ÀÈÌÒÙàèìòù"),
        ('\'', "AEIOUYaeiouy", "ÁÉÍÓÚÝáéíóúý"),
        ('^', "AEIOUaeiou", "ÂÊÎÔÛâêîôû"),
        ('~', "ANOano", "ÃÑÕãñõ"),
        ('"', "AEIOUYaeiouy", "ÄËÏÖÜŸäëïöüÿ"),
        ('c', "Cc", "Çç"),
        ('/', "Oo", "Øø"),
    ];
    let mut signs = text.chars();
    let (accent, letter) = (signs.next()?, signs.next()?);
    let (_, plain, together) = ACCENTS.iter().find(|(known, ..)| *known == accent)?;
    together.chars().nth(plain.chars().position(|known| known == letter)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chord(text: &str) -> (String, usize) {
        match quoted(text) {
            Quoted::Chord(understood) => (understood.symbol.as_str().to_owned(), understood.findings.len()),
            _ => panic!("{text}"),
        }
    }

    #[test]
    fn ok_chords() {
        for (text, expected, findings) in [
            ("Am7", "Am7", 0),
            ("F#m/c#", "F#m/C#", 0),
            ("G(Em)", "G", 1),
            ("G(Eq)", "G", 1),
            ("C7(b9)", "C7(b9)", 0),
            ("D|C7", "D|C7", 0),
            ("(G7)", "(G7)", 0),
            ("N.C.", "N.C.", 0),
            ("NC", "NC", 0),
            ("Cqq", "Cqq", 1),
            ("B\\u266d7", "B♭7", 0),
        ] {
            assert_eq!(chord(text), (expected.into(), findings), "{text}");
        }
        let Quoted::Chord(understood) = quoted("Cqq") else { panic!() };
        assert_eq!(
            understood.findings[0].0,
            "the chord `Cqq` is not read, unknown sign `qq`, expected a quality, a number or an alteration"
        );
    }

    #[test]
    fn ok_words() {
        assert!(matches!(quoted("^slowly"), Quoted::Words));
        assert!(matches!(quoted("@1,2 Am"), Quoted::Words));
        assert!(matches!(quoted("slowly"), Quoted::Neither));
        for text in ["D.C. al Fine", "Fine", "D.S.", "DC", "To Coda", "^Fine", "_D.S. al Coda"] {
            assert!(matches!(quoted(text), Quoted::Mark(_)), "{text}");
        }
        assert!(matches!(quoted("D.C. three times"), Quoted::Unclear));
        assert_eq!(chord("Dsus").0, "Dsus");
    }

    #[test]
    fn ok_escaped_signs() {
        for (text, expected) in [
            ("a\\\\b", "a\\b"),
            ("5\\% \\& \\\"x\\\"", "5% & \"x\""),
            ("caf\\'e \\\"o \\~n \\cc \\/o \\u00e9", "café ö ñ ç ø é"),
            ("\\", "\\"),
            ("\\u12", "\\u12"),
            ("\\ud800", "\\ud800"),
            ("\\é", "\\é"),
        ] {
            assert_eq!(decoded(text), expected, "{text}");
        }
    }
}
