//! The language of chords: degrees, qualities, symbols, names of what sounds, scales, keys and functions.
//!
//! A symbol is read in two stages. [`ChordSymbol`] is faithful to the text: it keeps every sign with its place and
//! prints back what it read. Lowered, it is a [`Chord`]: root, [`Quality`], tensions, bass; simple, comparable, and
//! printed in one canonical way that reads back as the same chord.
//!
//! | question | answer |
//! |---|---|
//! | what does this symbol mean, or what is wrong with it | [`ChordSymbol`], [`symbol`] (the grammar) |
//! | how is this chord written, for whom | [`Style`], [`vocabulary`] (MusicXML, research labels, ABC) |
//! | what is this note over this chord | [`Degree`], [`Chord::degree_of`], [`Spelling`] |
//! | what are these keys called | [`readings`], [`naming`] |
//! | which scale goes with it, and which notes fight it | [`scales_for`], [`scale`] |
//! | in which key is this, and what does each chord do there | [`analyse`], [`analysis`], [`functions`] |
//! | what else could stand here | [`reharmonise`] |
//!
//! It is not: a voicing. A chord says which [`Degree`]s belong, never in which octave or hand.
//!
//! # Example
//!
//! ```
//! use overshell::chord::{Chord, ChordSymbol};
//!
//! let symbol: ChordSymbol = "E♭-7".parse()?;
//! assert_eq!(symbol.to_string(), "E♭-7");        // as written
//! let chord = symbol.chord().unwrap();
//! assert_eq!(chord.to_string(), "Ebm7");          // canonical
//! assert_eq!("Ebmin7".parse::<Chord>()?, chord);  // same chord
//! # Ok::<(), overshell::Error>(())
//! ```

pub mod analysis;
mod degree;
mod function;
mod key;
pub mod naming;
mod quality;
pub mod reharmonise;
pub mod scale;
mod sounding;
mod source;
mod spell;
mod style;
pub mod symbol;
mod value;
pub mod vocabulary;

pub use analysis::{Analysis, analyse, estimate_key};
pub use degree::{Degree, DegreeSet};
pub use function::{Function, functions};
pub(crate) use function::{destination_among, function};
pub use key::{Key, Mode};
pub use naming::{NamingOptions, Reading, readings};
pub use quality::{Family, Fifth, Quality, Seventh, Third};
pub use reharmonise::Reharmonisation;
pub use scale::{AvoidPolicy, Scale, scales_for, scales_in};
pub use source::Source;
pub use spell::Spelling;
pub use style::{Style, Styled};
pub use symbol::ChordSymbol;
pub use value::{Chord, chord};

crate::pitch::serde_as_text!(Chord, ChordSymbol, Key, Function, Scale, Reharmonisation);
