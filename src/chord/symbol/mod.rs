//! Chord symbols as written: a tree with places, faithful to the text.
//!
//! # Grammar
//!
//! In the notation of ISO/IEC 14977 (EBNF). Words of two letters and more are read in any case; the signs of Unicode that
//! look like one below count as that one (`−` and `–` as `-`, `∕` as `/`, `⁷` as `7`…).
//!
//! ```text
//! symbol      = whole | "(" , whole , ")" | "optional " , whole ;  (in parentheses: optional)
//! whole       = no-chord | chord , [ ( "|" | "above" ) , chord ] ; (upper chord | lower chord)
//! no-chord    = "N.C." | "NC" | "N.C" | "N. C." | "N/C" | "no chord" | "tacet" ;
//! chord       = note , { item | separator | "(" , { item | separator } , ")" } , [ bass ] ;
//! separator   = " " | "," | "." | ";" | tab ;
//! item        = [ "/" ] , element ;                                (behind "/" no 3, 5 or 7 alone: that is a bass)
//! bass        = ( "/" | "\\" | "over" | "on" ) , ( note | "(" , note , ")" ) ;
//! note        = "A".."G" , [ accidental ] ;
//! accidental  = "b" | "#" | "bb" | "##" | "x" | "♭" | "♯" | "♭♭" | "♯♯" | "𝄫" | "𝄪"
//!             | "-flat" | "-sharp" | "-double-flat" | "-double-sharp" ;
//! element     = third | major | number | suspension | addition | omission | alteration | altered ;
//! third       = "m" | "mi" | "min" | "minor" | "-"                                (minor)
//!             | "dim" | "diminished" | "°" | "º" | "˚" | "o"                      (diminished; "o" at the root only)
//!             | "ø" | "Ø" | "∅" | "⌀" | "half-dim" | "half-diminished"            (half-diminished)
//!             | "aug" | "augmented" | "+" ;                                       (augmented)
//! major       = "M" | "ma" | "maj" | "major" | "j" | "Δ" | "∆" | "△" | "▵" | "▲"
//!             | "dom" | "dominant" ;                               (of the seventh where a number goes with it)
//! number      = ( "2" | "4" | "5" | "6" | "7" | "9" | "11" | "13" ) , [ "th" | "nd" | "rd" ]
//!             | "6/9" | "9/6" | "69" | "6-9" | ordinal ;
//! ordinal     = "second" | "fourth" | "fifth" | "sixth" | "seventh" | "ninth" | "eleventh" | "thirteenth" ;
//! suspension  = ( "sus" , [ "2" | "4" | "24" | "42" ] ) | ( "suspended" , [ " 2" | " 4" | " second" | " fourth" ] ) ;
//! addition    = ( "add" | "added" ) , [ " " ] , [ sign ] , ( "2" | "3" | "4" | "6" | "9" | "11" | "13" | ordinal ) ;
//! omission    = ( "no" | "omit" | "without" ) , [ " " ] , ( "2".."7" | "9" | "11" | "third" | ordinal ) ;
//! alteration  = sign , degree | degree , sign | "bb7" ;            (sign behind: in a list or behind another number)
//! degree      = "4" | "5" | "6" | "7" | "9" | "11" | "13" | ordinal ;
//! sign        = "b" | "#" | "♭" | "♯" | "♮" | ( "flat" | "sharp" ) , [ " " | "-" ]
//!             | "-" | "+" ;                        (after a number, inside parentheses, or before 5)
//! altered     = "alt" | "altered" ;
//! ```
//!
//! Square and curly brackets count as parentheses. A sign with a degree must be one of `b5 #5 b7 #7 b9 #9 #11 b13` (or `#4`,
//! `b6`). Elements that contradict each other are refused ([`Error::is_contradiction`]); what changes nothing is read.
//!
//! # Ambiguities, decided
//!
//! | text | read as | because |
//! |---|---|---|
//! | `C-9` | `Cm9` | a `-` at the root is minor |
//! | `C7-9`, `C7+9`, `C(+9)` | `C7(b9)`, `C7(#9)`, `C(add#9)` | after a number and inside parentheses `-` and `+` alter |
//! | `C7-` | an error | a minus behind a number alters one |
//! | `C-5`, `C+5`, `C5+` | `C(b5)`, `C+`, `C+` | there is no minor chord of root and fifth |
//! | `C+7`, `C7+` | `C7#5` | `+` without a number behind it, or at the root, is the augmented triad |
//! | `C+9`, `C+11` | `C9#5`, `C11#5` | the same |
//! | `C7(5+)`, `C7/5+`, `Cm7 5-` | `C7#5`, `C7#5`, `Cm7b5` | in a list and behind another number a sign may follow |
//! | `Cm+7`, `Cm(+7)` | `Cm7#5`, `Cm(maj7)` | the two rules above |
//! | `Cmaj7#11` | `Cmaj7(#11)` | a raised eleventh stands beside the fifth, `#4` likewise |
//! | `C7sus` | `C7sus4` | the fourth is the usual suspension |
//! | `Cm7sus4` | `C7sus4` | the suspension takes the third's place |
//! | `Csus2sus4`, `Csus24`, `Csus4/2` | `Csus4(add9)` | of two suspensions the second is a ninth |
//! | `C2` | `C(add9)` | an added second; `Csus2` leaves the third out |
//! | `C4` | `Csus4` | nobody adds a fourth to a major third by a bare number |
//! | `C5` | root and fifth | a power chord |
//! | `C11` | keeps its third | written so; [`Chord::as_played`] makes it the suspension that players play |
//! | `C13` | no eleventh | it fights the major third |
//! | `C(9)`, `C/9`, `Cmaj(9)` | `C(add9)`, `C(add9)`, `Cmaj9` | a number in a list is added where no seventh is spoken of |
//! | `C7(9)`, `C7/9`, `C7/6` | `C9`, `C9`, `C7(13)` | a number behind a number adds its note |
//! | `C9/6`, `C6-9` | `C6/9` | the usual chord of these numbers |
//! | `C/5`, `C/b7` | an error | somebody means a bass, which is a note |
//! | `C9(no7)` | `C(add9)` | what a number brings can be left out, the number itself cannot |
//! | `C7M`, `Cm9(maj7)` | `Cmaj7`, `Cm(maj9)` | a major sign behind the number raises the seventh that it brought |
//! | `C7dim`, `Cm7dim` | `Cdim7`, `Cm7b5` | the minor third was there before the seventh |
//! | `CΔ` | `Cmaj7` | the triangle alone means the seventh |
//! | `Cø` | `Cm7b5` | the sign alone means the seventh |
//! | `Cmadd9` | `Cm(add9)` | not `ma` |
//! | `Dom7`, `C07` | errors | nobody knows; `Do7` is diminished |
//! | `Bbb5`, `Bbbb5` | `Bbb5`, `Bbb(b5)` | accidentals of the note are read first; write `Bb(b5)` |
//! | `B7` | B natural | never the German B, which is B flat; `H7` is an error |
//! | `D/C`, `D\|C` | bass C; C major with D major above | a chord above a chord has a sign of its own |
//! | `(G7)` | `G7`, optional | the whole symbol in parentheses |

