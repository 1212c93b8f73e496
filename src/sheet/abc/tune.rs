//! From the lines of a file to its first tune: header, fields, body (ABC 2.1, sections 2 and 3).

use std::collections::HashSet;

use super::fields::{self, MetreField, TempoField};
use super::key;
use super::quoted::decoded;
use super::state::{Scope, State};
use crate::error::{Error, Kind, Result};
use crate::pitch::shown;
use crate::sheet::draft::{Line, lines};
use crate::sheet::{ReadOptions, Reading};

/// Where in the file a line stands.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Part {
    /// In front of the first tune.
    File,
    Header,
    Body,
    /// Behind the first tune.
    Behind,
}

/// A tune being read.
pub(super) struct Tune<'a> {
    text: &'a str,
    pub(super) state: State<'a>,
    part: Part,
    has_metre: bool,
    /// Whether any line had something in it.
    has_begun: bool,
    /// The voice that is read, once it is known; and whether another one is written now.
    voice: Option<&'a str>,
    pub(super) is_silent: bool,
    has_other_voice: bool,
    /// Octaves of voices, as the header says.
    voices: Vec<(&'a str, i8)>,
    pub(super) in_overlay: bool,
    /// Letters that a `U:` defines.
    pub(super) defined: HashSet<char>,
    /// The bar in which an odd sign was said last.
    pub(super) odd_bar: Option<usize>,
    more_tunes: usize,
    /// The byte of the first other tune, or of what else stands behind the first.
    behind: Option<usize>,
}

/// Reads the first tune of a file.
pub(super) fn read(text: &str, options: &ReadOptions) -> Result<Reading> {
    let mut tune = Tune {
        text,
        state: State::new(text, options),
        part: Part::File,
        has_metre: false,
        has_begun: false,
        voice: None,
        is_silent: false,
        has_other_voice: false,
        voices: Vec::new(),
        in_overlay: false,
        defined: HashSet::new(),
        odd_bar: None,
        more_tunes: 0,
        behind: None,
    };
    if !outside_blocks(text).any(|line| line.text.starts_with("X:")) {
        tune.part = Part::Header;
        tune.state.draft.say_of_head(
            0,
            "the tune has no number, expected `X:1` in front of it",
            "begin the tune with `X:1`",
        );
    }
    for line in outside_blocks(text) {
        match line.text.strip_prefix("%%") {
            Some(directive) => tune.directive(directive),
            None => tune.line(line)?,
        }
    }
    tune.finish()
}

/// The lines of a file without texts for the page, which stand between directives (section 11.4).
fn outside_blocks(text: &str) -> impl Iterator<Item = Line<'_>> {
    let mut in_block = false;
    lines(text).filter(move |line| {
        let was_in_block = in_block;
        if let Some(directive) = line.text.strip_prefix("%%") {
            in_block = (in_block || directive.starts_with("begin")) && !directive.starts_with("end");
        }
        !was_in_block && !in_block
    })
}

impl<'a> Tune<'a> {
    fn line(&mut self, line: Line<'a>) -> Result<()> {
        if self.part == Part::Behind {
            if line.text.starts_with("X:") {
                self.more_tunes += 1;
                self.behind.get_or_insert(line.start);
            } else if !line.text.trim().is_empty() && !line.text.starts_with('%') && self.more_tunes == 0 {
                self.behind.get_or_insert(line.start);
            }
            return Ok(());
        }
        if line.text.trim().is_empty() {
            if self.part == Part::Body {
                self.part = Part::Behind;
            } else if self.part == Part::Header && self.has_begun {
                let message = "an empty line in the header is passed over, it would end the tune";
                self.state.draft.say_of_head(line.start, message, "take the empty line out");
            }
            return Ok(());
        }
        self.has_begun = true;
        let line = without_comment(line);
        if line.text.trim().is_empty() {
            return Ok(());
        }
        match field_of(line.text).filter(|letter| self.is_field(*letter, line.text)) {
            Some('X') => {
                self.part = match self.part {
                    Part::File => Part::Header,
                    Part::Header if self.state.head.title.is_empty() && !self.has_metre => Part::Header,
                    _ => {
                        (self.more_tunes, self.behind) = (1, Some(line.start));
                        Part::Behind
                    }
                };
                Ok(())
            }
            Some(letter) => {
                let value = Line::new(line.text.get(2..).unwrap_or_default(), line.start + 2).trimmed();
                self.field(letter, value, line.start)
            }
            None => match self.part {
                Part::File => Ok(()),
                Part::Header if line.text.starts_with("+:") => Ok(()),
                Part::Header => {
                    let message = "music begins without a key, C was taken";
                    self.state.draft.say_of_head(
                        line.start,
                        message,
                        "end the header with a key such as `K:C`",
                    );
                    self.begin_body(line.start);
                    self.music(line)
                }
                _ if line.text.starts_with("+:") => Ok(()),
                _ => self.music(line),
            },
        }
    }

