//! From the text of a symbol to its tree.

use super::element::{Element, Elements, Layer, Part};
use super::fault::{Fault, Wrong};
use super::items::{char_length, digits, starts_with_digit};
use super::lower::lower;
use super::words::{Word, word_at};
use crate::pitch::{Accidental, NoteName};

/// What a text says: no chord, a chord, or a chord above a chord; in parentheses where it is optional.
pub(super) struct Tree {
    pub(super) optional: bool,
    pub(super) upper: Option<Layer>,
    pub(super) lower: Option<Layer>,
}

/// How a sheet says that no chord sounds, in any case (common practice, no source).
const NO_CHORD: [&[u8]; 7] = [b"N.C.", b"NC", b"N.C", b"N. C.", b"N/C", b"no chord", b"tacet"];

/// What stands before an optional chord in words.
const OPTIONAL: &[u8] = b"optional ";

/// Reads a text of at most [`super::ChordSymbol::LONGEST`] bytes.
pub(super) fn read(text: &str) -> Result<Tree, Fault> {
    let whole = text.as_bytes();
    let outer = inner(whole, 0, whole.len());
    let (from, until) = optional(whole, outer)?;
    let optional = (from, until) != outer;
    let text = whole.get(..until).unwrap_or_default();
    if text.get(from..).is_some_and(|text| NO_CHORD.iter().any(|word| text.eq_ignore_ascii_case(word))) {
        return Ok(Tree { optional, upper: None, lower: None });
    }
    let mut reader = Reader::new(text, from);
    let first = reader.layer()?;
    let Some(bar) = reader.bar() else {
        return Ok(Tree { optional, upper: None, lower: Some(first) });
    };
    let start = reader.at;
    let mut reader = Reader::new(text, start + bar);
    reader.skip_spaces();
    if reader.peek().is_none() {
        return Err(Fault { start, end: start + bar, wrong: Wrong::NoChordAbove });
    }
    let second = reader.layer()?;
    match reader.bar() {
        None => Ok(Tree { optional, upper: Some(first), lower: Some(second) }),
        Some(bar) => Err(reader.fault(bar, Wrong::ThirdChord)),
    }
}

/// The range inside the parentheses around a whole symbol, or behind the word for it; the same range where there is
/// neither.
fn optional(text: &[u8], (start, end): (usize, usize)) -> Result<(usize, usize), Fault> {
    if text.get(start..start + OPTIONAL.len()).is_some_and(|word| word.eq_ignore_ascii_case(OPTIONAL)) {
        return Ok(inner(text, start + OPTIONAL.len(), end));
    }
    if !text.get(start).is_some_and(|byte| OPENING.contains(byte)) {
        return Ok((start, end));
    }
    match closing(text, start) {
        Some(close) if close + 1 == end => Ok(inner(text, start + 1, close)),
        Some(close) => Err(Fault { start: close + 1, end, wrong: Wrong::BehindOptional }),
        None => Err(Fault { start, end: start + 1, wrong: Wrong::NeverClosed }),
    }
}

/// The same range without the white space at its ends.
fn inner(text: &[u8], mut start: usize, mut end: usize) -> (usize, usize) {
    let is_space = |at: usize| text.get(at).is_some_and(u8::is_ascii_whitespace);
    while start < end && is_space(start) {
        start += 1;
    }
    while start < end && is_space(end - 1) {
        end -= 1;
    }
    (start, end)
}

const OPENING: [u8; 3] = *b"([{";
const CLOSING: [u8; 3] = *b")]}";

/// Where the parenthesis that opens at `start` is closed.
fn closing(text: &[u8], start: usize) -> Option<usize> {
    let mut depth = 0;
    for (at, byte) in text.iter().enumerate().skip(start) {
        depth += i32::from(OPENING.contains(byte)) - i32::from(CLOSING.contains(byte));
        if depth == 0 {
            return Some(at);
        }
    }
    None
}

