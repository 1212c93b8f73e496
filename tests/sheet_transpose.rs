//! Laws of transposing, over random sheets.

#![cfg(feature = "sheet")]
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    reason = "a test fails by panicking, also in its helpers"
)]

#[path = "sheet_common/generate.rs"]
mod generate;

use itertools::Itertools;
use overshell::chord::{Chord, Degree, Key};
use overshell::pitch::{Interval, NoteName, Pitch, PitchClass};
use overshell::sheet::{KeyOrder, LeadSheet, ReadOptions, Six, Transposition};
use proptest::prelude::*;

fn interval() -> impl Strategy<Value = Interval> {
    (1u8..=8, -3i8..=2)
        .prop_filter_map("no interval", |(number, alteration)| Interval::new(number, alteration).ok())
}

fn six() -> impl Strategy<Value = Six> {
    prop_oneof![Just(Six::Flats), Just(Six::Sharps)]
}

/// What is heard: keys of the melody, and the keys that each symbol asks for, its bass apart.
fn heard(sheet: &LeadSheet) -> (Vec<Option<u8>>, Vec<Vec<u8>>) {
    let melody = sheet.notes.iter().map(|note| note.pitch.map(|pitch| pitch.midi())).collect();
    (melody, (0..sheet.chords.len()).map(|at| classes(sheet, at, 0)).collect())
}

/// The pitch classes of a symbol moved up, and its bass as the last one.
fn classes(sheet: &LeadSheet, at: usize, up: i32) -> Vec<u8> {
    let Some(chord) = sheet.chords[at].symbol.chord() else { return vec![] };
    let bass = chord.bass().unwrap_or(chord.root());
    let mut classes: Vec<u8> = chord.pitch_set().iter().map(|class| class.up(up).get()).sorted().collect();
    classes.push(bass.pitch_class().up(up).get());
    classes
}

/// What each note is over the chord that sounds when it starts.
fn degrees(sheet: &LeadSheet) -> Vec<Option<Degree>> {
    let of = |start: u32| {
        let behind = sheet.chords.partition_point(|chord| chord.start <= start);
        sheet.chords[..behind].last().and_then(|placed| placed.symbol.chord())
    };
    sheet.notes.iter().map(|note| Some(of(note.start)?.degree_of(note.pitch?.pitch_class()))).collect()
}

/// By how many places each name of the melody went along the line of fifths.
fn ways(from: &LeadSheet, to: &LeadSheet) -> Vec<i16> {
    let names = |sheet: &LeadSheet| -> Vec<NoteName> {
        let melody = sheet.notes.iter().filter_map(|note| note.pitch).map(|pitch| pitch.name());
        let chords = sheet.chords.iter().filter_map(|placed| placed.symbol.chord());
        melody.chain(chords.flat_map(|chord| [chord.root(), chord.bass().unwrap_or(chord.root())])).collect()
    };
    let ways = names(from).into_iter().zip(names(to));
    ways.map(|(from, to)| i16::from(to.fifths()) - i16::from(from.fifths())).collect()
}

/// Names of notes, chords and keys.
fn spelled(sheet: &LeadSheet) -> (Vec<Option<Pitch>>, Vec<Option<Chord>>, Vec<Key>) {
    let melody = sheet.notes.iter().map(|note| note.pitch).collect();
    let chords = sheet.chords.iter().map(|placed| placed.symbol.chord()).collect();
    (melody, chords, sheet.bars.iter().map(|bar| bar.key).chain([sheet.key]).collect())
}

