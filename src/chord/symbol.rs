//! Chord symbols as written: a tree with places, faithful to the text.
//!
//! # Grammar
//!
//! ```text
//! symbol      = no-chord | root , { element | "(" | ")" | "," | " " } , [ "/" , note ] ;
//! no-chord    = "N.C." | "NC" | "N.C" | "no chord" ;
//! note, root  = "A".."G" , [ "b" | "#" | "bb" | "##" | "x" | "♭" | "♯" | "𝄫" | "𝄪" ] ;
//! element     = third | seventh-maker | number | sus | add | omit | alteration | "alt" ;
//! third       = "m" | "mi" | "min" | "-"              (minor)
//!             | "dim" | "°" | "o" | "ø"               (diminished, half-diminished)
//!             | "aug" | "+" ;                          (augmented)
//! seventh-maker = "maj" | "ma" | "M" | "Δ" | "△" ;    (major: of the seventh where a number follows)
//! number      = "2" | "4" | "5" | "6" | "6/9" | "69" | "7" | "9" | "11" | "13" ;
//! sus         = "sus" , [ "2" | "4" ] ;
//! add         = "add" , [ sign ] , ( "2" | "4" | "6" | "9" | "11" | "13" ) ;
//! omit        = ( "no" | "omit" ) , ( "3" | "5" ) ;
//! alteration  = sign , ( "4" | "5" | "6" | "9" | "11" | "13" ) ;
//! sign        = "b" | "#" | "♭" | "♯" | "-" | "+" ;   ("-" and "+" only after a number)
//! ```
//!
//! # Ambiguities, decided
//!
//! | text | read as | because |
//! |---|---|---|
//! | `C-9` | `Cm9` | a `-` at the root is minor |
//! | `C7-9`, `C7+9` | `C7(b9)`, `C7(#9)` | after a number `-` and `+` alter |
//! | `C+7`, `C7+` | `C7#5` | `+` without a number behind it is the augmented triad |
//! | `C2` | `C(add9)` | an added second; `Csus2` leaves the third out |
//! | `C4` | `Csus4` | nobody adds a fourth to a major third by a bare number |
//! | `C13` | no eleventh | it fights the major third; `C11` keeps it, and is played as a suspension |
//! | `CΔ` | `Cmaj7` | the triangle alone means the seventh |
//! | `Cø` | `Cm7b5` | the sign alone means the seventh |
//! | `Bbb5` | `Bbb`, fifth | accidentals of the root are read first; write `Bb(b5)` |

use smallvec::SmallVec;

use super::Chord;
use crate::error::{Error, Excerpt, Kind, Result};
use crate::pitch::NoteName;

/// A part of a symbol and the bytes of the text it came from.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash)]
pub struct Part<T> {
    /// What the part says.
    pub value: T,
    /// First byte.
    pub start: u8,
    /// Byte after the last.
    pub end: u8,
}

/// One sign of a symbol's body.
#[derive(Clone, Copy, Debug, Eq, PartialEq, Hash)]
#[non_exhaustive]
pub enum Element {
    /// `m`, `min`, `-`
    Minor,
    /// `maj`, `M`; with the triangle as `true`, which alone means a seventh
    Major {
        /// Whether it is written as a triangle.
        triangle: bool,
    },
    /// `dim`, `°`
    Diminished,
    /// `aug`, `+`
    Augmented,
    /// `ø`
    HalfDiminished,
    /// `2 4 5 6 7 9 11 13`, and 69 for `6/9`
    Number(u8),
    /// `sus`, `sus4`, `sus2`
    Suspended {
        /// `true` for `sus2`.
        second: bool,
    },
    /// `add9`, `add#11`
    Add {
        /// Semitones up or down.
        alteration: i8,
        /// As written.
        number: u8,
    },
    /// `no3`, `omit5`
    Omit(u8),
    /// `b9`, `#11`
    Alter {
        /// Semitones up or down.
        alteration: i8,
        /// As written.
        number: u8,
    },
    /// `alt`
    Altered,
}

