//! How fast sheets are read and written: MusicXML against a mere tokeniser of the same bytes, text formats, MIDI, and whole tunes
//! from file to files on all cores.
//!
//! | law | where it is printed |
//! |---|---|
//! | reading MusicXML takes at most twice as long as `quick-xml` takes to tell its tokens | `sheet/read/musicxml/…` |
//! | writing MusicXML makes 200 MB a second | `sheet/write/musicxml/…` |
//! | a thousand sheets are read, arranged and written in a minute on two cores | `sheet/whole/…` |

#![allow(missing_docs, clippy::unwrap_used, clippy::indexing_slicing, reason = "benches")]

use std::fmt::Write;
use std::hint::black_box;
use std::io::Read;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use overshell::rules::RuleSet;
use overshell::search::{ArrangeOptions, Arrangement, arrange};
use overshell::sheet::{
    LeadSheet, ReadOptions, Report, read, read_abc, read_chart, write_abc, write_chart, write_file,
    write_lead_musicxml, write_midi, write_musicxml,
};
use quick_xml::events::Event;

const DEMO: &[u8] = include_bytes!("../examples/tunes/nine-lamps.musicxml");

fn sheet(bytes: &[u8]) -> LeadSheet {
    read(bytes, &ReadOptions::default()).unwrap().sheet
}

/// A long tune, invented: so many bars in fours, two chords and four notes each, triplets and a tie in every eighth.
fn long(bars: usize) -> LeadSheet {
    const CHORDS: [&str; 8] = [
        "Dm7 G7(b9)",
        "Cmaj7 A7",
        "Fmaj7 Bb7(#11)",
        "Em7b5 A7(b13)",
        "Dm9 G13",
        "C6 C7",
        "Fm7 Bb7",
        "C6 G7sus",
    ];
    const NOTES: [&str; 8] = [
        "A4 C5 B4 D5",
        "E5 G5 C#5 E5",
        "F5 A4 D5 E5",
        "G4 Bb4 C#5 F5",
        "E5 F5 E5 B4",
        "G4 A4 Bb4 C5",
        "Ab4 C5 D5 F5",
        "E5 D5 C5 D5",
    ];
    let mut text = "title: Long Way Round\nkey: C\nmetre: 4/4\n\n".to_owned();
    for bar in 0..bars {
        writeln!(text, "| {} |\n> {} |", CHORDS[bar % 8], NOTES[(bar + bar / 8) % 8]).unwrap();
    }
    let reading = read(text.as_bytes(), &ReadOptions::default()).unwrap();
    assert_eq!((reading.sheet.bars.len(), reading.sheet.chords.len()), (bars, 2 * bars));
    assert_eq!(reading.findings, []);
    reading.sheet
}

/// The real lead sheets of the folder beside the package, as they are; none where there is none.
fn real() -> Vec<Vec<u8>> {
    let beside = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared");
    let shared = std::env::var_os("OVERSHELL_SHARED").map_or(beside, Into::into);
    let Ok(folder) = std::fs::read_dir(shared.join("leadsheets")) else {
        println!("skipped: no folder `../shared/leadsheets` and no `OVERSHELL_SHARED`");
        return Vec::new();
    };
    let mut paths: Vec<_> = folder.map(|entry| entry.unwrap().path()).collect();
    paths.retain(|path| path.extension().is_some_and(|extension| extension == "mxl"));
    paths.sort();
    paths.iter().map(|path| std::fs::read(path).unwrap()).collect()
}

/// The score in an archive.
fn unpacked(bytes: &[u8]) -> Vec<u8> {
    let mut archive = zip::ZipArchive::new(std::io::Cursor::new(bytes)).unwrap();
    let names: Vec<String> = archive.file_names().map(|name| name.unwrap().into_owned()).collect();
    let name = names.iter().find(|name| name.ends_with(".xml") && !name.starts_with("META-INF")).unwrap();
    let mut out = Vec::new();
    archive.by_name(name).unwrap().read_to_end(&mut out).unwrap();
    out
}

/// How many elements the tokeniser sees.
fn tokens(bytes: &[u8]) -> usize {
    let mut reader = quick_xml::Reader::from_str(std::str::from_utf8(bytes).unwrap());
    let mut elements = 0;
    loop {
        match reader.read_event().unwrap() {
            Event::Start(_) | Event::Empty(_) => elements += 1,
            Event::Eof => return elements,
            other => drop(black_box(other)),
        }
    }
}

