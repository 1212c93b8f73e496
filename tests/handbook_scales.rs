//! Scales, available tensions and avoid notes against the published tables, by the source of each row.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "tests"
)]

use overshell::chord::scale::{NoteReason, Role};
use overshell::chord::{AvoidPolicy, Chord, Degree, DegreeSet, Family, Quality, Scale, Source, chord};
use overshell::pitch::{NoteName, PitchSet, note};
use overshell::voicing::{Triad, TriadKind};

use AvoidPolicy::{Nettles, WholeStep};
use Source::Terefenko;

fn degrees(text: &str) -> DegreeSet {
    text.parse().unwrap()
}

fn scale(name: &str) -> Scale {
    name.parse().unwrap()
}

fn semitones(set: DegreeSet) -> Vec<u8> {
    let mut semitones: Vec<u8> = set.iter().map(Degree::semitones).collect();
    semitones.sort();
    semitones
}

/// Part 1, section 3: contents; chord; notes a semitone above a chord tone (the rule alone), and those of them that
/// texts allow on dominants.
#[test]
fn all_rows_of_the_chord_scale_table() {
    for (name, contents, chords, avoid, allowed) in [
        ("Ionian", "0 2 4 5 7 9 11", "Cmaj7 C6", "5", ""),
        ("Dorian", "0 2 3 5 7 9 10", "Cm7", "", ""),
        ("Phrygian", "0 1 3 5 7 8 10", "Cm7", "1 8", ""),
        ("Lydian", "0 2 4 6 7 9 11", "Cmaj7", "", ""),
        ("Mixolydian", "0 2 4 5 7 9 10", "C7", "5", ""),
        ("Mixolydian", "0 2 4 5 7 9 10", "C7sus4", "", ""),
        ("Aeolian", "0 2 3 5 7 8 10", "Cm7", "8", ""),
        ("Locrian", "0 1 3 5 6 8 10", "Cm7b5", "1", ""),
        ("melodic minor", "0 2 3 5 7 9 11", "Cm(maj7) Cm6", "", ""),
        ("Dorian b2", "0 1 3 5 7 9 10", "Cm7 C7sus4", "1", ""),
        ("Lydian augmented", "0 2 4 6 8 9 11", "Cmaj7#5", "9", ""),
        ("Lydian dominant", "0 2 4 6 7 9 10", "C7 C7(#11)", "", ""),
        ("Mixolydian b6", "0 2 4 5 7 8 10", "C7", "5 8", "8"),
        ("Locrian natural 2", "0 2 3 5 6 8 10", "Cm7b5", "", ""),
        ("altered", "0 1 3 4 6 8 10", "C7(no5)", "1", "1"),
        ("altered", "0 1 3 4 6 8 10", "C7alt", "", ""),
        ("Phrygian dominant", "0 1 4 5 7 8 10", "C7", "1 5 8", "1 8"),
        ("Phrygian dominant", "0 1 4 5 7 8 10", "C7(b9,b13)", "5", ""),
        ("half-whole", "0 1 3 4 6 7 9 10", "C7", "1", "1"),
        ("half-whole", "0 1 3 4 6 7 9 10", "C13(b9,#9,#11)", "", ""),
        ("whole-half", "0 2 3 5 6 8 9 11", "Cdim7", "", ""),
        ("whole tone", "0 2 4 6 8 10", "C7#5", "", ""),
    ] {
        let numbers =
            |text: &str| -> Vec<u8> { text.split_whitespace().map(|n| n.parse().unwrap()).collect() };
        let scale = scale(name);
        assert_eq!(scale.semitones(), contents.parse::<PitchSet>().unwrap(), "{name}");
        for symbol in chords.split(' ') {
            for root in NoteName::all() {
                let over = chord(symbol).on_root(root);
                assert_eq!(semitones(scale.avoid(over, WholeStep)), numbers(avoid), "{name} over {over}");
                let mut by_texts = numbers(avoid);
                by_texts.retain(|n| !numbers(allowed).contains(n));
                if (name, symbol) == ("Dorian", "Cm7") {
                    by_texts.push(9); // "none (9 per Nettles)": the thirteenth
                }
                assert_eq!(semitones(scale.avoid(over, Nettles)), by_texts, "{name} over {over}");
            }
        }
    }
    // 8-note: part 2, section 1.
    assert_eq!(scale("Phrygian dominant with #9").semitones().to_string(), "{0 1 3 4 5 7 8 10}");
}

