//! The reader and the writers of MusicXML, file by behaviour.
//!
//! | file | read | written and read | for two hands |
//! |---|---|---|---|
//! | `harbour_steps`: pick-up, ties, triplets, endings, offset, odd kinds | yes | same sheet | same melody |
//! | `odd_corners`: parts, voices, staves, transposition, faults | yes, with findings | same sheet | same melody |
//! | truncated, alien, binary, empty, other encodings, bombs, forged paths | the kind of error | | |
//! | any bytes, any mutation of a good file | a value or an error | | |

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

use overshell::rules::RuleSet;
use overshell::sheet::{
    EndingEdge, LeadSheet, Limits, Metre, PageOptions, PlacedSymbol, ReadOptions, Reading, Repeat, Report,
    TICKS_PER_QUARTER, read, read_file, write_lead_musicxml, write_midi, write_musicxml, write_musicxml_with,
};
use sheet_common::arrange;

const HARBOUR: &str = include_str!("data/harbour_steps.musicxml");
const CORNERS: &str = include_str!("data/odd_corners.musicxml");

fn read_text(text: &str) -> Reading {
    let reading = read(text.as_bytes(), &ReadOptions::default()).unwrap();
    reading.sheet.validate().unwrap();
    reading
}

fn symbols(sheet: &LeadSheet) -> Vec<(&str, f64)> {
    let quarters = |ticks: u32| f64::from(ticks) / f64::from(TICKS_PER_QUARTER);
    sheet.chords.iter().map(|chord| (chord.symbol.as_str(), quarters(chord.start))).collect()
}

fn melody(sheet: &LeadSheet) -> String {
    let name = |note: &overshell::sheet::Note| note.pitch.map_or("-".to_owned(), |pitch| pitch.to_string());
    sheet.notes.iter().map(name).collect::<Vec<_>>().join(" ")
}

/// A score of one bar around these elements.
fn one_bar(content: &str) -> String {
    format!(
        "<score-partwise><part-list/><part id='P1'><measure number='7'><attributes><divisions>2</divisions>\
         </attributes>{content}</measure></part></score-partwise>"
    )
}

const WHOLE: &str = "<note><pitch><step>C</step><octave>5</octave></pitch><duration>8</duration></note>";

#[test]
fn ok_harbour_steps_is_read_without_findings() {
    let Reading { sheet, findings } = read_text(HARBOUR);
    assert_eq!(findings, []);
    assert_eq!(
        (sheet.title.as_str(), sheet.key.to_string().as_str(), sheet.tempo),
        ("Harbour Steps", "F", Some(120))
    );
    assert_eq!(melody(&sheet), "C5 A4 Bb4 B4 C5 C5 - F#5 B4");
    assert_eq!(
        symbols(&sheet),
        [("Fmaj7", 1.0), ("C7/E", 5.0), ("C11", 6.5), ("N.C.", 9.0), ("F#7sus", 10.0)]
    );
    let bars: Vec<_> = sheet.bars.iter().map(|bar| (bar.number.as_str(), bar.implicit, bar.length)).collect();
    let quarter = TICKS_PER_QUARTER;
    assert_eq!(
        bars,
        [
            ("0", true, quarter),
            ("1", false, 4 * quarter),
            ("2", false, 4 * quarter),
            ("2X", false, 3 * quarter)
        ]
    );
    assert_eq!(sheet.bars[3].metre, Metre { beats: 3, unit: 4 });
    assert_eq!(sheet.bars[3].key.to_string(), "Bm");
    assert_eq!(sheet.bars[1].left.repeat, Some(Repeat::Forward));
    assert_eq!(sheet.bars[2].right.repeat, Some(Repeat::Backward));
    assert_eq!(sheet.bars[3].right.ending.as_ref().unwrap().edge, EndingEdge::Discontinue);
    assert!(sheet.notes[4].tied_to && sheet.notes[5].tied_from);
    assert_eq!(sheet.notes[1].value.unwrap().tuplet, (3, 2));
    assert_eq!(sheet.notes[1].duration, quarter / 3);
}