/// Seconds of the fastest of some runs of each of two, in turn, so that what else the machine does falls on both.
fn in_turn(mut one: impl FnMut(), mut other: impl FnMut()) -> (f64, f64) {
    let time = |run: &mut dyn FnMut()| {
        let start = Instant::now();
        run();
        start.elapsed().as_secs_f64()
    };
    (0..40)
        .map(|_| (time(&mut one), time(&mut other)))
        .fold((f64::MAX, f64::MAX), |least, times| (least.0.min(times.0), least.1.min(times.1)))
}

fn megabytes(bytes: usize, seconds: f64) -> f64 {
    bytes as f64 / 1e6 / seconds
}

/// MusicXML against its tokens.
fn reading_musicxml(c: &mut Criterion) {
    let real: Vec<_> = real().iter().map(|bytes| unpacked(bytes)).collect();
    let long = vec![write_lead_musicxml(&long(1000)).unwrap().into_bytes()];
    for (name, texts) in [("demo", vec![DEMO.to_vec()]), ("1000-bars", long), ("real", real)] {
        let bytes: usize = texts.iter().map(Vec::len).sum();
        if bytes == 0 {
            continue;
        }
        let notes = || -> usize { texts.iter().map(|text| sheet(black_box(text)).notes.len()).sum() };
        let elements = || -> usize { texts.iter().map(|text| tokens(black_box(text))).sum() };
        let (expected, elements_expected) = (notes(), elements());
        assert!(expected > 0 && elements_expected > expected);
        let mut group = c.benchmark_group(format!("sheet/read/musicxml/{name}"));
        group.throughput(Throughput::Bytes(bytes as u64)).sample_size(20);
        group.bench_function("sheet", |b| b.iter(|| assert_eq!(notes(), expected)));
        group.bench_function("tokens", |b| b.iter(|| assert_eq!(elements(), elements_expected)));
        group.finish();
        let (ours, theirs) =
            in_turn(|| assert_eq!(notes(), expected), || assert_eq!(elements(), elements_expected));
        println!(
            "sheet/read/musicxml/{name}: {bytes} bytes, {:.0} MB/s, tokens {:.0} MB/s, {:.0} % of it",
            megabytes(bytes, ours),
            megabytes(bytes, theirs),
            100.0 * theirs / ours
        );
    }
}

fn arranged(sheet: &LeadSheet) -> Arrangement {
    arrange(&sheet.progression(), RuleSet::standard(), ArrangeOptions::default()).unwrap()
}

/// Pages and MIDI files.
fn writing(c: &mut Criterion) {
    for (name, sheet) in [("demo", sheet(DEMO)), ("500-bars", long(500))] {
        let arrangement = arranged(&sheet);
        let writers: [(&str, &dyn Fn() -> Vec<u8>); 3] = [
            ("musicxml/lead", &|| write_lead_musicxml(black_box(&sheet)).unwrap().into_bytes()),
            ("musicxml/two-hands", &|| write_musicxml(black_box(&sheet), &arrangement).unwrap().into_bytes()),
            ("midi", &|| write_midi(black_box(&sheet), &arrangement).unwrap()),
        ];
        for (what, write) in writers {
            let expected = write();
            let mut group = c.benchmark_group(format!("sheet/write/{what}"));
            group.throughput(Throughput::Bytes(expected.len() as u64)).sample_size(20);
            group.bench_function(name, |b| b.iter(|| assert_eq!(write().len(), expected.len())));
            group.finish();
            let (seconds, again) =
                in_turn(|| assert_eq!(write(), expected), || assert_eq!(write(), expected));
            println!(
                "sheet/write/{what}/{name}: {} bytes, {:.0} MB/s, {:.2} ms",
                expected.len(),
                megabytes(expected.len(), seconds.min(again)),
                1000.0 * seconds.min(again)
            );
        }
    }
}

