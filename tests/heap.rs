//! What is allocated where: reading a symbol makes the value and nothing else, questions about sets and names of sounding
//! keys make nothing.

#![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

use std::hint::black_box;

use overshell::chord::{Chord, ChordSymbol, NamingOptions, chord, readings};
use overshell::pitch::{PitchSet, SetClass};
use overshell::rules::{RuleSet, Situation};
use overshell::voicing::Voicing;

#[global_allocator]
static HEAP: dhat::Alloc = dhat::Alloc;

/// How many blocks are allocated meanwhile.
fn blocks<T>(work: impl FnOnce() -> T) -> u64 {
    let before = dhat::HeapStats::get().total_blocks;
    black_box(work());
    dhat::HeapStats::get().total_blocks - before
}

/// One test, since the count is of the whole process.
#[test]
fn ok_no_heap_beyond_the_value() {
    let _profiler = dhat::Profiler::builder().testing().build();
    assert_eq!(blocks(|| vec![black_box(1)]), 1, "the count counts");

    // A symbol keeps its text, and the upper one of two chords.
    for (text, expected) in
        [("C7", 1), ("F#m7b5/E", 1), ("Bb13(b9,#11)", 1), ("(E♭△7)", 1), ("N.C.", 1), ("D|C7", 2)]
    {
        assert_eq!(blocks(|| black_box(text).parse::<ChordSymbol>().unwrap()), expected, "{text}");
    }
    // The chord alone keeps nothing of it.
    assert_eq!(blocks(|| black_box("D|C7(b9)/E").parse::<Chord>().unwrap()), 0);

    let c7 = chord("C7");
    let keys: PitchSet = "C E Bb D F# A".parse().unwrap();
    assert_eq!(blocks(|| c7.sounding(black_box(keys))), 0);
    assert_eq!(
        blocks(|| (SetClass::of(black_box(keys)).prime_form_rahn(), keys.forte_name(), keys.normal_order())),
        0
    );
    readings(keys, &NamingOptions::default()).next(); // makes the table
    for bits in 0..4096 {
        let keys = PitchSet::from_bits(bits).unwrap();
        assert_eq!(
            blocks(|| readings(keys, &NamingOptions::default()).map(|reading| reading.points()).sum::<i32>()),
            0,
            "{keys}"
        );
    }

    let voicing: Voicing = "C3 E3 Bb3 | D4 F#4 A4".parse().unwrap();
    let judge = RuleSet::standard().judge_for(c7, &Situation::default());
    assert_eq!(blocks(|| judge.score(black_box(&voicing))), 0);
}
