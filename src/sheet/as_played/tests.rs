//! Small invented pages, and pages made of a structure whose order is known.
//!
//! A page is a text: a bar is `NAME` or `NAME.SYMBOL` or `NAME.SYMBOL.NOTES` (notes joined by `+`, ties as `~`; a bar has a
//! symbol at its start at most), between `|:`, `:|` (`:|+` also after a jump), `[NUMBERS` (an ending starts), `]` (it stops), `)`
//! (it stops open) and marks as in charts with `_` for blanks, such as `<dal_segno>`.

mod road;

use proptest::prelude::*;

use super::*;
use crate::chord::Key;
use crate::pitch::pitch;
use crate::sheet::chart::read_mark;
use crate::sheet::{
    Bar, Barline, Ending, EndingEdge, Metre, Note, PlacedChord, PlacedSymbol, Repeat, Road, TICKS_PER_QUARTER,
};

const BAR: u32 = 4 * TICKS_PER_QUARTER;

fn ending(numbers: &str, edge: EndingEdge) -> Option<Ending> {
    Some(Ending { numbers: numbers.into(), edge })
}

fn page(text: &str) -> LeadSheet {
    let mut sheet = LeadSheet {
        title: "Invented".into(),
        key: Key::C_MAJOR,
        tempo: Some(100),
        bars: vec![],
        notes: vec![],
        chords: vec![],
    };
    let (mut left, mut road) = (Barline::default(), Road::default());
    for word in text.split_whitespace() {
        if let Some(mark) = word.strip_prefix('<') {
            let mark = read_mark(&mark.trim_end_matches('>').replace('_', " ")).unwrap();
            let own = if mark.is_place() { &mut road } else { &mut sheet.bars.last_mut().unwrap().road };
            assert!(!own.add(mark));
            continue;
        }
        match (word, sheet.bars.last_mut()) {
            (":|+", Some(bar)) => {
                bar.right.repeat = Some(Repeat::Backward);
                bar.right.after_jump = true;
            }
            ("|:", _) => {
                left.repeat = Some(Repeat::Forward);
                left.style = Some("heavy-light".into());
            }
            (":|", Some(bar)) => {
                bar.right.repeat = Some(Repeat::Backward);
                bar.right.style = Some("light-heavy".into());
            }
            ("]", Some(bar)) => bar.right.ending = ending("1", EndingEdge::Stop),
            (")", Some(bar)) => bar.right.ending = ending("1", EndingEdge::Discontinue),
            _ => match word.strip_prefix('[') {
                Some(numbers) => left.ending = ending(&numbers.replace('_', " "), EndingEdge::Start),
                None => {
                    add_bar(&mut sheet, word, std::mem::take(&mut left));
                    sheet.bars.last_mut().unwrap().road = std::mem::take(&mut road);
                }
            },
        }
    }
    sheet
}

fn add_bar(sheet: &mut LeadSheet, word: &str, left: Barline) {
    let (start, bar) = (sheet.end(), sheet.bars.len());
    let mut parts = word.split('.');
    let number = parts.next().unwrap().to_owned();
    if let Some(symbol) = parts.next().filter(|symbol| !symbol.is_empty()) {
        let symbol = PlacedSymbol::Read(symbol.parse().unwrap());
        sheet.chords.push(PlacedChord { start, bar, symbol });
    }
    let notes: Vec<&str> = parts.next().unwrap_or("G4").split('+').collect();
    let duration = BAR / u32::try_from(notes.len()).unwrap();
    for (at, text) in (0..).zip(&notes) {
        sheet.notes.push(Note {
            start: start + at * duration,
            duration,
            pitch: Some(pitch(text.trim_matches('~'))),
            tied_from: text.starts_with('~'),
            tied_to: text.ends_with('~'),
            value: None,
        });
    }
    sheet.bars.push(Bar {
        number,
        implicit: false,
        start,
        length: BAR,
        metre: Metre::COMMON,
        key: Key::C_MAJOR,
        left,
        right: Barline::default(),
        road: Default::default(),
    });
}