#[test]
fn ok_odd_corners_is_read_with_findings() {
    let Reading { sheet, findings } = read_text(CORNERS);
    assert_eq!(sheet.title, "Odd Corners");
    // Down a major second: A major becomes G, F sharp and E become E and D.
    assert_eq!(sheet.key.to_string(), "G");
    assert_eq!(melody(&sheet), "E5 D5 - -");
    assert_eq!(sheet.bars[1].length, sheet.bars[1].metre.bar_ticks());
    assert_eq!(symbols(&sheet), [("CTr", 0.0), ("Dm9", 2.0), ("D7", 3.0), ("G", 4.0), ("G6", 6.0)]);
    assert!(matches!(sheet.chords[0].symbol, PlacedSymbol::Unread { .. }));
    let said: Vec<String> = findings.iter().map(ToString::to_string).collect();
    for (part, chord) in [
        ("bar 1, beat 1: the chord `CTr` is not read", Some(0)),
        ("bar 1, beat 2: its kind is empty; its text is read as `Dm9`", Some(1)),
        ("bar 2, beat 2: `G6` has no inversion `5`", Some(4)),
        ("bar 2, beat 1: `G` and `G6` stand at one place, so they share the time", Some(3)),
        ("behind the last note", None),
        ("grace notes", None),
        ("of notes together", None),
        ("runs into the next", None),
        ("other voices", None),
    ] {
        let at =
            said.iter().position(|text| text.contains(part)).unwrap_or_else(|| panic!("{part} in {said:#?}"));
        assert_eq!(findings[at].chord, chord, "{part}");
        assert!(!findings[at].help.is_empty() && findings[at].byte.is_some(), "{part}");
    }
    assert_eq!(said.len(), 9, "{said:#?}");
    let byte = usize::try_from(findings[0].byte.unwrap()).unwrap();
    assert!(CORNERS[byte..].starts_with('<'));
}

#[test]
fn err_strict_makes_the_first_finding_an_error() {
    let strict = ReadOptions { strict: true, ..ReadOptions::default() };
    assert!(read(HARBOUR.as_bytes(), &strict).is_ok());
    let error = read(CORNERS.as_bytes(), &strict).unwrap_err();
    assert!(error.is_sheet() && error.to_string().starts_with("bar 1, beat 1: "), "{error}");
    assert!(error.excerpt().is_some() && error.help().is_some());
}

#[test]
fn all_fixtures_roundtrip() {
    for text in [HARBOUR, CORNERS] {
        let sheet = read_text(text).sheet;
        assert_eq!(read_text(&write_lead_musicxml(&sheet).unwrap()).sheet, sheet);
        for shift in [0, 12] {
            let arrangement = arrange::simple(&sheet, shift);
            let again = read_text(&write_musicxml(&sheet, &arrangement).unwrap()).sheet;
            let mut shifted = sheet.clone();
            for note in &mut shifted.notes {
                note.pitch = note.pitch.map(|pitch| pitch.shift_octaves(shift / 12).unwrap());
            }
            assert_eq!(again, shifted);
        }
    }
}

#[test]
fn err_an_arrangement_of_another_tune_is_refused() {
    let sheet = read_text(HARBOUR).sheet;
    let mut arrangement = arrange::simple(&sheet, 0);
    arrangement.octave_shift = 7;
    let error = write_musicxml(&sheet, &arrangement).unwrap_err();
    assert!(error.is_sheet() && error.to_string().contains("octaves"), "{error}");
    arrangement.octave_shift = 120;
    assert!(write_musicxml(&sheet, &arrangement).unwrap_err().is_sheet());
    assert!(write_midi(&sheet, &arrangement).unwrap_err().is_sheet());
    arrangement.octave_shift = 0;
    arrangement.chords.pop();
    for error in
        [write_musicxml(&sheet, &arrangement).unwrap_err(), write_midi(&sheet, &arrangement).unwrap_err()]
    {
        assert!(error.is_sheet() && error.to_string().contains("expected 5"), "{error}");
    }
    let mut broken = sheet.clone();
    broken.notes.remove(2);
    assert!(write_lead_musicxml(&broken).unwrap_err().is_sheet());
    let mut broken = sheet;
    broken.chords.swap(0, 1);
    assert!(write_lead_musicxml(&broken).unwrap_err().is_sheet());
}

