//! A sheet put together bar by bar: what the readers of written lines have in common.
//!
//! A reader says notes, symbols, barlines and endings in the order of the text; the draft keeps the limits, numbers the bars,
//! fills gaps with rests, closes brackets and finds the place of every finding.

mod barline;
mod lines;
mod numbers;
mod ratio;
mod symbol;

pub(super) use barline::{Sign, divides, turns};
pub(super) use lines::{Line, lines};
pub(super) use ratio::Ratio;
pub(super) use symbol::{symbol, unread};

use std::borrow::Cow;

use super::read::chords::Understood;
use super::read::finding::{Entry, Log};
use super::read::raw::{RawBar, RawNote, RawPart};
use super::read::score::{Counts, exceeded};
use super::read::symbols::{Placed, settle as settle_symbols};
use super::read::{self, ReadOptions, Reading, SheetFinding, melody};
use super::road::{CodaSign, Mark, settle};
use super::{Bar, Barline, Ending, EndingEdge, LeadSheet, Metre, PlacedChord, Road};
use crate::chord::Key;
use crate::error::{Error, Result};
use crate::pitch::Pitch;

/// A bar holds fewer ticks than this, so that sums of two never overflow.
pub(super) const LONGEST_BAR: u32 = u32::MAX / 4;

/// What a sheet says about itself.
#[derive(Debug, Default)]
pub(super) struct Head {
    pub(super) title: String,
    pub(super) tempo: Option<u16>,
}

/// A symbol at its place in a bar.
struct Symbol {
    bar: usize,
    tick: u32,
    byte: usize,
    understood: Understood,
}

/// A tie that waits for its second note.
struct Tie {
    pitch: Pitch,
    byte: usize,
    /// Where the first note stands: bar, tick.
    place: (usize, u32),
}

/// A sheet being read.
pub(super) struct Draft<'a> {
    text: &'a str,
    options: &'a ReadOptions,
    counts: Counts,
    pub(super) log: Log,
    bars: Vec<RawBar>,
    /// Where each bar starts in the text.
    bytes: Vec<usize>,
    symbols: Vec<Symbol>,
    /// The bar being filled.
    open: RawBar,
    open_byte: Option<usize>,
    has_symbol: bool,
    tie: Option<Tie>,
    /// How many bars behind the one being filled the reader is, where it reads ahead.
    pub(super) ahead: usize,
}

fn new_bar(key: Key, metre: Metre) -> RawBar {
    RawBar {
        number: String::new(),
        implicit: false,
        key,
        metre,
        left: Barline::default(),
        right: Barline::default(),
        road: Road::default(),
        coda_sign: None,
        length: 0,
        notes: Vec::new(),
        symbols: Vec::new(),
    }
}

impl<'a> Draft<'a> {
    pub(super) fn new(text: &'a str, options: &'a ReadOptions) -> Self {
        Self {
            text,
            options,
            counts: Counts { limits: options.limits, notes: 0 },
            log: Log::default(),
            bars: Vec::new(),
            bytes: Vec::new(),
            symbols: Vec::new(),
            open: new_bar(Key::C_MAJOR, Metre::COMMON),
            open_byte: None,
            has_symbol: false,
            tie: None,
            ahead: 0,
        }
    }

    /// Whether the bar being filled has nothing in it.
    pub(super) fn is_empty(&self) -> bool {
        self.open.length == 0 && !self.has_symbol
    }

    /// Whether no bar has anything in it.
    pub(super) fn is_start(&self) -> bool {
        self.bars.is_empty() && self.is_empty()
    }

    /// How many bars are closed.
    pub(super) fn closed(&self) -> usize {
        self.bars.len()
    }

    /// How long the bar being filled is so far, in ticks.
    pub(super) fn length(&self) -> u32 {
        self.open.length
    }

    /// A finding at a place of the text, so many ticks into the bar being filled.
    pub(super) fn say(
        &mut self,
        byte: usize,
        tick: u32,
        message: impl Into<String>,
        help: impl Into<String>,
    ) {
        self.say_at((self.bars.len() + self.ahead, tick), byte, message, help);
    }

    /// The same for any bar.
    pub(super) fn say_at(
        &mut self,
        (bar, tick): (usize, u32),
        byte: usize,
        message: impl Into<String>,
        help: impl Into<String>,
    ) {
        (self.log.bar, self.log.tick, self.log.byte) = (Some(bar), tick, byte);
        self.log.say(message, help);
    }

