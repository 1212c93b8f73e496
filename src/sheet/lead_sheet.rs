//! A lead sheet: melody, chord symbols and bars, as written.

use super::road::Road;
use crate::chord::{ChordSymbol, Key};
use crate::pitch::Pitch;

/// Ticks in a quarter note: 2⁵·3²·5·7, so that every usual tuplet falls on a whole tick.
pub const TICKS_PER_QUARTER: u32 = 10_080;

/// A tune as written: bars, one line of melody, chord symbols. Times are ticks from the start of the sheet, repeats
/// not unfolded.
#[derive(Clone, Debug, PartialEq)]
pub struct LeadSheet {
    /// The title; empty where the source has none.
    pub title: String,
    /// The key at the start.
    pub key: Key,
    /// Quarter notes a minute, where the source says so.
    pub tempo: Option<u16>,
    /// The bars in the order of the page, without gaps.
    pub bars: Vec<Bar>,
    /// Notes and rests of the melody in order, without gaps or overlaps.
    pub notes: Vec<Note>,
    /// The chord symbols in order of time.
    pub chords: Vec<PlacedChord>,
}

/// A bar.
#[derive(Clone, Debug, PartialEq)]
pub struct Bar {
    /// The number as printed in the source, which need not be a number (`1X`).
    pub number: String,
    /// Whether the source says that the bar does not count, as a pick-up.
    pub implicit: bool,
    /// Ticks from the start of the sheet.
    pub start: u32,
    /// Length in ticks as written: shorter than the metre in a pick-up bar.
    pub length: u32,
    /// The metre in force.
    pub metre: Metre,
    /// The key in force.
    pub key: Key,
    /// What stands at its left edge.
    pub left: Barline,
    /// What stands at its right edge.
    pub right: Barline,
    /// The marks that say where the music goes on, such as `D.S. al Coda`.
    pub road: Road,
}

impl Bar {
    /// The tick behind the bar.
    pub const fn end(&self) -> u32 {
        self.start + self.length
    }
}

/// A metre: 3/4 is three beats of a quarter.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub struct Metre {
    /// Beats in a bar, at least 1.
    pub beats: u8,
    /// The note value of a beat: 1, 2, 4, 8, 16 or 32.
    pub unit: u8,
}

impl Metre {
    /// 4/4.
    pub const COMMON: Self = Self { beats: 4, unit: 4 };

    /// Ticks in one beat.
    pub const fn beat_ticks(self) -> u32 {
        4 * TICKS_PER_QUARTER / if self.unit == 0 { 4 } else { self.unit as u32 }
    }

    /// Ticks in a full bar.
    pub const fn bar_ticks(self) -> u32 {
        self.beat_ticks() * self.beats as u32
    }
}

/// What stands at one edge of a bar.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Barline {
    /// The style as MusicXML names it (`light-heavy`), where the source gives one.
    pub style: Option<String>,
    /// A repeat sign.
    pub repeat: Option<Repeat>,
    /// Whether a backward sign goes back again after a jump such as `D.C.` (`after-jump` of MusicXML 4.0, element `repeat`).
    pub after_jump: bool,
    /// The bracket of an ending that starts or stops here.
    pub ending: Option<Ending>,
}

/// The two repeat signs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Repeat {
    /// `|:`
    Forward,
    /// `:|`
    Backward,
}

/// An edge of a first, second… ending.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ending {
    /// The numbers as MusicXML writes them: `1`, `1,2`.
    pub numbers: String,
    /// Which edge.
    pub edge: EndingEdge,
}

/// Which edge of an ending.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EndingEdge {
    /// The bracket starts here.
    Start,
    /// The bracket stops here, closed.
    Stop,
    /// The bracket ends here, open.
    Discontinue,
}

/// A note or rest of the melody.
#[derive(Clone, Debug, PartialEq)]
pub struct Note {
    /// Ticks from the start of the sheet.
    pub start: u32,
    /// Ticks.
    pub duration: u32,
    /// The pitch as written; `None` for a rest.
    pub pitch: Option<Pitch>,
    /// Whether it is tied to the note before.
    pub tied_from: bool,
    /// Whether it is tied to the note behind.
    pub tied_to: bool,
    /// The printed value, where the source gives one.
    pub value: Option<NoteValue>,
}

impl Note {
    /// The tick behind the note.
    pub const fn end(&self) -> u32 {
        self.start + self.duration
    }
}

/// A printed note value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NoteValue {
    /// The head: 1 whole, 2 half, 4 quarter … 64.
    pub unit: u8,
    /// Dots, `0..=3`.
    pub dots: u8,
    /// Tuplet: so many in the time of so many; (1, 1) for none.
    pub tuplet: (u8, u8),
}

/// A chord symbol at its place.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedChord {
    /// Ticks from the start of the sheet.
    pub start: u32,
    /// The bar, as an index into [`LeadSheet::bars`].
    pub bar: usize,
    /// What stands there.
    pub symbol: PlacedSymbol,
}

/// A symbol that could be read, or the text of one that could not.
#[derive(Clone, Debug, PartialEq)]
pub enum PlacedSymbol {
    /// A chord symbol, or `N.C.`.
    Read(ChordSymbol),
    /// What the source says where it is no chord that we know; kept as it is.
    Unread {
        /// The root, where there is one.
        root: Option<crate::pitch::NoteName>,
        /// The whole symbol as written.
        text: String,
    },
}

impl PlacedSymbol {
    /// The symbol as written.
    pub fn as_str(&self) -> &str {
        match self {
            Self::Read(symbol) => symbol.as_str(),
            Self::Unread { text, .. } => text,
        }
    }

    /// The chord it means, where it means one.
    pub fn chord(&self) -> Option<crate::chord::Chord> {
        match self {
            Self::Read(symbol) => symbol.chord(),
            Self::Unread { .. } => None,
        }
    }
}

impl LeadSheet {
    /// The tick behind the last bar.
    pub fn end(&self) -> u32 {
        self.bars.last().map_or(0, Bar::end)
    }

    /// The tick at which a chord stops: where the next one starts, or the tune ends.
    pub fn chord_end(&self, chord: usize) -> u32 {
        let next = self.chords.get(chord.saturating_add(1)).map(|c| c.start);
        next.unwrap_or_else(|| self.end())
    }

    /// The melody's pitch at a tick, also where a note holds on from before; `None` in a rest.
    ///
    /// # Complexity
    ///
    /// Logarithmic in the number of notes.
    pub fn melody_at(&self, tick: u32) -> Option<Pitch> {
        let behind = self.notes.partition_point(|note| note.start <= tick);
        let note = self.notes.get(behind.checked_sub(1)?)?;
        if tick < note.end() { note.pitch } else { None }
    }

    /// The beat of a tick in its bar, from 1, counted in the metre's beats. A short first bar is a pick-up and counts
    /// so that it ends where a full bar would.
    pub fn beat_of(&self, bar: usize, tick: u32) -> f64 {
        let Some(b) = self.bars.get(bar) else { return 1.0 };
        let missing = if bar == 0 { b.metre.bar_ticks().saturating_sub(b.length) } else { 0 };
        1.0 + f64::from(tick.saturating_sub(b.start) + missing) / f64::from(b.metre.beat_ticks())
    }
}
