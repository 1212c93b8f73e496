//! Charts read as a whole.

use super::*;
use crate::sheet::{Barline, EndingEdge, LeadSheet, Repeat, TICKS_PER_QUARTER};

fn reading(text: &str) -> Reading {
    let reading = read_chart(text.as_bytes(), &ReadOptions::default())
        .unwrap_or_else(|error| panic!("{text}\n{error:?}"));
    reading.sheet.validate().unwrap_or_else(|error| panic!("{text}\n{error}"));
    reading
}

#[track_caller]
fn clean(text: &str) -> LeadSheet {
    let reading = reading(text);
    assert!(reading.findings.is_empty(), "{text}\n{:?}", reading.findings);
    reading.sheet
}

/// Symbols as `bar:beat`.
fn chords(sheet: &LeadSheet) -> String {
    let one = |chord: &crate::sheet::PlacedChord| {
        format!("{}@{}:{}", chord.symbol.as_str(), chord.bar + 1, sheet.beat_of(chord.bar, chord.start))
    };
    itertools::join(sheet.chords.iter().map(one), " ")
}

fn notes(sheet: &LeadSheet) -> String {
    let one = |note: &crate::sheet::Note| {
        let name = note.pitch.map_or("r".to_owned(), |pitch| pitch.to_string());
        let quarters = f64::from(note.duration) / f64::from(TICKS_PER_QUARTER);
        format!("{name}:{quarters}{}", if note.tied_to { "~" } else { "" })
    };
    itertools::join(sheet.notes.iter().map(one), " ")
}

#[test]
fn ok_chords_share_their_bar() {
    for (text, expected) in [
        ("| C |", "C@1:1"),
        ("| C G7 |", "C@1:1 G7@1:3"),
        ("| C F G7 C |", "C@1:1 F@1:2 G7@1:3 C@1:4"),
        ("| C*3 G7 |", "C@1:1 G7@1:4"),
        ("| C*2 F G7 |", "C@1:1 F@1:3 G7@1:4"),
        ("| C*1/2 F*7/2 |", "C@1:1 F@1:1.5"),
        ("metre: 3/4\n| C - G7 |", "C@1:1 G7@1:3"),
        ("metre: 6/8\n| C G7 |", "C@1:1 G7@1:4"),
        ("| - C |- |", "C@1:3"),
        ("| C G7 | = | = |", "C@1:1 G7@1:3 C@2:1 G7@2:3 C@3:1 G7@3:3"),
        ("| C N.C. |", "C@1:1 N.C.@1:3"),
        ("| \"D|C7\" (G7) |", "D|C7@1:1 (G7)@1:3"),
        ("| C |\n| G7 |", "C@1:1 G7@2:1"),
    ] {
        assert_eq!(chords(&clean(text)), expected, "{text}");
    }
}

#[test]
fn ok_lengths_of_bars() {
    let sheet = clean("metre: 3/4\n| -*1 | C | D*2 E*2 |");
    let lengths: Vec<u32> = sheet.bars.iter().map(|bar| bar.length / TICKS_PER_QUARTER).collect();
    assert_eq!(lengths, [1, 3, 4]);
    assert_eq!((sheet.bars[0].number.as_str(), sheet.bars[0].implicit), ("0", true));
    let change = clean("| C | metre=3/4 key=Eb Eb | Bb7 |");
    assert_eq!((change.bars[2].length / TICKS_PER_QUARTER, change.bars[2].key.to_string()), (3, "Eb".into()));
}

#[test]
fn ok_strokes_and_endings() {
    let sheet = clean("|: C |{1} D :|{2} E || F |: G :|: A :| B |.");
    let line = |style: &str, repeat| Barline { style: Some(style.into()), repeat, ..Barline::default() };
    assert_eq!(sheet.bars[0].left, line("heavy-light", Some(Repeat::Forward)));
    assert_eq!(sheet.bars[1].right.ending.as_ref().unwrap().edge, EndingEdge::Stop);
    assert_eq!(sheet.bars[2].right.style.as_deref(), Some("light-light"));
    assert_eq!(sheet.bars[4].right, line("light-heavy", Some(Repeat::Backward)));
    assert_eq!(sheet.bars[5].left, line("heavy-light", Some(Repeat::Forward)));
    assert_eq!(sheet.bars[6].right, line("light-heavy", None));
    assert_eq!(sheet.as_played().unwrap().bars, [0, 1, 0, 2, 3, 4, 4, 5, 5, 6]);
}

