//! Tunes in ABC for programs of others: where `OVERSHELL_LINES` names a folder, every `made-N.abc` of it is read and written as
//! MusicXML beside it, and tunes of our own are written both ways (`written-N.*`), for `tests/outside/abc.py`.

#![cfg(feature = "sheet")]
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::panic,
    reason = "a test fails by panicking, also in its helpers"
)]

mod sheet_common;

use std::fs;
use std::path::{Path, PathBuf};

use overshell::sheet::{LeadSheet, ReadOptions, read_abc, read_file, write_abc, write_lead_musicxml};
use sheet_common::real_sheets;

/// Tunes that are read from MusicXML and written as ABC.
fn own() -> Vec<LeadSheet> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let files = [
        "tests/data/harbour_steps.musicxml",
        "tests/outside/ferry_lights.musicxml",
        "examples/tunes/nine-lamps.musicxml",
    ];
    let paths = files.iter().map(|file| root.join(file)).chain(real_sheets());
    paths.map(|path| read_file(path, &ReadOptions::default()).unwrap().sheet).collect()
}

fn made(folder: &Path) -> Vec<PathBuf> {
    let paths = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    paths
        .filter(|path| path.file_name().is_some_and(|name| name.to_string_lossy().starts_with("made-")))
        .filter(|path| path.extension().is_some_and(|extension| extension == "abc"))
        .collect()
}

#[test]
fn ok_tunes_are_written_for_others() {
    let sheets = own();
    assert!(sheets.len() >= 3);
    let folder = std::env::var_os("OVERSHELL_LINES").map(PathBuf::from);
    for (number, sheet) in sheets.iter().enumerate() {
        let written = write_abc(sheet).unwrap();
        let again = read_abc(written.text.as_bytes(), &ReadOptions::default()).unwrap().sheet;
        assert_eq!(written.is_exact(), again == *sheet);
        // The page is of the sheet itself, not of what was read from ABC, unless its ties have no partners.
        let has_odd_ties = written.lost.iter().any(|lost| lost.message.starts_with("a tie"));
        let page = write_lead_musicxml(if has_odd_ties { &again } else { sheet }).unwrap();
        if let Some(folder) = &folder {
            fs::write(folder.join(format!("written-{number}.abc")), written.text).unwrap();
            fs::write(folder.join(format!("written-{number}.musicxml")), page).unwrap();
        }
    }
    for path in folder.iter().flat_map(|folder| made(folder)) {
        let reading = read_abc(&fs::read(&path).unwrap(), &ReadOptions::default())
            .unwrap_or_else(|error| panic!("{error:?}"));
        let about_mode = |message: &str| message.starts_with("the mode of");
        assert!(
            reading.findings.iter().all(|f| about_mode(&f.message)),
            "{}: {:?}",
            path.display(),
            reading.findings
        );
        fs::write(path.with_extension("musicxml"), write_lead_musicxml(&reading.sheet).unwrap()).unwrap();
    }
}