    /// Whether a letter with a colon at the start of a line is a field there: a note in front of a repeat sign is not.
    fn is_field(&self, letter: char, line: &str) -> bool {
        if self.part != Part::Body {
            return true;
        }
        let is_repeat = line.get(2..).is_some_and(|rest| rest.starts_with(['|', ':']));
        !(is_repeat && matches!(letter, 'A'..='G' | 'a'..='g' | 'z' | 'x' | 'Z'))
    }

    /// Reads a field, of a line of its own or in a line of music.
    pub(super) fn field(&mut self, letter: char, value: Line<'_>, byte: usize) -> Result<()> {
        let is_music = self.part == Part::Body;
        match letter {
            'V' => self.voice(value),
            _ if self.is_silent => {}
            'K' => {
                let found = key::read(value);
                for (message, help) in found.findings {
                    self.say(byte, message, help);
                }
                self.state.clef_octaves = found.octaves.unwrap_or(self.state.clef_octaves);
                if let Some((key, signature)) = found.key {
                    (self.state.key, self.state.signature) = (key, signature);
                    if is_music {
                        self.settle()?;
                        self.state.draft.set_key(key, byte);
                    }
                }
                if !is_music && self.part == Part::Header {
                    self.begin_body(byte);
                }
            }
            'M' => match fields::metre(value.text) {
                Some(metre) => {
                    self.has_metre = true;
                    if is_music {
                        // The unit of length stays what it was (section 3.1.7).
                        self.state.unit = Some(self.state.unit());
                    }
                    self.state.metre = metre;
                    if metre == MetreField::Free {
                        self.say_free(byte);
                    }
                    if is_music {
                        self.settle()?;
                        let metre = self.state.metre();
                        self.state.draft.set_metre(metre, byte);
                    }
                }
                None => self.say(
                    byte,
                    format!("the metre `{}` is not read", shown(value.text)),
                    "write beats of 1 to 255 over 1, 2, 4, 8, 16 or 32, such as `3/4`; the metre before stays in force",
                ),
            },
            'L' => match fields::unit(value.text) {
                Some(unit) => self.state.unit = Some(unit),
                None => self.say(
                    byte,
                    format!("the unit of length `{}` is not read", shown(value.text)),
                    "write a part of a whole note, such as `1/8`; the unit before stays in force",
                ),
            },
            'Q' => self.tempo(value, byte),
            'T' if self.part == Part::Header && self.state.head.title.is_empty() => {
                self.state.head.title = decoded(value.text);
            }
            'I' => self.directive(value.text),
            'U' => self.defined.extend(value.text.chars().next().filter(char::is_ascii)),
            'm' => self.say(byte, "macros are left out", "write the notes themselves"),
            's' if is_music => {
                self.state.once(byte, "lines of symbols are left out", "write the symbols in front of the notes");
            }
            _ => {}
        }
        Ok(())
    }

    /// A finding at the present place, of the header or of the music.
    fn say(&mut self, byte: usize, message: impl Into<String>, help: impl Into<String>) {
        if self.part == Part::Body {
            self.state.say(byte, message, help);
        } else {
            self.state.draft.say_of_head(byte, message, help);
        }
    }

    fn say_free(&mut self, byte: usize) {
        self.state.was_free = true;
        self.say(
            byte,
            "the metre is free; it is read as 4/4, every bar keeps its own length",
            "give the tune a metre, such as `M:4/4`",
        );
    }

    /// What has been read in this bar takes its place in front of a change.
    fn settle(&mut self) -> Result<()> {
        self.state.settle()
    }

    fn tempo(&mut self, value: Line<'_>, byte: usize) {
        match fields::tempo(value.text, self.state.unit()) {
            Some(TempoField::Words) => {}
            Some(TempoField::Is(tempo)) if self.part != Part::Body || self.state.is_start() => {
                self.state.head.tempo = Some(tempo);
            }
            Some(TempoField::Is(tempo)) if self.state.head.tempo == Some(tempo) => {}
            Some(TempoField::Is(_)) => self.say(
                byte,
                format!("the change of tempo `{}` is left out", shown(value.text)),
                "a sheet has one tempo, at its start",
            ),
            None => self.say(
                byte,
                format!(
                    "the tempo `{}` is not read, expected 1 to 1000 quarters a minute",
                    shown(value.text)
                ),
                "write a note value and beats a minute, such as `1/4=120`",
            ),
        }
    }

