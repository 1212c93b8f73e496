//! Available tensions, avoid notes and triads over every quality against the handbook of check values: part 1,
//! section 2 and part 2, section 2.
//!
//! The rules judged here are those of the standard set that speak of notes against the chord; those that speak of
//! how voices lie, of what must sound and of hands are switched off, so that a charge is a charge against the note.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "tests"
)]

use std::sync::LazyLock;

use overshell::chord::{Chord, Degree, DegreeSet, Function, chord};
use overshell::pitch::{Pitch, PitchSet, note};
use overshell::rules::{Effect, Judgement, RuleSet, Situation, Verdict};
use overshell::voicing::{Hand, Inversion, Shell, Spacing, Triad, TriadKind, Voicing};

const ROOTS: [&str; 12] = ["C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"];

static HARMONY: LazyLock<RuleSet> = LazyLock::new(|| {
    RuleSet::from_toml(
        "harmony.toml",
        r#"
            format = 1
            name = "harmony"
            extends = ["standard"]
            colour-threshold = 1
            off = [
                "unusual-triad", "third-missing", "seventh-missing", "root-missing", "altered-fifth-missing",
                "fifth-of-triad-missing", "written-tension-missing", "left-hand-thin", "right-hand-thin",
                "bass-missing", "doubled-guide-tone", "doubled-tension", "doubled-root-or-fifth", "minor-ninth",
                "minor-ninth-and-octave", "semitone-on-top", "semitone-inside", "whole-tone-on-top",
                "gap-between-hands", "gap-under-melody", "right-thumb-compass", "highest-note",
                "left-hand-floor", "left-hand-ceiling", "low-interval-limit", "reach-small", "reach-medium",
                "reach-large", "melody-rubs-later", "left-hand-motion", "right-hand-motion",
            ]
        "#,
    )
    .unwrap()
});

fn degrees(text: &str) -> DegreeSet {
    text.parse().unwrap()
}

/// Root, third and seventh, or root and third where there is no seventh.
fn left_hand(over: Chord) -> Hand {
    let shells = [Shell::RootThirdSeventh, Shell::RootThird];
    shells.iter().find_map(|shell| shell.hand_from(over, 45)).unwrap()
}

/// The shell in the left hand; in the right one degree, above the chord's fifth where that is altered and so part
/// of what the degree is heard against.
fn with_degree(over: Chord, degree: Degree) -> Voicing {
    let left = left_hand(over);
    let root = over.root().pitch_class();
    let altered = [Degree::FlatFive, Degree::SharpFive].into_iter().filter(|d| over.tones().contains(*d));
    let mut floor = left.highest().unwrap().midi();
    let mut pitches = Vec::new();
    for degree in altered.chain([degree]) {
        let name = degree.name_over(over.root());
        let up = (12 + degree.class_over(root).get() - floor % 12) % 12;
        floor += if up == 0 { 12 } else { up };
        pitches.push(Pitch::from_midi(floor, name).unwrap());
    }
    Voicing::new(left, Hand::new(pitches).unwrap()).unwrap()
}

fn judge(over: Chord, function: Option<Function>, voicing: &Voicing) -> Judgement {
    HARMONY.judge_for(over, &Situation { function, ..Situation::default() }).judge(voicing)
}

/// What the set says of a degree: forbidden, charged for, credited. A degree may be both charged and credited.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Word {
    clash: bool,
    cost: bool,
    colour: bool,
}

fn word(over: Chord, function: Option<Function>, degree: Degree) -> Word {
    let judgement = judge(over, function, &with_degree(over, degree));
    let clash = judgement.verdict == Verdict::Clash;
    Word { clash, cost: judgement.cost > 0, colour: judgement.colour > 0 }
}

/// A chord in C as a source tables it.
struct Row {
    source: &'static str,
    chord: &'static str,
    function: Option<&'static str>,
    avoid: &'static str,
    available: &'static str,
}

