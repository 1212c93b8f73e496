//! A part as written, before a melody is chosen from it. Ticks count from the start of the bar.

use smallvec::SmallVec;

use crate::chord::Key;
use crate::chord::vocabulary::musicxml::DegreeChange;
use crate::pitch::{NoteName, Pitch};
use crate::sheet::road::CodaSign;
use crate::sheet::{Barline, Metre, NoteValue, Road};

/// A score: title, tempo, parts.
#[derive(Debug, Default)]
pub(in crate::sheet) struct RawScore {
    pub(in crate::sheet) work_title: String,
    pub(in crate::sheet) movement_title: String,
    pub(in crate::sheet) tempo: RawTempo,
    pub(in crate::sheet) parts: Vec<RawPart>,
}

/// The first tempo, in quarters a minute.
#[derive(Clone, Copy, Debug, Default)]
pub(in crate::sheet) struct RawTempo {
    /// From `sound`, which is exact.
    pub(in crate::sheet) sound: Option<u16>,
    /// From a printed metronome mark.
    pub(in crate::sheet) printed: Option<u16>,
}

impl RawTempo {
    /// This one, and what it lacks of the other.
    pub(in crate::sheet) fn or(self, other: Self) -> Self {
        Self { sound: self.sound.or(other.sound), printed: self.printed.or(other.printed) }
    }
}

/// A part.
#[derive(Debug, Default)]
pub(in crate::sheet) struct RawPart {
    pub(in crate::sheet) bars: Vec<RawBar>,
}

/// A bar of a part.
#[derive(Debug)]
pub(in crate::sheet) struct RawBar {
    pub(in crate::sheet) number: String,
    pub(in crate::sheet) implicit: bool,
    pub(in crate::sheet) key: Key,
    pub(in crate::sheet) metre: Metre,
    pub(in crate::sheet) left: Barline,
    pub(in crate::sheet) right: Barline,
    pub(in crate::sheet) road: Road,
    /// A coda sign that does not say whether it is the coda.
    pub(in crate::sheet) coda_sign: Option<CodaSign>,
    /// The furthest place that a note or a `forward` reaches.
    pub(in crate::sheet) length: u32,
    pub(in crate::sheet) notes: Vec<RawNote>,
    pub(in crate::sheet) symbols: Vec<RawSymbol>,
}

/// What a voice is called, `1` mostly.
pub(in crate::sheet) type VoiceName = SmallVec<[u8; 8]>;

/// The voice that cue notes are put into: they are printed and never sound.
pub(in crate::sheet) const CUE: &[u8] = b"cue";

/// A note or rest in sounding pitch.
#[derive(Clone, Debug)]
pub(in crate::sheet) struct RawNote {
    pub(in crate::sheet) start: u32,
    pub(in crate::sheet) duration: u32,
    pub(in crate::sheet) pitch: Option<Pitch>,
    pub(in crate::sheet) tied_from: bool,
    pub(in crate::sheet) tied_to: bool,
    pub(in crate::sheet) value: Option<NoteValue>,
    pub(in crate::sheet) voice: VoiceName,
    pub(in crate::sheet) staff: u8,
    pub(in crate::sheet) byte: usize,
}

/// A chord symbol in sounding pitch.
#[derive(Clone, Debug)]
pub(in crate::sheet) struct RawSymbol {
    /// May lie outside the bar by its offset.
    pub(in crate::sheet) tick: i64,
    pub(in crate::sheet) byte: usize,
    pub(in crate::sheet) root: Option<NoteName>,
    /// What is printed for its letter, where that is something else.
    pub(in crate::sheet) root_text: Option<String>,
    /// A numeral or function that stands in the root's place.
    pub(in crate::sheet) instead_of_root: String,
    pub(in crate::sheet) kind: String,
    pub(in crate::sheet) text: Option<String>,
    pub(in crate::sheet) inversion: Option<String>,
    pub(in crate::sheet) bass: Option<NoteName>,
    pub(in crate::sheet) degrees: Vec<Result<DegreeChange, String>>,
}

impl RawSymbol {
    /// Whether another means the same, wherever it stands.
    pub(super) fn says_the_same(&self, other: &Self) -> bool {
        let Self { tick: _, byte: _, root, root_text, instead_of_root, kind, text, inversion, bass, degrees } =
            self;
        *root == other.root
            && *kind == other.kind
            && *text == other.text
            && *bass == other.bass
            && *degrees == other.degrees
            && *inversion == other.inversion
            && *root_text == other.root_text
            && *instead_of_root == other.instead_of_root
    }
}
