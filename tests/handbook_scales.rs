//! Scales, available tensions and avoid notes against the handbook of check values: part 1, sections 2 and 3, and part
//! 2, sections 1 and 2, by the source of each row.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "tests"
)]

use overshell::chord::scale::{NoteReason, Role, ScaleReason};
use overshell::chord::{AvoidPolicy, Chord, Degree, DegreeSet, Function, Scale, Source, chord, scales_for};
use overshell::pitch::{NoteName, PitchSet, note};
use overshell::voicing::{Triad, TriadKind};

use AvoidPolicy::{Levine, Nettles, WholeStep};

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
    for policy in [Nettles, Levine] {
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
        assert_eq!(scale(name).avoid(chord(symbol), Levine), degrees(avoid), "{name}");
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
        ("Cm7", "Dorian", Levine, "Dm F Gm Adim Bb".to_owned()),
        ("Cm7", "Phrygian", Nettles, String::new()),
        ("Cm6", "melodic minor", WholeStep, "Dm Eb+ F G Bdim".to_owned()),
        ("Cm6", "Dorian", WholeStep, "Dm F".to_owned()),
        ("Cm(maj7)", "melodic minor", Nettles, "Dm F G Adim Bdim".to_owned()),
        ("Cm(maj7)", "harmonic minor", Nettles, "G Bdim".to_owned()),
        ("Cm7b5", "Locrian", Nettles, "Fm Ab".to_owned()),
        ("Cm7b5", "Locrian natural 2", Nettles, "Ddim D+ Fm Ab Bb".to_owned()),
        ("Cdim7", "whole-half", Nettles, "D Dm Ddim F Fm Fdim Ab Abm Abdim B Bm Bdim".to_owned()),
        ("C7sus4", "Mixolydian", Nettles, SUSPENDED.to_owned()),
        ("C7sus4", "Mixolydian", Levine, format!("{SUSPENDED} C Edim Am")),
        ("C7sus4(b9)", "Phrygian", Nettles, FLAT_NINE.to_owned()),
        ("C7sus4(b9)", "Phrygian", Levine, format!("{FLAT_NINE} Cm Db Eb Fm Ab")),
        ("C7sus4(b9)", "Dorian b2", Levine, "Cm Db+ Eb F Gdim Adim Bbm".to_owned()),
        ("Cmaj7#5", "Lydian augmented", Nettles, "Abdim Bm".to_owned()),
        ("Cmaj7#5", "Lydian augmented", Levine, "Abdim Bm D F#dim Am".to_owned()),
    ] {
        assert_eq!(triads(symbol, scale(name), policy), by_keys(&expected), "{symbol}, {name}");
    }
}

/// Part 2, section 1, column "scale, published": each is offered for its function, with its source, wherever it holds
/// the chord, in all keys; the first offered is the Summation's own, or the one named here.
#[test]
fn all_published_scales_are_offered_for_their_function() {
    const S: Source = Source::Summation;
    for (function, symbol, published) in [
        ("V7/I", "G7", vec![("Mixolydian", S), ("Mixolydian", Source::OpenMusicTheory)]),
        (
            "V7/i",
            "G7",
            vec![
                ("Phrygian dominant", Source::Newsgroup),
                ("Phrygian dominant", Source::Wikipedia),
                ("Phrygian dominant with #9", S),
            ],
        ),
        ("V7/i", "G7(no5)", vec![("altered", S)]),
        ("V7/ii", "A7", vec![("Mixolydian b13", S), ("Phrygian dominant with #9", Source::BerkleeNotes)]),
        ("V7/iii", "B7", vec![("Phrygian dominant", S), ("Phrygian dominant with #9", S)]),
        ("V7/IV", "C7", vec![("Mixolydian", S)]),
        ("V7/V", "D7", vec![("Mixolydian", S)]),
        (
            "V7/vi",
            "E7",
            vec![
                ("Phrygian dominant", S),
                ("Phrygian dominant", Source::Wikipedia),
                ("Phrygian dominant with #9", S),
                ("Mixolydian b13", Source::Terefenko),
            ],
        ),
        ("extended V7", "E7", vec![("Mixolydian", S)]),
        ("subV7", "Db7", vec![("Lydian b7", S), ("Lydian b7", Source::Handout)]),
        ("bVII7", "Bb7", vec![("Lydian b7", S), ("Mixolydian", S)]),
        ("IV7", "F7", vec![("Lydian b7", S), ("Mixolydian", S)]),
        ("bVI7", "Ab7", vec![("Lydian b7", S)]),
        ("I7", "C7", vec![("Mixolydian", S)]),
        ("II7", "D7", vec![("Lydian b7", Source::Newsgroup)]),
        ("V7/I", "G7sus4", vec![("Mixolydian", S)]),
    ] {
        let function: Function = function.parse().unwrap();
        for root in NoteName::all() {
            let choices = scales_for(chord(symbol).on_root(root), Some(function));
            let said: Vec<(Scale, Source)> = choices
                .iter()
                .flat_map(|choice| match choice.reason {
                    ScaleReason::Function { function: of, sources } if of == function => {
                        sources.iter().map(|source| (choice.scale, *source)).collect()
                    }
                    _ => Vec::new(),
                })
                .collect();
            for (name, source) in &published {
                assert!(said.contains(&(scale(name), *source)), "{function} {symbol}: {name}, {said:?}");
            }
            let first = published[0].0;
            if chord(symbol).quality().fifth_degree().is_some() {
                assert_eq!(choices[0].scale, scale(first), "{function}");
            }
        }
    }
}