const fn row(
    source: &'static str,
    chord: &'static str,
    function: Option<&'static str>,
    avoid: &'static str,
    available: &'static str,
) -> Row {
    Row { source, chord, function, avoid, available }
}

const NETTLES: &str =
    "Nettles, Harmony 3, Berklee 1987/1993, pp. 15-17, via Wikipedia, Avoid note (older revision)";
const HAERLE: &str = "Haerle, The Jazz Language, 1980, via the same";
const RULE_A: &str = "Nettles's whole-step rule, computed over the usual scale";
const LEVINE: &str = "Levine, The Jazz Theory Book, Sher 1995, in a reader's notes";
const TEREFENKO: &str = "Terefenko, Jazz Theory, Routledge 2014, ch. 5, publisher's abstract";
const SUMMATION: &str = "Chord Scale Summation, two pages in Berklee terms";

/// Handbook, part 1, section 2 (table by chord in C, melodic-minor table, rule A by quality), and the lists of part 2,
/// section 1, for dominants, suspensions and the extensions by quality.
const ROWS: [Row; 46] = [
    // The seven seventh chords of C major.
    row(NETTLES, "Cmaj7", Some("I"), "11", "9 13"),
    row(NETTLES, "Dm7", Some("ii"), "13", "9 11"),
    row(NETTLES, "Em7", Some("iii"), "b9 b13", "11"),
    row(NETTLES, "Fmaj7", Some("IV"), "", "9 #11 13"),
    row(NETTLES, "G7", Some("V7/I"), "11", "9 13"),
    row(NETTLES, "Am7", Some("vi"), "b13", "9 11"),
    row(NETTLES, "Bm7b5", Some("vii"), "b9", "11 b13"),
    // The first four of C melodic minor.
    row(HAERLE, "Cm(maj7)", Some("i"), "", "9 11 13"),
    row(HAERLE, "Dm7", Some("ii"), "b9", "11 13"),
    row(HAERLE, "Ebmaj7#5", None, "13", "9 #11"),
    row(HAERLE, "F7", Some("IV7"), "", "9 #11 13"),
    // By quality, computed.
    row(RULE_A, "Cmaj7", None, "11", "9 13"),
    row(RULE_A, "Cmaj7", None, "", "9 #11 13"),
    row(RULE_A, "C6", None, "11", "9 maj7"),
    row(RULE_A, "C6", None, "", "9 #11 maj7"),
    row(RULE_A, "Cm7", None, "", "9 11 13"),
    row(RULE_A, "Cm7", None, "b9 b13", "11"),
    row(RULE_A, "Cm7", None, "b13", "9 11"),
    row(RULE_A, "Cm6", None, "", "9 11 maj7"),
    row(RULE_A, "Cm6", None, "b7", "9 11"),
    row(RULE_A, "Cm(maj7)", None, "", "9 11 13"),
    row(RULE_A, "Cm(maj7)", None, "b13", "9 11"),
    row(RULE_A, "C7", None, "11", "9 13"),
    row(RULE_A, "C7", None, "", "9 #11 13"),
    row(RULE_A, "C7sus4", None, "", "9 13"),
    row(RULE_A, "Cm7b5", None, "b9", "11 b13"),
    row(RULE_A, "Cm7b5", None, "", "9 11 b13"),
    row(RULE_A, "Cdim7", None, "", "9 11 b13 maj7"),
    row(RULE_A, "C7#5", None, "", "9 #11"),
    row(RULE_A, "C+", None, "", "9 #11"),
    row(RULE_A, "Cmaj7#5", None, "13", "9 #11"),
    // No avoid note in Dorian; the altered scale; Locrian with and without its natural ninth.
    row(LEVINE, "Cmaj7", None, "11", ""),
    row(LEVINE, "C7", None, "11", ""),
    row(LEVINE, "Cm7b5", None, "b9", ""),
    row(LEVINE, "Cm7", None, "", "13"),
    row(LEVINE, "C7alt", None, "", "b9 #9 #11 b13"),
    row(LEVINE, "Cmaj7#5", None, "", "9 #11 13"),
    // Extensions and alterations by quality.
    row(TEREFENKO, "Cmaj7", None, "", "9 13 #11"),
    row(TEREFENKO, "Cm7", None, "", "9 11 13 b13 #11"),
    row(TEREFENKO, "Cm7b5", None, "", "9 11 b13"),
    row(TEREFENKO, "Cdim7", None, "", "9 11 b13"),
    row(TEREFENKO, "C7", None, "", "9 13 b9 #9 #11 b13"),
    row(TEREFENKO, "C7sus4", None, "", "9 13 b9 #9 b13"),
    row(SUMMATION, "C7alt", None, "", "b9 #9 #11 b13"),
    row(SUMMATION, "C7sus4", None, "", "9 13"),
    // Dorian b2, the suspended chord with b9 written.
    row("handbook, part 2, section 1", "C7sus4(b9)", None, "", "b9 13 b13"),
];