mod element;
mod fault;
mod items;
mod lower;
mod read;
mod suggest;
mod words;

pub use element::{Element, Layer, Part};

use self::read::Tree;
use super::{Chord, Seventh};
use crate::error::{Error, Kind, Result};
use crate::pitch::{NoteName, PitchClass, PitchSet};

/// A chord symbol as somebody wrote it, or the sign that no chord sounds.
///
/// Prints back what it read; [`ChordSymbol::chord`] is what it means. See the [module](self) for the grammar.
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
///
/// A chord above a chord:
///
/// ```
/// use overshell::chord::ChordSymbol;
///
/// let symbol: ChordSymbol = "D|C7".parse()?;
/// assert_eq!(symbol.upper().unwrap().chord().to_string(), "D");
/// assert_eq!(symbol.lower().unwrap().chord().to_string(), "C7");
/// assert_eq!(symbol.chord().unwrap().to_string(), "C13(#11)");
/// # Ok::<(), overshell::Error>(())
/// ```
#[derive(Clone, Debug, Eq, PartialEq, Hash)]
pub struct ChordSymbol {
    text: Box<str>,
    optional: bool,
    lower: Option<Layer>,
    upper: Option<Box<Layer>>,
    chord: Option<Chord>,
}

impl ChordSymbol {
    /// The longest symbol that is read, in bytes.
    pub const LONGEST: usize = 64;

    /// The symbol that says what this chord is, canonically written.
    pub fn of_chord(chord: Chord) -> Self {
        let text = chord.to_string();
        // What a chord prints reads back as the same chord (tested over all chords); the fall-back keeps the value
        // even so.
        text.parse().unwrap_or_else(|_| Self {
            text: text.into(),
            optional: false,
            lower: None,
            upper: None,
            chord: Some(chord),
        })
    }

    /// The text as written.
    pub fn as_str(&self) -> &str {
        &self.text
    }

