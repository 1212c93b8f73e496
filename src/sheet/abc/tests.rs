//! Tunes read as a whole.

use super::*;
use crate::sheet::{Barline, EndingEdge, LeadSheet, Metre, PlacedSymbol, Repeat, TICKS_PER_QUARTER};

fn reading(text: &str) -> Reading {
    let reading = read_abc(text.as_bytes(), &ReadOptions::default())
        .unwrap_or_else(|error| panic!("{text}\n{error:?}"));
    reading.sheet.validate().unwrap_or_else(|error| panic!("{text}\n{error}"));
    reading
}

/// A body with the header that most tests share.
fn body(text: &str) -> Reading {
    reading(&format!("X:1\nT:Test\nM:4/4\nL:1/4\nK:C\n{text}\n"))
}

/// Without findings.
fn clean(text: &str) -> LeadSheet {
    let reading = body(text);
    assert!(reading.findings.is_empty(), "{text}\n{:?}", reading.findings);
    reading.sheet
}

fn messages(reading: &Reading) -> Vec<String> {
    reading.findings.iter().map(ToString::to_string).collect()
}

/// Notes as `C4:1` in quarters, `z:1` for rests, `-` behind ties.
fn notes(sheet: &LeadSheet) -> String {
    itertools::join(
        sheet.notes.iter().map(|note| {
            let name = note.pitch.map_or("z".to_owned(), |pitch| pitch.to_string());
            let quarters = f64::from(note.duration) / f64::from(TICKS_PER_QUARTER);
            format!("{name}:{}{}", (quarters * 1000.0).round() / 1000.0, if note.tied_to { "-" } else { "" })
        }),
        " ",
    )
}

fn chords(sheet: &LeadSheet) -> String {
    itertools::join(
        sheet.chords.iter().map(|chord| {
            let quarters = f64::from(chord.start) / f64::from(TICKS_PER_QUARTER);
            format!("{}@{}", chord.symbol.as_str(), (quarters * 1000.0).round() / 1000.0)
        }),
        " ",
    )
}

#[track_caller]
fn check(text: &str, expected: &str) {
    assert_eq!(notes(&clean(text)), expected, "{text}");
}

/// ABC 2.1, section 4.1.
#[test]
fn ok_pitches() {
    check("C,, C, C c|c' c'' z2|", "C2:1 C3:1 C4:1 C5:1 C6:1 C7:1 z:2");
    check("B b c', C'|", "B4:1 B5:1 C5:1 C5:1");
}

/// ABC 2.1, sections 4.2 and 11.3: in all octaves to the end of the bar, unless told otherwise.
#[test]
fn ok_accidentals_hold_for_their_bar() {
    check("^C C D c|C4|", "C#4:1 C#4:1 D4:1 C#5:1 C4:4");
    check("^^F _B __E =B|F B E2|", "F##4:1 Bb4:1 Ebb4:1 B4:1 F4:1 B4:1 E4:2");
    check("^c =c c ^c|", "C#5:1 C5:1 C5:1 C#5:1");
    check("%%propagate-accidentals octave\n^C C D c|", "C#4:1 C#4:1 D4:1 C5:1");
    check("I:propagate-accidentals not\n^C C D c|", "C#4:1 C4:1 D4:1 C5:1");
    let keyed = reading("X:1\nM:4/4\nL:1/4\nK:Eb\nE B =e e|E A, d' F|\n");
    assert_eq!(notes(&keyed.sheet), "Eb4:1 Bb4:1 E5:1 E5:1 Eb4:1 Ab3:1 D6:1 F4:1");
    let own = reading("X:1\nM:4/4\nL:1/4\nK:D =c\nF c f ^c|\n");
    assert_eq!(notes(&own.sheet), "F#4:1 C5:1 F#5:1 C#5:1");
}

/// Common practice, no source: a tie carries an accidental over a barline, to its own note only.
#[test]
fn ok_ties_carry_accidentals() {
    check("^c4-|c2 c2|", "C#5:4- C#5:2 C5:2");
    check("^c2-c2|", "C#5:2- C#5:2");
    check("^c3-c-|c4|", "C#5:3- C#5:1- C#5:4");
}

