//! The formats that tunes come in, told apart by what is in them.

use std::path::Path;

use super::chart::is_bars;
use super::read::{text, unpack};
use super::{ReadOptions, Reading, read_abc, read_chart, read_musicxml};
use crate::error::{Error, Excerpt, Kind, Result};
use crate::pitch::shown;

/// A format that a tune can come in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub enum SheetFormat {
    /// MusicXML, compressed or plain.
    MusicXml,
    /// ABC.
    Abc,
    /// A chart.
    Chart,
}

impl SheetFormat {
    /// All three.
    pub const ALL: [Self; 3] = [Self::MusicXml, Self::Abc, Self::Chart];

    /// The format of a file's content, whatever its name: an archive or a text that starts with `<` is MusicXML; one with a line
    /// that starts with `X:` or `K:` is ABC; any other with a line that starts with a stroke is a chart. `None` for what is none of
    /// them.
    ///
    /// # Example
    ///
    /// ```
    /// use overshell::sheet::SheetFormat;
    ///
    /// assert_eq!(SheetFormat::of(b"X:1\nK:C\n|: c4 :|"), Some(SheetFormat::Abc));
    /// assert_eq!(SheetFormat::of(b"title: Two Bars\n| C | G7 |"), Some(SheetFormat::Chart));
    /// assert_eq!(SheetFormat::of(b"not a score"), None);
    /// ```
    pub fn of(bytes: &[u8]) -> Option<Self> {
        let first = bytes.strip_prefix(&[0xEF, 0xBB, 0xBF]).unwrap_or(bytes).trim_ascii_start();
        if bytes.starts_with(b"PK") || first.starts_with(b"<") {
            return Some(Self::MusicXml);
        }
        Self::of_text(&text::plain(bytes).ok()?)
    }

    fn of_text(text: &str) -> Option<Self> {
        let mut lines = text.lines();
        if text.trim_start().starts_with('<') {
            Some(Self::MusicXml)
        } else if text.split(['\n', '\r']).any(|line| line.starts_with("X:") || line.starts_with("K:")) {
            Some(Self::Abc)
        } else {
            lines.any(|line| is_bars(line.trim_start())).then_some(Self::Chart)
        }
    }
}

/// Reads a tune from the bytes of a file, in any [`SheetFormat`], told apart by content, not by name.
///
/// # Errors
///
/// - [`Error::is_sheet`] where the bytes are in no such format or are damaged, with line and place; and, where `options.strict`,
///   for the first finding.
/// - [`Error::is_limit`] where a limit is exceeded; the message names it.
///
/// # Example
///
/// ```
/// use overshell::sheet::{ReadOptions, read};
///
/// let abc = read(b"X:1\nM:4/4\nL:1/4\nK:C\n\"C7\"e4|\n", &ReadOptions::default())?.sheet;
/// let chart = read(b"| C7 |\n> E5 |\n", &ReadOptions::default())?.sheet;
/// assert_eq!(abc.chords, chart.chords);
/// assert_eq!(abc.notes, chart.notes);
///
/// let error = read(b"not a score", &ReadOptions::default()).unwrap_err();
/// assert_eq!(error.to_string(), "found `not a score`, expected MusicXML, ABC or a chart");
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn read(bytes: &[u8], options: &ReadOptions) -> Result<Reading> {
    if bytes.len() > options.limits.bytes {
        return Err(unpack::too_large(options.limits.bytes));
    }
    match SheetFormat::of(bytes) {
        Some(SheetFormat::MusicXml) => read_musicxml(bytes, options),
        Some(SheetFormat::Abc) => read_abc(bytes, options),
        Some(SheetFormat::Chart) => read_chart(bytes, options),
        None => Err(unknown(bytes)),
    }
}

/// Reads a tune from a file, as [`read`] does from bytes.
///
/// # Errors
///
/// As [`read`], with the path before the message; and [`Error::is_io`] where the file cannot be opened.
pub fn read_file(path: impl AsRef<Path>, options: &ReadOptions) -> Result<Reading> {
    let path = path.as_ref();
    let name = path.display();
    let length = std::fs::metadata(path).map(|data| data.len());
    let length = length.map_err(|error| Error::new(Kind::Io, format!("{name}: {error}")))?;
    if length > u64::try_from(options.limits.bytes).unwrap_or(u64::MAX) {
        return Err(unpack::too_large(options.limits.bytes).context(name));
    }
    let bytes = std::fs::read(path).map_err(|error| Error::new(Kind::Io, format!("{name}: {error}")))?;
    read(&bytes, options).map_err(|error| error.context(name))
}

const HELP: &str = "MusicXML starts with `<` or is an archive (.mxl), ABC has a line `K:C`, a chart has bars such as `| Dm7 | G7 |`";

fn unknown(bytes: &[u8]) -> Error {
    let text = match text::decode_lines(bytes, bytes.len()) {
        Ok(text) => text,
        Err(error) => return error,
    };
    let Some((at, line)) = first_line(&text) else {
        let message = "the file is empty, expected MusicXML, ABC or a chart";
        return Error::new(Kind::Sheet, message).with_help(HELP);
    };
    Error::new(Kind::Sheet, format!("found `{}`, expected MusicXML, ABC or a chart", shown(line)))
        .with_excerpt(Excerpt::of_text(None, &text, at..at + line.len()))
        .with_help(HELP)
}

/// The first line with something in it, and where it starts.
fn first_line(text: &str) -> Option<(usize, &str)> {
    let start = text.len() - text.trim_start().len();
    let line = text.get(start..)?.lines().next()?.trim_end();
    (!line.is_empty()).then_some((start, line))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ok_formats() {
        use SheetFormat::{Abc, Chart, MusicXml};
        for (text, format) in [
            ("PK\u{3}\u{4}", Some(MusicXml)),
            (" \n<?xml", Some(MusicXml)),
            ("\u{feff}<score-partwise>", Some(MusicXml)),
            ("% words\nX:1\n", Some(Abc)),
            ("M:4/4\rK:Am\r|: a :|", Some(Abc)),
            ("|: C :|", Some(Chart)),
            ("key: C\n\n  :| C |", Some(Chart)),
            ("title: x\n", None),
            ("C | G", None),
            ("", None),
        ] {
            assert_eq!(SheetFormat::of(text.as_bytes()), format, "{text}");
            let utf16: Vec<u8> = [0xFF, 0xFE]
                .into_iter()
                .chain(text.trim_start_matches('\u{feff}').encode_utf16().flat_map(u16::to_le_bytes))
                .collect();
            if !text.starts_with("PK") {
                assert_eq!(SheetFormat::of(&utf16), format, "{text}");
            }
        }
    }

    #[test]
    fn err_what_is_none_of_them() {
        for (bytes, message) in [
            (&b""[..], "the file is empty, expected MusicXML, ABC or a chart"),
            (b" \n ", "the file is empty, expected MusicXML, ABC or a chart"),
            (b"\n{\"a\": 1}", "found `{\"a\": 1}`, expected MusicXML, ABC or a chart"),
            (b"ab\x00", "line 1, byte 2: found the character U+0000, expected a text"),
            (b"ab\xC3\x28", "line 1, byte 2: found a byte that is not UTF-8, expected a text"),
            (b"\xFF\xFE\x00\xD8", "the byte order mark says UTF-16, but the text is not"),
        ] {
            let error = read(bytes, &ReadOptions::default()).unwrap_err();
            assert_eq!(error.to_string(), message);
            assert!(error.is_sheet() && error.help().is_some());
        }
    }
}