/// Part 1, section 3, last line: Forte names (music21 10.5.1).
#[test]
fn ok_published_forte_names() {
    for (names, forte) in [
        ("Ionian|Dorian|Phrygian|Lydian|Mixolydian|Aeolian|Locrian", "7-35"),
        ("melodic minor|altered|Lydian b7|Dorian b2", "7-34"),
        ("harmonic minor", "7-32A"),
        ("harmonic major", "7-32B"),
        ("half-whole|whole-half", "8-28"),
        ("whole tone", "6-35"),
        ("augmented", "6-20"),
    ] {
        for name in names.split('|') {
            assert_eq!(scale(name).semitones().forte_name().as_str(), forte, "{name}");
        }
    }
}

/// Part 1, section 2, table by chord in C (Nettles, *Harmony 3*, pp. 15-17, via Wikipedia, "Avoid note"), and Haerle's
/// four rows of C melodic minor (*The Jazz Language*, 1980, via the same). Each scale is the key's own.
#[test]
fn all_published_modes_avoid_what_is_tabled() {
    for (symbol, name, parent, avoid, available, policy) in [
        ("Cmaj7", "Ionian", "C Ionian", "11", "9 13", Nettles),
        ("Dm7", "Dorian", "C Ionian", "13", "9 11", Nettles),
        ("Dm7", "Dorian", "C Ionian", "", "9 11 13", WholeStep),
        ("Em7", "Phrygian", "C Ionian", "b9 b13", "11", Nettles),
        ("Fmaj7", "Lydian", "C Ionian", "", "9 #11 13", Nettles),
        ("G7", "Mixolydian", "C Ionian", "11", "9 13", Nettles),
        ("Am7", "Aeolian", "C Ionian", "b13", "9 11", Nettles),
        ("Bm7b5", "Locrian", "C Ionian", "b9", "11 b13", Nettles),
        ("Cm(maj7)", "melodic minor", "C melodic minor", "", "9 11 13", WholeStep),
        ("Dm7", "Dorian b2", "C melodic minor", "b9", "11 13", WholeStep),
        ("Ebmaj7#5", "Lydian augmented", "C melodic minor", "13", "9 #11", WholeStep),
        ("F7", "Lydian b7", "C melodic minor", "", "9 #11 13", WholeStep),
    ] {
        let over = chord(symbol);
        let scale = scale(name);
        let (tonic, of) = parent.split_once(' ').unwrap();
        assert_eq!(scale.on(over.root()), of.parse::<Scale>().unwrap().on(note(tonic)), "{symbol}");
        assert_eq!(scale.avoid(over, policy), degrees(avoid), "{symbol}");
        assert_eq!(scale.available(over, policy), degrees(available), "{symbol}");
    }
}

/// Part 1, section 2, "By quality": what the rule gives over the usual scale, computed there.
#[test]
fn all_qualities_have_the_tensions_of_the_rule() {
    for (symbol, name, available) in [
        ("Cmaj7", "Ionian", "9 13"),
        ("Cmaj7", "Lydian", "9 #11 13"),
        ("C6", "Ionian", "9 maj7"),
        ("C6", "Lydian", "9 maj7 #11"),
        ("Cm7", "Dorian", "9 11 13"),
        ("Cm7", "Phrygian", "11"),
        ("Cm7", "Aeolian", "9 11"),
        ("Cm6", "melodic minor", "9 11 maj7"),
        ("Cm6", "Dorian", "9 11"),
        ("Cm(maj7)", "melodic minor", "9 11 13"),
        ("Cm(maj7)", "harmonic minor", "9 11"),
        ("C7", "Mixolydian", "9 13"),
        ("C7", "Lydian b7", "9 #11 13"),
        ("C7sus4", "Mixolydian", "9 13"),
        ("C7(no5)", "altered", "#11"),
        ("Cm7b5", "Locrian", "11 b13"),
        ("Cm7b5", "Locrian natural 2", "9 11 b13"),
        ("Cdim7", "whole-half", "9 11 b13 maj7"),
        ("C7#5", "whole tone", "9 #11"),
        ("Cmaj7#5", "Lydian augmented", "9 #11"),
    ] {
        assert_eq!(scale(name).available(chord(symbol), WholeStep), degrees(available), "{symbol} {name}");
    }
    // The b7 of Dorian is a semitone above the sixth, the third of Mixolydian over a suspension is neither.
    assert_eq!(Scale::Dorian.avoid(chord("Cm6"), WholeStep), degrees("b7"));
    assert_eq!(Scale::HarmonicMinor.avoid(chord("Cm(maj7)"), WholeStep), degrees("b13"));
    let third = Scale::Mixolydian.notes_over(chord("C7sus4"), WholeStep)[2];
    assert_eq!((third.degree, third.role, third.reason), (Degree::Three, Role::Passing, NoteReason::Neither));
}

