//! What holds for every sheet, and for every file whatever is in it.

#![cfg(feature = "sheet")]
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::string_slice,
    clippy::panic,
    reason = "a test fails by panicking, also in its helpers"
)]

mod sheet_common;

use std::collections::BTreeMap;
use std::io::Write;

use overshell::sheet::{
    LeadSheet, Limits, ReadOptions, SheetFormat, TICKS_PER_QUARTER, read, write_lead_musicxml, write_midi,
    write_musicxml,
};
use proptest::prelude::*;
use proptest::test_runner::FileFailurePersistence;
use sheet_common::timewise::timewise;
use sheet_common::{arrange, generate};

const GOOD: [&str; 2] =
    [include_str!("data/harbour_steps.musicxml"), include_str!("data/odd_corners.musicxml")];

/// A value that can be written and read, or an error with a text.
fn survives(bytes: &[u8]) {
    let options = ReadOptions { limits: Limits { bytes: 1 << 20, ..Limits::default() }, strict: false };
    match read(bytes, &options) {
        Ok(reading) => {
            reading.sheet.validate().unwrap();
            for finding in &reading.findings {
                assert!(!finding.message.is_empty() && finding.beat.is_finite());
                assert!(finding.chord.is_none_or(|chord| chord < reading.sheet.chords.len()));
            }
            // A note below C0 is the only thing that is read but not written.
            if SheetFormat::of(bytes) == Some(SheetFormat::MusicXml)
                && let Ok(written) = write_lead_musicxml(&reading.sheet)
            {
                assert_eq!(read(written.as_bytes(), &options).unwrap().sheet, reading.sheet);
            }
        }
        Err(error) => assert!(error.is_sheet() || error.is_limit(), "{error}"),
    }
}

/// One change of a text at a place given in thousandths.
#[derive(Clone, Debug)]
enum Change {
    Byte(u8),
    Remove(usize),
    Repeat(usize),
    Insert(&'static str),
    Number(String),
}

fn change() -> impl Strategy<Value = (usize, Change)> {
    let words = proptest::sample::select(
        &[
            "<note>",
            "</note>",
            "<chord/>",
            "<grace/>",
            "&x;",
            "&#0;",
            "<![CDATA[",
            "-",
            "\u{0}",
            "]]>",
            "<!--",
            "<backup><duration>3</duration></backup>",
        ][..],
    );
    let change = prop_oneof![
        any::<u8>().prop_map(Change::Byte),
        (1usize..200).prop_map(Change::Remove),
        (1usize..400).prop_map(Change::Repeat),
        words.prop_map(Change::Insert),
        "-?[0-9]{1,40}(\\.[0-9]{1,3})?".prop_map(Change::Number),
    ];
    (0usize..1000, change)
}

fn apply(bytes: &mut Vec<u8>, (place, change): (usize, Change)) {
    let at = bytes.len() * place / 1000;
    let end = |length: usize| (at + length).min(bytes.len());
    match change {
        Change::Byte(byte) => {
            if let Some(cell) = bytes.get_mut(at) {
                *cell = byte;
            }
        }
        Change::Remove(length) => drop(bytes.drain(at..end(length))),
        Change::Repeat(length) => {
            let copy = bytes[at..end(length)].to_vec();
            bytes.splice(at..at, copy);
        }
        Change::Insert(text) => drop(bytes.splice(at..at, text.bytes())),
        Change::Number(number) => {
            // The next number of the text.
            let Some(from) = bytes[at..].iter().position(u8::is_ascii_digit).map(|by| at + by) else {
                return;
            };
            let length = bytes[from..].iter().take_while(|byte| byte.is_ascii_digit()).count();
            bytes.splice(from..from + length, number.bytes());
        }
    }
}

/// Sums of durations by bar and voice, as the page has them.
fn voice_lengths(page: &str) -> Vec<BTreeMap<String, u32>> {
    let text = |block: &str, tag: &str| {
        let (_, rest) = block.split_once(&format!("<{tag}>"))?;
        Some(rest.split_once('<')?.0.to_owned())
    };
    let bars = page.split("<measure ").skip(1);
    bars.map(|bar| {
        let mut sums: BTreeMap<String, u32> = BTreeMap::new();
        for block in bar.split("<note>").skip(1).chain(bar.split("<forward>").skip(1)) {
            let block =
                block.split(["\n      </note>", "\n      </forward>"][..].first().unwrap()).next().unwrap();
            let block = block.split("</forward>").next().unwrap();
            if !block.contains("<chord/>") {
                let duration: u32 = text(block, "duration").unwrap().parse().unwrap();
                *sums.entry(text(block, "voice").unwrap()).or_default() += duration;
            }
        }
        sums
    })
    .collect()
}

/// The sheet with the printed values that the reader gives to notes without one, from their lengths.
fn with_values_of(sheet: &LeadSheet, other: &LeadSheet) -> LeadSheet {
    let mut sheet = sheet.clone();
    for (note, read) in sheet.notes.iter_mut().zip(&other.notes) {
        note.value = note.value.or(read.value);
    }
    sheet
}

/// Cases that failed once are kept apart from the tests, which are packaged.
fn config() -> ProptestConfig {
    let kept = FileFailurePersistence::Direct(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/proptest-regressions/sheet_properties.txt"
    ));
    ProptestConfig { failure_persistence: Some(Box::new(kept)), ..ProptestConfig::with_cases(200) }
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn prop_any_bytes_give_a_value_or_an_error(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        survives(&bytes);
        survives(&[b"PK\x03\x04", &bytes[..]].concat());
        survives(&[b"\xFF\xFE", &bytes[..]].concat());
        survives(&[b"<score-partwise>", &bytes[..]].concat());
        survives(&[b"<score-timewise>", &bytes[..]].concat());
    }

