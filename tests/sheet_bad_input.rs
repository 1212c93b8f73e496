//! Bad input, line by line: what comes out is a located error or a finding, memory stays bounded, nothing is written.
//!
//! | what | proven |
//! |---|---|
//! | cut off at every byte, in all formats | here; `score-timewise` in `tests/sheet_timewise.rs` |
//! | parts missing in a bar, twice, in no list | `tests/sheet_timewise.rs` |
//! | encodings | here; `sheet/read/text.rs`, `sheet/format.rs` |
//! | entities and document types | here; `tests/sheet_musicxml.rs`, `sheet/read/cursor.rs` |
//! | archives: bombs, many files, archives in archives, false lengths | here |
//! | archives: paths that lead outside, pointers missing or wrong | `sheet/read/unpack.rs`, here |
//! | senseless numbers, each alone | `tests/sheet_musicxml.rs`, `sheet/read/clock.rs`; their sums here |
//! | limits, each alone | `tests/sheet_musicxml.rs`, `sheet/chart/tests.rs` |
//! | any bytes, any mutation of a good file or archive | `tests/sheet_properties.rs`, `tests/sheet_lines.rs` |
//! | an input is never overwritten | `sheet/atomic.rs`, `tests/outside/bad_input` |
//! | 10,000 bars arranged, in bounded time and memory | `tests/outside/bad_input` |
//! | memory, for whatever a short text could name very often | `tests/heap_read.rs` |

#![cfg(feature = "sheet")]
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::string_slice,
    clippy::panic,
    reason = "a test fails by panicking, also in its helpers"
)]

mod sheet_common;

use std::io::Write;

use overshell::Error;
use overshell::sheet::{Limits, ReadOptions, Reading, SheetFormat, read, write_lead_musicxml};
use sheet_common::timewise::timewise;
use zip::CompressionMethod;
use zip::write::SimpleFileOptions;

const XML: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<score-partwise version=\"4.0\">\n<movement-title>Ünder &amp; over</movement-title>\n\
    <part-list><score-part id=\"P1\"><part-name/></score-part></part-list>\n<part id=\"P1\">\n<measure number=\"1\">\n\
    <attributes><divisions>1</divisions></attributes>\n<harmony><root><root-step>C</root-step></root><kind text=\"7\">dominant</kind></harmony>\n\
    <note><pitch><step>E</step><octave>5</octave></pitch><duration>4</duration></note>\n</measure>\n</part>\n</score-partwise>";
const ABC: &str =
    "X:1\nT:Ünder and over\nM:4/4\nL:1/4\nK:C\n|: \"C7\"e2 (3fga | [1 \"F\"c4 :| [2 \"G7\"B4 |]\n";
const CHART: &str = "title: Ünder and over\nkey: C\nmetre: 4/4\n|: C7 G7 | F | C | G7 :|\n> E5 F5 G5 A5 | C5 | E5 D5 | B4 |\n";

fn outcome(bytes: &[u8]) -> Result<Reading, Error> {
    read(bytes, &ReadOptions::default())
}

/// The error.
fn refused(bytes: &[u8]) -> Error {
    let error = outcome(bytes).unwrap_err();
    assert!(error.is_sheet() || error.is_limit(), "{error}");
    error
}

/// A score of one bar, with this before it and this inside.
fn score(before: &str, inside: &str) -> String {
    format!(
        "{before}<score-partwise><part-list/><part id='P1'><measure number='1'><attributes><divisions>1</divisions></attributes>\
         {inside}<note><pitch><step>C</step><octave>5</octave></pitch><duration>4</duration></note></measure></part></score-partwise>"
    )
}

fn packed(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut writer = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, content) in files {
        let options = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
        writer.start_file(*name, options).unwrap();
        writer.write_all(content).unwrap();
    }
    writer.finish().unwrap().into_inner()
}

fn container(path: &str) -> String {
    format!("<container><rootfiles><rootfile full-path='{path}'/></rootfiles></container>")
}

