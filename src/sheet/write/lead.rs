//! A lead sheet as MusicXML: one staff.

use super::page;
use crate::error::Result;
use crate::sheet::LeadSheet;

/// Writes the tune itself as MusicXML 4.0 (partwise, UTF-8): melody and chord symbols on one staff.
///
/// Reading it gives the same sheet, where its notes have the printed values that their lengths say and its roots
/// are written with `b` and `#`.
///
/// # Errors
///
/// [`Error::is_sheet`](crate::Error::is_sheet) where the sheet does not [`validate`](LeadSheet::validate), or has a
/// note below C0.
///
/// # Example
///
/// ```
/// use overshell::sheet::{ReadOptions, read, write_lead_musicxml};
///
/// let xml = r#"<score-partwise><part-list/><part id="P1"><measure number="1">
///   <attributes><divisions>1</divisions></attributes>
///   <harmony><root><root-step>A</root-step></root><kind>minor</kind></harmony>
///   <note><pitch><step>E</step><octave>5</octave></pitch><duration>4</duration></note>
/// </measure></part></score-partwise>"#;
/// let sheet = read(xml.as_bytes(), &ReadOptions::default())?.sheet;
/// let again = read(write_lead_musicxml(&sheet)?.as_bytes(), &ReadOptions::default())?;
/// assert_eq!(again.sheet, sheet);
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn write_lead_musicxml(sheet: &LeadSheet) -> Result<String> {
    sheet.validate()?;
    page::write(sheet, None, &[])
}
