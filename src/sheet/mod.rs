//! Tunes in, pages out.
//!
//! [`read`] and [`read_file`] make a [`LeadSheet`] of a text in any [`SheetFormat`] and say what they found odd;
//! [`write_musicxml`] writes an arrangement of it as a grand staff, [`write_midi`] as a Standard MIDI File,
//! [`write_play_along`] as one with bass, drums and count-in; [`write_file`] puts bytes on the disk whole or not at all.
//!
//! | format | read | written |
//! |---|---|---|
//! | MusicXML 2.0 to 4.0, by parts or by bars, plain or compressed | [`read_musicxml`] | [`write_lead_musicxml`] |
//! | ABC 2.1 | [`read_abc`] | [`write_abc`] |
//! | charts: bars between strokes, a format of our own | [`read_chart`] | [`write_chart`] |
//!
//! It is not: an engraver. Pages are MusicXML, for a program that engraves them; the feature `engraving` has one.
//!
//! Times are ticks of [`TICKS_PER_QUARTER`]. Readers and writers keep repeats as signs;
//! [`as_played`](LeadSheet::as_played) plays them out, and [`progression_as_played`](LeadSheet::progression_as_played) leads the
//! voicings of the page as they are played. [`transposed`](LeadSheet::transposed) moves a tune into another key;
//! [`write_book_musicxml`] writes several one after the other. Everything that is read can be written and read again.
//!
//! # Example
//!
//! ```
//! use overshell::sheet::{ReadOptions, read, write_lead_musicxml};
//!
//! let xml = r#"<score-partwise><part-list/><part id="P1"><measure number="1">
//!   <attributes><divisions>1</divisions></attributes>
//!   <harmony><root><root-step>D</root-step></root><kind text="odd">Tristan</kind></harmony>
//!   <note><pitch><step>F</step><octave>5</octave></pitch><duration>4</duration></note>
//! </measure></part></score-partwise>"#;
//! let reading = read(xml.as_bytes(), &ReadOptions::default())?;
//! assert_eq!(reading.findings[0].chord, Some(0)); // which chord the finding is about
//! assert_eq!(reading.sheet.chords[0].symbol.as_str(), "Dodd"); // kept as it is
//! let page = write_lead_musicxml(&reading.sheet)?;
//! assert_eq!(read(page.as_bytes(), &ReadOptions::default())?.sheet, reading.sheet);
//! # Ok::<(), overshell::Error>(())
//! ```

mod abc;
mod as_arranged;
mod as_played;
mod atomic;
mod barlines;
mod book;
mod caution;
mod chart;
mod draft;
mod format;
mod lead_sheet;
mod played_progression;
mod progression;
mod read;
mod report;
mod road;
mod transpose;
mod validate;
mod value;
mod write;
pub use abc::{read_abc, write_abc};
pub use as_played::{MOST_BARS_PLAYED, Played};
pub use atomic::{refuse_to_overwrite, write_file};
pub use book::{Section, write_book_musicxml};
pub use caution::CAUTION;
pub use chart::{read_chart, write_chart};
pub use format::{SheetFormat, read, read_file};
pub use lead_sheet::{
    Bar, Barline, Ending, EndingEdge, LeadSheet, Metre, Note, NoteValue, PlacedChord, PlacedSymbol, Repeat,
    TICKS_PER_QUARTER,
};
pub use played_progression::PlayedProgression;
pub use read::{Limits, ReadOptions, Reading, SheetFinding, read_musicxml};
pub use report::{Report, ReportChord, ReportFinding, ReportStructure};
pub use road::{Jump, JumpTo, JumpUntil, Road};
pub use transpose::{KeyOrder, Six, Transposition};
pub use write::{
    BassLine, Drums, LeadText, PageOptions, PlayAlong, write_lead_musicxml, write_midi, write_musicxml,
    write_musicxml_with, write_play_along,
};