/// A chord symbol as somebody wrote it, or the sign that no chord sounds.
///
/// Prints back what it read; [`ChordSymbol::chord`] is what it means. See the module for the grammar.
///
/// # Example
///
/// ```
/// use overshell::chord::ChordSymbol;
///
/// let symbol: ChordSymbol = "Bb7(b9,#11)/D".parse()?;
/// assert_eq!(symbol.elements().len(), 3);
/// assert_eq!(symbol.chord().unwrap().to_string(), "Bb7(b9,#11)/D");
/// assert!("N.C.".parse::<ChordSymbol>()?.chord().is_none());
///
/// let error = "Bb7(b9,#12)".parse::<ChordSymbol>().unwrap_err();
/// assert_eq!(error.excerpt().unwrap().marked(), "#12");
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Debug, Eq, PartialEq, Hash)]
pub struct ChordSymbol {
    text: Box<str>,
    root: Option<Part<NoteName>>,
    elements: SmallVec<[Part<Element>; 4]>,
    bass: Option<Part<NoteName>>,
    chord: Option<Chord>,
}

impl ChordSymbol {
    /// The longest symbol that is read, in bytes.
    pub const LONGEST: usize = 64;

    /// The symbol that says what this chord is, canonically written.
    pub fn of_chord(chord: Chord) -> Self {
        // What a chord prints reads back as the same chord (tested over all chords); the fall-back keeps the value
        // even so.
        chord.to_string().parse().unwrap_or_else(|_| Self {
            text: chord.to_string().into(),
            root: None,
            elements: SmallVec::new(),
            bass: None,
            chord: Some(chord),
        })
    }

    /// The text as written.
    pub fn as_str(&self) -> &str {
        &self.text
    }

    /// What it means; `None` where no chord sounds (`N.C.`).
    pub fn chord(&self) -> Option<Chord> {
        self.chord
    }

    /// The root and its place; `None` where no chord sounds.
    pub fn root(&self) -> Option<Part<NoteName>> {
        self.root
    }

    /// The signs between root and bass, in the order of the text.
    pub fn elements(&self) -> &[Part<Element>] {
        &self.elements
    }

    /// The bass and its place.
    pub fn bass(&self) -> Option<Part<NoteName>> {
        self.bass
    }
}

impl std::fmt::Display for ChordSymbol {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.text)
    }
}

impl std::str::FromStr for ChordSymbol {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self> {
        if text.len() > Self::LONGEST {
            return Err(Error::new(
                Kind::Limit,
                format!("a chord symbol of {} bytes is too long, the limit is {}", text.len(), Self::LONGEST),
            ));
        }
        if matches!(text.trim(), "N.C." | "NC" | "N.C" | "no chord") {
            return Ok(Self {
                text: text.into(),
                root: None,
                elements: SmallVec::new(),
                bass: None,
                chord: None,
            });
        }
        let mut reader = Reader { text, at: 0, after_number: false, open: None };
        let root = reader.root()?;
        let (elements, bass) = reader.body()?;
        let chord = super::lower::lower(text, root, &elements, bass)?;
        Ok(Self { text: text.into(), root: Some(root), elements, bass, chord: Some(chord) })
    }
}

/// An error about the bytes `start..end` of a symbol.
pub(super) fn wrong(text: &str, start: usize, end: usize, message: String) -> Error {
    let column = text.get(..start).map_or(0, |t| t.chars().count());
    let width = text.get(start..end).map_or(1, |t| t.chars().count());
    Error::new(Kind::Symbol, message)
        .with_excerpt(Excerpt::of_line(text, column, width))
        .context(format_args!("chord symbol `{}`", crate::pitch::shown(text)))
}

