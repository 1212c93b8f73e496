//! What can be wrong with a symbol, and how it is said.

use super::suggest;
use crate::chord::Degree;
use crate::error::{Error, Excerpt, Kind};
use crate::pitch::shown;

/// A fault and the bytes it stands at; small, so that reading costs nothing where nobody asks for the text.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Fault {
    pub(super) start: usize,
    pub(super) end: usize,
    pub(super) wrong: Wrong,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Wrong {
    Empty,
    NoRoot,
    /// More accidentals at a note than the two that there are.
    Accidentals,
    UnknownSign,
    UnknownNumber,
    NeverClosed,
    OpenedTwice,
    NeverOpened,
    NoBass,
    ChordAsBass,
    ThirdChord,
    NoChordAbove,
    /// Something behind the parenthesis that makes a symbol optional.
    BehindOptional,
    NotAnAlteration,
    NotToAdd,
    NotToLeaveOut,
    /// With the bytes of the sign that it contradicts.
    Contradicts(u8, u8),
    /// The same key under two names, the second one a chord tone.
    SameKey(Degree, Degree),
    /// It leaves out what is not there.
    NotThere,
}

impl Fault {
    fn kind(self) -> Kind {
        match self.wrong {
            Wrong::Accidentals => Kind::Accidentals,
            Wrong::UnknownSign
            | Wrong::UnknownNumber
            | Wrong::NotAnAlteration
            | Wrong::NotToAdd
            | Wrong::NotToLeaveOut => Kind::UnknownSign,
            Wrong::Contradicts(..) | Wrong::SameKey(..) | Wrong::NotThere => Kind::Contradiction,
            _ => Kind::Symbol,
        }
    }

    fn message(self, text: &str) -> String {
        let found = shown(text.get(self.start..self.end).unwrap_or_default());
        match self.wrong {
            Wrong::Empty => "the text is empty, expected a letter A to G".into(),
            Wrong::NoRoot => "no root found, expected a letter A to G".into(),
            Wrong::Accidentals => format!("the note `{found}` has more than two accidentals"),
            Wrong::UnknownSign => {
                format!("unknown sign `{found}`, expected a quality, a number or an alteration")
            }
            Wrong::UnknownNumber => {
                format!("unknown number `{found}`, expected one of 2 4 5 6 6/9 7 9 11 13")
            }
            Wrong::NeverClosed => "this parenthesis is never closed".into(),
            Wrong::OpenedTwice => "a parenthesis inside a parenthesis".into(),
            Wrong::NeverOpened => "one closing parenthesis too many".into(),
            Wrong::NoBass => "no bass note found behind the slash, expected a letter A to G".into(),
            Wrong::ChordAsBass => format!("`{found}` is more than a bass note"),
            Wrong::ThirdChord => "a third chord, expected at most two above each other".into(),
            Wrong::NoChordAbove => "no chord found on one side of `|`".into(),
            Wrong::BehindOptional => {
                format!("`{found}` stands behind the parenthesis that makes the symbol optional")
            }
            Wrong::NotAnAlteration => format!("`{found}` is not an alteration"),
            Wrong::NotToAdd => format!("`{found}` is not a note to add"),
            Wrong::NotToLeaveOut => format!("`{found}` is not a note to leave out"),
            Wrong::Contradicts(start, end) => {
                let other = text.get(start.into()..end.into()).unwrap_or_default();
                format!("`{found}` contradicts `{}`", shown(other))
            }
            Wrong::SameKey(tension, tone) => {
                format!("`{tension}` is the same key as the chord's own `{tone}`")
            }
            Wrong::NotThere => format!("`{found}` leaves out a note that the chord does not have"),
        }
    }

    const fn usual_help(self) -> &'static str {
        match self.wrong {
            Wrong::Empty | Wrong::NoRoot => {
                "a symbol starts with its root in upper case, such as `Eb7`; `N.C.` is no chord"
            }
            Wrong::Accidentals => "write a nearer note, such as `Bb` for `Cbb`",
            Wrong::UnknownSign | Wrong::UnknownNumber => {
                "for example `Cm7`, `Cmaj9`, `C7(b9)`, `Cdim7`, `C7sus4`, `C7/E`"
            }
            Wrong::NeverClosed => "add `)`",
            Wrong::OpenedTwice => "separate what stands inside by commas, such as `C7(b9,#11)`",
            Wrong::NeverOpened => "leave it out",
            Wrong::NoBass => "write the bass as a note name, such as `C7/E`",
            Wrong::ChordAsBass => {
                "write the bass as a note name, such as `C7/E`, and a chord above a chord with `|`, such as `D|C7`"
            }
            Wrong::BehindOptional => "put the parenthesis around the whole symbol, such as `(C7)`",
            Wrong::ThirdChord | Wrong::NoChordAbove => {
                "write the upper chord, `|`, the lower one, such as `D|C7`"
            }
            Wrong::NotAnAlteration => "the alterations are b5 #5 b9 #9 #11 b13",
            Wrong::NotToAdd => "the notes to add are 2 4 6 9 11 13 with or without b or #, such as `add9`",
            Wrong::NotToLeaveOut => {
                "the notes to leave out are the third, the fifth, and what a number brings"
            }
            Wrong::Contradicts(..) => "leave one of the two out",
            Wrong::SameKey(..) => "leave it out, or write the chord whose tone it is",
            Wrong::NotThere => "leave it out",
        }
    }

    /// The error that people see: the place underlined, and a symbol that would be read where one is near.
    pub(super) fn into_error(self, text: &str) -> Error {
        let column = text.get(..self.start).map_or(0, |t| t.chars().count());
        let width = text.get(self.start..self.end).map_or(1, |t| t.chars().count());
        let help = match suggest::nearest_symbol(text, self) {
            Some(symbol) => format!("did you mean `{symbol}`? {}", self.usual_help()),
            None => self.usual_help().to_owned(),
        };
        Error::new(self.kind(), self.message(text))
            .with_excerpt(Excerpt::of_line(text, column, width))
            .with_help(help)
            .context(format_args!("chord symbol `{}`", shown(text)))
    }
}
