//! `harmony` as written, before it is understood.

use std::borrow::Cow;

use super::attributes::PartState;
use super::clock::Decimal;
use super::cursor::Cursor;
use super::finding::Log;
use super::raw::RawSymbol;
use crate::chord::vocabulary::musicxml::{DegreeChange, DegreeChangeType};
use crate::error::Result;
use crate::pitch::{Accidental, Letter, NoteName, shown};

/// More degrees than this belong to no chord; the rest is passed over.
const MOST_DEGREES: usize = 24;

/// Reads a chord symbol at the present place.
pub(super) fn read_symbol(
    cursor: &mut Cursor<'_>,
    state: &PartState,
    byte: usize,
    log: &mut Log,
) -> Result<RawSymbol> {
    let mut symbol = RawSymbol {
        tick: state.clock.tick().0,
        byte,
        root: None,
        root_text: None,
        instead_of_root: String::new(),
        kind: String::new(),
        text: None,
        inversion: None,
        bass: None,
        degrees: Vec::new(),
    };
    let mut kinds = 0;
    cursor.children(|cursor, tag| {
        match tag.name() {
            // A second kind begins the second chord of a stack; the first is the one that is read.
            "kind" => {
                kinds += 1;
                if kinds == 1 {
                    symbol.text = tag.attribute("text")?.map(Cow::into_owned);
                    symbol.kind = cursor.text()?;
                }
            }
            _ if kinds > 1 && tag.name() != "offset" => {}
            "root" if kinds == 0 => {
                let (root, text) = read_name(cursor, "root")?;
                (symbol.root, symbol.root_text) = (root.map(|name| state.name(name)), text);
            }
            "bass" => symbol.bass = read_name(cursor, "bass")?.0.map(|name| state.name(name)),
            "function" => symbol.instead_of_root = cursor.text()?,
            "numeral" => cursor.children(|cursor, tag| {
                if tag.name() == "numeral-root" {
                    symbol.instead_of_root = match tag.attribute("text")? {
                        Some(text) if !text.is_empty() => text.into_owned(),
                        _ => cursor.text()?,
                    };
                }
                Ok(())
            })?,
            "inversion" => symbol.inversion = Some(cursor.text()?),
            "degree" if symbol.degrees.len() < MOST_DEGREES => symbol.degrees.push(read_degree(cursor)?),
            "offset" => {
                let text = cursor.text()?;
                match Decimal::read(&text) {
                    Some(by) => symbol.tick = state.clock.at_offset(by).0,
                    None => log.say(
                        format!("the offset `{}` of a chord symbol is no number and left out", shown(&text)),
                        "give a number of divisions",
                    ),
                }
            }
            _ => {}
        }
        Ok(())
    })?;
    // A text alone, as our writer puts it where a symbol has no root.
    let hidden = symbol.root_text.as_ref().is_some_and(String::is_empty);
    if hidden && symbol.kind == "other" && symbol.degrees.is_empty() {
        symbol.root = None;
    }
    if kinds > 1 {
        log.say(
            "of several chords above each other the first is read",
            "write one chord, with its bass behind a slash",
        );
    }
    Ok(symbol)
}

/// A name written as `root-step` and `root-alter`, or with `bass` in the place of `root`; and the text that is printed
/// for it, where it has one of its own.
fn read_name(cursor: &mut Cursor<'_>, what: &str) -> Result<(Option<NoteName>, Option<String>)> {
    let (mut step, mut alter, mut text) = (Cow::Borrowed(""), Cow::Borrowed(""), None);
    cursor.children(|cursor, tag| {
        match tag.name().strip_prefix(what) {
            Some("-step") => {
                text = tag.attribute("text")?.map(Cow::into_owned);
                step = cursor.words()?;
            }
            Some("-alter") => alter = cursor.words()?,
            _ => {}
        }
        Ok(())
    })?;
    let mut letters = step.chars();
    let letter = letters.next().and_then(Letter::from_char).filter(|_| letters.next().is_none());
    let alter = if alter.is_empty() { Some((0, true)) } else { Decimal::read(&alter).map(Decimal::rounded) };
    let accidental = alter
        .filter(|(_, exact)| *exact)
        .and_then(|(semitones, _)| i8::try_from(semitones).ok())
        .and_then(Accidental::from_semitones);
    Ok((letter.zip(accidental).map(|(letter, accidental)| NoteName::new(letter, accidental)), text))
}

/// A degree, or how it is written where it makes no sense.
fn read_degree(cursor: &mut Cursor<'_>) -> Result<Result<DegreeChange, String>> {
    let (mut value, mut alter, mut kind) = (Cow::Borrowed(""), Cow::Borrowed(""), Cow::Borrowed(""));
    cursor.children(|cursor, tag| {
        match tag.name() {
            "degree-value" => value = cursor.words()?,
            "degree-alter" => alter = cursor.words()?,
            "degree-type" => kind = cursor.words()?,
            _ => {}
        }
        Ok(())
    })?;
    let alteration =
        if alter.is_empty() { Some((0, true)) } else { Decimal::read(&alter).map(Decimal::rounded) };
    let change = || {
        let (semitones, exact) = alteration?;
        Some(DegreeChange {
            kind: DegreeChangeType::ALL.into_iter().find(|k| k.as_str() == kind)?,
            number: value.parse().ok()?,
            alter: i8::try_from(semitones).ok().filter(|_| exact)?,
        })
    };
    Ok(change().ok_or_else(|| shown(&format!("{kind} {value} {alter}"))))
}
