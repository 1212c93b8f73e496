//! Our reader of chord labels against mir_eval 0.8.2: every shorthand with every degree added and every natural degree
//! left out, every root, every bass (made by `tests/outside/labels.py`).

#![allow(missing_docs, clippy::unwrap_used, clippy::panic, reason = "tests")]

use overshell::chord::vocabulary::harte;
use overshell::pitch::PitchClass;

struct Row {
    label: &'static str,
    root: PitchClass,
    /// A bit for each key above the root.
    keys: u16,
    bass: u8,
}

fn rows() -> Vec<Row> {
    let row = |line: &'static str| {
        let [label, root, bits, bass] = line.split('\t').collect::<Vec<_>>().try_into().unwrap();
        let keys =
            bits.bytes().enumerate().filter(|(_, bit)| *bit == b'1').fold(0, |keys, (at, _)| keys | 1 << at);
        Row { label, root: PitchClass::wrapping(root.parse().unwrap()), keys, bass: bass.parse().unwrap() }
    };
    let lines = include_str!("data/vocabulary/labels.tsv").lines();
    lines.filter(|line| !line.starts_with('#')).map(row).collect()
}

const ELEVENTH: u16 = 1 << 5;
const BOTH_SEVENTHS: u16 = 1 << 10 | 1 << 11;

/// The same keys, root and bass. Four differences, each said by the reader: a thirteenth over a major third is without its
/// eleventh; the root cannot be left out; a degree is left out by its name, not by its key; two sevenths are an error.
#[test]
fn all_labels_mean_the_same_keys() {
    let (mut same, mut without_eleventh, mut with_root, mut by_key, mut refused) = (0, 0, 0, 0, 0);
    for Row { label, root, keys, bass } in rows() {
        let found = match harte::read(label) {
            Ok(found) => found,
            Err(error) => {
                assert!(error.is_symbol() && keys & BOTH_SEVENTHS == BOTH_SEVENTHS, "{label}: {error}");
                refused += 1;
                continue;
            }
        };
        let chord = found.value.chord().unwrap();
        assert_eq!(chord.root().pitch_class(), root, "{label}");
        let over_root = |class: PitchClass| root.semitones_up_to(class);
        let lowest = over_root(chord.bass().unwrap_or(chord.root()).pitch_class());
        assert_eq!(lowest, bass, "{label}");
        let own = chord.pitch_set().iter().fold(1 << lowest, |keys, class| keys | 1 << over_root(class));
        let says = |words: &str| found.losses.iter().any(|loss| loss.what.contains(words));
        let (mut expected, count) = match () {
            () if says("takes nothing away") => {
                assert!((own & !keys).count_ones() <= 1, "{label}");
                (keys | own, &mut by_key)
            }
            () if says("is not carried out") => (keys | 1, &mut with_root),
            () => (keys, &mut same),
        };
        *count += 1;
        if says("the `11` of") {
            expected &= !ELEVENTH;
            without_eleventh += 1;
        }
        assert_eq!(own, expected, "{label} as {chord}: {:?}", found.losses);
    }
    // 2 shorthands, each alone and with 57 lists, without the 5 that speak of the eleventh and the 3 with two sevenths.
    assert_eq!(without_eleventh, 2 * (58 - 5 - 3));
    // One list of each of the 24 shorthands leaves the root out.
    assert_eq!(with_root, 24);
    // 3 names of the other seventh (`7 b1 b8`, `b7 #6 #13`) over 9 shorthands with a minor and 4 with a major one.
    assert_eq!(refused, 3 * (9 + 4));
    assert!(same > 1_000 && by_key < same / 3, "{same} {by_key}");
}
