//! What stands in a bar: items that share its time.

use crate::pitch::shown;
use crate::sheet::Metre;
use crate::sheet::draft::{Draft, LONGEST_BAR, Line, Ratio, shown_beats};

/// A word in a bar, with the beats that it says it lasts.
#[derive(Clone, Debug)]
pub(super) struct Item {
    pub(super) byte: usize,
    pub(super) text: String,
    /// Whether the word stood in quotes, and so is a symbol whatever it looks like.
    pub(super) is_quoted: bool,
    pub(super) beats: Option<Ratio>,
    /// Whether `~` stands behind it.
    pub(super) is_tied: bool,
}

/// An item with its place in the bar.
pub(super) struct Spread {
    /// First tick and the tick behind, for each item.
    pub(super) places: Vec<(u32, u32)>,
    /// Ticks of all items together.
    pub(super) length: u32,
}

/// Reads a word with what stands right behind it; `None` where none comes next.
pub(super) fn item(line: &mut Line<'_>, draft: &mut Draft<'_>) -> Option<Item> {
    let byte = line.byte();
    let is_quoted = line.eat("\"");
    let text = if is_quoted {
        quoted(line, draft, byte)
    } else {
        let rest = line.rest();
        let ends = |(at, c): &(usize, char)| {
            c.is_whitespace()
                || matches!(c, '|' | '*' | '"' | '{' | '}' | '~' | '<')
                || rest.get(*at..).is_some_and(|rest| rest.starts_with(":|"))
        };
        let length = rest.char_indices().find(ends).map_or(rest.len(), |(at, _)| at);
        let word = rest.get(..length).unwrap_or_default();
        *line = Line::new(rest.get(length..).unwrap_or_default(), byte + length);
        word.to_owned()
    };
    let has_beats = line.eat("*");
    let beats = has_beats.then(|| beats(line, draft, byte)).flatten();
    let is_tied = line.eat("~");
    (is_quoted || has_beats || is_tied || !text.is_empty()).then_some(Item {
        byte,
        text,
        is_quoted,
        beats,
        is_tied,
    })
}

/// The text behind a quote; two quotes are one.
fn quoted(line: &mut Line<'_>, draft: &mut Draft<'_>, byte: usize) -> String {
    let mut text = String::new();
    loop {
        match line.until('"') {
            Some(part) => text.push_str(part.text),
            None => {
                text.push_str(line.rest());
                line.skip_all();
                draft.once(byte, 0, "a symbol in quotes is not closed", "write `\"` behind the symbol");
                return text;
            }
        }
        if !line.eat("\"") {
            return text;
        }
        text.push('"');
    }
}

/// The beats behind `*`.
fn beats(line: &mut Line<'_>, draft: &mut Draft<'_>, byte: usize) -> Option<Ratio> {
    let text = line.while_some(|c| c.is_ascii_digit() || c == '/');
    let is_sound = text.starts_with(|c: char| c.is_ascii_digit()) && !text.ends_with('/');
    let beats = Ratio::read_length(text).filter(|beats| is_sound && *beats != Ratio::ZERO);
    if beats.is_none() {
        let message = format!("the beats `*{}` are not read and left out", shown(text));
        draft.say(byte, 0, message, "write beats as `*2`, `*1/2` or `*3/2`");
    }
    beats
}

/// Gives every item its time in a bar of this length; those without beats share what is left of it.
pub(super) fn spread(items: &[Item], metre: Metre, length: u32, draft: &mut Draft<'_>) -> Spread {
    let beat = Ratio::of_ticks(metre.beat_ticks()).unwrap_or(Ratio::ONE);
    let said = |item: &Item| item.beats.and_then(|beats| beats.times(beat));
    let sum = items.iter().filter_map(said).try_fold(Ratio::ZERO, Ratio::plus);
    let open = u64::try_from(items.iter().filter(|item| said(item).is_none()).count()).unwrap_or(u64::MAX);
    let byte = items.first().map_or(0, |item| item.byte);
    let left = sum.zip(Ratio::of_ticks(length)).and_then(|(sum, length)| length.minus(sum));
    let share = left.and_then(|left| left.times(Ratio::new(1, open)?)).filter(|share| *share != Ratio::ZERO);
    let share = match share {
        Some(share) => {
            let (ticks, exact) = share.ticks();
            let half = u64::from(metre.beat_ticks() / 2).max(1);
            if open > 1 && (!exact || ticks % half != 0) {
                let length = shown_beats(length, metre);
                let message = format!(
                    "{open} words share a bar of {length} beats equally, so that some fall between the beats"
                );
                draft.say(byte, 0, message, "say how many beats they last, such as `*2`");
            }
            share
        }
        None => {
            if open > 0 {
                let item = items.iter().find(|item| said(item).is_none());
                let (byte, text) = item.map_or((byte, ""), |item| (item.byte, item.text.as_str()));
                let message = format!("nothing of the bar is left for `{}`, it lasts one beat", shown(text));
                draft.say(byte, 0, message, "give the other words fewer beats, or this one its own");
            }
            beat
        }
    };
    let (mut at, mut start) = (Ratio::ZERO, 0);
    let mut places = Vec::with_capacity(items.len());
    for item in items {
        let next = at.plus(said(item).unwrap_or(share));
        let end = next.and_then(|next| u32::try_from(next.ticks().0).ok()).filter(|end| *end < LONGEST_BAR);
        match next.zip(end) {
            Some((next, end)) if end > start => {
                places.push((start, end));
                (at, start) = (next, end);
            }
            _ => {
                places.push((start, start));
                let message = format!("`{}` is left out, its beats make no sense", shown(&item.text));
                draft.say(item.byte, start, message, "a bar lasts from one beat to some thousand");
            }
        }
    }
    Spread { places, length: start }
}
