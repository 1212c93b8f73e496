//! Tunes in, pages out.
mod atomic;
mod barlines;
mod caution;
mod characters;
mod kind;
mod lead_sheet;
mod read;
mod validate;
mod value;
mod write;
pub use atomic::write_file;
pub use caution::CAUTION;
pub use lead_sheet::{
    Bar, Barline, Ending, EndingEdge, LeadSheet, Metre, Note, NoteValue, PlacedChord, PlacedSymbol, Repeat,
    TICKS_PER_QUARTER,
};
pub use read::{Limits, ReadOptions, Reading, SheetFinding, read, read_file};
pub use write::{write_lead_musicxml, write_midi, write_musicxml};
