//! XML in pieces: what `quick-xml` says of a text, in a fraction of the time.
//!
//! A score is tags and short texts nearly throughout; those are found here in one look at each byte. Everything else (references,
//! comments, `CDATA`, document types, quotes within names) and every fault is left to `quick-xml`, which is asked about the
//! one piece that stands there. The tests hold the two together.

use quick_xml::Reader;
use quick_xml::errors::IllFormedError;
use quick_xml::events::Event;
use smallvec::SmallVec;

/// The start of an element.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Start<'a> {
    /// What stands between `<` and `>`, or `/>`.
    pub(super) content: &'a str,
    /// How many bytes of it the name has.
    pub(super) name_len: usize,
    /// How many bytes of the name its prefix has, the first colon among them.
    pub(super) prefix_len: usize,
    /// Whether it ends in `/>`.
    pub(super) is_empty: bool,
}

impl<'a> Start<'a> {
    /// The name with its prefix.
    fn full_name(&self) -> &'a str {
        self.content.get(..self.name_len).unwrap_or_default()
    }
}

/// A piece of the text.
#[derive(Debug)]
pub(super) enum Piece<'a> {
    Start(Start<'a>),
    /// Of the element opened last, unless that is empty.
    End,
    Text(&'a str),
    /// No element, no plain text and no end of the text.
    Other(Event<'a>),
    Eof,
}

/// What is wrong, and at which byte.
#[derive(Debug)]
pub(super) struct Fault {
    pub(super) at: usize,
    pub(super) error: quick_xml::Error,
}

/// The place in a text.
pub(super) struct Scanner<'a> {
    text: &'a str,
    at: usize,
    /// The full names of the elements that are open, empty ones left out.
    open: SmallVec<[&'a str; 16]>,
}

const fn is_space(byte: u8) -> bool {
    matches!(byte, b' ' | b'\t' | b'\r' | b'\n')
}

/// The place of the `>` that ends a tag; one within quotes does not.
fn end_of_tag(mut bytes: &[u8]) -> Option<usize> {
    let mut before = 0;
    loop {
        let at = bytes.iter().position(|byte| matches!(byte, b'>' | b'"' | b'\''))?;
        let quote = *bytes.get(at)?;
        if quote == b'>' {
            return Some(before + at);
        }
        let inside = bytes.get(at + 1..)?;
        let length = inside.iter().position(|byte| *byte == quote)?;
        bytes = inside.get(length + 1..)?;
        before += at + length + 2;
    }
}

impl<'a> Scanner<'a> {
    pub(super) fn new(text: &'a str) -> Self {
        // A byte order mark in the text, behind that of the file, is no text either.
        let at = if text.starts_with('\u{FEFF}') { '\u{FEFF}'.len_utf8() } else { 0 };
        Self { text, at, open: SmallVec::new() }
    }

    /// The byte behind what has been read.
    pub(super) const fn byte(&self) -> usize {
        self.at
    }

    /// How many elements are open, empty ones left out.
    pub(super) fn depth(&self) -> usize {
        self.open.len()
    }

    fn rest(&self) -> &'a [u8] {
        self.text.as_bytes().get(self.at..).unwrap_or_default()
    }

    /// The next piece.
    #[inline]
    pub(super) fn next(&mut self) -> Result<Piece<'a>, Fault> {
        match self.rest() {
            [] => Ok(Piece::Eof),
            [b'<' | b'&', ..] => self.markup(),
            rest => {
                let end = rest.iter().position(|byte| matches!(byte, b'<' | b'&')).unwrap_or(rest.len());
                let text = self.text.get(self.at..self.at + end).unwrap_or_default();
                self.at += end;
                Ok(Piece::Text(text))
            }
        }
    }

    /// The next piece that is no text.
    #[inline]
    pub(super) fn next_beyond_text(&mut self) -> Result<Piece<'a>, Fault> {
        let rest = self.rest();
        match rest.iter().position(|byte| matches!(byte, b'<' | b'&')) {
            Some(text) => {
                self.at += text;
                self.markup()
            }
            None => {
                self.at += rest.len();
                Ok(Piece::Eof)
            }
        }
    }

    /// The text of the element just opened, its end being passed, where it holds plain text and nothing else.
    #[inline]
    pub(super) fn plain_text(&mut self) -> Option<&'a str> {
        let rest = self.rest();
        // Line ends may be written in two ways, of which a carriage return is part of one.
        let length = rest.iter().position(|byte| matches!(byte, b'<' | b'&' | b'\r'))?;
        let name = self.open.last()?;
        let end = rest.get(length..)?.strip_prefix(b"</")?.strip_prefix(name.as_bytes())?;
        if end.first() != Some(&b'>') {
            return None;
        }
        let text = self.text.get(self.at..self.at + length)?;
        self.at += length + name.len() + "</>".len();
        self.open.pop();
        Some(text)
    }

    /// The piece at the `<` or `&` that comes next.
    #[inline]
    fn markup(&mut self) -> Result<Piece<'a>, Fault> {
        match self.rest() {
            [b'<', b'/', tail @ ..] => {
                let rest = self.open.last().and_then(|name| tail.strip_prefix(name.as_bytes()));
                if rest.is_some_and(|rest| rest.first() == Some(&b'>')) {
                    let length = self.open.pop().map_or(0, str::len);
                    self.at += length + "</>".len();
                    return Ok(Piece::End);
                }
            }
            [b'<', b'!' | b'?', ..] => {}
            [b'<', tail @ ..] => {
                if let Some((start, length)) = self.start(tail) {
                    self.at += length;
                    if !start.is_empty {
                        self.open.push(start.full_name());
                    }
                    return Ok(Piece::Start(start));
                }
            }
            _ => {}
        }
        self.ask()
    }

    /// The start of an element behind its `<`, and how many bytes it has with that.
    #[inline]
    fn start(&self, tail: &[u8]) -> Option<(Start<'a>, usize)> {
        let stops = |byte: &u8| is_space(*byte) || matches!(byte, b'>' | b'"' | b'\'' | b':');
        let mut name_len = tail.iter().position(stops)?;
        let mut prefix_len = 0;
        if tail.get(name_len) == Some(&b':') {
            prefix_len = name_len + 1;
            let stops = |byte: &u8| is_space(*byte) || matches!(byte, b'>' | b'"' | b'\'');
            name_len = prefix_len + tail.get(prefix_len..)?.iter().position(stops)?;
        }
        let end = match tail.get(name_len)? {
            b'>' => name_len,
            b'"' | b'\'' => return None,
            _ => name_len + end_of_tag(tail.get(name_len..)?)?,
        };
        let is_empty = end.checked_sub(1).is_some_and(|last| tail.get(last) == Some(&b'/'));
        let length = end - usize::from(is_empty);
        let content = self.text.get(self.at + 1..self.at + 1 + length)?;
        name_len = name_len.min(length);
        Some((Start { content, name_len, prefix_len: prefix_len.min(name_len), is_empty }, end + 2))
    }

    /// What `quick-xml` says of the piece that comes next.
    #[cold]
    fn ask(&mut self) -> Result<Piece<'a>, Fault> {
        let at = self.at;
        let mut reader = Reader::from_str(self.text.get(at..).unwrap_or_default());
        // Whether an end is that of its element is asked below: this reader has not seen the start.
        reader.config_mut().allow_unmatched_ends = true;
        let event = reader.read_event().map_err(|error| Fault {
            at: at.saturating_add(usize::try_from(reader.error_position()).unwrap_or(usize::MAX)),
            error,
        })?;
        self.at = at.saturating_add(usize::try_from(reader.buffer_position()).unwrap_or(usize::MAX));
        let is_empty = matches!(event, Event::Empty(_));
        Ok(match event {
            Event::Start(start) | Event::Empty(start) => {
                let (length, name) = (start.len(), start.name().into_inner());
                let start = Start {
                    content: self.text.get(at + 1..at + 1 + length).unwrap_or_default(),
                    name_len: name.len(),
                    prefix_len: name.find(':').map_or(0, |colon| colon + 1),
                    is_empty,
                };
                if !is_empty {
                    self.open.push(start.full_name());
                }
                Piece::Start(start)
            }
            Event::End(end) => {
                let found = end.name().into_inner();
                let wrong = match self.open.pop() {
                    Some(expected) if expected == found => return Ok(Piece::End),
                    Some(expected) => IllFormedError::MismatchedEndTag {
                        expected: expected.to_owned(),
                        found: found.to_owned(),
                    },
                    None => IllFormedError::UnmatchedEndTag(found.to_owned()),
                };
                return Err(Fault { at, error: wrong.into() });
            }
            Event::Eof => Piece::Eof,
            other => Piece::Other(other),
        })
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// All pieces with their places, and what is wrong.
    type Told = (Vec<(usize, String)>, Option<(usize, String)>);

    fn told_of_start(content: &str, name: &str, local: &str, is_empty: bool) -> String {
        format!("start {content:?} {name:?} {local:?} {is_empty}")
    }

    fn told_of(piece: &Piece<'_>) -> String {
        match piece {
            Piece::Start(start) => {
                let name = start.full_name();
                told_of_start(start.content, name, name.get(start.prefix_len..).unwrap(), start.is_empty)
            }
            Piece::End => "end".into(),
            Piece::Text(text) => format!("text {text:?}"),
            Piece::Other(event) => format!("{event:?}"),
            Piece::Eof => "eof".into(),
        }
    }

    fn quickly(text: &str) -> Told {
        let mut scanner = Scanner::new(text);
        let mut told = Vec::new();
        loop {
            let at = scanner.byte();
            match scanner.next() {
                Ok(Piece::Eof) => return (told, None),
                Ok(piece) => told.push((at, told_of(&piece))),
                Err(fault) => return (told, Some((fault.at, fault.error.to_string()))),
            }
        }
    }

    /// The same without texts, which are passed over.
    fn beyond_texts(text: &str) -> Told {
        let mut scanner = Scanner::new(text);
        let mut told = Vec::new();
        loop {
            match scanner.next_beyond_text() {
                Ok(Piece::Eof) => return (told, None),
                Ok(piece) => told.push((scanner.byte(), told_of(&piece))),
                Err(fault) => return (told, Some((fault.at, fault.error.to_string()))),
            }
        }
    }

    /// The slow twin: `quick-xml` alone, from the start.
    fn slowly(text: &str) -> Told {
        // It does not count a byte order mark.
        let before = text.len() - text.strip_prefix('\u{FEFF}').unwrap_or(text).len();
        let mut reader = Reader::from_str(text);
        let place = |byte: u64| before + usize::try_from(byte).unwrap();
        let mut told = Vec::new();
        loop {
            let at = place(reader.buffer_position());
            let event = match reader.read_event() {
                Ok(event) => event,
                Err(error) => return (told, Some((place(reader.error_position()), error.to_string()))),
            };
            let is_empty = matches!(event, Event::Empty(_));
            let piece = match event {
                Event::Start(start) | Event::Empty(start) => {
                    let name = start.name().into_inner();
                    let local = name.split_once(':').map_or(name, |(_, local)| local);
                    told_of_start(&start, name, local, is_empty)
                }
                Event::End(_) => "end".into(),
                Event::Text(text) => format!("text {:?}", &*text),
                Event::Eof => return (told, None),
                other => format!("{other:?}"),
            };
            told.push((at, piece));
        }
    }

    fn check(text: &str) {
        let expected = slowly(text);
        assert_eq!(quickly(text), expected, "{text:?}");
        // Here a place is that behind the piece, which is that of the next one; texts are left out.
        let (pieces, wrong) = expected;
        let behind = pieces.iter().skip(1).map(|(at, _)| *at).map(Some).chain([None]);
        let markup = pieces.iter().zip(behind).filter(|((_, told), _)| !told.starts_with("text "));
        let (beyond, wrong_beyond) = beyond_texts(text);
        assert_eq!(wrong_beyond, wrong, "{text:?}");
        assert_eq!(beyond.len(), markup.clone().count(), "{text:?}");
        for (((_, told), behind), (at, piece)) in markup.zip(&beyond) {
            assert_eq!(told, piece, "{text:?}");
            assert!(behind.is_none_or(|behind| behind == *at), "{text:?}");
        }
    }

    #[test]
    fn all_short_texts_as_quick_xml() {
        const SIGNS: [char; 14] = ['<', '>', '/', '!', '?', '&', ';', 'a', ':', '"', '\'', ' ', '-', 'é'];
        let mut texts = vec![String::new()];
        for _ in 0..4 {
            for text in &texts {
                for around in ["", "<a>", "<a:b c='d'", "\u{FEFF}<a"] {
                    check(&format!("{around}{text}"));
                    check(&format!("{around}{text}></a>"));
                }
            }
            texts = texts.iter().flat_map(|text| SIGNS.map(|sign| format!("{text}{sign}"))).collect();
        }
    }

    #[test]
    fn all_places_at_which_a_text_may_be_cut_off() {
        let text = "\u{FEFF}<?xml version='1.0'?><!DOCTYPE a [<!ENTITY b \"c>\">]><a:b c=\"d>e\" f='\"'>\r\n<!-- - --><g/><g /><h x:y=''\
                    \t/><![CDATA[<]]>é &lt;&#65;<i\n>j</i ></a:b >\n<?k?>";
        assert_eq!(slowly(text).1, None);
        for at in (0..=text.len()).filter(|at| text.is_char_boundary(*at)) {
            check(text.get(..at).unwrap());
            check(text.get(at..).unwrap());
        }
    }

    /// Pieces of documents, good and bad.
    fn pieces() -> impl Strategy<Value = String> {
        const PIECES: &[&str] = &[
            "<a>",
            "</a>",
            "<b:c>",
            "</b:c>",
            "<a/>",
            "<a d='e'>",
            "<a d=\">\"/>",
            "</a >",
            "</b:c x='>'>",
            " ",
            "\r\n",
            "f",
            "é",
            "&amp;",
            "&",
            ";",
            "<",
            ">",
            "\"",
            "'",
            "<!--",
            "-->",
            "<![CDATA[",
            "]]>",
            "<!DOCTYPE a>",
            "<?g?>",
            "</>",
            "<>",
            "< a>",
            "/",
        ];
        proptest::collection::vec(proptest::sample::select(PIECES), 0..24).prop_map(|pieces| pieces.concat())
    }

    proptest! {
        #[test]
        fn prop_any_pieces_as_quick_xml(text in pieces()) {
            check(&text);
            check(&format!("<a>{text}</a>"));
        }

        #[test]
        fn prop_plain_text_is_all_there_is(text in pieces()) {
            let text = format!("<a>{text}</a><h/>");
            let mut scanner = Scanner::new(&text);
            scanner.next().unwrap();
            let before = (scanner.byte(), scanner.depth());
            match scanner.plain_text() {
                Some(plain) => {
                    let mut told = vec![(3, format!("text {plain:?}")), (3 + plain.len(), "end".to_owned())];
                    if plain.is_empty() {
                        told.remove(0);
                    }
                    let (all, _) = slowly(&text);
                    let expected: Vec<_> = all[1..].iter().take_while(|(at, _)| *at < scanner.byte()).cloned().collect();
                    prop_assert_eq!(told, expected);
                    prop_assert_eq!(scanner.depth(), 0);
                    prop_assert!(!plain.contains(['<', '&', '\r']));
                }
                None => prop_assert_eq!((scanner.byte(), scanner.depth()), before),
            }
        }
    }
}