#[test]
fn ok_the_page_for_two_hands_has_what_it_promises() {
    let sheet = read_text(HARBOUR).sheet;
    let arrangement = arrange::simple(&sheet, 0);
    let page = write_musicxml(&sheet, &arrangement).unwrap();
    for part in [
        "<measure number=\"0\" implicit=\"yes\">",
        "<staves>2</staves>",
        "<part-name>Piano</part-name>",
        "<sound tempo=\"120\"/>",
        "<accidental>natural</accidental>",
        "<tuplet type=\"start\"/>",
        "<ending number=\"2\" type=\"discontinue\"/>",
        "usual caution",
    ] {
        assert!(page.contains(part), "{part}");
    }
    let structures = arrangement.chords.iter().filter(|chord| chord.structure.is_some()).count();
    assert!(structures > 0);
    assert_eq!(page.matches("<words ").count(), structures);
    assert_eq!(page.matches("<tuplet ").count(), 2);
}

#[test]
fn ok_the_page_for_two_hands_prints_values_and_no_tie_that_leads_nowhere() {
    let mut sheet = read_text(HARBOUR).sheet;
    for note in &mut sheet.notes {
        note.tied_to = true;
        note.tied_from = false;
        note.value = None;
    }
    let page = write_musicxml(&sheet, &arrange::simple(&sheet, 0)).unwrap();
    let melody = page.split("<note>").filter(|note| note.contains("<voice>1</voice>"));
    let pitched: Vec<&str> = melody.filter(|note| note.contains("<pitch>")).collect();
    assert!(
        pitched.len() > 5 && pitched.iter().all(|note| note.contains("<type>") && !note.contains("<tie "))
    );
    // A sheet alone keeps what it says.
    assert!(write_lead_musicxml(&sheet).unwrap().contains("<tie type=\"start\"/>"));
}

#[test]
fn ok_midi_has_four_tracks_and_the_melody() {
    let sheet = read_text(HARBOUR).sheet;
    let bytes = write_midi(&sheet, &arrange::simple(&sheet, 12)).unwrap();
    let smf = midly::Smf::parse(&bytes).unwrap();
    assert_eq!(smf.header.format, midly::Format::Parallel);
    assert_eq!(smf.tracks.len(), 4);
    let ons = |track: &midly::Track<'_>| -> Vec<u8> {
        let key = |event: &midly::TrackEvent<'_>| match event.kind {
            midly::TrackEventKind::Midi { message: midly::MidiMessage::NoteOn { key, vel }, .. } => {
                assert!(vel > 0);
                Some(key.as_int())
            }
            _ => None,
        };
        track.iter().filter_map(key).collect()
    };
    // C5 A4 Bb4 B4 C5 (tied) F#5 B4, an octave up.
    assert_eq!(ons(&smf.tracks[1]), [84, 81, 82, 83, 84, 90, 83]);
    assert!(!ons(&smf.tracks[3]).is_empty());
    for track in &smf.tracks {
        let length: u32 = track.iter().map(|event| event.delta.as_int()).sum();
        assert_eq!(length, 12 * 480);
    }
}

fn zipped(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut writer = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, content) in files {
        writer.start_file(*name, zip::write::SimpleFileOptions::default()).unwrap();
        writer.write_all(content).unwrap();
    }
    writer.finish().unwrap().into_inner()
}

#[test]
fn ok_the_same_tune_in_any_wrapping() {
    let plain = read_text(HARBOUR).sheet;
    let utf16: Vec<u8> = [0xFF, 0xFE]
        .into_iter()
        .chain(HARBOUR.replace("UTF-8", "UTF-16").encode_utf16().flat_map(u16::to_le_bytes))
        .collect();
    let with_mark = ["\u{FEFF}", HARBOUR].concat().into_bytes();
    let container = b"<container><rootfiles><rootfile full-path='a/b.xml'/></rootfiles></container>";
    let packed = zipped(&[("META-INF/container.xml", container), ("a/b.xml", HARBOUR.as_bytes())]);
    let bare = zipped(&[("tune.musicxml", HARBOUR.as_bytes())]);
    for bytes in [utf16, with_mark, packed, bare] {
        assert_eq!(read(&bytes, &ReadOptions::default()).unwrap().sheet, plain);
    }
}

