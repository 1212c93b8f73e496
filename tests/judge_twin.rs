//! The standard set as data against the same rules written by hand for dominant sevenths.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "tests"
)]

#[path = "../benches/plain/judge.rs"]
mod by_hand;

use std::collections::BTreeSet;

use itertools::iproduct;
use overshell::chord::{Chord, Function, Quality};
use overshell::pitch::{NoteName, Pitch, PitchClass};
use overshell::rules::{Judge, MovingNote, RuleSet, Score, Situation};
use overshell::voicing::{Hand, Inversion, Shell, Spacing, Triad, Voicing};
use proptest::prelude::*;
use proptest::test_runner::FileFailurePersistence;

fn config(cases: u32) -> ProptestConfig {
    let kept = FileFailurePersistence::Direct(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/proptest-regressions/judge_twin.txt"
    ));
    ProptestConfig { cases, failure_persistence: Some(Box::new(kept)), ..ProptestConfig::default() }
}

/// A name for a pitch class.
fn name(class: u8) -> NoteName {
    NoteName::all().find(|name| name.pitch_class().get() == class).unwrap().simplest()
}

fn pitch(key: u8) -> Pitch {
    Pitch::from_midi(key, name(key % 12)).unwrap()
}

fn dominant(root: PitchClass) -> Chord {
    Chord::new(name(root.get()), Quality::DOMINANT_SEVENTH)
}

fn home() -> Situation {
    Situation { function: Some(Function::ToTonicMajor), ..Situation::default() }
}

fn keys(hand: Hand) -> Vec<u8> {
    hand.pitches().iter().map(|pitch| pitch.midi()).collect()
}

fn assert_same(judge: &Judge<'_>, root: u8, left: &[u8], right: &[u8]) -> Score {
    let score = judge.score_keys(left, right);
    assert_eq!(score, by_hand::judge(root, left, right), "over {root}: {left:?} | {right:?}");
    score
}

/// All shells, at the bottom of each of these octaves.
fn shells(chord: Chord, bottoms: [u8; 2]) -> impl Iterator<Item = Hand> {
    let over = move |(shell, bottom): (Shell, u8)| shell.hand_from(chord, bottom);
    iproduct!(Shell::ALL, bottoms).filter_map(over).chain([Hand::empty()])
}

/// All triads in all inversions and spacings, above each of these keys.
fn triads(chord: Chord, above: [u8; 2]) -> Vec<Hand> {
    iproduct!(Triad::all_over(chord), Inversion::ALL, Spacing::ALL, above)
        .filter_map(|(triad, inversion, spacing, above)| triad.hand_above(inversion, spacing, above))
        .chain([Hand::empty()])
        .collect()
}

/// 52 triads × 10 shells × 3 inversions × 2 spacings × 2 registers of each hand × 12 roots.
#[test]
fn all_triads_over_all_shells_agree() {
    let (mut clashes, mut costs, mut colours) = (0, BTreeSet::new(), BTreeSet::new());
    let mut count = 0;
    for root in PitchClass::ALL {
        let chord = dominant(root);
        let judge = RuleSet::standard().judge_for(chord, &home());
        let rights: Vec<Vec<u8>> = triads(chord, [56, 68]).into_iter().map(keys).collect();
        for left in shells(chord, [36, 48]).map(keys) {
            for right in rights.iter().filter(|right| left.last() < right.first() || right.is_empty()) {
                let score = assert_same(&judge, root.get(), &left, right);
                count += 1;
                clashes += i32::from(score.clash);
                costs.insert(score.cost);
                colours.insert(score.colour);
            }
        }
    }
    // The sweep reaches what it is meant to reach.
    assert!(count > 100_000 && clashes > 10_000 && clashes < count / 2, "{clashes} of {count}");
    assert!(costs.len() > 100, "{costs:?}");
    assert_eq!(colours.into_iter().collect::<Vec<_>>(), [0, 10, 20, 30, 40, 50, 60]);
}

/// Hands that are no shells and triads: every pair of keys with every key between, in both hands.
#[test]
fn all_small_hands_agree() {
    for root in [0, 7] {
        let judge = RuleSet::standard().judge_for(dominant(PitchClass::wrapping(root)), &home());
        let root = root as u8;
        for (low, high) in iproduct!(30..60u8, 30..84u8).filter(|(low, high)| low < high) {
            assert_same(&judge, root, &[low], &[high]);
            assert_same(&judge, root, &[low, high], &[]);
            assert_same(&judge, root, &[], &[low, high]);
            for middle in low + 1..high {
                assert_same(&judge, root, &[low, middle], &[high]);
                assert_same(&judge, root, &[low], &[middle, high]);
            }
        }
        for key in 0..128 {
            assert_same(&judge, root, &[key], &[]);
            assert_same(&judge, root, &[], &[key]);
        }
        assert_same(&judge, root, &[], &[]);
    }
}

