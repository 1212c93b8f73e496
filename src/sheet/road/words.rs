//! The words of the road as they are printed: one table for all readers (common practice, no source).

use super::{Jump, JumpTo, JumpUntil, Mark};

/// What a text says of the road.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::sheet) enum Said {
    /// A mark.
    Mark(Mark),
    /// It begins like a jump and goes on otherwise.
    Unclear,
    /// Nothing.
    Nothing,
}

/// How a jump begins; whether it goes to the start.
const JUMPS: [(&[&str], bool); 6] = [
    (&["d", "c"], true),
    (&["dc"], true),
    (&["da", "capo"], true),
    (&["d", "s"], false),
    (&["ds"], false),
    (&["dal", "segno"], false),
];

/// How far it goes.
const UNTIL: [(&[&str], JumpUntil); 5] = [
    (&["al", "fine"], JumpUntil::Fine),
    (&["al", "coda"], JumpUntil::Coda),
    (&["alla", "coda"], JumpUntil::Coda),
    (&["e", "poi", "la", "coda"], JumpUntil::Coda),
    (&["poi", "la", "coda"], JumpUntil::Coda),
];

/// Whether repeats are played again.
const REPEATS: [(&[&str], bool); 14] = [
    (&["con", "replica"], true),
    (&["con", "repliche"], true),
    (&["con", "rep"], true),
    (&["con", "ripetizione"], true),
    (&["con", "ripetizioni"], true),
    (&["with", "repeat"], true),
    (&["with", "repeats"], true),
    (&["senza", "replica"], false),
    (&["senza", "repliche"], false),
    (&["senza", "rep"], false),
    (&["senza", "ripetizione"], false),
    (&["senza", "ripetizioni"], false),
    (&["no", "repeats"], false),
    (&["without", "repeats"], false),
];

/// The other marks.
#[derive(Clone, Copy)]
enum Other {
    Segno,
    Coda,
    ToCoda,
    Fine,
}

const OTHERS: [(&[&str], Other); 7] = [
    (&["segno"], Other::Segno),
    (&["coda"], Other::Coda),
    (&["to", "coda"], Other::ToCoda),
    (&["al", "coda"], Other::ToCoda),
    (&["alla", "coda"], Other::ToCoda),
    (&["da", "coda"], Other::ToCoda),
    (&["fine"], Other::Fine),
];

/// Reads a text such as `D.S. al Coda`, `To Coda`, `Fine`. Case, full stops and brackets do not matter; the signs of Unicode are their
/// names; a number behind `Coda`, `To Coda` or `Segno` is its label.
pub(in crate::sheet) fn read(text: &str) -> Said {
    // No such words are longer; longer texts are not looked at.
    const LONGEST: usize = 80;
    if text.len() > LONGEST {
        return Said::Nothing;
    }
    // Strokes, accidentals and the like stand in chord symbols.
    let is_plain =
        |c: char| c.is_alphanumeric() || c.is_whitespace() || ".,:()[]-\u{1D10B}\u{1D10C}".contains(c);
    if !text.chars().all(is_plain) {
        return Said::Nothing;
    }
    let plain = text.to_lowercase().replace('\u{1D10B}', " segno ").replace('\u{1D10C}', " coda ");
    let words: Vec<&str> =
        plain.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let words = words.as_slice();
    // `D(C)` is a chord: two letters are a jump with a full stop behind the first only.
    let is_short = matches!(words, ["d", "c" | "s", ..]) && !plain.contains("d.");
    if let Some((is_start, rest)) = first_of(&JUMPS, words).filter(|_| !is_short) {
        return jump(is_start, rest).map_or(Said::Unclear, |jump| Said::Mark(Mark::Jump(jump)));
    }
    let (label, named) = match words.split_last() {
        Some((last, before)) if last.bytes().all(|b| b.is_ascii_digit()) => (*last, before),
        _ => ("", words),
    };
    let Some((_, other)) = OTHERS.iter().find(|(own, _)| *own == named) else { return Said::Nothing };
    Said::Mark(match other {
        Other::Segno => Mark::Segno(label.to_owned()),
        Other::Coda => Mark::Coda(label.to_owned()),
        Other::ToCoda => Mark::ToCoda(label.to_owned()),
        Other::Fine if label.is_empty() => Mark::Fine,
        Other::Fine => return Said::Nothing,
    })
}