#[test]
fn err_damaged_and_alien_files() {
    let truncated = &HARBOUR.as_bytes()[..HARBOUR.len() * 2 / 3];
    let packed = zipped(&[("tune.xml", HARBOUR.as_bytes())]);
    let entity = "<?xml version='1.0'?><!DOCTYPE score-partwise [<!ENTITY a 'aaaaaaaaaa'><!ENTITY b '&a;&a;&a;&a;'>\
                  <!ENTITY c '&b;&b;&b;&b;'>]><score-partwise><movement-title>&c;</movement-title></score-partwise>";
    let binary: Vec<u8> = (0..=255).collect();
    for (name, bytes, part) in [
        ("truncated", truncated, "well-formed"),
        ("truncated archive", &packed[..packed.len() / 2], "unpacked"),
        ("text", b"Dear diary, today I wrote no music", "expected MusicXML, ABC or a chart"),
        ("binary", &binary, ""),
        ("empty", b"", "empty"),
        ("blank", b"  \r\n", "empty"),
        ("other xml", b"<html><body/></html>", "`<html>`"),
        ("timewise without bars", b"<score-timewise/>", "no bars"),
        ("no bars", b"<score-partwise/>", "no bars"),
        ("latin 1", b"<?xml version='1.0' encoding='ISO-8859-1'?><score-partwise/>", "ISO-8859-1"),
        ("entity bomb", entity.as_bytes(), "`&c;`"),
        ("path", &zipped(&[("../evil.xml", HARBOUR.as_bytes())]), "inside"),
    ] {
        let error = read(bytes, &ReadOptions::default()).unwrap_err();
        assert!(error.is_sheet(), "{name}: {error}");
        assert!(error.to_string().contains(part), "{name}: {error}");
    }
    assert!(read_file("/no/such/file.mxl", &ReadOptions::default()).unwrap_err().is_io());
}

#[test]
fn err_limits_name_themselves() {
    let deep = format!("<score-partwise>{}", "<x>".repeat(100));
    let bomb = zipped(&[("tune.xml", &vec![b' '; 3 << 20])]);
    let small = |limits: Limits| ReadOptions { limits, strict: false };
    for (bytes, limits, name) in [
        (HARBOUR.as_bytes(), Limits { bytes: 1000, ..Limits::default() }, "bytes"),
        (&bomb, Limits { bytes: 1 << 20, ..Limits::default() }, "bytes"),
        (HARBOUR.as_bytes(), Limits { bars: 3, ..Limits::default() }, "bars"),
        (HARBOUR.as_bytes(), Limits { notes: 8, ..Limits::default() }, "notes"),
        (deep.as_bytes(), Limits::default(), "depth"),
    ] {
        let error = read(bytes, &small(limits)).unwrap_err();
        assert!(error.is_limit() && error.to_string().contains(&format!("`{name}`")), "{name}: {error}");
    }
}

