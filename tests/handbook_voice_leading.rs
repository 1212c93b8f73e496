//! Sizes of voice leadings: what a `motion` rule of one point a semitone charges, at its cheapest over octaves and
//! inversions, against published sizes and against brute force.
//!
//! The size is the sum of the distances that the voices move, each the shorter way round the octave. Source of the
//! definitions: D. Tymoczko, "The Geometry of Musical Chords", *Science* 313 (2006), pp. 72-74, with its supporting online
//! text. Two definitions are in use: voices matched one by one, and doublings allowed, so that each note of either chord
//! goes to, or comes from, at least one of the other.

#![allow(missing_docs, clippy::unwrap_used, clippy::indexing_slicing, reason = "tests")]

use itertools::{Itertools, iproduct};
use overshell::chord::chord;
use overshell::pitch::{NoteName, Pitch};
use overshell::rules::{Effect, Judge, RuleSet};
use overshell::voicing::{Hand, Voicing};

/// One point a semitone, voices one by one where there are equally many, or with splits.
fn measure(splits: bool) -> RuleSet {
    let text = format!(
        "format = 1\nname = \"size\"\n[[rule]]\nid = \"size\"\nkind = \"motion\"\nhand = \"right\"\nper-semitone = 1\n\
         splits = {splits}\nmessage = \"m\"\nhelp = \"h\"\nsource = \"Tymoczko 2006\"\n"
    );
    RuleSet::from_toml("size.toml", &text).unwrap()
}

/// A right hand over a low C.
fn voicing(keys: &[u8]) -> Voicing {
    let names = ["C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"];
    let pitch = |key: &u8| {
        let name: NoteName = names[usize::from(key % 12)].parse().unwrap();
        Pitch::from_midi(*key, name).unwrap()
    };
    Voicing::new("C1".parse().unwrap(), Hand::new(keys.iter().map(pitch)).unwrap()).unwrap()
}

/// All inversions in close position, the lowest key within the octave from this one.
fn inversions(classes: &[u8], octave: u8) -> Vec<Vec<u8>> {
    let sorted: Vec<u8> = classes.iter().map(|class| class % 12).sorted().collect();
    let inversion = |first: usize| {
        let (above, below) = sorted.split_at(first);
        below.iter().copied().chain(above.iter().map(|class| class + 12)).map(|key| key + octave).collect()
    };
    (0..sorted.len()).map(inversion).collect()
}

/// What the rule charges for the cheapest way from any inversion of one chord to any of the other, an octave lower or
/// higher if need be. Inversions of both are needed where a voice may split: the two that come of one may lie on both
/// sides of the octave.
fn size(rules: &RuleSet, from: &[u8], to: &[u8]) -> i32 {
    let judge: Judge<'_> = rules.judge_for(chord("C"), &Default::default());
    let from: Vec<Voicing> = inversions(from, 60).iter().map(|keys| voicing(keys)).collect();
    let to: Vec<Voicing> =
        [48, 60, 72].iter().flat_map(|octave| inversions(to, *octave)).map(|keys| voicing(&keys)).collect();
    let cost = |(from, to): (&Voicing, &Voicing)| {
        let findings = judge.motion(&judge, from, to);
        findings
            .iter()
            .map(|finding| if let Effect::Cost(points) = finding.effect { points } else { 0 })
            .sum()
    };
    iproduct!(&from, &to).map(cost).min().unwrap()
}

/// The shorter way round the octave.
fn distance(a: u8, b: u8) -> i32 {
    let up = i32::from(a) - i32::from(b);
    up.rem_euclid(12).min((-up).rem_euclid(12))
}

/// The size by the first definition: the cheapest of all ways to match the notes one by one.
fn one_by_one(from: &[u8], to: &[u8]) -> i32 {
    let size = |to: Vec<&u8>| from.iter().zip(to).map(|(a, b)| distance(*a, *b)).sum();
    to.iter().permutations(to.len()).map(size).min().unwrap()
}

/// The size by the second definition: every note goes somewhere, in all ways; a note of the other chord that none goes to
/// comes from the nearest.
fn with_doublings(from: &[u8], to: &[u8]) -> i32 {
    let ways = from.iter().map(|_| 0..to.len()).multi_cartesian_product();
    let size = |way: Vec<usize>| {
        let goes: i32 = from.iter().zip(&way).map(|(a, at)| distance(*a, to[*at])).sum();
        let left = to.iter().enumerate().filter(|(at, _)| !way.contains(at));
        goes + left.map(|(_, b)| from.iter().map(|a| distance(*a, *b)).min().unwrap()).sum::<i32>()
    };
    ways.map(size).min().unwrap()
}

fn on(root: u8, chord: &[u8]) -> Vec<u8> {
    chord.iter().map(|class| (class + root) % 12).collect()
}

const MAJOR: [u8; 3] = [0, 4, 7];
const MINOR: [u8; 3] = [0, 3, 7];
const TRIADS: [[u8; 3]; 4] = [MAJOR, MINOR, [0, 3, 6], [0, 4, 8]];
const MAJOR_SEVENTH: [u8; 4] = [0, 4, 7, 11];
const DOMINANT: [u8; 4] = [0, 4, 7, 10];
const MINOR_SEVENTH: [u8; 4] = [0, 3, 7, 10];
const HALF_DIMINISHED: [u8; 4] = [0, 3, 6, 10];
const DIMINISHED: [u8; 4] = [0, 3, 6, 9];
const SEVENTHS: [[u8; 4]; 6] =
    [MAJOR_SEVENTH, DOMINANT, MINOR_SEVENTH, HALF_DIMINISHED, DIMINISHED, [0, 3, 7, 11]];