/// ABC 2.1, section 4.3.
#[test]
fn ok_lengths() {
    check("A2 A/2 A/ A|", "A4:2 A4:0.5 A4:0.5 A4:1");
    check("A3/2 A/ A//A// A/4A/4 A|", "A4:1.5 A4:0.5 A4:0.25 A4:0.25 A4:0.25 A4:0.25 A4:1");
}

/// ABC 2.1, section 4.11, its examples: over a barline too, and never apart from the first note.
#[test]
fn ok_ties() {
    check("c4-|c4|", "C5:4- C5:4");
    check("abc2-|c2ba|", "A5:1 B5:1 C5:2- C5:2 B5:1 A5:1");
    let apart = body("c2 -c2|");
    assert_eq!((notes(&apart.sheet).as_str(), apart.findings.len()), ("C5:2- C5:2", 1));
}

/// ABC 2.1, section 4.9: `| 1` is no ending.
#[test]
fn ok_an_ending_touches_its_barline_or_bracket() {
    let apart = body("|: c4 | 1 d4 :|");
    assert!(apart.sheet.bars[1].left.ending.is_none());
    assert_eq!(
        messages(&apart)[0],
        "line 6, column 9, bar 2, beat 1: the sign `1` is left out, expected music"
    );
    assert!(clean("|: c4 | [1 d4 :| [2 e4 |]").bars[1].left.ending.is_some());
}

/// ABC 2.1, section 4.4.
#[test]
fn ok_broken_rhythm() {
    check("a>b c<d|", "A5:1.5 B5:0.5 C5:0.5 D5:1.5");
    check("a>>b c<<d|", "A5:1.75 B5:0.25 C5:0.25 D5:1.75");
    check("a>>>b z>c|", "A5:1.875 B5:0.125 z:1.5 C5:0.5");
    check("a \"G7\"> b c2|", "A5:1.5 B5:0.5 C5:2");
}

/// ABC 2.1, section 4.5.
#[test]
fn ok_rests() {
    check("z2 x2|Z|z4|Z2|", "z:2 z:2 z:4 z:4 z:4 z:4");
    assert_eq!(clean("Z4|").bars.len(), 4);
}

/// ABC 2.1, section 4.13.
#[test]
fn ok_tuplets() {
    check("(3abc d2|", "A5:0.667 B5:0.667 C5:0.667 D5:2");
    check("(3:2:4 a/b/cd e2|", "A5:0.333 B5:0.333 C5:0.667 D5:0.667 E5:2");
    check("(5:4 abcde|", "A5:0.8 B5:0.8 C5:0.8 D5:0.8 E5:0.8");
    check("(2ab c|(3::2 ab c2 z2/3|", "A5:1.5 B5:1.5 C5:1 A5:0.667 B5:0.667 C5:2 z:0.667");
    let compound = reading("X:1\nM:6/8\nL:1/8\nK:C\n(5abcde fga|\n");
    assert_eq!(compound.sheet.notes[0].duration, 3 * TICKS_PER_QUARTER / 2 / 5);
    let triplet = clean("(3a/b/c/ d e2|");
    assert_eq!(triplet.notes[0].value.unwrap().tuplet, (3, 2));
    assert_eq!(triplet.notes[0].value.unwrap().unit, 8);
}

/// ABC 2.1, sections 4.11, 4.12, 4.14, 4.19, 4.21: what does not sound.
#[test]
fn ok_what_does_not_sound() {
    check(
        "(a b) .c ~d|Ha Tb uc vd|!trill!a +fermata+b \"^slowly\"c y2d|",
        "A5:1 B5:1 C5:1 D5:1 A5:1 B5:1 C5:1 D5:1 A5:1 B5:1 C5:1 D5:1",
    );
    check(
        "ab\\\ncd|% and so on\nw: la la\na2 % half\nb2|[r: remark] [N:note] c4 $ `|",
        "A5:1 B5:1 C5:1 D5:1 A5:2 B5:2 C5:4",
    );
    let grace = body("{ab}c {/d}e z2|");
    assert_eq!((notes(&grace.sheet).as_str(), grace.findings.len()), ("C5:1 E5:1 z:2", 1));
}

