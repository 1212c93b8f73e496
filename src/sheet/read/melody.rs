//! From parts as written to one melody without gaps or overlaps.

use std::cmp::Reverse;
use std::collections::HashSet;

use super::finding::Log;
use super::raw::{CUE, RawBar, RawNote, RawPart, RawScore};
use crate::error::{Error, Kind, Result};
use crate::sheet::value::pieces;
use crate::sheet::{Bar, Note, NoteValue};

/// Which voice of which staff.
type Line<'a> = (&'a [u8], u8);

fn line_of(note: &RawNote) -> Line<'_> {
    (&note.voice, note.staff)
}

/// The first part with a pitch in it; failing that, the first with bars.
pub(in crate::sheet) fn chosen_part(score: &RawScore, log: &mut Log) -> usize {
    let sings =
        |part: &RawPart| part.bars.iter().any(|bar| bar.notes.iter().any(|note| note.pitch.is_some()));
    let Some(chosen) = score.parts.iter().position(sings) else {
        log.say("no part has a note, the melody is all rests", "check that the right part was exported");
        return score.parts.iter().position(|part| !part.bars.is_empty()).unwrap_or(0);
    };
    let others = score.parts.iter().skip(chosen + 1).filter(|part| sings(part)).count();
    if others > 0 {
        let parts = if others == 1 { "part is" } else { "parts are" };
        log.say(
            format!("the melody is taken from the first part with notes, {others} more {parts} left out"),
            "put the melody into the first part",
        );
    }
    chosen
}

/// Bars with their places.
pub(in crate::sheet) fn place_bars(part: &RawPart) -> Result<Vec<Bar>> {
    let mut start = 0u32;
    let mut bars = Vec::with_capacity(part.bars.len());
    for raw in &part.bars {
        let length = if raw.length == 0 { raw.metre.bar_ticks() } else { raw.length };
        bars.push(Bar {
            number: raw.number.clone(),
            implicit: raw.implicit,
            start,
            length,
            metre: raw.metre,
            key: raw.key,
            left: raw.left.clone(),
            right: raw.right.clone(),
            road: raw.road.clone(),
        });
        start = start.checked_add(length).ok_or_else(|| {
            Error::new(
                Kind::Limit,
                format!("the score is longer than {} ticks, the limit of a time", u32::MAX),
            )
            .with_help("a quarter has 10 080 ticks; check the durations")
        })?;
    }
    Ok(bars)
}

/// The melody of a part whose bars have been placed.
pub(in crate::sheet) fn melody(part: &RawPart, bars: &[Bar], log: &mut Log) -> Vec<Note> {
    let all = || part.bars.iter().flat_map(|bar| &bar.notes);
    // The voice of the first note, unless it only ever rests.
    let singing: HashSet<Line<'_>> =
        all().filter(|note| note.pitch.is_some() && &note.voice[..] != CUE).map(line_of).collect();
    let first = all().map(line_of).find(|line| singing.contains(line));
    let line = first.or_else(|| all().next().map(line_of)).unwrap_or_default();
    let mut notes = Vec::new();
    for (index, (raw, bar)) in part.bars.iter().zip(bars).enumerate() {
        log.bar = Some(index);
        bar_notes(raw, bar, line, log, &mut notes);
    }
    log.bar = None;
    notes
}

fn bar_notes(raw: &RawBar, bar: &Bar, line: Line<'_>, log: &mut Log, out: &mut Vec<Note>) {
    let is_mine = |note: &&RawNote| line_of(note) == line;
    if let Some(other) = raw.notes.iter().find(|note| note.pitch.is_some() && !is_mine(note)) {
        (log.tick, log.byte) = (other.start, other.byte);
        log.once("other voices than the melody are left out", "put the melody into the first voice");
    }
    let mut mine: Vec<&RawNote> = raw.notes.iter().filter(is_mine).collect();
    mine.sort_by_key(|note| (note.start, Reverse(note.pitch)));
    // Their starts count from the start of the bar until all are known.
    let mut kept: Vec<Note> = Vec::with_capacity(mine.len());
    for note in mine {
        (log.tick, log.byte) = (note.start, note.byte);
        match kept.last_mut() {
            Some(last) if last.start == note.start => {
                if note.pitch.is_some() {
                    log.once("of notes together the highest is kept", "write the melody as single notes");
                }
                continue;
            }
            Some(last) if last.start + last.duration > note.start => {
                log.once("a note that runs into the next is cut", "put it into a voice of its own");
                last.duration = note.start - last.start;
                last.value = None;
                last.tied_to = false;
            }
            _ => {}
        }
        kept.push(Note {
            start: note.start,
            duration: note.duration,
            pitch: note.pitch,
            tied_from: note.tied_from,
            tied_to: note.tied_to,
            value: note.value,
        });
    }
    let mut at = 0;
    for note in kept {
        rests(bar, at, note.start, out);
        at = note.start + note.duration;
        out.push(Note {
            start: bar.start + note.start,
            value: note.value.or_else(|| NoteValue::of_ticks(note.duration)),
            ..note
        });
    }
    rests(bar, at, bar.length, out);
}

/// Rests from one tick of a bar to another.
fn rests(bar: &Bar, from: u32, to: u32, out: &mut Vec<Note>) {
    let rest = |start, duration, value| Note {
        start,
        duration,
        pitch: None,
        tied_from: false,
        tied_to: false,
        value,
    };
    if from == 0 && to == bar.length {
        out.push(rest(bar.start, to, NoteValue::of_ticks(to)));
        return;
    }
    let mut at = bar.start + from;
    for (ticks, value) in pieces(from, to.saturating_sub(from), bar.metre.beat_ticks()) {
        out.push(rest(at, ticks, value));
        at += ticks;
    }
}