fn played(text: &str) -> Played {
    let page = page(text);
    let played = page.as_played().unwrap();
    assert_sound(&page, &played);
    played
}

/// The names of the bars as played.
fn names(text: &str) -> String {
    played(text).sheet.bars.into_iter().map(|bar| bar.number).collect()
}

/// What must hold of every page and what is played of it.
fn assert_sound(page: &LeadSheet, played: &Played) {
    let sheet = &played.sheet;
    sheet.validate().unwrap();
    assert_eq!(sheet.bars.len(), played.bars.len());
    assert_eq!(sheet.chords.len(), played.chords.len());
    assert_eq!((&sheet.title, sheet.key, sheet.tempo), (&page.title, page.key, page.tempo));
    for (bar, index) in sheet.bars.iter().zip(&played.bars) {
        let written = &page.bars[*index];
        for (line, with_signs) in [(&bar.left, &written.left), (&bar.right, &written.right)] {
            assert!(line.repeat.is_none() && line.ending.is_none());
            assert!(with_signs.repeat.is_some() || line.style == with_signs.style);
        }
        let (left, right) = (bar.left.clone(), bar.right.clone());
        let road = Road::default();
        assert_eq!(*bar, Bar { start: bar.start, left, right, road, ..written.clone() });
        // The notes of the bar, ties at its edges apart; inside it they are as written.
        let notes = |sheet: &LeadSheet, bar: &Bar| -> Vec<_> {
            let inside = sheet.notes.iter().filter(|n| bar.start <= n.start && n.start < bar.end());
            let mut notes: Vec<_> =
                inside.map(|n| Note { start: n.start - bar.start, ..n.clone() }).collect();
            notes.first_mut().unwrap().tied_from = false;
            notes.last_mut().unwrap().tied_to = false;
            notes
        };
        assert_eq!(notes(sheet, bar), notes(page, written));
    }
    let mut repeated = 0;
    for (chord, index) in sheet.chords.iter().zip(&played.chords) {
        let written = &page.chords[*index];
        assert_eq!(chord.symbol, written.symbol);
        let into = chord.start - sheet.bars[chord.bar].start;
        if played.bars[chord.bar] == written.bar && into == written.start - page.bars[written.bar].start {
            continue;
        }
        // Said again at the start of a bar that is gone back to.
        repeated += 1;
        assert!(into == 0 && chord.bar > 0 && played.bars[chord.bar - 1] >= played.bars[chord.bar]);
    }
    let of_bar = |bar: &usize| page.chords.iter().filter(|chord| chord.bar == *bar).count();
    assert_eq!(sheet.chords.len(), repeated + played.bars.iter().map(of_bar).sum::<usize>());
    assert_eq!(sheet.progression().slots.len(), sheet.chords.len());
    // Played once more, nothing changes.
    let again = sheet.as_played().unwrap();
    assert_eq!(again.sheet, *sheet);
    assert!(again.findings.is_empty() && again.bars.iter().copied().eq(0..sheet.bars.len()));
}

#[test]
fn ok_repeats() {
    for (text, expected) in [
        ("A B C", "ABC"),
        ("|: A B :| C", "ABABC"),
        ("A |: B C :|", "ABCBC"),
        ("A B :| C", "ABABC"),
        ("A :| B", "AAB"),
        ("A :| B :|", "AABB"),
        ("|: A :| |: B :| C", "AABBC"),
        ("|: A :| B |: C :| D", "AABCCD"),
        ("|: A :| B C :| D", "AABCBCD"),
    ] {
        assert_eq!(names(text), expected, "{text}");
        assert_eq!(played(text).findings, [], "{text}");
    }
}