    /// The same, at most once in each bar for these words.
    pub(super) fn once(&mut self, byte: usize, tick: u32, message: &'static str, help: &'static str) {
        (self.log.bar, self.log.tick, self.log.byte) = (Some(self.bars.len() + self.ahead), tick, byte);
        self.log.once(message, help);
    }

    /// A finding that is about no bar.
    pub(super) fn say_of_head(&mut self, byte: usize, message: impl Into<String>, help: impl Into<String>) {
        (self.log.bar, self.log.tick, self.log.byte) = (None, 0, byte);
        self.log.say(message, help);
    }

    /// Changes the key, from the next bar on where this one has begun.
    pub(super) fn set_key(&mut self, key: Key, byte: usize) {
        if self.is_empty() {
            self.open.key = key;
        } else if self.open.key != key {
            self.change_is_late(byte);
        }
    }

    /// Changes the metre, from the next bar on where this one has begun.
    pub(super) fn set_metre(&mut self, metre: Metre, byte: usize) {
        if self.is_empty() {
            self.open.metre = metre;
        } else if self.open.metre != metre {
            self.change_is_late(byte);
        }
    }

    fn change_is_late(&mut self, byte: usize) {
        let tick = self.open.length;
        self.once(
            byte,
            tick,
            "a change of key or metre inside a bar counts from the next bar",
            "put the change at the start of a bar",
        );
    }

    /// A note or rest behind those before it, tied to the next one or not. Its end is at most [`LONGEST_BAR`] ticks into the
    /// bar.
    pub(super) fn note(&mut self, mut note: RawNote) -> Result<()> {
        self.count(note.byte)?;
        note.tied_from = match self.tie.take() {
            Some(tie) if Some(tie.pitch) == note.pitch => true,
            Some(tie) => {
                self.drop_tie(tie);
                false
            }
            None => false,
        };
        let place = (self.bars.len(), note.start);
        self.tie = note.pitch.filter(|_| note.tied_to).map(|pitch| Tie { pitch, byte: note.byte, place });
        note.tied_to = self.tie.is_some();
        self.open_byte.get_or_insert(note.byte);
        self.open.length = self.open.length.max(note.start.saturating_add(note.duration));
        self.open.notes.push(note);
        Ok(())
    }

    /// A tie that found no second note is cut, unless a sign stands between: it may lead into another ending.
    fn drop_tie(&mut self, tie: Tie) {
        if self.is_behind_sign() {
            return;
        }
        let before = self.bars.get_mut(tie.place.0).unwrap_or(&mut self.open);
        if let Some(note) = before.notes.iter_mut().rev().find(|note| note.start == tie.place.1) {
            note.tied_to = false;
        }
        self.say_at(
            tie.place,
            tie.byte,
            format!("a tie at `{}` leads to no note of the same pitch and is left out", tie.pitch),
            "tie notes of one pitch only",
        );
    }

    /// Counts a note, rest or symbol against the limit.
    pub(super) fn count(&mut self, byte: usize) -> Result<()> {
        self.counts.note().map_err(|error| self.at_line(error, byte))
    }

    /// How many bars a sheet may have.
    pub(super) fn most_bars(&self) -> usize {
        self.options.limits.bars
    }

    /// Refuses more bars than the limit, for a reader that reads ahead.
    pub(super) fn bars_ahead(&self, bars: usize, byte: usize) -> Result<()> {
        let most = self.options.limits.bars;
        if self.bars.len().saturating_add(bars) > most {
            return Err(self.at_line(exceeded("bars", most), byte));
        }
        Ok(())
    }

    /// Refuses more notes, rests and symbols than the limit, for a reader that reads ahead.
    pub(super) fn notes_ahead(&self, notes: usize, byte: usize) -> Result<()> {
        let most = self.options.limits.notes;
        if notes > most {
            return Err(self.at_line(exceeded("notes", most), byte));
        }
        Ok(())
    }

    /// A chord symbol, already counted, so many ticks into the bar being filled.
    pub(super) fn symbol(&mut self, tick: u32, byte: usize, understood: Understood) {
        self.open_byte.get_or_insert(byte);
        self.has_symbol = true;
        self.symbols.push(Symbol { bar: self.bars.len(), tick, byte, understood });
    }

    /// Makes the bar being filled so long at least.
    pub(super) fn reach(&mut self, tick: u32, byte: usize) {
        self.open_byte.get_or_insert(byte);
        self.open.length = self.open.length.max(tick);
    }

    /// Puts the place of a limit's error in front of it.
    fn at_line(&self, error: Error, byte: usize) -> Error {
        let line = self.text.as_bytes().iter().take(byte).filter(|b| **b == b'\n').count() + 1;
        error.context(format_args!("line {line}, bar {}", self.bars.len() + 1))
    }