fn utf16(text: &str, bytes: fn(u16) -> [u8; 2]) -> Vec<u8> {
    text.encode_utf16().flat_map(bytes).collect()
}

#[test]
fn all_cuts_of_musicxml_are_errors_with_their_place() {
    assert!(outcome(XML.as_bytes()).unwrap().findings.is_empty());
    for end in 0..XML.len() {
        let error = refused(&XML.as_bytes()[..end]);
        // Before the first `<` nothing has a place.
        if end > 0 {
            assert!(error.to_string().starts_with("line "), "{end}: {error}");
            assert!(error.excerpt().is_some(), "{end}: {error}");
        }
    }
}

#[test]
fn all_cuts_of_an_archive_are_errors() {
    let whole = packed(&[
        ("META-INF/container.xml", container("tune.musicxml").as_bytes()),
        ("tune.musicxml", XML.as_bytes()),
    ]);
    assert_eq!(outcome(&whole).unwrap(), outcome(XML.as_bytes()).unwrap());
    for end in 0..whole.len() {
        refused(&whole[..end]);
    }
}

#[test]
fn all_cuts_of_lines_are_errors_or_the_bars_so_far() {
    for text in [ABC, CHART] {
        let whole = outcome(text.as_bytes()).unwrap();
        assert!(whole.findings.is_empty(), "{:?}", whole.findings);
        let mut read = 0;
        for end in 0..text.len() {
            match outcome(&text.as_bytes()[..end]) {
                Ok(reading) => {
                    reading.sheet.validate().unwrap();
                    assert!(reading.sheet.bars.len() <= whole.sheet.bars.len(), "{end}");
                    read += 1;
                }
                Err(_) => drop(refused(&text.as_bytes()[..end])),
            }
        }
        assert!(read > 10);
    }
}

#[test]
fn ok_utf_16_with_its_mark_in_all_formats() {
    for text in [&XML.replace("UTF-8", "UTF-16"), ABC, CHART] {
        let plain = outcome(text.replace("UTF-16", "UTF-8").as_bytes()).unwrap();
        for bytes in [
            utf16(&format!("\u{FEFF}{text}"), u16::to_le_bytes),
            utf16(&format!("\u{FEFF}{text}"), u16::to_be_bytes),
        ] {
            assert_eq!(outcome(&bytes).unwrap().sheet, plain.sheet);
            // Half a character.
            assert!(refused(&bytes[..bytes.len() - 1]).to_string().contains("says UTF-16"));
        }
    }
}

#[test]
fn err_encodings_that_are_not_read() {
    let latin =
        |text: &str| -> Vec<u8> { text.chars().map(|c| u8::try_from(u32::from(c)).unwrap()).collect() };
    let plain = |text: &str| text.replace('Ü', "U");
    let declared = XML.replace("UTF-8", "ISO-8859-1");
    for (bytes, expected) in [
        (utf16(&plain(XML), u16::to_le_bytes), "line 1, byte 1: found the character U+0000"),
        (utf16(&plain(XML), u16::to_be_bytes), "line 1, byte 0: found the character U+0000"),
        (utf16(&plain(ABC), u16::to_le_bytes), "line 1, byte 1: found the character U+0000"),
        (utf16(&plain(CHART), u16::to_be_bytes), "line 1, byte 0: found the character U+0000"),
        (latin(&declared), "line 1, byte 30: the encoding `ISO-8859-1` is not read, expected UTF-8"),
        (declared.into_bytes(), "line 1, byte 30: the encoding `ISO-8859-1` is not read, expected UTF-8"),
        (latin(XML), "line 3, byte 86: found a byte that is not UTF-8"),
        (latin(ABC), "line 2, byte 6: found a byte that is not UTF-8"),
        (latin(CHART), "line 1, byte 7: found a byte that is not UTF-8"),
        // An overlong form and half of a surrogate pair.
        (b"<a>\xC0\xAF</a>".to_vec(), "line 1, byte 3: found a byte that is not UTF-8"),
        (b"| C |\n\xED\xA0\x80".to_vec(), "line 2, byte 6: found a byte that is not UTF-8"),
    ] {
        let error = refused(&bytes);
        assert!(error.to_string().starts_with(expected), "{error}\nexpected {expected}");
    }
}

