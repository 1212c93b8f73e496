//! Printing styles: one chord, written in several ways that all read back as the same chord.

use std::fmt::{Display, Formatter, Result, Write};

use super::{Chord, ChordSymbol, Degree, DegreeSet, Fifth, Quality, Seventh, Third};
use crate::pitch::{Accidental, NoteName};

/// How chords are written.
///
/// # Example
///
/// ```
/// use overshell::chord::{Chord, Style, chord};
///
/// let chord = chord("F#m7b5/E");
/// assert_eq!(chord.in_style(Style::Ascii).to_string(), "F#m7b5/E"); // what `Display` prints
/// assert_eq!(chord.in_style(Style::Unicode).to_string(), "F♯ø7/E");
/// let long = chord.in_style(Style::Long).to_string();
/// assert_eq!(long, "F-sharp half-diminished 7 over E");
/// assert_eq!(long.parse::<Chord>()?, chord); // as every style does
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Copy, Debug, Default, Eq, PartialEq, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Style {
    /// Letters and signs of ASCII: `Bbmaj7`, `C7(b9)`, `F#m7b5`. The canonical one.
    #[default]
    Ascii,
    /// With the signs of music and the short marks for qualities: `B♭△7`, `C7(♭9)`, `F♯ø7`.
    Unicode,
    /// In words, to be read out: `B-flat major 7`, `C dominant 7 flat 9`. A chord of so many tensions that this is longer
    /// than a symbol may be ([`ChordSymbol::LONGEST`]) is written in ASCII.
    Long,
}

impl Style {
    /// All styles.
    pub const ALL: [Self; 3] = [Self::Ascii, Self::Unicode, Self::Long];

    const fn signs(self) -> &'static Signs {
        match self {
            Self::Ascii => &ASCII,
            Self::Unicode => &UNICODE,
            Self::Long => &LONG,
        }
    }
}

/// The words of a style.
struct Signs {
    /// In the order of [`Accidental::ALL`].
    accidentals: [&'static str; 5],
    minor: &'static str,
    major: &'static str,
    diminished: &'static str,
    augmented: &'static str,
    half_diminished: Option<&'static str>,
    suspended: [&'static str; 2],
    altered: &'static str,
    add: &'static str,
    above: &'static str,
    optional: (&'static str, &'static str),
    without: &'static str,
    bass: &'static str,
    no_chord: &'static str,
    /// Whether signs are words with spaces between them, and nothing is put in parentheses.
    words: bool,
}

const ASCII: Signs = Signs {
    accidentals: ["bb", "b", "", "#", "##"],
    minor: "m",
    major: "maj",
    diminished: "dim",
    augmented: "+",
    half_diminished: None,
    suspended: ["sus2", "sus4"],
    altered: "alt",
    add: "add",
    above: "|",
    optional: ("(", ")"),
    without: "no",
    bass: "/",
    no_chord: "N.C.",
    words: false,
};

const UNICODE: Signs = Signs {
    accidentals: ["𝄫", "♭", "", "♯", "𝄪"],
    major: "△",
    diminished: "°",
    half_diminished: Some("ø"),
    ..ASCII
};

const LONG: Signs = Signs {
    accidentals: ["-double-flat", "-flat", "", "-sharp", "-double-sharp"],
    minor: "minor",
    major: "major",
    diminished: "diminished",
    augmented: "augmented",
    half_diminished: Some("half-diminished"),
    suspended: ["suspended 2", "suspended 4"],
    altered: "altered",
    add: "add ",
    above: " above ",
    optional: ("optional ", ""),
    without: "no ",
    bass: " over ",
    no_chord: "no chord",
    words: true,
};

/// A chord or symbol that prints in a style.
#[derive(Clone, Copy, Debug)]
pub struct Styled<T> {
    value: T,
    style: Style,
}

impl Chord {
    /// The chord, to be printed in a style. What is printed reads back as the same chord.
    pub const fn in_style(self, style: Style) -> Styled<Self> {
        Styled { value: self, style }
    }
}

impl ChordSymbol {
    /// What the symbol means, to be printed in a style: both chords of two, in parentheses where it is optional.
    pub const fn in_style(&self, style: Style) -> Styled<&Self> {
        Styled { value: self, style }
    }
}

/// What is longer than a symbol may be is written otherwise: a symbol as it was, a chord in ASCII.
impl Display for Styled<&ChordSymbol> {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        let mut line = Line::default();
        match self.write(&mut line) {
            Ok(()) => f.pad(line.as_str()),
            Err(_) => f.pad(self.value.as_str()),
        }
    }
}

impl Display for Styled<Chord> {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        for style in [self.style, Style::Ascii] {
            let mut line = Line::default();
            if self.value.in_style(style).write(&mut line).is_ok() {
                return f.pad(line.as_str());
            }
        }
        Ok(()) // every chord fits in ASCII, as a test shows
    }
}

