//! Keys, names and symbols over their whole domains.

use itertools::iproduct;

use super::*;
use crate::chord::{Chord, ChordSymbol, Key, Mode, chord};
use crate::pitch::{PitchClass, note, pitch};
use crate::sheet::{Barline, Metre, PlacedChord, PlacedSymbol};

/// One bar for each key, with one note and one symbol each.
fn sheet(bars: &[(&str, &str, &str)]) -> LeadSheet {
    let ticks = Metre::COMMON.bar_ticks();
    let mut sheet = LeadSheet {
        title: "Tin Weathercock".into(),
        key: bars[0].0.parse().unwrap(),
        tempo: Some(90),
        bars: vec![],
        notes: vec![],
        chords: vec![],
    };
    for (at, (key, symbol, top)) in bars.iter().enumerate() {
        let start = u32::try_from(at).unwrap() * ticks;
        sheet.bars.push(Bar {
            number: (at + 1).to_string(),
            implicit: false,
            start,
            length: ticks,
            metre: Metre::COMMON,
            key: key.parse().unwrap(),
            left: Barline::default(),
            right: Barline::default(),
            road: Default::default(),
        });
        sheet.notes.push(Note {
            start,
            duration: ticks,
            pitch: Some(pitch(top)),
            tied_from: false,
            tied_to: false,
            value: None,
        });
        let symbol = PlacedSymbol::Read(symbol.parse().unwrap());
        sheet.chords.push(PlacedChord { start, bar: at, symbol });
    }
    sheet.validate().unwrap();
    sheet
}

/// Keys, symbols and notes as one line.
fn line(sheet: &LeadSheet) -> String {
    let bars = sheet.bars.iter().zip(&sheet.chords).zip(&sheet.notes);
    itertools::join(
        bars.map(|((bar, placed), note)| {
            format!("{} {} {}", bar.key, placed.symbol.as_str(), note.pitch.unwrap())
        }),
        ", ",
    )
}

fn keys() -> impl Iterator<Item = Key> + Clone {
    iproduct!(-7i8..=7, [Mode::Major, Mode::Minor]).map(|(s, mode)| Key::from_signature(s, mode).unwrap())
}

fn intervals() -> impl Iterator<Item = Interval> + Clone {
    iproduct!(1u8..=8, -3i8..=2).filter_map(|(number, alteration)| Interval::new(number, alteration).ok())
}

#[test]
fn ok_a_tune_with_a_key_of_its_own_inside() {
    let tune = sheet(&[
        ("C", "C6/9", "E5"),
        ("Ab", "Eb7(b9)/G", "Fb5"),
        ("Am", "E7/G#", "G#4"),
        ("C", "N.C.", "B4"),
    ]);
    let to = |tonic: &str| line(&tune.transposed(note(tonic)).unwrap());
    assert_eq!(to("C"), line(&tune));
    assert_eq!(to("Eb"), "Eb Eb6/9 G5, B F#7(b9)/A# G5, Cm G7/B B4, Eb N.C. D5");
    assert_eq!(to("Db"), "Db Db6/9 F5, A E7(b9)/G# F5, Bbm F7/A A4, Db N.C. C5");
    // The leading note of a minor key keeps its two sharps.
    assert_eq!(to("B"), "B B6/9 D#5, G D7(b9)/F# Eb5, G#m D#7/F## F##4, B N.C. A#4");
    assert_eq!(to("Gb"), "Gb Gb6/9 Bb5, D A7(b9)/C# Bb5, Ebm Bb7/D D5, Gb N.C. F5");
    assert_eq!(to("F#"), "F# F#6/9 A#5, D A7(b9)/C# Bb5, D#m A#7/C## C##5, F# N.C. E#5");
}

#[test]
fn ok_symbols_keep_how_they_are_written() {
    for (symbol, to, expected) in [
        ("C△7", "Eb", "Eb△7"),
        ("D|C7", "Ab", "Bb|Ab7"),
        ("(G7/B)", "Db", "(Ab7/C)"),
        ("C♯m over E♭", "D", "D♯m over F"),
        ("C7/b9", "F", "F7/b9"),
        ("A-7", "Eb", "C-7"),
        ("Ab7/C", "Gb", "D7/F#"), // not E double flat
        ("G(b5)", "E", "B(b5)"),
        ("N.C.", "E", "N.C."),
    ] {
        let tune = sheet(&[("C", symbol, "C5")]).transposed(note(to)).unwrap();
        assert_eq!(tune.chords[0].symbol.as_str(), expected, "{symbol} to {to}");
    }
    // `F#b5` with another root would read as a power chord on a flat.
    let tune = sheet(&[("C", "F#b5", "C5")]).transposed(note("Eb")).unwrap();
    assert_eq!(tune.chords[0].symbol.chord(), Some(chord("A(b5)")));
    let tune = sheet(&[("C", "F#b5", "C5")]).transposed(note("Ab")).unwrap();
    assert_eq!(tune.chords[0].symbol.chord(), Some(chord("D(b5)")));
}