#[test]
fn err_what_holds_no_note_counts_against_the_limit_too() {
    let options = ReadOptions { limits: Limits { notes: 6, ..Limits::default() }, ..ReadOptions::default() };
    let parts = |parts: &str| read(format!("<score-partwise>{parts}</score-partwise>").as_bytes(), &options);
    let note = "<measure><note><duration>1</duration></note></measure>";
    for (inside, one_more) in [
        ("<part><measure/><measure/><measure/></part>", "<part/>"),
        ("<part><measure/></part><part/><part/>", "<part><measure/></part>"),
        (&format!("<part>{note}<measure/>{note}</part>"), "<part/>"),
    ] {
        // Notes are no more dear for the bars around them.
        assert!(parts(&inside.repeat(2)).is_ok(), "{inside}");
        let error = parts(&format!("{}{one_more}", inside.repeat(2))).unwrap_err();
        assert!(error.is_limit() && error.to_string().contains("the limit `notes`"), "{error}");
    }
    let options = ReadOptions { limits: Limits { bars: 5, ..Limits::default() }, ..ReadOptions::default() };
    for (bars, limit) in [(5, None), (6, Some("the limit `bars`"))] {
        let text = format!(
            "<score-timewise>{}<measure><part/></measure></score-timewise>",
            "<measure/>".repeat(bars - 1)
        );
        let error = read(text.as_bytes(), &options).err().map(|error| error.to_string());
        assert_eq!(error.is_some(), limit.is_some(), "{error:?}");
        assert!(limit.is_none_or(|limit| error.is_some_and(|error| error.contains(limit))));
    }
}

#[test]
fn ok_findings_end_at_ten_thousand() {
    let symbols = |bars: usize| {
        let note = "<note><pitch><step>C</step><octave>5</octave></pitch><duration>100</duration></note>";
        let bar = format!("<measure number='1'>{}{note}</measure>", "<harmony/>".repeat(100));
        let divisions = "<measure number='0'><attributes><divisions>1</divisions></attributes></measure>";
        let text = format!("<score-partwise><part>{divisions}{}</part></score-partwise>", bar.repeat(bars));
        read(text.as_bytes(), &ReadOptions::default()).unwrap().findings
    };
    // Each says that it has no root, and the first that they stand at one place.
    let per_bar = 100 + 1;
    assert_eq!(symbols(1).len(), per_bar);
    let many = symbols(200);
    assert_eq!(many.len(), 10_001);
    let left_out = format!("{} more findings are left out", 200 * per_bar - 10_000);
    assert_eq!(many.iter().filter(|finding| finding.message == left_out).count(), 1);
}

#[test]
fn ok_senseless_numbers_are_findings() {
    for (content, part) in [
        ("<attributes><divisions>0</divisions></attributes>", "divisions"),
        ("<attributes><divisions>-3</divisions></attributes>", "divisions"),
        ("<attributes><divisions>99999999999999999999</divisions></attributes>", "divisions"),
        ("<attributes><key><fifths>12</fifths></key></attributes>", "`12` fifths"),
        ("<attributes><key><fifths>1</fifths><mode>dorian</mode></key></attributes>", "`dorian`"),
        ("<attributes><time><beats>4</beats><beat-type>3</beat-type></time></attributes>", "`4/3`"),
        ("<attributes><time><senza-misura/></time></attributes>", "unmeasured"),
        ("<attributes><transpose><chromatic>900</chromatic></transpose></attributes>", "transposition"),
        ("<note><rest/><duration>0</duration></note>", "`0`"),
        ("<note><rest/><duration>-8</duration></note>", "`-8`"),
        ("<note><rest/><duration>170141183460469231731687303715884105727</duration></note>", "duration"),
        ("<note><rest/><duration>999999999</duration></note>", "too long"),
        ("<note><rest/></note>", "no duration"),
        ("<backup><duration>5</duration></backup>", "`backup`"),
        ("<forward><duration>999999999999</duration></forward>", "`forward`"),
        ("<note><unpitched/><duration>2</duration></note>", "unpitched"),
        ("<note><pitch><step>H</step><octave>4</octave></pitch><duration>2</duration></note>", "`H  4`"),
        ("<note><pitch><step>C</step><octave>99</octave></pitch><duration>2</duration></note>", "`C  99`"),
        ("<sound tempo='fast'/>", "`fast`"),
        ("<sound dalsegno='a b'/>", "the label `a b`"),
        ("<sound fine='yes' time-only='2'/>", "the times `2`"),
        (
            "<direction><direction-type><words>D.S. three times</words></direction-type></direction>",
            "`D.S. three times`",
        ),
        ("<barline><bar-style>wavy</bar-style></barline>", "`wavy`"),
        ("<barline><ending number='one' type='stop'/></barline>", "`one`"),
        ("<harmony><kind>major</kind></harmony>", "no root"),
        ("<harmony><numeral><numeral-root>4</numeral-root></numeral><kind>major</kind></harmony>", "numeral"),
        ("<harmony><root><root-step>C</root-step></root><kind>super-major</kind></harmony>", "`super-major`"),
        ("<harmony><root><root-step>C</root-step></root><kind>other</kind></harmony>", "no fixed notes"),
        (
            "<harmony><root><root-step>C</root-step></root><kind>major</kind><offset>-99</offset></harmony>",
            "before the first bar",
        ),
        (
            "<harmony><root><root-step>C</root-step></root><kind>major</kind><degree><degree-value>8</degree-value><degree-type>add</degree-type></degree></harmony>",
            "`add8`",
        ),
        ("<harmony><root><root-step>C</root-step></root><kind>major</kind><degree/></harmony>", "degree"),
    ] {
        let reading = read_text(&one_bar(&format!("{content}{WHOLE}")));
        assert!(
            reading.findings.iter().any(|f| f.message.contains(part)),
            "{content}: {:?}",
            reading.findings
        );
        assert!(melody(&reading.sheet).contains("C5"), "{content}");
        for finding in &reading.findings {
            assert!(
                !finding.message.ends_with('.') && !finding.message.starts_with(char::is_uppercase),
                "{finding}"
            );
        }
        let again = read_text(&write_lead_musicxml(&reading.sheet).unwrap());
        assert_eq!(again.sheet, reading.sheet, "{content}");
    }
}