/// The fixed words of the grammar, longest first where one starts another.
const WORDS: [(&str, Element); 29] = [
    ("maj", Element::Major { triangle: false }),
    ("Maj", Element::Major { triangle: false }),
    ("MAJ", Element::Major { triangle: false }),
    ("ma", Element::Major { triangle: false }),
    ("Ma", Element::Major { triangle: false }),
    ("MA", Element::Major { triangle: false }),
    ("min", Element::Minor),
    ("Min", Element::Minor),
    ("MIN", Element::Minor),
    ("mi", Element::Minor),
    ("Mi", Element::Minor),
    ("MI", Element::Minor),
    ("M", Element::Major { triangle: false }),
    ("m", Element::Minor),
    ("Δ", Element::Major { triangle: true }),
    ("△", Element::Major { triangle: true }),
    ("dim", Element::Diminished),
    ("°", Element::Diminished),
    ("º", Element::Diminished),
    ("o", Element::Diminished),
    ("aug", Element::Augmented),
    ("ø", Element::HalfDiminished),
    ("Ø", Element::HalfDiminished),
    ("sus2", Element::Suspended { second: true }),
    ("sus4", Element::Suspended { second: false }),
    ("sus", Element::Suspended { second: false }),
    ("alt", Element::Altered),
    ("6/9", Element::Number(69)),
    ("69", Element::Number(69)),
];

const NUMBERS: [u8; 8] = [13, 11, 9, 7, 6, 5, 4, 2];

struct Reader<'a> {
    text: &'a str,
    at: usize,
    /// Whether the last element was a number or an alteration, so that `-` and `+` alter.
    after_number: bool,
    /// Where the parenthesis now open stands.
    open: Option<usize>,
}