/// Where the set knowingly differs from a source, and why. Sources disagree; the set has to choose.
const DIFFERENCES: [(&str, &str, &str, &str); 7] = [
    (
        HAERLE,
        "Dm7",
        "13",
        "Nettles avoids the thirteenth of a minor seventh: the set charges and does not credit it",
    ),
    (RULE_A, "Cm7", "13", "the same: the one exception to the whole-step rule"),
    (
        LEVINE,
        "Cm7",
        "13",
        "the same: Levine finds no avoid note in Dorian; the set charges, but does not forbid",
    ),
    (TEREFENKO, "Cm7", "13", "the same"),
    (
        TEREFENKO,
        "Cm7",
        "b13",
        "Nettles avoids it on iii and vi, and so forbids the set: a semitone above the fifth",
    ),
    (TEREFENKO, "Cm7", "#11", "Nettles does not list it: the set charges it and does not credit it"),
    (
        LEVINE,
        "Cmaj7#5",
        "13",
        "Haerle avoids the sixth a semitone above the raised fifth, and so does the set",
    ),
];

/// Avoid notes clash or cost; available tensions do not clash and colour. The list of differences is exact.
#[test]
fn all_avoid_and_available_notes_are_judged_as_tabled() {
    let mut differences = Vec::new();
    for Row { source, chord: symbol, function, avoid, available } in ROWS {
        let over = chord(symbol);
        let function = function.map(|f| f.parse::<Function>().unwrap());
        for degree in degrees(avoid).iter() {
            let word = word(over, function, degree);
            if !word.clash && !word.cost {
                differences.push((source, symbol, degree.to_string()));
            }
        }
        for degree in degrees(available).iter() {
            let word = word(over, function, degree);
            if word.clash || !word.colour {
                differences.push((source, symbol, degree.to_string()));
            }
        }
    }
    let named: Vec<_> = DIFFERENCES
        .iter()
        .map(|(source, symbol, degree, _)| (*source, *symbol, degree.to_string()))
        .collect();
    differences.sort();
    differences.dedup();
    let mut sorted = named.clone();
    sorted.sort();
    assert_eq!(differences, sorted);
}

/// The word on a note is the same in every key.
#[test]
fn all_words_are_the_same_in_twelve_keys() {
    let mut checked = 0;
    for Row { chord: symbol, function, .. } in ROWS {
        let function = function.map(|f| f.parse::<Function>().unwrap());
        let here = chord(symbol);
        for degree in here.degree_map() {
            if here.tones().contains(degree) {
                continue;
            }
            let expected = word(here, function, degree);
            for root in ROOTS {
                assert_eq!(
                    word(here.on_root(note(root)), function, degree),
                    expected,
                    "{symbol} {degree} {root}"
                );
                checked += 1;
            }
        }
    }
    assert!(checked > 0);
}

