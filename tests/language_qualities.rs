//! Every quality on all 35 spelled roots against music21 (names) and mir_eval (pitch classes),
//! `tests/data/language/qualities.tsv`, made by `tests/outside/language_fixture.py`. Nothing differs.

#![allow(missing_docs, clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "tests")]

mod language_common;

use std::collections::{BTreeMap, BTreeSet};

use language_common::{fifths, is_ours};
use overshell::chord::{Chord, Fifth, Quality, Seventh, Third};
use overshell::pitch::{NoteName, PitchSet};

struct Row {
    chord: Chord,
    names: &'static str,
    set: PitchSet,
}

fn rows() -> Vec<Row> {
    let row = |line: &'static str| {
        let cells: Vec<&str> = line.split('\t').collect();
        let [root, third, fifth, seventh, names, set] = cells[..] else { panic!("{line}") };
        let third = match third {
            "-" => Third::None,
            "2" => Third::Second,
            "b3" => Third::Minor,
            "3" => Third::Major,
            "4" => Third::Fourth,
            other => panic!("{other}"),
        };
        let fifth = match fifth {
            "-" => Fifth::None,
            "b5" => Fifth::Flat,
            "5" => Fifth::Perfect,
            "#5" => Fifth::Sharp,
            other => panic!("{other}"),
        };
        let seventh = match seventh {
            "-" => Seventh::None,
            "6" => Seventh::Sixth,
            "bb7" => Seventh::DoubleFlat,
            "b7" => Seventh::Flat,
            "7" => Seventh::Major,
            other => panic!("{other}"),
        };
        let quality = Quality { third, fifth, seventh };
        let chord = Chord::new(root.parse().unwrap(), quality);
        assert_eq!(chord.quality(), quality, "{line}");
        Row { chord, names, set: PitchSet::from_bits(u16::from_str_radix(set, 16).unwrap()).unwrap() }
    };
    let lines = include_str!("data/language/qualities.tsv").lines();
    lines.filter(|line| !line.starts_with('#')).map(row).collect()
}

#[test]
fn all_qualities_and_all_roots_are_in_the_table() {
    let mut roots: BTreeMap<Quality, Vec<NoteName>> = BTreeMap::new();
    for Row { chord, .. } in rows() {
        roots.entry(chord.quality()).or_default().push(chord.root());
    }
    assert!(roots.keys().copied().eq(Quality::all().collect::<BTreeSet<_>>()));
    assert!(roots.values().all(|roots| roots.iter().copied().eq(NoteName::all())));
}

/// By construction and by the symbol that the chord prints.
#[test]
fn all_sets_are_mir_evals() {
    for Row { chord, set, .. } in rows() {
        assert_eq!(chord.pitch_set(), set, "{chord}");
        assert_eq!(chord.to_string().parse::<Chord>().unwrap().pitch_set(), set, "{chord}");
    }
}

/// Every name of every chord; where music21 writes a third accidental, the same key under another name.
#[test]
fn all_names_are_music21s() {
    let (mut same, mut respelled) = (0, 0);
    for Row { chord, names, .. } in rows() {
        let root = i32::from(chord.root().fifths());
        let ours: BTreeMap<i32, NoteName> = chord
            .tones()
            .iter()
            .map(|degree| (root + i32::from(degree.fifths()), degree.name_over(chord.root())))
            .collect();
        let theirs: BTreeMap<i32, &str> = names.split(' ').map(|name| (fifths(name), name)).collect();
        assert!(ours.keys().eq(theirs.keys()), "{chord}: {names}");
        for (ours, theirs) in ours.values().zip(theirs.values()) {
            *if is_ours(*ours, theirs) { &mut same } else { &mut respelled } += 1;
        }
    }
    assert_eq!((same, respelled), (8_574, 666));
}
