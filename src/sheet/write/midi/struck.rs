//! Notes in ticks of the file, and a track of them.

use midly::num::{u4, u7, u28};
use midly::{MetaMessage, MidiMessage, Track, TrackEvent, TrackEventKind};

use super::RESOLUTION;
use crate::sheet::TICKS_PER_QUARTER;

/// A key that is struck and let go, in ticks of the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Struck {
    pub(super) start: u32,
    pub(super) end: u32,
    pub(super) key: u8,
    pub(super) velocity: u8,
}

impl Struck {
    /// From ticks of the sheet.
    pub(super) const fn new(start: u32, end: u32, key: u8, velocity: u8) -> Self {
        Self { start: ticks(start), end: ticks(end), key, velocity }
    }

    /// So many ticks of the file later.
    pub(super) const fn later(self, by: u32) -> Self {
        Self { start: self.start.saturating_add(by), end: self.end.saturating_add(by), ..self }
    }
}

/// Ticks of the file, rounded to the nearest.
pub(super) const fn ticks(sheet: u32) -> u32 {
    let per_tick = TICKS_PER_QUARTER / RESOLUTION as u32;
    sheet / per_tick + (sheet % per_tick * 2 >= per_tick) as u32
}

/// The delta between two times; the format ends at 2²⁸ − 1, which is 97 hours at the default tempo.
pub(super) fn delta(from: u32, to: u32) -> u28 {
    u28::try_from(to.saturating_sub(from)).unwrap_or(u28::max_value())
}

/// The notes as a player of one channel can sound them: none shorter than a tick, none beyond `end`, none on a key that
/// already sounds. Only notes shorter than a tick of the file are changed by that: they are made a tick long, which the last one
/// takes from before, and what they meet on their own key is one note with them. In order of time.
pub(super) fn fitted(notes: impl IntoIterator<Item = Struck>, end: u32) -> Vec<Struck> {
    let fit = |note: Struck| {
        let start = note.start.min(end.saturating_sub(1));
        Struck { start, end: note.end.clamp(start + 1, end.max(start + 1)), ..note }
    };
    let mut notes: Vec<Struck> = notes.into_iter().map(fit).collect();
    notes.sort_by_key(|note| note.start);
    let mut fitted: Vec<Struck> = Vec::with_capacity(notes.len());
    let mut sounding = [None; 128];
    for note in notes {
        let Some(last) = sounding.get_mut(usize::from(note.key)) else { continue };
        match last.and_then(|index: usize| fitted.get_mut(index)) {
            Some(before) if before.end > note.start => before.end = before.end.max(note.end),
            _ => {
                *last = Some(fitted.len());
                fitted.push(note);
            }
        }
    }
    fitted
}

/// Who sounds in a track.
#[derive(Clone, Copy, Debug)]
pub(super) struct Player {
    pub(super) name: &'static str,
    /// From 0; documents count from 1.
    pub(super) channel: u8,
    /// The General MIDI program from 0; none on the channel of the drums.
    pub(super) program: Option<u8>,
}

/// A track of notes that [`fitted`] has made.
pub(super) fn track(player: Player, notes: &[Struck], end: u32) -> Track<'static> {
    // Offs sort before ons of the same tick.
    let mut events: Vec<(u32, bool, u8, u8)> = Vec::with_capacity(notes.len() * 2);
    for note in notes {
        events.push((note.start, true, note.key, note.velocity));
        events.push((note.end, false, note.key, RELEASE));
    }
    events.sort_unstable();
    let channel = u4::from_int_lossy(player.channel);
    let now = u28::from(0);
    let name = MetaMessage::TrackName(player.name.as_bytes());
    let mut track = vec![TrackEvent { delta: now, kind: TrackEventKind::Meta(name) }];
    if let Some(program) = player.program {
        let message = MidiMessage::ProgramChange { program: u7::from_int_lossy(program) };
        track.push(TrackEvent { delta: now, kind: TrackEventKind::Midi { channel, message } });
    }
    let mut at = 0;
    for (tick, on, key, velocity) in events {
        let (key, vel) = (u7::from_int_lossy(key), u7::from_int_lossy(velocity));
        let message = if on { MidiMessage::NoteOn { key, vel } } else { MidiMessage::NoteOff { key, vel } };
        track.push(TrackEvent { delta: delta(at, tick), kind: TrackEventKind::Midi { channel, message } });
        at = tick;
    }
    let kind = TrackEventKind::Meta(MetaMessage::EndOfTrack);
    track.push(TrackEvent { delta: delta(at, end.max(at)), kind });
    track
}