/// ABC and charts, read and written.
fn lines(c: &mut Criterion) {
    for (name, sheet) in [("demo", sheet(DEMO)), ("1000-bars", long(1000))] {
        let (abc, chart) = (write_abc(&sheet).unwrap().text, write_chart(&sheet).unwrap().text);
        let options = ReadOptions::default();
        let (from_abc, from_chart) =
            (read_abc(abc.as_bytes(), &options).unwrap(), read_chart(chart.as_bytes(), &options).unwrap());
        assert_eq!(from_abc.sheet.chords.len(), sheet.chords.len());
        assert_eq!(from_chart.sheet.chords.len(), sheet.chords.len());
        for (what, bytes, run) in [
            (
                "read/abc",
                abc.len(),
                &(|| assert_eq!(read_abc(black_box(abc.as_bytes()), &options).unwrap(), from_abc))
                    as &dyn Fn(),
            ),
            ("read/chart", chart.len(), &|| {
                assert_eq!(read_chart(black_box(chart.as_bytes()), &options).unwrap(), from_chart)
            }),
            ("write/abc", abc.len(), &|| assert_eq!(write_abc(black_box(&sheet)).unwrap().text, abc)),
            ("write/chart", chart.len(), &|| assert_eq!(write_chart(black_box(&sheet)).unwrap().text, chart)),
        ] {
            let mut group = c.benchmark_group(format!("sheet/{what}"));
            group.throughput(Throughput::Bytes(bytes as u64)).sample_size(20);
            group.bench_function(name, |b| b.iter(run));
            group.finish();
            let (seconds, again) = in_turn(run, run);
            println!(
                "sheet/{what}/{name}: {bytes} bytes, {:.0} MB/s, {:.2} ms",
                megabytes(bytes, seconds.min(again)),
                1000.0 * seconds.min(again)
            );
        }
    }
}

/// From the bytes of a file to its page, its MIDI file and its report on the disk.
fn whole(bytes: &[u8], folder: &std::path::Path, name: usize) -> i32 {
    let sheet = sheet(bytes);
    let arrangement = arranged(&sheet);
    let page = write_musicxml(&sheet, &arrangement).unwrap();
    write_file(folder.join(format!("{name}.musicxml")), page.as_bytes()).unwrap();
    write_file(folder.join(format!("{name}.mid")), &write_midi(&sheet, &arrangement).unwrap()).unwrap();
    let report = Report::new(&sheet, &arrangement, &[]).to_json().unwrap();
    write_file(folder.join(format!("{name}.json")), report.as_bytes()).unwrap();
    arrangement.cost
}

/// Whole tunes, in both octaves, on two cores.
fn whole_tunes(c: &mut Criterion) {
    const CORES: usize = 2;
    let mut tunes = real();
    let name = if tunes.is_empty() { "demo" } else { "real" };
    if tunes.is_empty() {
        tunes = vec![DEMO.to_vec(); 24];
    }
    let folder = tempfile::tempdir().unwrap();
    let all = || -> i64 {
        let next = AtomicUsize::new(0);
        let work = || {
            let mut cost = 0;
            while let Some((at, tune)) =
                Some(next.fetch_add(1, Ordering::Relaxed)).and_then(|at| Some((at, tunes.get(at)?)))
            {
                cost += i64::from(whole(black_box(tune), folder.path(), at));
            }
            cost
        };
        std::thread::scope(|scope| {
            let threads: Vec<_> = (0..CORES).map(|_| scope.spawn(work)).collect();
            threads.into_iter().map(|thread| thread.join().unwrap()).sum()
        })
    };
    let cost = all();
    let mut group = c.benchmark_group("sheet/whole");
    group.throughput(Throughput::Elements(tunes.len() as u64)).sample_size(10);
    group.bench_function(format!("{}-{name}-on-{CORES}-cores", tunes.len()), |b| {
        b.iter(|| assert_eq!(all(), cost));
    });
    group.finish();
    let start = Instant::now();
    (0..5).for_each(|_| assert_eq!(all(), cost));
    let tunes_a_minute = (5 * tunes.len()) as f64 * 60.0 / start.elapsed().as_secs_f64();
    println!("sheet/whole/{}-{name}-on-{CORES}-cores: {tunes_a_minute:.0} tunes a minute", tunes.len());
}

criterion_group!(benches, reading_musicxml, writing, lines, whole_tunes);
criterion_main!(benches);
