//! The catalogue against the handbook of check values: the complete table of triads over a dominant seventh
//! (part 2, section 3), the published nine (part 1, section 1), the scales over a dominant (part 2, section 1).

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "tests"
)]

use std::collections::BTreeMap;

use overshell::chord::{Chord, Degree, DegreeSet, Quality, chord};
use overshell::pitch::{PitchClass, PitchSet, note};
use overshell::rules::{RuleSet, Situation, Verdict};
use overshell::search::{CatalogueEntry, CatalogueOptions, catalogue};
use overshell::voicing::{Inversion, Label, Shell, Spacing, Triad, TriadKind, Voicing};

const ROOTS: [&str; 12] = ["C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"];

/// A row of the table of triads over C7.
struct Row {
    triad: Triad,
    sus2: Option<String>,
    degrees: [Degree; 3],
    avoid: DegreeSet,
    natural: usize,
    altered: usize,
    with_root: String,
    without_root: String,
}

impl Row {
    fn has_tension(&self) -> bool {
        self.natural + self.altered > 0
    }
}

/// The 52 rows of `data/handbook/triads-over-c7.tsv`.
fn rows() -> Vec<Row> {
    let table = include_str!("data/handbook/triads-over-c7.tsv");
    let rows: Vec<Row> = table
        .lines()
        .filter(|line| !line.starts_with('#'))
        .map(|line| {
            let cells: Vec<&str> = line.split('\t').collect();
            let [triad, sus2, degrees, avoid, natural, altered, with_root, without_root] = cells[..] else {
                panic!("eight columns: {line}");
            };
            let degrees: Vec<Degree> = degrees.split(' ').map(|d| d.parse().unwrap()).collect();
            Row {
                triad: triad.parse().unwrap(),
                sus2: (sus2 != "-").then(|| sus2.to_owned()),
                degrees: degrees.try_into().unwrap(),
                avoid: if avoid == "-" { DegreeSet::EMPTY } else { avoid.parse().unwrap() },
                natural: natural.parse().unwrap(),
                altered: altered.parse().unwrap(),
                with_root: with_root.to_owned(),
                without_root: without_root.to_owned(),
            }
        })
        .collect();
    assert_eq!(rows.len(), 52);
    rows
}

fn dominant(root: &str) -> Chord {
    Chord::new(note(root), Quality::DOMINANT_SEVENTH)
}

/// Every left hand at once, and the full shell alone.
fn both_options() -> [CatalogueOptions; 2] {
    [
        CatalogueOptions::default(),
        CatalogueOptions { shell: Some(Shell::RootThirdSeventh), ..CatalogueOptions::default() },
    ]
}

fn entries(chord: Chord, options: &CatalogueOptions) -> Vec<CatalogueEntry> {
    catalogue(chord, RuleSet::standard(), options).unwrap()
}

fn semitones_over_c(triad: Triad) -> u8 {
    note("C").pitch_class().semitones_up_to(triad.root().pitch_class())
}

/// The entry of a triad that the table gives over C7, over a dominant on another root.
fn entry_of(entries: &[CatalogueEntry], triad_over_c: Triad) -> &CatalogueEntry {
    let label = Label::new(semitones_over_c(triad_over_c), triad_over_c.kind());
    entries.iter().find(|entry| entry.label == label).unwrap()
}

/// Handbook, part 2, section 3, all 52 rows in twelve keys: functions, avoid notes, numbers of tensions.
#[test]
fn all_triads_over_a_dominant_are_as_tabled_in_twelve_keys() {
    let rows = rows();
    let mut checked = 0;
    for options in both_options() {
        for root in ROOTS {
            let over = dominant(root);
            let entries = entries(over, &options);
            assert_eq!(entries.len(), 52);
            for row in &rows {
                let entry = entry_of(&entries, row.triad);
                let up = i32::from(note("C").pitch_class().semitones_up_to(over.root().pitch_class()));
                let what = format!("{} over {over}", entry.triad);
                // Enharmonic names are compared by keys: the handbook writes Gbm, the catalogue F#m.
                assert_eq!(entry.triad.classes(), row.triad.classes().map(|class| class.up(up)), "{what}");
                assert_eq!(entry.degrees, row.degrees, "{what}");
                let clashes = entry.verdict == Verdict::Clash;
                assert_eq!(clashes, !row.avoid.is_empty(), "{what}: {:?}", entry.findings);
                let degrees: DegreeSet = entry.degrees.into_iter().collect();
                let avoid: DegreeSet = [Degree::Eleven, Degree::MajorSeven].into_iter().collect();
                assert_eq!(degrees.difference(degrees.difference(avoid)), row.avoid, "{what}");
                let natural = [Degree::Nine, Degree::Thirteen].into_iter().filter(|d| degrees.contains(*d));
                assert_eq!(natural.count(), row.natural, "{what}");
                let altered = degrees.iter().filter(|d| d.is_altered_tension());
                assert_eq!(altered.count(), row.altered, "{what}");
                checked += 1;
            }
        }
    }
    assert_eq!(checked, 2 * 12 * 52);
}