/// How the set handles what the sources disagree on, note by note.
#[test]
fn ok_disputed_notes() {
    let word_of = |symbol: &str, function: Option<&str>, degree: &str| {
        let function = function.map(|f| f.parse().unwrap());
        word(chord(symbol), function, degree.parse().unwrap())
    };
    let charged = Word { clash: false, cost: true, colour: false };
    let charged_and_credited = Word { clash: false, cost: true, colour: true };
    let credited = Word { clash: false, cost: false, colour: true };
    let forbidden = |word: Word| word.clash;
    // 13 on m7: Nettles avoids it on ii, Levine and Terefenko do not.
    assert_eq!(word_of("Dm7", Some("ii"), "13"), charged);
    // #11 on I: Nettles's diatonic rule says no, others allow it; on IV all allow it.
    assert_eq!(word_of("Cmaj7", Some("I"), "#11"), charged_and_credited);
    assert_eq!(word_of("Fmaj7", Some("IV"), "#11"), credited);
    // 9 on m7b5: Levine and Terefenko allow it, Locrian alone does not.
    assert_eq!(word_of("Bm7b5", Some("vii"), "9"), charged_and_credited);
    // b9 and b13 on dominants: the standing exception to the whole-step rule.
    assert_eq!(word_of("C7", None, "b9"), credited);
    assert_eq!(word_of("C7", None, "b13"), credited);
    // maj7 on dim7: a whole step above bb7, but Nettles prefers the diatonic tensions.
    assert_eq!(word_of("Cdim7", None, "maj7"), charged_and_credited);
    // b9 and #9 on 7sus4: Terefenko lists them, a Spanish course text says rarely.
    assert_eq!(word_of("C7sus4", None, "b9"), charged_and_credited);
    assert_eq!(word_of("C7sus4", None, "#9"), charged_and_credited);
    assert_eq!(word_of("C7sus4(b9)", None, "b9"), credited);
    // The third of 7sus4: older theory forbids it, Levine (p. 46) allows it above the fourth.
    assert_eq!(word_of("C7sus4", None, "3"), charged);
    let third_below: Voicing = "C3 E3 Bb3 | F4 A4 D5".parse().unwrap();
    assert!(judge(chord("C7sus4"), None, &third_below).verdict == Verdict::Clash);
    // 11 on a dominant or major chord with its third: every source avoids it.
    assert!(forbidden(word_of("C7", None, "11")) && forbidden(word_of("Cmaj7", None, "11")));
}

/// Nettles, *Harmony 3*, p. 15: an available tension is a whole step above a chord tone. Over the seven seventh
/// chords of C major, the notes of the key that fail this test are forbidden, all of them, and no other note of the
/// key is but the one exception, the sixth of the ii, which is charged.
#[test]
fn all_diatonic_notes_obey_the_whole_step_rule() {
    for (symbol, function) in [
        ("Cmaj7", "I"),
        ("Dm7", "ii"),
        ("Em7", "iii"),
        ("Fmaj7", "IV"),
        ("G7", "V7/I"),
        ("Am7", "vi"),
        ("Bm7b5", "vii"),
    ] {
        let over = chord(symbol);
        for name in ["C", "D", "E", "F", "G", "A", "B"] {
            let class = note(name).pitch_class();
            if over.pitch_set().contains(class) {
                continue;
            }
            let whole_step = over.pitch_set().contains(class.up(-2));
            let semitone = over.pitch_set().contains(class.up(-1));
            assert_ne!(whole_step, semitone, "the notes of a key between thirds: {name} over {symbol}");
            let word = word(over, Some(function.parse().unwrap()), over.degree_of(class));
            assert_eq!(word.clash, semitone, "{name} over {symbol}");
            let exception = symbol == "Dm7" && name == "B";
            assert_eq!(!word.clash && word.cost, exception, "{name} over {symbol}");
        }
    }
}

