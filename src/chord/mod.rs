//! What a chord symbol asks for: degrees, qualities, symbols, keys and functions.
//!
//! A symbol is read in two stages. [`ChordSymbol`] is faithful to the text: it keeps every sign with its place and
//! prints back what it read. Lowered, it is a [`Chord`]: root, [`Quality`], tensions, bass; simple, comparable, and
//! printed in one canonical way that reads back as the same chord.
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

mod analysis;
mod degree;
mod function;
mod key;
mod naming;
mod quality;
mod reharmonise;
mod scale;
mod sounding;
mod source;
mod spell;
mod style;
pub mod symbol;
mod value;
pub mod vocabulary;

pub use analysis::{
    Analysis, Belonging, ChordAnalysis, FunctionReason, KeyOrigin, Passing, TwoFive, TwoFiveKind, analyse,
    estimate_key,
};
pub use degree::{Degree, DegreeSet};
pub use function::{Function, functions};
pub use key::{Key, Mode};
pub use naming::{NamingOptions, Reading, Readings, Reason, readings};
pub use quality::{Family, Fifth, Quality, Seventh, Third};
pub use reharmonise::{
    Reharmonisation, ReharmonisationReason, Reharmonised, substitute_two_five, suspended_then_dominant,
    suspended_under, tritone_substitute, two_five,
};
pub use scale::{
    AvoidPolicy, NoteReason, Role, Scale, ScaleChoice, ScaleNote, ScaleReason, Served, scales_for,
};
pub use source::Source;
pub use spell::Spelling;
pub use style::{Style, Styled};
pub use symbol::{ChordSymbol, Element, Layer, Part};
pub use value::{Chord, chord};

crate::pitch::serde_as_text!(Chord, ChordSymbol, Key, Function, Scale, Reharmonisation);