/// The same table: a suspended second is the suspended fourth a fifth below its fifth, read from another root.
#[test]
fn all_suspended_rows_are_suspended_seconds_too() {
    let mut found = 0;
    for row in rows() {
        let Some(sus2) = &row.sus2 else { continue };
        let read: Chord = sus2.parse().unwrap();
        assert_eq!(read.quality(), Quality::SUSPENDED_SECOND);
        assert_eq!(read.pitch_set(), row.triad.pitch_set(), "{sus2}");
        assert_eq!(row.triad.kind(), TriadKind::Suspended);
        found += 1;
    }
    assert_eq!(found, 12);
}

/// The same table, columns 5 and 6 (Forte names by music21 10.5.1, with their Z): the class of the triad with C, E and
/// Bb, and with E and Bb; the same with and without the root exactly when the triad already holds it.
#[test]
fn all_rows_have_their_published_set_class() {
    let shell: PitchSet = ["E", "Bb"].into_iter().map(|n| note(n).pitch_class()).collect();
    let c = note("C").pitch_class();
    for row in rows() {
        let without = row.triad.pitch_set().union(shell);
        assert_eq!(without.forte_name().as_str(), row.without_root, "{}", row.triad);
        assert_eq!(without.with(c).forte_name().as_str(), row.with_root, "{}", row.triad);
        assert_eq!(row.with_root == row.without_root, row.triad.pitch_set().contains(c));
    }
}

/// Totals under the table, by kind: major, minor, diminished, augmented, suspended.
#[test]
fn ok_totals_of_the_table() {
    let rows = rows();
    let of_table = |wanted: &dyn Fn(&Row) -> bool| {
        TriadKind::ALL.map(|kind| rows.iter().filter(|r| r.triad.kind() == kind && wanted(r)).count())
    };
    assert_eq!(of_table(&|row| row.avoid.is_empty()), [6, 6, 8, 2, 6]);
    assert_eq!(of_table(&|row| row.avoid.is_empty() && row.has_tension()), [5, 6, 7, 2, 6]);
    for options in both_options() {
        for root in ROOTS {
            let over = dominant(root);
            let entries = entries(over, &options);
            let count = |wanted: &dyn Fn(&CatalogueEntry) -> bool| {
                TriadKind::ALL
                    .map(|kind| entries.iter().filter(|e| e.triad.kind() == kind && wanted(e)).count())
            };
            let free = |entry: &CatalogueEntry| entry.verdict != Verdict::Clash;
            let tension = |entry: &CatalogueEntry| entry.degrees.iter().any(|d| d.is_tension());
            assert_eq!(count(&free), [6, 6, 8, 2, 6], "{over}");
            let with_tension = count(&|entry| free(entry) && tension(entry));
            assert_eq!(with_tension, [5, 6, 7, 2, 6], "{over}");
            assert_eq!(with_tension.iter().sum::<usize>(), 26);
        }
    }
}

/// The verdict on a triad depends on its degree and kind, never on the key.
#[test]
fn all_verdicts_are_the_same_in_twelve_keys() {
    for options in both_options() {
        let verdicts = |root: &str| -> BTreeMap<Label, Verdict> {
            entries(dominant(root), &options).iter().map(|entry| (entry.label, entry.verdict)).collect()
        };
        let in_c = verdicts("C");
        assert_eq!(in_c.len(), 52);
        for root in ROOTS {
            assert_eq!(verdicts(root), in_c, "{root}");
        }
    }
}

