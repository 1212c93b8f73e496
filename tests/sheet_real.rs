//! Real lead sheets, where they are at hand: everything is read, nothing lost without a word.

mod sheet_common;
use overshell::sheet::{PlacedSymbol, ReadOptions, read_file};
use sheet_common::real_sheets;

#[test]
fn all_real_sheets_are_read() {
    for path in real_sheets() {
        let reading = read_file(&path, &ReadOptions::default()).unwrap();
        reading.sheet.validate().unwrap();
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        assert!(!reading.sheet.title.is_empty() && reading.sheet.bars.len() > 7, "{name}");
        for finding in &reading.findings {
            println!("{name}: {finding}; {}", finding.help);
        }
        for chord in &reading.sheet.chords {
            assert!(matches!(chord.symbol, PlacedSymbol::Read(_)), "{name}: {:?}", chord.symbol);
        }
    }
}
