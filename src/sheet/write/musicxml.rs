//! An arrangement as MusicXML: a grand staff.

use super::line::check;
use super::page::{self, Hands};
use crate::error::Result;
use crate::search::Arrangement;
use crate::sheet::LeadSheet;

/// Writes a tune for two hands as MusicXML 4.0 (partwise, UTF-8): one part named Piano on two staves.
///
/// Voice 1 is the melody as printed in the source, moved by the arrangement's octave shift; voice 2 the right hand
/// below it, voice 5 the left hand, each chord held until the next. Chord symbols stand above as written, upper
/// structures below the upper staff by label, triad and tensions: `II: D (9 #11 13)`. Below that stands what sounds,
/// where it is another chord than the one written: `= C13(#11)`. The usual caution
/// ([`CAUTION`](crate::sheet::CAUTION)) stands below the title, in small print. A line has four bars, fewer where they are full.
///
/// [`write_musicxml_with`] leaves out what is not wanted.
///
/// # Errors
///
/// [`Error::is_sheet`](crate::Error::is_sheet) where the arrangement has another number of chords than the sheet, its
/// shift is no whole number of octaves or leads out of MIDI, or the sheet does not
/// [`validate`](LeadSheet::validate).
///
/// # Example
///
/// ```
/// use overshell::search::Arrangement;
/// use overshell::sheet::{ReadOptions, read, write_musicxml};
///
/// let xml = r#"<score-partwise><part-list/><part id="P1"><measure number="1">
///   <attributes><divisions>1</divisions></attributes>
///   <note><pitch><step>E</step><octave>5</octave></pitch><duration>4</duration></note>
/// </measure></part></score-partwise>"#;
/// let sheet = read(xml.as_bytes(), &ReadOptions::default())?.sheet;
/// let arrangement = Arrangement { chords: vec![], octave_shift: 0, cost: 0 };
/// let page = write_musicxml(&sheet, &arrangement)?;
/// assert!(page.contains("<staves>2</staves>"));
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn write_musicxml(sheet: &LeadSheet, arrangement: &Arrangement) -> Result<String> {
    write_musicxml_with(sheet, arrangement, &PageOptions::default())
}

/// What [`write_musicxml_with`] puts on a page.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct PageOptions {
    /// Whether the chord that sounds stands below the staff, where it is another one than written. Default `true`.
    pub sounding: bool,
}

impl Default for PageOptions {
    /// Everything.
    fn default() -> Self {
        Self { sounding: true }
    }
}

/// Writes a tune for two hands as [`write_musicxml`] does, with what the options say.
///
/// # Errors
///
/// As [`write_musicxml`].
///
/// # Example
///
/// ```
/// use overshell::rules::RuleSet;
/// use overshell::search::{Arranger, Pin};
/// use overshell::sheet::{PageOptions, ReadOptions, read, write_musicxml, write_musicxml_with};
///
/// let sheet = read(b"key: C\nmetre: 4/4\n\n| C7 |\n> A4 |\n", &ReadOptions::default())?.sheet;
/// let mut arranger = Arranger::new(&sheet.progression(), RuleSet::standard(), Default::default())?;
/// arranger.pin(0, "structure II".parse::<Pin>()?)?;
/// let arrangement = arranger.best();
/// let page = write_musicxml(&sheet, &arrangement)?;
/// assert!(page.contains(">dominant</kind>") && page.contains(">II: D (9 #11 13)<") && page.contains(">= C13(#11)<"));
/// let page = write_musicxml_with(&sheet, &arrangement, &PageOptions { sounding: false })?;
/// assert!(page.contains(">II: D (9 #11 13)<") && !page.contains("C13"));
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn write_musicxml_with(
    sheet: &LeadSheet,
    arrangement: &Arrangement,
    options: &PageOptions,
) -> Result<String> {
    let octaves = check(sheet, arrangement)?;
    page::write(sheet, Some(Hands { arrangement, octaves, sounding: options.sounding }), &[])
}

/// As [`write_musicxml`], with a new line at each of these bars, which ascend.
pub(crate) fn write_parts_musicxml(
    sheet: &LeadSheet,
    arrangement: &Arrangement,
    parts: &[usize],
) -> Result<String> {
    let octaves = check(sheet, arrangement)?;
    page::write(sheet, Some(Hands { arrangement, octaves, sounding: PageOptions::default().sounding }), parts)
}
