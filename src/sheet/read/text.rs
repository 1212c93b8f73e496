//! From bytes to text.

use std::borrow::Cow;

use crate::characters::first_refused;
use crate::error::{Error, Excerpt, Kind, Result};

/// An error about the bytes from `byte` of a text, `width` of them marked.
pub(in crate::sheet) fn error_at(
    text: &str,
    byte: usize,
    width: usize,
    message: impl std::fmt::Display,
) -> Error {
    let line = text.as_bytes().iter().take(byte).filter(|b| **b == b'\n').count() + 1;
    Error::new(Kind::Sheet, format!("line {line}, byte {byte}: {message}")).with_excerpt(Excerpt::of_text(
        None,
        text,
        byte..byte.saturating_add(width),
    ))
}

/// Decodes UTF-8 with or without byte order mark, and UTF-16 with one: XML.
pub(in crate::sheet) fn decode(bytes: &[u8]) -> Result<Cow<'_, str>> {
    let text = match bytes {
        [0xFE, 0xFF, ..] | [0xFF, 0xFE, ..] => plain(bytes)?,
        _ => {
            let bytes = bytes.strip_prefix(&[0xEF, 0xBB, 0xBF]).unwrap_or(bytes);
            // What a text says of its encoding explains bytes that are not UTF-8.
            let text = plain(bytes);
            let valid = match &text {
                Ok(text) => text,
                Err(_) => bytes.utf8_chunks().next().map_or("", |chunk| chunk.valid()),
            };
            declared_encoding(valid)?;
            text?
        }
    };
    if text.trim().is_empty() {
        return Err(Error::new(Kind::Sheet, "the file is empty, expected MusicXML")
            .with_help("export the tune again as MusicXML"));
    }
    match first_refused(&text) {
        Some((at, c)) => Err(error_at(
            &text,
            at,
            1,
            format_args!("found the character U+{:04X}, which XML cannot hold", u32::from(c)),
        )
        .with_help("give a MusicXML file, plain or compressed")),
        None => Ok(text),
    }
}

/// Decodes UTF-8 with or without byte order mark, and UTF-16 with one: any text.
pub(in crate::sheet) fn plain(bytes: &[u8]) -> Result<Cow<'_, str>> {
    match bytes {
        [0xFE, 0xFF, rest @ ..] => Ok(Cow::Owned(utf16(rest, u16::from_be_bytes)?)),
        [0xFF, 0xFE, rest @ ..] => Ok(Cow::Owned(utf16(rest, u16::from_le_bytes)?)),
        _ => {
            let bytes = bytes.strip_prefix(&[0xEF, 0xBB, 0xBF]).unwrap_or(bytes);
            std::str::from_utf8(bytes).map(Cow::Borrowed).map_err(|error| {
                let at = error.valid_up_to();
                let before = bytes.get(..at).and_then(|b| std::str::from_utf8(b).ok()).unwrap_or_default();
                error_at(before, at, 1, "found a byte that is not UTF-8, expected a text")
                    .with_help("save the file as UTF-8, or give a compressed MusicXML file (.mxl)")
            })
        }
    }
}

/// Decodes a text of lines, within the limit, whose characters a page can hold.
pub(in crate::sheet) fn decode_lines(bytes: &[u8], limit: usize) -> Result<Cow<'_, str>> {
    if bytes.len() > limit {
        return Err(super::unpack::too_large(limit));
    }
    let text = plain(bytes)?;
    match first_refused(&text) {
        Some((at, c)) => {
            let message = format_args!("found the character U+{:04X}, expected a text", u32::from(c));
            Err(error_at(&text, at, 1, message).with_help("give a text in UTF-8"))
        }
        None => Ok(text),
    }
}

fn utf16(bytes: &[u8], unit: fn([u8; 2]) -> u16) -> Result<String> {
    let units: Vec<u16> = bytes.as_chunks::<2>().0.iter().map(|pair| unit(*pair)).collect();
    match String::from_utf16(&units) {
        Ok(text) if bytes.len().is_multiple_of(2) => Ok(text),
        _ => Err(Error::new(Kind::Sheet, "the byte order mark says UTF-16, but the text is not")
            .with_help("save the file as UTF-8")),
    }
}

/// Refuses an XML declaration of an encoding that is not read.
fn declared_encoding(text: &str) -> Result<()> {
    let Some(declaration) = text.trim_start().strip_prefix("<?xml").and_then(|t| t.split_once("?>")) else {
        return Ok(());
    };
    let Some((_, value)) = declaration.0.split_once("encoding") else { return Ok(()) };
    let value = value.trim_start().trim_start_matches('=').trim_start();
    let quote = if value.starts_with('\'') { '\'' } else { '"' };
    let name = value.trim_start_matches(quote).split(quote).next().unwrap_or_default();
    if ["utf-8", "utf8", "us-ascii", "ascii"].iter().any(|known| name.eq_ignore_ascii_case(known)) {
        return Ok(());
    }
    let at = text.find(name).unwrap_or(0);
    Err(error_at(
        text,
        at,
        name.len(),
        format_args!("the encoding `{}` is not read, expected UTF-8", crate::pitch::shown(name)),
    )
    .with_help("save the file as UTF-8"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ok_encodings() {
        let text = "<é/>";
        let mut le = vec![0xFF, 0xFE];
        let mut be = vec![0xFE, 0xFF];
        for unit in text.encode_utf16() {
            le.extend(unit.to_le_bytes());
            be.extend(unit.to_be_bytes());
        }
        let with_mark = [b"\xEF\xBB\xBF", text.as_bytes()].concat();
        for bytes in [&le, &be, &with_mark, &text.as_bytes().to_vec()] {
            assert_eq!(decode(bytes).unwrap(), text);
        }
    }

    #[test]
    fn err_encodings() {
        for bytes in [
            &b""[..],
            b" \n ",
            b"\xFF\xFE<",
            b"\xFF\xFE\x00\xD8",
            b"\x00\x01\xC3\x28",
            b"<a>\x01</a>",
            b"<?xml version='1.0' encoding='ISO-8859-1'?><a/>",
            b"<?xml version='1.0' encoding=\"UTF-16\"?><a/>",
            b"<?xml version='1.0' encoding='latin1'?><a>\xE9</a>",
        ] {
            let error = decode(bytes).unwrap_err();
            assert!(error.is_sheet(), "{error}");
            assert!(error.help().is_some());
        }
    }
}