/// The row whose words come first, and the words behind them.
fn first_of<'w, 't, T: Copy>(rows: &[(&[&str], T)], words: &'w [&'t str]) -> Option<(T, &'w [&'t str])> {
    rows.iter()
        .find(|(own, _)| words.starts_with(own))
        .map(|(own, value)| (*value, words.get(own.len()..).unwrap_or_default()))
}

fn jump(is_start: bool, rest: &[&str]) -> Option<Jump> {
    let to = if is_start { JumpTo::Start } else { JumpTo::Segno(String::new()) };
    let (until, rest) = first_of(&UNTIL, rest).unwrap_or((JumpUntil::Unsaid, rest));
    let (with_repeats, rest) = first_of(&REPEATS, rest).unwrap_or((false, rest));
    rest.is_empty().then_some(Jump { to, until, with_repeats })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ok_words_as_printed() {
        let start = JumpTo::Start;
        let segno = JumpTo::Segno(String::new());
        for (text, to, until, with_repeats) in [
            ("D.C.", &start, JumpUntil::Unsaid, false),
            ("D. C.", &start, JumpUntil::Unsaid, false),
            ("DC al fine", &start, JumpUntil::Fine, false),
            ("Da Capo al Fine", &start, JumpUntil::Fine, false),
            ("(D.C. e poi la Coda)", &start, JumpUntil::Coda, false),
            ("D.C. senza replica", &start, JumpUntil::Unsaid, false),
            ("D.S.", &segno, JumpUntil::Unsaid, false),
            ("d.s. al \u{1D10C}", &segno, JumpUntil::Coda, false),
            ("D.S. al Coda", &segno, JumpUntil::Coda, false),
            ("Dal Segno al Fine", &segno, JumpUntil::Fine, false),
            ("D.S. al Coda con rep.", &segno, JumpUntil::Coda, true),
            ("D.S. (with repeats)", &segno, JumpUntil::Unsaid, true),
        ] {
            let jump = Jump { to: to.clone(), until, with_repeats };
            assert_eq!(read(text), Said::Mark(Mark::Jump(jump)), "{text}");
        }
        for (text, mark) in [
            ("To Coda", Mark::ToCoda(String::new())),
            ("to \u{1D10C}", Mark::ToCoda(String::new())),
            ("To Coda 2", Mark::ToCoda("2".into())),
            ("Al Coda", Mark::ToCoda(String::new())),
            ("CODA", Mark::Coda(String::new())),
            ("Coda 1", Mark::Coda("1".into())),
            ("\u{1D10B}", Mark::Segno(String::new())),
            ("Fine", Mark::Fine),
        ] {
            assert_eq!(read(text), Said::Mark(mark), "{text}");
        }
    }

    #[test]
    fn ok_other_words_say_nothing_or_are_unclear() {
        for text in ["D.S. two times", "D.C. al Segno", "Da Capo ad libitum", "dc1"] {
            let expected = if text == "dc1" { Said::Nothing } else { Said::Unclear };
            assert_eq!(read(text), expected, "{text}");
        }
        for text in [
            "D/C",
            "D(C)",
            "D C",
            "Coda?",
            "",
            "1",
            "Dsus",
            "D7",
            "C",
            "Finely",
            "dolce",
            "Fine 2",
            "da",
            "to",
            "Swing",
            &"d.c. ".repeat(40),
        ] {
            assert_eq!(read(text), Said::Nothing, "{text}");
        }
    }
}