/// Whether a triad clashes is a matter of its notes: no shell that serves, no inversion and no spacing changes it.
#[test]
fn all_placings_of_a_row_clash_or_none_does() {
    let rules = RuleSet::standard();
    let mut judged = 0;
    for root in ROOTS {
        let over = dominant(root);
        let judge = rules.judge_for(over, &Situation::default());
        for row in rows() {
            let triad = Triad::over(over, semitones_over_c(row.triad), row.triad.kind());
            for shell in Shell::ALL.into_iter().filter(|s| s.serves(over, triad.degrees_over(over))) {
                let left = shell.hand_from(over, 45).unwrap();
                for inversion in Inversion::ALL {
                    for spacing in Spacing::ALL {
                        let above = left.highest().unwrap().midi();
                        let right = triad.hand_above(inversion, spacing, above).unwrap();
                        let voicing = Voicing::new(left, right).unwrap();
                        let clashes = judge.score(&voicing).clash;
                        assert_eq!(clashes, !row.avoid.is_empty(), "{over}: {voicing}");
                        judged += 1;
                    }
                }
            }
        }
        for entry in entries(over, &CatalogueOptions::default()) {
            // Three inversions in close position; open ones as far as the hand reaches.
            assert!((2..=5).contains(&entry.others.len()), "{}", entry.triad);
            let flag = entry.verdict == Verdict::Clash;
            assert_eq!(entry.best.score.clash, flag);
            assert!(entry.others.iter().all(|placing| placing.score.clash == flag), "{}", entry.triad);
        }
    }
    assert!(judged >= 12 * 52 * 4 * 6, "four shells hold third and seventh by themselves: {judged}");
}

/// The published nine: Wikipedia, "Upper structure", citing Levine, *The Jazz Piano Book*, Sher 1989, ch. 14
/// (handbook, part 1, section 1). Label, triad, notes with functions, published result, keys with E and Bb.
const NINE: [(&str, &str, &str, &str, &str); 9] = [
    ("II", "D", "D 9, F# #11, A 13", "C13(#11)", "2 4 6 9 10"),
    ("bIII", "Eb", "Eb #9, G 5, Bb b7", "C7(#9)", "3 4 7 10"),
    ("bV", "Gb", "Gb #11, Bb b7, Db b9", "C7(b9,#11)", "1 4 6 10"),
    ("bVI", "Ab", "Ab b13, C 1, Eb #9", "C7(#9,b13)", "0 3 4 8 10"),
    ("VI", "A", "A 13, C# b9, E 3", "C13(b9)", "1 4 9 10"),
    ("i", "Cm", "C 1, Eb #9, G 5", "C7(#9)", "0 3 4 7 10"),
    ("bii", "Dbm", "Db b9, Fb 3, Ab b13", "C7(b9,b13)", "1 4 8 10"),
    ("biii", "Ebm", "Eb #9, Gb #11, Bb b7", "C7(#9,#11)", "3 4 6 10"),
    ("#iv", "F#m", "F# #11, A 13, C# b9", "C13(b9,#11)", "1 4 6 9 10"),
];

/// The three more that hold no avoid note, and why they are not among the nine: only chord tones, or one natural
/// tension (handbook, part 1, section 1, completeness check).
const THREE_MORE: [(&str, &str, &str); 3] =
    [("I", "C", "1 3 5"), ("v", "Gm", "5 b7 9"), ("vi", "Am", "13 1 3")];

#[test]
fn all_nine_published_triads_are_colours_with_the_published_result() {
    let c7 = chord("C7");
    let shell: PitchSet = ["E", "Bb"].into_iter().map(|n| note(n).pitch_class()).collect();
    for options in both_options() {
        let in_c = entries(c7, &options);
        for (label, triad, notes, result, keys) in NINE {
            let entry = in_c.iter().find(|entry| entry.label.to_string() == label).unwrap();
            assert_eq!(entry.triad.to_string(), triad);
            let functions = entry.triad.names().into_iter().zip(entry.degrees);
            let functions: Vec<String> = functions.map(|(name, degree)| format!("{name} {degree}")).collect();
            assert_eq!(functions.join(", "), notes, "{label}");
            assert_eq!(entry.triad.pitch_set().union(shell), keys.parse().unwrap(), "{label}");
            assert_eq!(entry.sounding.unwrap(), chord(result), "{label}");
            assert_eq!(entry.verdict, Verdict::Colour, "{label}");
        }
        // D major: the published result is "C13(#11) with 9".
        let two = in_c.iter().find(|entry| entry.label.to_string() == "II").unwrap();
        assert!(two.sounding.unwrap().tensions().contains(Degree::Nine));
        for root in ROOTS {
            let over = dominant(root);
            let entries = entries(over, &options);
            for (label, _, _, result, _) in NINE {
                let entry = entries.iter().find(|entry| entry.label.to_string() == label).unwrap();
                assert_eq!(entry.verdict, Verdict::Colour, "{label} over {over}");
                assert_eq!(
                    entry.sounding.unwrap(),
                    chord(result).on_root(over.root()),
                    "{label} over {over}"
                );
            }
        }
    }
}

