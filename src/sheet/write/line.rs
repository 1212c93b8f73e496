//! One voice of one bar: the notes to be written, before they are XML.

use crate::error::{Error, Kind, Result};
use crate::pitch::Pitch;
use crate::search::{ArrangedChord, Arrangement};
use crate::sheet::value::pieces;
use crate::sheet::{Bar, LeadSheet, NoteValue};

/// A note, chord or rest of a voice.
#[derive(Clone, Debug, Default)]
pub(super) struct Written {
    /// Ticks into the bar.
    pub(super) start: u32,
    pub(super) duration: u32,
    /// From the lowest; none for a rest.
    pub(super) pitches: Vec<Pitch>,
    pub(super) tied_from: bool,
    pub(super) tied_to: bool,
    /// Whether the tie from before really comes from the same pitch, so that its accidental still holds.
    pub(super) continues: bool,
    pub(super) value: Option<NoteValue>,
    pub(super) tuplet_starts: bool,
    pub(super) tuplet_stops: bool,
    /// Beams from the first on: `begin`, `continue`, `end`, `forward hook`, `backward hook`.
    pub(super) beams: Vec<&'static str>,
    /// One for each pitch.
    pub(super) accidentals: Vec<Option<&'static str>>,
}

/// Which voice, and where it is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Voice {
    /// Alone on its staff.
    LeadMelody,
    /// On top of the upper staff.
    Melody,
    /// Below the melody.
    RightHand,
    /// On the lower staff.
    LeftHand,
}

impl Voice {
    /// As MusicXML numbers voices: 1 to 4 for the upper staff, 5 to 8 for the lower.
    pub(super) const fn number(self) -> &'static str {
        match self {
            Self::LeadMelody | Self::Melody => "1",
            Self::RightHand => "2",
            Self::LeftHand => "5",
        }
    }

    /// The staff, where there are two.
    pub(super) const fn staff(self) -> Option<&'static str> {
        match self {
            Self::LeadMelody => None,
            Self::Melody | Self::RightHand => Some("1"),
            Self::LeftHand => Some("2"),
        }
    }

    /// Where its stems point, where two voices share a staff.
    pub(super) const fn stem(self) -> Option<&'static str> {
        match self {
            Self::Melody => Some("up"),
            Self::RightHand => Some("down"),
            Self::LeadMelody | Self::LeftHand => None,
        }
    }
}

/// By how many octaves an arrangement moves the melody.
pub(super) fn octaves(arrangement: &Arrangement) -> Result<i8> {
    if arrangement.octave_shift % 12 == 0 {
        return Ok(arrangement.octave_shift / 12);
    }
    Err(Error::new(
        Kind::Sheet,
        format!("the melody is moved by {} semitones, expected whole octaves", arrangement.octave_shift),
    ))
}

/// Checks that an arrangement belongs to a sheet that can be written.
pub(super) fn check(sheet: &LeadSheet, arrangement: &Arrangement) -> Result<i8> {
    sheet.validate()?;
    if sheet.chords.len() != arrangement.chords.len() {
        return Err(Error::new(
            Kind::Sheet,
            format!(
                "the arrangement has {} chords, expected {} as in the sheet",
                arrangement.chords.len(),
                sheet.chords.len()
            ),
        )
        .with_help("write an arrangement with the sheet that it was made for"));
    }
    octaves(arrangement)
}

/// A melody pitch moved by octaves.
pub(super) fn moved(pitch: Pitch, octaves: i8) -> Result<Pitch> {
    pitch.shift_octaves(octaves).ok_or_else(|| {
        Error::new(Kind::Sheet, format!("the melody note `{pitch}` cannot be moved by {octaves} octaves"))
    })
}

/// The right hand without the melody's note on top.
pub(super) fn right_hand(chord: &ArrangedChord) -> Vec<Pitch> {
    let Some(voicing) = &chord.voicing else { return Vec::new() };
    let mut pitches = voicing.right().pitches().to_vec();
    let top = pitches.last().map(|top| top.midi());
    if top.is_some() && top == chord.melody.map(Pitch::midi) {
        pitches.pop();
    }
    pitches
}

