//! Chords on all 35 spelled roots against music21 (names) and mir_eval (pitch classes), `tests/data/language/chords.tsv`,
//! made by `tests/outside/language_fixture.py`. Where the two differ from us, a table says in what and why, and every
//! line of it must be needed.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "tests")]

mod language_common;

use std::collections::{BTreeMap, BTreeSet};

use language_common::{fifths, is_ours};
use overshell::chord::{Chord, Degree, DegreeSet, Quality};
use overshell::pitch::{NoteName, PitchClass, PitchSet};

struct Row {
    chord: Chord,
    suffix: &'static str,
    names: &'static str,
    /// By mir_eval, as encoded by default and with extensions; `None` where it does not know the shorthand.
    plain: Option<PitchSet>,
    extended: Option<PitchSet>,
}

fn rows() -> Vec<Row> {
    let set = |cell: &str| {
        (!cell.is_empty()).then(|| PitchSet::from_bits(u16::from_str_radix(cell, 16).unwrap()).unwrap())
    };
    include_str!("data/language/chords.tsv")
        .lines()
        .filter(|line| !line.starts_with('#'))
        .map(|line| {
            let cells: Vec<&str> = line.split('\t').collect();
            let [root, suffix, names, plain, extended] = cells[..] else { panic!("{line}") };
            let chord: Chord = format!("{root}{suffix}").parse().unwrap_or_else(|e| panic!("{e:?}"));
            // `Fb(b5)` is printed with parentheses, so nothing runs into the root.
            assert_eq!(
                (chord.root().to_string().as_str(), chord.to_string()),
                (root, format!("{root}{suffix}"))
            );
            Row { chord, suffix, names, plain: set(plain), extended: set(extended) }
        })
        .collect()
}

/// What one of them has of a chord that we have not, and the other way round.
struct Difference {
    suffixes: &'static [&'static str],
    more: &'static str,
    less: &'static str,
    reason: &'static str,
}

const NAMES_BY_MUSIC21: [Difference; 2] = [
    Difference {
        suffixes: &["13", "maj13", "13(b9)"],
        more: "11",
        less: "",
        reason: "the MusicXML kinds of thirteenths hold the natural eleventh; ours leave it out over a major third",
    },
    Difference {
        suffixes: &["7sus4", "7sus2", "9sus4"],
        more: "maj7",
        less: "b7",
        reason: "music21 reads an added 7 without alteration as the major seventh; MusicXML says relative to a dominant",
    },
];

/// music21 spells an added 7 raised by one by counting semitones down from the scale's seventh and raising what it finds
/// by an augmented unison: the right key, on some roots under another name (`E G B Eb` for `Edim(maj7)`).
const SEVENTH_RESPELLED_BY_MUSIC21: [(&str, usize); 2] = [("dim(maj7)", 23), ("maj7sus4", 23)];

const EXTENDED_BY_MIR_EVAL: [Difference; 1] = [Difference {
    suffixes: &["13", "maj13"],
    more: "11",
    less: "",
    reason: "Harte's thirteenths hold the natural eleventh; ours leave it out over a major third",
}];

/// The degrees that one of them has of a chord.
fn degrees_by(differences: &[Difference], row: &Row) -> DegreeSet {
    let mut degrees = row.chord.tones();
    for difference in differences.iter().filter(|d| d.suffixes.contains(&row.suffix)) {
        let (more, less): (DegreeSet, DegreeSet) =
            (difference.more.parse().unwrap(), difference.less.parse().unwrap());
        assert!(more.iter().all(|d| !degrees.contains(d)) && less.iter().all(|d| degrees.contains(d)));
        assert!(!difference.reason.is_empty());
        assert!(!more.is_empty() || !less.is_empty());
        degrees = degrees.difference(less).union(more);
    }
    degrees
}

fn sounds(row: &Row, degrees: DegreeSet) -> PitchSet {
    degrees.iter().map(|d| d.class_over(row.chord.root().pitch_class())).collect()
}

#[test]
fn all_named_qualities_and_all_roots_are_in_the_table() {
    let mut roots: BTreeMap<&str, BTreeSet<NoteName>> = BTreeMap::new();
    for row in rows() {
        assert!(roots.entry(row.suffix).or_default().insert(row.chord.root()));
        if let Some((_, quality)) = Quality::NAMED.iter().find(|(suffix, _)| *suffix == row.suffix) {
            assert_eq!(row.chord, Chord::new(row.chord.root(), *quality));
        }
    }
    assert_eq!(roots.len(), Quality::NAMED.len() + 28);
    assert!(Quality::NAMED.iter().all(|(suffix, _)| roots.contains_key(suffix)));
    assert!(roots.values().all(|roots| roots.iter().copied().eq(NoteName::all())));
}

