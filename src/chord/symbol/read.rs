//! From the text of a symbol to its tree.

use super::element::{Element, Elements, Layer, Part};
use super::fault::{Fault, Wrong};
use super::lower::lower;
use super::words::{Word, word_at};
use crate::chord::Degree;
use crate::pitch::{Accidental, NoteName};

/// What a text says: no chord, a chord, or a chord above a chord; in parentheses where it is optional.
pub(super) struct Tree {
    pub(super) optional: bool,
    pub(super) upper: Option<Layer>,
    pub(super) lower: Option<Layer>,
}

/// How a sheet says that no chord sounds (common practice, no source).
const NO_CHORD: [&str; 6] = ["N.C.", "NC", "N.C", "N. C.", "n.c.", "no chord"];

/// Reads a text of at most [`super::ChordSymbol::LONGEST`] bytes.
pub(super) fn read(text: &str) -> Result<Tree, Fault> {
    let whole = text.as_bytes();
    let (start, end) = inner(whole, 0, whole.len());
    let optional = start < end
        && whole.get(start) == Some(&b'(')
        && closing(whole, start).is_some_and(|close| close + 1 == end);
    let (from, until) = if optional { inner(whole, start + 1, end - 1) } else { (start, end) };
    if text.get(from..until).is_some_and(|inner| NO_CHORD.contains(&inner)) {
        return Ok(Tree { optional, upper: None, lower: None });
    }
    let text = whole.get(..until).unwrap_or_default();
    let mut reader = Reader { text, at: from, altering: false, open: None };
    let first = reader.layer()?;
    if reader.peek().is_none() {
        return Ok(Tree { optional, upper: None, lower: Some(first) });
    }
    // The body stops before its end at `|` only.
    let bar = reader.at;
    reader.at += 1;
    reader.skip_spaces();
    if reader.peek().is_none() {
        return Err(Fault { start: bar, end: bar + 1, wrong: Wrong::NoChordAbove });
    }
    reader.altering = false;
    let second = reader.layer()?;
    match reader.peek() {
        None => Ok(Tree { optional, upper: Some(first), lower: Some(second) }),
        Some(_) => Err(Fault { start: reader.at, end: reader.at + 1, wrong: Wrong::ThirdChord }),
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

/// Where the parenthesis that opens at `start` is closed.
fn closing(text: &[u8], start: usize) -> Option<usize> {
    let mut depth = 0;
    for (at, byte) in text.iter().enumerate().skip(start) {
        match byte {
            b'(' => depth += 1,
            b')' => {
                depth -= 1;
                if depth == 0 {
                    return Some(at);
                }
            }
            _ => {}
        }
    }
    None
}

struct Reader<'a> {
    text: &'a [u8],
    at: usize,
    /// Whether a number was read, so that `-` and `+` alter.
    altering: bool,
    /// Where the parenthesis now open stands.
    open: Option<usize>,
}

impl Reader<'_> {
    fn peek(&self) -> Option<u8> {
        self.text.get(self.at).copied()
    }

    fn rest(&self, from: usize) -> &[u8] {
        self.text.get(from..).unwrap_or_default()
    }

    fn skip_spaces(&mut self) {
        while self.peek() == Some(b' ') {
            self.at += 1;
        }
    }

    /// The fault at the present place, `length` bytes long.
    fn fault(&self, length: usize, wrong: Wrong) -> Fault {
        Fault { start: self.at, end: self.at + length, wrong }
    }

    fn part<T>(&mut self, value: T, length: usize) -> Part<T> {
        let start = self.at as u8; // at most `LONGEST`
        self.at += length;
        Part { value, start, end: self.at as u8 }
    }

    fn layer(&mut self) -> Result<Layer, Fault> {
        let root = self.root()?;
        let mut elements = Elements::new();
        let mut bass = None;
        while let Some(byte) = self.peek() {
            match byte {
                b' ' | b',' => self.at += 1,
                b'(' => {
                    if self.open.is_some() {
                        return Err(self.fault(1, Wrong::OpenedTwice));
                    }
                    self.open = Some(self.at);
                    self.at += 1;
                }
                b')' => {
                    if self.open.take().is_none() {
                        return Err(self.fault(1, Wrong::NeverOpened));
                    }
                    self.at += 1;
                }
                b'|' => break,
                // `C7/b9` and `C7/9` add; notes are in upper case.
                b'/' if !self.is_bass(self.at + 1) => self.at += 1,
                b'/' => {
                    bass = Some(self.bass(1)?);
                    break;
                }
                _ => match word_at(self.rest(self.at)) {
                    Some((Word::Over, length)) => {
                        bass = Some(self.bass(length)?);
                        break;
                    }
                    word => elements.push(self.element(byte, word)?),
                },
            }
        }
        if let Some(at) = self.open {
            return Err(Fault { start: at, end: at + 1, wrong: Wrong::NeverClosed });
        }
        let text = self.text;
        let chord = lower(text, root, &elements, bass)?;
        Ok(Layer { root, elements, bass, chord })
    }

    /// Whether what stands here can only be meant as a bass: anything but a number with or without a sign.
    fn is_bass(&self, at: usize) -> bool {
        let sign = match word_at(self.rest(at)) {
            Some((Word::Alter(_) | Word::Plain(..), length)) => length,
            _ => 0,
        };
        !self.text.get(at + sign).is_some_and(u8::is_ascii_digit)
    }

    fn root(&mut self) -> Result<Part<NoteName>, Fault> {
        match self.note(self.at) {
            Some((root, length)) => {
                let root = self.part(root, length);
                self.at_most_two_accidentals(root)?;
                Ok(root)
            }
            None if self.text.is_empty() => Err(self.fault(0, Wrong::Empty)),
            None => Err(self.fault(char_length(self.rest(self.at)), Wrong::NoRoot)),
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

    /// The bass behind a slash or word of `length` bytes; a chord ends with it.
    fn bass(&mut self, length: usize) -> Result<Part<NoteName>, Fault> {
        if let Some(at) = self.open {
            return Err(Fault { start: at, end: at + 1, wrong: Wrong::NeverClosed });
        }
        let slash = self.at;
        self.at += length;
        self.skip_spaces();
        let end = self.text.len();
        let Some((bass, length)) = self.note(self.at) else {
            return Err(Fault { start: slash, end, wrong: Wrong::NoBass });
        };
        let bass = self.part(bass, length);
        self.at_most_two_accidentals(bass)?;
        self.skip_spaces();
        match self.peek() {
            None | Some(b'|') => Ok(bass),
            Some(_) => Err(Fault { start: bass.start.into(), end, wrong: Wrong::ChordAsBass }),
        }
    }

    fn element(&mut self, byte: u8, word: Option<(Word, usize)>) -> Result<Part<Element>, Fault> {
        if byte.is_ascii_digit() {
            return self.number();
        }
        let Some((word, length)) = word else { return Err(self.unknown()) };
        match word {
            Word::Sign(element) => Ok(self.part(element, length)),
            Word::Number(3) => Err(self.fault(length, Wrong::UnknownNumber)),
            Word::Number(number) => {
                self.altering = true;
                Ok(self.part(Element::Number(number), length))
            }
            Word::Add => self.add(length),
            Word::Omit => match self.number_behind(length) {
                Some((number @ (2..=7 | 9 | 11 | 13), length)) => {
                    Ok(self.part(Element::Omit(number), length))
                }
                Some((_, length)) => Err(self.fault(length, Wrong::NotToLeaveOut)),
                None => Err(self.fault(length, Wrong::NotToLeaveOut)),
            },
            Word::Alter(alteration) => self.alteration(alteration, length),
            Word::Plain(alteration, alone) => match self.number_behind(length) {
                Some((number, _)) if self.altering || self.open.is_some() || number == 5 => {
                    self.alteration(alteration, length)
                }
                _ => Ok(self.part(alone, length)),
            },
            Word::Over => Err(self.unknown()), // taken by the caller
        }
    }

    /// A number in digits: `7`, `13`, `6/9`, `69`, `9th`.
    fn number(&mut self) -> Result<Part<Element>, Fault> {
        let (number, length) = match self.rest(self.at) {
            [b'6', b'/', b'9', next @ ..] if !starts_with_digit(next) => (69, 3),
            text => digits(text),
        };
        match number {
            2 | 4 | 5 | 6 | 7 | 9 | 11 | 13 | 69 => {
                self.altering = true;
                Ok(self.part(Element::Number(number), length))
            }
            _ => Err(self.fault(length, Wrong::UnknownNumber)),
        }
    }

    /// The number behind a word or sign of `length` bytes, and the length of both together.
    fn number_behind(&self, length: usize) -> Option<(u8, usize)> {
        let mut at = self.at + length;
        // `flat ninth`, `no 3`
        while length > 1 && matches!(self.text.get(at), Some(b' ' | b'-')) {
            at += 1;
        }
        let text = self.rest(at);
        let (number, digits) = if starts_with_digit(text) {
            digits(text)
        } else {
            match word_at(text)? {
                (Word::Number(number), digits) => (number, digits),
                _ => return None,
            }
        };
        Some((number, at + digits - self.at))
    }

    fn alteration(&mut self, mut alteration: i8, mut length: usize) -> Result<Part<Element>, Fault> {
        if self.rest(self.at).starts_with(b"bb7") {
            (alteration, length) = (-2, 2);
        }
        let Some((number, whole)) = self.number_behind(length) else { return Err(self.unknown()) };
        let known = match number {
            5 => alteration.abs() == 1,
            7 => alteration != 2,
            _ => number < 14 && alteration.abs() == 1 && tension(number, alteration).is_some(),
        };
        if !known {
            return Err(self.fault(whole, Wrong::NotAnAlteration));
        }
        self.altering = true;
        Ok(self.part(Element::Alter { alteration, number }, whole))
    }

    fn add(&mut self, word: usize) -> Result<Part<Element>, Fault> {
        let mut at = self.at + word;
        while matches!(self.text.get(at), Some(b' ')) {
            at += 1;
        }
        let (alteration, sign) = match word_at(self.rest(at)) {
            Some((Word::Alter(alteration) | Word::Plain(alteration, _), length)) => (alteration, length),
            _ => (0, 0),
        };
        match self.number_behind(at + sign - self.at) {
            Some((number, length)) => {
                let known = match (number, alteration) {
                    (3, 0) => true,
                    (2 | 4 | 6 | 9 | 11 | 13, _) => tension(number, alteration).is_some(),
                    _ => false,
                };
                if !known {
                    return Err(self.fault(length, Wrong::NotToAdd));
                }
                self.altering = true;
                Ok(self.part(Element::Add { alteration, number }, length))
            }
            None => Err(self.fault(word, Wrong::NotToAdd)),
        }
    }

    fn unknown(&self) -> Fault {
        self.fault(char_length(self.rest(self.at)), Wrong::UnknownSign)
    }
}

/// The tension that an altered or added number means: a second is a ninth.
pub(super) fn tension(number: u8, alteration: i8) -> Option<Degree> {
    Degree::from_number(if number < 7 { number + 7 } else { number }, alteration)
}

fn starts_with_digit(text: &[u8]) -> bool {
    text.first().is_some_and(u8::is_ascii_digit)
}

/// The number at the start of a text (255 for a longer one) and its length, an ordinal's ending included.
fn digits(text: &[u8]) -> (u8, usize) {
    let length = text.iter().take_while(|byte| byte.is_ascii_digit()).count();
    let number =
        text.iter().take(length).fold(0u8, |n, digit| n.saturating_mul(10).saturating_add(digit - b'0'));
    let ending = text.get(length..length + 2);
    let ordinal = ending.is_some_and(|end| matches!(end, b"th" | b"nd" | b"rd"));
    (number, if ordinal { length + 2 } else { length })
}

/// Bytes of the character at the start of a text, at most what is there.
fn char_length(text: &[u8]) -> usize {
    let following = text.iter().skip(1).take_while(|byte| **byte & 0xC0 == 0x80).count();
    text.len().min(1 + following)
}
