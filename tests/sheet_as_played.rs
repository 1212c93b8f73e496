//! What holds for every sheet as it is played, whatever signs it has.

#![cfg(feature = "sheet")]
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::panic,
    reason = "a test fails by panicking, also in its helpers"
)]

mod sheet_common;

use overshell::sheet::{
    Barline, LeadSheet, Note, ReadOptions, Road, read, read_file, write_lead_musicxml, write_midi,
    write_musicxml,
};
use proptest::prelude::*;
use sheet_common::{arrange, generate, real_sheets};

fn has_signs(sheet: &LeadSheet) -> bool {
    let mut lines = sheet.bars.iter().flat_map(|bar| [&bar.left, &bar.right]);
    lines.any(|line| line.repeat.is_some() || line.ending.is_some())
        || sheet.bars.iter().any(|bar| !bar.road.is_empty())
}

/// The notes of a bar from its start, without the ties at its edges.
fn notes(sheet: &LeadSheet, bar: usize) -> Vec<Note> {
    let bar = &sheet.bars[bar];
    let inside = sheet.notes.iter().filter(|note| (bar.start..bar.end()).contains(&note.start));
    let mut notes: Vec<Note> =
        inside.map(|note| Note { start: note.start - bar.start, ..note.clone() }).collect();
    notes.first_mut().unwrap().tied_from = false;
    notes.last_mut().unwrap().tied_to = false;
    notes
}

/// No signs, each bar as on the page, every bar of the page, nothing new the second time; can be written.
fn check(page: &LeadSheet) {
    let played = page.as_played().unwrap();
    let sheet = &played.sheet;
    sheet.validate().unwrap();
    assert!(!has_signs(sheet));
    if !has_signs(page) {
        assert_eq!(sheet, page);
    }
    for (index, (bar, of_page)) in sheet.bars.iter().zip(&played.bars).enumerate() {
        let mut written = page.bars[*of_page].clone();
        assert_eq!(notes(sheet, index), notes(page, *of_page));
        for line in [&mut written.left, &mut written.right] {
            if line.repeat.is_some() {
                *line = Barline::default();
            }
            line.ending = None;
        }
        written.start = bar.start;
        written.road = Road::default();
        assert_eq!(*bar, written);
    }
    // Every bar is played, or it is told that it never is.
    let missing = (0..page.bars.len()).any(|bar| !played.bars.contains(&bar));
    assert_eq!(missing, played.findings.iter().any(|finding| finding.message.contains("never played")));
    assert_eq!(sheet.as_played().unwrap().sheet, *sheet);
    assert_eq!(sheet.progression().slots.len(), played.chords.len());
    let again = read(write_lead_musicxml(sheet).unwrap().as_bytes(), &ReadOptions::default()).unwrap().sheet;
    assert_eq!(again.bars, sheet.bars);
    let arrangement = arrange::simple(sheet, 0);
    write_musicxml(sheet, &arrangement).unwrap();
    write_midi(sheet, &arrangement).unwrap();
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(200) })]

    #[test]
    fn prop_any_sheet(sheet in generate::sheet()) {
        check(&sheet);
    }
}

#[test]
fn all_real_sheets_are_played() {
    for path in real_sheets() {
        check(&read_file(&path, &ReadOptions::default()).unwrap().sheet);
    }
}

#[test]
fn ok_the_invented_tune_with_endings() {
    let text = include_str!("data/harbour_steps.musicxml");
    let page = read(text.as_bytes(), &ReadOptions::default()).unwrap().sheet;
    assert!(has_signs(&page));
    check(&page);
}
