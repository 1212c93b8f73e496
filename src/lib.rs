#![doc = "Two-hand keyboard voicings."]
pub mod chord;
pub mod error;
pub mod pitch;
pub mod rules;
pub mod search;
#[cfg(feature = "sheet")]
pub mod sheet;
pub mod voicing;

pub use chord::{Chord, ChordSymbol, Degree};
pub use error::{Error, Result};
pub use voicing::Voicing;
