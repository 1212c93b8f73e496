#![doc = "Two-hand keyboard voicings."]
pub mod chord;
pub mod error;
pub mod pitch;
pub mod voicing;
pub use chord::{Chord, ChordSymbol, Degree};
pub use voicing::Voicing;
pub use error::{Error, Result};
