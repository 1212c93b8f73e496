//! Pictures, as SVG in a text.
//!
//! | function | shows |
//! |---|---|
//! | [`keyboard`] | a voicing on the keys: which hand plays what, and what it is in the chord |
//! | [`heat_map`] | a catalogue: what each triad does over a chord |
//! | [`shares`] | a table of counts: how much of each cell colours, is plain, clashes |
//! | [`strip`] | an arrangement: where each voice goes, chord by chord |
//!
//! The two hands are told apart by shape and place as well as by colour, the verdicts by sign and hatch.
//! Every picture has a title and a description for those who do not see it, stands on white, and keeps its letters readable in
//! print. The same question gives the same bytes on every machine; lengths are whole numbers.
//!
//! It is not: an engraver. Pages of music are MusicXML (module `sheet`).
//!
//! Colours: Okabe and Ito, *Color Universal Design* (2008). Contrast of text: at least 4.5:1 as the Web Content Accessibility
//! Guidelines 2.1 ask (success criterion 1.4.3).

#[cfg(test)]
mod check;
mod heat_map;
mod keyboard;
mod keys;
mod lettering;
mod palette;
mod shares;
mod spread;
mod strip;
mod svg;
mod width;

pub use heat_map::{HeatMapOptions, heat_map};
pub use keyboard::{KeyText, KeyboardOptions, keyboard};
pub use shares::{SharesOptions, shares};
pub use strip::{StripOptions, strip};
pub use width::Width;