impl<'a> Reader<'a> {
    fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or_default()
    }

    fn part<T>(&mut self, value: T, length: usize) -> Part<T> {
        let start = self.at as u8; // at most `LONGEST`
        self.at += length;
        Part { value, start, end: self.at as u8 }
    }

    fn root(&mut self) -> Result<Part<NoteName>> {
        match NoteName::read_prefix(self.rest()) {
            Some((root, length)) => Ok(self.part(root, length)),
            None => {
                let first = self.text.chars().next().map_or(0, char::len_utf8);
                let found = if self.text.is_empty() { "the text is empty" } else { "no root found" };
                Err(wrong(self.text, 0, first, format!("{found}, expected a letter A to G")).with_help(
                    "a symbol starts with its root in upper case, such as `Eb7`; `N.C.` is no chord",
                ))
            }
        }
    }

    #[expect(clippy::type_complexity, reason = "the two halves of a body, used once")]
    fn body(&mut self) -> Result<(SmallVec<[Part<Element>; 4]>, Option<Part<NoteName>>)> {
        let mut elements = SmallVec::new();
        while let Some(sign) = self.rest().chars().next() {
            match sign {
                ' ' | ',' => self.at += 1,
                '(' if self.open.is_none() => {
                    self.open = Some(self.at);
                    self.at += 1;
                }
                ')' if self.open.is_some() => {
                    self.open = None;
                    self.at += 1;
                }
                '/' => return self.bass().map(|bass| (elements, Some(bass))),
                _ => {
                    let element = self.element()?;
                    self.after_number = matches!(
                        element.value,
                        Element::Number(_) | Element::Alter { .. } | Element::Add { .. }
                    );
                    elements.push(element);
                }
            }
        }
        self.closed()?;
        Ok((elements, None))
    }

    fn closed(&self) -> Result<()> {
        match self.open {
            Some(at) => {
                Err(wrong(self.text, at, at + 1, "this parenthesis is never closed".into())
                    .with_help("add `)`"))
            }
            None => Ok(()),
        }
    }

    fn bass(&mut self) -> Result<Part<NoteName>> {
        self.closed()?;
        let slash = self.at;
        self.at += 1;
        match NoteName::read_prefix(self.rest()) {
            Some((bass, length)) if self.rest().len() == length => Ok(self.part(bass, length)),
            _ => Err(wrong(
                self.text,
                slash,
                self.text.len(),
                "no bass note found behind the slash, expected a letter A to G".into(),
            )
            .with_help("write the bass as a note name, such as `C7/E`")),
        }
    }

    fn element(&mut self) -> Result<Part<Element>> {
        let rest = self.rest();
        if let Some((length, element)) = self.signed().transpose()? {
            return Ok(self.part(element, length));
        }
        for (word, element) in WORDS {
            // `madd9` is a minor chord with an addition, not `ma` with a sign unknown.
            let is_word = rest.starts_with(word) && !(word == "ma" && rest.starts_with("madd"));
            if is_word {
                return Ok(self.part(element, word.len()));
            }
        }
        for number in NUMBERS {
            let digits = digits_of(number);
            if rest.starts_with(digits) && !continues_number(rest, digits) {
                return Ok(self.part(Element::Number(number), digits.len()));
            }
        }
        match rest.chars().next() {
            Some('-') => Ok(self.part(Element::Minor, 1)),
            Some('+') => Ok(self.part(Element::Augmented, 1)),
            _ => Err(self.unknown()),
        }
    }

    /// An alteration, an addition or an omission: a word or sign with a number behind it.
    fn signed(&self) -> Option<Result<(usize, Element)>> {
        let rest = self.rest();
        let (word, adds, omits) = if rest.starts_with("add") {
            (3, true, false)
        } else if rest.starts_with("omit") {
            (4, false, true)
        } else if rest.starts_with("no") {
            (2, false, true)
        } else {
            (0, false, false)
        };
        let behind = rest.get(word..)?;
        let sign = behind.chars().next();
        let (alteration, sign_length) = match sign {
            Some('b' | '♭') => (-1, sign?.len_utf8()),
            Some('#' | '♯') => (1, sign?.len_utf8()),
            Some('-') if self.after_number && word == 0 => (-1, 1),
            Some('+') if self.after_number && word == 0 => (1, 1),
            _ => (0, 0),
        };
        if word == 0 && alteration == 0 {
            return None;
        }
        let digits = behind.get(sign_length..)?;
        let length = digits.find(|c: char| !c.is_ascii_digit()).unwrap_or(digits.len());
        let number: Option<u8> = digits.get(..length)?.parse().ok();
        let plain_sign = matches!(sign, Some('-' | '+'));
        let element = match (adds, omits, number) {
            // `7+` and `m7-` end in a sign that is not an alteration.
            (false, false, None) if plain_sign => return None,
            (true, false, Some(number @ (2 | 4 | 6 | 9 | 11 | 13))) => Element::Add { alteration, number },
            (false, true, Some(number @ (3 | 5))) if alteration == 0 => Element::Omit(number),
            (false, false, Some(number @ (4 | 5 | 6 | 9 | 11 | 13))) => Element::Alter { alteration, number },
            _ => {
                let end = self.at + word + sign_length + length;
                let (what, help) = if adds {
                    ("is not a note to add", "add one of 2 4 6 9 11 13, such as `add9`")
                } else if omits {
                    ("is not a note to leave out", "leave out 3 or 5, such as `no5`")
                } else {
                    ("is not an alteration", "the alterations are b5 #5 b9 #9 #11 b13")
                };
                let found = self.text.get(self.at..end).unwrap_or_default();
                return Some(
                    Err(wrong(self.text, self.at, end, format!("`{found}` {what}")).with_help(help)),
                );
            }
        };
        Some(Ok((word + sign_length + length, element)))
    }

    fn unknown(&self) -> Error {
        let rest = self.rest();
        let digits = rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len());
        let length = if digits > 0 { digits } else { rest.chars().next().map_or(0, char::len_utf8) };
        let found = rest.get(..length).unwrap_or_default();
        let (message, help) = if digits > 0 {
            (
                format!("unknown number `{found}`, expected one of 2 4 5 6 7 9 11 13"),
                "write altered tensions with a sign and in parentheses, such as `C7(b9,#11)`",
            )
        } else if matches!(found, "(" | ")") {
            (format!("a `{found}` too many"), "parentheses open and close once around a list")
        } else {
            (
                format!("unknown sign `{found}`, expected a quality, a number or an alteration"),
                "for example `Cm7`, `Cmaj9`, `C7(b9)`, `Cdim7`, `C7sus4`, `C7/E`",
            )
        };
        wrong(self.text, self.at, self.at + length, message).with_help(help)
    }
}