/// ABC 2.1, section 4.17, and the highest note for the melody.
#[test]
fn ok_notes_together() {
    let together = body("[CEG]2 [g2e4]|[^CF]4|");
    assert_eq!(notes(&together.sheet), "G4:2 G5:2 F4:4");
    assert_eq!(
        messages(&together)[0],
        "line 6, column 1, bar 1, beat 1: of notes together the highest is kept"
    );
    assert_eq!(notes(&body("[ce]2- [ce]2|[ce-]4|[ce]4|").sheet), "E5:2- E5:2 E5:4- E5:4");
}

/// ABC 2.1, section 4.18.
#[test]
fn ok_chord_symbols() {
    let sheet = clean("\"Am7\"A2 \"D7\"B2|\"G\"z \"G7/f\"a>b \"N.C.\"c|\"C\"c/\"Dm\"d/ e3|");
    assert_eq!(chords(&sheet), "Am7@0 D7@2 G@4 G7/F@5 N.C.@7 C@8 Dm@8.5");
    assert_eq!(sheet.chords[3].bar, 1);
    let only = clean("\"C7\"|\"F\"z4|");
    assert_eq!((chords(&only).as_str(), only.bars.len()), ("C7@0 F@4", 2));
    let two = body("\"C\"\"F\"c4|c2 d2 \"G\"|e4|");
    assert_eq!(chords(&two.sheet), "C@0 F@2 G@8");
    assert_eq!(two.findings.len(), 2);
    let odd = body("\"Cqq\"c2 \"G(Em)\"d2|\"slowly\"e4|\"D.C. twice\"e4|");
    assert_eq!(chords(&odd.sheet), "Cqq@0 G@2");
    assert_eq!(
        messages(&odd),
        [
            "line 6, column 1, bar 1, beat 1: the chord `Cqq` is not read, unknown sign `qq`, expected a quality, a number or an alteration",
            "line 6, column 9, bar 1, beat 3: `G(Em)`: the alternate `Em` is left out: it is for print only",
            "line 6, column 19, bar 2, beat 1: the text `slowly` is no chord symbol and is left out",
            "line 6, column 30, bar 3, beat 1: the jump `D.C. twice` is left out, it goes on otherwise than known",
        ]
    );
    assert_eq!(odd.findings[0].chord, Some(0));
    assert!(matches!(odd.sheet.chords[0].symbol, PlacedSymbol::Unread { .. }));
}

fn line(style: Option<&str>, repeat: Option<Repeat>) -> Barline {
    Barline { style: style.map(str::to_owned), repeat, ..Barline::default() }
}

/// ABC 2.1, section 4.8.
#[test]
fn ok_barlines() {
    let sheet = clean("|: c4 | d4 :: e4 :| f4 || g4 | [| a4 |]");
    assert_eq!(sheet.bars[0].left, line(Some("heavy-light"), Some(Repeat::Forward)));
    assert_eq!(sheet.bars[1].right, line(Some("light-heavy"), Some(Repeat::Backward)));
    assert_eq!(sheet.bars[2].left, line(Some("heavy-light"), Some(Repeat::Forward)));
    assert_eq!(sheet.bars[3].right, line(Some("light-light"), None));
    assert_eq!(sheet.bars[5].left, line(Some("heavy-light"), None));
    assert_eq!(sheet.bars[5].right, line(Some("light-heavy"), None));
    let over = clean("c4 |\n|: d4 :|\n");
    assert_eq!((over.bars.len(), over.bars[1].left.repeat), (2, Some(Repeat::Forward)));
    assert_eq!(body("c4 |:: d4 ::|").findings.len(), 2);
}