/// The same triads over the tritone substitute, as printed beside the nine: Eb major over F#7 = 13 b9 3, F# minor
/// over F#7 = 1 #9 5.
#[test]
fn ok_published_triads_over_the_tritone_substitute() {
    let over = chord("F#7");
    for (triad, degrees) in [("Eb", "13 b9 3"), ("F#m", "1 #9 5")] {
        let triad: Triad = triad.parse().unwrap();
        let found = triad.classes().map(|class| over.degree_of(class).to_string());
        assert_eq!(found.join(" "), degrees);
    }
}

/// Handbook, part 1, section 1: of the 24 major and minor triads exactly twelve hold neither 11 nor maj7.
#[test]
fn all_twelve_major_and_minor_triads_without_an_avoid_note() {
    for options in both_options() {
        for root in ROOTS {
            let over = dominant(root);
            let entries = entries(over, &options);
            let mut free: Vec<String> = entries
                .iter()
                .filter(|entry| matches!(entry.triad.kind(), TriadKind::Major | TriadKind::Minor))
                .filter(|entry| entry.verdict != Verdict::Clash)
                .map(|entry| entry.label.to_string())
                .collect();
            let mut published: Vec<String> = NINE.iter().map(|nine| nine.0.to_owned()).collect();
            published.extend(THREE_MORE.iter().map(|more| more.0.to_owned()));
            free.sort();
            published.sort();
            assert_eq!(free, published, "{over}");
            for (label, triad, degrees) in THREE_MORE {
                let entry = entries.iter().find(|entry| entry.label.to_string() == label).unwrap();
                assert_eq!(entry.verdict, Verdict::Plain, "{label} over {over}");
                assert_eq!(entry.degrees.map(|d| d.to_string()).join(" "), degrees);
                assert!(root != "C" || entry.triad.to_string() == triad);
            }
        }
    }
}

/// Handbook, part 2, section 6: the tritone substitute has the same avoid notes, so the avoid-free triads of a
/// dominant are those of the dominant a tritone away; over C7 the twelve major and minor ones form six pairs.
#[test]
fn all_avoid_free_triads_are_closed_under_the_tritone() {
    let free = |over: Chord, up: i32| -> Vec<(TriadKind, PitchSet)> {
        let mut found: Vec<_> = entries(over, &CatalogueOptions::default())
            .iter()
            .filter(|entry| entry.verdict != Verdict::Clash)
            .map(|entry| (entry.triad.kind(), entry.triad.pitch_set().transpose(up)))
            .collect();
        found.sort();
        found
    };
    for (at, root) in ROOTS.into_iter().enumerate() {
        let substitute = ROOTS[(at + 6) % 12];
        assert_eq!(free(dominant(root), 0), free(dominant(substitute), 0), "{root} and {substitute}");
        assert_eq!(free(dominant(root), 0), free(dominant(root), 6), "{root}");
    }
    let in_c = entries(chord("C7"), &CatalogueOptions::default());
    for (one, other) in [("C", "Gb"), ("D", "Ab"), ("Eb", "A"), ("Cm", "Gbm"), ("Dbm", "Gm"), ("Ebm", "Am")] {
        let [one, other]: [Triad; 2] = [one, other].map(|triad| triad.parse().unwrap());
        assert_eq!(one.pitch_set().transpose(6), other.pitch_set());
        for triad in [one, other] {
            assert_ne!(entry_of(&in_c, triad).verdict, Verdict::Clash, "{triad}");
        }
    }
}

