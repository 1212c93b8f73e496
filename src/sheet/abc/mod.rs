//! ABC 2.1: one tune in plain letters.

mod bars;
mod fields;
mod key;
mod music;
mod quoted;
mod road;
mod state;
#[cfg(test)]
mod tests;
mod tune;
mod write;

pub use write::write_abc;

use super::read::text;
use super::{ReadOptions, Reading};
use crate::error::Result;

/// Reads the first tune of an ABC file: one voice with its chord symbols.
///
/// Source: the ABC music standard 2.1 (December 2011). UTF-8 with or without byte order mark, or UTF-16 with one.
///
/// | in the source | in the sheet |
/// |---|---|
/// | `T: M: L: Q: K:` in the header, `M: L: K:` in the tune | title, metre, lengths, tempo, key |
/// | a mode other than major and minor | the major key of the same signature, and a finding |
/// | accidentals of a key (`K:D =c`, `K:D exp _b`) | hold for its notes; the nearest usual key |
/// | an accidental | to the end of its bar in all octaves, or as `propagate-accidentals` says |
/// | no metre, or `M:none` | 4/4, every bar as long as its notes |
/// | `octave=`, clefs with `+8` and `-8` | sounding pitch |
/// | several voices, `&` | the first voice |
/// | notes together | the highest |
/// | grace notes | left out |
/// | `(3`, `(p:q:r`, `>`, `<`, `-` | lengths, printed tuplets and ties |
/// | `"Am7"`, also inside a bar | a chord symbol in the words of [`abc`](crate::chord::vocabulary::abc), or any other that we read |
/// | `"G(Em)"` | the first; the alternate is left out |
/// | `"^words"`, slurs, ornaments, `w:` | left out, they do not sound |
/// | `\| \|\| [\| \|] \|: :\| ::`, `\|1 :\|2 [1,3` | barlines, repeats, endings; a bracket stops where a sign divides the page |
/// | `!segno!`, `!coda!`, `S`, `O`, `!D.C.!`, `!D.S.!`, `!dacapo!`, `!dacoda!`, `!fine!`; `"D.S. al Coda"` and the like | marks of their bar; of two coda signs the first leaves for the second, where nothing says `!dacoda!` |
/// | `Z4` | four bars of rest |
/// | several tunes | the first, and a finding that says how many more |
///
/// Bars are numbered from 1; a short first bar is a pick-up with the number 0. A bar that is longer or shorter than its metre keeps
/// its own length, with a finding, unless it stands at a sign that divides the page. Every finding has line and column.
///
/// # Errors
///
/// - [`Error::is_sheet`](crate::Error::is_sheet) where the tune has no music or is no text; and, where `options.strict`, for the
///   first finding, with the line marked.
/// - [`Error::is_limit`](crate::Error::is_limit) where a limit is exceeded; the message names it.
///
/// # Example
///
/// ```
/// use overshell::sheet::{ReadOptions, read_abc};
///
/// let tune = "X:1\nT:Two Bars\nM:3/4\nL:1/8\nK:F\n\"Gm7\"B2 A>G \"C7\"(3EFG|\"F\"A4 z2|]\n";
/// let sheet = read_abc(tune.as_bytes(), &ReadOptions::default())?.sheet;
/// assert_eq!(sheet.melody_at(0).unwrap().to_string(), "Bb4");
/// let c7 = &sheet.chords[1];
/// assert_eq!((c7.symbol.as_str(), sheet.beat_of(c7.bar, c7.start)), ("C7", 3.0));
///
/// let odd = read_abc(tune.replace("A4", "A5").as_bytes(), &ReadOptions::default())?;
/// let expected = "line 6, column 23, bar 2, beat 1: the bar lasts 3 1/2 beats, expected 3 in 3/4; it keeps its own length";
/// assert_eq!(odd.findings[0].to_string(), expected);
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn read_abc(bytes: &[u8], options: &ReadOptions) -> Result<Reading> {
    let text = text::decode_lines(bytes, options.limits.bytes)?;
    tune::read(&text, options)
}