/// A text of at most the length of a symbol.
struct Line {
    bytes: [u8; ChordSymbol::LONGEST],
    length: usize,
}

impl Default for Line {
    fn default() -> Self {
        Self { bytes: [0; ChordSymbol::LONGEST], length: 0 }
    }
}

impl Line {
    fn as_str(&self) -> &str {
        self.bytes.get(..self.length).and_then(|bytes| std::str::from_utf8(bytes).ok()).unwrap_or_default()
    }
}

impl Write for Line {
    fn write_str(&mut self, text: &str) -> Result {
        let end = self.length + text.len();
        let room = self.bytes.get_mut(self.length..end).ok_or(std::fmt::Error)?;
        room.copy_from_slice(text.as_bytes());
        self.length = end;
        Ok(())
    }
}

impl Styled<&ChordSymbol> {
    fn write(&self, f: &mut Line) -> Result {
        let Self { value: symbol, style } = *self;
        let signs = style.signs();
        let (open, close) = if symbol.is_optional() { signs.optional } else { ("", "") };
        f.write_str(open)?;
        match (symbol.upper(), symbol.lower(), symbol.chord()) {
            (Some(upper), Some(lower), _) => {
                upper.chord().in_style(style).write(f)?;
                f.write_str(signs.above)?;
                lower.chord().in_style(style).write(f)?;
            }
            (_, _, Some(chord)) => chord.in_style(style).write(f)?,
            (_, _, None) => f.write_str(signs.no_chord)?,
        }
        f.write_str(close)
    }
}

impl Styled<Chord> {
    fn write(&self, f: &mut Line) -> Result {
        let signs = self.style.signs();
        let mut writer = Writer { f, signs, listed: false };
        writer.note(self.value.root())?;
        writer.body(self.value)?;
        if let Some(bass) = self.value.bass() {
            writer.f.write_str(signs.bass)?;
            writer.note(bass)?;
        }
        Ok(())
    }
}

struct Writer<'a> {
    f: &'a mut Line,
    signs: &'static Signs,
    /// Whether a list in parentheses is open.
    listed: bool,
}