#[test]
fn ok_endings() {
    for (text, expected) in [
        ("|: A [1 B ] :| [2 C ] D", "ABACD"),
        ("A [1 B ] :| [2 C ] D", "ABACD"),
        ("|: A [1 B ] :| [2 C ) D", "ABACD"),
        ("|: A [1 B ] :| [2 C D", "ABACD"),
        ("|: A [1 B ] :| [2 C ] :| D", "ABACD"),
        ("|: A [1 B ] :| [2 C ] :| [3 D ] E", "ABACADE"),
        ("|: A [1,2 B ] :| [3 C ] D", "ABABACD"),
        ("|: A [1-2 B ] :| [3 C ] D", "ABABACD"),
        ("|: A [1,_3 B ] :| [2 C ] :| [4 D ] E", "ABACABADE"),
        ("|: A [1 B C ] :| [2 D E ] F", "ABCADEF"),
        ("|: [1 B ] :| [2 C ] D", "BCD"),
        // The bracket is shorter than the ending.
        ("|: A [1 B ] C :| [2 D ] E", "ABCADE"),
        ("|: A [1 B ] C D :| [2 E ] F :| [3 G ] H", "ABCDAEFAGH"),
        // A bracket that goes on in a new line.
        ("|: A [1 B ] [1 C ] :| [2 D ] E", "ABCADE"),
        // What follows the last ending is a section of its own.
        ("|: A [1 B ] :| [2 C ] D :| E", "ABACDDE"),
        ("A |: B [1 C ] :| [2 D ] |: E [1 F ] :| [2 G ] H", "ABCBDEFEGH"),
        ("|: A [1 B ] :| |: C [1 D ] :| [2 E ]", "ABACDCE"),
        // An ending alone.
        ("|: A [1 B ] :| C", "ABAC"),
        ("|: A [1,2 B ] :| C", "ABABAC"),
        ("|: A [1 B ] :|", "ABAB"),
        ("|: A [1,2,3 B ] :|", "ABABAB"),
    ] {
        assert_eq!(names(text), expected, "{text}");
        assert_eq!(played(text).findings, [], "{text}");
    }
}

#[test]
fn ok_broken_signs_are_understood_and_told() {
    for (text, expected, bar, message) in [
        ("A |: B C", "ABC", "B", "a forward repeat sign that no backward sign closes means nothing"),
        ("|: A |: B :| C :| D", "ABBCCD", "A", "a forward repeat sign that no backward"),
        ("A [1 B ] C", "ABC", "B", "an ending without a repeat sign is played like any other bar"),
        ("A [1 B ] C [2 D ] E", "ABCDE", "B", "an ending without a repeat sign"),
        ("|: A [1 B ] [2 C ] D", "ABACD", "B", "the ending `1` goes back without a repeat sign"),
        ("|: A [1 B ] :| [3 C ] D", "ABACD", "B", "of the endings `1`, `3` some numbers are missing"),
        ("|: A [2 B ] :| [2 C ] D", "ABACD", "B", "the numbers of the endings `2`, `2` say no order"),
        ("|: A [ B ] :| [ C ] D", "ABACD", "B", "the numbers of the endings ``, `` say no order"),
        ("|: A [2 B ] :| [1 C ] D", "ABACD", "B", "the numbers of the endings `2`, `1` say no order"),
        ("|: A [1,2 B ] :| [2 C ] D", "ABACD", "B", "the numbers of the endings"),
        ("|: A [2 B ] :| C", "ABAC", "B", "of the endings `2` some numbers are missing"),
    ] {
        assert_eq!(names(text), expected, "{text}");
        let first = &played(text).findings[0];
        assert!(first.bar == bar && first.message.starts_with(message), "{text}: {first}");
    }
    // A bracket that only stops says nothing.
    assert_eq!(names("A B ] C :| D"), "ABCABCD");
}

#[test]
fn ok_signs_at_the_wrong_side_of_a_barline() {
    let mut sheet = page("A B C D");
    sheet.bars[0].left.repeat = Some(Repeat::Backward);
    sheet.bars[0].right.repeat = Some(Repeat::Forward);
    sheet.bars[1].right.ending = ending("1", EndingEdge::Start);
    sheet.bars[3].left = Barline {
        repeat: Some(Repeat::Backward),
        ending: ending("1", EndingEdge::Stop),
        ..Barline::default()
    };
    sheet.bars[3].right.repeat = Some(Repeat::Forward);
    let played = sheet.as_played().unwrap();
    assert_eq!(played.bars, [0, 1, 2, 1, 3]);
    assert_sound(&sheet, &played);
}