#[test]
fn ok_a_document_type_is_passed_over() {
    let plain = outcome(score("", "").as_bytes()).unwrap();
    for before in [
        "<!DOCTYPE score-partwise PUBLIC \"-//Recordare//DTD MusicXML 4.0 Partwise//EN\" \"http://www.musicxml.org/dtds/partwise.dtd\">",
        "<?xml version='1.0'?>\n<!DOCTYPE score-partwise>\n<!-- x -->\n<?y z?>\n",
        // Never asked for, so never looked at: an entity of a file, and one that brings more declarations.
        "<!DOCTYPE score-partwise [<!ENTITY x SYSTEM 'file:///etc/hostname'>]>",
        "<!DOCTYPE score-partwise [<!ENTITY % p SYSTEM 'http://localhost/more.dtd'> %p;]>",
    ] {
        let reading = outcome(score(before, "").as_bytes()).unwrap();
        assert_eq!((reading.sheet, reading.findings), (plain.sheet.clone(), Vec::new()), "{before}");
    }
}

#[test]
fn err_entities_are_not_expanded() {
    // Each ten times the one before: ten thousand million characters, were it expanded.
    let mut bomb = "<!DOCTYPE score-partwise [<!ENTITY e0 'ha'>".to_owned();
    for at in 1..=10 {
        bomb += &format!("<!ENTITY e{at} '{}'>", format!("&e{};", at - 1).repeat(10));
    }
    bomb += "]>";
    let file = "<!DOCTYPE score-partwise [<!ENTITY x SYSTEM 'file:///etc/hostname'>]>";
    let part = "<!DOCTYPE score-partwise [<!ENTITY % p '<!ENTITY x \"y\">'> %p;]>";
    let kind = |text: &str| {
        format!("<harmony><root><root-step>C</root-step></root><kind text='{text}'>dominant</kind></harmony>")
    };
    let named = |name: &str| {
        format!("<harmony><root><root-step>{name}</root-step></root><kind>major</kind></harmony>")
    };
    for (before, inside, part) in [
        (&bomb[..], named("&e10;"), "the entity `&e10;` is not known"),
        (&bomb, kind("&e10;"), "e10"),
        (file, named("&x;"), "the entity `&x;` is not known"),
        (file, kind("&x;"), "x"),
        (part, named("&x;"), "the entity `&x;` is not known"),
        ("", named("&nbsp;"), "the entity `&nbsp;` is not known"),
        ("", named("&#xD800;"), "the entity `&#xD800;` is not known"),
        ("", named("&#99999999999;"), "the entity `&#99999999999;` is not known"),
    ] {
        let error = outcome(score(before, &inside).as_bytes()).unwrap_err();
        let text = error.to_string();
        assert!(error.is_sheet() && text.starts_with("line 1, byte ") && text.contains(part), "{text}");
        assert!(error.excerpt().is_some());
    }
}

#[test]
fn err_archives_that_are_bombs() {
    // 3 MB of one sign, in some kB; the limit decides, not what the archive says.
    let bomb = packed(&[("tune.xml", &vec![b' '; 3_000_000])]);
    assert!(bomb.len() < 10_000);
    let limits = Limits { bytes: 1 << 20, ..Limits::default() };
    let error = read(&bomb, &ReadOptions { limits, strict: false }).unwrap_err();
    assert!(error.is_limit() && error.to_string().contains("the limit `bytes`"), "{error}");
    // A pointer as long as that is not read either; what it could point to is.
    let pointer = packed(&[("META-INF/container.xml", &vec![b' '; 3_000_000]), ("tune.xml", XML.as_bytes())]);
    assert_eq!(outcome(&pointer).unwrap(), outcome(XML.as_bytes()).unwrap());
    // An archive in an archive is no score.
    let inner = packed(&[("tune.xml", XML.as_bytes())]);
    assert!(refused(&packed(&[("tune.xml", &inner)])).is_sheet());
    assert!(refused(&packed(&[("tune.mxl", &inner)])).to_string().contains("holds no score"));
    // A pointer to what is no score.
    let elsewhere = container("notes.txt");
    let files = [
        ("META-INF/container.xml", elsewhere.as_bytes()),
        ("notes.txt", b"Dear diary"),
        ("tune.xml", XML.as_bytes()),
    ];
    assert!(refused(&packed(&files)).to_string().contains("found text, expected MusicXML"));
}