/// The chord of Tymoczko's example (supporting online text, fig. S12): {4, 7, 11, 0} to {4, 8, 11, 3} takes three
/// semitones where E and B are doubled, (4, 4, 7, 11, 0) to (3, 4, 8, 11, 11). One by one it takes four (computed).
#[test]
fn ok_the_published_example_with_doublings() {
    let (from, to) = ([4, 7, 11, 0], [4, 8, 11, 3]);
    assert_eq!(size(&measure(true), &from, &to), 3);
    assert_eq!(size(&measure(false), &from, &to), 4);
    assert_eq!((with_doublings(&from, &to), one_by_one(&from, &to)), (3, 4));
}

/// Sizes between triads and between seventh chords on all roots. Those of a semitone or two are the transformations of
/// the neo-Riemannian school (R. Cohn, "Introduction to Neo-Riemannian Theory", *Journal of Music Theory* 42 (1998); from
/// memory): P and L one, R two; the rest follows from Tymoczko's first definition, and [`all_pairs_of_chords`] holds it
/// against brute force.
#[test]
fn ok_sizes_by_root() {
    let by_root = |from: &[u8], to: &[u8]| {
        let sizes: Vec<i32> = (0..12).map(|root| size(&measure(false), from, &on(root, to))).collect();
        let splits = (0..12).map(|root| size(&measure(true), from, &on(root, to)));
        assert!(splits.eq((0..12).map(|root| with_doublings(from, &on(root, to)))));
        sizes
    };
    assert_eq!(by_root(&MAJOR, &MAJOR), [0, 3, 6, 3, 2, 3, 6, 3, 2, 3, 6, 3]);
    assert_eq!(by_root(&MAJOR, &MINOR), [1, 2, 5, 4, 1, 2, 5, 4, 3, 2, 5, 4]);
    assert_eq!(by_root(&DOMINANT, &DOMINANT), [0, 4, 4, 2, 4, 4, 2, 4, 4, 2, 4, 4]);
    assert_eq!(by_root(&HALF_DIMINISHED, &DOMINANT), [2, 6, 2, 2, 6, 2, 2, 6, 2, 4, 6, 2]);
    assert_eq!(by_root(&DOMINANT, &HALF_DIMINISHED), [2, 2, 6, 4, 2, 6, 2, 2, 6, 2, 2, 6]);
}

/// Chords that lie close together, and the steps of a cadence; sizes by Tymoczko's first definition.
#[test]
fn ok_sizes_of_single_pairs() {
    for (from, to, expected) in [
        (vec![0, 4, 8], MAJOR.to_vec(), 1),                 // Caug to C
        (vec![0, 4, 8], on(9, &MINOR), 1),                  // Caug to Am
        (DIMINISHED.to_vec(), on(11, &DOMINANT), 1),        // Cdim7 to B7: C falls
        (DIMINISHED.to_vec(), HALF_DIMINISHED.to_vec(), 1), // Cdim7 to Cm7b5: A rises
        (on(5, &HALF_DIMINISHED), on(4, &DOMINANT), 2),     // Fm7b5 to E7
        (on(11, &HALF_DIMINISHED), on(4, &DOMINANT), 2),    // Bm7b5 to E7
        (on(2, &MINOR_SEVENTH), on(7, &DOMINANT), 3),       // Dm7 to G7
        (on(7, &DOMINANT), MAJOR_SEVENTH.to_vec(), 3),      // G7 to Cmaj7
        (on(2, &MINOR_SEVENTH), on(1, &DOMINANT), 3),       // Dm7 to Db7
        (on(1, &DOMINANT), MAJOR_SEVENTH.to_vec(), 3),      // Db7 to Cmaj7
        (vec![5, 0], vec![5, 11], 1),                       // the shells of Dm7 and G7
        (vec![5, 11], vec![4, 11], 1),                      // and of G7 and Cmaj7
    ] {
        assert_eq!(size(&measure(false), &from, &to), expected, "{from:?} to {to:?}");
        assert_eq!(size(&measure(true), &from, &to), with_doublings(&from, &to), "{from:?} to {to:?}");
    }
}

/// Chords of unequal sizes are led with doublings in either case: by Tymoczko's method G7 and Db7 come to C in four.
#[test]
fn ok_unequal_sizes() {
    for root in [7, 1] {
        for splits in [false, true] {
            assert_eq!(size(&measure(splits), &on(root, &DOMINANT), &MAJOR), 4);
            assert_eq!(size(&measure(splits), &MAJOR, &on(root, &DOMINANT)), 4);
        }
        assert_eq!(with_doublings(&on(root, &DOMINANT), &MAJOR), 4);
    }
}

/// Every pair of chords from C to all roots by both definitions against brute force; returns how many pairs there are and
/// for how many the definitions differ.
fn sweep(chords: &[&[u8]]) -> (usize, usize) {
    let (strict, free) = (measure(false), measure(true));
    let (mut pairs, mut differ) = (0, 0);
    for (from, to, root) in iproduct!(chords, chords, 0..12) {
        let to = on(root, to);
        let (plain, doubled) = (one_by_one(from, &to), with_doublings(from, &to));
        assert_eq!(size(&strict, from, &to), plain, "{from:?} to {to:?}, one by one");
        assert_eq!(size(&free, from, &to), doubled, "{from:?} to {to:?}, with doublings");
        pairs += 1;
        differ += usize::from(plain != doubled);
    }
    (pairs, differ)
}

/// No source for the counts: computed, here and by another program.
#[test]
fn all_pairs_of_chords() {
    let triads: Vec<&[u8]> = TRIADS.iter().map(|chord| &chord[..]).collect();
    assert_eq!(sweep(&triads), (192, 0));
    let sevenths: Vec<&[u8]> = SEVENTHS.iter().map(|chord| &chord[..]).collect();
    assert_eq!(sweep(&sevenths), (432, 34));
}