/// What the twin is held against: which of the rules the sweep over C7 lets fire.
#[test]
fn ok_the_rules_that_fire_over_a_dominant() {
    let chord = dominant(PitchClass::wrapping(0));
    let top = pitch(82);
    let moving = vec![MovingNote { key: 69, sixteenths: 4 }];
    let judge = RuleSet::standard().judge_for(chord, &Situation { melody: Some(top), moving, ..home() });
    let mut fired: BTreeSet<String> = BTreeSet::new();
    for (left, right) in iproduct!(shells(chord, [36, 48]), triads(chord, [56, 68])) {
        // The hand alone, and with a high melody note.
        for right in
            [Some(right), Hand::new(right.pitches().iter().copied().chain([top])).ok()].into_iter().flatten()
        {
            if let Ok(voicing) = Voicing::new(left, right) {
                fired.extend(judge.judge(&voicing).findings.into_iter().map(|finding| finding.rule));
            }
        }
    }
    // What shells and triads do not hold.
    for text in ["C3 E3 Bb3 | Db4 D4 Eb4", "C3 F3 Bb3 | E4 Ab4 A4", "C3 D3 F4 | Bb4 D5"] {
        fired.extend(judge.judge(&text.parse().unwrap()).findings.into_iter().map(|finding| finding.rule));
    }
    let fired = itertools::join(fired.iter(), "\n");
    insta::assert_snapshot!(fired, @"
    altered-tension
    doubled-guide-tone
    doubled-root-or-fifth
    doubled-tension
    eleventh-over-major-third
    gap-between-hands
    gap-under-melody
    highest-note
    left-hand-ceiling
    left-hand-floor
    left-hand-thin
    low-interval-limit
    major-seventh-over-minor-seventh
    melody-rubs-later
    minor-ninth
    minor-ninth-and-octave
    minor-seventh-over-major-seventh
    natural-and-raised-ninth
    natural-tension
    no-triad
    reach-medium
    right-hand-thin
    right-thumb-compass
    root-missing
    semitone-inside
    semitone-on-top
    seventh-missing
    tension-in-left-hand
    third-missing
    third-over-eleventh
    two-ninths
    two-thirteenths
    unusual-triad
    whole-tone-on-top
    ");
}

/// Up to five keys for each hand, the left below the right; near one another, so that they meet rules.
fn hands() -> impl Strategy<Value = (Vec<u8>, Vec<u8>)> {
    let near = (0u8..=127).prop_flat_map(|low| {
        let high = low.saturating_add(36).min(127);
        prop::collection::btree_set(low..=high, 0..=10usize.min(usize::from(high - low) + 1))
    });
    let anywhere = prop::collection::btree_set(0u8..=127, 0..=10usize);
    (prop_oneof![3 => near, 1 => anywhere], 0usize..=5).prop_map(|(keys, left)| {
        let keys: Vec<u8> = keys.into_iter().collect();
        let left = left.clamp(keys.len().saturating_sub(5), keys.len().min(5));
        (keys[..left].to_vec(), keys[left..].to_vec())
    })
}

proptest! {
    #![proptest_config(config(400))]

    /// Fifty hands over each root, since preparing takes longer than judging.
    #[test]
    fn prop_random_hands_agree(hands in prop::collection::vec(hands(), 50), root in 0u8..12) {
        let judge = RuleSet::standard().judge_for(dominant(PitchClass::wrapping(i32::from(root))), &home());
        for (left, right) in hands {
            assert_same(&judge, root, &left, &right);
        }
    }

    /// The melody is the note on top or another, and others follow it nearby.
    #[test]
    fn prop_random_hands_under_a_melody_agree(
        hands in prop::collection::vec(hands(), 50),
        root in 0u8..12,
        melody in 40u8..100,
        steps in prop::collection::vec((-24i16..=24, 1u8..=16), 0..6),
    ) {
        let moving: Vec<MovingNote> = steps
            .into_iter()
            .map(|(by, sixteenths)| MovingNote { key: (i16::from(melody) + by) as u8, sixteenths })
            .collect();
        let situation = Situation { melody: Some(pitch(melody)), moving: moving.clone(), ..home() };
        let judge = RuleSet::standard().judge_for(dominant(PitchClass::wrapping(i32::from(root))), &situation);
        for (left, mut right) in hands {
            if left.len() < 5 && right.len() < 5 && left.last().is_none_or(|key| *key < melody) {
                right.retain(|key| *key < melody);
                right.push(melody);
            }
            let score = judge.score_keys(&left, &right);
            prop_assert_eq!(score, by_hand::judge_under(root, &left, &right, melody, &moving));
        }
    }
}
