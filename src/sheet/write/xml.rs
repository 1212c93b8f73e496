//! Writing XML: elements, attributes, escapes, indentation.

use std::fmt::Write;

use crate::characters::is_allowed;

/// A document being written.
pub(super) struct Xml {
    out: String,
    open: Vec<&'static str>,
}

impl Xml {
    /// A document with an XML declaration.
    pub(super) fn new() -> Self {
        Self { out: "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n".into(), open: Vec::new() }
    }

    /// A line of its own, as it is.
    pub(super) fn line(&mut self, line: &str) {
        self.out.push_str(line);
        self.out.push('\n');
    }

    fn indent(&mut self) {
        // A page nests some eight deep.
        const SPACES: &str = "                                ";
        match SPACES.get(..2 * self.open.len()) {
            Some(spaces) => self.out.push_str(spaces),
            None => self.out.extend(std::iter::repeat_n(' ', 2 * self.open.len())),
        }
    }

    fn start(&mut self, name: &str, attributes: &[(&str, &str)]) {
        self.indent();
        self.out.push('<');
        self.out.push_str(name);
        for (key, value) in attributes {
            self.out.push(' ');
            self.out.push_str(key);
            self.out.push_str("=\"");
            escape(value, true, &mut self.out);
            self.out.push('"');
        }
    }

    /// Opens an element.
    pub(super) fn open(&mut self, name: &'static str, attributes: &[(&str, &str)]) {
        self.start(name, attributes);
        self.out.push_str(">\n");
        self.open.push(name);
    }

    /// Closes the element opened last.
    pub(super) fn close(&mut self) {
        if let Some(name) = self.open.pop() {
            self.indent();
            self.out.push_str("</");
            self.out.push_str(name);
            self.out.push_str(">\n");
        }
    }

    /// An element without content.
    pub(super) fn empty(&mut self, name: &str, attributes: &[(&str, &str)]) {
        self.start(name, attributes);
        self.out.push_str("/>\n");
    }

    /// An element that holds a text.
    pub(super) fn leaf(&mut self, name: &str, attributes: &[(&str, &str)], text: impl std::fmt::Display) {
        self.start(name, attributes);
        self.out.push('>');
        // Writing into a text cannot fail.
        let _ = write!(Escaped(&mut self.out), "{text}");
        self.out.push_str("</");
        self.out.push_str(name);
        self.out.push_str(">\n");
    }

    /// The text, all elements closed.
    pub(super) fn finish(mut self) -> String {
        while !self.open.is_empty() {
            self.close();
        }
        self.out
    }
}

/// Escapes what is written into it, as the text of an element.
struct Escaped<'a>(&'a mut String);

impl Write for Escaped<'_> {
    fn write_str(&mut self, text: &str) -> std::fmt::Result {
        escape(text, false, self.0);
        Ok(())
    }
}

/// Whether a byte of UTF-8 is, or may begin, a character that does not go into an attribute or a text as it is.
const fn is_special(byte: u8) -> bool {
    byte < 0x20 || matches!(byte, b'&' | b'<' | b'>' | b'"' | 0xEF)
}

/// Escapes what XML reserves, and leaves out what it cannot hold at all.
fn escape(text: &str, attribute: bool, out: &mut String) {
    if !text.bytes().any(is_special) {
        out.push_str(text);
        return;
    }
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' if attribute => out.push_str("&quot;"),
            '\r' => out.push_str("&#13;"),
            '\n' if attribute => out.push_str("&#10;"),
            '\t' if attribute => out.push_str("&#9;"),
            _ if is_allowed(c) => out.push(c),
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ok_nested_and_escaped() {
        let mut xml = Xml::new();
        xml.open("a", &[("x", "1 < \"2\"\n")]);
        xml.leaf("b", &[], "Q & A\u{1} <ß>");
        xml.empty("c", &[]);
        assert_eq!(
            xml.finish().lines().skip(1).collect::<Vec<_>>(),
            ["<a x=\"1 &lt; &quot;2&quot;&#10;\">", "  <b>Q &amp; A &lt;ß&gt;</b>", "  <c/>", "</a>"]
        );
    }
    #[test]
    fn ok_deep_elements_are_indented() {
        let mut xml = Xml::new();
        for _ in 0..20 {
            xml.open("a", &[]);
        }
        xml.leaf("b", &[], 7);
        let page = xml.finish();
        assert!(page.contains(&format!("\n{}<b>7</b>\n{}</a>\n", " ".repeat(40), " ".repeat(38))), "{page}");
    }

    #[test]
    fn all_characters_are_escaped_or_as_they_are() {
        for c in '\0'..=char::MAX {
            for (attribute, quote, newline, tab) in
                [(true, "&quot;", "&#10;", "&#9;"), (false, "\"", "\n", "\t")]
            {
                let mut out = String::new();
                escape(&format!("a{c}é"), attribute, &mut out);
                let expected = match c {
                    '&' => "&amp;".to_owned(),
                    '<' => "&lt;".to_owned(),
                    '>' => "&gt;".to_owned(),
                    '"' => quote.to_owned(),
                    '\r' => "&#13;".to_owned(),
                    '\n' => newline.to_owned(),
                    '\t' => tab.to_owned(),
                    _ if is_allowed(c) => c.to_string(),
                    _ => String::new(),
                };
                assert_eq!(out, format!("a{expected}é"));
            }
        }
    }
}
