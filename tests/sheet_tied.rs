//! Pages with repeats, arranged as they are played with one voicing for each written chord.

#![cfg(feature = "sheet")]
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::panic,
    reason = "a test fails by panicking, also in its helpers"
)]

mod sheet_common;

use std::sync::Arc;

use overshell::rules::RuleSet;
use overshell::search::{ArrangeOptions, arrange, arrange_tied};
use overshell::sheet::{LeadSheet, ReadOptions, read, read_file, write_midi, write_musicxml};
use proptest::prelude::*;
use sheet_common::{arrange as simply, generate, real_sheets};

/// Every written chord is there, as it is written; a page without repeats and marks is its own progression.
fn check(page: &LeadSheet) {
    let played = page.progression_as_played().unwrap();
    assert_eq!(played.same.len(), played.progression.slots.len());
    let written = page.progression();
    assert_eq!(played.progression.key, written.key);
    for (slot, chord) in played.progression.slots.iter().zip(&played.same) {
        assert_eq!(slot.chord, written.slots[*chord].chord);
    }
    for chord in 0..page.chords.len() {
        let times = played.same.iter().filter(|same| **same == chord).count();
        assert!(times > 0, "chord {chord} is not played");
    }
    let mut sorted = played.same.clone();
    sorted.sort();
    sorted.dedup();
    assert_eq!(played.repeats(), sorted.len() < played.same.len());
    let mut lines = page.bars.iter().flat_map(|bar| [&bar.left, &bar.right]);
    let has_signs = lines.any(|line| line.repeat.is_some() || line.ending.is_some());
    if !has_signs && page.bars.iter().all(|bar| bar.road.is_empty()) {
        assert_eq!(played.progression, written);
        assert!(!played.repeats());
    }
    // Back on the page there is one entry for each written chord, that of the first time.
    let mut arrangement = simply::simple(page, 0);
    let of_slots = played.same.iter().enumerate().map(|(slot, chord)| {
        let mut arranged = Arc::clone(&arrangement.chords[*chord]);
        let own = Arc::make_mut(&mut arranged);
        (own.slot, own.cost) = (slot, slot as i32);
        arranged
    });
    arrangement.chords = of_slots.collect();
    let of_page = played.on_page(&arrangement);
    assert_eq!(of_page.chords.len(), page.chords.len());
    for (chord, arranged) in of_page.chords.iter().enumerate() {
        assert_eq!(arranged.slot, chord);
        let first = played.same.iter().position(|same| *same == chord).unwrap();
        assert_eq!(arranged.cost, first as i32);
    }
    write_musicxml(page, &of_page).unwrap();
    write_midi(page, &of_page).unwrap();
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(200) })]

    #[test]
    fn prop_any_sheet(sheet in generate::sheet()) {
        check(&sheet);
    }
}

#[test]
fn all_real_sheets_come_back_to_the_page() {
    for path in real_sheets() {
        check(&read_file(&path, &ReadOptions::default()).unwrap().sheet);
    }
}

/// The invented tune with endings: one voicing for each chord, no dearer than the page in its own order.
#[test]
fn ok_the_invented_tune_with_endings() {
    let text = include_str!("data/harbour_steps.musicxml");
    let page = read(text.as_bytes(), &ReadOptions::default()).unwrap().sheet;
    check(&page);
    let played = page.progression_as_played().unwrap();
    assert!(played.repeats());
    let (rules, options) = (RuleSet::standard(), ArrangeOptions::default());
    let tied = arrange_tied(&played.progression, &played.same, rules, options).unwrap();
    let keys = |chord: usize| {
        let voicing = tied.chords[chord].voicing?;
        Some(voicing.pitches().map(|pitch| pitch.midi()).collect::<Vec<u8>>())
    };
    for (one, chord) in played.same.iter().enumerate() {
        let first = played.same.iter().position(|same| same == chord).unwrap();
        assert_eq!(keys(one), keys(first));
    }
    let sum: i32 = tied.chords.iter().map(|chord| chord.points + chord.points_of_moves()).sum();
    assert_eq!(sum, tied.cost);
    assert!(tied.cost >= arrange(&played.progression, rules, options).unwrap().cost);
}
