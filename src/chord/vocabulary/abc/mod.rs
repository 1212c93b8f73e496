//! Chord texts of ABC, the notation of tunes in plain letters: what stands between the quotes of `"Am7"A2`.
//!
//! Source: the ABC music standard 2.1 (December 2011), sections 4.18 "Chord symbols" and 4.19 "Annotations". The first is
//! marked volatile there and asks programs to be liberal.
//!
//! # Grammar
//!
//! ```text
//! text       = annotation | chord , [ alternate ] ;
//! chord      = note , [ accidental ] , { type } , [ "/" , bass ] ;
//! note       = "A".."G" ;
//! accidental = "b" | "#" ;
//! type       = "m" | "min" | "maj" | "dim" | "aug" | "+" | "sus" | number ;
//! number     = "6" | "7" | "9" | "11" | "13" ;             (the standard says: "7, 9 ...")
//! bass       = ( "A".."G" | "a".."g" ) , [ accidental ] ;
//! alternate  = "(" , chord , ")" ;                         (for print only: it does not sound)
//! annotation = ( "^" | "_" | "<" | ">" | "@" ) , any text ;
//! ```
//!
//! [`write()`] keeps to this. [`read()`] takes any [`ChordSymbol`] for a chord; a parenthesis that starts with a note
//! name holds an alternate (`G(Em)`), any other belongs to the chord (`G7(b9)`).
//!
//! # What is lost
//!
//! The types have no word for altered or added notes, for a second in the third's place, for a chord without its third
//! or fifth, and for half-diminished chords; notes have one accidental at most.
//!
//! # Example
//!
//! ```
//! use overshell::chord::chord;
//! use overshell::chord::vocabulary::abc::{self, Text};
//!
//! let found = abc::read("G7/b(Em)")?.value;
//! assert_eq!(found, Text::Chord { chord: chord("G7/B"), alternate: Some(chord("Em")) });
//!
//! let written = abc::write(chord("F#m7b5/C"));
//! assert_eq!(written.value, "F#dim/C");
//! assert_eq!(written.losses[0].to_string(), "`b7` is left out: the types of ABC have no word for it");
//! # Ok::<(), overshell::Error>(())
//! ```

mod types;

use super::{Loss, Part, Translation};
use crate::chord::{Chord, ChordSymbol};
use crate::error::{Error, Excerpt, Kind, Result};
use crate::pitch::{NoteName, shown};

/// What a text between quotes says.
#[derive(Clone, Debug, Eq, PartialEq, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Text {
    /// A chord.
    Chord {
        /// What sounds.
        chord: Chord,
        /// What is printed beside it and does not sound.
        alternate: Option<Chord>,
    },
    /// No chord sounds: `N.C.`, which the standard does not have and sheets do.
    NoChord,
    /// Words for the player, not a chord.
    Annotation {
        /// Where they are printed.
        placement: Placement,
        /// The words.
        text: String,
    },
}

impl Text {
    /// The chord that sounds, where there is one.
    pub const fn chord(&self) -> Option<Chord> {
        match self {
            Self::Chord { chord, .. } => Some(*chord),
            Self::NoChord | Self::Annotation { .. } => None,
        }
    }
}

/// Where an annotation is printed: its first sign.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Ord, PartialOrd, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Placement {
    /// `^`
    Above,
    /// `_`
    Below,
    /// `<`
    Left,
    /// `>`
    Right,
    /// `@`: left to the program.
    Free,
}

impl Placement {
    /// All five.
    pub const ALL: [Self; 5] = [Self::Above, Self::Below, Self::Left, Self::Right, Self::Free];

    /// The sign.
    pub const fn as_char(self) -> char {
        match self {
            Self::Above => '^',
            Self::Below => '_',
            Self::Left => '<',
            Self::Right => '>',
            Self::Free => '@',
        }
    }
}