#[test]
fn ok_what_could_not_be_read_moves_by_its_root() {
    let mut tune = sheet(&[("C", "C", "C5"), ("C", "C", "C5"), ("C", "C", "C5")]);
    for (at, root, text) in [(0, Some(note("Bb")), "BbTristan"), (1, None, "IV"), (2, Some(note("C")), "Do")]
    {
        tune.chords[at].symbol = PlacedSymbol::Unread { root, text: text.into() };
    }
    let moved = tune.transposed(note("D")).unwrap();
    let found: Vec<&str> = moved.chords.iter().map(|chord| chord.symbol.as_str()).collect();
    assert_eq!(found, ["CTristan", "IV", "Do"]);
    assert!(
        matches!(moved.chords[2].symbol, PlacedSymbol::Unread { root: Some(root), .. } if root == note("D"))
    );
}

#[test]
fn ok_octaves_stay_readable_unless_asked() {
    let high = sheet(&[("C", "C", "D6")]);
    assert_eq!(high.transposed(note("F")).unwrap().notes[0].pitch, Some(pitch("G5")));
    assert_eq!(high.transposed(note("Eb")).unwrap().notes[0].pitch, Some(pitch("F5")));
    assert_eq!(high.transposed(Interval::new(4, 0).unwrap()).unwrap().notes[0].pitch, Some(pitch("G6")));
    let exact = Transposition::to(note("F")).with_octaves(0);
    assert_eq!(high.transposed(exact).unwrap().notes[0].pitch, Some(pitch("G6")));
    let low = sheet(&[("C", "C", "A3")]);
    assert_eq!(low.transposed(note("G")).unwrap().notes[0].pitch, Some(pitch("E4")));
    // What is written for a low voice stays there.
    let bass = sheet(&[("C", "C", "C2")]);
    assert_eq!(bass.transposed(note("D")).unwrap().notes[0].pitch, Some(pitch("D2")));
}

#[test]
fn ok_ties_keep_the_name() {
    let mut tune = sheet(&[("C", "C", "E5"), ("Ab", "C", "E5")]);
    let names = |tune: &LeadSheet| {
        let moved = tune.transposed(note("Eb")).unwrap();
        moved.notes.iter().map(|note| note.pitch.unwrap().to_string()).collect::<Vec<_>>()
    };
    assert_eq!(names(&tune), ["G5", "G5"]);
    tune.notes[0].pitch = Some(pitch("Gb5"));
    tune.notes[1].pitch = Some(pitch("Gb5"));
    assert_eq!(names(&tune), ["A5", "A5"]);
    tune.notes[0].pitch = Some(pitch("Eb5"));
    tune.notes[1].pitch = Some(pitch("Eb5"));
    assert_eq!(names(&tune), ["Gb5", "F#5"]);
    tune.notes[0].tied_to = true;
    tune.notes[1].tied_from = true;
    assert_eq!(names(&tune), ["Gb5", "Gb5"]);
}

