//! A line of source text with a part of it underlined: the one caret printer of the crate.

use std::fmt;

/// A line of text with a marked part, and where the line stands.
///
/// Columns count characters, not bytes, from 1.
///
/// # Example
///
/// ```
/// let error = "C7(b9,q)".parse::<overshell::Chord>().unwrap_err();
/// let excerpt = error.excerpt().unwrap();
/// assert_eq!(excerpt.marked(), "q");
/// assert_eq!(excerpt.column(), 7);
/// ```
#[derive(Clone, Debug, Eq, PartialEq)]
pub struct Excerpt {
    name: Option<String>,
    line_number: Option<usize>,
    line: String,
    /// Of the mark in the whole line, in characters from 1.
    column: usize,
    /// Of the mark in what is shown of the line, in characters from 0.
    start: usize,
    /// In characters, at least 1.
    width: usize,
}

/// Longer lines are cut around the mark, so that a message stays readable.
const LONGEST_LINE: usize = 160;

impl Excerpt {
    /// Marks `width` characters from the character `start` (from 0) of a text that stands alone.
    pub(crate) fn of_line(line: &str, start: usize, width: usize) -> Self {
        let (column, from) = (start + 1, start.saturating_sub(LONGEST_LINE / 2));
        let line: String = line
            .chars()
            .skip(from)
            .take(LONGEST_LINE)
            .map(|c| if c.is_control() { ' ' } else { c })
            .collect();
        let start = start - from;
        let room = line.chars().count().saturating_sub(start).max(1);
        Self { name: None, line_number: None, column, start, width: width.clamp(1, room), line }
    }

    /// Marks the byte range `span` of a whole text, and finds the line it starts in.
    pub(crate) fn of_text(name: Option<&str>, text: &str, span: std::ops::Range<usize>) -> Self {
        let start = floor_boundary(text, span.start);
        let end = floor_boundary(text, span.end.max(start));
        let (before, rest) = text.split_at(start);
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        let (_, line) = text.split_at(line_start);
        let line = line.lines().next().unwrap_or_default();
        let column = before.chars().rev().take_while(|&c| c != '\n').count();
        let marked: usize = rest.char_indices().take_while(|(at, c)| start + at < end && *c != '\n').count();
        let mut excerpt = Self::of_line(line, column, marked);
        excerpt.name = name.map(str::to_owned);
        excerpt.line_number = Some(before.matches('\n').count() + 1);
        excerpt
    }

    /// The name of the text (a file, say), where it has one.
    pub fn name(&self) -> Option<&str> {
        self.name.as_deref()
    }

    /// The number of the line, from 1, where the text has lines.
    pub fn line_number(&self) -> Option<usize> {
        self.line_number
    }

    /// The first marked column, in characters from 1.
    pub fn column(&self) -> usize {
        self.column
    }

    /// The marked part.
    pub fn marked(&self) -> String {
        self.line.chars().skip(self.start).take(self.width).collect()
    }
}

fn floor_boundary(text: &str, mut at: usize) -> usize {
    at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

impl fmt::Display for Excerpt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(number) = self.line_number {
            let name = self.name.as_deref().unwrap_or("text");
            writeln!(f, "  --> {name}:{number}:{}", self.column())?;
        }
        writeln!(f, "  {}", self.line)?;
        write!(f, "  {}{}", " ".repeat(self.start), "^".repeat(self.width))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ok_finds_the_line_and_counts_characters() {
        let excerpt = Excerpt::of_text(Some("x.toml"), "a = 1\nß = \"♭9\" # q\n", 12..16);
        assert_eq!(excerpt.line_number(), Some(2));
        assert_eq!(excerpt.marked(), "♭9");
        assert_eq!(excerpt.to_string(), "  --> x.toml:2:6\n  ß = \"♭9\" # q\n       ^^");
    }

    #[test]
    fn ok_any_range_of_any_text_is_safe() {
        let text = "é\n\n♭♭";
        for start in 0..12 {
            for end in 0..12 {
                let excerpt = Excerpt::of_text(None, text, start..end);
                assert!(!excerpt.to_string().is_empty());
            }
        }
    }
}
