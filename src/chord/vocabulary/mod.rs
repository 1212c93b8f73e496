//! Chords in the words of others: three published vocabularies, each both ways.
//!
//! | vocabulary | it can say | what is lost |
//! |---|---|---|
//! | [`musicxml`]: kinds and degrees of a `harmony` element | every chord | nothing; a thirteenth over a major third holds an eleventh for others |
//! | [`harte`]: labels of research data, `Eb:7(#9)/5` | every chord | nothing |
//! | [`abc`]: chord texts of ABC 2.1, `F#m/C#` | triads, sixths, sevenths, suspended fourths, and these with natural ninths to thirteenths | alterations, additions, omissions, double accidentals |
//!
//! Each has a `read` and a `write`. What comes over comes as a [`Translation`]: the value, and a [`Loss`] for everything
//! that did not come along or had to be assumed. A translation without losses reads back as what was written.

pub mod abc;
mod entry;
pub mod harte;
mod loss;
pub mod musicxml;
#[cfg(test)]
mod sweep;
mod translation;

pub use loss::{Loss, Part, Word};
pub use translation::Translation;

use super::ChordSymbol;
use crate::error::{Error, Kind, Result};

/// The longest text that is read, in bytes: as long as a chord symbol.
pub const LONGEST: usize = ChordSymbol::LONGEST;

/// Refuses what is too long.
fn within_limit(what: &str, text: &str) -> Result<()> {
    if text.len() > LONGEST {
        let message = format!("{what} of {} bytes is too long, the limit is {LONGEST}", text.len());
        return Err(Error::new(Kind::Limit, message).with_help("give one chord at a time"));
    }
    Ok(())
}