#[test]
fn ok_divisions_that_do_not_divide_are_rounded_with_a_finding() {
    let text = one_bar(
        "<attributes><divisions>11</divisions></attributes>\
         <note><pitch><step>C</step><octave>5</octave></pitch><duration>1</duration></note>\
         <note><pitch><step>D</step><octave>5</octave></pitch><duration>43</duration></note>",
    );
    let reading = read_text(&text);
    assert_eq!(reading.sheet.notes[0].duration, 916);
    assert_eq!(reading.sheet.end(), 4 * TICKS_PER_QUARTER);
    assert_eq!(reading.findings.len(), 1);
    assert!(reading.findings[0].to_string().starts_with("bar 7, beat "), "{}", reading.findings[0]);
}

#[test]
fn ok_a_transposing_part_through_changes_of_key_and_metre() {
    // A clarinet in B flat: everything sounds a tone lower than written.
    let text = "<score-partwise><part-list/><part id='P1'>\
        <measure number='1'><attributes><divisions>1</divisions><key><fifths>2</fifths></key><time><beats>4</beats><beat-type>4</beat-type>\
        </time><transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose></attributes>\
        <harmony><root><root-step>D</root-step></root><kind>major</kind></harmony>\
        <note><pitch><step>E</step><octave>5</octave></pitch><duration>4</duration></note></measure>\
        <measure number='2'><attributes><key><fifths>4</fifths></key><time><beats>3</beats><beat-type>4</beat-type></time></attributes>\
        <harmony><root><root-step>E</root-step></root><kind text='7'>dominant</kind><bass><bass-step>G</bass-step><bass-alter>1</bass-alter>\
        </bass></harmony><note><pitch><step>F</step><alter>1</alter><octave>5</octave></pitch><duration>3</duration></note></measure>\
        <measure number='3'><note><pitch><step>E</step><octave>5</octave></pitch><duration>1</duration></note>\
        <attributes><key><fifths>-1</fifths></key></attributes>\
        <note><pitch><step>D</step><octave>5</octave></pitch><duration>2</duration></note></measure>\
        <measure number='4'><note><rest/><duration>3</duration></note></measure></part></score-partwise>";
    let Reading { sheet, findings } = read_text(text);
    assert_eq!(melody(&sheet), "D5 E5 D5 C5 -");
    assert_eq!(symbols(&sheet), [("C", 0.0), ("D7/F#", 4.0)]);
    let keys: Vec<_> = sheet.bars.iter().map(|bar| bar.key.to_string()).collect();
    assert_eq!(keys, ["C", "D", "D", "Eb"]);
    let metres: Vec<_> = sheet.bars.iter().map(|bar| bar.metre.beats).collect();
    assert_eq!(metres, [4, 3, 3, 3]);
    let said: Vec<_> = findings.iter().map(ToString::to_string).collect();
    assert_eq!(said, ["bar 3, beat 2: a change of key or metre inside a bar counts from the next bar"]);
}

