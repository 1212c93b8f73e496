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

struct Reader<'a> {
    text: &'a [u8],
    at: usize,
    /// Where the body starts.
    body: usize,
    /// Whether a number was read, so that `-` and `+` alter.
    altering: bool,
    /// Whether that was one that a seventh goes with or a sixth, so that another one adds its note.
    numbered: bool,
    /// Whether the last element was a `maj`, which waits for its number.
    after_major: bool,
    /// Whether a slash stands before the next element.
    after_slash: bool,
    /// Where the parenthesis now open stands.
    open: Option<usize>,
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

    fn peek(&self) -> Option<u8> {
        self.text.get(self.at).copied()
    }

    fn rest(&self, from: usize) -> &'a [u8] {
        self.text.get(from..).unwrap_or_default()
    }

    fn skip_spaces(&mut self) {
        while self.peek() == Some(b' ') {
            self.at += 1;
        }
    }

    /// The fault at the present place, `length` bytes long.
    const fn fault(&self, length: usize, wrong: Wrong) -> Fault {
        Fault { start: self.at, end: self.at + length, wrong }
    }

    fn part<T>(&mut self, value: T, length: usize) -> Part<T> {
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

    fn element(&mut self, byte: u8, word: Option<(Word, usize)>) -> Result<Part<Element>, Fault> {
        if byte.is_ascii_digit() {
            return self.number();
        }
        let Some((word, length)) = word else { return Err(self.unknown()) };
        match word {
            Word::Circle if self.at == self.body && !self.begins_minor(length) => {
                Ok(self.part(Element::Diminished, length))
            }
            // `7aug5`, `7dim5`
            Word::Sign(Element::Augmented) if self.altering && self.is_five(length) => {
                self.alteration(1, length)
            }
            Word::Sign(Element::Diminished) if self.altering && self.is_five(length) => {
                self.alteration(-1, length)
            }
            Word::Sign(element) => Ok(self.part(element, length)),
            Word::Number(number) if is_number(number) => Ok(self.numbered(number, length)),
            Word::Number(_) => Err(self.fault(length, Wrong::UnknownNumber)),
            Word::Add => self.add(length),
            Word::Omit => match self.number_behind(length) {
                Some((number @ (2..=7 | 9 | 11 | 13), length)) => {
                    Ok(self.part(Element::Omit(number), length))
                }
                Some((_, length)) => Err(self.fault(length, Wrong::NotToLeaveOut)),
                None => Err(self.unknown()),
            },
            Word::Alter(alteration) => self.alteration(alteration, length),
            Word::Plain(alteration, alone) => match self.number_behind(length) {
                Some((number, _)) if self.altering || self.open.is_some() || number == 5 => {
                    self.alteration(alteration, length)
                }
                // Behind a number, and in a list, a minus by itself means nothing.
                _ if alteration < 0 && (self.altering || self.open.is_some()) => Err(self.unknown()),
                // In a list, a plus before another sign joins the two.
                _ if self.open.is_some() && self.number_behind_sign(length) => {
                    self.at += length;
                    let (byte, word) = (self.peek().unwrap_or_default(), word_at(self.rest(self.at)));
                    self.element(byte, word)
                }
                _ => Ok(self.part(alone, length)),
            },
            // Taken by the caller, but for a circle that stands elsewhere.
            Word::Circle | Word::Over | Word::Above | Word::Slash | Word::Nothing => Err(self.unknown()),
        }
    }

    /// Whether a bare `m` stands behind a circle of `length` bytes: `Dom7` is no diminished chord.
    fn begins_minor(&self, length: usize) -> bool {
        let rest = self.rest(self.at + length);
        rest.first() == Some(&b'm') && !rest.starts_with(b"ma")
    }

    fn is_five(&self, length: usize) -> bool {
        self.number_behind(length).is_some_and(|(number, _)| number == 5)
    }

    /// Whether an altered number stands behind a sign of `length` bytes.
    fn number_behind_sign(&self, length: usize) -> bool {
        match word_at(self.rest(self.at + length)) {
            Some((Word::Alter(_) | Word::Plain(..), sign)) => {
                starts_with_digit(self.rest(self.at + length + sign))
            }
            _ => false,
        }
    }

    /// A number in digits: `7`, `13`, `6/9`, `69`, `9th`; with its sign behind it in a list: `(5+)`, `(9b)`.
    fn number(&mut self) -> Result<Part<Element>, Fault> {
        let text = self.rest(self.at);
        let (number, length) = match text {
            [b'6', b'/', b'9', next @ ..] | [b'9', b'/', b'6', next @ ..] if !starts_with_digit(next) => {
                (69, 3)
            }
            [b'6', b'-', b'9', next @ ..] if !self.altering && !starts_with_digit(next) => (69, 3),
            text => digits(text),
        };
        if !is_number(number) || text.first() == Some(&b'0') {
            return Err(self.fault(length, Wrong::UnknownNumber));
        }
        let listed = self.open.is_some() || self.altering || number == 5;
        if let Some((alteration, sign)) = self.sign_behind(self.at + length).filter(|_| listed)
            && is_altered(number, alteration)
        {
            self.altering = true;
            return Ok(self.part(Element::Alter { alteration, number }, length + sign));
        }
        // Over a triad a ninth in a list is added: `C(9)`, `C/9`. `Cmaj(9)` waits for it.
        let lists = self.open.is_some() || self.after_slash;
        if lists && !self.numbered && !self.after_major && matches!(number, 9 | 11 | 13) {
            self.altering = true;
            return Ok(self.part(Element::Add { alteration: 0, number }, length));
        }
        Ok(self.numbered(number, length))
    }

    fn numbered(&mut self, number: u8, length: usize) -> Part<Element> {
        self.altering = true;
        self.numbered |= number > 5;
        self.part(Element::Number(number), length)
    }

    /// A sign that alters the number before it, with what ends it behind: `+`, `b`.
    fn sign_behind(&self, at: usize) -> Option<(i8, usize)> {
        match word_at(self.rest(at))? {
            (Word::Alter(alteration @ (-1 | 1)) | Word::Plain(alteration, _), length) => {
                let ends = self.text.get(at + length).is_none_or(|byte| b" ,;/|)]}".contains(byte));
                ends.then_some((alteration, length))
            }
            _ => None,
        }
    }

    /// The number behind a word or sign of `length` bytes, and the length of both together.
    fn number_behind(&self, length: usize) -> Option<(u8, usize)> {
        let mut at = self.at + length;
        // `flat ninth`, `no 3`: behind a word there may be a blank.
        let word = length > 1 && self.text.get(at - 1).is_some_and(u8::is_ascii_alphabetic);
        if word && matches!(self.text.get(at), Some(b' ' | b'-')) {
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
        if !is_altered(number, alteration) {
            return Err(self.fault(whole, Wrong::NotAnAlteration));
        }
        self.altering = true;
        // A natural sign names the note as it is anyway.
        let element = match alteration {
            0 => Element::Add { alteration, number },
            _ => Element::Alter { alteration, number },
        };
        Ok(self.part(element, whole))
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

    /// What stands here and means nothing: the letters of a word, or one sign.
    fn unknown(&self) -> Fault {
        let rest = self.rest(self.at);
        let letters = rest.iter().take_while(|byte| byte.is_ascii_alphabetic()).count();
        self.fault(letters.max(char_length(rest)), Wrong::UnknownSign)
    }
}

/// The tension that an altered or added number means: a second is a ninth.
pub(super) fn tension(number: u8, alteration: i8) -> Option<Degree> {
    Degree::from_number(if number < 7 { number + 7 } else { number }, alteration)
}

/// The numbers of the grammar.
const fn is_number(number: u8) -> bool {
    matches!(number, 2 | 4 | 5 | 6 | 7 | 9 | 11 | 13 | 69)
}

/// Whether a number has this alteration.
fn is_altered(number: u8, alteration: i8) -> bool {
    match number {
        5 => alteration.abs() == 1,
        7 => alteration != 0 && alteration != 2,
        4 | 6 | 9 | 11 | 13 => alteration.abs() <= 1 && tension(number, alteration).is_some(),
        _ => false,
    }
}

fn starts_with_digit(text: &[u8]) -> bool {
    text.first().is_some_and(u8::is_ascii_digit)
}

/// The number at the start of a text (255 for a longer one) and its length, an ordinal's ending included.
fn digits(text: &[u8]) -> (u8, usize) {
    let length = text.iter().take_while(|byte| byte.is_ascii_digit()).count();
    // A number does not start with 0.
    let number = match text.first() {
        Some(b'0') => 0,
        _ => text.iter().take(length).fold(0u8, |n, digit| n.saturating_mul(10).saturating_add(digit - b'0')),
    };
    let ending = text.get(length..length + 2);
    let ordinal = ending.is_some_and(|end| matches!(end, b"th" | b"nd" | b"rd"));
    (number, if ordinal { length + 2 } else { length })
}

/// Bytes of the character at the start of a text, at most what is there.
fn char_length(text: &[u8]) -> usize {
    let following = text.iter().skip(1).take_while(|byte| **byte & 0xC0 == 0x80).count();
    text.len().min(1 + following)
}
