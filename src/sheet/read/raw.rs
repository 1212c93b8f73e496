//! A part as written, before a melody is chosen from it. Ticks count from the start of the bar.

use crate::chord::Key;
use crate::chord::vocabulary::musicxml::DegreeChange;
use crate::pitch::{NoteName, Pitch};
use crate::sheet::{Barline, Metre, NoteValue};

/// A score: title, tempo, parts.
#[derive(Debug, Default)]
pub(super) struct RawScore {
    pub(super) work_title: String,
    pub(super) movement_title: String,
    /// From `sound`, which is exact.
    pub(super) sound_tempo: Option<u16>,
    /// From a printed metronome mark.
    pub(super) printed_tempo: Option<u16>,
    pub(super) parts: Vec<RawPart>,
}

/// A part.
#[derive(Debug, Default)]
pub(super) struct RawPart {
    pub(super) bars: Vec<RawBar>,
}

/// A bar of a part.
#[derive(Debug)]
pub(super) struct RawBar {
    pub(super) number: String,
    pub(super) implicit: bool,
    pub(super) key: Key,
    pub(super) metre: Metre,
    pub(super) left: Barline,
    pub(super) right: Barline,
    /// The furthest place that a note or a `forward` reaches.
    pub(super) length: u32,
    pub(super) notes: Vec<RawNote>,
    pub(super) symbols: Vec<RawSymbol>,
}

/// The voice that cue notes are put into: they are printed and never sound.
pub(super) const CUE: &str = "cue";

/// A note or rest in sounding pitch.
#[derive(Clone, Debug)]
pub(super) struct RawNote {
    pub(super) start: u32,
    pub(super) duration: u32,
    pub(super) pitch: Option<Pitch>,
    pub(super) tied_from: bool,
    pub(super) tied_to: bool,
    pub(super) value: Option<NoteValue>,
    pub(super) voice: String,
    pub(super) staff: u8,
    pub(super) byte: usize,
}

/// A chord symbol in sounding pitch.
#[derive(Clone, Debug)]
pub(super) struct RawSymbol {
    /// May lie outside the bar by its offset.
    pub(super) tick: i64,
    pub(super) byte: usize,
    pub(super) root: Option<NoteName>,
    /// What is printed for its letter, where that is something else.
    pub(super) root_text: Option<String>,
    /// A numeral or function that stands in the root's place.
    pub(super) instead_of_root: String,
    pub(super) kind: String,
    pub(super) text: Option<String>,
    pub(super) inversion: Option<String>,
    pub(super) bass: Option<NoteName>,
    pub(super) degrees: Vec<Result<DegreeChange, String>>,
}
