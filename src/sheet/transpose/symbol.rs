//! Chord symbols moved: the roots change, the way they are written stays.

use super::spelling;
use crate::chord::symbol::Layer;
use crate::chord::{Chord, ChordSymbol, Key};
use crate::pitch::NoteName;
use crate::sheet::PlacedSymbol;

/// A symbol moved up the line of fifths into a key.
pub(super) fn moved(symbol: &PlacedSymbol, shift: i16, key: Key) -> PlacedSymbol {
    if shift == 0 {
        return symbol.clone();
    }
    match symbol {
        PlacedSymbol::Read(symbol) => PlacedSymbol::Read(read(symbol, shift, key)),
        PlacedSymbol::Unread { root, text } => {
            let Some(old) = root else { return symbol.clone() };
            let new = spelling::root(*old, shift);
            let text = match NoteName::read_prefix(text) {
                Some((name, taken)) if name == *old => {
                    format!("{new}{}", text.get(taken..).unwrap_or_default())
                }
                _ => text.clone(),
            };
            PlacedSymbol::Unread { root: Some(new), text }
        }
    }
}

fn read(symbol: &ChordSymbol, shift: i16, key: Key) -> ChordSymbol {
    // No chord sounds: nothing to move.
    let Some(lower) = symbol.lower() else { return symbol.clone() };
    let old = lower.root().value;
    // The basses and the upper chord go the way of the lower root, also where it is respelled.
    let shift = i16::from(spelling::root(old, shift).fifths()) - i16::from(old.fifths());
    let layers: Vec<(&Layer, Chord)> = [symbol.upper(), Some(lower)]
        .into_iter()
        .flatten()
        .map(|layer| (layer, chord(layer.chord(), shift, key)))
        .collect();
    let means = |text: &str| {
        let read: ChordSymbol = text.parse().ok()?;
        let same = read.is_optional() == symbol.is_optional()
            && [read.upper(), read.lower()]
                .into_iter()
                .flatten()
                .map(Layer::chord)
                .eq(layers.iter().map(|(_, chord)| *chord));
        same.then_some(read)
    };
    let plain = itertools::join(layers.iter().map(|(_, chord)| chord), "|");
    let plain = if symbol.is_optional() { format!("({plain})") } else { plain };
    means(&as_written(symbol.as_str(), &layers)).or_else(|| means(&plain)).unwrap_or_else(|| {
        let chord = layers.last().map_or_else(|| chord(lower.chord(), shift, key), |(_, chord)| *chord);
        ChordSymbol::of_chord(chord)
    })
}

fn chord(old: Chord, shift: i16, key: Key) -> Chord {
    let chord = old.on_root(spelling::root(old.root(), shift)).without_bass();
    match old.bass() {
        Some(bass) => chord.with_bass(spelling::note(bass, shift, key)),
        None => chord,
    }
}

/// The text with other names in the places of the old ones.
fn as_written(text: &str, layers: &[(&Layer, Chord)]) -> String {
    let signs = text.contains(['♭', '♯']);
    let mut names: Vec<(u8, u8, NoteName)> = Vec::with_capacity(4);
    for (layer, chord) in layers {
        let root = layer.root();
        names.push((root.start, root.end, chord.root()));
        if let Some(bass) = layer.bass() {
            names.push((bass.start, bass.end, chord.bass().unwrap_or(chord.root())));
        }
    }
    names.sort_unstable_by_key(|(start, ..)| *start);
    let (mut out, mut at) = (String::with_capacity(text.len() + 4), 0usize);
    for (start, end, name) in names {
        out.push_str(text.get(at..start.into()).unwrap_or_default());
        let name = name.to_string();
        out.push_str(&if signs { name.replace('b', "♭").replace('#', "♯") } else { name });
        at = end.into();
    }
    out.push_str(text.get(at..).unwrap_or_default());
    out
}
