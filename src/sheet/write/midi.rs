//! An arrangement as a Standard MIDI File.

use midly::num::{u4, u7, u15, u24, u28};
use midly::{Format, Header, MetaMessage, MidiMessage, Smf, Timing, Track, TrackEvent, TrackEventKind};

use super::line::{check, left_hand, moved, right_hand};
use crate::chord::Mode;
use crate::error::{Error, Kind, Result};
use crate::pitch::Pitch;
use crate::search::{ArrangedChord, Arrangement};
use crate::sheet::{LeadSheet, TICKS_PER_QUARTER};

/// Ticks of a quarter in the file: the usual resolution, a whole part of [`TICKS_PER_QUARTER`].
const RESOLUTION: u16 = 480;
/// Quarters a minute where the sheet says nothing: the default of the format.
const DEFAULT_TEMPO: u16 = 120;
/// Velocities: the melody sings, the right hand stays below it, the left carries. Chosen by us.
const MELODY_VELOCITY: u8 = 90;
const RIGHT_VELOCITY: u8 = 64;
const LEFT_VELOCITY: u8 = 70;

/// A sounding note in ticks of the sheet.
struct Sounding {
    start: u32,
    end: u32,
    pitch: Pitch,
}

/// Writes a tune for two hands as a Standard MIDI File of format 1 with 480 ticks in a quarter: tempo, metres and
/// keys first, then melody, right hand (without the melody's note) and left hand on channels 1 to 3. Ties are one
/// note, repeats are not unfolded.
///
/// # Errors
///
/// As [`write_musicxml`](crate::sheet::write_musicxml), notes below C0 apart.
///
/// # Example
///
/// ```
/// use overshell::search::Arrangement;
/// use overshell::sheet::{ReadOptions, read, write_midi};
///
/// let xml = r#"<score-partwise><part-list/><part id="P1"><measure number="1">
///   <attributes><divisions>1</divisions></attributes>
///   <note><pitch><step>E</step><octave>5</octave></pitch><duration>4</duration></note>
/// </measure></part></score-partwise>"#;
/// let sheet = read(xml.as_bytes(), &ReadOptions::default())?.sheet;
/// let bytes = write_midi(&sheet, &Arrangement { chords: vec![], octave_shift: 0, cost: 0 })?;
/// assert_eq!(&bytes[..4], b"MThd");
/// # Ok::<(), overshell::Error>(())
/// ```
pub fn write_midi(sheet: &LeadSheet, arrangement: &Arrangement) -> Result<Vec<u8>> {
    let octaves = check(sheet, arrangement)?;
    let mut smf = Smf::new(Header::new(Format::Parallel, Timing::Metrical(u15::from(RESOLUTION))));
    let end = ticks(sheet.end());
    smf.tracks.push(conductor(sheet, end));
    let hands: [fn(&ArrangedChord) -> Vec<Pitch>; 2] = [right_hand, left_hand];
    let [right, left] = hands.map(|hand| hand_notes(sheet, arrangement, hand));
    let melody = melody_notes(sheet, octaves)?;
    smf.tracks.push(track(b"Melody", 0, MELODY_VELOCITY, &melody, end));
    smf.tracks.push(track(b"Right hand", 1, RIGHT_VELOCITY, &right, end));
    smf.tracks.push(track(b"Left hand", 2, LEFT_VELOCITY, &left, end));
    let mut bytes = Vec::new();
    smf.write_std(&mut bytes)
        .map_err(|error| Error::new(Kind::Sheet, format!("the MIDI file is too large: {error}")))?;
    Ok(bytes)
}

/// Ticks of the file, rounded to the nearest.
const fn ticks(sheet: u32) -> u32 {
    let per_tick = TICKS_PER_QUARTER / RESOLUTION as u32;
    sheet / per_tick + (sheet % per_tick * 2 >= per_tick) as u32
}

