//! A recursive cursor over XML: children of an element one by one, nothing kept.

use std::borrow::Cow;

use quick_xml::XmlVersion;
use quick_xml::events::attributes::Attributes;
use quick_xml::events::{BytesText, Event};

use super::scan::{Fault, Piece, Scanner, Start};
use super::text::error_at;
use crate::characters::is_allowed;
use crate::error::{Error, Kind, Result};

/// The start of an element.
pub(super) struct Tag<'a> {
    start: Start<'a>,
    text: &'a str,
    /// Where it starts in the text.
    pub(super) byte: usize,
}

impl<'a> Tag<'a> {
    /// The name without prefix.
    #[inline]
    pub(super) fn name(&self) -> &'a str {
        self.start.content.get(self.start.prefix_len..self.start.name_len).unwrap_or_default()
    }

    /// The value of an attribute.
    pub(super) fn attribute(&self, name: &str) -> Result<Option<Cow<'a, str>>> {
        let Start { content, name_len, .. } = self.start;
        if content.len() == name_len {
            return Ok(None);
        }
        let wrong =
            |error: &dyn std::fmt::Display| error_at(self.text, self.byte, 1, format_args!("{error}"));
        for found in Attributes::new(content, name_len).with_checks(false) {
            let found = found.map_err(|error| wrong(&error))?;
            if found.key.into_inner() == name {
                return match found.normalized_value(XmlVersion::Implicit1_0) {
                    Ok(value) if value.chars().all(is_allowed) => Ok(Some(value)),
                    Ok(_) => Err(wrong(&"found a character that XML cannot hold")),
                    Err(error) => Err(wrong(&error)),
                };
            }
        }
        Ok(None)
    }

    /// Whether an attribute has this value.
    pub(super) fn has(&self, name: &str, value: &str) -> Result<bool> {
        Ok(self.attribute(name)?.is_some_and(|found| found.trim() == value))
    }

    /// An error about this element.
    pub(super) fn error(&self, message: impl std::fmt::Display) -> Error {
        error_at(self.text, self.byte, self.start.content.len() + 2, message)
    }
}

/// The place in the text.
pub(super) struct Cursor<'a> {
    text: &'a str,
    scanner: Scanner<'a>,
    deepest: usize,
    /// Whether the element opened last is empty, so that its end comes next.
    is_empty: bool,
}

impl<'a> Cursor<'a> {
    pub(super) fn new(text: &'a str, deepest: usize) -> Self {
        Self { text, scanner: Scanner::new(text), deepest, is_empty: false }
    }

    /// An error at the present place.
    fn error(&self, message: impl std::fmt::Display) -> Error {
        error_at(self.text, self.scanner.byte().min(self.text.len()), 1, message)
    }

    /// How many elements are open.
    #[inline]
    fn depth(&self) -> usize {
        self.scanner.depth() + usize::from(self.is_empty)
    }

    /// The next piece, and the byte at which it starts.
    fn piece(&mut self) -> Result<(Piece<'a>, usize)> {
        let byte = self.scanner.byte();
        if std::mem::take(&mut self.is_empty) {
            return Ok((Piece::End, byte));
        }
        let piece = self.scanner.next().map_err(|fault| self.ill_formed(fault))?;
        self.enter(&piece)?;
        Ok((piece, byte))
    }