/// Triads over a chord by keys.
fn by_keys(triads: &str) -> Vec<(TriadKind, PitchSet)> {
    let triads = triads.split_whitespace().map(|triad| triad.parse::<Triad>().unwrap());
    let mut found: Vec<_> = triads.map(|t| (t.kind(), t.pitch_set())).collect();
    found.sort();
    found
}

fn has_tension(over: Chord, triad: Triad) -> bool {
    let own = over.quality().tones();
    triad.degrees_over(over).iter().any(|degree| !own.contains(degree))
}

/// The major, minor, diminished and augmented triads with a note that is no chord tone, over the full shell, for
/// which no inversion and no spacing clashes and every charge is for a rule of this list.
fn triads_without(over: Chord, function: Option<&str>, tolerated: &[&str]) -> Vec<(TriadKind, PitchSet)> {
    let left = left_hand(over);
    let situation = Situation { function: function.map(|f| f.parse().unwrap()), ..Situation::default() };
    let judge = HARMONY.judge_for(over, &situation);
    let mut found: Vec<_> = Triad::all_over(over)
        .filter(|triad| triad.kind() != TriadKind::Suspended && has_tension(over, *triad))
        .filter(|triad| {
            itertools::iproduct!(Inversion::ALL, Spacing::ALL).all(|(inversion, spacing)| {
                let right = triad.hand_above(inversion, spacing, left.highest().unwrap().midi()).unwrap();
                let findings = judge.judge(&Voicing::new(left, right).unwrap()).findings;
                findings.iter().all(|finding| match finding.effect {
                    Effect::Clash => false,
                    Effect::Cost(_) => tolerated.contains(&finding.rule.as_str()),
                    Effect::Colour(_) => true,
                })
            })
        })
        .map(|triad| (triad.kind(), triad.pitch_set()))
        .collect();
    found.sort();
    found
}

/// Handbook, part 2, section 2 (computed there from the chord-scale table of part 1, section 3): the rows whose
/// policy the set follows, as the triads that it leaves uncharged, or charges for no more than the rules named.
#[test]
fn ok_triads_over_other_qualities_are_as_tabled() {
    const UP_TO_13: &[&str] = &["thirteenth-on-minor-seventh"];
    for (row, symbol, function, tolerated, triads) in [
        ("maj7, Ionian", "Cmaj7", Some("I"), &[][..], "G Am"),
        ("maj7, Lydian", "Cmaj7", None, &[], "D F#dim G Am Bm"),
        ("6, Ionian", "C6", Some("I"), &[], "Em G"),
        ("6, Lydian", "C6", None, &[], "D Em F#dim G Bm"),
        ("m7, Dorian with 13 avoided, Aeolian", "Cm7", None, &[], "Gm Bb"),
        ("m7, Dorian, none avoided", "Cm7", None, UP_TO_13, "Dm F Gm Adim Bb"),
        ("m6, melodic minor", "Cm6", None, &[], "Dm Eb+ F G Bdim"),
        ("m(maj7), melodic minor", "Cm(maj7)", None, &[], "Dm F G Adim Bdim"),
        ("m7b5, Locrian", "Cm7b5", None, &[], "Fm Ab"),
        ("m7b5, Locrian natural 2", "Cm7b5", None, &["ninth-on-half-diminished"], "Ddim D+ Fm Ab Bb"),
        (
            "dim7, whole-half",
            "Cdim7",
            None,
            &["major-seventh-on-diminished"],
            "D Dm Ddim F Fm Fdim Ab Abm Abdim B Bm Bdim",
        ),
        ("7sus4, Mixolydian, 3 excluded", "C7sus4", None, &[], "Dm F Gm Bb"),
        ("7sus4, Mixolydian, 3 allowed", "C7sus4", None, &["third-in-suspension"], "Dm F Gm Bb C Edim Am"),
        // The shell has no fifth: the sixth is avoided only beside the #5, see `ok_sixth_beside_a_raised_fifth`.
        ("maj7#5, Lydian augmented, none avoided", "Cmaj7#5", None, &[], "Abdim Bm D F#dim Am"),
    ] {
        assert_eq!(triads_without(chord(symbol), function, tolerated), by_keys(triads), "{row}");
    }
}

