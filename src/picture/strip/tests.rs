use std::sync::Arc;

use super::*;
use crate::chord::chord;
use crate::picture::check;
use crate::rules::RuleSet;
use crate::search::{ArrangedChord, Progression, arrange};

fn arranged(key: &str, chords: &[(&str, &str)]) -> Arrangement {
    let progression = Progression::from_symbols(key, chords.iter().copied()).unwrap();
    arrange(&progression, RuleSet::standard(), Default::default()).unwrap()
}

/// Notes by hand, key and name.
fn sounding(chord: &ArrangedChord) -> Vec<(String, u8, Vec<String>)> {
    let noted = |hand: &str, pitch: &Pitch| (hand.to_owned(), pitch.midi(), vec![pitch.to_string()]);
    let mut notes: Vec<_> = chord
        .voicing
        .iter()
        .flat_map(|voicing| {
            let left = voicing.left().pitches().to_vec().into_iter().map(|pitch| noted("left", &pitch));
            left.chain(voicing.right().pitches().to_vec().into_iter().map(|pitch| noted("right", &pitch)))
        })
        .collect();
    if let Some(melody) = chord.melody.filter(|melody| notes.iter().all(|(_, key, _)| *key != melody.midi()))
    {
        notes.push(noted("right", &melody));
    }
    notes
}

/// Everything that a strip promises.
fn hold(arrangement: &Arrangement, options: &StripOptions) -> String {
    let svg = strip(arrangement, options);
    let elements = check::laws(&svg);
    let expected: Vec<_> = arrangement.chords.iter().flat_map(|chord| sounding(chord)).collect();
    assert_eq!(check::notes(&elements), expected);
    // Higher notes lie higher within a row; every note has the shape of its hand.
    for (at, group) in elements.iter().enumerate().filter(|(_, element)| element.get("data-key").is_some()) {
        let shape = elements.iter().find(|e| e.name == "rect" && e.within.contains(&at)).unwrap();
        assert_eq!(shape.get("rx") == Some("0"), group.get("data-hand") == Some("left"));
    }
    assert_eq!(svg, strip(arrangement, options));
    let symbols: usize = options.symbols.iter().map(String::len).sum();
    let heading = options.heading.len();
    assert!(
        svg.len() <= 4_000 + 12 * heading + 12 * symbols + 6_000 * arrangement.chords.len(),
        "{}",
        svg.len()
    );
    svg
}

const HOME: [(&str, &str); 5] = [("Dm7", "F4"), ("G7", "E4"), ("Em7", "G4"), ("A7", "F4"), ("Dm7", "A4")];

#[test]
fn ok_tunes_of_any_length_and_width() {
    for times in [1, 2, 9] {
        let arrangement = arranged("C", &HOME.repeat(times));
        for width in [40, 60, 180, 400, 1_000] {
            hold(
                &arrangement,
                &StripOptions { width: Width::new(width).unwrap(), ..StripOptions::default() },
            );
        }
    }
}

#[test]
fn ok_nothing_to_show() {
    let nothing = Arrangement { chords: vec![], octave_shift: 0, cost: 0 };
    for width in [40, 180] {
        let options = StripOptions {
            width: Width::new(width).unwrap(),
            heading: "Nine <lamps>".into(),
            symbols: vec![],
        };
        assert!(hold(&nothing, &options).contains("no chords"));
        let silent = Arrangement { chords: vec![Arc::default(); 3], octave_shift: 0, cost: 0 };
        let svg = hold(&silent, &options);
        assert!(svg.contains("1, –: nothing. 1, –: nothing."), "{svg}");
    }
}

/// Chords that an arranger does not make: a melody apart from the hands, hands that are empty, hands at the ends of MIDI.
#[test]
fn ok_odd_chords() {
    let made = |voicing: Option<&str>, melody: Option<&str>| ArrangedChord {
        chord: Some(chord("C7")),
        voicing: voicing.map(|text| text.parse().unwrap()),
        melody: melody.map(|text| text.parse().unwrap()),
        ..ArrangedChord::default()
    };
    let chords = vec![
        made(Some("C3 E3 Bb3 | F#4 A4 D5"), Some("D5")),
        made(Some(" | "), None),
        made(None, Some("G4")),
        made(Some("C-1 C#-1 D-1 D#-1 E-1 | D#9 E9 F9 F#9 G9"), Some("F9")),
        made(Some("C3 | "), Some("C3")),
        made(Some(" | C8"), Some("B#7")),
        made(Some("Ebb3 Fbb3 | Bbb4"), Some("Abb5")),
    ];
    let chords = chords.into_iter().map(Arc::new).collect();
    let arrangement = Arrangement { chords, octave_shift: 0, cost: 0 };
    for width in [40, 60, 180] {
        hold(&arrangement, &StripOptions { width: Width::new(width).unwrap(), ..StripOptions::default() });
    }
}