#[test]
fn ok_marks() {
    let sheet = clean("| C | <segno> F <to coda> | G7 <dal segno al coda> | <coda> C <fine> |.");
    assert_eq!(sheet.as_played().unwrap().bars, [0, 1, 2, 1, 3]);
    assert_eq!(chords(&sheet), "C@1:1 F@2:1 G7@3:1 C@4:1");
    let mut other = clean("| C | F <to coda><segno> | <D.S. al Coda> G7 | C<fine> <coda> |.");
    assert_eq!(sheet, other);
    other = clean("| <segno=2> | F <dal segno=2 al fine with repeats> |");
    let jump = other.bars[1].road.jump.as_ref().unwrap();
    assert_eq!((other.bars[0].road.segno.as_deref(), jump.with_repeats), (Some("2"), true));
    assert_eq!(other.bars[0].length, 4 * TICKS_PER_QUARTER);
}

#[test]
fn ok_melodies() {
    for (text, expected) in [
        ("| C |\n> C5 D5 E5 F5 |", "C5:1 D5:1 E5:1 F5:1"),
        ("| C | F |\n> C5*3 r | C5*2~ C5 D5", "C5:3 r:1 C5:2~ C5:1 D5:1"),
        ("| C | F |\n> | F#5 |", "r:4 F#5:4"),
        ("| C | F |\n> Bb3 |  |", "Bb3:4 r:4"),
        ("|: C |{1} F :|{2} G |\n> C5 | F5~ | F5 |", "C5:4 F5:4~ F5:4"),
        ("| C |\n| F |\n> F5 |", "r:4 F5:4"),
    ] {
        assert_eq!(notes(&clean(text)), expected, "{text}");
    }
}

#[test]
fn ok_head_and_remarks() {
    let sheet =
        clean("# remark\n  title:  Two: Bars \nkey: Cm\nmetre: 2/4\ntempo: 96\n\n# | no bar |\n| Cm |\n");
    assert_eq!(
        (sheet.title.as_str(), sheet.key.to_string(), sheet.tempo),
        ("Two: Bars", "Cm".into(), Some(96))
    );
    assert_eq!(sheet.bars.len(), 1);
}

