//! Marks that say where the music goes on, as decorations and words (ABC 2.1, section 4.14).

use crate::sheet::road::{Mark, Said, read};
use crate::sheet::{Jump, JumpTo, JumpUntil, Road};

/// What a decoration says of the road.
pub(super) enum Turn {
    Mark(Mark),
    /// A coda sign, which may be printed at both ends of a jump.
    CodaSign,
}

/// Decorations and the words that they stand for. `D.C.` may be da coda too in the standard; nearly every tune means da capo (common
/// practice, no source). Those with `al` are not of version 2.1: from memory.
const DECORATIONS: [(&str, &str); 11] = [
    ("segno", "segno"),
    ("D.C.", "D.C."),
    ("dacapo", "D.C."),
    ("D.S.", "D.S."),
    ("fine", "Fine"),
    ("dacoda", "To Coda"),
    ("tocoda", "To Coda"),
    ("D.C.alfine", "D.C. al Fine"),
    ("D.C.alcoda", "D.C. al Coda"),
    ("D.S.alfine", "D.S. al Fine"),
    ("D.S.alcoda", "D.S. al Coda"),
];

/// What the decoration of a name says; `None` where it is an ornament.
pub(super) fn decoration(name: &str) -> Option<Turn> {
    if name.eq_ignore_ascii_case("coda") {
        return Some(Turn::CodaSign);
    }
    let (_, words) = DECORATIONS.iter().find(|(known, _)| name.eq_ignore_ascii_case(known))?;
    match read(words) {
        Said::Mark(mark) => Some(Turn::Mark(mark)),
        Said::Unclear | Said::Nothing => None,
    }
}

/// The marks of a bar as written, and what is lost of them.
#[derive(Default)]
pub(super) struct Marks {
    /// In front of its notes.
    pub(super) start: Vec<String>,
    /// Behind them.
    pub(super) end: Vec<String>,
    pub(super) lost: Vec<(String, &'static str)>,
}

/// Writes marks. Codas are signs, or words where signs would be read as something else.
pub(super) fn marks(road: &Road, codas_are_signs: bool) -> Marks {
    let mut marks = Marks::default();
    if let Some(label) = &road.segno {
        let text = marks.sign("!segno!", "Segno", label);
        marks.start.push(text);
    }
    if let Some(label) = &road.coda {
        let sign = if codas_are_signs { "!coda!" } else { "\"^Coda\"" };
        let text = marks.sign(sign, "Coda", label);
        marks.start.push(text);
    }
    if let Some(label) = &road.to_coda {
        let text = marks.sign("!dacoda!", "To Coda", label);
        marks.end.push(text);
    }
    if road.fine {
        marks.end.push("!fine!".to_owned());
    }
    if let Some(jump) = &road.jump {
        if let JumpTo::Segno(label) = &jump.to
            && !label.is_empty()
        {
            marks.lose(label);
        }
        marks.end.push(jump_text(jump));
    }
    marks
}

impl Marks {
    /// The sign of a mark; words where it has a number.
    fn sign(&mut self, sign: &str, words: &str, label: &str) -> String {
        if label.is_empty() {
            sign.to_owned()
        } else if label.bytes().all(|b| b.is_ascii_digit()) {
            format!("\"^{words} {label}\"")
        } else {
            self.lose(label);
            sign.to_owned()
        }
    }

    fn lose(&mut self, label: &str) {
        let message = format!("the label `{label}` of a mark is left out");
        self.lost.push((message, "number segno and coda, and let every jump have one of its own"));
    }
}

fn jump_text(jump: &Jump) -> String {
    if jump.with_repeats {
        return format!("\"^{jump}\"");
    }
    let to = match jump.to {
        JumpTo::Start => "D.C.",
        JumpTo::Segno(_) => "D.S.",
    };
    let until = match jump.until {
        JumpUntil::Unsaid => "",
        JumpUntil::Fine => "alfine",
        JumpUntil::Coda => "alcoda",
    };
    format!("!{to}{until}!")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every jump is written as something that is read as the same.
    #[test]
    fn all_jumps_are_read_as_written() {
        for to in [JumpTo::Start, JumpTo::Segno(String::new())] {
            for until in [JumpUntil::Unsaid, JumpUntil::Fine, JumpUntil::Coda] {
                for with_repeats in [false, true] {
                    let jump = Jump { to: to.clone(), until, with_repeats };
                    let text = jump_text(&jump);
                    let found = match text.strip_prefix("\"^") {
                        Some(words) => read(words.trim_end_matches('"')),
                        None => match decoration(text.trim_matches('!')) {
                            Some(Turn::Mark(mark)) => Said::Mark(mark),
                            _ => Said::Nothing,
                        },
                    };
                    assert_eq!(found, Said::Mark(Mark::Jump(jump)), "{text}");
                }
            }
        }
    }

    #[test]
    fn all_decorations_are_known() {
        for (name, _) in DECORATIONS {
            assert!(matches!(decoration(name), Some(Turn::Mark(_))), "{name}");
        }
        assert!(matches!(decoration("Coda"), Some(Turn::CodaSign)));
        assert!(decoration("trill").is_none() && decoration("").is_none());
    }
}