    /// Closes the bar being filled; the next one goes on in `key` and `metre`.
    pub(super) fn close(&mut self, byte: usize, key: Key, metre: Metre) -> Result<()> {
        if self.bars.len() >= self.options.limits.bars {
            return Err(self.at_line(exceeded("bars", self.options.limits.bars), byte));
        }
        self.bars.push(std::mem::replace(&mut self.open, new_bar(key, metre)));
        self.bytes.push(self.open_byte.take().unwrap_or(byte));
        self.has_symbol = false;
        Ok(())
    }

    /// An ending that starts with the bar being filled, which has nothing in it yet.
    pub(super) fn ending(&mut self, numbers: String) {
        self.open.left.ending = Some(Ending { numbers, edge: EndingEdge::Start });
    }

    /// A mark of the bar being filled.
    pub(super) fn mark(&mut self, mark: Mark, byte: usize) {
        self.open_byte.get_or_insert(byte);
        if self.open.road.add(mark) {
            let tick = self.open.length;
            self.once(
                byte,
                tick,
                "a bar has two different marks of a kind, the first stays",
                "divide the bar, or take one of them out",
            );
        }
    }

    /// A coda sign of the bar being filled, where the text does not say whether it is the coda.
    pub(super) fn coda_sign(&mut self, sign: CodaSign, byte: usize) {
        self.open_byte.get_or_insert(byte);
        self.open.coda_sign.get_or_insert(sign);
    }

    /// What stands behind the last bar is that bar's: marks at its end.
    fn take_marks_behind(&mut self) {
        let road = std::mem::take(&mut self.open.road);
        let sign = self.open.coda_sign.take();
        let byte = self.open_byte.unwrap_or(self.text.len());
        let Some(last) = self.bars.last_mut() else { return };
        if sign.is_some() {
            last.coda_sign.get_or_insert(CodaSign::End);
        }
        if let Some(label) = road.to_coda {
            last.road.to_coda.get_or_insert(label);
        }
        if let Some(jump) = road.jump {
            last.road.jump.get_or_insert(jump);
        }
        last.road.fine |= road.fine;
        if road.segno.is_some() || road.coda.is_some() {
            self.say(byte, 0, "a mark behind the last bar is left out", "put it in front of a bar");
        }
    }

    /// The sheet with all findings, or the first one as an error where the options are strict.
    pub(super) fn finish(mut self, head: Head, lengths_tell: bool) -> Result<Reading> {
        if let Some(tie) = self.tie.take() {
            self.drop_tie(tie);
        }
        if !self.is_empty() {
            let (key, metre) = (self.open.key, self.open.metre);
            self.close(self.text.len(), key, metre)?;
        }
        self.take_marks_behind();
        (self.log.bar, self.log.tick, self.log.byte) = (None, 0, self.text.len());
        settle(&mut self.bars, &mut self.log);
        derive(&mut self.bars);
        if lengths_tell {
            self.lengths();
        }
        let mut part = RawPart { bars: std::mem::take(&mut self.bars) };
        let bars = melody::place_bars(&part)?;
        // A bar with nothing but a length is filled by a rest of that length.
        for (raw, bar) in part.bars.iter_mut().zip(&bars) {
            raw.length = bar.length;
        }
        let notes = melody::melody(&part, &bars, &mut self.log);
        let chords = self.chords(&bars);
        let key = bars.first().map_or(Key::C_MAJOR, |bar| bar.key);
        let sheet = LeadSheet { title: head.title, key, tempo: head.tempo, bars, notes, chords };
        let findings = self.findings(&sheet);
        match findings.first() {
            Some(finding) if self.options.strict => Err(read::strict_error(self.text, finding)),
            _ => Ok(Reading { sheet, findings }),
        }
    }

    /// Says which bars are longer or shorter than their metre. A first and a last bar may be short, and so may bars at a sign
    /// that divides the page.
    fn lengths(&mut self) {
        for index in 0..self.bars.len() {
            let Some(bar) = self.bars.get(index).filter(|bar| bar.length > 0) else { continue };
            let full = bar.metre.bar_ticks();
            let is_divided = index == 0
                || index + 1 == self.bars.len()
                || barline::divides(self.bars.get(index - 1), Some(bar))
                || barline::divides(Some(bar), self.bars.get(index + 1))
                || barline::turns(self.bars.get(index - 1), Some(bar))
                || barline::turns(Some(bar), self.bars.get(index + 1));
            if bar.length == full || (bar.length < full && is_divided) {
                continue;
            }
            let Metre { beats, unit } = bar.metre;
            let message = format!(
                "the bar lasts {} beats, expected {beats} in {beats}/{unit}; it keeps its own length",
                shown_beats(bar.length, bar.metre)
            );
            let byte = self.bytes.get(index).copied().unwrap_or(0);
            (self.log.bar, self.log.tick, self.log.byte) = (Some(index), 0, byte);
            self.log.say(message, "check the lengths of its notes, or give it a metre of its own");
        }
    }