    /// What it means; `None` where no chord sounds (`N.C.`).
    ///
    /// Where a chord stands above another, the [chord that sounds](Chord::sounding), named from the lower one, as far as a
    /// symbol can say it: [`ChordSymbol::unsaid`] is the rest.
    pub const fn chord(&self) -> Option<Chord> {
        self.chord
    }

    /// Whether it stands in parentheses: to be played or left out.
    pub const fn is_optional(&self) -> bool {
        self.optional
    }

    /// The chord as written, or the lower one of two; `None` where no chord sounds.
    pub const fn lower(&self) -> Option<&Layer> {
        self.lower.as_ref()
    }

    /// The chord above the other, as in `D|C7`.
    pub fn upper(&self) -> Option<&Layer> {
        self.upper.as_deref()
    }

    /// The root and its place, of the lower chord; `None` where no chord sounds.
    pub fn root(&self) -> Option<Part<NoteName>> {
        self.lower().map(Layer::root)
    }

    /// The signs between root and bass, in the order of the text, of the lower chord.
    pub fn elements(&self) -> &[Part<Element>] {
        self.lower().map_or(&[], Layer::elements)
    }

    /// The bass and its place, of the lower chord.
    pub fn bass(&self) -> Option<Part<NoteName>> {
        self.lower().and_then(Layer::bass)
    }

    /// The keys that the symbol asks for and [`ChordSymbol::chord`] does not hold: those of a chord above another that
    /// has another third or seventh.
    ///
    /// ```
    /// use overshell::chord::ChordSymbol;
    /// let symbol: ChordSymbol = "E|C7".parse()?;
    /// assert_eq!(symbol.chord().unwrap().to_string(), "C7(b13)");
    /// assert_eq!(symbol.unsaid().to_string(), "{11}"); // the B, beside the Bb of the seventh
    /// # Ok::<(), overshell::Error>(())
    /// ```
    pub fn unsaid(&self) -> PitchSet {
        let said = self.chord.map_or(PitchSet::EMPTY, |chord| {
            chord.pitch_set().union(chord.bass().map(NoteName::pitch_class).into_iter().collect())
        });
        self.pitch_set().difference(said)
    }

    /// All keys that the symbol asks for, of both chords and their basses.
    pub fn pitch_set(&self) -> PitchSet {
        [self.upper(), self.lower()].into_iter().flatten().fold(PitchSet::EMPTY, |keys, layer| {
            let bass = layer.chord.bass().map(NoteName::pitch_class);
            keys.union(layer.chord.pitch_set()).union(bass.into_iter().collect())
        })
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
        let (Tree { optional, upper, lower }, chord) = read_checked(text)?;
        Ok(Self { text: text.into(), optional, lower, upper: upper.map(Box::new), chord })
    }
}

/// What a text means, without keeping it.
pub(super) fn chord_of(text: &str) -> Result<Option<Chord>> {
    read_checked(text).map(|(_, chord)| chord)
}

/// Tree and meaning of a text that is short enough.
fn read_checked(text: &str) -> Result<(Tree, Option<Chord>)> {
    const LONGEST: usize = ChordSymbol::LONGEST;
    if text.len() > LONGEST {
        let message = format!("a chord symbol of {} bytes is too long, the limit is {LONGEST}", text.len());
        return Err(Error::new(Kind::Limit, message).with_help("give one symbol, such as `C7(b9)`"));
    }
    let tree = read::read(text).map_err(|fault| fault.into_error(text))?;
    let chord = match (&tree.upper, &tree.lower) {
        (Some(upper), Some(lower)) => Some(together(upper.chord, lower.chord)),
        _ => tree.lower.as_ref().map(|lower| lower.chord),
    };
    Ok((tree, chord))
}

/// The chord that sounds where one chord stands above another, named from the lower one. Keys that no symbol with its
/// third and seventh can say are left out.
fn together(upper: Chord, lower: Chord) -> Chord {
    let map = lower.degree_map();
    let sayable = |class: PitchClass| {
        let degree = map.get(usize::from(lower.root().pitch_class().semitones_up_to(class)));
        degree.is_some_and(|degree| degree.is_tension() || lower.quality().seventh == Seventh::None)
    };
    let above: PitchSet = upper.pitch_set().iter().filter(|class| sayable(*class)).collect();
    match (lower.sounding(lower.pitch_set().union(above)), lower.bass()) {
        (Some(sounding), Some(bass)) => sounding.with_bass(bass),
        (Some(sounding), None) => sounding,
        (None, _) => lower,
    }
}

#[cfg(test)]
mod tests;