/// Trap 9 of part 1: the rule does not license b9 and b13 on dominants; both texts' policies do, and say whose word it
/// is. On an altered chord all four are available.
#[test]
fn ok_dominants_are_the_exception() {
    for policy in [Nettles, AvoidPolicy::Levine] {
        let altered = Scale::Altered.available(chord("C7(no5)"), policy);
        assert_eq!(altered, degrees("b9 #9 #11 b13"));
        assert_eq!(Scale::Altered.avoid(chord("C7(no5)"), policy), DegreeSet::EMPTY);
    }
    let notes = Scale::HalfWhole.notes_over(chord("C7"), Nettles);
    let flat_nine = notes.iter().find(|note| note.degree == Degree::FlatNine).unwrap();
    assert_eq!(flat_nine.reason, NoteReason::Exception(Source::Terefenko));
    // No dominant may have its eleventh or major seventh by the rule or by Nettles, in any scale.
    for scale in Scale::ALL {
        for policy in [WholeStep, Nettles] {
            assert!(
                !scale.available(chord("C7"), policy).contains_any(&[Degree::Eleven, Degree::MajorSeven])
            );
        }
    }
}

/// Levine in a reader's notes: avoid 4 on Ionian, 4 on Mixolydian, 2 on Locrian; none on Dorian, Lydian, Phrygian,
/// Aeolian; none in the harmony of melodic minor.
#[test]
fn all_of_levines_modes() {
    for (name, symbol, avoid) in [
        ("Ionian", "Cmaj7", "11"),
        ("Dorian", "Cm7", ""),
        ("Phrygian", "C7sus4(b9)", ""),
        ("Lydian", "Cmaj7", ""),
        ("Mixolydian", "C7", "11"),
        ("Aeolian", "Cm7", ""),
        ("Locrian", "Cm7b5", "b9"),
        ("melodic minor", "Cm(maj7)", ""),
        ("Dorian b2", "C7sus4(b9)", ""),
        ("Lydian augmented", "Cmaj7#5", ""),
        ("Lydian b7", "C7", ""),
        ("Mixolydian b6", "C7", ""),
        ("Locrian natural 2", "Cm7b5", ""),
        ("altered", "C7alt", ""),
    ] {
        assert_eq!(scale(name).avoid(chord(symbol), AvoidPolicy::Levine), degrees(avoid), "{name}");
    }
}

/// The triads inside the scale that hold a tension, and no note but chord tones and available or written tensions.
fn triads(over: &str, scale: Scale, policy: AvoidPolicy) -> Vec<(TriadKind, PitchSet)> {
    let over: Chord = chord(over);
    let notes = scale.notes_over(over, policy);
    let free: DegreeSet = notes
        .iter()
        .filter(|n| matches!(n.role, Role::OfChord | Role::Available))
        .map(|n| n.degree)
        .collect();
    let own = over.quality().tones();
    let mut found: Vec<_> = Triad::all_over(over)
        .filter(|triad| triad.kind() != TriadKind::Suspended)
        .filter(|triad| {
            let all = triad.pitch_set().iter().map(|class| over.degree_of(class));
            all.clone().all(|d| free.contains(d)) && all.clone().any(|d| !own.contains(d))
        })
        .map(|triad| (triad.kind(), triad.pitch_set()))
        .collect();
    found.sort();
    found.dedup();
    found
}

fn by_keys(triads: &str) -> Vec<(TriadKind, PitchSet)> {
    let triads = triads.split_whitespace().map(|triad| triad.parse::<Triad>().unwrap());
    let mut found: Vec<_> = triads.map(|t| (t.kind(), t.pitch_set())).collect();
    found.sort();
    found
}

