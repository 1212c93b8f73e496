//! Dominant sevenths by function against the handbook of check values, part 2, section 1.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "tests"
)]

use std::collections::BTreeSet;

use overshell::chord::{Chord, Degree, DegreeSet, Function, chord};
use overshell::pitch::{Pitch, PitchSet, note};
use overshell::rules::{Effect, RuleSet, Situation};
use overshell::voicing::{Hand, Shell, Voicing};

const ROOTS: [&str; 12] = ["C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"];

/// A row of the table, in C.
struct Row {
    function: &'static str,
    chord: &'static str,
    /// Notes of C major that are no chord tones, computed in the handbook.
    key_notes: &'static str,
    /// "Chord Scale Summation", two pages in Berklee terms.
    published: &'static str,
    /// What the set leaves uncharged besides, and on whose word.
    also: &'static str,
}

const fn row(
    function: &'static str,
    chord: &'static str,
    key_notes: &'static str,
    published: &'static str,
    also: &'static str,
) -> Row {
    Row { function, chord, key_notes, published, also }
}

const ROWS: [Row; 14] = [
    // Terefenko, *Jazz Theory*, Routledge 2014, ch. 5, adds all alterations on the dominant of major.
    row("V7/I", "G7", "9 11 13", "9 13", "b9 #9 #11 b13"),
    // The Summation's other scale here is the altered one: b9 #9 #11 b13.
    row("V7/i", "G7", "9 11 13", "b9 b13", "#9 #11"),
    // "Many players prefer b9 #9 b13": notes of a Berklee first-year harmony course, 2008.
    row("V7/ii", "A7", "9 #9 11 b13", "9 b13", "b9 #9"),
    row("V7/iii", "B7", "b9 #9 11 #11 b13", "b9 #9 b13", ""),
    row("V7/IV", "C7", "9 11 13 maj7", "9 13", ""),
    row("V7/V", "D7", "9 #9 11 13", "9 13", ""),
    row("V7/vi", "E7", "b9 #9 11 b13", "b9 #9 b13", ""),
    row("extended V7", "E7", "b9 #9 11 b13", "9 13", ""),
    row("subV7", "Db7", "b9 #9 #11 b13 maj7", "9 #11 13", ""),
    row("bVII7", "Bb7", "b9 9 #11 13 maj7", "9 #11 13", ""),
    row("IV7", "F7", "9 #11 13 maj7", "9 #11 13", ""),
    row("bVI7", "Ab7", "b9 #9 #11 b13 13 maj7", "9 #11 13", ""),
    row("I7", "C7", "9 11 13 maj7", "9 13 #9", ""),
    // A newsgroup's word only: 13(#11) suits dominants that do not resolve.
    row("II7", "D7", "9 #9 11 13", "9 #11 13", ""),
];

/// The six tensions of a dominant; the natural eleventh is an avoid note whatever the dominant does.
const TENSIONS: &str = "b9 9 #9 #11 b13 13";

fn degrees(text: &str) -> DegreeSet {
    text.parse().unwrap()
}

/// The shell with one tension above it.
fn with_tension(over: Chord, degree: Degree) -> Voicing {
    let left = Shell::RootThirdSeventh.hand_from(over, 45).unwrap();
    let class = degree.class_over(over.root().pitch_class()).get();
    let top = left.highest().unwrap().midi();
    let midi = top + (class + 12 - top % 12) % 12;
    let right = Hand::new([Pitch::from_midi(midi, degree.name_over(over.root())).unwrap()]).unwrap();
    Voicing::new(left, right).unwrap()
}

/// What is charged for a tension because of the function: findings that are not there when the function is unknown.
fn charged_by_function(over: Chord, function: Function, degree: Degree) -> Vec<String> {
    let rules = RuleSet::standard();
    let voicing = with_tension(over, degree);
    let known = Situation { function: Some(function), ..Situation::default() };
    let without = rules.judge(over, &voicing);
    let with = rules.judge_for(over, &known).judge(&voicing);
    let earlier: BTreeSet<&String> = without.findings.iter().map(|finding| &finding.rule).collect();
    let more = with.findings.iter().filter(|finding| !earlier.contains(&finding.rule));
    more.map(|finding| {
        assert!(
            matches!(finding.effect, Effect::Cost(_)),
            "a function charges, it does not forbid: {finding:?}"
        );
        assert_eq!(finding.degrees, [degree]);
        finding.rule.clone()
    })
    .collect()
}

/// None of the published tensions is charged, every tension that no source grants is; in all twelve keys.
#[test]
fn all_functions_charge_exactly_the_tensions_that_are_not_published() {
    for Row { function, chord: symbol, published, also, .. } in ROWS {
        let function: Function = function.parse().unwrap();
        let granted = degrees(published).union(degrees(also));
        for root in ROOTS {
            // The function stays what it is: the key moves along with the chord.
            let over = chord(symbol).on_root(note(root));
            let charged: DegreeSet = degrees(TENSIONS)
                .iter()
                .filter(|degree| !charged_by_function(over, function, *degree).is_empty())
                .collect();
            assert_eq!(charged, degrees(TENSIONS).difference(granted), "{function}, {over}");
        }
    }
}

