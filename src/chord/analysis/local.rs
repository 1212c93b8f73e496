//! Which key is in force at each chord.

use super::estimate::{all_keys, of};
use super::reading::{Belonging, Cadence, Context, Rest};
use crate::chord::Key;

/// What a chord costs in a key by how it belongs to it. Common practice, no source.
const BELONGING: [(Belonging, i32); 6] = [
    (Belonging::Diatonic, 0),
    (Belonging::Blues, 0),
    (Belonging::Applied, 2),
    (Belonging::Special, 2),
    (Belonging::Borrowed, 3),
    (Belonging::Foreign, 5),
];

/// What the arrival on a tonic earns: by ii-V, by V alone, on a tonic that may as well be a ii. Common practice, no source.
const TWO_FIVE: i32 = 4;
const FIVE: i32 = 2;
const WEAK: i32 = 1;

/// What a change of key costs: more than a passing cadence saves, less than a section of its own. Common practice, no
/// source.
const CHANGE: i32 = 7;

/// The key in force at each chord, the home key in front of the first: of all ways through the 24 keys one that costs
/// least, exactly. Staying goes before changing, the home key before the others.
///
/// Time: 24 readings and as many comparisons for each chord.
pub(super) fn local_keys(context: &Context<'_>, home: Key) -> Vec<Key> {
    let keys = keys_from(context, home);
    // Costs of the best ways to each key, and for each chord and key the key before.
    let mut costs: Vec<i32> = keys.iter().map(|key| if *key == home { 0 } else { CHANGE }).collect();
    let mut before: Vec<Vec<usize>> = Vec::with_capacity(context.chords.len());
    for at in 0..context.chords.len() {
        let (cheapest, least) = cheapest(&costs);
        let mut from = Vec::with_capacity(keys.len());
        for (index, (cost, key)) in costs.iter_mut().zip(&keys).enumerate() {
            // In front of the first chord the home key is in force, and its change is counted above.
            let changes = at > 0 && least + CHANGE < *cost;
            from.push(if changes { cheapest } else { index });
            *cost = if changes { least + CHANGE } else { *cost } + cost_at(context, at, *key);
        }
        before.push(from);
    }
    let (mut index, _) = cheapest(&costs);
    let mut path: Vec<Key> = Vec::with_capacity(before.len());
    for from in before.iter().rev() {
        path.extend(keys.get(index));
        index = from.get(index).copied().unwrap_or(index);
    }
    path.reverse();
    path
}

/// The first of the cheapest and its cost.
fn cheapest(costs: &[i32]) -> (usize, i32) {
    costs.iter().copied().enumerate().min_by_key(|(_, cost)| *cost).unwrap_or((0, 0))
}

/// All keys, the home key first and named as given.
fn keys_from(context: &Context<'_>, home: Key) -> Vec<Key> {
    let same = |key: &Key| key.mode() == home.mode() && key.semitones_to(home.tonic()) == 0;
    let others = all_keys(context.chords).into_iter().filter(|key| !same(key));
    std::iter::once(home).chain(others).collect()
}

fn cost_at(context: &Context<'_>, at: usize, key: Key) -> i32 {
    let Some(reading) = context.reading(at, key) else { return 0 };
    let earned = match (context.rest(at, key), context.cadence(at)) {
        (Some(Rest::Weak), Some(_)) => WEAK,
        (Some(Rest::Strong), Some(Cadence::TwoFive)) => TWO_FIVE,
        (Some(Rest::Strong), Some(Cadence::Five)) => FIVE,
        _ => 0,
    };
    of(&BELONGING, reading.belonging) - earned
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chord::{Chord, chord};

    fn total(context: &Context<'_>, home: Key, path: &[Key]) -> i32 {
        let mut cost = 0;
        let mut before = home;
        for (at, key) in path.iter().enumerate() {
            cost += cost_at(context, at, *key) + if *key == before { 0 } else { CHANGE };
            before = *key;
        }
        cost
    }

    /// The slow twin: every way through the keys.
    fn least(context: &Context<'_>, home: Key) -> i32 {
        let keys = keys_from(context, home);
        let costs: Vec<Vec<i32>> = (0..context.chords.len())
            .map(|at| keys.iter().map(|key| cost_at(context, at, *key)).collect())
            .collect();
        fn rest(costs: &[Vec<i32>], before: usize) -> i32 {
            let Some((here, behind)) = costs.split_first() else { return 0 };
            let step = |(index, cost): (usize, &i32)| {
                cost + rest(behind, index) + if index == before { 0 } else { CHANGE }
            };
            here.iter().enumerate().map(step).min().unwrap()
        }
        rest(&costs, 0) // the home key is the first
    }

    #[test]
    fn all_short_progressions_cost_what_the_slow_twin_finds() {
        let chords = ["Cmaj7", "Fm7", "Bb7", "Ebmaj7", "F#m7b5", "B7"];
        let mut moved = 0;
        for choice in 0..chords.len().pow(3) {
            let picked = [choice % 6, choice / 6 % 6, choice / 36];
            let progression: Vec<Option<Chord>> = picked.iter().map(|i| Some(chord(chords[*i]))).collect();
            let context = Context::new(&progression);
            for home in ["C", "Em"] {
                let home = home.parse().unwrap();
                let path = local_keys(&context, home);
                assert_eq!(path.len(), 3);
                assert_eq!(total(&context, home, &path), least(&context, home), "{progression:?} in {home}");
                moved += usize::from(path.iter().any(|key| *key != home));
            }
        }
        assert!(moved > 0);
    }

    #[test]
    fn ok_two_keys_in_four_chords_as_the_slow_twin_has_it() {
        let progression = ["Cmaj7", "Fm7", "Bb7", "Ebmaj7"].map(|s| Some(chord(s)));
        let context = Context::new(&progression);
        let path = local_keys(&context, Key::C_MAJOR);
        assert_eq!(itertools::join(&path, " "), "C Eb Eb Eb");
        assert_eq!(total(&context, Key::C_MAJOR, &path), least(&context, Key::C_MAJOR));
    }
}
