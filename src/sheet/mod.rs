//! Tunes in, pages out.
mod barlines;
mod kind;
mod lead_sheet;
mod read;
mod validate;
mod value;
pub use lead_sheet::{
    Bar, Barline, Ending, EndingEdge, LeadSheet, Metre, Note, NoteValue, PlacedChord, PlacedSymbol, Repeat,
    TICKS_PER_QUARTER,
};
pub use read::{Limits, ReadOptions, Reading, SheetFinding, read, read_file};
