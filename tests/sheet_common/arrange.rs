//! The simplest arrangement that fills both hands: the full shell on the left, a triad under the melody.

use overshell::chord::{Chord, DegreeSet};
use overshell::pitch::Pitch;
use overshell::search::{ArrangedChord, Arrangement, Structure};
use overshell::sheet::LeadSheet;
use overshell::voicing::{Hand, Shell, Spacing, Triad, Voicing};

/// Arranges every chord by itself.
pub(crate) fn simple(sheet: &LeadSheet, octave_shift: i8) -> Arrangement {
    let chords = sheet
        .chords
        .iter()
        .map(|placed| {
            let melody = sheet.melody_at(placed.start).and_then(|p| p.shift_octaves(octave_shift / 12));
            let chord = placed.symbol.chord();
            let found = chord.map(|chord| two_hands(chord, melody));
            let structure = found.and_then(|(_, structure)| structure);
            let tensions: DegreeSet = match (structure, chord) {
                (Some(structure), Some(chord)) => {
                    structure.triad.degrees_over(chord).iter().filter(|degree| degree.is_tension()).collect()
                }
                _ => DegreeSet::EMPTY,
            };
            let chord = ArrangedChord {
                chord,
                melody,
                voicing: found.map(|(voicing, _)| voicing),
                structure,
                tensions: tensions.by_number(),
                sounding: chord,
                ..ArrangedChord::default()
            };
            chord.into()
        })
        .collect();
    Arrangement { chords, octave_shift, cost: 0 }
}

fn two_hands(chord: Chord, melody: Option<Pitch>) -> (Voicing, Option<Structure>) {
    let left = [Shell::RootThirdSeventh, Shell::RootFifth, Shell::Root]
        .into_iter()
        .find_map(|shell| shell.hand_from(chord, 43))
        .unwrap();
    let alone =
        |right: Hand| Voicing::new(left, right).or_else(|_| Voicing::new(Hand::empty(), right)).unwrap();
    let Some(melody) = melody else { return (alone(Hand::empty()), None) };
    let fitting = |triad: Triad| {
        let hand = triad.hand_below(melody.midi(), Spacing::Close)?;
        let degrees = triad.degrees_over(chord);
        Some((Voicing::new(left, hand).ok()?, Structure { label: triad.label_over(chord), triad }, degrees))
    };
    let triads: Vec<(Voicing, Structure, DegreeSet)> = Triad::all_over(chord).filter_map(fitting).collect();
    let with_tension = triads.iter().find(|(_, _, degrees)| degrees.iter().any(|d| d.is_tension()));
    match with_tension.or(triads.first()).copied() {
        Some((voicing, structure, degrees)) => {
            (voicing, degrees.iter().any(|d| d.is_tension()).then_some(structure))
        }
        None => (alone(Hand::new([melody]).unwrap()), None),
    }
}
