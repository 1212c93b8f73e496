//! Scores ordered by bars (`score-timewise`): the same tune and findings as ordered by parts.

#![cfg(feature = "sheet")]
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::string_slice,
    clippy::panic,
    reason = "a test fails by panicking, also in its helpers"
)]

mod sheet_common;

use std::io::Read;

use overshell::sheet::{LeadSheet, Limits, ReadOptions, Reading, read, write_musicxml};
use sheet_common::timewise::timewise;
use sheet_common::{arrange, real_sheets};

const FIXTURES: [&str; 3] = [
    include_str!("data/harbour_steps.musicxml"),
    include_str!("data/odd_corners.musicxml"),
    include_str!("../examples/tunes/nine-lamps.musicxml"),
];

fn outcome(text: &str) -> Reading {
    let reading = read(text.as_bytes(), &ReadOptions::default()).unwrap();
    reading.sheet.validate().unwrap();
    reading
}

/// All but the byte.
fn said(reading: &Reading) -> Vec<(String, String, Option<usize>)> {
    let said = reading.findings.iter();
    said.map(|finding| (finding.to_string(), finding.help.clone(), finding.chord)).collect()
}

fn same(partwise: &str, what: &str) -> Reading {
    let turned = timewise(partwise);
    assert!(turned.contains("<score-timewise") && !turned.contains("partwise"), "{what}: {turned}");
    let (by_parts, by_bars) = (outcome(partwise), outcome(&turned));
    assert_eq!(by_bars.sheet, by_parts.sheet, "{what}");
    assert_eq!(said(&by_bars), said(&by_parts), "{what}");
    for finding in by_bars.findings.iter().filter_map(|finding| finding.byte) {
        assert!(turned[usize::try_from(finding).unwrap()..].starts_with('<'), "{what}");
    }
    by_bars
}

fn melody(sheet: &LeadSheet) -> String {
    let name = |note: &overshell::sheet::Note| note.pitch.map_or("-".to_owned(), |pitch| pitch.to_string());
    sheet.notes.iter().map(name).collect::<Vec<_>>().join(" ")
}

fn note(name: &str) -> String {
    let (step, octave) = name.split_at(1);
    format!(
        "<attributes><divisions>1</divisions></attributes><note><pitch><step>{step}</step><octave>{octave}</octave></pitch>\
         <duration>4</duration></note>"
    )
}

/// Bars of parts by id, each with a note.
fn score(bars: &[&[(&str, &str)]]) -> String {
    let mut out =
        "<score-timewise><part-list><score-part id='P1'><part-name/></score-part></part-list>".to_owned();
    for (at, bar) in bars.iter().enumerate() {
        out += &format!("<measure number='{}'>", at + 1);
        for (id, name) in *bar {
            out += &format!("<part id='{id}'>{}</part>", note(name));
        }
        out += "</measure>";
    }
    out + "</score-timewise>"
}

#[test]
fn all_tunes_of_ours_read_the_same() {
    for text in FIXTURES {
        let Reading { sheet, .. } = same(text, &text[..200]);
        let page = write_musicxml(&sheet, &arrange::simple(&sheet, 0)).unwrap();
        same(&page, "for two hands");
    }
}

#[test]
fn all_real_sheets_read_the_same() {
    for path in real_sheets() {
        let mut archive = zip::ZipArchive::new(std::fs::File::open(&path).unwrap()).unwrap();
        let names: Vec<String> = archive.file_names().map(|name| name.unwrap().into_owned()).collect();
        let name = names.iter().find(|name| name.ends_with("xml") && !name.starts_with("META-INF")).unwrap();
        let mut text = String::new();
        archive.by_name(name).unwrap().read_to_string(&mut text).unwrap();
        same(text.trim_start_matches('\u{feff}'), name);
    }
}

#[test]
fn ok_several_parts_of_different_lengths() {
    let bar = |inside: &str| format!("<measure number='1'>{inside}</measure>");
    let sound = |tempo: u16| format!("<sound tempo='{tempo}'/>");
    let symbol = "<harmony><root><root-step>G</root-step></root><kind text='7'>dominant</kind></harmony>";
    let coda = "<sound coda='coda'/>";
    let mark_behind = format!("{}{coda}", note("D5"));
    let tunes = [
        // Symbols alone, a melody that is shorter, one more that is longer; the tempo is that of the first part that has one.
        [
            vec![bar(symbol), bar(""), bar(symbol)],
            vec![bar(&note("C5")), bar(&format!("{}{mark_behind}", sound(90)))],
            vec![bar(&format!("{}{}", sound(120), note("E5"))), bar(&note("F5")), bar(&note("G5"))],
        ],
        // The melody in the last part; faults in all of them.
        [
            vec![bar("<note><rest/></note>"), bar("<sound tempo='fast'/>")],
            vec![bar("<backup><duration>5</duration></backup>"), bar(coda), bar("")],
            vec![bar("<note><rest/></note>"), bar(&format!("{mark_behind}<note><rest/></note>"))],
        ],
    ];
    for (parts, tempo, melodies) in [(&tunes[0], Some(90), "C5 D5"), (&tunes[1], None, "- D5")] {
        let parts: String =
            (1..).zip(parts).map(|(id, bars)| format!("<part id='P{id}'>{}</part>", bars.concat())).collect();
        for list in
            ["", "<score-part id='P3'><part-name/></score-part><score-part id='P1'><part-name/></score-part>"]
        {
            let text = format!("<score-partwise><part-list>{list}</part-list>{parts}</score-partwise>");
            let reading = same(&text, &text);
            assert!(reading.findings.len() > 1, "{:?}", reading.findings);
            assert!(
                reading.sheet.tempo == tempo && melody(&reading.sheet) == melodies,
                "{:?}",
                reading.sheet
            );
        }
    }
}

