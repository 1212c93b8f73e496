//! One opaque error for the whole crate: what was found, where, what was expected, and what would help.
//!
//! [`Error`] prints as one line (`outer: inner`), so that it reads well inside other messages;
//! [`Error::report`] prints the same with the offending text underlined and the help below it.
//! Ask what kind of error it is with the predicates, never by comparing texts.

mod excerpt;
mod nearest;

pub use excerpt::Excerpt;
pub(crate) use nearest::nearest;

use std::fmt;

/// The result of every fallible function of this crate.
pub type Result<T, E = Error> = std::result::Result<T, E>;

/// What went wrong, in kinds that a caller may want to tell apart.
#[derive(Clone, Copy, Debug, Eq, PartialEq)]
pub(crate) enum Kind {
    Range,
    Pitch,
    Symbol,
    UnknownSign,
    Contradiction,
    Accidentals,
    Limit,
    Crossing,
    Hand,
    Rules,
    Sheet,
    Io,
    NoAnswer,
    Stopped,
}

/// An error of this crate: opaque, with predicates.
///
/// # Example
///
/// ```
/// let error = "C7q".parse::<overshell::Chord>().unwrap_err();
/// assert!(error.is_symbol());
/// assert!(error.to_string().contains("`q`"));
/// assert!(error.report().contains('^')); // underlined
/// ```
#[derive(Clone, thiserror::Error)]
#[error("{}", .0.message)]
pub struct Error(Box<Detail>);

#[derive(Clone)]
struct Detail {
    kind: Kind,
    message: String,
    help: Option<String>,
    excerpt: Option<Excerpt>,
    others: Vec<Error>,
}

impl Error {
    pub(crate) fn new(kind: Kind, message: impl Into<String>) -> Self {
        Self(Box::new(Detail {
            kind,
            message: message.into(),
            help: None,
            excerpt: None,
            others: Vec::new(),
        }))
    }

    pub(crate) fn with_help(mut self, help: impl Into<String>) -> Self {
        self.0.help = Some(help.into());
        self
    }

    pub(crate) fn with_excerpt(mut self, excerpt: Excerpt) -> Self {
        self.0.excerpt = Some(excerpt);
        self
    }

    /// One error out of several found together, the first in front; `None` where there are none.
    pub(crate) fn of_all(errors: Vec<Self>) -> Option<Self> {
        let mut errors = errors.into_iter();
        let mut first = errors.next()?;
        first.0.others.extend(errors);
        Some(first)
    }

    /// This error and those found with it, each alone.
    pub(crate) fn into_all(mut self) -> impl Iterator<Item = Self> {
        let others = std::mem::take(&mut self.0.others);
        std::iter::once(self).chain(others)
    }

    /// Puts a context before the message: `context: message`. The outermost is put last and stands first; what would help, the
    /// excerpt and the errors found together with this one stay as they are.
    ///
    /// # Example
    ///
    /// ```
    /// use overshell::chord::ChordSymbol;
    /// let error = "C7q".parse::<ChordSymbol>().unwrap_err();
    /// let message = error.to_string();
    /// let error = error.context("bar 3").context("nine-lamps.chart");
    /// assert_eq!(error.to_string(), format!("nine-lamps.chart: bar 3: {message}"));
    /// assert!(error.is_symbol() && error.excerpt().is_some());
    /// ```
    #[must_use]
    pub fn context(mut self, context: impl fmt::Display) -> Self {
        self.0.message = format!("{context}: {}", self.0.message);
        self
    }

    /// What would help, where something would.
    pub fn help(&self) -> Option<&str> {
        self.0.help.as_deref()
    }

    /// The text that caused the error, with the part in question marked.
    pub fn excerpt(&self) -> Option<&Excerpt> {
        self.0.excerpt.as_ref()
    }

    /// The other errors found together with this one, as a rule file or a strict reading gives them.
    pub fn others(&self) -> &[Self] {
        &self.0.others
    }

    /// A number lay outside the range of its type.
    pub fn is_range(&self) -> bool {
        self.0.kind == Kind::Range
    }

    /// A pitch, note name, interval or degree could not be read.
    pub fn is_pitch(&self) -> bool {
        self.0.kind == Kind::Pitch
    }

    /// A chord symbol could not be read, for whatever reason but its length.
    pub fn is_symbol(&self) -> bool {
        matches!(self.0.kind, Kind::Symbol | Kind::UnknownSign | Kind::Contradiction | Kind::Accidentals)
    }

    /// A chord symbol holds a sign or a number that means nothing there; it [is a symbol error](Self::is_symbol) too.
    pub fn is_unknown_sign(&self) -> bool {
        self.0.kind == Kind::UnknownSign
    }

    /// Parts of a chord symbol contradict each other; it [is a symbol error](Self::is_symbol) too.
    pub fn is_contradiction(&self) -> bool {
        self.0.kind == Kind::Contradiction
    }

    /// A note of a chord symbol has more accidentals than there are; it [is a symbol error](Self::is_symbol) too.
    pub fn is_accidentals(&self) -> bool {
        self.0.kind == Kind::Accidentals
    }

    /// A named limit (length, depth, number of bars…) was exceeded.
    pub fn is_limit(&self) -> bool {
        self.0.kind == Kind::Limit
    }

    /// The left hand would lie on or above the right.
    pub fn is_crossing(&self) -> bool {
        self.0.kind == Kind::Crossing
    }

    /// A hand holds too many notes or one key twice.
    pub fn is_hand(&self) -> bool {
        self.0.kind == Kind::Hand
    }

    /// A rule file could not be understood.
    pub fn is_rules(&self) -> bool {
        self.0.kind == Kind::Rules
    }

    /// A tune could not be read or written.
    pub fn is_sheet(&self) -> bool {
        self.0.kind == Kind::Sheet
    }

    /// The operating system refused to read or write.
    pub fn is_io(&self) -> bool {
        self.0.kind == Kind::Io
    }

    /// The question was understood, but nothing answers it under the rules and options given.
    pub fn is_no_answer(&self) -> bool {
        self.0.kind == Kind::NoAnswer
    }

    /// Somebody who was told how far the work was has stopped it.
    pub fn is_stopped(&self) -> bool {
        self.0.kind == Kind::Stopped
    }

    /// The whole story on several lines: message, the marked text, help; then the errors found with it.
    pub fn report(&self) -> String {
        let mut out = format!("error: {}", self.0.message);
        if let Some(excerpt) = &self.0.excerpt {
            out.push('\n');
            out.push_str(&excerpt.to_string());
        }
        if let Some(help) = &self.0.help {
            out.push_str("\nhelp: ");
            out.push_str(help);
        }
        for other in &self.0.others {
            out.push('\n');
            out.push_str(&other.report());
        }
        out
    }
}

/// `unwrap` shows what a person needs, so `Debug` is the report.
impl fmt::Debug for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.report())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ok_one_word_wide() {
        assert_eq!(size_of::<Error>(), size_of::<usize>());
    }

    #[test]
    fn ok_report_has_message_mark_and_help() {
        let error = Error::new(Kind::Symbol, "unknown sign `q`")
            .with_excerpt(Excerpt::of_line("C7q", 2, 1))
            .with_help("leave it out")
            .context("bar 3");
        assert_eq!(error.report(), "error: bar 3: unknown sign `q`\n  C7q\n    ^\nhelp: leave it out");
    }
}
