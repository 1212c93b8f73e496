//! `note`: pitch or rest, length, ties, printed value.

use std::borrow::Cow;

use super::attributes::PartState;
use super::bar::tick_now;
use super::clock::Decimal;
use super::cursor::Cursor;
use super::finding::Log;
use super::raw::{CUE, RawNote};
use crate::error::Result;
use crate::pitch::{Letter, Pitch, shown};
use crate::sheet::NoteValue;
use crate::sheet::value::unit_of;

/// What the bar knows before a note.
pub(super) struct Seen {
    pub(super) byte: usize,
    /// Where the note before started, for a note of the same chord.
    pub(super) last_start: Option<u32>,
}

#[derive(Default)]
struct Parts<'a> {
    grace: bool,
    cue: bool,
    chord: bool,
    rest: bool,
    unpitched: bool,
    pitch: Option<(Cow<'a, str>, Cow<'a, str>, Cow<'a, str>)>,
    duration: Option<Cow<'a, str>>,
    /// Stop and start, by sound.
    ties: Option<(bool, bool)>,
    /// Stop and start, by picture.
    tied: (bool, bool),
    voice: Cow<'a, str>,
    staff: u8,
    unit: Option<u8>,
    dots: u8,
    tuplet: (u8, u8),
}

/// Reads a note; `None` where it does not count (grace notes, notes without a length).
pub(super) fn read_note(
    cursor: &mut Cursor<'_>,
    state: &mut PartState,
    seen: &Seen,
    log: &mut Log,
) -> Result<Option<RawNote>> {
    let parts = read_parts(cursor)?;
    if parts.grace {
        log.once("grace notes are left out", "write them as full notes if they matter");
        return Ok(None);
    }
    let text = parts.duration.as_deref().unwrap_or_default();
    let Some(duration) = Decimal::read(text).filter(|d| *d > Decimal::ZERO) else {
        let found =
            if text.is_empty() { "no duration".into() } else { format!("the duration `{}`", shown(text)) };
        log.say(format!("a note with {found} is left out"), "give it a duration above 0");
        return Ok(None);
    };
    if !state.divisions_known {
        log.once("no divisions of a quarter are given, 1 was taken", "export the tune again");
    }
    let start = match seen.last_start {
        Some(start) if parts.chord => start,
        _ => tick_now(state, log),
    };
    let end = if parts.chord {
        // A note of a chord does not move the clock; it ends where the first one ends at the latest.
        tick_now(state, log)
    } else if state.clock.advance(duration) {
        tick_now(state, log)
    } else {
        log.say(
            format!("a note with the duration `{}` is left out, it is too long", shown(text)),
            "export the tune again",
        );
        return Ok(None);
    };
    if end <= start {
        log.say("a note shorter than a tick is left out", "a quarter has 10 080 ticks");
        return Ok(None);
    }
    let pitch = pitch_of(&parts, state, log);
    let (tied_from, tied_to) =
        if pitch.is_some() { parts.ties.unwrap_or(parts.tied) } else { (false, false) };
    let value = parts
        .unit
        .filter(|_| parts.dots <= 3 && parts.tuplet.0 > 0 && parts.tuplet.1 > 0)
        .map(|unit| NoteValue { unit, dots: parts.dots, tuplet: parts.tuplet });
    Ok(Some(RawNote {
        start,
        duration: end - start,
        pitch,
        tied_from,
        tied_to,
        value,
        voice: if parts.cue { CUE.into() } else { parts.voice.as_bytes().into() },
        staff: parts.staff,
        byte: seen.byte,
    }))
}

fn read_parts<'a>(cursor: &mut Cursor<'a>) -> Result<Parts<'a>> {
    let mut parts = Parts { staff: 1, tuplet: (1, 1), ..Parts::default() };
    cursor.children(|cursor, tag| {
        match tag.name() {
            "grace" => parts.grace = true,
            "cue" => parts.cue = true,
            "chord" => parts.chord = true,
            "rest" => parts.rest = true,
            "unpitched" => parts.unpitched = true,
            "pitch" => {
                let (mut step, mut alter, mut octave) =
                    <(Cow<'_, str>, Cow<'_, str>, Cow<'_, str>)>::default();
                cursor.children(|cursor, tag| {
                    match tag.name() {
                        "step" => step = cursor.words()?,
                        "alter" => alter = cursor.words()?,
                        "octave" => octave = cursor.words()?,
                        _ => {}
                    }
                    Ok(())
                })?;
                parts.pitch = Some((step, alter, octave));
            }
            "duration" => parts.duration = Some(cursor.words()?),
            "tie" => mark(parts.ties.get_or_insert_default(), tag.attribute("type")?.as_deref()),
            "voice" => parts.voice = cursor.words()?,
            "staff" => parts.staff = cursor.words()?.parse().unwrap_or(1),
            "type" => parts.unit = unit_of(&cursor.words()?),
            "dot" => parts.dots = parts.dots.saturating_add(1),
            "time-modification" => cursor.children(|cursor, tag| {
                match tag.name() {
                    "actual-notes" => parts.tuplet.0 = cursor.words()?.parse().unwrap_or(0),
                    "normal-notes" => parts.tuplet.1 = cursor.words()?.parse().unwrap_or(0),
                    _ => {}
                }
                Ok(())
            })?,
            "notations" => cursor.children(|_, tag| {
                if tag.name() == "tied" {
                    mark(&mut parts.tied, tag.attribute("type")?.as_deref());
                }
                Ok(())
            })?,
            _ => {}
        }
        Ok(())
    })?;
    Ok(parts)
}

fn mark(ties: &mut (bool, bool), edge: Option<&str>) {
    match edge {
        Some("stop") => ties.0 = true,
        Some("start") => ties.1 = true,
        Some("continue") => *ties = (true, true),
        _ => {}
    }
}

fn pitch_of(parts: &Parts<'_>, state: &PartState, log: &mut Log) -> Option<Pitch> {
    if parts.rest {
        return None;
    }
    let Some((step, alter, octave)) = &parts.pitch else {
        let what = if parts.unpitched { "an unpitched note" } else { "a note without pitch" };
        log.say(format!("{what} is read as a rest"), "give it a pitch");
        return None;
    };
    let alteration =
        if alter.is_empty() { Some((0, true)) } else { Decimal::read(alter).map(Decimal::rounded) };
    let pitch = alteration.and_then(|(semitones, exact)| {
        if !exact {
            log.once("a pitch between the keys is rounded to a semitone", "a keyboard has no quarter tones");
        }
        let mut letters = step.chars();
        let letter = Letter::from_char(letters.next()?).filter(|_| letters.next().is_none())?;
        let semitones = i8::try_from(semitones).ok().filter(|s| (-12..=12).contains(s))?;
        state.pitch(letter, semitones, octave.parse().ok().filter(|o| (-1..=10).contains(o))?)
    });
    if pitch.is_none() {
        let found = shown(&format!("{step} {alter} {octave}"));
        log.say(
            format!("the pitch `{found}` is read as a rest"),
            "give a step A to G, whole semitones and an octave 0 to 9",
        );
    }
    pitch
}
