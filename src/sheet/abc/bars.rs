//! Barlines and endings as written.

use crate::sheet::barlines::is_ending_number;
use crate::sheet::draft::{Line, Sign};

/// A barline as read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Bars {
    pub(super) sign: Sign,
    /// Whether it stands for more repeats than once again.
    pub(super) more_than_twice: bool,
}

/// Reads a barline where one comes next (ABC 2.1, section 4.8: liberal, since many combinations are in use).
pub(super) fn read(line: &mut Line<'_>) -> Option<Bars> {
    let mut probe = *line;
    let is_dotted = probe.rest().starts_with(".|") && probe.eat(".");
    let before = probe.while_some(|c| c == ':').len();
    let core = core(&mut probe);
    let behind = probe.while_some(|c| c == ':').len();
    if core.is_empty() && before < 2 {
        return None;
    }
    *line = probe;
    if core.is_empty() {
        let sign = Sign { backward: true, forward: true, ..Sign::default() };
        return Some(Bars { sign, more_than_twice: before > 2 });
    }
    let mut sign = Sign { backward: before > 0, forward: behind > 0, ..Sign::default() };
    match core {
        _ if is_dotted => sign.ends = Some("dotted"),
        "[|]" | "[]" => sign.ends = Some("none"),
        _ if core.ends_with(']') => sign.ends = Some("light-heavy"),
        _ if core.starts_with('[') => sign.begins = Some("heavy-light"),
        _ if core.len() > 1 => sign.ends = Some("light-light"),
        _ => {}
    }
    // A double line that belongs to a repeat is drawn as one.
    if sign.backward || sign.forward {
        (sign.ends, sign.begins) = (None, None);
    }
    Some(Bars { sign, more_than_twice: before > 1 || behind > 1 })
}

/// The strokes: `|`, `||`, `|]`, `[|`, `[|]`.
fn core<'a>(line: &mut Line<'a>) -> &'a str {
    let rest = line.rest();
    let mut length = 0;
    if rest.starts_with("[|") || rest.starts_with("[]") {
        length += 1;
    }
    let strokes = rest.get(length..).unwrap_or_default();
    length += strokes.len() - strokes.trim_start_matches('|').len();
    if length > 0 && rest.get(length..).is_some_and(|rest| rest.starts_with(']')) {
        length += 1;
    }
    for _ in 0..length {
        line.next();
    }
    rest.get(..length).unwrap_or_default()
}

/// Numbers of endings with ranges written out, as the sheet holds them: `1,3`, `1-3` is `1,2,3`; `None` where they make no sense.
pub(super) fn ending_numbers(text: &str) -> Option<String> {
    const MOST: u8 = 99;
    let mut numbers = Vec::new();
    for part in text.split(',') {
        let (from, to) = part.split_once('-').unwrap_or((part, part));
        let (from, to): (u8, u8) = (from.parse().ok()?, to.parse().ok()?);
        if from == 0 || from > to || to > MOST || numbers.len() > usize::from(MOST) {
            return None;
        }
        numbers.extend(from..=to);
    }
    Some(itertools::join(numbers, ",")).filter(|text| is_ending_number(text))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sign(ends: Option<&'static str>, begins: Option<&'static str>, backward: bool, forward: bool) -> Sign {
        Sign { ends, begins, backward, forward }
    }

    /// ABC 2.1, section 4.8.
    #[test]
    fn ok_barlines() {
        let plain = sign(None, None, false, false);
        let both = sign(None, None, true, true);
        let (back, forth) = (sign(None, None, true, false), sign(None, None, false, true));
        for (text, expected, rest) in [
            ("|", plain, ""),
            ("|a", plain, "a"),
            ("|[CE]", plain, "[CE]"),
            ("|1", plain, "1"),
            ("||", sign(Some("light-light"), None, false, false), ""),
            ("|]", sign(Some("light-heavy"), None, false, false), ""),
            ("[|", sign(None, Some("heavy-light"), false, false), ""),
            ("[|]", sign(Some("none"), None, false, false), ""),
            (".|", sign(Some("dotted"), None, false, false), ""),
            ("|:", forth, ""),
            ("||:", forth, ""),
            ("[|:", forth, ""),
            (":|", back, ""),
            (":||", back, ""),
            (":|]", back, ""),
            (":|2", back, "2"),
            ("::", both, ""),
            (":|:", both, ""),
            (":||:", both, ""),
        ] {
            let mut line = Line::new(text, 0);
            let found = read(&mut line).unwrap_or_else(|| panic!("{text}"));
            assert_eq!((found.sign, found.more_than_twice, line.rest()), (expected, false, rest), "{text}");
        }
        for text in ["|::", "::|", ":::"] {
            assert!(read(&mut Line::new(text, 0)).unwrap().more_than_twice, "{text}");
        }
        for text in ["", "a", ":", "[CE]", "[1", ".a", ": |"] {
            assert_eq!(read(&mut Line::new(text, 0)), None, "{text}");
        }
    }

    /// ABC 2.1, sections 4.9 and 4.10.
    #[test]
    fn ok_ending_numbers() {
        for (text, expected) in
            [("1", "1"), ("2", "2"), ("1,3", "1,3"), ("1-3", "1,2,3"), ("1,3-5", "1,3,4,5")]
        {
            assert_eq!(ending_numbers(text).as_deref(), Some(expected));
        }
        for text in ["", "0", "3-1", "1-", "1,", "100", "1-99,1-99,1-99", "999"] {
            assert_eq!(ending_numbers(text), None, "{text}");
        }
    }
}