/// ABC 2.1, sections 4.9 and 4.10.
#[test]
fn ok_endings() {
    let sheet = clean("|: c4 |1 d4 :|2 e4 | f4 || g4 | [1,3 a4 | b4 :|\n[2 c4");
    let edges = |bar: usize| {
        let edge = |line: &Barline| line.ending.as_ref().map(|e| (e.numbers.clone(), e.edge));
        (edge(&sheet.bars[bar].left), edge(&sheet.bars[bar].right))
    };
    let some = |numbers: &str, edge| Some((numbers.to_owned(), edge));
    assert_eq!(edges(1), (some("1", EndingEdge::Start), some("1", EndingEdge::Stop)));
    assert_eq!(edges(2), (some("2", EndingEdge::Start), None));
    assert_eq!(edges(3), (None, some("2", EndingEdge::Stop)));
    assert_eq!(edges(4), (None, None));
    assert_eq!(edges(5), (some("1,3", EndingEdge::Start), None));
    assert_eq!(edges(6), (None, some("1,3", EndingEdge::Stop)));
    assert_eq!(edges(7), (some("2", EndingEdge::Start), some("2", EndingEdge::Discontinue)));
    let played = clean("|: c4 |1 d4 :|2 e4 |]").as_played().unwrap();
    assert_eq!(played.bars, [0, 1, 0, 2]);
    // A range, as section 4.10 has it.
    assert_eq!(clean("|: c4 |1-3 d4 :|4 e4 |]").as_played().unwrap().bars, [0, 1, 0, 1, 0, 1, 0, 2]);
}

#[test]
fn ok_numbers_of_bars() {
    let sheet = clean("c | d4 | e3 :: f | g4 | a3 |]");
    let numbers: Vec<&str> = sheet.bars.iter().map(|bar| bar.number.as_str()).collect();
    assert_eq!(numbers, ["0", "1", "2", "2b", "3", "4"]);
    assert_eq!(sheet.bars.iter().filter(|bar| bar.implicit).count(), 2);
}

/// ABC 2.1, sections 3.1.6 to 3.1.8, 3.1.14 and 3.2: fields of the header and in the tune.
#[test]
fn ok_fields() {
    let sheet = reading("X:7\nT:Salt & Rain \\'a\nT:second\nC:nobody\nM:6/8\nQ:3/8=60\nK:Dm\nd3 f3|[M:2/4][K:F]a2 b2|\nM:3/4\nK:Bb\nL:1/4\nb e d|\n").sheet;
    assert_eq!(
        (sheet.title.as_str(), sheet.tempo, sheet.key.to_string()),
        ("Salt & Rain á", Some(90), "Dm".into())
    );
    assert_eq!(notes(&sheet), "D5:1.5 F5:1.5 A5:1 Bb5:1 Bb5:1 Eb5:1 D5:1");
    let metres: Vec<Metre> = sheet.bars.iter().map(|bar| bar.metre).collect();
    let metre = |beats, unit| Metre { beats, unit };
    assert_eq!(metres, [metre(6, 8), metre(2, 4), metre(3, 4)]);
    assert_eq!(sheet.bars[2].key.to_string(), "Bb");
    // Section 3.1.7: a sixteenth under 3/4.
    assert_eq!(reading("X:1\nM:2/4\nK:C\nc4d4|\n").sheet.end(), 2 * TICKS_PER_QUARTER);
}

#[test]
fn ok_voices_and_octaves() {
    let two = reading(
        "X:1\nM:4/4\nL:1/4\nV:1 clef=treble-8 name=\"x y\"\nV:2 clef=bass\nK:C\nV:1\nc4|\nV:2\nC,4|\n[V:1]d4|[V:2]D,4|\n",
    );
    assert_eq!(notes(&two.sheet), "C4:4 D4:4");
    assert_eq!(
        messages(&two),
        ["line 9, column 3: the voice `2` is left out, and every other voice than the first"]
    );
    assert_eq!(notes(&reading("X:1\nM:4/4\nL:1/4\nK:C octave=-1\nc4|\n").sheet), "C4:4");
    assert_eq!(notes(&reading("X:1\nM:4/4\nL:1/4\nV:1 clef=treble-8\nK:C\nc4|\n").sheet), "C4:4");
    let overlay = body("c4 & C2 E2|d4|");
    assert_eq!((notes(&overlay.sheet).as_str(), overlay.findings.len()), ("C5:4 D5:4", 1));
}