/// The delta between two times; the format ends at 2²⁸ − 1, which is 97 hours at the default tempo.
fn delta(from: u32, to: u32) -> u28 {
    u28::try_from(to.saturating_sub(from)).unwrap_or(u28::max_value())
}

/// The first track: name, tempo, metres and keys.
fn conductor(sheet: &LeadSheet, end: u32) -> Track<'_> {
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
    for bar in &sheet.bars {
        let start = ticks(bar.start);
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
    meta(end, MetaMessage::EndOfTrack);
    track
}

/// The melody with its ties made one.
fn melody_notes(sheet: &LeadSheet, octaves: i8) -> Result<Vec<Sounding>> {
    let mut notes: Vec<Sounding> = Vec::new();
    let mut open = false;
    for note in &sheet.notes {
        let Some(pitch) = note.pitch else {
            open = false;
            continue;
        };
        let pitch = moved(pitch, octaves)?;
        match notes.last_mut() {
            Some(last) if open && note.tied_from && last.end == note.start && last.pitch == pitch => {
                last.end = note.end();
            }
            _ => notes.push(Sounding { start: note.start, end: note.end(), pitch }),
        }
        open = note.tied_to;
    }
    Ok(notes)
}

fn hand_notes(
    sheet: &LeadSheet,
    arrangement: &Arrangement,
    hand: fn(&ArrangedChord) -> Vec<Pitch>,
) -> Vec<Sounding> {
    let chords = sheet.chords.iter().zip(&arrangement.chords).enumerate();
    chords
        .flat_map(|(index, (placed, chord))| {
            let (start, end) = (placed.start, sheet.chord_end(index));
            hand(chord).into_iter().map(move |pitch| Sounding { start, end, pitch })
        })
        .collect()
}

fn track<'a>(name: &'a [u8], channel: u8, velocity: u8, notes: &[Sounding], end: u32) -> Track<'a> {
    // Offs sort before ons of the same tick.
    let mut events: Vec<(u32, bool, u8)> = Vec::with_capacity(notes.len() * 2);
    for note in notes {
        let start = ticks(note.start);
        events.push((start, true, note.pitch.midi()));
        events.push((ticks(note.end).max(start + 1), false, note.pitch.midi()));
    }
    events.sort_unstable();
    let channel = u4::from_int_lossy(channel);
    let mut track = vec![
        TrackEvent { delta: u28::from(0), kind: TrackEventKind::Meta(MetaMessage::TrackName(name)) },
        TrackEvent {
            delta: u28::from(0),
            kind: TrackEventKind::Midi {
                channel,
                message: MidiMessage::ProgramChange { program: u7::from(0) },
            },
        },
    ];
    let mut at = 0;
    for (tick, on, key) in events {
        let key = u7::from_int_lossy(key);
        let message = if on {
            MidiMessage::NoteOn { key, vel: u7::from_int_lossy(velocity) }
        } else {
            MidiMessage::NoteOff { key, vel: u7::from(64) }
        };
        track.push(TrackEvent { delta: delta(at, tick), kind: TrackEventKind::Midi { channel, message } });
        at = tick;
    }
    let kind = TrackEventKind::Meta(MetaMessage::EndOfTrack);
    track.push(TrackEvent { delta: delta(at, end.max(at)), kind });
    track
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ok_ticks_are_rounded_to_the_nearest() {
        assert_eq!((ticks(TICKS_PER_QUARTER), ticks(10), ticks(11), ticks(31), ticks(32)), (480, 0, 1, 1, 2));
        assert_eq!(ticks(u32::MAX), u32::MAX / 21 + u32::from(u32::MAX % 21 * 2 >= 21));
    }

    #[test]
    fn ok_no_note_is_shorter_than_a_tick_and_offs_come_first() {
        let note = |start, end| Sounding { start, end, pitch: Pitch::MIDDLE_C };
        let track = track(b"", 0, 90, &[note(0, 3), note(21, 42), note(42, 63)], 4);
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
}