pub(super) struct Reader<'a> {
    pub(super) text: &'a [u8],
    pub(super) at: usize,
    /// Where the body starts.
    pub(super) body: usize,
    /// Whether a number was read, so that `-` and `+` alter.
    pub(super) altering: bool,
    /// Whether that was one that a seventh goes with or a sixth, so that another one adds its note.
    pub(super) numbered: bool,
    /// Whether the last element was a `maj`, which waits for its number.
    pub(super) after_major: bool,
    /// Whether a slash stands before the next element.
    pub(super) after_slash: bool,
    /// Where the parenthesis now open stands.
    pub(super) open: Option<usize>,
}

impl<'a> Reader<'a> {
    const fn new(text: &'a [u8], at: usize) -> Self {
        Self {
            text,
            at,
            body: at,
            altering: false,
            numbered: false,
            after_major: false,
            after_slash: false,
            open: None,
        }
    }

    pub(super) fn peek(&self) -> Option<u8> {
        self.text.get(self.at).copied()
    }

    pub(super) fn rest(&self, from: usize) -> &'a [u8] {
        self.text.get(from..).unwrap_or_default()
    }

    fn skip_spaces(&mut self) {
        while self.peek() == Some(b' ') {
            self.at += 1;
        }
    }

    /// The fault at the present place, `length` bytes long.
    pub(super) const fn fault(&self, length: usize, wrong: Wrong) -> Fault {
        Fault { start: self.at, end: self.at + length, wrong }
    }

    pub(super) fn part<T>(&mut self, value: T, length: usize) -> Part<T> {
        let start = self.at as u8; // at most `LONGEST`
        self.at += length;
        Part { value, start, end: self.at as u8 }
    }

    /// The length of what stands between two chords, where it stands here.
    fn bar(&self) -> Option<usize> {
        match word_at(self.rest(self.at)) {
            Some((Word::Above, length)) => Some(length),
            _ => None,
        }
    }

    fn layer(&mut self) -> Result<Layer, Fault> {
        let root = self.root()?;
        let mut elements = Elements::new();
        let mut bass = None;
        while let Some(byte) = self.peek() {
            match byte {
                b' ' | b',' | b'.' | b';' | b'\t' => self.at += 1,
                b'(' | b'[' | b'{' => {
                    if self.open.is_some() {
                        return Err(self.fault(1, Wrong::OpenedTwice));
                    }
                    self.open = Some(self.at);
                    self.at += 1;
                }
                b')' | b']' | b'}' => {
                    if self.open.take().is_none() {
                        return Err(self.fault(1, Wrong::NeverOpened));
                    }
                    self.at += 1;
                }
                _ => match word_at(self.rest(self.at)) {
                    Some((Word::Above, _)) => break,
                    Some((Word::Nothing, length)) => self.at += length,
                    Some((Word::Slash, length)) if self.adds_behind(length) => {
                        self.after_slash = true;
                        self.at += length;
                    }
                    Some((Word::Slash | Word::Over, length)) => {
                        bass = Some(self.bass(length)?);
                        break;
                    }
                    word => {
                        let element = self.element(byte, word)?;
                        self.after_major = matches!(element.value, Element::Major { .. });
                        self.after_slash = false;
                        elements.push(element);
                    }
                },
            }
        }
        if let Some(at) = self.open {
            return Err(Fault { start: at, end: at + 1, wrong: Wrong::NeverClosed });
        }
        let chord = lower(self.text, root, &elements, bass)?;
        Ok(Layer { root, elements, bass, chord })
    }

    /// Whether the slash here, `length` bytes long, adds what is behind it (`C7/b9`, `Cm/maj7`): not a note, and not a
    /// chord tone by its number, which somebody means as the bass.
    fn adds_behind(&self, length: usize) -> bool {
        let mut at = self.at + length;
        while self.text.get(at) == Some(&b' ') {
            at += 1;
        }
        let rest = self.rest(at);
        let (sign, word) = match word_at(rest) {
            Some((Word::Alter(_) | Word::Plain(..), length)) => (length, true),
            Some((Word::Sign(_) | Word::Add | Word::Omit | Word::Number(_), _)) => (0, true),
            _ => (0, false),
        };
        let note = rest.first().is_some_and(|byte| matches!(byte, b'A'..=b'G'));
        if !starts_with_digit(self.rest(at + sign)) {
            return word && sign == 0 && !note;
        }
        let (number, length) = digits(self.rest(at + sign));
        let altered = sign > 0 || self.sign_behind(at + length).is_some();
        !matches!((number, altered), (3 | 7, _) | (5, false))
    }

    fn root(&mut self) -> Result<Part<NoteName>, Fault> {
        match self.note(self.at) {
            Some((root, length)) => {
                let root = self.part(root, length);
                self.body = self.at;
                self.at_most_two_accidentals(root)?;
                Ok(root)
            }
            None => match self.bar() {
                Some(bar) => Err(self.fault(bar, Wrong::NoChordAbove)),
                None if self.rest(self.at).is_empty() => Err(self.fault(0, Wrong::Empty)),
                None => Err(self.fault(char_length(self.rest(self.at)), Wrong::NoRoot)),
            },
        }
    }

    /// A note name and its length: `Eb`, `E♭`, `E-flat`.
    fn note(&self, at: usize) -> Option<(NoteName, usize)> {
        const SPELLED: [(&str, Accidental); 4] = [
            ("-flat", Accidental::Flat),
            ("-sharp", Accidental::Sharp),
            ("-double-flat", Accidental::DoubleFlat),
            ("-double-sharp", Accidental::DoubleSharp),
        ];
        let text = self.rest(at);
        let (name, length) = NoteName::read_prefix_bytes(text)?;
        if text.get(1) != Some(&b'-') {
            return Some((name, length));
        }
        let spelled = SPELLED.into_iter().find(|(word, _)| {
            text.get(1..=word.len()).is_some_and(|start| start.eq_ignore_ascii_case(word.as_bytes()))
        });
        Some(spelled.map_or((name, length), |(word, accidental)| {
            (NoteName::new(name.letter(), accidental), 1 + word.len())
        }))
    }

    /// Accidentals behind those of the note belong to it too, but for one that alters the number behind it.
    fn at_most_two_accidentals(&self, note: Part<NoteName>) -> Result<(), Fault> {
        let mut at = self.at;
        while let Some((Word::Alter(_), length)) = word_at(self.rest(at)) {
            at += length;
        }
        let single = at == self.at + char_length(self.rest(self.at));
        let alters = single && self.text.get(at).is_some_and(|byte| byte.is_ascii_digit() && *byte != b'7');
        if at > self.at && note.end > note.start + 1 && !alters {
            return Err(Fault { start: note.start.into(), end: at, wrong: Wrong::Accidentals });
        }
        Ok(())
    }

    /// The bass behind a slash or word of `length` bytes, with or without parentheses; a chord ends with it.
    fn bass(&mut self, length: usize) -> Result<Part<NoteName>, Fault> {
        let slash = self.at;
        let end = self.text.len();
        self.at += length;
        self.skip_spaces();
        let enclosed = self.peek().is_some_and(|byte| OPENING.contains(&byte));
        if enclosed {
            self.open = self.open.or(Some(self.at));
            self.at += 1;
        }
        let Some((bass, length)) = self.note(self.at) else {
            return Err(match self.open {
                Some(open) if self.peek().is_none() => {
                    Fault { start: open, end: open + 1, wrong: Wrong::NeverClosed }
                }
                _ => Fault { start: slash, end, wrong: Wrong::NoBass },
            });
        };
        let bass = self.part(bass, length);
        self.at_most_two_accidentals(bass)?;
        self.skip_spaces();
        if self.open.is_some() && self.peek().is_some_and(|byte| CLOSING.contains(&byte)) {
            self.open = None;
            self.at += 1;
            self.skip_spaces();
        }
        if self.open.is_some() && self.peek().is_none() {
            return Ok(bass); // the caller says that it is never closed
        }
        match self.bar() {
            None if self.peek().is_some() => {
                Err(Fault { start: bass.start.into(), end, wrong: Wrong::ChordAsBass })
            }
            _ => Ok(bass),
        }
    }
}
