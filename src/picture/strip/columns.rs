//! A chord of a tune as a column: what sounds, and what is written under it.

use itertools::Itertools;

use super::voices::voices;
use crate::picture::keyboard::Side;
use crate::picture::lettering::{fitted, size};
use crate::picture::svg::{Anchor, Look};
use crate::pitch::Pitch;
use crate::search::ArrangedChord;

/// Who plays a note.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub(super) enum Part {
    Left,
    Right,
    /// The melody, on top of the right hand.
    Melody,
}

impl Part {
    pub(super) const ALL: [Self; 3] = [Self::Left, Self::Right, Self::Melody];

    /// In words.
    pub(super) const fn name(self) -> &'static str {
        match self {
            Self::Left => "left hand",
            Self::Right => "right hand",
            Self::Melody => "melody",
        }
    }

    /// The hand.
    pub(super) const fn side(self) -> Side {
        match self {
            Self::Left => Side::Left,
            Self::Right | Self::Melody => Side::Right,
        }
    }
}

/// The look of what stands under a column: the symbol, and the upper structure.
pub(super) const SYMBOL: Look = Look::of(size::LARGE).bold().anchored(Anchor::Middle);
pub(super) const STRUCTURE: Look = Look::of(size::USUAL).anchored(Anchor::Middle);
/// A column is no narrower, and no text under it wider.
const NARROWEST: i64 = 1_500;
pub(super) const WIDEST_TEXT: i64 = 3_000;

/// A chord of a tune.
pub(super) struct Column {
    /// Its number, from 1.
    pub(super) number: usize,
    pub(super) symbol: String,
    pub(super) structure: String,
    /// What sounds, hand by hand, ascending in each.
    pub(super) notes: Vec<(Part, Pitch)>,
}

impl Column {
    pub(super) fn new(chord: &ArrangedChord, symbols: &[String]) -> Self {
        let written =
            symbols.get(chord.slot).filter(|symbol| chord.played_as.is_none() && !symbol.trim().is_empty());
        let own = || chord.chord.map_or_else(|| "–".to_owned(), |chord| chord.to_string());
        let structure = chord.structure.map(|structure| format!("{} {}", structure.label, structure.triad));
        Self {
            number: chord.slot + 1,
            symbol: written.cloned().unwrap_or_else(own),
            structure: structure.unwrap_or_default(),
            notes: notes(chord),
        }
    }

    /// The symbol as far as there is room.
    pub(super) fn short_symbol(&self) -> String {
        fitted(&self.symbol, SYMBOL.size, SYMBOL.bold, WIDEST_TEXT)
    }

    /// How wide the column is.
    pub(super) fn width(&self) -> i64 {
        let texts = [SYMBOL.width(&self.short_symbol()), STRUCTURE.width(&self.structure)];
        texts.into_iter().fold(NARROWEST, |width, text| width.max(text + 200))
    }

    /// What sounds, in words.
    pub(super) fn description(&self) -> String {
        let parts = Part::ALL.map(|part| (part, self.of(part).map(|pitch| pitch.to_string()).join(" ")));
        let said = parts.iter().filter(|(_, notes)| !notes.is_empty());
        let said = said.map(|(part, notes)| format!("{} {notes}", part.name())).join(", ");
        format!("{}, {}: {}.", self.number, self.symbol, if said.is_empty() { "nothing" } else { &said })
    }

    pub(super) fn of(&self, part: Part) -> impl Iterator<Item = Pitch> {
        self.notes.iter().filter(move |(own, _)| *own == part).map(|(_, pitch)| *pitch)
    }

    /// The voices that go on to the next column.
    pub(super) fn voices_to(&self, next: &Self) -> Vec<(Part, Pitch, Pitch)> {
        let of_part = |part| {
            let (from, to): (Vec<Pitch>, Vec<Pitch>) = (self.of(part).collect(), next.of(part).collect());
            let keys = |pitches: &[Pitch]| pitches.iter().map(|pitch| pitch.midi()).collect::<Vec<u8>>();
            let pairs = voices(&keys(&from), &keys(&to)).into_iter();
            pairs.filter_map(move |(i, j)| Some((part, *from.get(i)?, *to.get(j)?))).collect::<Vec<_>>()
        };
        Part::ALL.into_iter().flat_map(of_part).collect()
    }
}

/// What sounds: both hands, the key of the melody marked as such; the melody alone where there is no voicing with it.
fn notes(chord: &ArrangedChord) -> Vec<(Part, Pitch)> {
    let is_melody = |pitch: &Pitch| chord.melody.is_some_and(|melody| melody.midi() == pitch.midi());
    let mut notes: Vec<(Part, Pitch)> = Vec::new();
    if let Some(voicing) = &chord.voicing {
        for (part, hand) in [(Part::Left, voicing.left()), (Part::Right, voicing.right())] {
            let part_of =
                |pitch: &Pitch| if part == Part::Right && is_melody(pitch) { Part::Melody } else { part };
            notes.extend(hand.pitches().iter().map(|pitch| (part_of(pitch), *pitch)));
        }
    }
    if let Some(melody) = chord.melody.filter(|_| !notes.iter().any(|(_, pitch)| is_melody(pitch))) {
        notes.push((Part::Melody, melody));
    }
    notes
}