    fn chords(&mut self, bars: &[Bar]) -> Vec<PlacedChord> {
        let end = bars.last().map_or(0, Bar::end);
        let mut placed = Vec::with_capacity(self.symbols.len());
        for Symbol { bar: index, tick, byte, understood } in std::mem::take(&mut self.symbols) {
            let Some(bar) = bars.get(index) else { continue };
            let start = bar.start.saturating_add(tick);
            let Understood { symbol, mut findings } = understood;
            (self.log.bar, self.log.tick, self.log.byte) = (Some(index), tick, byte);
            if start >= end {
                self.log.say(
                    "a chord symbol behind the last note is left out",
                    "put it before the note it sounds with",
                );
                continue;
            }
            if start >= bar.end() {
                let message = "a chord symbol behind the last note of its bar is moved to the next bar";
                findings.push((message.into(), "put it before the note it sounds with".into()));
            }
            let bar = bars.partition_point(|bar| bar.start <= start).saturating_sub(1);
            placed.push(Placed { chord: PlacedChord { start, bar, symbol }, byte, findings });
        }
        settle_symbols(placed, bars, &mut self.log)
    }

    fn findings(&mut self, sheet: &LeadSheet) -> Vec<SheetFinding> {
        self.log.say_left_out();
        let mut entries = std::mem::take(&mut self.log.entries);
        // Lines and columns are counted in one walk over the text.
        entries.sort_by_key(|entry| entry.byte);
        let mut places = Vec::with_capacity(entries.len());
        let (mut line, mut column, mut at) = (1, 1, 0);
        for entry in entries {
            let between = self.text.get(at..entry.byte).unwrap_or_default();
            for c in between.chars() {
                (line, column) = if c == '\n' { (line + 1, 1) } else { (line, column + 1) };
            }
            at += between.len();
            places.push((entry, line, column));
        }
        places.sort_by_key(|(entry, ..)| {
            let bar = entry.bar.filter(|bar| *bar < sheet.bars.len());
            (bar, if bar.is_some() { entry.tick } else { 0 }, entry.byte)
        });
        places.into_iter().map(|(entry, line, column)| place(sheet, entry, line, column)).collect()
    }
}

/// What a text of lines does not say of its bars: where brackets stop, and numbers.
pub(super) fn derive(bars: &mut [RawBar]) {
    barline::close_brackets(bars);
    numbers::number(bars);
}

fn place(sheet: &LeadSheet, entry: Entry, line: usize, column: usize) -> SheetFinding {
    let bar = entry.bar.and_then(|index| Some((index, sheet.bars.get(index)?)));
    SheetFinding {
        bar: bar.map(|(_, bar)| bar.number.clone()).unwrap_or_default(),
        beat: bar.map_or(1.0, |(index, bar)| sheet.beat_of(index, bar.start.saturating_add(entry.tick))),
        byte: u64::try_from(entry.byte).ok(),
        line: Some(line),
        column: Some(column),
        message: entry.message,
        help: entry.help,
        chord: entry.chord,
    }
}

/// A length in beats, as `4`, `1/2` or `2 1/2`.
pub(super) fn shown_beats(ticks: u32, metre: Metre) -> Cow<'static, str> {
    let beat = metre.beat_ticks().max(1);
    let (whole, rest) = (ticks / beat, ticks % beat);
    if rest == 0 {
        return whole.to_string().into();
    }
    let (mut a, mut b) = (beat, rest);
    while b > 0 {
        (a, b) = (b, a % b);
    }
    let part = format!("{}/{}", rest / a, beat / a);
    if whole == 0 { part.into() } else { format!("{whole} {part}").into() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::TICKS_PER_QUARTER;

    #[test]
    fn ok_beats() {
        let quarter = TICKS_PER_QUARTER;
        for (ticks, expected) in [
            (4 * quarter, "4"),
            (quarter / 2, "1/2"),
            (quarter * 5 / 2, "2 1/2"),
            (quarter * 4 / 3, "1 1/3"),
            (0, "0"),
        ] {
            assert_eq!(shown_beats(ticks, Metre::COMMON), expected);
        }
    }
}