/// Every name of every chord; where music21 writes a third accidental, the same key under another name.
#[test]
fn all_names_are_music21s() {
    let (mut same, mut respelled) = (0, 0);
    let mut wandered = SEVENTH_RESPELLED_BY_MUSIC21.map(|(suffix, _)| (suffix, 0));
    for row in rows() {
        let root = i32::from(row.chord.root().fifths());
        let theirs: BTreeSet<i32> = row.names.split(' ').map(fifths).collect();
        let mut ours: BTreeMap<i32, NoteName> = degrees_by(&NAMES_BY_MUSIC21, &row)
            .iter()
            .map(|degree| (root + i32::from(degree.fifths()), degree.name_over(row.chord.root())))
            .collect();
        if let Some((_, count)) = wandered.iter_mut().find(|(suffix, _)| *suffix == row.suffix) {
            let seventh = root + i32::from(Degree::MajorSeven.fifths());
            if !theirs.contains(&seventh) {
                ours.remove(&seventh);
                let other = *theirs.iter().find(|n| !ours.contains_key(*n)).unwrap();
                assert_eq!((other - seventh) % 12, 0, "{}", row.chord);
                ours.insert(other, NoteName::from_fifths(i8::try_from(other).unwrap()).unwrap());
                *count += 1;
            }
        }
        assert_eq!(ours.keys().copied().collect::<BTreeSet<_>>(), theirs, "{} {}", row.chord, row.names);
        for name in row.names.split(' ') {
            *if is_ours(ours[&fifths(name)], name) { &mut same } else { &mut respelled } += 1;
        }
    }
    assert_eq!(wandered, SEVENTH_RESPELLED_BY_MUSIC21);
    assert_eq!((same, respelled), (8_219, 601));
}

/// Every chord that mir_eval can encode, with its extensions.
#[test]
fn all_sets_are_mir_evals() {
    let mut unknown = BTreeMap::new();
    for row in rows() {
        match row.extended {
            Some(set) => {
                assert_eq!(sounds(&row, degrees_by(&EXTENDED_BY_MIR_EVAL, &row)), set, "{}", row.chord)
            }
            None => *unknown.entry(row.suffix).or_insert(0) += 1,
        }
    }
    // Its grammar has `maj11`, its table of contents has not; every spelled root is read.
    assert_eq!(unknown, BTreeMap::from([("maj11", 35)]));
}

/// The trap: as encoded by default, ninths, elevenths and thirteenths are their sevenths, and listed degrees above the
/// octave are dropped too.
#[test]
fn all_bitmaps_without_extensions_omit_them() {
    let mut omitted = BTreeSet::new();
    for row in rows().iter().filter(|row| row.plain.is_some()) {
        assert_eq!(row.plain.unwrap(), sounds(row, row.chord.quality().tones()), "{}", row.chord);
        assert_eq!(row.plain != row.extended, !row.chord.tensions().is_empty(), "{}", row.chord);
        if row.plain != row.extended {
            omitted.insert(row.suffix);
        }
    }
    assert_eq!(omitted.len(), 26);
    for suffix in ["9", "maj9", "m9", "11", "m11", "13", "maj13", "m13"] {
        assert!(omitted.contains(suffix), "{suffix}");
    }
}

/// The trap: thirteenths of MusicXML and of Harte hold the natural eleventh, ours only over a minor third.
#[test]
fn ok_thirteenths_leave_the_eleventh_out_over_a_major_third() {
    for row in rows().iter().filter(|row| ["13", "maj13", "m13"].contains(&row.suffix)) {
        let eleventh = Degree::Eleven.class_over(row.chord.root().pitch_class());
        assert_eq!(row.chord.pitch_set().contains(eleventh), row.suffix == "m13", "{}", row.chord);
        assert!(row.extended.unwrap().contains(eleventh));
        let name = i32::from(row.chord.root().fifths()) - 1;
        assert!(row.names.split(' ').any(|n| fifths(n) == name), "{}", row.chord);
    }
}

/// Every line of a table of differences is met, on every root.
#[test]
fn all_differences_are_real() {
    for difference in NAMES_BY_MUSIC21.iter().chain(&EXTENDED_BY_MIR_EVAL) {
        for suffix in difference.suffixes {
            assert_eq!(rows().iter().filter(|row| row.suffix == *suffix).count(), 35, "{suffix}");
        }
    }
    for row in rows() {
        let differs = |table: &[Difference]| table.iter().any(|d| d.suffixes.contains(&row.suffix));
        // By key, since spelling is told apart above.
        let by_music21: PitchSet =
            row.names.split(' ').map(|name| PitchClass::wrapping(7 * fifths(name))).collect();
        assert_eq!(row.chord.pitch_set() != by_music21, differs(&NAMES_BY_MUSIC21), "{}", row.chord);
        if let Some(set) = row.extended {
            assert_eq!(row.chord.pitch_set() != set, differs(&EXTENDED_BY_MIR_EVAL), "{}", row.chord);
        }
    }
}
