//! Lines of melody: the notes of the bars in the line above.

use super::bar::{Item, item, spread};
use crate::error::Result;
use crate::pitch::{Pitch, shown};
use crate::sheet::Metre;
use crate::sheet::draft::{Draft, Line, shown_beats};
use crate::sheet::read::raw::RawNote;

/// The melody of a bar.
pub(super) struct Voice<'a> {
    text: Line<'a>,
}

/// The bars of a line behind its `>`, one more than `most` where there are more.
pub(super) fn voices(line: Line<'_>, most: usize) -> Vec<Voice<'_>> {
    let mut line = line.trimmed();
    let mut voices = Vec::new();
    loop {
        match line.until('|').filter(|_| voices.len() <= most) {
            Some(text) => voices.push(Voice { text }),
            None => {
                // A stroke at the end closes the last bar.
                if voices.len() <= most && !line.rest().trim().is_empty() {
                    voices.push(Voice { text: Line::new(line.rest(), line.byte()) });
                }
                return voices;
            }
        }
    }
}

/// Puts the notes of a bar of this length into the sheet.
pub(super) fn fill(voice: &Voice<'_>, metre: Metre, length: u32, draft: &mut Draft<'_>) -> Result<()> {
    let mut line = voice.text;
    let mut items: Vec<Item> = Vec::new();
    loop {
        line.while_some(char::is_whitespace);
        let byte = line.byte();
        draft.notes_ahead(items.len(), byte)?;
        match item(&mut line, draft) {
            Some(item) => items.push(item),
            None => match line.next() {
                Some(sign) => {
                    let message =
                        format!("the sign `{}` is left out, expected notes", shown(&sign.to_string()));
                    draft.say(byte, 0, message, "write notes such as `Bb4`, and `r` for rests");
                }
                None => break,
            },
        }
    }
    if items.is_empty() {
        return Ok(());
    }
    let found = spread(&items, metre, length, draft);
    if found.length != length {
        let message = format!(
            "the melody of the bar lasts {} beats, its chords {}",
            shown_beats(found.length, metre),
            shown_beats(length, metre)
        );
        draft.say(
            voice.text.trimmed().start,
            0,
            message,
            "give both the same beats; the bar lasts as long as the longer one",
        );
    }
    for (item, (start, end)) in items.iter().zip(found.places) {
        if end <= start {
            continue;
        }
        let pitch = match item.text.as_str() {
            "r" => None,
            text => match text.parse::<Pitch>() {
                Ok(pitch) => Some(pitch),
                Err(error) => {
                    let message = format!("`{}` is read as a rest, {error}", shown(text));
                    draft.say(
                        item.byte,
                        start,
                        message,
                        "write a pitch with its octave, such as `Bb4`, or `r`",
                    );
                    None
                }
            },
        };
        draft.note(RawNote {
            start,
            duration: end - start,
            pitch,
            tied_from: false,
            tied_to: item.is_tied,
            value: None,
            voice: Default::default(),
            staff: 1,
            byte: item.byte,
        })?;
    }
    Ok(())
}