    /// The next piece that is no text.
    #[inline]
    fn piece_beyond_text(&mut self) -> Result<Piece<'a>> {
        if std::mem::take(&mut self.is_empty) {
            return Ok(Piece::End);
        }
        let piece = self.scanner.next_beyond_text().map_err(|fault| self.ill_formed(fault))?;
        self.enter(&piece)?;
        Ok(piece)
    }

    #[inline]
    fn enter(&mut self, piece: &Piece<'_>) -> Result<()> {
        if let Piece::Start(start) = piece {
            self.is_empty = start.is_empty;
            if self.depth() > self.deepest {
                return Err(self.too_deep());
            }
        }
        Ok(())
    }

    #[cold]
    fn too_deep(&self) -> Error {
        let message = format!("elements nest deeper than {}, the limit `depth`", self.deepest);
        Error::new(Kind::Limit, message).with_help("a score nests about ten deep")
    }

    #[cold]
    fn ill_formed(&self, Fault { at, error }: Fault) -> Error {
        error_at(self.text, at.min(self.text.len()), 1, format_args!("not well-formed XML: {error}"))
            .with_help("the file may be cut off; export or copy it again")
    }

    /// The root element; anything but white space before it is an error.
    pub(super) fn root(&mut self) -> Result<Tag<'a>> {
        loop {
            let (piece, byte) = self.piece()?;
            match piece {
                Piece::Start(start) => return Ok(Tag { start, text: self.text, byte }),
                Piece::Other(Event::Decl(_) | Event::PI(_) | Event::Comment(_) | Event::DocType(_)) => {}
                Piece::Text(text) if text.trim().is_empty() => {}
                Piece::Eof => {
                    return Err(self
                        .error("no element found, expected `<score-partwise>` or `<score-timewise>`")
                        .with_help("the score itself is missing; export the tune again as MusicXML"));
                }
                _ => {
                    return Err(error_at(self.text, byte, 1, "found text, expected MusicXML")
                        .with_help("give a MusicXML file, plain or compressed"));
                }
            }
        }
    }

    /// Checks that nothing follows the root element.
    pub(super) fn finish(&mut self) -> Result<()> {
        loop {
            let (piece, byte) = self.piece()?;
            match piece {
                Piece::Eof => return Ok(()),
                Piece::Other(Event::PI(_) | Event::Comment(_)) => {}
                Piece::Text(text) if text.trim().is_empty() => {}
                _ => {
                    return Err(error_at(
                        self.text,
                        byte,
                        1,
                        "found more behind the score, expected its end",
                    )
                    .with_help("a file holds one score; take out what stands behind its end tag"));
                }
            }
        }
    }

    /// Calls `visit` for each child of the element just opened, and leaves behind its end. What a visit does not
    /// read is passed over.
    pub(super) fn children(
        &mut self,
        mut visit: impl FnMut(&mut Self, &Tag<'a>) -> Result<()>,
    ) -> Result<()> {
        let level = self.depth();
        loop {
            match self.piece_beyond_text()? {
                Piece::Start(start) => {
                    // Nothing but the tag stands between its start and the present place.
                    let length = start.content.len() + if start.is_empty { "</>" } else { "<>" }.len();
                    let byte = self.scanner.byte().saturating_sub(length);
                    visit(self, &Tag { start, text: self.text, byte })?;
                    self.pass_to(level)?;
                }
                Piece::End => return Ok(()),
                Piece::Eof => return Err(self.cut_off()),
                _ => {}
            }
        }
    }

    fn pass_to(&mut self, level: usize) -> Result<()> {
        while self.depth() > level {
            if let Piece::Eof = self.piece_beyond_text()? {
                return Err(self.cut_off());
            }
        }
        Ok(())
    }

    #[cold]
    fn cut_off(&self) -> Error {
        self.error("the text ends inside an element, expected its end tag")
            .with_help("the file may be cut off; export or copy it again")
    }

    /// The text of the element just opened, trimmed, and leaves behind its end. Children are passed over; an entity
    /// that XML itself does not define is an error, never expanded.
    pub(super) fn text(&mut self) -> Result<String> {
        Ok(self.words()?.into_owned())
    }

    /// The same, as it stands in the source where it stands there in one piece.
    pub(super) fn words(&mut self) -> Result<Cow<'a, str>> {
        if !self.is_empty
            && let Some(text) = self.scanner.plain_text()
        {
            return Ok(Cow::Borrowed(text.trim()));
        }
        self.words_in_pieces()
    }

    /// The same, for a text of any kind.
    fn words_in_pieces(&mut self) -> Result<Cow<'a, str>> {
        let level = self.depth();
        let mut out = Cow::Borrowed("");
        loop {
            let (piece, byte) = self.piece()?;
            match piece {
                Piece::Text(text) => join(&mut out, BytesText::from_escaped(text).xml10_content()),
                Piece::Other(Event::CData(text)) => join(&mut out, text.xml10_content()),
                Piece::Other(Event::GeneralRef(reference)) => {
                    let known = match reference.resolve_char_ref() {
                        Ok(Some(c)) => is_allowed(c).then(|| Cow::Owned(c.to_string())),
                        _ => quick_xml::escape::resolve_predefined_entity(&reference).map(Cow::Borrowed),
                    };
                    let Some(known) = known else {
                        return Err(error_at(
                            self.text,
                            byte,
                            reference.len() + 2,
                            format_args!("the entity `&{};` is not known", crate::pitch::shown(&reference)),
                        )
                        .with_help("entities of a document type are never expanded; write the text itself"));
                    };
                    join(&mut out, known);
                }
                Piece::Start(_) => self.pass_to(level)?,
                Piece::End => {
                    return Ok(match out {
                        Cow::Borrowed(text) => Cow::Borrowed(text.trim()),
                        Cow::Owned(text) => Cow::Owned(text.trim().to_owned()),
                    });
                }
                Piece::Eof => return Err(self.cut_off()),
                Piece::Other(_) => {}
            }
        }
    }
}

fn join<'a>(text: &mut Cow<'a, str>, more: Cow<'a, str>) {
    if text.is_empty() {
        *text = more;
    } else {
        text.to_mut().push_str(&more);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ok_children_and_text() {
        let mut cursor = Cursor::new(
            "<?xml version='1.0'?><a><b x='1&amp;2'><c/>no</b><b/><d>x &lt; <![CDATA[y]]>&#65;</d></a>",
            9,
        );
        assert_eq!(cursor.root().unwrap().name(), "a");
        let mut seen = Vec::new();
        cursor
            .children(|cursor, tag| {
                seen.push(format!("{} {:?}", tag.name(), tag.attribute("x")?));
                if tag.name() == "d" {
                    seen.push(cursor.text()?);
                }
                Ok(())
            })
            .unwrap();
        assert_eq!(seen, ["b Some(\"1&2\")", "b None", "d None", "x < yA"]);
        cursor.finish().unwrap();
    }

    #[test]
    fn err_faults_are_located() {
        for (text, part) in [
            ("hello", "found text"),
            ("<!-- -->", "no element"),
            ("<a><b>", "cut off"),
            ("<a><b></a>", "well-formed"),
            ("<a>&x;</a>", "`&x;`"),
            ("<a>&#1;</a>", "`&#1;`"),
            ("<a/><b/>", "behind"),
        ] {
            let mut cursor = Cursor::new(text, 9);
            let error = cursor.root().and_then(|_| cursor.text()).and_then(|_| cursor.finish()).unwrap_err();
            assert!(error.is_sheet() && error.report().contains(part), "{}", error.report());
            assert!(error.to_string().contains("line 1, byte ") && error.help().is_some(), "{error}");
        }
        let mut cursor = Cursor::new("<a><a><a><a/></a></a></a>", 3);
        cursor.root().unwrap();
        assert!(cursor.text().unwrap_err().is_limit());
    }
}
