#![doc = "Two-hand keyboard voicings."]
pub mod chord;
pub mod error;
pub mod pitch;
pub use chord::{Chord, ChordSymbol, Degree};
pub use error::{Error, Result};