/// Haerle avoids the sixth on the Lydian augmented, Levine does not: the set forbids it above the raised fifth, and
/// allows it where that is left out.
#[test]
fn ok_sixth_beside_a_raised_fifth() {
    let over = chord("Cmaj7#5");
    for (voicing, clashes) in [("C3 E3 B3 | G#4 A4 D5", true), ("C3 E3 B3 | A4 D5 F#5", false)] {
        let judgement = judge(over, None, &voicing.parse().unwrap());
        assert_eq!(judgement.verdict == Verdict::Clash, clashes, "{voicing}");
        assert_eq!(judgement.findings.iter().any(|f| f.rule == "thirteenth-over-raised-fifth"), clashes);
    }
}

/// The suspended chord with b9, part 2, section 2: the set follows neither Phrygian nor Dorian b2 alone but leaves
/// the triads of both uncharged.
#[test]
fn all_triads_of_phrygian_and_of_dorian_flat_two_serve_the_suspended_flat_nine() {
    let free = triads_without(chord("C7sus4(b9)"), None, &[]);
    for (scale, triads) in [
        ("Phrygian, only b9 taken", "Gdim Bbm"),
        ("Phrygian, b10 and b13 allowed", "Gdim Bbm Cm Db Eb Fm Ab"),
        ("Dorian b2, all allowed", "Cm Db+ Eb F Gdim Adim Bbm"),
    ] {
        for triad in by_keys(triads) {
            assert!(free.contains(&triad), "{scale}: {triad:?}");
        }
    }
}

/// Slash chords of Levine's chart (*The Jazz Theory Book*, as expanded in two independent lists, handbook, part 2,
/// section 2): each upper triad is no clash over the chord that the chart names.
#[test]
fn all_slash_chords_of_the_chart_serve_the_chord_they_stand_for() {
    for (triad, over) in [
        ("Db", "C7sus4(b9)"),
        ("D", "Cmaj7(#11)"),
        ("Eb", "Cm7"),
        ("E", "Cmaj7#5"),
        ("Gb", "C7(b9,#11)"),
        ("G", "Cmaj9"),
        ("Ab", "C7(#9,b13)"),
        ("A", "C13(b9)"),
        ("Bb", "C9sus4"),
        ("B", "Cdim(maj7)"),
    ] {
        let over = chord(over);
        let triad: Triad = triad.parse().unwrap();
        let left = left_hand(over);
        for (inversion, spacing) in itertools::iproduct!(Inversion::ALL, Spacing::ALL) {
            let right = triad.hand_above(inversion, spacing, left.highest().unwrap().midi()).unwrap();
            let judgement = judge(over, None, &Voicing::new(left, right).unwrap());
            assert_ne!(judgement.verdict, Verdict::Clash, "{triad} over {over}: {:?}", judgement.findings);
        }
    }
}

/// A dominant ninth suspension is its seventh's triad over the root, or the minor triad on its fifth (Wikipedia,
/// "Eleventh chord"; handbook, part 2, section 2).
#[test]
fn ok_ninth_suspensions_are_triads_over_the_root() {
    let suspended = chord("C9sus4");
    for (symbol, fifth_left_out) in [("Bb", true), ("Gm7", false)] {
        let keys = chord(symbol).pitch_set().with(note("C").pitch_class());
        let fifth = [note("G").pitch_class()].into_iter().collect();
        let expected =
            if fifth_left_out { suspended.pitch_set().difference(fifth) } else { suspended.pitch_set() };
        assert_eq!(keys, expected, "{symbol}/C");
        assert_eq!(chord("C7sus4").sounding(keys), Some(suspended), "{symbol}/C");
    }
}
