//! The first track: name, tempo, metres and keys.

use midly::num::u24;
use midly::{MetaMessage, Track, TrackEvent, TrackEventKind};

use super::struck::{Struck, delta, ticks};
use crate::chord::Mode;
use crate::sheet::LeadSheet;

/// Quarters a minute where the sheet says nothing: the default of the format.
const DEFAULT_TEMPO: u16 = 120;

/// Where the tune lies in the file, in ticks of the file.
#[derive(Clone, Copy, Debug)]
pub(super) struct Course {
    /// Before the tune.
    pub(super) lead: u32,
    /// Of the tune once.
    pub(super) length: u32,
    /// How many times it is played.
    pub(super) passes: u8,
}

impl Course {
    /// The tune alone.
    pub(super) fn once(sheet: &LeadSheet) -> Self {
        Self { lead: 0, length: ticks(sheet.end()).max(1), passes: 1 }
    }

    /// Where each pass starts.
    pub(super) fn starts(self) -> impl Iterator<Item = u32> {
        let start = move |pass| self.lead.saturating_add(self.length.saturating_mul(pass));
        (0..u32::from(self.passes)).map(start)
    }

    /// Behind the last pass.
    pub(super) fn end(self) -> u32 {
        self.lead.saturating_add(self.length.saturating_mul(u32::from(self.passes)))
    }

    /// What one pass sounds, in every pass.
    pub(super) fn repeated(self, notes: &[Struck]) -> Vec<Struck> {
        self.starts().flat_map(|by| notes.iter().map(move |note| note.later(by))).collect()
    }
}

/// The first track. What is in force at the first bar is said at the start of the file.
pub(super) fn conductor(sheet: &LeadSheet, course: Course) -> Track<'_> {
    let mut track = Track::new();
    let mut at = 0;
    let mut meta = |tick: u32, message| {
        track.push(TrackEvent { delta: delta(at, tick), kind: TrackEventKind::Meta(message) });
        at = tick;
    };
    meta(0, MetaMessage::TrackName(sheet.title.as_bytes()));
    let tempo = u32::from(sheet.tempo.filter(|tempo| *tempo > 0).unwrap_or(DEFAULT_TEMPO));
    let microseconds = (60_000_000 + tempo / 2) / tempo;
    meta(0, MetaMessage::Tempo(u24::try_from(microseconds).unwrap_or(u24::max_value())));
    let mut before = None;
    for (pass, bar) in course.starts().flat_map(|pass| sheet.bars.iter().map(move |bar| (pass, bar))) {
        let start = if before.is_none() { 0 } else { pass.saturating_add(ticks(bar.start)) };
        if before.is_none_or(|(metre, _)| metre != bar.metre) {
            // A click of a beat: 24 clocks in a quarter; three eighths in compound metres. A whole-note beat of 96
            // is the most there is.
            let compound = bar.metre.unit >= 8 && bar.metre.beats.is_multiple_of(3);
            let clocks = 96 / bar.metre.unit.max(1) * if compound { 3 } else { 1 };
            let power = u8::try_from(bar.metre.unit.max(1).ilog2()).unwrap_or(2);
            meta(start, MetaMessage::TimeSignature(bar.metre.beats, power, clocks, 8));
        }
        if before.is_none_or(|(_, key)| key != bar.key) {
            let sharps = bar.key.signature().clamp(-7, 7);
            meta(start, MetaMessage::KeySignature(sharps, bar.key.mode() == Mode::Minor));
        }
        before = Some((bar.metre, bar.key));
    }
    meta(course.end(), MetaMessage::EndOfTrack);
    track
}