/// A scale for a chord holds the chord's tones and tensions, and every scale that does is offered, but for those that are
/// published for other chords and hold a second third or seventh: all named qualities with every single tension, on all
/// roots.
#[test]
fn all_chords_get_exactly_the_scales_that_hold_them() {
    let tensions = [None].into_iter().chain(Degree::ALL.into_iter().filter(|d| d.is_tension()).map(Some));
    let mut checked = 0;
    for tension in tensions {
        for (_, quality) in overshell::chord::Quality::NAMED {
            let Ok(here) = Chord::new(NoteName::C, *quality).with_tensions(tension) else { continue };
            for root in NoteName::all() {
                let over = here.on_root(root);
                let offered: Vec<Scale> = scales_for(over, None).iter().map(|c| c.scale).collect();
                for scale in Scale::ALL {
                    let names: PitchSet = scale.names_on(root).iter().map(|n| n.pitch_class()).collect();
                    let guides = over.quality().guide_tones();
                    let second = [
                        (&[Degree::FlatThree][..], 4),
                        (&[Degree::FlatSeven, Degree::DoubleFlatSeven], 11),
                        (&[Degree::MajorSeven, Degree::DoubleFlatSeven], 10),
                    ];
                    let second = second.into_iter().any(|(degrees, up)| {
                        guides.contains_any(degrees) && names.contains(root.pitch_class().up(up))
                    });
                    let published = scale.serves().iter().any(|served| served.quality == over.quality());
                    let expected = over.pitch_set().is_subset(names) && (published || !second);
                    assert_eq!(offered.contains(&scale), expected, "{scale} {over}");
                }
                checked += 1;
            }
        }
    }
    assert!(checked > 4_000, "{checked}");
}

/// Written tensions choose the scale: the table's own column "chord".
#[test]
fn ok_first_scale_by_quality() {
    for (symbol, first) in [
        ("Cmaj7", "Ionian"),
        ("Cmaj7(#11)", "Lydian"),
        ("Cm7", "Dorian"),
        ("C7", "Mixolydian"),
        ("C7sus4", "Mixolydian"),
        ("C7sus4(b9)", "Phrygian"),
        ("Cm7b5", "Locrian"),
        ("Cm(maj7)", "melodic minor"),
        ("Cmaj7#5", "Lydian augmented"),
        ("C7(#11)", "Lydian b7"),
        ("C7(b13)", "Mixolydian b6"),
        ("C7alt", "altered"),
        ("C7(b9,b13)", "Phrygian dominant"),
        ("C7(b9,#9,b13)", "Phrygian dominant with #9"),
        ("C13(b9)", "half-whole"),
        ("Cdim7", "whole-half"),
        ("C7#5", "whole tone"),
    ] {
        assert_eq!(scales_for(chord(symbol), None)[0].scale, scale(first), "{symbol}");
    }
    assert!(scales_for(chord("C7(b9,9)"), None).is_empty());
}
