//! Chord labels of research data: `Eb:7(#9)/5`.
//!
//! Source: C. Harte, M. Sandler, S. Abdallah and E. Gómez, "Symbolic representation of musical chords: a proposed
//! syntax for text annotations", ISMIR 2005, in the form that the pattern of mir_eval 0.8.2 accepts (`chord.py`,
//! `CHORD_RE`, after that paper). What that pattern has and data sets use is read, whether or not the paper lists it.
//!
//! # Grammar
//!
//! ```text
//! label     = "N" | "X" | chord ;                       (no chord sounds; a chord nobody could name)
//! chord     = note , [ ":" , ( shorthand , [ list ] | list ) ] , [ "/" , degree ] ;
//! note      = "A".."G" , { "b" | "#" } ;
//! list      = "(" , item , { "," , item } , ")" ;
//! item      = [ "*" ] , degree ;                        ("*" leaves a degree of the shorthand out)
//! degree    = { "b" | "#" } , ( "1" | "2" | … | "13" ) ;
//! shorthand = "maj" | "min" | "dim" | "aug" | "maj7" | "min7" | "7" | "dim7" | "hdim7" | "minmaj7" | "maj6" | "min6"
//!           | "9" | "maj9" | "min9" | "sus2" | "sus4" | "aug7" | "11" | "maj11" | "min11" | "13" | "maj13" | "min13"
//!           | "1" | "5" ;
//! ```
//!
//! # Decided
//!
//! | text | read as | because |
//! |---|---|---|
//! | `C`, `C/3` | major | a root without a shorthand is a major triad |
//! | `X` | [`Label::Unknown`] | later data sets have it; it is not the same as `N` |
//! | `C:maj(7)`, `C:maj(b7)` | `Cmaj7`, `C7` | degrees count from the major scale |
//! | `C:(b3,5)`, `C:(1,b3,5)` | `Cm` | the root always belongs to a chord of ours |
//! | `C:maj(*1)` | `C`, with a loss | the same |
//! | `C:(1,4,5)`, `C:maj(4)` | `Csus4`, `C(add11)` | a fourth is suspended where there is no third |
//! | `C:maj(b5)` | `C(add#11)`, with a loss | a second fifth is the tension on its key |
//! | `C:13`, `C:maj13` | without the `11`, with a loss | it fights the major third; `C:13(11)` has it |
//! | `C:7(7)` | an error | a chord has one seventh |
//! | `Cbbb` | `Bbb`, with a loss | a note name has at most two accidentals |
//!
//! Every [`Chord`] can be written: nothing is lost, and nothing that is written needs an assumption.
//!
//! # Example
//!
//! ```
//! use overshell::chord::chord;
//! use overshell::chord::vocabulary::harte::{self, Label};
//!
//! assert_eq!(harte::read("Eb:7(#9)/5")?.value, Label::Chord(chord("Eb7(#9)/Bb")));
//! assert_eq!(harte::write(chord("Dm7b5/Ab")).value, "D:hdim7/b5");
//!
//! let error = harte::read("Eb:min8").unwrap_err();
//! assert_eq!(error.excerpt().unwrap().marked(), "min8");
//! # Ok::<(), overshell::Error>(())
//! ```

mod figure;
mod reader;
mod settle;
mod shorthand;

use figure::Figure;

use super::Translation;
use super::entry::Entry;
use crate::chord::{Chord, DegreeSet};
use crate::error::{Error, Result};

/// What a label says. Prints as [`write()`] writes it.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash)]
#[non_exhaustive]
pub enum Label {
    /// This chord sounds.
    Chord(Chord),
    /// No chord sounds: `N`.
    NoChord,
    /// Something sounds that nobody could name: `X`.
    Unknown,
}

impl Label {
    /// The chord, where there is one.
    pub const fn chord(self) -> Option<Chord> {
        match self {
            Self::Chord(chord) => Some(chord),
            Self::NoChord | Self::Unknown => None,
        }
    }
}

impl From<Chord> for Label {
    fn from(chord: Chord) -> Self {
        Self::Chord(chord)
    }
}

impl std::fmt::Display for Label {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(&write(*self).value)
    }
}

impl std::str::FromStr for Label {
    type Err = Error;

    /// Reads as [`read`] does, without its losses.
    fn from_str(text: &str) -> Result<Self> {
        read(text).map(|found| found.value)
    }
}

crate::pitch::serde_as_text!(Label);

/// Reads a label.
///
/// # Errors
///
/// [`Error::is_symbol`], with the place, where the text is no label or has two sevenths;
/// [`Error::is_limit`] beyond [`LONGEST`](super::LONGEST) bytes.
///
/// # Example
///
/// ```
/// use overshell::chord::vocabulary::harte;
///
/// let found = harte::read("C:maj(2,*5)")?;
/// assert_eq!(found.value.chord().unwrap().to_string(), "C(add9,no5)");
/// assert_eq!(found.losses[0].to_string(), "`2` is read as `9`: a chord has one name for a key");
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn read(text: &str) -> Result<Translation<Label>> {
    super::within_limit("a chord label", text)?;
    match text {
        "N" => Ok(Translation { value: Label::NoChord, losses: Vec::new() }),
        "X" => Ok(Translation { value: Label::Unknown, losses: Vec::new() }),
        _ => reader::read(text).map_err(|error| match text.replacen(':', "", 1).parse() {
            Ok(chord) => error.with_help(format!("did you mean `{}`?", text_of(chord))),
            Err(_) => error,
        }),
    }
}

