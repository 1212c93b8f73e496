//! Tunes in, pages out.
mod lead_sheet;
mod progression;
mod report;
pub use lead_sheet::{
    Bar, Barline, Ending, EndingEdge, LeadSheet, Metre, Note, NoteValue, PlacedChord, PlacedSymbol, Repeat,
    TICKS_PER_QUARTER,
};
pub use report::{Report, ReportChord, ReportFinding, ReportStructure};