#[test]
fn ok_styles_of_signs_go_and_others_stay() {
    let mut sheet = page("|: A [1 B ] :| [2 C ]");
    sheet.bars[2].right.style = Some("light-heavy".into());
    let bars = sheet.as_played().unwrap().sheet.bars;
    assert!(bars.iter().rev().skip(1).all(|bar| bar.right.style.is_none() && bar.left.style.is_none()));
    assert_eq!(bars[3].right.style.as_deref(), Some("light-heavy"));
}

/// The symbols as played with the bars they stand in, as `A.C7`.
fn symbols(text: &str) -> String {
    let sheet = played(text).sheet;
    let name = |chord: &PlacedChord| {
        format!("{}{}.{}", chord.bar, sheet.bars[chord.bar].number, chord.symbol.as_str())
    };
    itertools::join(sheet.chords.iter().map(name), " ")
}

#[test]
fn ok_chords_sound_on_across_seams() {
    for (text, expected) in [
        // Each place has its own symbol: nothing is added.
        ("|: A.C B.F :| C.G", "0A.C 1B.F 2A.C 3B.F 4C.G"),
        // Gone back to, the place sounds as it did the first time.
        ("A.C |: B C.F :| D", "0A.C 2C.F 3B.C 4C.F"),
        // The same symbol sounds already.
        ("A.C |: B C.F D.C :| E.G", "0A.C 2C.F 3D.C 5C.F 6D.C 7E.G"),
        ("|: A.C B :| C.G", "0A.C 2A.C 4C.G"),
        // Nothing was in force the first time: what sounds goes on.
        ("|: A B.F :| C.G", "1B.F 3B.F 4C.G"),
        // An ending is skipped: the chord of the section goes on, not that of the ending skipped.
        ("|: A.C B.G7 [1 C.F ] :| [2 D ] E.Am", "0A.C 1B.G7 2C.F 3A.C 4B.G7 6E.Am"),
        ("|: A.C [1 B.F ] :| C D.Am", "0A.C 1B.F 2A.C 4D.Am"),
        // Going back and skipping together.
        ("A.C |: B [1 C.F ] :| [2 D ] E.Am", "0A.C 2C.F 3B.C 5E.Am"),
        // The third time as the first.
        ("A.C |: B [1 C.F ] :| [2 D.G ] :| [3 E.Am ]", "0A.C 2C.F 3B.C 4D.G 5B.C 6E.Am"),
        ("A :| B", ""),
    ] {
        assert_eq!(symbols(text), expected, "{text}");
    }
    let played = played("A.C |: B C.F :| D");
    assert_eq!(played.chords, [0, 1, 0, 1]);
}

#[test]
fn ok_a_symbol_inside_a_bar_keeps_its_place_behind_the_one_said_again() {
    let mut sheet = page("A.C |: B.F :| C");
    sheet.chords[1].start += 2 * TICKS_PER_QUARTER;
    let played = sheet.as_played().unwrap();
    assert_sound(&sheet, &played);
    let found: Vec<_> = played.sheet.chords.iter().map(|c| (c.start, c.symbol.as_str())).collect();
    assert_eq!(found, [(0, "C"), (BAR * 3 / 2, "F"), (2 * BAR, "C"), (BAR * 5 / 2, "F")]);
    let slots = played.sheet.progression().slots;
    assert_eq!(slots[2].chord, slots[0].chord);
    assert_eq!(slots[2].melody, Some(pitch("G4")));
}

/// The notes as played, as `E5~`.
fn notes(text: &str) -> String {
    let sheet = played(text).sheet;
    let name = |note: &Note| {
        let mark = |tied| if tied { "~" } else { "" };
        format!("{}{}{}", mark(note.tied_from), note.pitch.unwrap(), mark(note.tied_to))
    };
    itertools::join(sheet.notes.iter().map(name), " ")
}

