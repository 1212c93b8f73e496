//! A recursive cursor over XML: children of an element one by one, nothing kept.

use std::borrow::Cow;

use quick_xml::events::{BytesEnd, BytesStart, Event};
use quick_xml::{Reader, XmlVersion};

use super::text::error_at;
use crate::characters::is_allowed;
use crate::error::{Error, Kind, Result};

/// The start of an element.
pub(super) struct Tag<'a> {
    start: BytesStart<'a>,
    text: &'a str,
    /// Where it starts in the text.
    pub(super) byte: usize,
}

impl Tag<'_> {
    /// The name without prefix.
    pub(super) fn name(&self) -> &str {
        let name = self.start.name().into_inner();
        let colon = name.bytes().position(|byte| byte == b':');
        colon.and_then(|at| name.get(at + 1..)).unwrap_or(name)
    }

    /// The value of an attribute.
    pub(super) fn attribute(&self, name: &str) -> Result<Option<Cow<'_, str>>> {
        let wrong =
            |error: &dyn std::fmt::Display| error_at(self.text, self.byte, 1, format_args!("{error}"));
        match self.start.try_get_attribute(name).map_err(|error| wrong(&error))? {
            None => Ok(None),
            Some(found) => match found.normalized_value(XmlVersion::Implicit1_0) {
                Ok(value) if value.chars().all(is_allowed) => Ok(Some(value)),
                Ok(_) => Err(wrong(&"found a character that XML cannot hold")),
                Err(error) => Err(wrong(&error)),
            },
        }
    }

    /// Whether an attribute has this value.
    pub(super) fn has(&self, name: &str, value: &str) -> Result<bool> {
        Ok(self.attribute(name)?.is_some_and(|found| found.trim() == value))
    }

    /// An error about this element.
    pub(super) fn error(&self, message: impl std::fmt::Display) -> Error {
        error_at(self.text, self.byte, self.start.len() + 2, message)
    }
}

/// The place in the text.
pub(super) struct Cursor<'a> {
    text: &'a str,
    reader: Reader<&'a [u8]>,
    depth: usize,
    deepest: usize,
    /// Whether the element opened last is empty, so that its end comes next.
    is_empty: bool,
}

impl<'a> Cursor<'a> {
    pub(super) fn new(text: &'a str, deepest: usize) -> Self {
        Self { text, reader: Reader::from_str(text), depth: 0, deepest, is_empty: false }
    }

    /// The byte behind what has been read.
    fn byte(&self) -> usize {
        usize::try_from(self.reader.buffer_position()).unwrap_or(usize::MAX)
    }

    /// An error at the present place.
    fn error(&self, message: impl std::fmt::Display) -> Error {
        error_at(self.text, self.byte().min(self.text.len()), 1, message)
    }

    fn event(&mut self) -> Result<(Event<'a>, usize)> {
        let byte = self.byte();
        if std::mem::take(&mut self.is_empty) {
            self.depth = self.depth.saturating_sub(1);
            return Ok((Event::End(BytesEnd::new("")), byte));
        }
        match self.reader.read_event() {
            Ok(mut event) => {
                match event {
                    Event::Start(_) => self.depth += 1,
                    Event::End(_) => self.depth = self.depth.saturating_sub(1),
                    Event::Empty(start) => {
                        self.depth += 1;
                        self.is_empty = true;
                        event = Event::Start(start);
                    }
                    _ => {}
                }
                if self.depth > self.deepest {
                    let message = format!("elements nest deeper than {}, the limit `depth`", self.deepest);
                    return Err(Error::new(Kind::Limit, message).with_help("a score nests about ten deep"));
                }
                Ok((event, byte))
            }
            Err(error) => {
                let at = usize::try_from(self.reader.error_position()).unwrap_or(byte).min(self.text.len());
                Err(error_at(self.text, at, 1, format_args!("not well-formed XML: {error}"))
                    .with_help("the file may be cut off; export or copy it again"))
            }
        }
    }

    /// The root element; anything but white space before it is an error.
    pub(super) fn root(&mut self) -> Result<Tag<'a>> {
        loop {
            let (event, byte) = self.event()?;
            match event {
                Event::Start(start) => return Ok(Tag { start, text: self.text, byte }),
                Event::Decl(_) | Event::PI(_) | Event::Comment(_) | Event::DocType(_) => {}
                Event::Text(text) if text.trim().is_empty() => {}
                Event::Eof => {
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
            let (event, byte) = self.event()?;
            match event {
                Event::Eof => return Ok(()),
                Event::PI(_) | Event::Comment(_) => {}
                Event::Text(text) if text.trim().is_empty() => {}
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
        let level = self.depth;
        loop {
            let (event, byte) = self.event()?;
            match event {
                Event::Start(start) => {
                    visit(self, &Tag { start, text: self.text, byte })?;
                    self.pass_to(level)?;
                }
                Event::End(_) => return Ok(()),
                Event::Eof => return Err(self.cut_off()),
                _ => {}
            }
        }
    }

    fn pass_to(&mut self, level: usize) -> Result<()> {
        while self.depth > level {
            if let (Event::Eof, _) = self.event()? {
                return Err(self.cut_off());
            }
        }
        Ok(())
    }

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
        let level = self.depth;
        let mut out = Cow::Borrowed("");
        loop {
            let (event, byte) = self.event()?;
            match event {
                Event::Text(text) => join(&mut out, text.xml10_content()),
                Event::CData(text) => join(&mut out, text.xml10_content()),
                Event::GeneralRef(reference) => {
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
                Event::Start(_) => self.pass_to(level)?,
                Event::End(_) => {
                    return Ok(match out {
                        Cow::Borrowed(text) => Cow::Borrowed(text.trim()),
                        Cow::Owned(text) => Cow::Owned(text.trim().to_owned()),
                    });
                }
                Event::Eof => return Err(self.cut_off()),
                _ => {}
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
