//! Tunes in lines, ABC and charts: what holds for every sheet and for every text.

#![cfg(feature = "sheet")]
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::panic,
    reason = "a test fails by panicking, also in its helpers"
)]

mod sheet_common;

use overshell::chord::Key;
use overshell::sheet::{
    LeadSheet, LeadText, ReadOptions, Reading, SheetFormat, TICKS_PER_QUARTER, read, read_abc, read_chart,
    read_file, write_abc, write_chart,
};
use proptest::prelude::*;
use sheet_common::{generate, real_sheets};

type Reader = fn(&[u8], &ReadOptions) -> overshell::Result<Reading>;
type Writer = fn(&LeadSheet) -> overshell::Result<LeadText>;

const FORMATS: [(SheetFormat, Reader, Writer); 2] =
    [(SheetFormat::Abc, read_abc, write_abc), (SheetFormat::Chart, read_chart, write_chart)];

/// Reading what is written gives the sheet exactly where nothing is lost; what a text holds it holds for good.
fn check(sheet: &LeadSheet) -> usize {
    let mut exact = 0;
    for (format, read_it, write_it) in FORMATS {
        let written = write_it(sheet).unwrap();
        assert_eq!(SheetFormat::of(written.text.as_bytes()), Some(format), "{}", written.text);
        let again = read_it(written.text.as_bytes(), &ReadOptions::default())
            .unwrap_or_else(|error| panic!("{}\n{error:?}", written.text));
        again.sheet.validate().unwrap();
        assert_eq!(
            written.is_exact(),
            again.sheet == *sheet,
            "{}\n{:#?}\n{sheet:#?}\n{:#?}",
            written.text,
            written.lost,
            again.sheet
        );
        // What sounds is kept in any case: pitches by time, symbols by time.
        // (Words that are no chord at all are words in ABC.)
        let is_chord = |text: &str| text.starts_with(|c: char| ('A'..='G').contains(&c) || "(N".contains(c));
        let symbols = sheet
            .chords
            .iter()
            .filter(|chord| format == SheetFormat::Chart || is_chord(chord.symbol.as_str()));
        let places: Vec<_> = symbols.map(|chord| (chord.start, chord.bar)).collect();
        assert_eq!(
            places,
            again.sheet.chords.iter().map(|chord| (chord.start, chord.bar)).collect::<Vec<_>>()
        );
        for note in sheet.notes.iter().chain(&again.sheet.notes) {
            assert_eq!(
                sheet.melody_at(note.start),
                again.sheet.melody_at(note.start),
                "{}\n{:?}",
                written.text,
                again.findings
            );
        }
        let second = write_it(&again.sheet).unwrap();
        assert!(second.is_exact(), "{}\n{:#?}", second.text, second.lost);
        assert_eq!(read(second.text.as_bytes(), &ReadOptions::default()).unwrap().sheet, again.sheet);
        exact += usize::from(written.is_exact());
    }
    exact
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(150) })]

    #[test]
    fn prop_read_after_write_is_the_sheet(sheet in generate::sheet()) {
        check(&sheet);
    }

    /// Rubbish gives an error, or a sheet that is sound and findings with places.
    #[test]
    fn prop_rubbish_does_not_panic(
        text in "\\PC{0,60}",
        chart in "([|:.{}1, \n=*/2~<>#\"-]|<segno>|<to coda>|<coda=2>|<dal segno>|C7|Dm7|[A-G][b#]?[0-9]|key=|metre=|3/4|title:|key:|r){0,60}",
    ) {
        for text in [format!("| {text}"), format!("| C |\n{text}\n> {text}"), format!("|{chart}"), format!("| C | D |\n>{chart}")] {
            if let Ok(reading) = read_chart(text.as_bytes(), &ReadOptions::default()) {
                reading.sheet.validate().unwrap_or_else(|error| panic!("{text}\n{error}"));
                for finding in &reading.findings {
                    prop_assert!(finding.line.is_some() && finding.column.is_some() && !finding.help.is_empty());
                }
            }
        }
    }
}

#[test]
fn ok_tunes_of_the_tests() {
    for file in [
        "tests/data/harbour_steps.musicxml",
        "tests/data/odd_corners.musicxml",
        "examples/tunes/nine-lamps.musicxml",
    ] {
        let path = format!("{}/{file}", env!("CARGO_MANIFEST_DIR"));
        check(&read_file(path, &ReadOptions::default()).unwrap().sheet);
    }
    let demo = include_str!("../examples/tunes/nine-lamps.musicxml");
    assert_eq!(check(&read(demo.as_bytes(), &ReadOptions::default()).unwrap().sheet), 2);
}

#[test]
fn ok_real_sheets() {
    let mut count = 0;
    for path in real_sheets() {
        check(&read_file(path, &ReadOptions::default()).unwrap().sheet);
        count += 1;
    }
    println!("{count} real sheets");
}

/// One tune in both formats, without a finding, and it is the same tune.
#[test]
fn ok_the_same_tune_twice() {
    let strict = ReadOptions { strict: true, ..ReadOptions::default() };
    let [abc, chart] = [
        &include_bytes!("../examples/tunes/pier-seven.abc")[..],
        include_bytes!("../examples/tunes/pier-seven.chart"),
    ]
    .map(|bytes| read(bytes, &strict).unwrap_or_else(|error| panic!("{error:?}")).sheet);
    assert_eq!(abc, chart);
    assert_eq!(abc.bars.len(), 11);
    assert_eq!(check(&abc), 2);
}

/// The example of the grammar is a chart, and means what its description says.
#[test]
fn ok_the_example_of_the_grammar() {
    let page = include_str!("../docs/chart.md");
    let chart = page.split("```text\n").nth(1).unwrap().split("```").next().unwrap();
    let reading = read(chart.as_bytes(), &ReadOptions { strict: true, ..ReadOptions::default() })
        .unwrap_or_else(|e| panic!("{e:?}"));
    let sheet = reading.sheet;
    assert_eq!(
        (sheet.title.as_str(), sheet.key, sheet.tempo),
        ("Harbour Steps", "Eb".parse::<Key>().unwrap(), Some(120))
    );
    assert_eq!(sheet.bars.len(), 5);
    let symbols: Vec<(&str, usize, f64)> =
        sheet.chords.iter().map(|c| (c.symbol.as_str(), c.bar, sheet.beat_of(c.bar, c.start))).collect();
    assert_eq!(
        symbols,
        [
            ("Ebmaj7", 0, 1.0),
            ("Fm7", 1, 1.0),
            ("Bb7", 1, 3.0),
            ("Gm7", 2, 1.0),
            ("C7", 2, 3.0),
            ("Gm7", 3, 1.0),
            ("C7", 3, 3.0),
            ("Ebmaj7", 4, 1.0),
        ]
    );
    assert_eq!(sheet.as_played().unwrap().bars, [0, 1, 2, 3, 0, 1, 4]);
    assert_eq!(sheet.notes[0].duration, 2 * TICKS_PER_QUARTER);
    check(&sheet);
}
