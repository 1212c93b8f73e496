//! Our reader of chord labels against mir_eval 0.8.2: every shorthand with every degree added and every natural degree
//! left out, every root, every bass (made by `tests/outside/labels.py`). Where the two differ is worked out from the label
//! and the lists below, not from what our reader says.

#![allow(missing_docs, clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "tests")]

use overshell::chord::Degree;
use overshell::chord::vocabulary::{Loss, Word, harte};
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

const ROOT: u16 = 1;
const ELEVENTH: u16 = 1 << 5;
const BOTH_SEVENTHS: u16 = 1 << 10 | 1 << 11;

/// The degrees of each shorthand by their names: Harte, Sandler, Abdallah and Gómez, ISMIR 2005, table 1, and for those
/// not listed there the names of the keys of mir_eval's bitmaps, which [`all_lists_are_mir_evals_bitmaps`] compares.
const LISTS: [(&str, &str); 24] = [
    ("maj", "1 3 5"),
    ("min", "1 b3 5"),
    ("dim", "1 b3 b5"),
    ("aug", "1 3 #5"),
    ("maj7", "1 3 5 7"),
    ("min7", "1 b3 5 b7"),
    ("7", "1 3 5 b7"),
    ("dim7", "1 b3 b5 bb7"),
    ("hdim7", "1 b3 b5 b7"),
    ("minmaj7", "1 b3 5 7"),
    ("maj6", "1 3 5 6"),
    ("min6", "1 b3 5 6"),
    ("9", "1 3 5 b7 9"),
    ("maj9", "1 3 5 7 9"),
    ("min9", "1 b3 5 b7 9"),
    ("sus2", "1 2 5"),
    ("sus4", "1 4 5"),
    ("11", "1 3 5 b7 9 11"),
    ("min11", "1 b3 5 b7 9 11"),
    ("13", "1 3 5 b7 9 11 13"),
    ("maj13", "1 3 5 7 9 11 13"),
    ("min13", "1 b3 5 b7 9 11 13"),
    ("1", "1"),
    ("5", "1 5"),
];

/// A list alone: its degrees over a root.
const NO_SHORTHAND: (&str, &str) = ("", "1");

/// The bit of a degree as a label writes it: semitones of the major scale, and its accidentals.
fn key(degree: &str) -> u16 {
    let number = degree.trim_start_matches(['b', '#']);
    let signs = degree.strip_suffix(number).unwrap();
    let natural = [0, 2, 4, 5, 7, 9, 11][(number.parse::<usize>().unwrap() - 1) % 7];
    let semitones = natural + signs.chars().map(|sign| if sign == '#' { 1 } else { -1 }).sum::<i32>();
    1 << semitones.rem_euclid(12)
}

fn keys_of(list: &str) -> u16 {
    list.split(' ').map(key).fold(0, |keys, key| keys | key)
}

/// What a label asks for.
struct Asked<'a> {
    /// The name of the shorthand and its degrees.
    shorthand: (&'a str, &'a str),
    added: Option<&'a str>,
    omitted: Option<&'a str>,
}

impl<'a> Asked<'a> {
    fn of(label: &'a str) -> Self {
        let label = label.split('/').next().unwrap();
        let (_, quality) = label.split_once(':').unwrap_or((label, "maj"));
        let (name, item) = match quality.split_once('(') {
            Some((name, list)) => (name, Some(list.strip_suffix(')').unwrap())),
            None => (quality, None),
        };
        assert!(name.is_empty() || LISTS.iter().any(|(shorthand, _)| *shorthand == name), "{label}");
        Self {
            shorthand: *LISTS.iter().find(|(shorthand, _)| *shorthand == name).unwrap_or(&NO_SHORTHAND),
            added: item.filter(|item| !item.starts_with('*')),
            omitted: item.and_then(|item| item.strip_prefix('*')),
        }
    }

    /// Whether the degree that is left out is none of the shorthand's by name.
    fn omits_nothing(&self) -> bool {
        self.omitted.is_some_and(|degree| self.shorthand.1.split(' ').all(|own| own != degree))
    }

    /// Whether the shorthand is a thirteenth over a major third and the list does not say what becomes of its eleventh.
    fn hides_eleventh(&self) -> bool {
        let speaks = self.omitted == Some("11") || self.added.is_some_and(|degree| key(degree) == ELEVENTH);
        ["13", "maj13"].contains(&self.shorthand.0) && !speaks
    }
}

#[test]
fn all_lists_are_mir_evals_bitmaps() {
    for (shorthand, list) in LISTS {
        let label = format!("C:{shorthand}");
        let row = rows().into_iter().find(|row| row.label == label).unwrap();
        assert_eq!(keys_of(list), row.keys, "{shorthand}");
    }
}