    /// A voice: the first one is read.
    fn voice(&mut self, value: Line<'_>) {
        let text = self.text.get(value.start..value.start + value.text.len()).unwrap_or_default();
        let name = text.split_whitespace().next().unwrap_or_default();
        let mut found = key::KeyField::default();
        for word in value.words() {
            if let Some((name, value)) = word.text.split_once('=') {
                key::property(name, value, &mut found);
            }
        }
        for (message, help) in std::mem::take(&mut found.findings) {
            self.say(value.start, message, help);
        }
        /// More voices than this are of no tune.
        const MOST: usize = 64;
        if let Some(octaves) = found.octaves {
            self.voices.retain(|(own, _)| *own != name);
            if self.voices.len() < MOST {
                self.voices.push((name, octaves));
            }
        }
        if self.part != Part::Body {
            return;
        }
        // Music in front of every voice is a voice without a name.
        let first = if self.state.is_start() { name } else { "" };
        let own = *self.voice.get_or_insert(first);
        self.is_silent = own != name;
        if self.is_silent && !self.has_other_voice {
            self.has_other_voice = true;
            let message =
                format!("the voice `{}` is left out, and every other voice than the first", shown(name));
            self.state.draft.say_of_head(value.start, message, "put the melody into the first voice");
        }
        if !self.is_silent {
            self.state.voice_octaves =
                self.voices.iter().find(|(known, _)| *known == name).map(|(_, octaves)| *octaves);
        }
    }

    fn directive(&mut self, text: &str) {
        let mut words = text.split_whitespace();
        if words.next() == Some("propagate-accidentals") && self.part != Part::Behind {
            match words.next() {
                Some("not") => self.state.scope = Scope::Not,
                Some("octave") => self.state.scope = Scope::Octave,
                Some("pitch") => self.state.scope = Scope::Pitch,
                _ => {}
            }
        }
    }

    fn begin_body(&mut self, byte: usize) {
        if !self.has_metre {
            self.state.was_free = true;
            let message = "the tune has no metre; it is read as 4/4, every bar keeps its own length";
            self.state.draft.say_of_head(byte, message, "give the tune a metre, such as `M:4/4`");
        }
        // The unit of length is settled before any change of metre.
        self.state.unit = Some(self.state.unit());
        self.part = Part::Body;
        // The only voice need not be named again.
        if let [(_, octaves)] = self.voices.as_slice() {
            self.state.voice_octaves = Some(*octaves);
        }
        let (key, metre) = (self.state.key, self.state.metre());
        self.state.draft.set_key(key, byte);
        self.state.draft.set_metre(metre, byte);
    }

    fn finish(mut self) -> Result<Reading> {
        let end = self.text.len();
        self.end_of_music(end)?;
        if self.state.draft.is_start() {
            return Err(Error::new(Kind::Sheet, "the tune has no music, expected notes behind the key `K:`")
                .with_help("end the header with a key such as `K:C`, then write the notes"));
        }
        match (self.more_tunes, self.behind) {
            (0, None) => {}
            (0, Some(byte)) => self.state.draft.say_of_head(
                byte,
                "what stands behind the empty line at the end of the tune is left out",
                "take the empty line out where the tune goes on",
            ),
            (more, byte) => self.state.draft.say_of_head(
                byte.unwrap_or(0),
                format!(
                    "the first tune is read, {more} more {} left out",
                    if more == 1 { "is" } else { "are" }
                ),
                "put each tune into a file of its own",
            ),
        }
        let lengths_tell = !self.state.was_free;
        self.state.draft.finish(self.state.head, lengths_tell)
    }
}

/// The letter of a field at the start of a line.
fn field_of(line: &str) -> Option<char> {
    let mut signs = line.chars();
    let letter = signs.next().filter(char::is_ascii_alphabetic)?;
    (signs.next() == Some(':')).then_some(letter)
}

/// A line up to its comment.
fn without_comment(line: Line<'_>) -> Line<'_> {
    let mut is_escaped = false;
    let end = line.text.bytes().position(|b| {
        let begins = b == b'%' && !is_escaped;
        is_escaped = b == b'\\' && !is_escaped;
        begins
    });
    Line::new(line.text.get(..end.unwrap_or(line.text.len())).unwrap_or_default(), line.start)
}