/// The velocity of letting go where nobody measured it (MIDI 1.0: 64).
const RELEASE: u8 = 64;

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn ok_ticks_are_rounded_to_the_nearest() {
        assert_eq!((ticks(TICKS_PER_QUARTER), ticks(10), ticks(11), ticks(31), ticks(32)), (480, 0, 1, 1, 2));
        assert_eq!(ticks(u32::MAX), u32::MAX / 21 + u32::from(u32::MAX % 21 * 2 >= 21));
    }

    #[test]
    fn ok_no_note_is_shorter_than_a_tick_and_offs_come_first() {
        let note = |start, end| Struck::new(start, end, 60, 90);
        let fitted = fitted([note(0, 3), note(21, 42), note(42, 63)], 4);
        let player = Player { name: "", channel: 0, program: Some(0) };
        let track = track(player, &fitted, 4);
        let ons: Vec<bool> = track
            .iter()
            .filter_map(|event| match event.kind {
                TrackEventKind::Midi { message: MidiMessage::NoteOn { .. }, .. } => Some(true),
                TrackEventKind::Midi { message: MidiMessage::NoteOff { .. }, .. } => Some(false),
                _ => None,
            })
            .collect();
        assert_eq!(ons, [true, false, true, false, true, false]);
        assert!(matches!(track.last().unwrap().kind, TrackEventKind::Meta(MetaMessage::EndOfTrack)));
    }

    #[test]
    fn ok_what_is_too_short_to_sound_alone_joins_its_key() {
        let note = |start, end, key| Struck { start, end, key, velocity: 1 };
        assert_eq!(fitted([note(0, 0, 60), note(0, 0, 60), note(0, 0, 61)], 9).len(), 2);
        assert_eq!(fitted([note(9, 9, 60)], 9), [note(8, 9, 60)]);
        assert_eq!(fitted([note(0, 4, 60), note(4, 8, 60)], 9), [note(0, 4, 60), note(4, 8, 60)]);
    }

    proptest! {
        /// Whatever comes in: each key sounds once at a time, within the end; what was fit already is as it was.
        #[test]
        fn prop_keys_sound_once_at_a_time(
            notes in proptest::collection::vec((0u32..40, 0u32..9, 60u8..63), 0..30),
            end in 1u32..50,
        ) {
            let notes = notes.into_iter().map(|(start, length, key)| Struck { start, end: start + length, key, velocity: 1 });
            let fitted_once = fitted(notes.clone(), end);
            for (index, note) in fitted_once.iter().enumerate() {
                prop_assert!(note.start < note.end && note.end <= end);
                for other in &fitted_once[..index] {
                    prop_assert!(other.start <= note.start && (other.key != note.key || other.end <= note.start));
                }
            }
            // The slow twin: a tick sounds where a note that came in covers it, or the one tick that a short note gets.
            for (tick, key) in itertools::iproduct!(0..end, 60u8..63) {
                let covered = notes.clone().any(|note| {
                    let start = note.start.min(end - 1);
                    note.key == key && start <= tick && tick < note.end.max(start + 1)
                });
                let sounds = fitted_once.iter().any(|note| note.key == key && (note.start..note.end).contains(&tick));
                prop_assert_eq!(covered, sounds);
            }
            prop_assert_eq!(fitted(fitted_once.clone(), end), fitted_once);
        }
    }
}