#[test]
fn ok_the_melody_is_that_of_the_first_part_that_sings() {
    for (bars, melodies, findings) in [
        // In the order of the bars, whether the list has the part or not.
        (
            &[&[("Q", "E5"), ("P1", "C5")][..], &[("P1", "D5"), ("Q", "F5")]][..],
            "E5 F5",
            &["1 more part is"][..],
        ),
        // What enters later stands before what follows it.
        (
            &[&[("P2", "E5")], &[("P1", "C5"), ("P2", "F5")]],
            "- C5",
            &["1 more part is", "bar 1, beat 1: the part is missing"],
        ),
        (
            &[
                &[("C", "E5"), ("D", "E5")],
                &[("B", "C5"), ("C", "E5")],
                &[("A", "D5"), ("B", "E5"), ("A", "C5")],
            ],
            "- - D5",
            &[
                "3 more parts are",
                "bar 1, beat 1: the part",
                "bar 2, beat 1: the part",
                "bar 3, beat 1: a part stands",
            ],
        ),
        (&[&[("P1", "E5")], &[("P1", "E5"), ("P2", "C5")]], "E5 E5", &["1 more part is"]),
        // A gap, and a part that ends early.
        (
            &[&[("P1", "E5"), ("P2", "C5")], &[("P2", "C5")], &[("P1", "F5")]],
            "E5 - F5",
            &["1 more part is", "bar 2, beat 1: the part is missing in this bar, it rests there"],
        ),
        (&[&[("P1", "E5"), ("P2", "C5")], &[("P2", "C5")]], "E5", &["1 more part is"]),
        (&[&[], &[("P1", "E5")]], "- E5", &["bar 1, beat 1: the part is missing"]),
    ] {
        let reading = outcome(&score(bars));
        assert_eq!(melody(&reading.sheet), melodies, "{bars:?}");
        let said: Vec<_> = reading.findings.iter().map(ToString::to_string).collect();
        assert_eq!(said.len(), findings.len(), "{said:?}");
        for (said, part) in said.iter().zip(findings) {
            assert!(said.contains(part), "{said}");
        }
    }
}

#[test]
fn ok_parts_without_an_id_are_told_apart_by_their_place() {
    let bar = |names: [&str; 2]| {
        format!(
            "<measure number='1'><part>{}</part><part>{}</part></measure>",
            note(names[0]),
            note(names[1])
        )
    };
    let text = format!("<score-timewise>{}{}</score-timewise>", bar(["C5", "E4"]), bar(["D5", "F4"]));
    assert_eq!(melody(&outcome(&text).sheet), "C5 D5");
}

#[test]
fn all_cuts_are_errors_with_their_place() {
    let text = timewise(FIXTURES[1]);
    let text = text.trim_end();
    outcome(text);
    for end in 1..text.len() {
        let Some(cut) = text.get(..end) else { continue };
        let error = read(cut.as_bytes(), &ReadOptions::default()).unwrap_err();
        assert!(error.is_sheet() && error.to_string().starts_with("line "), "{end}: {error}");
        assert!(error.excerpt().is_some() && error.help().is_some(), "{end}: {error}");
    }
}

#[test]
fn err_no_bars() {
    for inside in ["", "<part id='P1'><measure number='1'/></part>", "<measure number='1'/>"] {
        let text = format!("<score-timewise><part-list/>{inside}</score-timewise>");
        let error = read(text.as_bytes(), &ReadOptions::default()).unwrap_err();
        let expected = "line 1, byte 0: the score has no bars, expected a `measure` with at least one `part`";
        assert_eq!(error.to_string(), expected);
        assert!(error.help().is_some() && error.excerpt().is_some());
    }
}

#[test]
fn err_limits_hold_for_bars_parts_and_what_is_missing() {
    let bar = |inside: &str| format!("<measure number='1'>{inside}</measure>");
    let part = |id: usize| format!("<part id='P{id}'/>");
    let small = Limits { bars: 5, notes: 20, ..Limits::default() };
    let parts = |count: usize| (0..count).map(part).collect::<String>();
    let four = bar("").repeat(4);
    for (inside, limit) in [
        (bar(&part(1)).repeat(5), None),
        (bar(&part(1)).repeat(6), Some("bars")),
        (bar(&parts(20)), None),
        (bar(&parts(21)), Some("notes")),
        // Four bars of four parts are missing, and of five.
        (format!("{four}{}", bar(&parts(4))), None),
        (format!("{four}{}", bar(&parts(5))), Some("notes")),
    ] {
        let text = format!("<score-timewise>{inside}</score-timewise>");
        let read = read(text.as_bytes(), &ReadOptions { limits: small, strict: false });
        match limit {
            None => assert!(read.is_ok(), "{inside}: {:?}", read.err()),
            Some(limit) => {
                let error = read.unwrap_err();
                assert!(
                    error.is_limit() && error.to_string().contains(&format!("the limit `{limit}`")),
                    "{error}"
                );
            }
        }
    }
}
