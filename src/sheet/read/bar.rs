//! One bar of one part: everything that moves the clock, and what hangs on it.

use super::attributes::PartState;
use super::barline::read_barline;
use super::clock::Decimal;
use super::cursor::{Cursor, Tag};
use super::finding::Log;
use super::note::{Seen, read_note};
use super::raw::{RawBar, RawTempo};
use super::road::{Collected, Printed};
use super::score::Counts;
use super::symbol::read_symbol;
use crate::error::Result;
use crate::sheet::value::unit_of;

/// The present tick; rounded ones are reported once a bar.
pub(super) fn tick_now(state: &PartState, log: &mut Log) -> u32 {
    let (tick, exact) = state.clock.tick();
    if !exact {
        log.once(
            "a time is no whole number of ticks and was rounded",
            "a quarter has 10 080 ticks; divisions that divide it are exact",
        );
    }
    u32::try_from(tick).unwrap_or(0)
}

/// A bar in which nothing stands yet, with what the one before left to it.
pub(super) fn empty_bar(number: String, implicit: bool, state: &mut PartState) -> RawBar {
    let mut bar = RawBar {
        number,
        implicit,
        key: state.key,
        metre: state.metre,
        left: Default::default(),
        right: Default::default(),
        road: Default::default(),
        coda_sign: None,
        length: 0,
        notes: Vec::new(),
        symbols: Vec::new(),
    };
    state.behind.begin(&mut bar);
    bar
}

/// Reads a bar, from inside the element that holds its notes; `tag` is the one with its number.
pub(super) fn read_bar(
    cursor: &mut Cursor<'_>,
    tag: &Tag<'_>,
    state: &mut PartState,
    counts: &mut Counts,
    log: &mut Log,
) -> Result<RawBar> {
    state.clock.restart();
    let number = match tag.attribute("number")? {
        Some(number) => number.into_owned(),
        None => {
            let number = (log.bar.unwrap_or(0) + 1).to_string();
            log.say(format!("a bar without a number is called `{number}`"), "number the bars");
            number
        }
    };
    let mut bar = empty_bar(number, tag.has("implicit", "yes")?, state);
    let mut road = Collected::default();
    let mut last_start = None;
    cursor.children(|cursor, tag| {
        log.tick = u32::try_from(state.clock.tick().0).unwrap_or(0);
        log.byte = tag.byte;
        match tag.name() {
            "attributes" => {
                let before = (state.key, state.metre);
                state.read(cursor, log)?;
                if bar.length == 0 {
                    (bar.key, bar.metre) = (state.key, state.metre);
                } else if (state.key, state.metre) != before {
                    log.say(
                        "a change of key or metre inside a bar counts from the next bar",
                        "put the change at the start of a bar",
                    );
                }
            }
            "note" => {
                counts.note()?;
                let seen = Seen { byte: tag.byte, last_start };
                if let Some(note) = read_note(cursor, state, &seen, log)? {
                    bar.length = bar.length.max(note.start + note.duration);
                    last_start = Some(note.start);
                    bar.notes.push(note);
                }
            }
            "harmony" => {
                counts.note()?;
                let symbol = read_symbol(cursor, state, tag.byte, log)?;
                bar.symbols.push(symbol);
            }
            "forward" => {
                if !state.clock.advance(duration_in(cursor)?) {
                    log.say(
                        "a `forward` of this length makes no sense and was left out",
                        "export the tune again",
                    );
                }
                bar.length = bar.length.max(tick_now(state, log));
            }
            "backup" => {
                let moved = state.clock.advance(duration_in(cursor)?.negated());
                if !moved {
                    log.say(
                        "a `backup` goes back behind the start of the bar, the bar's start was taken",
                        "export the tune again",
                    );
                    state.clock.restart();
                }
            }
            "barline" => read_barline(cursor, tag, &mut bar, &mut road, log)?,
            "direction" => read_direction(cursor, tag.byte, log, &mut state.tempo, &mut road)?,
            "sound" => {
                read_sound(tag, log, &mut state.tempo)?;
                road.read_sound(tag, log.tick, log)?;
            }
            _ => {}
        }
        Ok(())
    })?;
    road.put(&mut bar, &mut state.behind, log);
    Ok(bar)
}

fn duration_in(cursor: &mut Cursor<'_>) -> Result<Decimal> {
    let mut duration = Decimal::ZERO;
    cursor.children(|cursor, tag| {
        if tag.name() == "duration" {
            duration = Decimal::read(&cursor.words()?).unwrap_or(Decimal::ZERO).absolute();
        }
        Ok(())
    })?;
    Ok(duration)
}

fn read_direction(
    cursor: &mut Cursor<'_>,
    byte: usize,
    log: &mut Log,
    tempo: &mut RawTempo,
    road: &mut Collected,
) -> Result<()> {
    let (mut printed, mut names_any) = (Printed::default(), false);
    cursor.children(|cursor, tag| {
        match tag.name() {
            "sound" => {
                read_sound(tag, log, tempo)?;
                names_any |= road.read_sound(tag, log.tick, log)?;
            }
            "direction-type" => cursor.children(|cursor, tag| match tag.name() {
                "metronome" => read_metronome(cursor, log, tempo),
                name => printed.read(cursor, name),
            })?,
            _ => {}
        }
        Ok(())
    })?;
    road.print(&printed, names_any, log.tick, byte, log);
    Ok(())
}

fn read_sound(tag: &Tag<'_>, log: &mut Log, tempo: &mut RawTempo) -> Result<()> {
    if let Some(text) = tag.attribute("tempo")? {
        match Decimal::read(&text).and_then(sensible_tempo) {
            Some(sound) => {
                tempo.sound.get_or_insert(sound);
            }
            None => log.say(
                format!(
                    "the tempo `{}` is not read, expected 1 to 1000 quarters a minute",
                    crate::pitch::shown(&text)
                ),
                "give the tempo in quarters a minute",
            ),
        }
    }
    Ok(())
}

/// A tempo rounded to whole quarters a minute.
fn sensible_tempo(tempo: Decimal) -> Option<u16> {
    u16::try_from(tempo.rounded().0).ok().filter(|tempo| (1..=1000).contains(tempo))
}

fn read_metronome(cursor: &mut Cursor<'_>, log: &mut Log, tempo: &mut RawTempo) -> Result<()> {
    let (mut units, mut dots, mut text) = (Vec::new(), 0u32, String::new());
    cursor.children(|cursor, tag| {
        match tag.name() {
            "beat-unit" if units.len() < 2 => units.push(cursor.text()?),
            "beat-unit-dot" if units.len() == 1 => dots = (dots + 1).min(3),
            "per-minute" => text = cursor.text()?,
            _ => {}
        }
        Ok(())
    })?;
    // Without a number it sets one note value equal to another, which is no tempo.
    if text.is_empty() {
        return Ok(());
    }
    let number: String = text
        .chars()
        .skip_while(|c| !c.is_ascii_digit())
        .take_while(|c| c.is_ascii_digit() || *c == '.')
        .collect();
    let unit = units.first().and_then(|unit| unit_of(unit));
    let printed = Decimal::read(&number).zip(unit).and_then(|(number, unit)| {
        let dotted = (2i64 << dots) - 1;
        sensible_tempo(number.scaled(4 * dotted, i64::from(unit) << dots)?)
    });
    match printed {
        Some(printed) => {
            tempo.printed.get_or_insert(printed);
        }
        None => log.say(
            format!("the metronome mark `{}` is not read", crate::pitch::shown(&text)),
            "write a note value and beats a minute",
        ),
    }
    Ok(())
}