#[test]
fn ok_findings_have_places() {
    for (text, expected) in [
        (
            "| C | Cqq |",
            "line 1, column 7, bar 2, beat 1: the chord `Cqq` is not read, unknown sign `qq`, expected a quality, a number or an alteration",
        ),
        (
            "| C | F G A |",
            "line 1, column 7, bar 2, beat 1: 3 words share a bar of 4 beats equally, so that some fall between the beats",
        ),
        (
            "| C | F*4 G |",
            "line 1, column 11, bar 2, beat 1: nothing of the bar is left for `G`, it lasts one beat",
        ),
        ("| C | F*x |", "line 1, column 7, bar 2, beat 1: the beats `*` are not read and left out"),
        ("| C | F*0 |", "line 1, column 7, bar 2, beat 1: the beats `*0` are not read and left out"),
        (
            "| = | C |",
            "line 1, column 3, bar 1, beat 1: `=` plays the bar before again, and there is none, or it does not stand alone",
        ),
        (
            "| C | | F |",
            "line 1, column 7, bar 2, beat 1: a bar with nothing in it: the chord before goes on",
        ),
        (
            "| C | F",
            "line 1, column 8, bar 2, beat 1: the line does not end with a stroke, its last bar ends there",
        ),
        ("| C |{x} F |", "line 1, column 6, bar 2, beat 1: the ending `x` is left out, expected numbers"),
        (
            "| C | key=H F |",
            "line 1, column 7, bar 2, beat 1: the key `H` is not read, the key before stays in force",
        ),
        (
            "| C | metre=4 F |",
            "line 1, column 7, bar 2, beat 1: the metre `4` is not read, the metre before stays in force",
        ),
        (
            "| C | F <dal segno twice> |",
            "line 1, column 9, bar 2, beat 1: the mark `<dal segno twice>` is not read and left out",
        ),
        ("| C | F <fine", "line 1, column 9, bar 2, beat 1: the mark `<fine>` is not read and left out"),
        (
            "| C | F <da capo> <dal segno> |",
            "line 1, column 19, bar 2, beat 1: a bar has two different marks of a kind, the first stays",
        ),
        ("| C~ |", "line 1, column 3, bar 1, beat 1: `~` behind a chord is left out"),
        ("tepmo: 100\n| C |", "line 1, column 1: `tepmo:` is no word of the head and is left out"),
        ("tempo: fast\n| C |", "line 1, column 8: the tempo `fast` is not read, expected 1 to 1000"),
        ("| C |\nkey: F\n| F |", "line 2, column 1: `key:` behind the first bars is left out"),
        ("| C |\nla la\n", "line 2, column 1: the line `la la` is left out, expected bars, melody or head"),
        (
            "> C5 |\n| C |",
            "line 1, column 1, bar 1, beat 1: a line of melody without a line of bars above it is left out",
        ),
        ("| C | F |\n> C5 |", "line 2, column 1, bar 1, beat 1: the melody has 1 bars, the line above it 2"),
        (
            "| C |\n> C5*2 H5*2 |",
            "line 2, column 8, bar 1, beat 3: `H5` is read as a rest, `H5` is not a pitch",
        ),
        (
            "| C |\n> C5*2 D5*1 |",
            "line 2, column 3, bar 1, beat 1: the melody of the bar lasts 3 beats, its chords 4",
        ),
        (
            "| C |\n> C5~ D5 |",
            "line 2, column 3, bar 1, beat 1: a tie at `C5` leads to no note of the same pitch and is left out",
        ),
    ] {
        let found = reading(text);
        let first = found.findings.first().map(ToString::to_string).unwrap_or_default();
        assert_eq!(first, expected, "{text}\n{:?}", found.findings);
        assert!(found.findings.iter().all(|finding| !finding.help.is_empty()));
        let strict = ReadOptions { strict: true, ..ReadOptions::default() };
        let error = read_chart(text.as_bytes(), &strict).unwrap_err();
        assert_eq!((error.to_string().as_str(), error.is_sheet()), (expected, true));
        assert!(error.excerpt().is_some() && error.help().is_some());
    }
    assert_eq!(reading("tepmo: 100\n| C |").findings[0].help, "did you mean `tempo:`?");
}

#[test]
fn err_errors_and_limits() {
    for text in ["", "title: x\n", "# | C |\n", "C | G"] {
        let error = read_chart(text.as_bytes(), &ReadOptions::default()).unwrap_err();
        assert!(error.is_sheet() && error.help().is_some(), "{text}");
    }
    let mut options = ReadOptions::default();
    options.limits.bars = 2;
    let error = read_chart(b"| C | F |\n| G |", &options).unwrap_err();
    assert!(error.is_limit() && error.to_string().starts_with("line 2, bar 3: "), "{error}");
    options = ReadOptions::default();
    options.limits.notes = 2;
    assert!(read_chart(b"| C F G7 C |", &options).unwrap_err().is_limit());
    assert!(read_chart(b"| C |\n> C5 D5 E5 F5 |", &options).unwrap_err().is_limit());
    options.limits.bytes = 3;
    assert!(read_chart(b"| C |", &options).unwrap_err().is_limit());
    assert!(read_chart(b"| \xFF |", &ReadOptions::default()).unwrap_err().is_sheet());
    // A bar too long to be counted.
    let long = reading("| C | F*4294967295 |");
    assert_eq!(long.findings.len(), 1, "{:?}", long.findings);
}