/// The same keys, root and bass. Four differences, and no other key: a thirteenth over a major third is without its
/// eleventh; the root cannot be left out; a degree is left out by its name, not by its key; two sevenths are an error.
/// The first three are said, each where it is so and only there.
#[test]
fn all_labels_mean_the_same_keys() {
    let (mut same, mut without_eleventh, mut with_root, mut by_name, mut refused) = (0, 0, 0, 0, 0);
    for Row { label, root, keys, bass } in rows() {
        let asked = Asked::of(label);
        let two_sevenths = keys & BOTH_SEVENTHS == BOTH_SEVENTHS;
        let found = match harte::read(label) {
            Ok(found) => found,
            Err(error) => {
                assert!(error.is_symbol() && two_sevenths, "{label}: {error}");
                refused += 1;
                continue;
            }
        };
        assert!(!two_sevenths, "{label}");
        let chord = found.value.chord().unwrap();
        assert_eq!(chord.root().pitch_class(), root, "{label}");
        let over_root = |class: PitchClass| root.semitones_up_to(class);
        let lowest = over_root(chord.bass().unwrap_or(chord.root()).pitch_class());
        assert_eq!(lowest, bass, "{label}");
        let own = chord.pitch_set().iter().fold(1 << lowest, |keys, class| keys | 1 << over_root(class));

        let mut expected = keys;
        let mut losses = Vec::new();
        if asked.hides_eleventh() {
            expected &= !ELEVENTH;
            let word = Word::Shorthand(asked.shorthand.0);
            losses.push(Loss::EleventhLeftOut { of: word });
            without_eleventh += 1;
        }
        if asked.omitted == Some("1") {
            expected |= ROOT;
            losses.push(Loss::RootKept { written: "*1".into() });
            with_root += 1;
        } else if asked.omits_nothing() {
            // Theirs is without that key, ours keeps what the shorthand has on it.
            let degree = asked.omitted.unwrap();
            let kept = keys_of(asked.shorthand.1) & key(degree);
            expected |= if asked.hides_eleventh() { kept & !ELEVENTH } else { kept };
            losses.push(Loss::NothingTakenAway { written: format!("*{degree}") });
            by_name += 1;
        }
        same += u32::from(own == keys);
        assert_eq!(own, expected, "{label} as {chord}: {:?}", found.losses);
        let mut said = found.losses;
        said.retain(|loss| !matches!(loss, Loss::DegreeReadAs { .. }));
        assert_eq!(said, losses, "{label}");
    }
    // 2 shorthands, each alone and with 57 lists, without the 5 that speak of the eleventh and the 3 with two sevenths.
    assert_eq!(without_eleventh, 2 * (58 - 5 - 3));
    // One list of each of the 24 shorthands leaves the root out.
    assert_eq!(with_root, 24);
    // 18 lists of each shorthand leave a degree out, one for each degree that it has.
    let named: usize = LISTS.iter().map(|(_, list)| list.split(' ').count()).sum();
    assert_eq!(by_name, 18 * LISTS.len() - named);
    // 3 names of the other seventh (`7 b1 b8`, `b7 #6 #13`) over 9 shorthands with a minor and 4 with a major one.
    assert_eq!(refused, 3 * (9 + 4));
    assert!(same > 1_000, "{same}");
}

/// A degree under another name is said wherever the chord has no degree of that number on its key.
#[test]
fn all_other_names_are_said() {
    let mut renamed = 0;
    for Row { label, .. } in rows() {
        let Ok(found) = harte::read(label) else { continue };
        let chord = found.value.chord().unwrap();
        let tones: Vec<Degree> = chord.tones().iter().collect();
        let bit = |degree: &Degree| 1u16 << degree.semitones();
        let said: Vec<(String, Degree)> = found
            .losses
            .into_iter()
            .filter_map(|loss| match loss {
                Loss::DegreeReadAs { written, degree } => Some((written, degree)),
                _ => None,
            })
            .collect();
        for (written, degree) in &said {
            assert!(tones.contains(degree) && bit(degree) == key(written), "{label}");
            assert_ne!(*written, degree.to_string().replace("maj7", "7"), "{label}");
            renamed += 1;
        }
        if let Some(added) = Asked::of(label).added {
            let named = tones.iter().any(|degree| degree.to_string().replace("maj7", "7") == added);
            assert!(named || said.iter().any(|(written, _)| written == added), "{label}: {said:?}");
        }
    }
    assert!(renamed > 300, "{renamed}");
}