/// Writes a label exactly and briefly: with the shorthand that leaves least to be said in the list (a degree left out
/// counts as two), the shorter text of two such, the simpler shorthand of two of one length.
///
/// Never loses anything: every degree of ours has a number of its own here, and every bass is some degree. Shorthands
/// that others take otherwise are not used: a thirteenth over a major third is written `9(13)`, since `13` holds an
/// eleventh for others, and `aug7` and `maj11` have no definition.
///
/// # Example
///
/// ```
/// use overshell::chord::chord;
/// use overshell::chord::vocabulary::harte;
///
/// for (symbol, label) in [("C", "C"), ("C9sus4", "C:sus4(b7,9)"), ("C13", "C:9(13)"), ("C7(no5)/E", "C:7(*5)/3")] {
///     assert_eq!(harte::write(chord(symbol)).value, label);
/// }
/// ```
pub fn write(label: impl Into<Label>) -> Translation<String> {
    let value = match label.into() {
        Label::Chord(chord) => text_of(chord),
        Label::NoChord => "N".to_owned(),
        Label::Unknown => "X".to_owned(),
    };
    Translation { value, losses: Vec::new() }
}

fn text_of(chord: Chord) -> String {
    let least = shorthand::safe().map(|shorthand| changes(shorthand, chord.tones())).min();
    let best = shorthand::safe().filter(|shorthand| Some(changes(shorthand, chord.tones())) == least);
    let body =
        best.map(|shorthand| body(shorthand, chord.tones())).min_by_key(String::len).unwrap_or_default();
    let bass = chord.bass().map(|bass| Figure::between(chord.root().fifths(), bass.fifths()));
    let bass = bass.map(|figure| format!("/{figure}")).unwrap_or_default();
    format!("{}{body}{bass}", chord.root())
}

/// How much a list has to say: a degree left out counts as two, since it takes back what the shorthand said.
fn changes(shorthand: &Entry, degrees: DegreeSet) -> u32 {
    let own = shorthand.degrees();
    degrees.difference(own).len() + 2 * own.difference(degrees).len()
}

/// These degrees as a shorthand, what is added to it and what is left out of it.
fn body(shorthand: &Entry, degrees: DegreeSet) -> String {
    let own = shorthand.degrees();
    let figures = |set: DegreeSet, sign: &'static str| {
        set.by_number().into_iter().map(move |degree| format!("{sign}{}", Figure::of(degree)))
    };
    let items = figures(degrees.difference(own), "").chain(figures(own.difference(degrees), "*"));
    let items = itertools::join(items, ",");
    match (items.as_str(), shorthand.text) {
        ("", "maj") => String::new(),
        ("", text) => format!(":{text}"),
        (items, text) => format!(":{text}({items})"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::chord;
    use crate::chord::vocabulary::sweep::{all_basses, all_contents};
    use crate::pitch::NoteName;

    fn check_roundtrip(chord: Chord) -> String {
        let written = write(chord).value;
        assert!(written.len() <= super::super::LONGEST, "{written}");
        let found = read(&written).unwrap();
        assert_eq!(found.value, Label::Chord(chord), "{written}");
        assert!(found.is_exact(), "{written}: {:?}", found.losses);
        written
    }

    /// Every chord there is, on every root, over a bass far away on either side: what is written reads back the same,
    /// without a loss. So nothing is lost on the way out.
    #[test]
    fn all_chords_roundtrip() {
        for content in all_contents() {
            for root in NoteName::all() {
                let bass = NoteName::from_fifths(4 - root.fifths()).unwrap();
                check_roundtrip(content.on_root(root).with_bass(bass));
            }
            check_roundtrip(content);
        }
        for root in NoteName::all() {
            for over in all_basses(chord("C7").on_root(root)) {
                check_roundtrip(over);
            }
        }
    }

    /// No other shorthand says it more briefly: every one of them tried, the changes counted in the text.
    #[test]
    fn all_written_texts_are_the_briefest() {
        let weight = |text: &str| {
            let items = text.split_once('(').map_or(0, |(_, list)| 1 + list.matches(',').count());
            (items + text.matches('*').count(), text.len())
        };
        for content in all_contents() {
            let written = write(content).value;
            for shorthand in shorthand::safe() {
                let other = format!("C{}", body(shorthand, content.tones()));
                assert!(weight(&other) >= weight(&written), "{other} {written}");
            }
        }
    }

    #[test]
    fn ok_usual_chords_are_written_plainly() {
        for (symbol, label) in [
            ("C", "C"),
            ("F#m", "F#:min"),
            ("Bb7", "Bb:7"),
            ("C6/9", "C:maj6(9)"),
            ("Cm13", "C:min13"),
            ("C7sus4", "C:sus4(b7)"),
            ("C7alt", "C:7(b9,#9,#11,b13,*5)"),
            ("C7#5", "C:aug(b7)"),
            ("Cmaj11", "C:maj9(11)"),
            ("C13", "C:9(13)"),
            ("Cmaj7(#11)", "C:maj7(#11)"),
            ("C5", "C:5"),
            ("C(no3,no5)", "C:1"),
            ("Cdim(maj7)", "C:dim(7)"),
            ("C/Db", "C/b2"),
            ("C/D#", "C/#2"),
        ] {
            assert_eq!(check_roundtrip(chord(symbol)), label);
        }
        assert_eq!(write(Label::NoChord).value, "N");
        assert_eq!(write(Label::Unknown).value, "X");
    }
}
