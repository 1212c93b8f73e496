//! Marks that say where the music goes on, as words between `<` and `>`.

use crate::sheet::road::{Mark, Said, is_label, read};
use crate::sheet::{Jump, JumpTo, JumpUntil, Road};

/// Reads what stands between `<` and `>`, such as `dal segno=2 al coda`.
pub(in crate::sheet) fn read_mark(text: &str) -> Option<Mark> {
    let (words, label) = match text.split_once('=') {
        Some((before, behind)) => {
            let (label, more) = behind.split_once(char::is_whitespace).unwrap_or((behind, ""));
            (format!("{before} {more}"), Some(label).filter(|label| is_label(label) && !label.is_empty())?)
        }
        None => (text.to_owned(), ""),
    };
    match read(&words) {
        Said::Mark(mut mark) => (label.is_empty() || mark.set_label(label.to_owned())).then_some(mark),
        Said::Unclear | Said::Nothing => None,
    }
}

/// The marks of a bar as written: those in front of its chords, and those behind.
pub(super) fn marks(road: &Road) -> (String, String) {
    let (mut start, mut end) = (String::new(), String::new());
    let add = |text: &mut String, words: &str, label: &str, more: &str| {
        let label = if label.is_empty() { String::new() } else { format!("={label}") };
        text.push_str(&format!(" <{words}{label}{more}>"));
    };
    if let Some(label) = &road.segno {
        add(&mut start, "segno", label, "");
    }
    if let Some(label) = &road.coda {
        add(&mut start, "coda", label, "");
    }
    if let Some(label) = &road.to_coda {
        add(&mut end, "to coda", label, "");
    }
    if road.fine {
        add(&mut end, "fine", "", "");
    }
    if let Some(jump @ Jump { to, .. }) = &road.jump {
        let (words, label) = match to {
            JumpTo::Start => ("da capo", ""),
            JumpTo::Segno(label) => ("dal segno", label.as_str()),
        };
        add(&mut end, words, label, &more(jump));
    }
    (start, end)
}

fn more(jump: &Jump) -> String {
    let until = match jump.until {
        JumpUntil::Unsaid => "",
        JumpUntil::Fine => " al fine",
        JumpUntil::Coda => " al coda",
    };
    format!("{until}{}", if jump.with_repeats { " with repeats" } else { "" })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn label(text: &str) -> JumpTo {
        JumpTo::Segno(text.into())
    }

    /// Every mark is read as it is written, with a label and without.
    #[test]
    fn all_marks_are_read_as_written() {
        let mut count = 0;
        for own in ["", "2", "al", "x-1.a"] {
            for until in [JumpUntil::Unsaid, JumpUntil::Fine, JumpUntil::Coda] {
                for (to, with_repeats) in [(JumpTo::Start, false), (label(own), false), (label(own), true)] {
                    let own = || Some(own.to_owned());
                    let jump = Some(Jump { to, until, with_repeats });
                    let road = Road { segno: own(), coda: own(), to_coda: own(), fine: true, jump };
                    let (start, end) = marks(&road);
                    let mut again = Road::default();
                    for text in format!("{start}{end}").split('<').skip(1) {
                        assert!(!again.add(read_mark(text.split('>').next().unwrap()).unwrap()), "{text}");
                    }
                    assert_eq!(again, road);
                    count += 1;
                }
            }
        }
        assert_eq!(count, 36);
    }

    #[test]
    fn err_marks() {
        for text in
            ["", "da", "segno=", "segno=a b c", "fine=2", "da capo=2", "coda=coda", "dal segno al", "D7"]
        {
            assert_eq!(read_mark(text), None, "{text}");
        }
    }
}