/// All functions of the table but the dominant of the major tonic restrict something.
#[test]
fn all_functions_but_the_dominant_of_major_restrict() {
    for Row { function, chord: symbol, .. } in ROWS {
        let function: Function = function.parse().unwrap();
        let charges = |degree| !charged_by_function(chord(symbol), function, degree).is_empty();
        let restricts = degrees(TENSIONS).iter().any(charges);
        assert_eq!(restricts, function != Function::ToTonicMajor, "{function}");
    }
}

/// Dominants of other major and minor chords follow the quality of their target: dominants of minor chords take b9 #9
/// b13, dominants of major chords 9 13 (notes of a Berklee first-year harmony course, 2008). Unresolved dominants on
/// other degrees are left untested by the handbook; the set charges nothing there.
#[test]
fn ok_functions_outside_the_table_follow_the_target() {
    let charged = |function: Function| -> DegreeSet {
        let over = chord("Eb7");
        degrees(TENSIONS).iter().filter(|d| !charged_by_function(over, function, *d).is_empty()).collect()
    };
    assert_eq!(charged(Function::ToMinor), charged(Function::ToSix));
    assert_eq!(charged(Function::ToMajor), charged(Function::ToFour));
    assert_eq!(charged(Function::Static), DegreeSet::EMPTY);
}

/// A tension that the symbol asks for is never charged for what the chord does.
#[test]
fn all_written_tensions_are_granted() {
    for Row { function, chord: symbol, .. } in ROWS {
        let function: Function = function.parse().unwrap();
        for degree in degrees(TENSIONS).iter() {
            let written = chord(symbol).with_tensions([degree]).unwrap();
            assert_eq!(charged_by_function(written, function, degree), Vec::<String>::new(), "{written}");
        }
    }
}

/// The key notes of each row: the notes of C major that are no chord tones, as functions of the dominant; and, where
/// the handbook gives it, of harmonic C minor.
#[test]
fn all_key_notes_are_as_tabled() {
    let names = |text: &str| -> PitchSet { text.split(' ').map(|name| note(name).pitch_class()).collect() };
    let key_notes = |symbol: &str, key: &str| -> DegreeSet {
        let over = chord(symbol);
        let outside = names(key).difference(over.pitch_set());
        outside.iter().map(|class| over.degree_of(class)).collect()
    };
    for Row { chord: symbol, key_notes: tabled, function, .. } in ROWS {
        assert_eq!(key_notes(symbol, "C D E F G A B"), degrees(tabled), "{function}");
    }
    assert_eq!(key_notes("G7", "C D Eb F G Ab B"), degrees("b9 11 b13")); // harmonic
    assert_eq!(key_notes("G7", "C D Eb F G Ab Bb"), degrees("b9 #9 11 b13")); // natural
    assert_eq!(key_notes("G7", "C D Eb F G A B"), degrees("9 11 b13")); // melodic
}

/// Nettles, *Harmony 3*, 2007 edition, p. 4: on the five secondary dominants of a major key, key notes serve as tensions
/// except scale degree 4 of the chord, the root of its target. Computed in the handbook: that gives the Summation's
/// list plus #9 on V7/ii and V7/V, #11 on V7/iii, and the maj7 on V7/IV, never a tension.
#[test]
fn ok_diatonic_rule_gives_the_published_list_and_three_more() {
    for (function, more) in
        [("V7/ii", "#9"), ("V7/iii", "#11"), ("V7/IV", "maj7"), ("V7/V", "#9"), ("V7/vi", "")]
    {
        let row = ROWS.iter().find(|row| row.function == function).unwrap();
        let by_rule = degrees(row.key_notes).without(Degree::Eleven);
        assert_eq!(by_rule, degrees(row.published).union(degrees(more)), "{function}");
    }
}

/// Traps 1 and 9 of the handbook, part 2: the diatonic rule fails on the substitute dominant, where it gives the
/// altered set while the published one is Lydian b7; and #9, diatonic on V7/V, is on no list.
#[test]
fn ok_set_does_not_fall_into_the_diatonic_traps() {
    let charged = |symbol: &str, function: Function, degree: Degree| {
        !charged_by_function(chord(symbol), function, degree).is_empty()
    };
    for degree in [Degree::FlatNine, Degree::SharpNine, Degree::FlatThirteen] {
        assert!(charged("Db7", Function::Substitute, degree), "{degree}");
    }
    assert!(!charged("Db7", Function::Substitute, Degree::SharpEleven));
    assert!(charged("D7", Function::ToFive, Degree::SharpNine));
    assert!(charged("B7", Function::ToThree, Degree::SharpEleven));
}
