//! Real lead sheets, where they are at hand: all are read, nothing is lost without a word, and what is written reads
//! back. Where the variable `OVERSHELL_OUT` names a folder, the pages are left there for programs of others to check.

#![cfg(feature = "sheet")]
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::string_slice,
    clippy::panic,
    reason = "a test fails by panicking, also in its helpers"
)]

mod sheet_common;

use overshell::sheet::{
    LeadSheet, PlacedSymbol, ReadOptions, read, read_file, write_file, write_lead_musicxml, write_midi,
    write_musicxml,
};
use sheet_common::{arrange, real_sheets};

fn sheets() -> Vec<(String, LeadSheet)> {
    let read = |path: std::path::PathBuf| {
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        (name, read_file(&path, &ReadOptions::default()).unwrap().sheet)
    };
    real_sheets().into_iter().map(read).collect()
}

#[test]
fn all_real_sheets_are_read() {
    for path in real_sheets() {
        let reading = read_file(&path, &ReadOptions::default()).unwrap();
        reading.sheet.validate().unwrap();
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        assert!(!reading.sheet.title.is_empty() && reading.sheet.bars.len() > 7, "{name}");
        assert!(reading.sheet.notes.iter().all(|note| note.value.is_some()), "{name}");
        for finding in &reading.findings {
            // All that these files leave open: symbols that share a place.
            assert!(finding.to_string().contains("stand at one place"), "{name}: {finding}");
            let chord = &reading.sheet.chords[finding.chord.unwrap()];
            assert!(
                finding.message.starts_with(&format!("`{}` and ", chord.symbol.as_str())),
                "{name}: {finding}"
            );
        }
        for chord in &reading.sheet.chords {
            assert!(matches!(chord.symbol, PlacedSymbol::Read(_)), "{name}: {:?}", chord.symbol);
        }
    }
}

#[test]
fn all_real_sheets_roundtrip() {
    for (name, sheet) in sheets() {
        let written = write_lead_musicxml(&sheet).unwrap();
        let again = read(written.as_bytes(), &ReadOptions::default()).unwrap();
        assert!(again.findings.is_empty(), "{name}: {:?}", again.findings);
        assert_eq!(again.sheet, sheet, "{name}");
    }
}

#[test]
fn all_real_sheets_are_written_for_two_hands() {
    for (name, sheet) in sheets() {
        let highest =
            sheet.notes.iter().filter_map(|note| note.pitch).map(|pitch| pitch.midi()).max().unwrap();
        let shift = if highest < 76 { 12 } else { 0 };
        let arrangement = arrange::simple(&sheet, shift);
        let page = write_musicxml(&sheet, &arrangement).unwrap();
        let midi = write_midi(&sheet, &arrangement).unwrap();
        let again = read(page.as_bytes(), &ReadOptions::default()).unwrap();
        for finding in &again.findings {
            assert!(finding.message.contains("other voices"), "{name}: {finding}");
        }
        let mut shifted = sheet.clone();
        for note in &mut shifted.notes {
            note.pitch = note.pitch.map(|pitch| pitch.shift_octaves(shift / 12).unwrap());
        }
        // A short first bar counts as a pick-up in a grand staff.
        if let (Some(bar), Some(written)) = (shifted.bars.first_mut(), again.sheet.bars.first()) {
            bar.implicit |= written.implicit && bar.length < bar.metre.bar_ticks();
        }
        // The page has no tie to a note that is not tied to it, as one source has.
        let tied: Vec<bool> =
            shifted.notes.iter().skip(1).map(|note| note.tied_from).chain([false]).collect();
        for (note, next_is_tied) in shifted.notes.iter_mut().zip(tied) {
            note.tied_to &= next_is_tied;
        }
        assert_eq!(again.sheet, shifted, "{name}");
        if let Some(folder) = std::env::var_os("OVERSHELL_OUT").map(std::path::PathBuf::from) {
            write_file(folder.join(format!("{name}.musicxml")), page.as_bytes()).unwrap();
            write_file(folder.join(format!("{name}.mid")), &midi).unwrap();
            write_file(
                folder.join(format!("{name}.json")),
                format!("{{\"octave_shift\": {shift}}}").as_bytes(),
            )
            .unwrap();
        }
    }
}
