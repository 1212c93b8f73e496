//! Did you mean: a symbol near to the text that can be read.

use itertools::Itertools;

use super::fault::{Fault, Wrong};
use super::read::read;
use super::words::spelled;
use crate::error::nearest;

/// Longer runs of letters are no misspelled word.
const LONGEST_WORD: usize = 15;

/// A symbol that can be read and differs from the text by one repair at the fault, where there is one.
///
/// Some fifty texts are tried at most, each in less than a microsecond; only errors pay for it.
pub(super) fn nearest_symbol(text: &str, fault: Fault) -> Option<String> {
    let (before, from) = text.split_at_checked(fault.start)?;
    let (found, after) = from.split_at_checked(fault.end.checked_sub(fault.start)?)?;
    let repaired = |middle: &str| readable(format!("{before}{middle}{after}"));
    match fault.wrong {
        Wrong::Empty
        | Wrong::Contradicts(..)
        | Wrong::SameKey(..)
        | Wrong::NotThere
        | Wrong::Accidentals
        | Wrong::ThirdChord
        | Wrong::NoChordAbove => None,
        Wrong::NoRoot => repaired(&in_letters(found)?),
        Wrong::NoBass => {
            // `C/e`
            let bass = found.strip_prefix('/')?;
            let (first, rest) = bass.split_at_checked(1)?;
            repaired(&format!("/{}{rest}", in_letters(first)?))
        }
        Wrong::NeverClosed => readable(format!("{text})")),
        Wrong::OpenedTwice => repaired(",").or_else(|| repaired("")),
        Wrong::NeverOpened => repaired(""),
        Wrong::BehindOptional => {
            let inside = before.trim_end().strip_suffix(')')?;
            readable(format!("{inside}{found})"))
        }
        Wrong::ChordAsBass => {
            let upper = before.strip_suffix('/')?;
            readable(format!("{upper}|{found}{after}"))
        }
        Wrong::UnknownNumber => stuck_numbers(found)
            .and_then(|numbers| repaired(&numbers))
            .or_else(|| numbers_near(found).find_map(repaired)),
        Wrong::NotAnAlteration | Wrong::NotToAdd | Wrong::NotToLeaveOut => {
            let digits = found.trim_start_matches(|c: char| !c.is_ascii_digit());
            let sign = found.strip_suffix(digits)?;
            numbers_near(digits).find_map(|number| repaired(&format!("{sign}{number}")))
        }
        Wrong::UnknownSign => named_otherwise(before, from)
            .or_else(|| word_near(before, from))
            .or_else(|| without(before, after)),
    }
}

fn readable(symbol: String) -> Option<String> {
    (symbol.len() <= super::ChordSymbol::LONGEST && read(&symbol).is_ok()).then_some(symbol)
}

/// The symbol without what means nothing in it: at its end, or at the end of a list. In front of a number it may mean
/// what nobody can know (`C^7`).
fn without(before: &str, after: &str) -> Option<String> {
    let ends = after.is_empty() || after.starts_with([')', ',', ' ', '|']) || is_bass(after);
    let kept = before.trim_end_matches([',', ' ']);
    let empty = kept.ends_with(['(', '/']);
    // What stands behind a letter is the rest of some word.
    let torn = kept == before && kept.len() > 1 && kept.ends_with(|c: char| c.is_ascii_lowercase());
    (ends && !empty && !torn).then(|| readable(format!("{kept}{after}"))).flatten()
}

fn is_bass(after: &str) -> bool {
    after.strip_prefix('/').is_some_and(|bass| bass.starts_with(|c: char| c.is_ascii_uppercase()))
}

/// Numbers that stand without anything between them: `713`, `75`.
fn stuck_numbers(found: &str) -> Option<String> {
    let (first, rest) =
        ["13", "11", "9", "7", "6"].iter().find_map(|n| Some((*n, found.strip_prefix(n)?)))?;
    match rest {
        "5" => Some(format!("{first}b5")),
        "9" | "11" | "13" => Some(format!("{first}({rest})")),
        _ => None,
    }
}

/// Notes as they are named elsewhere: `Es7`, `Cis7`.
fn named_otherwise(before: &str, from: &str) -> Option<String> {
    let root = before.strip_prefix('(').unwrap_or(before);
    if root.len() != 1 {
        return None;
    }
    let (sign, rest) = [("is", "#"), ("es", "b"), ("s", "b")]
        .iter()
        .find_map(|(word, sign)| Some((*sign, from.strip_prefix(word)?)))?;
    readable(format!("{before}{sign}{rest}"))
}

/// The root that a letter stands for: lower case, or H as German sheets have it.
fn in_letters(found: &str) -> Option<String> {
    match found {
        "H" | "h" => Some("B".into()),
        _ => Some(found.to_uppercase()).filter(|upper| upper != found),
    }
}

/// The numbers of the grammar, those meant by another one first: what it starts with, then what lies near. A tenth is a
/// third, which has no number here.
fn numbers_near(found: &str) -> impl Iterator<Item = &'static str> {
    let value: i32 = found.parse().unwrap_or(i32::MAX / 2);
    let starts = |number: &str| found.starts_with(number);
    let far = |number: &str| (number.parse::<i32>().unwrap_or_default() - value).abs();
    ["13", "11", "9", "7", "6", "5"]
        .into_iter()
        .filter(move |number| starts(number) || (far(number) <= 2 && value > 5 && value != 10))
        .sorted_by_key(move |number| (!starts(number), far(number)))
}

/// The text with the letters at its fault, and those before it that belong to them, replaced by the nearest word.
fn word_near(before: &str, from: &str) -> Option<String> {
    let is_letter = |c: &char| c.is_ascii_alphabetic();
    // The root is no part of the word.
    let back = before.chars().skip(1).collect::<Vec<_>>().into_iter().rev().take_while(is_letter).count();
    let (back, ahead) = (back.min(LONGEST_WORD), from.chars().take_while(is_letter).count());
    if ahead > LONGEST_WORD {
        return None;
    }
    (0..=back).rev().find_map(|back| {
        let (start, tail) = before.split_at_checked(before.len() - back)?;
        let (head, end) = from.split_at_checked(ahead)?;
        let found = format!("{tail}{head}");
        let word = nearest(&found.to_ascii_lowercase(), spelled())?;
        readable(format!("{start}{word}{end}")).filter(|_| found.len() > 1)
    })
}
