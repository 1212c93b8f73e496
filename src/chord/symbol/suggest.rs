//! Did you mean: a symbol near to the text that can be read.

use itertools::Itertools;

use super::fault::{Fault, Wrong};
use super::read::read;
use super::words::spelled;
use crate::error::nearest;

/// A symbol that can be read and differs from the text by one repair at the fault, where there is one.
///
/// At most some fifty texts are tried, each in less than a microsecond; only errors pay for it.
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
        | Wrong::NoBass
        | Wrong::NoChordAbove => None,
        Wrong::NoRoot => repaired(&in_letters(found)?),
        Wrong::NeverClosed => readable(format!("{text})")),
        Wrong::OpenedTwice => repaired(",").or_else(|| repaired("")),
        Wrong::NeverOpened => repaired(""),
        Wrong::ChordAsBass => {
            let upper = before.strip_suffix('/')?;
            readable(format!("{upper}|{found}{after}"))
        }
        Wrong::UnknownNumber => numbers_near(found).find_map(repaired),
        Wrong::NotAnAlteration | Wrong::NotToAdd | Wrong::NotToLeaveOut => {
            let digits = found.trim_start_matches(|c: char| !c.is_ascii_digit());
            let sign = found.strip_suffix(digits)?;
            numbers_near(digits).find_map(|number| repaired(&format!("{sign}{number}")))
        }
        Wrong::UnknownSign => {
            let without = || readable(format!("{}{after}", before.trim_end_matches([',', ' '])));
            word_near(before, from).or_else(without).or_else(|| repaired(""))
        }
    }
}

fn readable(symbol: String) -> Option<String> {
    (symbol.len() <= super::ChordSymbol::LONGEST && read(&symbol).is_ok()).then_some(symbol)
}

/// The root that a letter stands for: lower case, or H as German sheets have it.
fn in_letters(found: &str) -> Option<String> {
    match found {
        "H" | "h" => Some("B".into()),
        _ => Some(found.to_uppercase()).filter(|upper| upper != found),
    }
}

/// The numbers of the grammar, those meant by another one first: what it starts with, then what lies near.
fn numbers_near(found: &str) -> impl Iterator<Item = &'static str> {
    let value: i32 = found.parse().unwrap_or(i32::MAX / 2);
    let starts = |number: &str| found.starts_with(number);
    let far = |number: &str| (number.parse::<i32>().unwrap_or_default() - value).abs();
    ["13", "11", "9", "7", "6", "5"]
        .into_iter()
        .filter(move |number| starts(number) || far(number) <= 2)
        .sorted_by_key(move |number| (!starts(number), far(number)))
}

/// The text with the letters at its fault, and those before it that belong to them, replaced by the nearest word.
fn word_near(before: &str, from: &str) -> Option<String> {
    let is_letter = |c: &char| c.is_ascii_alphabetic();
    // The root is no part of the word.
    let back = before.chars().skip(1).collect::<Vec<_>>().into_iter().rev().take_while(is_letter).count();
    let ahead = from.chars().take_while(is_letter).count();
    (0..=back).rev().find_map(|back| {
        let (start, tail) = before.split_at_checked(before.len() - back)?;
        let (head, end) = from.split_at_checked(ahead)?;
        let found = format!("{tail}{head}");
        let word = nearest(&found.to_ascii_lowercase(), spelled())?;
        readable(format!("{start}{word}{end}")).filter(|_| found.len() > 1)
    })
}
