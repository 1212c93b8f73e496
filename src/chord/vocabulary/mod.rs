//! Chords in the words of others: three published vocabularies, each both ways.
//!
//! | vocabulary | it can say | what is lost |
//! |---|---|---|
//! | [`musicxml`]: kinds and degrees of a `harmony` element | every chord | nothing; a thirteenth over a major third holds an eleventh for others |
//!
//! Each has a `read` and a `write`. What comes over comes as a [`Translation`]: the value, and a [`Loss`] for everything
//! that did not come along or had to be assumed. A translation without losses reads back as what was written.

pub mod musicxml;
#[cfg(test)]
mod sweep;
mod translation;

pub use translation::{Loss, Translation};
