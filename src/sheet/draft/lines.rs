//! A text in lines, each with its place, read sign by sign.

/// A line, or a part of one, with its place in the text.
#[derive(Clone, Copy, Debug)]
pub(in crate::sheet) struct Line<'a> {
    pub(in crate::sheet) text: &'a str,
    /// The byte of the whole text at which this part starts.
    pub(in crate::sheet) start: usize,
    /// How much of it is read, in bytes.
    at: usize,
}

/// The lines of a text, ends of lines apart (`\n`, `\r\n`, `\r`).
pub(in crate::sheet) fn lines(text: &str) -> impl Iterator<Item = Line<'_>> {
    let mut start = 0;
    text.split_inclusive(['\n', '\r']).filter_map(move |line| {
        let own = start;
        start += line.len();
        // The second half of `\r\n`.
        let is_half = line == "\n" && own > 0 && text.as_bytes().get(own - 1) == Some(&b'\r');
        (!is_half).then(|| Line::new(line.trim_end_matches(['\n', '\r']), own))
    })
}

impl<'a> Line<'a> {
    pub(in crate::sheet) const fn new(text: &'a str, start: usize) -> Self {
        Self { text, start, at: 0 }
    }

    /// The byte of the whole text that is read next.
    pub(in crate::sheet) const fn byte(&self) -> usize {
        self.start + self.at
    }

    /// What is not read yet.
    pub(in crate::sheet) fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or_default()
    }

    pub(in crate::sheet) fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    /// The sign in front of the next one.
    pub(in crate::sheet) fn before(&self) -> Option<char> {
        self.text.get(..self.at).and_then(|text| text.chars().next_back())
    }

    pub(in crate::sheet) fn next(&mut self) -> Option<char> {
        let sign = self.peek()?;
        self.at += sign.len_utf8();
        Some(sign)
    }

    /// Reads this where it comes next.
    pub(in crate::sheet) fn eat(&mut self, what: &str) -> bool {
        let found = self.rest().starts_with(what);
        if found {
            self.at += what.len();
        }
        found
    }

    /// Reads as long as the signs are such.
    pub(in crate::sheet) fn while_some(&mut self, is: impl Fn(char) -> bool) -> &'a str {
        let rest = self.rest();
        let length = rest.find(|c| !is(c)).unwrap_or(rest.len());
        self.at += length;
        rest.get(..length).unwrap_or_default()
    }

    /// Reads up to this, and this; `None`, with nothing read, where it does not come.
    pub(in crate::sheet) fn until(&mut self, end: char) -> Option<Line<'a>> {
        let (found, _) = self.rest().split_once(end)?;
        let part = Line::new(found, self.byte());
        self.at += found.len() + end.len_utf8();
        Some(part)
    }

    /// Reads all that is left.
    pub(in crate::sheet) fn skip_all(&mut self) {
        self.at = self.text.len();
    }

    /// The part without blanks around it.
    pub(in crate::sheet) fn trimmed(&self) -> Self {
        let rest = self.rest();
        let start = self.byte() + rest.len() - rest.trim_start().len();
        Self::new(rest.trim(), start)
    }

    /// The words between blanks, each with its place.
    pub(in crate::sheet) fn words(&self) -> Vec<Self> {
        let mut line = *self;
        let mut words = Vec::new();
        loop {
            line.while_some(char::is_whitespace);
            let start = line.byte();
            let word = line.while_some(|c| !c.is_whitespace());
            if word.is_empty() {
                return words;
            }
            words.push(Self::new(word, start));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ok_lines_of_all_kinds() {
        let text = "a\nbé\r\n\rc\r\n\n";
        let found: Vec<_> = lines(text).map(|line| (line.text, line.start)).collect();
        assert_eq!(found, [("a", 0), ("bé", 2), ("", 7), ("c", 8), ("", 11)]);
        assert!(found.iter().all(|(line, start)| text.get(*start..).unwrap().starts_with(line)));
    }

    #[test]
    fn ok_words_and_parts() {
        let line = Line::new("  ab  cé ", 10);
        assert_eq!(
            line.words().iter().map(|w| (w.text, w.start)).collect::<Vec<_>>(),
            [("ab", 12), ("cé", 16)]
        );
        assert_eq!((line.trimmed().text, line.trimmed().start), ("ab  cé", 12));
        let mut line = Line::new("12]x", 0);
        assert_eq!(line.while_some(|c| c.is_ascii_digit()), "12");
        assert!(!line.eat("x") && line.eat("]") && line.before() == Some(']'));
        assert!(line.until(']').is_none());
        assert_eq!((line.next(), line.next(), line.byte()), (Some('x'), None, 4));
    }
}
