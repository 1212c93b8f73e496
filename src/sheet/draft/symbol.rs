//! Chord symbols of written lines.

use crate::chord::ChordSymbol;
use crate::pitch::{NoteName, shown};
use crate::sheet::PlacedSymbol;
use crate::sheet::read::chords::Understood;

/// A text as a chord symbol, or kept as it is, with what there is to say about it.
pub(in crate::sheet) fn symbol(text: &str) -> Understood {
    match text.parse::<ChordSymbol>() {
        Ok(symbol) => Understood::read(symbol),
        Err(error) => unread(text, &error),
    }
}

/// A text that is no chord symbol, kept as it is.
pub(in crate::sheet) fn unread(text: &str, error: &crate::Error) -> Understood {
    let why = error.to_string();
    // The message names the text once more in front.
    let why = why.split_once("`: ").map_or(why.as_str(), |(_, why)| why);
    let help = error.help().unwrap_or("write a chord symbol such as `G7`, or leave it out");
    Understood {
        symbol: PlacedSymbol::Unread { root: root_of(text), text: text.to_owned() },
        findings: vec![(format!("the chord `{}` is not read, {why}", shown(text)), help.to_owned())],
    }
}

/// The note name that a text starts with.
fn root_of(text: &str) -> Option<NoteName> {
    NoteName::read_prefix(text).map(|(name, _)| name)
}