#[test]
fn ok_ties_across_seams() {
    for (text, expected) in [
        // Into both endings, the second with a half tie.
        ("|: A..C5+E5~ [1 B..~E5 ] :| [2 C..~E5 ]", "C5 E5~ ~E5 C5 E5~ ~E5"),
        // Into the second only.
        ("|: A..E5 [1 B..F5 ] :| [2 C..~E5 ]", "E5 F5 E5~ ~E5"),
        // Into the first only, where the second starts with another note, or with the same struck again.
        ("|: A..E5~ [1 B..~E5 ] :| [2 C..F5 ]", "E5~ ~E5 E5 F5"),
        ("|: A..E5~ [1 B..~E5 ] :| [2 C..E5 ]", "E5~ ~E5 E5 E5"),
        // Out of the repeat: held the last time, cut where it goes back to another note.
        ("|: A..C5+E5~ :| B..~E5", "C5 E5 C5 E5~ ~E5"),
        // Into the repeat: held the first time, and again where both sides say so.
        ("A..E5~ |: B..~E5+C5 :| C..G5", "E5~ ~E5 C5 E5 C5 G5"),
        ("A..E5~ |: B..~E5+E5~ :| C..G5", "E5~ ~E5 E5~ ~E5 E5 G5"),
        // A half tie at the sign finds the note that it goes back to.
        ("|: A..E5+C5+E5~ :| B..G5", "E5 C5 E5~ ~E5 C5 E5 G5"),
        // Another name is another pitch.
        ("|: A..D#5 [1 B..F5 ] :| [2 C..~Eb5 ]", "D#5 F5 D#5 Eb5"),
        // Nowhere: behind the end, in front of the start, to another note.
        ("|: A..~C5 [1,2 B..E5~ ] :|", "C5 E5 C5 E5"),
        ("A :| B..E5~ C..F5", "G4 G4 E5 F5"),
    ] {
        assert_eq!(notes(text), expected, "{text}");
    }
}

#[test]
fn ok_without_signs_nothing_changes() {
    let sheet = page("A.C.E5~ B.F.F5 C..~G5~");
    let played = sheet.as_played().unwrap();
    assert_eq!(played.sheet, sheet);
    assert_eq!((played.bars, played.chords), (vec![0, 1, 2], vec![0, 1]));
}

#[test]
fn err_too_many_bars() {
    for text in ["A [1-99999 B ] :| [100000 C ]", "A [1-4000000000 B ] :|", "[1-20001 A ] :|"] {
        let error = page(text).as_played().unwrap_err();
        assert!(error.is_limit() && error.to_string().contains("MOST_BARS_PLAYED"), "{error}");
    }
    assert_eq!(page("[1-20000 A ] :|").as_played().unwrap().bars.len(), MOST_BARS_PLAYED);
}

#[test]
fn err_more_ticks_than_a_time_holds() {
    let mut sheet = page("A :|");
    sheet.bars[0].length = 1 << 31;
    sheet.notes[0].duration = 1 << 31;
    let error = sheet.as_played().unwrap_err();
    assert!(error.is_limit() && error.to_string().contains("ticks"), "{error}");
}

#[test]
fn err_a_sheet_that_is_none() {
    let mut sheet = page("A :| B");
    sheet.notes.pop();
    assert!(sheet.as_played().unwrap_err().is_sheet());
    assert!(page("").as_played().unwrap_err().is_sheet());
}

/// Every row of three bars with any signs between them, brackets included: all are played, each bar at least once.
#[test]
fn all_signs_on_three_bars() {
    let between = |index: usize| {
        let (backward, stop) = ([" ", " :| "][index % 2], ["", " ] "][index / 2 % 2]);
        let (start, forward) = (["", " [1 ", " [2 ", " [1,2 "][index / 4 % 4], ["", " |: "][index / 16]);
        [stop, backward, start, forward].concat()
    };
    let mut count = 0;
    for (first, second) in itertools::iproduct!(0..32, 0..32) {
        for (front, end) in itertools::iproduct!([0, 4, 16], [0, 1, 2, 3]) {
            let text =
                format!("{} A {} B {} C {}", between(front), between(first), between(second), between(end));
            let found = names(&text);
            assert!("ABC".chars().all(|bar| found.contains(bar)), "{text}: {found}");
            assert!(found.len() <= 12, "{text}: {found}");
            count += 1;
        }
    }
    assert_eq!(count, 32 * 32 * 12);
}