/// The left hand.
pub(super) fn left_hand(chord: &ArrangedChord) -> Vec<Pitch> {
    chord.voicing.map(|voicing| voicing.left().pitches().to_vec()).unwrap_or_default()
}

/// The melody of a bar.
pub(super) fn melody(sheet: &LeadSheet, bar: &Bar, octaves: i8) -> Result<Vec<Written>> {
    let first = sheet.notes.partition_point(|note| note.start < bar.start);
    let mut before = first.checked_sub(1).and_then(|index| sheet.notes.get(index));
    let mut line = Vec::new();
    for note in sheet.notes.iter().skip(first).take_while(|note| note.start < bar.end()) {
        let pitches: Vec<Pitch> =
            note.pitch.map(|pitch| moved(pitch, octaves)).transpose()?.into_iter().collect();
        let continues = note.tied_from && before.is_some_and(|b| b.tied_to && b.pitch == note.pitch);
        line.push(Written {
            start: note.start - bar.start,
            duration: note.duration,
            accidentals: vec![None; pitches.len()],
            pitches,
            tied_from: note.tied_from,
            tied_to: note.tied_to,
            continues,
            value: note.value,
            ..Written::default()
        });
        before = Some(note);
    }
    Ok(line)
}

/// Makes the melody of a bar fit to be printed: a note whose printed value nobody has said gets that of its length, and a tie
/// is left out where the note behind it is not tied to it.
pub(super) fn make_printable(sheet: &LeadSheet, bar: &Bar, line: &mut [Written]) {
    let first = sheet.notes.partition_point(|note| note.start < bar.start);
    for (at, written) in line.iter_mut().enumerate() {
        written.value = written.value.or_else(|| NoteValue::of_ticks(written.duration));
        written.tied_to &= sheet.notes.get(first + at + 1).is_some_and(|next| next.tied_from);
    }
}

/// A hand's part of a bar: each chord held until the next, cut at barlines and tied.
pub(super) fn held(
    sheet: &LeadSheet,
    bar: &Bar,
    arrangement: &Arrangement,
    hand: fn(&ArrangedChord) -> Vec<Pitch>,
) -> Vec<Written> {
    let beat = bar.metre.beat_ticks();
    let mut line = Vec::new();
    let mut at = 0;
    // From the chord that sounds on from before.
    let first = sheet.chords.partition_point(|chord| chord.start <= bar.start).saturating_sub(1);
    let chords = sheet.chords.iter().zip(&arrangement.chords).enumerate().skip(first);
    for (index, (placed, chord)) in chords.take_while(|(_, (placed, _))| placed.start < bar.end()) {
        let (from, to) = (placed.start.max(bar.start), sheet.chord_end(index).min(bar.end()));
        if from >= to {
            continue;
        }
        rest(at, from - bar.start, bar, &mut line);
        let pitches = hand(chord);
        if pitches.is_empty() {
            rest(from - bar.start, to - bar.start, bar, &mut line);
        } else {
            for (duration, value) in pieces(from - bar.start, to - from, beat) {
                let start = line.last().map_or(from - bar.start, |w: &Written| w.start + w.duration);
                let tied_from = bar.start + start > placed.start;
                line.push(Written {
                    start,
                    duration,
                    pitches: pitches.clone(),
                    tied_from,
                    tied_to: bar.start + start + duration < sheet.chord_end(index),
                    continues: tied_from,
                    value,
                    accidentals: vec![None; pitches.len()],
                    ..Written::default()
                });
            }
        }
        at = to - bar.start;
    }
    rest(at, bar.length, bar, &mut line);
    join_rests(line, bar)
}

fn rest(from: u32, to: u32, bar: &Bar, line: &mut Vec<Written>) {
    let mut start = from;
    for (duration, value) in pieces(from, to.saturating_sub(from), bar.metre.beat_ticks()) {
        line.push(Written { start, duration, value, ..Written::default() });
        start += duration;
    }
}

/// A full bar of rests alone is one rest.
fn join_rests(line: Vec<Written>, bar: &Bar) -> Vec<Written> {
    let silent = line.iter().all(|written| written.pitches.is_empty());
    if silent && bar.length == bar.metre.bar_ticks() {
        return vec![Written { duration: bar.length, ..Written::default() }];
    }
    line
}