/// Avoid-free triads with a tension inside each scale over C7, 11 and maj7 excluded: handbook, part 2, section 1,
/// "scale sizes" (computed there from the chord-scale table of part 1, section 3).
#[test]
fn ok_scales_over_a_dominant_hold_the_tabled_triads() {
    const SCALES: [(&str, &str, &str); 8] = [
        ("Mixolydian", "0 2 4 5 7 9 10", "Gm Am"),
        ("Lydian b7", "0 2 4 6 7 9 10", "D D+ Gbdim Gm Am"),
        ("altered", "0 1 3 4 6 8 10", "Cdim C+ Dbm Ebm Gb Ab Bbdim"),
        ("half-whole", "0 1 3 4 6 7 9 10", "Cm Cdim Dbdim Eb Ebm Ebdim Gb Gbm Gbdim Gdim A Am Adim Bbdim"),
        ("whole tone", "0 2 4 6 8 10", "C+ D+"),
        ("Mixolydian b13", "0 2 4 5 7 8 10", "C+ Gm"),
        ("Phrygian dominant", "0 1 4 5 7 8 10", "C+ Dbm Dbdim Gdim Bbdim"),
        ("Phrygian dominant with #9", "0 1 3 4 5 7 8 10", "C+ Dbm Dbdim Gdim Bbdim Cm Eb Ab"),
    ];
    let entries = entries(chord("C7"), &CatalogueOptions::default());
    for (scale, keys, triads) in SCALES {
        let keys: PitchSet = keys.parse().unwrap();
        let mut found: Vec<(TriadKind, PitchSet)> = entries
            .iter()
            .filter(|entry| entry.triad.kind() != TriadKind::Suspended)
            .filter(|entry| entry.verdict != Verdict::Clash)
            .filter(|entry| entry.degrees.iter().any(|d| d.is_tension()))
            .filter(|entry| entry.triad.pitch_set().is_subset(keys))
            .map(|entry| (entry.triad.kind(), entry.triad.pitch_set()))
            .collect();
        let mut tabled: Vec<(TriadKind, PitchSet)> = triads
            .split(' ')
            .map(|triad| triad.parse::<Triad>().unwrap())
            .map(|triad| (triad.kind(), triad.pitch_set()))
            .collect();
        found.sort();
        tabled.sort();
        assert_eq!(found, tabled, "{scale}");
    }
}

/// Handbook, part 2, section 3, theorem: 11 and maj7 are precisely the keys a minor ninth above the shell's third
/// and seventh, so no avoid-free triad above E-Bb or Bb-E forms a minor ninth or a minor second with it, whatever
/// the inversion, the spacing and the octave; and the root below adds only 1-b9.
///
/// The handbook counts 288 cases without breaking the number down; twelve major and minor triads, three inversions,
/// two shells and four octaves make it, and are counted here. All 28 rows, open position too, are swept.
#[test]
fn all_avoid_free_triads_form_no_minor_ninth_with_the_shell() {
    let c7 = chord("C7");
    let third_and_seventh = [Degree::Three, Degree::FlatSeven];
    let a_semitone_above = |degree: Degree| {
        third_and_seventh.iter().any(|below| (degree.semitones() + 12 - below.semitones()) % 12 == 1)
    };
    for class in PitchClass::ALL {
        let degree = c7.degree_of(class);
        let avoid = matches!(degree, Degree::Eleven | Degree::MajorSeven);
        assert_eq!(a_semitone_above(degree), avoid, "{degree}");
    }
    let (mut cases, mut of_the_twelve) = (0, 0);
    for row in rows().iter().filter(|row| row.avoid.is_empty()) {
        for shell in [Shell::ThirdSeventh, Shell::SeventhThird] {
            let left = shell.hand_from(c7, 36).unwrap();
            for (spacing, inversion, octave) in itertools::iproduct!(Spacing::ALL, Inversion::ALL, 0..4u8) {
                let above = left.highest().unwrap().midi() + 12 * octave;
                let right = row.triad.hand_above(inversion, spacing, above).unwrap();
                for (low, high) in itertools::iproduct!(left.pitches(), right.pitches()) {
                    assert_ne!((high.midi() - low.midi()) % 12, 1, "{left} | {right}");
                }
                // The root below: only the flat ninth is a minor ninth (in whatever octave) above it.
                let root = Shell::Root.hand_from(c7, 24).unwrap().lowest().unwrap();
                for high in right.pitches() {
                    let ninth = (high.midi() - root.midi()) % 12 == 1;
                    assert_eq!(ninth, c7.degree_of(high.pitch_class()) == Degree::FlatNine);
                }
                cases += 1;
                let tabled = matches!(row.triad.kind(), TriadKind::Major | TriadKind::Minor);
                of_the_twelve += usize::from(tabled && spacing == Spacing::Close);
            }
        }
    }
    assert_eq!(of_the_twelve, 288);
    assert_eq!(cases, 28 * 2 * 2 * 3 * 4);
    // And the other way round: every triad with an avoid note does form one.
    for row in rows().iter().filter(|row| !row.avoid.is_empty()) {
        assert!(row.degrees.into_iter().any(a_semitone_above), "{}", row.triad);
    }
}