/// A part of a page whose order is known by construction.
#[derive(Clone, Debug)]
enum Part {
    Plain(usize),
    Repeated(usize),
    /// A section and, for each ending, its bars and how often it is played.
    Endings(usize, Vec<(usize, usize)>, bool),
}

fn part() -> impl Strategy<Value = Part> {
    let endings = (1usize..4, proptest::collection::vec((1usize..4, 1usize..4), 2..5), any::<bool>());
    prop_oneof![
        (1usize..4).prop_map(Part::Plain),
        (1usize..4).prop_map(Part::Repeated),
        endings.prop_map(|(section, mut endings, in_turns)| {
            endings.last_mut().unwrap().1 = 1;
            Part::Endings(section, endings, in_turns)
        }),
    ]
}

/// The page of some parts, and the order in which its bars are played.
fn written(parts: &[Part]) -> (String, Vec<usize>) {
    let (mut text, mut order, mut bars) = (String::new(), Vec::new(), 0);
    let mut add = |text: &mut String, count: usize| {
        let range = bars..bars + count;
        text.extend(range.clone().map(|bar| format!(" n{bar}")));
        bars += count;
        range
    };
    for part in parts {
        match part {
            Part::Plain(count) => order.extend(add(&mut text, *count)),
            Part::Repeated(count) => {
                text.push_str(" |:");
                let range = add(&mut text, *count);
                text.push_str(" :|");
                order.extend(range.clone().chain(range));
            }
            Part::Endings(count, endings, in_turns) => {
                // Which ending in which pass: each so often in a row, or taking turns, the last one last.
                let (others, last) = (&endings[..endings.len() - 1], endings.len() - 1);
                let mut turns = Vec::new();
                if *in_turns {
                    for round in 0..3 {
                        turns.extend((0..last).filter(|index| others[*index].1 > round));
                    }
                } else {
                    turns.extend((0..last).flat_map(|index| vec![index; others[index].1]));
                }
                turns.push(last);
                text.push_str(" |:");
                let section = add(&mut text, *count);
                let mut ranges = Vec::new();
                for (index, (count, _)) in endings.iter().enumerate() {
                    let numbers = (1..).zip(&turns).filter(|(_, turn)| **turn == index).map(|(pass, _)| pass);
                    text.push_str(&format!(" [{}", itertools::join(numbers, ",")));
                    ranges.push(add(&mut text, *count));
                    text.push_str(if index == last { " ]" } else { " ] :|" });
                }
                for turn in turns {
                    order.extend(section.clone().chain(ranges[turn].clone()));
                }
            }
        }
    }
    (text, order)
}

proptest! {
    /// A page made of parts is played as its parts are.
    #[test]
    fn prop_pages_of_a_known_structure(parts in proptest::collection::vec(part(), 1..6)) {
        let (text, order) = written(&parts);
        let found = played(&text);
        prop_assert_eq!(&found.bars, &order, "{}", text);
        prop_assert_eq!(&found.findings, &[], "{}", text);
    }

    /// Whatever the signs are: every bar of the page is played, or the limit is named.
    #[test]
    fn prop_any_signs(words in proptest::collection::vec(proptest::sample::select(
        &["A.C.E5~", "A..~E5", "A.F", "A..E5+~E5~", "|:", ":|", "[1", "[2", "[1,2", "[1,_3", "[3-40", "[", "[2-", "]", ")"][..]
    ), 1..40)) {
        let text = format!("A {}", words.join(" "));
        let page = page(&text);
        match page.as_played() {
            Ok(played) => {
                assert_sound(&page, &played);
                prop_assert!((0..page.bars.len()).all(|bar| played.bars.contains(&bar)), "{}", text);
            }
            Err(error) => prop_assert!(error.is_limit(), "{}", error),
        }
    }
}