    #[test]
    fn prop_any_mutation_of_a_good_file(file in 0usize..2, by_bars in any::<bool>(), changes in proptest::collection::vec(change(), 1..6)) {
        let mut bytes = if by_bars { timewise(GOOD[file]) } else { GOOD[file].to_owned() }.into_bytes();
        for change in changes {
            apply(&mut bytes, change);
        }
        survives(&bytes);
    }

    #[test]
    fn prop_any_mutation_of_an_archive(changes in proptest::collection::vec(change(), 1..4)) {
        let mut writer = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
        writer.start_file("tune.xml", zip::write::SimpleFileOptions::default()).unwrap();
        writer.write_all(GOOD[0].as_bytes()).unwrap();
        let mut bytes = writer.finish().unwrap().into_inner();
        for change in changes {
            apply(&mut bytes, change);
        }
        survives(&bytes);
    }

    /// Up to the values of notes that have none, reading what is written gives the sheet.
    #[test]
    fn prop_read_after_write_is_the_sheet(sheet in generate::sheet()) {
        sheet.validate().unwrap();
        let written = write_lead_musicxml(&sheet).unwrap();
        let again = read(written.as_bytes(), &ReadOptions::default()).unwrap();
        let unread = sheet.chords.iter().filter(|chord| chord.symbol.as_str().starts_with("CT")).count();
        prop_assert!(again.findings.len() >= unread);
        prop_assert_eq!(&again.sheet, &with_values_of(&sheet, &again.sheet));
        let mut by_bars = read(timewise(&written).as_bytes(), &ReadOptions::default()).unwrap();
        for (found, finding) in by_bars.findings.iter_mut().zip(&again.findings) {
            found.byte = finding.byte;
        }
        prop_assert_eq!(by_bars, again);
    }

    /// The page for two hands holds the shifted melody, and every voice fills its bars.
    #[test]
    fn prop_two_hands_keep_the_melody_and_fill_their_bars(sheet in generate::sheet(), up in any::<bool>()) {
        let shift = if up { 12 } else { 0 };
        let arrangement = arrange::simple(&sheet, shift);
        let page = write_musicxml(&sheet, &arrangement).unwrap();
        let again = read(page.as_bytes(), &ReadOptions::default()).unwrap().sheet;
        let pitches = |sheet: &LeadSheet, octaves: i8| -> Vec<_> {
            sheet.notes.iter().map(|n| (n.start, n.duration, n.pitch.and_then(|p| p.shift_octaves(octaves)))).collect()
        };
        if sheet.notes.iter().any(|note| note.pitch.is_some()) {
            prop_assert_eq!(pitches(&again, 0), pitches(&sheet, shift / 12));
        }
        for (bar, sums) in sheet.bars.iter().zip(voice_lengths(&page)) {
            prop_assert!(sums.contains_key("1") && sums.contains_key("5"));
            prop_assert!(sums.values().all(|sum| *sum == bar.length), "{:?} in {}", sums, bar.length);
        }
        let midi = write_midi(&sheet, &arrangement).unwrap();
        let smf = midly::Smf::parse(&midi).unwrap();
        let length: u32 = smf.tracks[0].iter().map(|event| event.delta.as_int()).sum();
        let exact = f64::from(sheet.end()) * 480.0 / f64::from(TICKS_PER_QUARTER);
        prop_assert!((f64::from(length) - exact).abs() <= 0.5);
    }
}