/// Reads a text, quotes apart.
///
/// # Errors
///
/// [`Error::is_symbol`], with the place, where it is neither a chord nor an annotation; [`Error::is_limit`] for a chord
/// beyond [`LONGEST`](super::LONGEST) bytes. An alternate that cannot be read is a loss, since it does not sound.
///
/// # Example
///
/// ```
/// use overshell::chord::vocabulary::abc::{self, Placement, Text};
///
/// assert_eq!(abc::read("F#m/c#")?.value.chord().unwrap().to_string(), "F#m/C#");
/// let words = Text::Annotation { placement: Placement::Above, text: "slower".into() };
/// assert_eq!(abc::read("^slower")?.value, words);
///
/// let error = abc::read("F#q/c").unwrap_err();
/// assert_eq!(error.excerpt().unwrap().marked(), "q");
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn read(text: &str) -> Result<Translation<Text>> {
    let placement = Placement::ALL.into_iter().find(|placement| text.starts_with(placement.as_char()));
    if let Some(placement) = placement {
        let words = text.get(1..).unwrap_or_default().to_owned();
        return Ok(Translation { value: Text::Annotation { placement, text: words }, losses: Vec::new() });
    }
    super::within_limit("a chord text", text)?;
    let (body, aside) = split_alternate(text)?;
    let mut losses = Vec::new();
    let alternate = match aside.map(|(aside, start)| read_chord(text, aside, start)) {
        Some(Ok(Some(alternate))) => Some(alternate),
        Some(_) => {
            losses.push(Loss::AlternateUnread { written: shown(aside.map_or("", |(aside, _)| aside)) });
            None
        }
        None => None,
    };
    let value = match read_chord(text, body, 0)? {
        Some(chord) => Text::Chord { chord, alternate },
        None => Text::NoChord,
    };
    Ok(Translation { value, losses })
}

/// The chord and what stands in parentheses behind it, with its place, where that starts like a chord.
fn split_alternate(text: &str) -> Result<(&str, Option<(&str, usize)>)> {
    let opens = |(at, _): &(usize, &str)| {
        text.get(at + 1..).is_some_and(|rest| rest.starts_with(|c: char| matches!(c, 'A'..='G')))
    };
    let Some((open, _)) = text.match_indices('(').find(opens) else { return Ok((text, None)) };
    let wrong = |start: usize, end: usize, message: &str, help: &str| {
        let marked = text.get(start..end).unwrap_or_default();
        let before = text.get(..start).unwrap_or_default().chars().count();
        Error::new(Kind::Symbol, message)
            .with_excerpt(Excerpt::of_line(text, before, marked.chars().count()))
            .with_help(help)
            .context(format_args!("chord text `{}`", shown(text)))
    };
    let (body, aside) = (text.get(..open).unwrap_or_default(), text.get(open + 1..).unwrap_or_default());
    if body.trim().is_empty() {
        let help = "write the chord that sounds first, such as `G(Em)`";
        return Err(wrong(0, open + 1, "no chord found before its alternate", help));
    }
    match aside.trim_end().strip_suffix(')') {
        Some(aside) => Ok((body, Some((aside, open + 1)))),
        None => {
            let help = "an alternate stands at the end, in parentheses of its own, such as `G(Em)`";
            Err(wrong(open, text.len(), "this alternate does not end with `)`", help))
        }
    }
}

/// The chord of the part of a text that starts at a byte; the bass may be in lower case.
fn read_chord(text: &str, part: &str, start: usize) -> Result<Option<Chord>> {
    let trimmed = part.trim();
    let skipped = start + part.len() - part.trim_start().len();
    let symbol = match trimmed.rsplit_once('/') {
        Some((body, bass)) if bass.starts_with(|c: char| matches!(c, 'a'..='g')) => over_bass(body, bass),
        _ => trimmed.parse::<ChordSymbol>(),
    };
    symbol.map(|symbol| symbol.chord()).map_err(|error| {
        // The same place in the whole text.
        let Some(excerpt) = error.excerpt().cloned() else { return error };
        let before = text.get(..skipped).unwrap_or_default().chars().count();
        let width = excerpt.marked().chars().count();
        error.with_excerpt(Excerpt::of_line(text, before + excerpt.column() - 1, width))
    })
}

/// A symbol over a bass in lower case; an error shows either as written.
fn over_bass(body: &str, bass: &str) -> Result<ChordSymbol> {
    let mut letters = bass.chars();
    let letter = letters.next().map(|letter| letter.to_ascii_uppercase());
    let symbol = format!("{body}/{}{}", letter.map(String::from).unwrap_or_default(), letters.as_str());
    symbol.parse().or_else(|_| {
        body.trim_end().parse::<ChordSymbol>()?;
        let whole = format!("{body}/{bass}");
        Err(Error::new(Kind::Symbol, format!("`{}` is no bass of this chord", shown(bass)))
            .with_excerpt(Excerpt::of_line(&whole, body.chars().count() + 1, bass.chars().count()))
            .with_help("write the bass as a note name behind one slash, such as `C7/e`")
            .context(format_args!("chord text `{}`", shown(&whole))))
    })
}