#[test]
fn ok_chords_of_bars_without_notes_and_offsets_over_barlines() {
    let symbol = |root: &str, offset: &str| {
        format!("<harmony><root><root-step>{root}</root-step></root><kind>major</kind>{offset}</harmony>")
    };
    let text = format!(
        "<score-partwise><part-list/><part id='P1'><measure number='1'><attributes><divisions>1</divisions></attributes>{}{}</measure>\
         <measure number='2'>{}<harmony><root><root-step>C</root-step></root><kind>none</kind><offset>2</offset></harmony></measure>\
         <measure number='3'>{}</measure></part></score-partwise>",
        symbol("C", ""),
        // Seven beats on: into the next bar.
        symbol("F", "<offset>7</offset>"),
        symbol("G", ""),
        symbol("D", "<offset>-3</offset>"),
    );
    let Reading { sheet, findings } = read_text(&text);
    assert_eq!(symbols(&sheet), [("C", 0.0), ("G", 4.0), ("D", 5.0), ("N.C.", 6.0), ("F", 7.0)]);
    assert_eq!(sheet.chords.iter().map(|chord| chord.bar).collect::<Vec<_>>(), [0, 1, 1, 1, 1]);
    assert_eq!(melody(&sheet), "- - -");
    let said: Vec<_> = findings.iter().map(ToString::to_string).collect();
    assert_eq!(said, ["no part has a note, the melody is all rests"]);
}

/// The page says which chord sounds exactly where it is another one than written; the report says both everywhere.
#[test]
fn ok_written_and_sounding_chords_are_told_apart() {
    let tune = read_text(include_str!("../examples/tunes/nine-lamps.musicxml")).sheet;
    // One that cannot be read, one that sounds as it is written, one without a sound.
    let few =
        read(b"key: C\nmetre: 4/4\n\n| Cqq | C7 | N.C. |\n> E5 | Bb4 | C5 |\n", &ReadOptions::default());
    for (sheet, least) in [(tune, 20), (few.unwrap().sheet, 0)] {
        let arrangement =
            overshell::search::arrange(&sheet.progression(), RuleSet::standard(), Default::default())
                .unwrap();
        let page = write_musicxml(&sheet, &arrangement).unwrap();
        let said: Vec<&str> = page
            .split("= ")
            .skip(1)
            .filter_map(|behind| behind.split_once("</words>"))
            .map(|(name, _)| name)
            .collect();
        let report = Report::new(&sheet, &arrangement, &[]);
        let mut expected = Vec::new();
        for ((placed, arranged), chord) in sheet.chords.iter().zip(&arrangement.chords).zip(&report.chords) {
            assert_eq!(chord.symbol, placed.symbol.as_str());
            assert_eq!(chord.sounding, arranged.sounding.map(|sounding| sounding.to_string()));
            let written = match &placed.symbol {
                PlacedSymbol::Read(symbol) => symbol.chord().map(|chord| chord.to_string()),
                PlacedSymbol::Unread { .. } => None,
            };
            expected
                .extend(chord.sounding.as_deref().filter(|sounding| written.as_deref() != Some(*sounding)));
        }
        assert_eq!(said, expected);
        assert!(said.len() >= least && said.len() < sheet.chords.len(), "{said:?}");
        // The symbols themselves stay as they are written, and nothing else on the page changes.
        let without = write_musicxml_with(&sheet, &arrangement, &PageOptions { sounding: false }).unwrap();
        assert!(!without.contains("relative-y") && without.contains("<words"));
        assert_eq!(read_text(&without).sheet, read_text(&page).sheet);
        assert_eq!(symbols(&read_text(&page).sheet), symbols(&sheet));
    }
}