#[test]
fn ok_several_tunes_and_what_stands_around_them() {
    let file =
        "%abc-2.1\nL:1/4\n\nfree text\n\nX:1\nT:One\nM:4/4\nK:C\nc4|\n\nX:2\nK:C\nd4|\n\nX:3\nK:G\ne4|\n";
    let found = reading(file);
    assert_eq!((found.sheet.title.as_str(), notes(&found.sheet).as_str()), ("One", "C5:4"));
    assert_eq!(messages(&found), ["line 12, column 1: the first tune is read, 2 more are left out"]);
    let behind = body("c4|\n\nd4|\n");
    assert_eq!(
        messages(&behind),
        ["line 8, column 1: what stands behind the empty line at the end of the tune is left out"]
    );
    let bare = reading("M:4/4\nL:1/4\nK:C\n%%begintext\nX:9 is no tune\n%%endtext\nc4|\n");
    assert_eq!((notes(&bare.sheet).as_str(), bare.findings.len()), ("C5:4", 1));
    assert!(reading("X:1\r\nM:4/4\r\nL:1/4\r\nK:C\r\nc4|\r\n").findings.is_empty());
}

#[test]
fn ok_findings_have_places() {
    for (text, expected) in [
        ("c4|d2 §§ d2|", "line 6, column 7, bar 2, beat 3: the sign `§` is left out, expected music"),
        (
            "c4|c2-d2|",
            "line 6, column 4, bar 2, beat 1: a tie at `C5` leads to no note of the same pitch and is left out",
        ),
        ("c4|c4 -|c4|", "line 6, column 7, bar 2, beat 5: a tie stands apart from its note"),
        (
            "c4|d3|e4|",
            "line 6, column 4, bar 2, beat 1: the bar lasts 3 beats, expected 4 in 4/4; it keeps its own length",
        ),
        (
            "c4|d9/2|e4|",
            "line 6, column 4, bar 2, beat 1: the bar lasts 4 1/2 beats, expected 4 in 4/4; it keeps its own length",
        ),
        (
            "c4|d2!segno!d2|",
            "line 6, column 6, bar 2, beat 3: a segno or coda inside a bar counts from its start",
        ),
        (
            "c4|!D.S.!d2!D.C.!d2|",
            "line 6, column 12, bar 2, beat 1: a bar has two different marks of a kind, the first stays",
        ),
        ("c4|d4|!segno!", "line 6, column 7: a mark behind the last bar is left out"),
        ("c4|d4 K|", "line 6, column 7, bar 2, beat 5: a letter that no `U:` defines is left out"),
        (
            "c2 [K:G] d2|",
            "line 6, column 4, bar 1, beat 3: a change of key or metre inside a bar counts from the next bar",
        ),
        ("c4|d2\"G d2|", "line 6, column 6, bar 2, beat 3: a text in quotes is not closed"),
        ("c4|(11abc z|", "line 6, column 4, bar 2, beat 1: the tuplet `(11` is left out"),
        ("K:H\nc4|", "line 6, column 1, bar 1, beat 1: `H` in a key is not read"),
        ("c4|K:Hq\nM:9\nd4|", "line 6, column 4, bar 2, beat 1: a letter that no `U:` defines is left out"),
    ] {
        let found = body(text);
        let shown = messages(&found);
        assert_eq!(shown.first().map_or("", String::as_str), expected, "{text}");
        assert!(found.findings.iter().all(|finding| !finding.help.is_empty()));
    }
}

#[test]
fn err_errors_have_places() {
    let strict = ReadOptions { strict: true, ..ReadOptions::default() };
    let error = read_abc(b"X:1\nM:4/4\nL:1/4\nK:C\nc4|d3|e4|\n", &strict).unwrap_err();
    assert!(error.is_sheet() && error.report().contains("d3|e4"), "{error:?}");
    assert_eq!(error.excerpt().unwrap().line_number(), Some(5));
    for text in ["", "X:1\n", "X:1\nK:C\n", "X:1\nK:C\n\nc4|"] {
        let error = read_abc(text.as_bytes(), &ReadOptions::default()).unwrap_err();
        assert!(error.is_sheet() && error.help().is_some(), "{text}");
    }
    let mut options = ReadOptions::default();
    options.limits.bars = 2;
    let error = read_abc(b"X:1\nM:4/4\nK:C\nc8|c8|\nc8|\n", &options).unwrap_err();
    assert!(error.is_limit() && error.to_string().starts_with("line 5, bar 3: "), "{error}");
    assert!(read_abc(b"X:1\nM:4/4\nK:C\nZ999999999|", &ReadOptions::default()).unwrap_err().is_limit());
    options.limits.notes = 2;
    assert!(read_abc(b"X:1\nM:4/4\nK:C\nccc|", &options).unwrap_err().is_limit());
    options.limits.bytes = 9;
    assert!(read_abc(b"X:1\nM:4/4\nK:C\nccc|", &options).unwrap_err().is_limit());
    assert!(read_abc(b"X:1\n\xFF", &ReadOptions::default()).unwrap_err().is_sheet());
}