const fn digits_of(number: u8) -> &'static str {
    match number {
        13 => "13",
        11 => "11",
        9 => "9",
        7 => "7",
        6 => "6",
        5 => "5",
        4 => "4",
        _ => "2",
    }
}

/// Whether more digits stand behind the number, so that it is another one (`70`, `131`).
fn continues_number(rest: &str, digits: &str) -> bool {
    rest.get(digits.len()..).is_some_and(|r| r.starts_with(|c: char| c.is_ascii_digit()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn canonical(text: &str) -> String {
        let symbol: ChordSymbol = text.parse().unwrap_or_else(|e| panic!("{e:?}"));
        assert_eq!(symbol.to_string(), text);
        symbol.chord().map_or_else(|| "N.C.".into(), |c| c.to_string())
    }

    #[test]
    fn ok_spellings_of_the_usual_chords() {
        for (text, expected) in [
            ("C", "C"),
            ("CM", "C"),
            ("Cmaj", "C"),
            ("Cm", "Cm"),
            ("C-", "Cm"),
            ("Cmin", "Cm"),
            ("Cmi7", "Cm7"),
            ("C-7", "Cm7"),
            ("C7", "C7"),
            ("Cmaj7", "Cmaj7"),
            ("CMaj7", "Cmaj7"),
            ("CM7", "Cmaj7"),
            ("CΔ", "Cmaj7"),
            ("CΔ7", "Cmaj7"),
            ("C△9", "Cmaj9"),
            ("Cmaj6", "C6"),
            ("Cdim", "Cdim"),
            ("C°", "Cdim"),
            ("C°7", "Cdim7"),
            ("Co7", "Cdim7"),
            ("Cø", "Cm7b5"),
            ("Cø7", "Cm7b5"),
            ("Cm7b5", "Cm7b5"),
            ("C-7b5", "Cm7b5"),
            ("Cm7-5", "Cm7b5"),
            ("Cmin7(b5)", "Cm7b5"),
            ("C+", "C+"),
            ("Caug", "C+"),
            ("C+7", "C7#5"),
            ("C7+", "C7#5"),
            ("Caug7", "C7#5"),
            ("C7#5", "C7#5"),
            ("C7+5", "C7#5"),
            ("C7b5", "C7b5"),
            ("Cmaj7#5", "Cmaj7#5"),
            ("C+maj7", "Cmaj7#5"),
            ("Cm(maj7)", "Cm(maj7)"),
            ("CmMaj7", "Cm(maj7)"),
            ("C-Δ", "Cm(maj7)"),
            ("Csus", "Csus4"),
            ("Csus4", "Csus4"),
            ("Csus2", "Csus2"),
            ("C7sus", "C7sus4"),
            ("C9sus4", "C9sus4"),
            ("C7sus4(b9)", "C7sus4(b9)"),
            ("C13sus", "C13sus4"),
            ("C6", "C6"),
            ("Cm6", "Cm6"),
            ("C6/9", "C6/9"),
            ("C69", "C6/9"),
            ("C9", "C9"),
            ("C11", "C11"),
            ("C13", "C13"),
            ("Cm9", "Cm9"),
            ("Cm11", "Cm11"),
            ("Cm13", "Cm13"),
            ("Cmaj9", "Cmaj9"),
            ("Cmaj13(#11)", "Cmaj13(#11)"),
            ("C7b9", "C7(b9)"),
            ("C7(b9)", "C7(b9)"),
            ("C7-9", "C7(b9)"),
            ("C7+9", "C7(#9)"),
            ("C-9", "Cm9"),
            ("C7#9#5", "C7#5(#9)"),
            ("C7(b9,#11)", "C7(b9,#11)"),
            ("C7b9#11", "C7(b9,#11)"),
            ("C13b9", "C13(b9)"),
            ("C9#11", "C9(#11)"),
            ("C7alt", "C7alt"),
            ("Calt", "C7alt"),
            ("Cadd9", "C(add9)"),
            ("Cmadd9", "Cm(add9)"),
            ("C2", "C(add9)"),
            ("C4", "Csus4"),
            ("C5", "C5"),
            ("C7no5", "C7(no5)"),
            ("C(no3)", "C5"),
            ("C7/E", "C7/E"),
            ("D/C", "D/C"),
            ("F#m7b5/E", "F#m7b5/E"),
            ("Bb7", "Bb7"),
            ("Ebmaj7", "Ebmaj7"),
            ("E♭7♯9", "Eb7(#9)"),
            ("N.C.", "N.C."),
            ("NC", "N.C."),
            ("Cmaj7#11", "Cmaj7(#11)"),
            ("C7#4", "C7(#11)"),
            ("C7b6", "C7(b13)"),
            ("Cdim(maj7)", "Cdim(maj7)"),
            ("C 7 (b9)", "C7(b9)"),
        ] {
            assert_eq!(canonical(text), expected, "{text}");
        }
    }

    #[track_caller]
    fn expect_err(text: &str, marked: &str, message_has: &str) {
        let error = text.parse::<ChordSymbol>().unwrap_err();
        assert!(error.is_symbol(), "{error:?}");
        assert!(error.to_string().contains(message_has), "{error:?}");
        assert_eq!(error.excerpt().unwrap().marked(), marked, "{error:?}");
        assert!(error.help().is_some(), "{error:?}");
    }

    #[test]
    fn err_symbols_are_located() {
        expect_err("H7", "H", "no root");
        expect_err("c7", "c", "no root");
        expect_err("C7q", "q", "unknown sign `q`");
        expect_err("C70", "70", "unknown number `70`");
        expect_err("C7(b9", "(", "never closed");
        expect_err("C7b9)", ")", "too many");
        expect_err("C7b8", "b8", "is not an alteration");
        expect_err("Cadd7", "add7", "is not a note to add");
        expect_err("C7no7", "no7", "is not a note to leave out");
        expect_err("C7/", "/", "no bass note");
        expect_err("C7/H", "/H", "no bass note");
        expect_err("Cm7#9", "#9", "same key");
        expect_err("Cmaj7b7", "b7", "is not an alteration");
        expect_err("C7maj7", "maj", "contradicts");
        expect_err("Cmsus4", "sus4", "contradicts");
        expect_err("Csus4no3", "no3", "contradicts");
        assert!("".parse::<ChordSymbol>().is_err());
        assert!("C".repeat(65).parse::<ChordSymbol>().unwrap_err().is_limit());
    }

    proptest::proptest! {
        #[test]
        fn prop_any_text_gives_a_symbol_or_an_error(text in "\\PC*") {
            if let Ok(symbol) = text.parse::<ChordSymbol>() {
                assert_eq!(symbol.to_string(), text);
            }
        }

        #[test]
        fn prop_texts_like_symbols_read_back_canonically(
            text in "[A-G][b#]?(m|-|maj|M|dim|ø|\\+|sus2|sus4)?(6|7|9|11|13|6/9)?(\\(?[b#](5|9|11|13)\\)?){0,3}(add9|no5|alt)?(/[A-G][b#]?)?"
        ) {
            if let Ok(symbol) = text.parse::<ChordSymbol>() && let Some(chord) = symbol.chord() {
                assert_eq!(chord.to_string().parse::<Chord>().unwrap(), chord, "{text} as {chord}");
            }
        }
    }
}
