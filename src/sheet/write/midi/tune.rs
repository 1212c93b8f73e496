//! What is on the page, as notes: the melody and the two hands.

use super::struck::{Struck, fitted, ticks};
use crate::error::Result;
use crate::pitch::Pitch;
use crate::search::{ArrangedChord, Arrangement};
use crate::sheet::LeadSheet;
use crate::sheet::write::line::{left_hand, moved, right_hand};

/// Velocities: the melody sings, the right hand stays below it, the left carries. Chosen by us.
const MELODY_VELOCITY: u8 = 90;
const RIGHT_VELOCITY: u8 = 64;
const LEFT_VELOCITY: u8 = 70;

/// Melody, right hand (without the melody's note) and left hand, once through.
pub(super) fn tune(sheet: &LeadSheet, arrangement: &Arrangement, octaves: i8) -> Result<[Vec<Struck>; 3]> {
    let end = ticks(sheet.end()).max(1);
    let melody = melody_notes(sheet, octaves)?;
    let right = hand_notes(sheet, arrangement, right_hand, RIGHT_VELOCITY);
    let left = hand_notes(sheet, arrangement, left_hand, LEFT_VELOCITY);
    Ok([fitted(melody, end), fitted(right, end), fitted(left, end)])
}

/// The melody with its ties made one.
fn melody_notes(sheet: &LeadSheet, octaves: i8) -> Result<Vec<Struck>> {
    let mut notes: Vec<(u32, u32, Pitch)> = Vec::new();
    let mut open = false;
    for note in &sheet.notes {
        let Some(pitch) = note.pitch else {
            open = false;
            continue;
        };
        let pitch = moved(pitch, octaves)?;
        match notes.last_mut() {
            Some((_, end, last)) if open && note.tied_from && *end == note.start && *last == pitch => {
                *end = note.end();
            }
            _ => notes.push((note.start, note.end(), pitch)),
        }
        open = note.tied_to;
    }
    Ok(notes
        .into_iter()
        .map(|(start, end, pitch)| Struck::new(start, end, pitch.midi(), MELODY_VELOCITY))
        .collect())
}

fn hand_notes(
    sheet: &LeadSheet,
    arrangement: &Arrangement,
    hand: fn(&ArrangedChord) -> Vec<Pitch>,
    velocity: u8,
) -> Vec<Struck> {
    let chords = sheet.chords.iter().zip(&arrangement.chords).enumerate();
    chords
        .flat_map(|(index, (placed, chord))| {
            let (start, end) = (placed.start, sheet.chord_end(index));
            hand(chord).into_iter().map(move |pitch| Struck::new(start, end, pitch.midi(), velocity))
        })
        .collect()
}
