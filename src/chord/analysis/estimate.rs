//! In which key a progression is.

use super::reading::{Belonging, Cadence, Context, Rest};
use crate::chord::{Chord, Key, Mode};
use crate::pitch::{NoteName, PitchClass};

/// Points of one chord by how it belongs to the key. Common practice, no source.
const BELONGING: [(Belonging, i32); 6] = [
    (Belonging::Diatonic, 4),
    (Belonging::Blues, 4),
    (Belonging::Applied, 2),
    (Belonging::Special, 0),
    (Belonging::Borrowed, 1),
    (Belonging::Foreign, -2),
];

/// Points of each arrival on the tonic, strong or weak. Common practice, no source.
const FIVE: (i32, i32) = (4, 1);
const TWO_FIVE: (i32, i32) = (6, 2);
/// Points of the tonic as first and as last chord, strong or weak. Common practice, no source.
const FIRST: (i32, i32) = (4, 2);
const LAST: (i32, i32) = (8, 4);

/// All 24 keys by how well the progression fits them, the best first: chords on the key's scale, cadences to its tonic,
/// the first and the last chord. The points say no more than this order and its margins.
///
/// Keys are spelled as the roots of the chords are, with few accidentals otherwise. Ties: fewer accidentals first, then
/// flats before sharps, then major before minor.
///
/// # Complexity
///
/// 24 readings of each chord.
///
/// # Example
///
/// ```
/// use overshell::chord::{chord, estimate_key};
///
/// let tune = ["Bbm7", "Eb7", "Abmaj7", "Fm7", "Dbmaj7", "G7", "Cmaj7"].map(|s| Some(chord(s)));
/// let keys = estimate_key(&tune[..5]);
/// assert_eq!(keys[0].0.to_string(), "Ab");
/// assert!(keys[0].1 > keys[1].1);
/// ```
pub fn estimate_key(chords: &[Option<Chord>]) -> Vec<(Key, i32)> {
    estimate(&Context::new(chords))
}

pub(super) fn estimate(context: &Context<'_>) -> Vec<(Key, i32)> {
    let mut keys: Vec<(Key, i32)> =
        all_keys(context.chords).into_iter().map(|key| (key, points(context, key))).collect();
    keys.sort_by_key(|(key, points)| {
        (-points, key.signature().abs(), key.signature() > 0, key.mode() == Mode::Minor)
    });
    keys
}

fn points(context: &Context<'_>, key: Key) -> i32 {
    let by_rest = |rest: Rest, (strong, weak): (i32, i32)| if rest == Rest::Strong { strong } else { weak };
    let mut points = 0;
    for at in 0..context.chords.len() {
        let Some(reading) = context.reading(at, key) else { continue };
        points += of(&BELONGING, reading.belonging);
        if let (Some(rest), Some(cadence)) = (context.rest(at, key), context.cadence(at)) {
            points += by_rest(rest, if cadence == Cadence::TwoFive { TWO_FIVE } else { FIVE });
        }
    }
    let sounding = |at: &usize| context.chord(*at).is_some();
    let places = || 0..context.chords.len();
    for (place, weight) in [(places().find(sounding), FIRST), (places().rev().find(sounding), LAST)] {
        points += place.and_then(|at| context.rest(at, key)).map_or(0, |rest| by_rest(rest, weight));
    }
    points
}

pub(super) fn of(table: &[(Belonging, i32)], belonging: Belonging) -> i32 {
    table.iter().find(|(of, _)| *of == belonging).map_or(0, |(_, points)| *points)
}

/// The 24 keys, each with the one of its names that suits the roots of the chords.
pub(super) fn all_keys(chords: &[Option<Chord>]) -> Vec<Key> {
    let roots: Vec<NoteName> = chords.iter().flatten().map(|chord| chord.root()).collect();
    let modes = [Mode::Major, Mode::Minor];
    modes.iter().flat_map(|mode| PitchClass::ALL.map(|tonic| spelled(tonic, *mode, &roots))).collect()
}

/// The name of a key under which most of these roots are notes of its signature; of several, the one with fewer
/// accidentals, and with flats rather than sharps.
fn spelled(tonic: PitchClass, mode: Mode, roots: &[NoteName]) -> Key {
    // A signature reaches from one fifth below its major tonic to five above.
    let own = |signature: i8| {
        roots.iter().filter(|root| (signature - 1..=signature + 5).contains(&root.fifths())).count()
    };
    let best = (-7..=7)
        .filter_map(|signature| Key::from_signature(signature, mode))
        .filter(|key| key.tonic().pitch_class() == tonic)
        .min_by_key(|key| {
            let signature = key.signature();
            (std::cmp::Reverse(own(signature)), signature.abs(), signature > 0)
        });
    best.unwrap_or(Key::C_MAJOR) // all twelve have a signature
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::chord;

    #[test]
    fn all_keys_are_there_once_whatever_the_roots() {
        for root in NoteName::all() {
            let chords = [Some(chord("C7").on_root(root))];
            let mut keys: Vec<(PitchClass, Mode)> =
                all_keys(&chords).iter().map(|key| (key.tonic().pitch_class(), key.mode())).collect();
            keys.sort();
            keys.dedup();
            assert_eq!(keys.len(), 24);
        }
    }

    #[test]
    fn all_belongings_have_points() {
        use Belonging::*;
        for belonging in [Diatonic, Blues, Applied, Special, Borrowed, Foreign] {
            assert_eq!(BELONGING.iter().filter(|(of, _)| *of == belonging).count(), 1);
        }
    }
}
