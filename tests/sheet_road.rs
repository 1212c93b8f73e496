//! Marks that say where the music goes on, through files: read from MusicXML in every way that it has, written, moved into other
//! keys, played.

#![cfg(feature = "sheet")]
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::panic,
    reason = "a test fails by panicking, also in its helpers"
)]

use overshell::pitch::note;
use overshell::sheet::{
    LeadSheet, ReadOptions, Reading, Repeat, read, write_abc, write_chart, write_lead_musicxml, write_midi,
    write_musicxml,
};

#[path = "sheet_common/arrange.rs"]
mod arrange;

/// Bars of one whole note each, with something in front of it and behind it.
fn page(bars: &[(&str, &str)]) -> Reading {
    let bar = |(number, (front, behind)): (usize, &(&str, &str))| {
        format!(
            "<measure number='{}'><attributes><divisions>1</divisions></attributes>{front}\
             <note><pitch><step>C</step><octave>5</octave></pitch><duration>4</duration></note>{behind}</measure>",
            number + 1
        )
    };
    let bars: String = bars.iter().enumerate().map(bar).collect();
    let xml = format!("<score-partwise><part-list/><part id='P1'>{bars}</part></score-partwise>");
    read(xml.as_bytes(), &ReadOptions::default()).unwrap()
}

/// The marks as `BAR MARK`.
fn marks(sheet: &LeadSheet) -> String {
    let mut found = Vec::new();
    for (index, bar) in sheet.bars.iter().enumerate() {
        let road = &bar.road;
        for (name, label) in [("segno", &road.segno), ("coda", &road.coda), ("to coda", &road.to_coda)] {
            found.extend(label.iter().map(|label| format!("{index} {name} {label}").trim().to_owned()));
        }
        found.extend(road.fine.then(|| format!("{index} fine")));
        found.extend(road.jump.iter().map(|jump| format!("{index} {jump}")));
    }
    found.join(", ")
}

fn words(words: &str) -> String {
    format!("<direction><direction-type><words>{words}</words></direction-type></direction>")
}

const CODA: &str = "<direction><direction-type><coda/></direction-type></direction>";
const SEGNO: &str = "<direction><direction-type><segno/></direction-type></direction>";

/// MusicXML 4.0, elements `sound`, `segno`, `coda`, `barline`; words are common practice, no source.
#[test]
fn ok_musicxml_in_all_its_ways() {
    let (to_coda, al_coda, fine, al_fine) =
        (words("To Coda"), words("D.S. al Coda"), words("Fine"), words("D.C. al Fine"));
    let exit = "<direction><direction-type><words>To</words></direction-type><direction-type><coda/></direction-type></direction>";
    let with_sound = "<direction><direction-type><words>D.S. al Coda</words></direction-type><sound dalsegno='a'/></direction>";
    let cases: [(&[(&str, &str)], &str); 14] = [
        // Sounds, in a direction or in the bar.
        (
            &[
                ("<sound segno='a'/>", ""),
                ("", "<sound tocoda='c'/>"),
                ("", "<sound dalsegno='a'/>"),
                ("<sound coda='c'/>", ""),
            ],
            "0 segno a, 1 to coda c, 2 D.S., 3 coda c",
        ),
        (&[("", "<sound fine='yes'/>"), ("", "<sound dacapo='yes'/>")], "0 fine, 1 D.C."),
        (&[("<sound fine='no' dacapo='no'/>", "")], ""),
        // Names of signs say nothing.
        (&[("<sound segno='segno'/>", "<sound dalsegno='segno'/>")], "0 segno, 0 D.S."),
        // Words say how far a jump goes, beside the sound or apart from it.
        (&[("<sound segno='a'/>", with_sound)], "0 segno a, 0 D.S. al Coda"),
        (&[("<sound segno='a'/>", "<sound dalsegno='a'/>"), ("", "")], "0 segno a, 0 D.S."),
        (&[("", &al_fine), ("", "<sound dacapo='yes'/>")], "0 D.C. al Fine, 1 D.C."),
        // Signs and words alone.
        (
            &[(SEGNO, ""), ("", &to_coda), ("", &al_coda), (CODA, "")],
            "0 segno, 1 to coda, 2 D.S. al Coda, 3 coda",
        ),
        (
            &[(SEGNO, ""), ("", exit), ("", &al_coda), (CODA, "")],
            "0 segno, 1 to coda, 2 D.S. al Coda, 3 coda",
        ),
        (
            &[(SEGNO, ""), ("", CODA), ("", &al_coda), (CODA, "")],
            "0 segno, 1 to coda, 2 D.S. al Coda, 3 coda",
        ),
        (&[("", &fine), ("", &al_fine)], "0 fine, 1 D.C. al Fine"),
        // Behind the last note of a bar a sign is the next bar's.
        (&[("", SEGNO), ("", &al_coda)], "1 segno, 1 D.S. al Coda"),
        // A sign beside the sound that explains it.
        (&[("", ""), (CODA, "<sound tocoda='coda'/>"), ("<sound coda='coda'/>", "")], "1 to coda, 2 coda"),
        // Barlines.
        (
            &[
                ("", "<barline location='right' segno='x'><segno/></barline>"),
                ("<barline location='left' coda='y'><coda/></barline>", ""),
            ],
            "1 segno x, 1 coda y",
        ),
    ];
    for (bars, expected) in cases {
        let reading = page(bars);
        assert_eq!(marks(&reading.sheet), expected, "{bars:?}");
        assert!(reading.findings.is_empty(), "{bars:?}: {:?}", reading.findings);
        let written = write_lead_musicxml(&reading.sheet).unwrap();
        let strict = ReadOptions { strict: true, ..ReadOptions::default() };
        assert_eq!(read(written.as_bytes(), &strict).unwrap().sheet, reading.sheet, "{written}");
    }
}