proptest::proptest! {
    /// Rubbish gives an error, or a sheet that is sound.
    #[test]
    fn prop_rubbish_does_not_panic(text in "\\PC{0,80}", music in "[A-Ga-gz^_=0-9/,'|:\\[\\]<>(){}\"!&~. \\-\n%xZ+KMLV]{0,120}") {
        for text in [text.clone(), format!("X:1\nK:C\n{text}"), format!("X:1\nM:4/4\nK:C\n{music}"), music] {
            if let Ok(reading) = read_abc(text.as_bytes(), &ReadOptions::default()) {
                reading.sheet.validate().unwrap_or_else(|error| panic!("{text}\n{error}"));
                for finding in &reading.findings {
                    assert!(finding.line.is_some() && finding.column.is_some());
                }
            }
        }
    }
}

/// ABC 2.1, section 4.14: `!segno! !coda! !D.S.! !D.C.! !dacoda! !dacapo! !fine!`; section 4.14 too for the letters `S` and `O`.
#[test]
fn ok_marks() {
    for (text, expected) in [
        ("!segno!c4|d4 !D.S.!|", "0 segno, 1 D.S."),
        ("Sc4|d4!D.S.!|e4|", "0 segno, 1 D.S."),
        ("c4|!fine!d4|e4!D.C.!|", "1 fine, 2 D.C."),
        ("c4|d4|e4|]!dacapo!", "2 D.C."),
        ("c4|d4!dacoda!|e4!D.C.!|!coda!f4|", "1 to coda, 2 D.C., 3 coda"),
        // Signs alone: the first leaves, the second is the coda.
        ("c4|d4O|e4!D.C.!|Of4|", "1 to coda, 2 D.C., 3 coda"),
        ("c4|d4|Oe4!D.C.!|Of4|", "1 to coda, 2 D.C., 3 coda"),
        ("c4|d4!D.C.alfine!|!coda!e4|", "1 D.C. al Fine, 2 coda"),
        ("!segno!c4|d4!D.S.alcoda!|", "0 segno, 1 D.S. al Coda"),
        // Words, as a chord symbol or an annotation.
        ("c4|\"Fine\"d4|\"^D.C. al Fine\"e4|", "1 fine, 2 D.C. al Fine"),
        ("\"^Segno 2\"c4|d4\"^To Coda 2\"|\"^Coda\"e4|", "0 segno 2, 1 to coda 2, 2 coda"),
        ("+segno+c4|d4+D.S.+|", "0 segno, 1 D.S."),
    ] {
        let sheet = clean(text);
        let mut found = Vec::new();
        for (index, bar) in sheet.bars.iter().enumerate() {
            let crate::sheet::Road { segno, coda, to_coda, fine, jump } = &bar.road;
            for (name, label) in [("segno", segno), ("coda", coda), ("to coda", to_coda)] {
                found.extend(label.iter().map(|label| format!("{index} {name} {label}").trim().to_owned()));
            }
            found.extend(fine.then(|| format!("{index} fine")));
            found.extend(jump.iter().map(|jump| format!("{index} {jump}")));
        }
        assert_eq!(found.join(", "), expected, "{text}");
    }
    let played = clean("!segno!c4|d4!dacoda!|e4!D.S.alcoda!|!coda!f4|").as_played().unwrap();
    assert_eq!(played.bars, [0, 1, 2, 0, 1, 3]);
}