/// Part 2, section 1, "Scale sizes over C7", computed there: 11 and maj7 excluded.
#[test]
fn all_scale_sizes_over_a_dominant() {
    for (name, expected, count) in [
        ("Mixolydian", "Gm Am", 2),
        ("Lydian b7", "D D+ Gbdim Gm Am", 5),
        ("altered", "Cdim C+ Dbm Ebm Gb Ab Bbdim", 7),
        ("half-whole", "Cm Cdim Dbdim Eb Ebm Ebdim Gb Gbm Gbdim Gdim A Am Adim Bbdim", 14),
        ("whole tone", "C+ D+", 2),
        ("Mixolydian b13", "C+ Gm", 2),
        ("Phrygian dominant", "C+ Dbm Dbdim Gdim Bbdim", 5),
        ("Phrygian dominant with #9", "C+ Dbm Dbdim Gdim Bbdim Cm Eb Ab", 8),
    ] {
        let found = triads("C7", scale(name), Nettles);
        assert_eq!(found, by_keys(expected), "{name}");
        assert_eq!(found.len(), count, "{name}");
    }
}

/// Part 2, section 2, computed there: every row.
#[test]
fn all_triads_inside_the_scales_of_other_qualities() {
    const SUSPENDED: &str = "Dm F Gm Bb";
    const FLAT_NINE: &str = "Gdim Bbm";
    for (symbol, name, policy, expected) in [
        ("Cmaj7", "Ionian", Nettles, "G Am".to_owned()),
        ("Cmaj7", "Lydian", Nettles, "D F#dim G Am Bm".to_owned()),
        ("C6", "Ionian", Nettles, "Em G".to_owned()),
        ("C6", "Lydian", Nettles, "D Em F#dim G Bm".to_owned()),
        ("Cm7", "Dorian", Nettles, "Gm Bb".to_owned()),
        ("Cm7", "Aeolian", Nettles, "Gm Bb".to_owned()),
        ("Cm7", "Dorian", AvoidPolicy::Levine, "Dm F Gm Adim Bb".to_owned()),
        ("Cm7", "Phrygian", Nettles, String::new()),
        ("Cm6", "melodic minor", WholeStep, "Dm Eb+ F G Bdim".to_owned()),
        ("Cm6", "Dorian", WholeStep, "Dm F".to_owned()),
        ("Cm(maj7)", "melodic minor", Nettles, "Dm F G Adim Bdim".to_owned()),
        ("Cm(maj7)", "harmonic minor", Nettles, "G Bdim".to_owned()),
        ("Cm7b5", "Locrian", Nettles, "Fm Ab".to_owned()),
        ("Cm7b5", "Locrian natural 2", Nettles, "Ddim D+ Fm Ab Bb".to_owned()),
        ("Cdim7", "whole-half", Nettles, "D Dm Ddim F Fm Fdim Ab Abm Abdim B Bm Bdim".to_owned()),
        ("C7sus4", "Mixolydian", Nettles, SUSPENDED.to_owned()),
        ("C7sus4", "Mixolydian", AvoidPolicy::Levine, format!("{SUSPENDED} C Edim Am")),
        ("C7sus4(b9)", "Phrygian", Nettles, FLAT_NINE.to_owned()),
        ("C7sus4(b9)", "Phrygian", AvoidPolicy::Levine, format!("{FLAT_NINE} Cm Db Eb Fm Ab")),
        ("C7sus4(b9)", "Dorian b2", AvoidPolicy::Levine, "Cm Db+ Eb F Gdim Adim Bbm".to_owned()),
        ("Cmaj7#5", "Lydian augmented", Nettles, "Abdim Bm".to_owned()),
        ("Cmaj7#5", "Lydian augmented", AvoidPolicy::Levine, "Abdim Bm D F#dim Am".to_owned()),
    ] {
        assert_eq!(triads(symbol, scale(name), policy), by_keys(&expected), "{symbol}, {name}");
    }
}

