//! The elements of a body: words, numbers, alterations, additions.

use super::element::{Element, Part};
use super::fault::{Fault, Wrong};
use super::read::Reader;
use super::words::{Word, word_at};
use crate::chord::Degree;

impl Reader<'_> {
    pub(super) fn element(&mut self, byte: u8, word: Option<(Word, usize)>) -> Result<Part<Element>, Fault> {
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
    pub(super) fn sign_behind(&self, at: usize) -> Option<(i8, usize)> {
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

pub(super) fn starts_with_digit(text: &[u8]) -> bool {
    text.first().is_some_and(u8::is_ascii_digit)
}

/// The number at the start of a text (255 for a longer one) and its length, an ordinal's ending included.
pub(super) fn digits(text: &[u8]) -> (u8, usize) {
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
pub(super) fn char_length(text: &[u8]) -> usize {
    let following = text.iter().skip(1).take_while(|byte| **byte & 0xC0 == 0x80).count();
    text.len().min(1 + following)
}