/// MusicXML 4.0, element `sound`, attribute `forward-repeat`; element `repeat`, attribute `after-jump`.
#[test]
fn ok_repeats_of_musicxml() {
    let back = "<barline location='right'><repeat direction='backward' after-jump='yes'/></barline>";
    let sheet = page(&[
        ("", ""),
        ("<sound forward-repeat='yes'/>", back),
        ("", "<sound forward-repeat='yes'/>"),
        ("", "<barline><repeat direction='backward'/></barline><sound dacapo='yes'/>"),
    ])
    .sheet;
    assert_eq!(sheet.bars[1].left.repeat, Some(Repeat::Forward));
    assert_eq!(sheet.bars[3].left.repeat, Some(Repeat::Forward));
    assert!(sheet.bars[1].right.after_jump && !sheet.bars[3].right.after_jump);
    assert_eq!(sheet.as_played().unwrap().bars, [0, 1, 1, 2, 3, 3, 0, 1, 1, 2, 3]);
    let written = write_lead_musicxml(&sheet).unwrap();
    assert_eq!(read(written.as_bytes(), &ReadOptions::default()).unwrap().sheet, sheet);
    // A text of lines cannot hold that, and says so.
    for lost in [write_abc(&sheet).unwrap().lost, write_chart(&sheet).unwrap().lost] {
        assert!(lost.iter().any(|lost| lost.message.contains("after a jump")), "{lost:?}");
    }
}

/// Marks of the first part that has any hold for the melody.
#[test]
fn ok_marks_of_another_part() {
    let bar = |inside: &str| {
        format!("<measure number='1'><attributes><divisions>1</divisions></attributes>{inside}</measure>")
    };
    let rest = bar("<note><rest/><duration>4</duration></note><sound dacapo='yes'/>");
    let sung = bar("<note><pitch><step>C</step><octave>5</octave></pitch><duration>4</duration></note>");
    let xml = format!(
        "<score-partwise><part-list/><part id='P1'>{rest}</part><part id='P2'>{sung}</part></score-partwise>"
    );
    let sheet = read(xml.as_bytes(), &ReadOptions::default()).unwrap().sheet;
    assert_eq!(marks(&sheet), "0 D.C.");
    assert_eq!(sheet.as_played().unwrap().bars, [0, 0]);
}

const ROAD: &str = "key: F
metre: 4/4

| Gm7 | <segno> C7 <to coda> | F |{1} Dm7 :|
|{2} D7 <dal segno al coda> | <coda> F6 |.
>  D5 | C5 | A4 | F4 |
>  F#4 | C5 |
";

fn tune() -> LeadSheet {
    let text = ROAD.replace(":|\n|{2}", ":|{2}").replace("| F4 |\n>  ", "| F4 | ");
    read(text.as_bytes(), &ReadOptions { strict: true, ..ReadOptions::default() }).unwrap().sheet
}

/// Into every key and every format, marks stay; everything that plays follows them.
#[test]
fn ok_marks_go_everywhere() {
    let sheet = tune();
    let order = [0, 1, 2, 3, 0, 1, 2, 4, 1, 5];
    for fifths in -6..=6 {
        let tonic = overshell::pitch::NoteName::from_fifths(fifths).unwrap();
        let moved = sheet.transposed(tonic).unwrap();
        assert_eq!(marks(&moved), "1 segno, 1 to coda, 4 D.S. al Coda, 5 coda");
        let (abc, chart) = (write_abc(&moved).unwrap(), write_chart(&moved).unwrap());
        assert!(abc.is_exact() && chart.is_exact(), "{:?} {:?}", abc.lost, chart.lost);
        for text in [abc.text, chart.text, write_lead_musicxml(&moved).unwrap()] {
            assert_eq!(read(text.as_bytes(), &ReadOptions::default()).unwrap().sheet, moved, "{text}");
        }
        let played = moved.as_played().unwrap();
        assert_eq!(played.bars, order);
        assert!(played.findings.is_empty(), "{:?}", played.findings);
    }
    assert_eq!(sheet.progression_as_played().unwrap().same, order);
    let page = write_musicxml(&sheet, &arrange::simple(&sheet, 0)).unwrap();
    assert_eq!(marks(&read(page.as_bytes(), &ReadOptions::default()).unwrap().sheet), marks(&sheet));
    let played = sheet.as_played().unwrap().sheet;
    let midi = write_midi(&played, &arrange::simple(&played, 0)).unwrap();
    let length: u32 =
        midly::Smf::parse(&midi).unwrap().tracks[0].iter().map(|event| event.delta.as_int()).sum();
    assert_eq!(length, 10 * 4 * 480);
    assert_eq!(note("F"), sheet.key.tonic());
}