/// Exceptions hold over the chords of which their source speaks and nowhere else: every scale over every quality, by both
/// texts, against the rule alone. Beside the altered tensions of dominants (part 1, section 13, trap 9) and Levine's third
/// of suspensions: the sixth of Dorian on a ii (Nettles), and Levine's modes without avoid notes.
#[test]
fn all_exceptions_are_those_of_their_source() {
    let listed = [
        (Nettles, "Dorian", "Cm", "13"),
        (Nettles, "Dorian", "Cm7", "13"),
        (AvoidPolicy::Levine, "Phrygian", "Cm", "b9 b13"),
        (AvoidPolicy::Levine, "Phrygian", "Cm7", "b9 b13"),
        (AvoidPolicy::Levine, "Phrygian", "C7sus4", "b9 #9 b13"),
        (AvoidPolicy::Levine, "Aeolian", "Cm", "b13"),
        (AvoidPolicy::Levine, "Aeolian", "Cm7", "b13"),
        (AvoidPolicy::Levine, "Dorian b2", "Cm7", "b9"),
        (AvoidPolicy::Levine, "Dorian b2", "C7sus4", "b9 #9"),
        (AvoidPolicy::Levine, "Lydian augmented", "Cmaj7#5", "13"),
        (AvoidPolicy::Levine, "Mixolydian b6", "C7", "11"),
        (AvoidPolicy::Levine, "Mixolydian b6", "C7sus4", "b13"),
    ];
    let mut differ = 0;
    for (quality, scale_, policy) in
        itertools::iproduct!(Quality::all(), Scale::ALL, [Nettles, AvoidPolicy::Levine])
    {
        let over = Chord::new(NoteName::C, quality);
        let by_rule = scale_.notes_over(over, WholeStep);
        for (note, by_rule) in scale_.notes_over(over, policy).iter().zip(by_rule) {
            let of_source = listed.iter().any(|(by, name, symbol, which)| {
                (*by, scale(name), chord(symbol).quality()) == (policy, scale_, quality)
                    && degrees(which).contains(note.degree)
            });
            let source = match over.family() {
                _ if of_source && policy == Nettles => Some(Source::Nettles),
                _ if of_source => Some(Source::Levine),
                Family::Dominant if degrees("b9 #9 b13").contains(note.degree) => Some(Terefenko),
                Family::Suspended if policy == AvoidPolicy::Levine && note.degree == Degree::Three => {
                    Some(Source::Levine)
                }
                _ => None,
            };
            match source {
                Some(source) if note.role != by_rule.role => {
                    assert_eq!(note.reason, NoteReason::Exception(source), "{scale_} over {over}: {note:?}");
                    let expected = if source == Source::Nettles { Role::Avoid } else { Role::Available };
                    assert_eq!(note.role, expected, "{scale_} over {over}: {note:?}");
                    differ += 1;
                }
                _ => assert_eq!(*note, by_rule, "{scale_} over {over} by {policy}"),
            }
            assert!(!of_source || note.role != by_rule.role, "{scale_} over {over} by {policy}: {note:?}");
        }
    }
    assert!(differ > 100, "{differ}");
}

/// No second third or seventh is available, by whatever policy, over any chord in any scale; the major seventh of a
/// diminished seventh apart (Terefenko, ch. 5).
#[test]
fn all_second_thirds_and_sevenths_are_avoided() {
    let rivals = [("b3", "3"), ("b7", "maj7"), ("maj7", "b7"), ("bb7", "b7")]
        .map(|(own, other)| (degrees(own), degrees(other)));
    let mut beside = 0;
    for (quality, scale, policy) in itertools::iproduct!(Quality::all(), Scale::ALL, AvoidPolicy::ALL) {
        for note in scale.notes_over(Chord::new(NoteName::C, quality), policy) {
            let of = |set: DegreeSet| set.contains(note.degree);
            if rivals.iter().any(|(own, other)| own.difference(quality.tones()).is_empty() && of(*other)) {
                assert_eq!(note.role, Role::Avoid, "{scale} over {quality:?} by {policy}: {note:?}");
                beside += usize::from(matches!(note.reason, NoteReason::Beside(_)));
            }
        }
    }
    assert!(beside > 0);
}

/// A scale over a chord that is not its own.
#[test]
fn ok_foreign_chords() {
    for (name, symbol, avoid, available) in [
        ("Dorian", "Cmaj7", "11 b7", "9 13"),
        ("altered", "Cmaj7", "b9 b13 b7", "#11"),
        ("Aeolian", "C6", "11 b13 b7", "9"),
        ("Dorian", "Cm6", "b7", "9 11"), // part 2, section 2: b7 excluded
        ("whole tone", "Cmaj7#5", "b7", "9 #11"),
    ] {
        for policy in AvoidPolicy::ALL {
            assert_eq!(
                scale(name).avoid(chord(symbol), policy),
                degrees(avoid),
                "{name} over {symbol} by {policy}"
            );
            assert_eq!(
                scale(name).available(chord(symbol), policy),
                degrees(available),
                "{name} over {symbol}"
            );
        }
    }
}