#[test]
fn ok_an_archive_of_very_many_files() {
    let names: Vec<String> = (0..3_000).map(|at| format!("{at}.txt")).collect();
    let mut files: Vec<(&str, &[u8])> = names.iter().map(|name| (name.as_str(), &b""[..])).collect();
    files.push(("tune.xml", XML.as_bytes()));
    assert_eq!(outcome(&packed(&files)).unwrap(), outcome(XML.as_bytes()).unwrap());
    files.pop();
    assert!(refused(&packed(&files)).to_string().contains("holds no score"));
}

#[test]
fn all_false_lengths_in_an_archive_are_survived() {
    let whole = packed(&[("tune.xml", XML.as_bytes())]);
    let plain = outcome(XML.as_bytes()).unwrap();
    let positions = |sign: &[u8]| -> Vec<usize> {
        whole.windows(4).enumerate().filter(|(_, window)| *window == sign).map(|(at, _)| at).collect()
    };
    let (local, central) = (positions(b"PK\x03\x04"), positions(b"PK\x01\x02"));
    assert_eq!((local.len(), central.len()), (1, 1));
    // Checksum, packed and unpacked length, of the file's head and of the list at the end.
    for (what, field, is_checked) in [("checksum", 0, true), ("packed", 4, false), ("unpacked", 8, false)] {
        for value in [0u32, 1, 10, 0x7FFF_FFFF, 0xFFFF_FFF0, 0xFFFF_FFFF] {
            let mut forged = whole.clone();
            for at in [local[0] + 14 + field, central[0] + 16 + field] {
                forged[at..at + 4].copy_from_slice(&value.to_le_bytes());
            }
            match outcome(&forged) {
                Ok(reading) => assert_eq!((reading == plain, is_checked), (true, false), "{what} {value}"),
                Err(_) => drop(refused(&forged)),
            }
        }
    }
}

#[test]
fn err_times_that_add_up_to_more_than_a_time_holds() {
    // 1,024 quarters is the longest bar.
    let bar = "<measure number='1'><attributes><divisions>1</divisions></attributes><note><rest/><duration>1024</duration></note></measure>";
    let text = |bars: usize| {
        format!("<score-partwise><part-list/><part id='P1'>{}</part></score-partwise>", bar.repeat(bars))
    };
    assert!(outcome(text(416).as_bytes()).is_ok());
    let error = refused(text(417).as_bytes());
    assert!(error.is_limit() && error.to_string().contains("ticks, the limit of a time"), "{error}");
}

