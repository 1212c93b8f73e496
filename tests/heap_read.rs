//! Reading MusicXML takes memory in proportion to the text, and within the limits no more than [`Limits`] says, whatever the text:
//! one row for each thing that a short text could name very often.

#![cfg(feature = "sheet")]
#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "a test fails by panicking")]

use std::io::{Cursor, Write};

use overshell::sheet::{Limits, ReadOptions, read};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

#[global_allocator]
static HEAP: dhat::Alloc = dhat::Alloc;

const DEMO: &str = include_str!("../examples/tunes/nine-lamps.musicxml");
const MEGABYTE: usize = 1 << 20;

/// The most bytes that are held at once meanwhile, beside what was there.
fn peak<T>(work: impl FnOnce() -> T) -> usize {
    let _profiler = dhat::Profiler::builder().testing().build();
    drop(work());
    dhat::HeapStats::get().max_bytes
}

/// The demo tune with its bars so many times.
fn demo(times: usize) -> String {
    let (before, rest) = DEMO.split_once("<measure").unwrap();
    let (bars, behind) = rest.rsplit_once("</measure>").unwrap();
    format!("{before}{}{behind}", format!("<measure{bars}</measure>\n").repeat(times))
}

fn partwise(inside: &str) -> String {
    format!("<score-partwise>{inside}</score-partwise>")
}

/// A part of bars that hold so many of these, a hundred each.
fn bars(inside: &str, count: usize) -> String {
    let bar = format!("<measure number='1'>{}</measure>", inside.repeat(100));
    partwise(&format!("<part id='P1'>{}</part>", bar.repeat(count / 100)))
}

/// One test, since the count is of the whole process.
#[test]
fn ok_memory_is_bounded() {
    assert_eq!(peak(|| vec![0u8; 1000]), 1000, "the count counts");
    in_proportion();
    within_limits();
    bombs();
}

/// However long a tune is, its reading takes about five times its text.
fn in_proportion() {
    for times in [1, 10, 100] {
        let text = demo(times);
        let bars = text.matches("<measure").count();
        let peak = peak(|| {
            let reading = read(text.as_bytes(), &ReadOptions::default()).unwrap();
            assert_eq!(reading.sheet.bars.len(), bars);
            reading
        });
        println!(
            "demo tune, {times} times: {peak} bytes of {}, {:.2}",
            text.len(),
            peak as f64 / text.len() as f64
        );
        assert!(peak < 6 * text.len(), "{times} times: {peak} bytes");
    }
}

/// As much as the limits allow, and one more: four kilobytes for each note that is allowed, whatever stands in its place.
fn within_limits() {
    const NOTES: usize = 5000;
    const BARS: usize = 500;
    let options = ReadOptions {
        limits: Limits { notes: NOTES, bars: BARS, ..Limits::default() },
        ..ReadOptions::default()
    };
    let note = "<note><pitch><step>C</step><octave>5</octave></pitch><duration>1</duration></note>";
    let half = "<measure/>".repeat(NOTES / 20 / 2);
    for (name, text, allowed) in [
        ("notes", bars(note, NOTES), true),
        ("notes, too many", bars(note, NOTES + 100), false),
        ("grace notes", bars("<note><grace/></note>", NOTES), true),
        ("notes without anything", bars("<note/>", NOTES), true),
        ("symbols without anything", bars("<harmony/>", NOTES), true),
        (
            "symbols of degrees that make no sense",
            bars(&format!("<harmony>{}</harmony>", "<degree/>".repeat(30)), NOTES),
            true,
        ),
        ("bars", partwise(&format!("<part>{}</part>", "<measure/>".repeat(BARS))), true),
        ("parts of empty bars", partwise(&format!("<part>{half}</part>").repeat(40)), true),
        ("parts of empty bars, too many", partwise(&format!("<part>{half}</part>").repeat(41)), false),
        ("parts", partwise(&format!("<part><measure/></part>{}", "<part/>".repeat(NOTES - 1))), true),
        ("parts, too many", partwise(&"<part/>".repeat(NOTES + 1)), false),
        ("marks of the road", bars("<barline><coda/></barline>", NOTES), true),
        (
            "words",
            bars("<direction><direction-type><words>D.S.</words></direction-type></direction>", NOTES),
            true,
        ),
        ("comments", partwise(&format!("<part><measure/></part>{}", "<!---->".repeat(NOTES))), true),
        (
            "bars without parts",
            format!("<score-timewise>{}</score-timewise>", "<measure/>".repeat(BARS + 1)),
            false,
        ),
        (
            "parts in one bar, with a symbol of degrees that make no sense",
            format!(
                "<score-timewise><measure>{}</measure></score-timewise>",
                format!("<part><harmony>{}</harmony></part>", "<degree/>".repeat(30)).repeat(NOTES)
            ),
            true,
        ),
        (
            "parts in one bar",
            format!("<score-timewise><measure>{}</measure></score-timewise>", "<part/>".repeat(NOTES)),
            true,
        ),
    ] {
        let mut read_all = None;
        let peak = peak(|| {
            let reading = read(text.as_bytes(), &options);
            read_all =
                Some(reading.as_ref().map(|_| ()).map_err(|error| (error.is_limit(), error.to_string())));
            reading.ok()
        });
        println!("{name}: {} kB of {} kB", peak / 1000, text.len() / 1000);
        match read_all.unwrap() {
            Ok(()) => assert!(allowed, "{name}"),
            Err((is_limit, error)) => assert!(is_limit && !allowed, "{name}: {error}"),
        }
        assert!(peak < 4000 * NOTES, "{name}: {peak} bytes");
    }
}

/// What an archive unpacks to is dropped at the limit, of which a growing buffer is twice.
fn bombs() {
    let limit = 4 * MEGABYTE;
    for (megabytes, is_read) in [(3, true), (64, false)] {
        let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
        writer.start_file("a.xml", SimpleFileOptions::default()).unwrap();
        let score = DEMO.trim_end();
        writer.write_all(score.as_bytes()).unwrap();
        for _ in 0..megabytes {
            writer.write_all(&vec![b' '; MEGABYTE]).unwrap();
        }
        let bytes = writer.finish().unwrap().into_inner();
        assert!(bytes.len() < 100_000);
        let options =
            ReadOptions { limits: Limits { bytes: limit, ..Limits::default() }, ..ReadOptions::default() };
        let mut found = None;
        let peak = peak(|| found = Some(read(&bytes, &options)));
        println!("an archive of {megabytes} MB: {} kB", peak / 1000);
        match found.unwrap() {
            Ok(reading) => assert!(is_read && !reading.sheet.notes.is_empty()),
            Err(error) => assert!(!is_read && error.is_limit(), "{error}"),
        }
        assert!(peak < 2 * limit + MEGABYTE, "{megabytes} MB: {peak} bytes");
    }
}
