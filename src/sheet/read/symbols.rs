//! Chord symbols of all parts at their places.

use super::chords::understand;
use super::finding::{Entry, Log};
use super::raw::RawScore;
use crate::sheet::{Bar, PlacedChord};

/// A symbol on its way into the sheet.
struct Placed {
    chord: PlacedChord,
    /// Bar of the source and tick in it, for findings.
    byte: usize,
    findings: Vec<(String, String)>,
}

/// All chord symbols in order of time, one at a tick.
pub(super) fn place_symbols(score: &RawScore, bars: &[Bar], log: &mut Log) -> Vec<PlacedChord> {
    let end = bars.last().map_or(0, Bar::end);
    let mut placed: Vec<Placed> = Vec::new();
    for part in &score.parts {
        for (index, raw_bar) in part.bars.iter().enumerate() {
            log.bar = Some(index);
            for raw in &raw_bar.symbols {
                (log.tick, log.byte) = (u32::try_from(raw.tick).unwrap_or(0), raw.byte);
                let Some(bar) = bars.get(index) else {
                    log.say("a chord symbol behind the last bar of the melody is left out", "give the melody that bar");
                    continue;
                };
                let tick = i64::from(bar.start).saturating_add(raw.tick);
                if tick < 0 {
                    log.say("a chord symbol before the first bar was moved to its start", "check its offset");
                }
                let start = u32::try_from(tick.max(0)).unwrap_or(u32::MAX);
                if start >= end {
                    log.say("a chord symbol behind the last note is left out", "put it before the note it sounds with");
                    continue;
                }
                let bar = bars.partition_point(|bar| bar.start <= start).saturating_sub(1);
                let understood = understand(raw);
                placed.push(Placed {
                    chord: PlacedChord { start, bar, symbol: understood.symbol },
                    byte: raw.byte,
                    findings: understood.findings,
                });
            }
        }
    }
    log.bar = None;
    placed.sort_by_key(|placed| placed.chord.start);
    let mut kept: Vec<Placed> = Vec::with_capacity(placed.len());
    for mut later in placed {
        if let Some(earlier) = kept.pop_if(|earlier| earlier.chord.start == later.chord.start)
            && earlier.chord.symbol != later.chord.symbol
        {
            let (old, new) = (earlier.chord.symbol.as_str(), later.chord.symbol.as_str());
            let message = format!(
                "two chord symbols stand at one place, `{}` gives way to `{}`",
                crate::pitch::shown(old),
                crate::pitch::shown(new)
            );
            later.findings.insert(0, (message, "give each its own place".into()));
        }
        kept.push(later);
    }
    for (index, placed) in kept.iter_mut().enumerate() {
        let start = bars.get(placed.chord.bar).map_or(0, |bar| bar.start);
        for (message, help) in std::mem::take(&mut placed.findings) {
            log.entries.push(Entry {
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
