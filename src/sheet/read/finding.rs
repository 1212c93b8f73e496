//! What a reader has to say about a place of the source.

use std::collections::HashSet;

/// A fault or peculiarity of the source, the tune being read all the same.
///
/// Prints as `bar 3, beat 2: message`, and where the source is written in lines as `line 7, column 5, bar 3, beat 2: message`.
///
/// # Example
///
/// ```
/// use overshell::sheet::SheetFinding;
/// let finding = SheetFinding {
///     bar: "3".into(),
///     beat: 2.5,
///     byte: None,
///     line: None,
///     column: None,
///     message: "the kind `Tristan` has no fixed notes".into(),
///     help: "write the chord as a symbol".into(),
///     chord: None,
/// };
/// assert_eq!(finding.to_string(), "bar 3, beat 2.5: the kind `Tristan` has no fixed notes");
/// ```
#[derive(Clone, Debug, PartialEq)]
pub struct SheetFinding {
    /// The number of the bar as printed; empty where it is about no bar.
    pub bar: String,
    /// The beat in the bar, from 1.
    pub beat: f64,
    /// The byte of the unpacked text, as UTF-8 without byte order mark, at which the element in question starts.
    pub byte: Option<u64>,
    /// The line of the source, from 1, for formats that people write in lines; `None` for MusicXML.
    pub line: Option<usize>,
    /// The column in that line, in characters from 1.
    pub column: Option<usize>,
    /// What was found, and what became of it.
    pub message: String,
    /// What would help.
    pub help: String,
    /// The chord symbol it is about, as an index into [`LeadSheet::chords`](crate::sheet::LeadSheet::chords).
    pub chord: Option<usize>,
}

impl std::fmt::Display for SheetFinding {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let mut before = "";
        for (what, place) in [("line", self.line), ("column", self.column)] {
            if let Some(place) = place {
                write!(f, "{before}{what} {place}")?;
                before = ", ";
            }
        }
        if !self.bar.is_empty() {
            // Two places suffice to find the beat by eye.
            let beat = (self.beat * 100.0).round() / 100.0;
            write!(f, "{before}bar {}, beat {beat}", crate::pitch::shown(&self.bar))?;
            before = ", ";
        }
        let colon = if before.is_empty() { "" } else { ": " };
        write!(f, "{colon}{}", self.message)
    }
}

/// A finding whose bar is known by index only.
#[derive(Clone, Debug)]
pub(in crate::sheet) struct Entry {
    /// The part it was found in, where it is about the notes of one.
    pub(in crate::sheet) part: Option<usize>,
    pub(in crate::sheet) bar: Option<usize>,
    /// Ticks into the bar.
    pub(in crate::sheet) tick: u32,
    pub(in crate::sheet) byte: usize,
    pub(in crate::sheet) message: String,
    pub(in crate::sheet) help: String,
    pub(in crate::sheet) chord: Option<usize>,
}

/// How many findings a reading has at most: one more says how many were left out.
pub(in crate::sheet) const MOST_FINDINGS: usize = 10_000;

/// Collects findings while reading, at the place where the reader is.
#[derive(Debug, Default)]
pub(in crate::sheet) struct Log {
    pub(in crate::sheet) entries: Vec<Entry>,
    pub(in crate::sheet) part: Option<usize>,
    pub(in crate::sheet) bar: Option<usize>,
    pub(in crate::sheet) tick: u32,
    pub(in crate::sheet) byte: usize,
    /// Findings beyond [`MOST_FINDINGS`], which are counted only.
    pub(in crate::sheet) left_out: usize,
    said: HashSet<(Option<usize>, Option<usize>, &'static str)>,
}

impl Log {
    /// A finding at the present place.
    pub(in crate::sheet) fn say(&mut self, message: impl Into<String>, help: impl Into<String>) {
        let (part, bar, tick, byte) = (self.part, self.bar, self.tick, self.byte);
        self.put(|| Entry { part, bar, tick, byte, message: message.into(), help: help.into(), chord: None });
    }

    /// A finding at any place, made only where there is room for it.
    pub(in crate::sheet) fn put(&mut self, entry: impl FnOnce() -> Entry) {
        if self.entries.len() < MOST_FINDINGS {
            self.entries.push(entry());
        } else {
            self.left_out += 1;
        }
    }

    /// Says how many findings were left out, where any were.
    pub(in crate::sheet) fn say_left_out(&mut self) {
        if self.left_out > 0 {
            self.entries.push(Entry {
                part: None,
                bar: None,
                tick: 0,
                byte: 0,
                message: format!("{} more findings are left out", self.left_out),
                help: "mend the first ones and read the tune again".into(),
                chord: None,
            });
        }
    }

    /// A finding at the present place, at most one of these words in each bar.
    pub(in crate::sheet) fn once(&mut self, message: &'static str, help: &'static str) {
        if self.said.insert((self.part, self.bar, message)) {
            self.say(message, help);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ok_once_in_each_bar() {
        let mut log = Log::default();
        for bar in [0, 0, 1] {
            log.bar = Some(bar);
            log.once("a grace note was left out", "");
        }
        assert_eq!(log.entries.len(), 2);
    }
}