/// The tunes of the examples by every simple interval and back are what they were to the last sign: they need no name with two
/// accidentals in any key but a few.
#[test]
fn ok_tunes_come_back_as_they_were_written() {
    for path in ["examples/tunes/nine-lamps.musicxml", "examples/tunes/pier-seven.abc"] {
        let tune = overshell::sheet::read_file(path, &ReadOptions::default()).unwrap().sheet;
        let mut back = 0;
        for by in ["m2", "M2", "m3", "M3", "P4", "A4", "d5", "P5", "m6", "M6", "m7", "M7"] {
            let by: Interval = by.parse().unwrap();
            let moved = tune.transposed(Transposition::up(by)).unwrap();
            let again = moved.transposed(Transposition::down(by)).unwrap();
            assert_eq!(heard(&again), heard(&tune));
            assert_eq!(again.key, tune.key);
            back += usize::from(again == tune);
        }
        assert!(back >= 8, "{path}: {back}");
        assert_eq!(tune.transposed(tune.key.tonic()).unwrap(), tune);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    /// Up or down and back is what it was: in sound always; in spelling where every name and key went the same way.
    #[test]
    fn prop_there_and_back(sheet in generate::sheet(), by in interval(), six in six(), up in any::<bool>()) {
        let how = |up: bool| if up { Transposition::up(by) } else { Transposition::down(by) }.with_six(six);
        let Ok(moved) = sheet.transposed(how(up)) else {
            // Only the ends of MIDI are in the way.
            let semitones = i16::from(by.semitones()) * if up { 1 } else { -1 };
            let mut keys = sheet.notes.iter().filter_map(|note| note.pitch).map(|p| i16::from(p.midi()) + semitones);
            prop_assert!(keys.any(|key| !(0..=127).contains(&key)));
            return Ok(());
        };
        moved.validate().unwrap();
        let back = moved.transposed(how(!up)).unwrap();
        prop_assert_eq!(heard(&back), heard(&sheet));
        let same_way = |from: &LeadSheet, to: &LeadSheet| {
            let keys = from.bars.iter().zip(&to.bars).map(|(from, to)| {
                i16::from(to.key.signature()) - i16::from(from.key.signature())
            });
            keys.chain(ways(from, to)).all_equal_value().ok()
        };
        if let (Some(there), Some(again)) = (same_way(&sheet, &moved), same_way(&moved, &back))
            && there == -again
        {
            prop_assert_eq!(spelled(&back), spelled(&sheet));
        }
    }

    /// Everything moves by the interval, and is over its chord what it was; nothing else changes.
    #[test]
    fn prop_everything_moves_alike(sheet in generate::sheet(), by in interval(), six in six()) {
        let Ok(moved) = sheet.transposed(Transposition::up(by).with_six(six)) else { return Ok(()) };
        let semitones = i32::from(by.semitones());
        for (old, new) in sheet.notes.iter().zip(&moved.notes) {
            let up = old.pitch.map(|pitch| i32::from(pitch.midi()) + semitones);
            prop_assert_eq!(up, new.pitch.map(|pitch| i32::from(pitch.midi())));
            prop_assert_eq!((old.start, old.duration, old.value, old.tied_from, old.tied_to), (new.start, new.duration, new.value, new.tied_from, new.tied_to));
        }
        for at in 0..sheet.chords.len() {
            prop_assert_eq!(classes(&sheet, at, semitones), classes(&moved, at, 0), "{} {}", sheet.chords[at].symbol.as_str(), moved.chords[at].symbol.as_str());
        }
        prop_assert_eq!(degrees(&sheet), degrees(&moved));
        for (old, new) in sheet.bars.iter().zip(&moved.bars) {
            prop_assert_eq!(old.key.tonic().pitch_class().up(semitones), new.key.tonic().pitch_class());
            prop_assert!(new.key.signature().abs() <= 7);
            let same = overshell::sheet::Bar { key: old.key, ..new.clone() };
            prop_assert_eq!(&same, old);
        }
    }

    /// In every order of keys, from the key of the tune: twelve tunes, each in the key that was asked for, near the first.
    #[test]
    fn prop_all_twelve_keys(sheet in generate::sheet(), seed in any::<u64>()) {
        // Both ends of MIDI left alone, so that every way is open.
        prop_assume!(sheet.notes.iter().filter_map(|note| note.pitch).all(|pitch| (12..=108).contains(&pitch.midi())));
        for order in [KeyOrder::Fourths, KeyOrder::Fifths, KeyOrder::Chromatic, KeyOrder::Shuffled(seed)] {
            for key in order.keys(sheet.key, Six::Flats) {
                let moved = sheet.transposed(key.tonic()).unwrap();
                prop_assert_eq!(moved.key, key);
                moved.validate().unwrap();
                let by: Vec<i32> = sheet.notes.iter().zip(&moved.notes).filter_map(|(old, new)| {
                    Some(i32::from(new.pitch?.midi()) - i32::from(old.pitch?.midi()))
                }).collect();
                prop_assert!(by.iter().all_equal());
                let up = sheet.key.tonic().pitch_class().semitones_up_to(key.tonic().pitch_class());
                for way in by.iter().take(1) {
                    prop_assert_eq!(PitchClass::wrapping(*way).get(), up);
                    prop_assert!((-17..=18).contains(way));
                }
                prop_assert_eq!(degrees(&sheet), degrees(&moved));
            }
        }
    }
}
