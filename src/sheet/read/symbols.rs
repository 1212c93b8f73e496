//! Chord symbols of all parts at their places.

use super::chords::{Understood, understand};
use super::finding::{Entry, Log};
use super::raw::{RawScore, RawSymbol};
use crate::sheet::{Bar, PlacedChord};

/// A symbol on its way into the sheet.
pub(in crate::sheet) struct Placed {
    pub(in crate::sheet) chord: PlacedChord,
    /// Bar of the source and tick in it, for findings.
    pub(in crate::sheet) byte: usize,
    pub(in crate::sheet) findings: Vec<(String, String)>,
}

/// All chord symbols in order of time, one at a tick; those that stand at one place share its time.
pub(in crate::sheet) fn place_symbols(score: &RawScore, bars: &[Bar], log: &mut Log) -> Vec<PlacedChord> {
    let end = bars.last().map_or(0, Bar::end);
    let mut placed: Vec<Placed> =
        Vec::with_capacity(score.parts.iter().flat_map(|part| &part.bars).map(|bar| bar.symbols.len()).sum());
    let mut met = Met::default();
    for part in &score.parts {
        for (index, raw_bar) in part.bars.iter().enumerate() {
            log.bar = Some(index);
            for raw in &raw_bar.symbols {
                (log.tick, log.byte) = (u32::try_from(raw.tick).unwrap_or(0), raw.byte);
                let Some(bar) = bars.get(index) else {
                    log.say(
                        "a chord symbol behind the last bar of the melody is left out",
                        "give the melody that bar",
                    );
                    continue;
                };
                let tick = i64::from(bar.start).saturating_add(raw.tick);
                if tick < 0 {
                    log.say("a chord symbol before the first bar was moved to its start", "check its offset");
                }
                let start = u32::try_from(tick.max(0)).unwrap_or(u32::MAX);
                if start >= end {
                    log.say(
                        "a chord symbol behind the last note is left out",
                        "put it before the note it sounds with",
                    );
                    continue;
                }
                let bar = bars.partition_point(|bar| bar.start <= start).saturating_sub(1);
                let understood = met.understand(raw);
                placed.push(Placed {
                    chord: PlacedChord { start, bar, symbol: understood.symbol },
                    byte: raw.byte,
                    findings: understood.findings,
                });
            }
        }
    }
    settle(placed, bars, log)
}

/// What symbols mean that have been met: most come again.
#[derive(Default)]
struct Met<'r> {
    known: Vec<(&'r RawSymbol, Understood)>,
}

impl<'r> Met<'r> {
    /// More different symbols than this are read each time.
    const MOST: usize = 48;

    fn understand(&mut self, raw: &'r RawSymbol) -> Understood {
        if let Some((_, understood)) = self.known.iter().find(|(known, _)| known.says_the_same(raw)) {
            return understood.clone();
        }
        let understood = understand(raw);
        if self.known.len() < Self::MOST {
            self.known.push((raw, understood.clone()));
        }
        understood
    }
}

/// Symbols at their places, in order, one at a tick; with what was found at each of them.
pub(in crate::sheet) fn settle(mut placed: Vec<Placed>, bars: &[Bar], log: &mut Log) -> Vec<PlacedChord> {
    let end = bars.last().map_or(0, Bar::end);
    log.bar = None;
    placed.sort_by_key(|placed| placed.chord.start);
    let mut kept = share(placed, bars, end);
    for (index, placed) in kept.iter_mut().enumerate() {
        let start = bars.get(placed.chord.bar).map_or(0, |bar| bar.start);
        for (message, help) in std::mem::take(&mut placed.findings) {
            log.put(|| Entry {
                part: None,
                bar: Some(placed.chord.bar),
                tick: placed.chord.start.saturating_sub(start),
                byte: placed.byte,
                message,
                help,
                chord: Some(index),
            });
        }
    }
    kept.into_iter().map(|placed| placed.chord).collect()
}

/// Symbols at one place share the time up to the next symbol or the end of the bar, on beats as far as there are
/// enough: that is what a chart means by two symbols over one long note.
fn share(placed: Vec<Placed>, bars: &[Bar], end: u32) -> Vec<Placed> {
    let mut kept: Vec<Placed> = Vec::with_capacity(placed.len());
    let mut rest = placed.into_iter().peekable();
    while let Some(first) = rest.next() {
        let start = first.chord.start;
        if rest.peek().is_none_or(|next| next.chord.start != start) {
            kept.push(first);
            continue;
        }
        let mut group = vec![first];
        while let Some(next) = rest.next_if(|next| next.chord.start == start) {
            group.push(next);
        }
        let bar = group.first().and_then(|first| bars.get(first.chord.bar));
        let until = rest.peek().map_or(end, |next| next.chord.start).min(bar.map_or(end, Bar::end));
        let (span, count) = (until.saturating_sub(start), u32::try_from(group.len()).unwrap_or(u32::MAX));
        let beat = bar.map_or(1, |bar| bar.metre.beat_ticks()).max(1);
        let unit = if span / beat >= count { beat } else { 1 };
        let names =
            group.iter().map(|placed| format!("`{}`", crate::pitch::shown(placed.chord.symbol.as_str())));
        let names = itertools::join(names, " and ");
        for (at, mut placed) in (0u32..).zip(group) {
            let units = u64::from(span / unit) * u64::from(at) * 2 + u64::from(count);
            placed.chord.start = start + u32::try_from(units / (2 * u64::from(count))).unwrap_or(0) * unit;
            if at == 0 {
                let message = format!(
                    "{names} stand at one place, so they share the time up to the next symbol or bar"
                );
                placed.findings.insert(0, (message, "give each its own place".into()));
            }
            kept.push(placed);
        }
    }
    // Where there was not a tick for each, the later symbol stays.
    let mut single: Vec<Placed> = Vec::with_capacity(kept.len());
    for placed in kept {
        single.pop_if(|earlier| earlier.chord.start == placed.chord.start);
        single.push(placed);
    }
    single
}
