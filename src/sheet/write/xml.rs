//! Writing XML: elements, attributes, escapes, indentation.

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

    fn start(&mut self, name: &str, attributes: &[(&str, &str)]) {
        for _ in &self.open {
            self.out.push_str("  ");
        }
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
            for _ in &self.open {
                self.out.push_str("  ");
            }
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
        escape(&text.to_string(), false, &mut self.out);
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

/// Escapes what XML reserves, and leaves out what it cannot hold at all.
fn escape(text: &str, attribute: bool, out: &mut String) {
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
}