#[test]
fn ok_numbers_at_the_edges_are_findings() {
    let symbol = |offset: &str| {
        format!(
            "<harmony><root><root-step>C</root-step></root><kind>major</kind><offset>{offset}</offset></harmony>"
        )
    };
    let small = "<attributes><divisions>0.000001</divisions></attributes>";
    let back = "<attributes><divisions>1</divisions></attributes>";
    for (inside, part) in [
        (format!("{small}{}{back}", symbol("999999999999")), "behind the last note"),
        (format!("{small}{}{back}", symbol("-999999999999")), "before the first bar"),
        (symbol("1e9"), "the offset `1e9`"),
        (format!("{small}<note><rest/><duration>999999999999</duration></note>{back}"), "too long"),
        (format!("{small}<forward><duration>999999999999</duration></forward>{back}"), "`forward`"),
        (format!("{small}<backup><duration>999999999999</duration></backup>{back}"), "`backup`"),
        (
            "<attributes><divisions>10000000</divisions></attributes><note><rest/><duration>1</duration></note>\
             <attributes><divisions>1</divisions></attributes>"
                .to_owned(),
            "shorter than a tick",
        ),
        ("<note><rest/><duration>700</duration></note>".repeat(2), "too long"),
    ] {
        let reading = outcome(score("", &inside).as_bytes()).unwrap();
        reading.sheet.validate().unwrap();
        let found = reading.findings.iter().find(|finding| finding.message.contains(part));
        let found = found.unwrap_or_else(|| panic!("{part} in {:?}", reading.findings));
        assert!(found.bar == "1" && found.byte.is_some() && !found.help.is_empty(), "{found}");
        assert!(reading.sheet.notes.iter().any(|note| note.pitch.is_some()), "{inside}");
        let page = write_lead_musicxml(&reading.sheet).unwrap();
        assert_eq!(outcome(page.as_bytes()).unwrap().sheet, reading.sheet);
    }
}

#[test]
fn ok_a_score_of_any_version() {
    let plain = outcome(XML.as_bytes()).unwrap();
    for version in ["1.0", "1.1", "2.0", "3.0", "3.1", "4.0", "99", "", "four"] {
        let text = XML.replace("version=\"4.0\"", &format!("version=\"{version}\""));
        assert_eq!(outcome(text.as_bytes()).unwrap().sheet, plain.sheet, "{version}");
        let by_bars = timewise(&text);
        assert_eq!(outcome(by_bars.as_bytes()).unwrap().sheet, plain.sheet, "{version}");
        // What the root promises decides, not what is in it.
        let timewise = text.replace("score-partwise", "score-timewise");
        let error = refused(timewise.as_bytes());
        assert!(error.to_string().starts_with("line 2, byte 39: the score has no bars"), "{error}");
        assert!(error.excerpt().is_some());
    }
}

#[test]
fn err_elements_far_too_deep() {
    for open in ["<a>", "<measure>", "<note><notations>"] {
        let error = refused(score("", &open.repeat(1_000_000)).as_bytes());
        assert!(error.is_limit() && error.to_string().contains("the limit `depth`"), "{error}");
    }
}

#[test]
fn ok_ten_thousand_bars_and_no_more() {
    let lines = |bars: usize, bar: &str| bar.repeat(bars);
    let xml = |bars: usize| {
        let bar = "<measure number='1'><attributes><divisions>1</divisions></attributes><harmony><root><root-step>C</root-step></root>\
                   <kind>dominant</kind></harmony><note><pitch><step>E</step><octave>5</octave></pitch><duration>4</duration></note></measure>";
        format!("<score-partwise><part-list/><part id='P1'>{}</part></score-partwise>", lines(bars, bar))
    };
    let abc = |bars: usize| format!("X:1\nM:4/4\nL:1/4\nK:C\n{}\n", lines(bars, "\"C7\"e4|\n"));
    let chart = |bars: usize| lines(bars, "| C7 |\n> E5 |\n");
    let made: [(SheetFormat, &dyn Fn(usize) -> String); 3] =
        [(SheetFormat::MusicXml, &xml), (SheetFormat::Abc, &abc), (SheetFormat::Chart, &chart)];
    for (format, text) in made {
        let reading = outcome(text(10_000).as_bytes()).unwrap();
        assert_eq!((reading.sheet.bars.len(), reading.sheet.chords.len()), (10_000, 10_000), "{format:?}");
        let page = write_lead_musicxml(&reading.sheet).unwrap();
        assert_eq!(outcome(page.as_bytes()).unwrap().sheet, reading.sheet, "{format:?}");
        let error = refused(text(10_001).as_bytes());
        assert!(error.is_limit() && error.to_string().contains("the limit `bars`"), "{format:?}: {error}");
    }
}