/// Writes the chord in the types of the standard, or the nearest chord that they can say, and says what is lost.
///
/// Nearest is the chord of fewest other keys, one too many counting as two left out; then one of the same family; then
/// the simpler one. ASCII, never with a quote; a double accidental takes its simpler name.
///
/// # Example
///
/// ```
/// use overshell::chord::chord;
/// use overshell::chord::vocabulary::abc;
///
/// for (symbol, text) in [("Cm7", "Cm7"), ("C7#5", "C+7"), ("C9sus4", "C9sus"), ("C7(b9)/E", "C7/E"), ("C5", "C")] {
///     assert_eq!(abc::write(chord(symbol)).value, text);
/// }
/// assert!(abc::write(chord("C9sus4")).is_exact());
/// let power = abc::write(chord("C5"));
/// assert_eq!(power.losses[0].to_string(), "`3` is added: the types of ABC cannot leave it out");
/// ```
pub fn write(chord: Chord) -> Translation<String> {
    let nearest = types::nearest(chord);
    let mut losses = types::losses(nearest, chord);
    let mut name = |part: Part, name: NoteName| {
        let written = if name.accidental().semitones().abs() > 1 { name.simplest() } else { name };
        if written != name {
            losses.push(Loss::NameWrittenAs { part, name, written });
        }
        written
    };
    let mut value = format!("{}{}", name(Part::Root, chord.root()), nearest.text);
    if let Some(bass) = chord.bass() {
        value.push_str(&format!("/{}", name(Part::Bass, bass)));
    }
    Translation { value, losses }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::chord;
    use crate::chord::vocabulary::sweep::{all_basses, all_contents};
    use crate::pitch::note;

    fn sounding(text: &str) -> Translation<Text> {
        read(text).unwrap_or_else(|error| panic!("{error:?}"))
    }

    #[test]
    fn ok_texts() {
        for (text, symbol, alternate) in [
            ("Am7", "Am7", None),
            ("F#m/C#", "F#m/C#", None),
            ("F#m/c#", "F#m/C#", None),
            ("C/bb", "C/Bb", None),
            ("C/b", "C/B", None),
            ("G(Em)", "G", Some("Em")),
            ("G/b (Em/g)", "G/B", Some("Em/G")),
            ("Gmin", "Gm", None),
            ("Gaug7", "G7#5", None),
            ("Gsus", "Gsus4", None),
            ("G7(b9)", "G7(b9)", None),
            ("G7(b9)(Em)", "G7(b9)", Some("Em")),
            ("G6/9", "G6/9", None),
            ("G6/9/b", "G6/9/B", None),
            (" B♭ ", "Bb", None),
        ] {
            let found = sounding(text);
            assert_eq!(
                found.value,
                Text::Chord { chord: chord(symbol), alternate: alternate.map(chord) },
                "{text}"
            );
            assert!(found.is_exact());
        }
        assert_eq!(sounding("N.C.").value, Text::NoChord);
        let odd = sounding("G(Eq)");
        assert_eq!(odd.value, Text::Chord { chord: chord("G"), alternate: None });
        assert_eq!(odd.losses[0].to_string(), "the alternate `Eq` is left out: it is no chord");
    }

    /// Section 4.19: the first sign says where; the rest is words, however long and however like a chord.
    #[test]
    fn all_annotations_are_no_chords() {
        for placement in Placement::ALL {
            for words in ["", "Am7", "q", &"long ".repeat(40)] {
                let found = sounding(&format!("{}{words}", placement.as_char()));
                assert_eq!(found.value, Text::Annotation { placement, text: words.into() });
                assert_eq!(found.value.chord(), None);
            }
        }
    }

    #[track_caller]
    fn expect_err(text: &str, marked: &str, column: usize) {
        let error = read(text).unwrap_err();
        assert!(error.is_symbol() && error.help().is_some(), "{error:?}");
        let excerpt = error.excerpt().unwrap();
        assert_eq!((excerpt.marked().as_str(), excerpt.column()), (marked, column), "{error:?}");
    }

    #[test]
    fn err_texts_are_located() {
        expect_err("", "", 1);
        expect_err("H7", "H", 1);
        expect_err("  C7q", "q", 5);
        expect_err("C7q/e", "q", 3);
        expect_err("C/h", "/h", 2);
        expect_err("C/eq", "eq", 3);
        expect_err("(Em)", "(", 1);
        expect_err("G(Em", "(Em", 2);
        expect_err("G(Em)7", "(Em)7", 2);
        expect_err("C\"", "\"", 2);
        expect_err("C/E/g", "g", 5);
        expect_err("G(Em)/b", "(Em)/b", 2);
        assert!(read(&"C".repeat(65)).unwrap_err().is_limit());
    }

    /// A bass in lower case is shown as it was written.
    #[test]
    fn err_texts_are_shown_as_written() {
        for (text, message, help) in [
            ("F#q/c", "chord symbol `F#q`: unknown sign `q`", "did you mean `F#`?"),
            ("C/eq", "chord text `C/eq`: `eq` is no bass of this chord", "write the bass"),
            (
                " C/f\u{266e}",
                "chord text `C/f\u{266e}`: `f\u{266e}` is no bass of this chord",
                "write the bass",
            ),
            ("C/E/g", "chord text `C/E/g`: `g` is no bass of this chord", "write the bass"),
        ] {
            let error = read(text).unwrap_err();
            assert!(error.to_string().starts_with(message), "{error}");
            assert!(error.help().unwrap().starts_with(help), "{error:?}");
        }
    }

    /// Every chord there is: what is written reads back the same where no loss is said, and otherwise
    /// every key more or less is said.
    #[test]
    fn all_chords_come_back_as_the_losses_say() {
        let mut exact = 0;
        for content in all_contents() {
            let root = content.root().pitch_class();
            let written = write(content);
            let found = sounding(&written.value).value.chord().unwrap();
            assert!(written.value.is_ascii() && !written.value.contains('"'), "{}", written.value);
            assert_eq!(written.is_exact(), found == content, "{content} {}", written.value);
            exact += u32::from(written.is_exact());
            let keys = |chord: Chord| chord.pitch_set();
            let said = |is: fn(&Loss) -> bool| {
                let of_kind = written.losses.iter().filter(|loss| is(loss));
                of_kind.map(|loss| loss.degree().unwrap().class_over(root)).collect()
            };
            let left_out = said(|loss| matches!(loss, Loss::NoWord { .. }));
            assert_eq!(keys(content).difference(keys(found)), left_out, "{content}");
            let added = said(|loss| matches!(loss, Loss::Unwanted { .. }));
            assert_eq!(keys(found).difference(keys(content)), added, "{content}");
        }
        assert!(exact >= 30, "{exact}");
    }

    /// Every root and every bass: the same type, and one loss for each double accidental.
    #[test]
    fn all_roots_and_basses_come_back() {
        let is_double = |name: NoteName| name.accidental().semitones().abs() > 1;
        let symbols = ["C", "Cm7", "Cdim7", "C13", "C7(b9)", "C5", "C9sus4"];
        for content in symbols.map(chord) {
            let plain = sounding(&write(content).value).value.chord().unwrap();
            for root in NoteName::all() {
                for over in all_basses(content.on_root(root)) {
                    let written = write(over);
                    let doubles =
                        [Some(root), over.bass()].into_iter().flatten().filter(|name| is_double(*name));
                    assert_eq!(written.losses.len(), write(content).losses.len() + doubles.count(), "{over}");
                    let found = sounding(&written.value).value.chord().unwrap();
                    let lowest = |chord: Chord| chord.bass().unwrap_or(chord.root()).pitch_class();
                    assert_eq!(lowest(found), lowest(over), "{over}");
                    let expected = if is_double(root) { root.simplest() } else { root };
                    assert_eq!(found.without_bass(), plain.on_root(expected), "{over}");
                }
            }
        }
    }

    #[test]
    fn ok_names_with_two_accidentals_are_simpler() {
        let written = write(chord("Bbb7/F##"));
        assert_eq!(written.value, "A7/G");
        assert_eq!(
            itertools::join(&written.losses, "; "),
            "the root `Bbb` is written `A`: a note of ABC has one accidental at most; \
             the bass `F##` is written `G`: a note of ABC has one accidental at most"
        );
        assert!(write(chord("Cb7").with_bass(note("Fb"))).is_exact());
    }

    proptest::proptest! {
        #[test]
        fn prop_any_text_gives_a_value_or_a_located_error(text in "\\PC*") {
            if let Err(error) = read(&text) {
                assert!(error.is_limit() || error.excerpt().is_some(), "{error:?}");
            }
        }

        #[test]
        fn prop_texts_like_chords_give_a_value_or_a_located_error(
            text in "[A-G][b#]?(m|maj|dim|\\+|sus|7|9|13|q|\\(b9\\)){0,3}(/[A-Ga-gh][b#]?)?(\\([A-H][b#]?m?(/[a-g])?\\)?)?"
        ) {
            match read(&text) {
                Ok(found) => {
                    let chord = found.value.chord().unwrap();
                    assert!(chord.root().to_string().starts_with(text.chars().next().unwrap()));
                }
                Err(error) => assert!(text.contains(&error.excerpt().unwrap().marked()), "{error:?}"),
            }
        }
    }
}
