//! Charts: a tune in plain lines, bars between strokes.
//!
//! The format, with its grammar, is described in `docs/chart.md`, which [`read_chart`] shows.

mod bar;
mod melody;
mod read;
mod road;
#[cfg(test)]
mod tests;
mod write;

pub(super) use read::is_bars;
#[cfg(test)]
pub(in crate::sheet) use road::read_mark;
pub use write::write_chart;

use super::read::text;
use super::{ReadOptions, Reading};
use crate::error::Result;

/// Reads a chart: a tune in plain lines, bars between strokes.
///
/// # Errors
///
/// - [`Error::is_sheet`](crate::Error::is_sheet) where the text has no bars, and, where `options.strict`, for the first finding,
///   with line and column.
/// - [`Error::is_limit`](crate::Error::is_limit) where a limit is exceeded; the message names it.
///
/// # Example
///
/// ```
/// use overshell::sheet::{ReadOptions, read_chart};
///
/// let chart = "key: F\nmetre: 3/4\n|: Gm7 | C7*2 Gb7 | Fmaj7 - D7 :|\n> Bb4 A4 G4 | G4*2 E4 | r |\n";
/// let reading = read_chart(chart.as_bytes(), &ReadOptions::default())?;
/// let sheet = reading.sheet;
/// let starts: Vec<f64> = sheet.chords.iter().map(|chord| sheet.beat_of(chord.bar, chord.start)).collect();
/// assert_eq!(starts, [1.0, 1.0, 3.0, 1.0, 3.0]);
/// assert_eq!(sheet.melody_at(0).unwrap().to_string(), "Bb4");
///
/// let odd = read_chart(b"| Gm7 | Cqq |", &ReadOptions::default())?;
/// assert!(odd.findings[0].to_string().starts_with("line 1, column 9, bar 2, beat 1: the chord `Cqq` is not read"));
/// # Ok::<(), overshell::Error>(())
/// ```
#[doc = include_str!("../../../docs/chart.md")]
pub fn read_chart(bytes: &[u8], options: &ReadOptions) -> Result<Reading> {
    let text = text::decode_lines(bytes, options.limits.bytes)?;
    read::read(&text, options)
}