/// A line for every voice that goes on, wherever the row ends.
#[test]
fn ok_lines_join_what_goes_on() {
    let arrangement = arranged("C", &HOME.repeat(3));
    let columns: Vec<Column> = arrangement.chords.iter().map(|chord| Column::new(chord, &[])).collect();
    let voices: Vec<usize> = columns.windows(2).map(|pair| pair[0].voices_to(&pair[1]).len()).collect();
    for width in [40, 70, 180, 1_000] {
        let width = Width::new(width).unwrap();
        let room = i64::from(width.millimetres()) * 100 - AXIS - 2 * MARGIN;
        let seams: usize = rows(&columns, room).iter().skip(1).map(|row| voices[row.start - 1]).sum();
        let svg = strip(&arrangement, &StripOptions { width, ..StripOptions::default() });
        let elements = check::laws(&svg);
        let lines = elements.iter().filter(|e| e.name == "line" && e.get("stroke") != Some(FAINT)).count();
        // Three lines stand in the legend; at a seam a voice is drawn on both sides.
        assert_eq!(lines, 3 + voices.iter().sum::<usize>() + seams, "{width}");
    }
    // Each chord has its melody, and a melody goes to a melody.
    for pair in columns.windows(2) {
        let melodies: Vec<_> =
            pair[0].voices_to(&pair[1]).into_iter().filter(|(part, ..)| *part == Part::Melody).collect();
        assert_eq!(melodies.len(), 1);
        assert_eq!(Some(melodies[0].1), pair[0].of(Part::Melody).next());
    }
}

#[test]
fn ok_symbols_stand_as_written() {
    let arrangement = arranged("C", &HOME);
    let symbols = vec![
        "D-7".to_owned(),
        "<G&7>\"".to_owned(),
        String::new(),
        "a chord symbol of more words than there is room for".into(),
    ];
    let options = StripOptions { symbols, ..StripOptions::default() };
    let elements = check::parse(&hold(&arrangement, &options));
    let written: Vec<&str> = elements
        .iter()
        .filter(|e| e.name == "text" && e.get("font-size") == Some("282"))
        .map(|e| e.text.as_str())
        .collect();
    assert_eq!(written, ["D-7", "<G&7>\"", "Em7", "a chord symbol…", "Dm7"]);
    let mut instead = arrangement.clone();
    Arc::make_mut(&mut instead.chords[0]).played_as = Some("subV".parse().unwrap());
    assert!(strip(&instead, &options).contains(">Dm7</text>"));
}

/// Twice as long a tune, twice as long a picture, about.
#[test]
fn ok_size_is_linear() {
    let once = arranged("C", &HOME);
    let size = |times: usize| {
        let chords = once.chords.iter().cycle().take(once.chords.len() * times).cloned().collect();
        strip(&Arrangement { chords, ..once.clone() }, &StripOptions::default()).len()
    };
    let (first, second, third) = (size(10), size(20), size(30));
    let (one, two) = (second - first, third - second);
    assert!(one.abs_diff(two) < one / 20, "{first} {second} {third}");
}

/// A tune as written, its symbols under it.
#[cfg(feature = "sheet")]
#[test]
fn ok_the_demo_tune() {
    use crate::sheet::{ReadOptions, read};
    let text = include_bytes!("../../../examples/tunes/nine-lamps.musicxml");
    let sheet = read(text, &ReadOptions::default()).unwrap().sheet;
    let arrangement = arrange(&sheet.progression(), RuleSet::standard(), Default::default()).unwrap();
    let symbols: Vec<String> = sheet.chords.iter().map(|chord| chord.symbol.as_str().to_owned()).collect();
    let options = StripOptions { heading: sheet.title, symbols: symbols.clone(), ..StripOptions::default() };
    let elements = check::parse(&hold(&arrangement, &options));
    let written = elements.iter().filter(|e| e.name == "text" && e.get("font-size") == Some("282"));
    assert!(written.map(|e| e.text.as_str()).eq(symbols.iter().map(String::as_str)));
}