impl Writer<'_> {
    fn note(&mut self, note: NoteName) -> Result {
        write!(self.f, "{}{}", note.letter(), self.accidental(note.accidental().semitones()))
    }

    fn accidental(&self, semitones: i8) -> &'static str {
        let at = Accidental::from_semitones(semitones).map_or(2, |accidental| accidental as usize);
        self.signs.accidentals.get(at).copied().unwrap_or_default()
    }

    /// A sign of the body: in words, with a space before it.
    fn sign(&mut self, sign: &str) -> Result {
        let space = if self.signs.words && !sign.is_empty() { " " } else { "" };
        write!(self.f, "{space}{sign}")
    }

    fn number(&mut self, number: u8) -> Result {
        write!(self.f, "{}{number}", if self.signs.words { " " } else { "" })
    }

    /// An altered number: `b9`, `flat ninth`.
    fn altered(&mut self, degree: Degree) -> Result {
        let sign = self.accidental(degree.alteration());
        if self.signs.words {
            let sign = sign.trim_start_matches('-');
            let space = if sign.is_empty() { "" } else { " " };
            write!(self.f, "{sign}{space}{}", degree.number())
        } else {
            write!(self.f, "{sign}{}", degree.number())
        }
    }

    /// Starts an item of the list at the end of a symbol.
    fn item(&mut self) -> Result {
        let before = match (self.signs.words, self.listed) {
            (true, _) => " ",
            (false, true) => ",",
            (false, false) => "(",
        };
        self.listed = true;
        self.f.write_str(before)
    }

    fn end_of_list(&mut self) -> Result {
        let open = std::mem::take(&mut self.listed) && !self.signs.words;
        self.f.write_str(if open { ")" } else { "" })
    }

    /// Sets a sign in parentheses where signs are no words: `m(maj7)`.
    fn enclosed(&mut self, inside: impl FnOnce(&mut Self) -> Result) -> Result {
        if self.signs.words {
            return inside(self);
        }
        self.f.write_str("(")?;
        inside(self)?;
        self.f.write_str(")")
    }

    fn body(&mut self, chord: Chord) -> Result {
        let signs = self.signs;
        let Quality { third, fifth, seventh } = chord.quality();
        let dominant = if signs.words { "dominant" } else { "" };
        if chord.is_altered() {
            self.sign(dominant)?;
            self.number(7)?;
            return self.sign(signs.altered);
        }
        let (number, mut rest) = number_and_rest(chord);
        let minor = if third == Third::Minor { signs.minor } else { "" };
        // In words a chord without seventh is major or minor; a suspended one is neither.
        let major = if signs.words && matches!(third, Third::Major | Third::None) { signs.major } else { "" };
        let triad = if third == Third::Minor { signs.minor } else { major };
        let diminished = (third, fifth) == (Third::Minor, Fifth::Flat);
        let mut fifth_sign = quality_sign(chord.quality());
        let mut nameless_third = third == Third::None;
        match seventh {
            Seventh::None => {
                rest = chord.tensions();
                match (third, fifth) {
                    (Third::Minor, Fifth::Flat) => {
                        fifth_sign = None;
                        self.sign(signs.diminished)?;
                    }
                    (Third::Major, Fifth::Sharp) => {
                        fifth_sign = None;
                        self.sign(signs.augmented)?;
                    }
                    (Third::None, Fifth::Perfect) => {
                        nameless_third = false;
                        if signs.words { self.sign("fifth")? } else { self.number(5)? }
                    }
                    _ => self.sign(triad)?,
                }
            }
            Seventh::DoubleFlat if diminished => {
                (rest, fifth_sign) = (chord.tensions(), None);
                self.sign(signs.diminished)?;
                self.number(7)?;
            }
            Seventh::Sixth | Seventh::DoubleFlat => {
                rest = chord.tensions();
                self.sign(triad)?;
                self.number(6)?;
                // The ninth is said beside the sixth where no flat ninth comes before it.
                let nine = rest.contains(Degree::Nine) && !rest.contains(Degree::FlatNine);
                if nine && third != Third::Second && !signs.words {
                    rest = rest.without(Degree::Nine);
                    self.f.write_str("/9")?;
                }
            }
            Seventh::Flat => {
                match signs.half_diminished.filter(|_| diminished) {
                    Some(sign) => {
                        fifth_sign = None;
                        self.sign(sign)?;
                    }
                    None if third == Third::Minor => self.sign(minor)?,
                    None => self.sign(dominant)?,
                }
                self.number(number)?;
            }
            Seventh::Major => {
                let major = |writer: &mut Self| {
                    writer.sign(signs.major)?;
                    writer.number(number)
                };
                if third == Third::Minor {
                    if diminished {
                        fifth_sign = None;
                    }
                    self.sign(if diminished { signs.diminished } else { minor })?;
                    self.enclosed(major)?;
                } else {
                    major(self)?;
                }
            }
        }
        let suspended = match third {
            Third::Second => signs.suspended[0],
            Third::Fourth => signs.suspended[1],
            Third::None | Third::Minor | Third::Major => "",
        };
        // Behind a seventh the fifth stands at once; over a triad, and in words, behind the suspension.
        if let Some(sign) = fifth_sign.filter(|_| seventh != Seventh::None && !signs.words) {
            self.altered(sign)?;
            fifth_sign = None;
        }
        self.sign(suspended)?;
        if let Some(sign) = fifth_sign {
            self.item()?;
            self.altered(sign)?;
        }
        self.list(chord.quality(), rest, nameless_third)
    }

    /// The tensions that no number says, and what is left out.
    fn list(&mut self, quality: Quality, tensions: DegreeSet, nameless_third: bool) -> Result {
        for tension in tensions.by_number() {
            self.item()?;
            // Over a triad every tension is an addition; in words, every natural one.
            if quality.seventh == Seventh::None || (self.signs.words && tension.alteration() == 0) {
                self.f.write_str(self.signs.add)?;
            }
            self.altered(tension)?;
        }
        for (left_out, number) in [(nameless_third, 3), (quality.fifth == Fifth::None, 5)] {
            if left_out {
                self.item()?;
                self.f.write_str(self.signs.without)?;
                write!(self.f, "{number}")?;
            }
        }
        self.end_of_list()
    }
}

/// The altered fifth to be written.
const fn quality_sign(quality: Quality) -> Option<Degree> {
    match quality.fifth {
        Fifth::None | Fifth::Perfect => None,
        Fifth::Flat => Some(Degree::FlatFive),
        Fifth::Sharp => Some(Degree::SharpFive),
    }
}

/// The number to print (13, 11, 9 or 7) and the tensions it does not say.
fn number_and_rest(chord: Chord) -> (u8, DegreeSet) {
    let (quality, tensions) = (chord.quality(), chord.tensions());
    for number in [13, 11, 9] {
        let implied = Chord::unreplaced(Chord::implied(quality, number), tensions);
        let named = Degree::from_number(number, 0).is_some_and(|degree| implied.contains(degree));
        if named && implied.difference(tensions).is_empty() {
            return (number, tensions.difference(implied));
        }
    }
    (7, tensions)
}
