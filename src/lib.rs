#![doc = "Two-hand keyboard voicings."]
pub mod error;
pub mod pitch;
pub use error::{Error, Result};