#[test]
fn err_out_of_midi() {
    let tune = sheet(&[("C", "C", "C5"), ("C", "C", "F9")]);
    let error = tune.transposed(Interval::new(5, 0).unwrap()).unwrap_err();
    assert!(error.is_range());
    insta::assert_snapshot!(error.report(), @"
    error: bar 2, beat 1: the melody note `F9` moved by 7 semitones is out of range, expected MIDI number 0 to 127
    help: move the tune the other way, or by an octave less
    ");
    let down = Transposition::down(Interval::new(22, 0).unwrap()).with_octaves(-4);
    assert!(tune.transposed(down).unwrap_err().to_string().starts_with("bar 1, beat 1: "));
    assert!(tune.transposed(Transposition::to(note("C")).with_octaves(i8::MAX)).unwrap_err().is_range());
}

/// Every key by every interval up to an octave, up and down: signatures exist, of the keys that sound alike the one with the fewest
/// accidentals, and the tonic is the interval away. Back again: the first key, or the one that is written for it.
#[test]
fn all_keys_by_all_intervals() {
    for (key, by, six, up) in iproduct!(keys(), intervals(), [Six::Flats, Six::Sharps], [true, false]) {
        let how = |up: bool| if up { Transposition::up(by) } else { Transposition::down(by) }.with_six(six);
        let moved = Keys::new(key, how(up)).of(key);
        let semitones = i32::from(by.semitones()) * if up { 1 } else { -1 };
        assert_eq!(moved.tonic().pitch_class(), key.tonic().pitch_class().up(semitones), "{key} {by}");
        assert_eq!(moved.mode(), key.mode());
        if by.fifths() == 0 {
            assert_eq!(moved, key);
        } else {
            let wanted = if six == Six::Flats { -6 } else { 6 };
            assert!(moved.signature().abs() < 6 || moved.signature() == wanted, "{key} {by}: {moved}");
        }
        let back = Keys::new(moved, how(!up)).of(moved);
        assert_eq!(back.tonic().pitch_class(), key.tonic().pitch_class());
        assert!(back == key || key.signature().abs() >= 6, "{key} {by} {moved} {back}");
    }
}

/// To every tonic there is, from every key: as it is named where its key has a signature, else its twin.
#[test]
fn all_keys_to_all_tonics() {
    for (key, tonic) in iproduct!(keys(), NoteName::all()) {
        let moved = Keys::new(key, tonic.into()).of(key);
        assert_eq!(moved.tonic().pitch_class(), tonic.pitch_class());
        let named = Key::new(tonic, key.mode());
        if named.signature().abs() <= 7 {
            assert_eq!(moved, named);
        } else {
            assert!(moved.signature().abs() <= 6, "{key} to {tonic}: {moved}");
        }
        // The nearest way.
        assert!((-5..=6).contains(&Transposition::to(tonic).semitones(key.tonic())));
    }
}

/// Keys inside a tune: they exist, and are as far from each other in sound as before.
#[test]
fn all_keys_inside_all_tunes_move_along() {
    for (home, inside, tonic) in iproduct!(keys(), keys(), NoteName::all()) {
        let moved = Keys::new(home, tonic.into());
        let (first, second) = (moved.of(home), moved.of(inside));
        assert!(first.signature().abs() <= 7 && second.signature().abs() <= 7);
        assert_eq!(first.semitones_to(second.tonic()), home.semitones_to(inside.tonic()));
        assert_eq!(second.mode(), inside.mode());
    }
}

/// Every name by every way that a key can go, into every key: the right key of the keyboard, and two accidentals only where
/// the key asks for them.
#[test]
fn all_names_are_sanely_spelled() {
    for (name, shift, key) in iproduct!(NoteName::all(), -26i16..=26, keys()) {
        let class = PitchClass::wrapping(7 * (i32::from(name.fifths()) + i32::from(shift)));
        let (melody, root) = (spelling::note(name, shift, key), spelling::root(name, shift));
        assert_eq!((melody.pitch_class(), root.pitch_class()), (class, class));
        if shift != 0 {
            let double = |name: NoteName| name.accidental().semitones().abs() > 1;
            assert!(!double(root));
            assert!(!double(melody) || spelling::asks(key, melody));
            // Nothing is respelled without need.
            let plain = i8::try_from(i16::from(name.fifths()) + shift).ok().and_then(NoteName::from_fifths);
            if let Some(plain) = plain.filter(|plain| !double(*plain)) {
                assert_eq!((melody, root), (plain, plain));
            }
        } else {
            assert_eq!((melody, root), (name, name));
        }
    }
}

/// Every chord that can be said, by every way: the quality stays, every tone moves alike.
#[test]
fn all_chords_move() {
    let bass = note("E");
    for (at, old) in Chord::all_on(NoteName::C).enumerate() {
        let shift = i16::try_from(at % 23).unwrap() - 11;
        for old in [old, old.with_bass(bass)] {
            let symbol = PlacedSymbol::Read(ChordSymbol::of_chord(old));
            let moved = symbol::moved(&symbol, shift, Key::C_MAJOR).chord().unwrap();
            let by = i32::from(shift) * 7;
            let up = |set: crate::pitch::PitchSet| {
                set.iter().map(|c| c.up(by)).collect::<crate::pitch::PitchSet>()
            };
            assert_eq!(moved.pitch_set(), up(old.pitch_set()), "{old} {shift}");
            assert_eq!((moved.quality(), moved.tensions()), (old.quality(), old.tensions()), "{old} {shift}");
            assert_eq!(
                moved.bass().map(NoteName::pitch_class),
                old.bass().map(|bass| bass.pitch_class().up(by)),
                "{old} {shift} {moved}"
            );
        }
    }
}
