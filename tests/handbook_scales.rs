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

use overshell::chord::scale::{NoteReason, Role, ScaleReason, scales_in};
use overshell::chord::{
    AvoidPolicy, Chord, Degree, DegreeSet, Family, Fifth, Function, Key, Mode, Quality, Scale, Seventh,
    Source, Third, chord, scales_for,
};
use overshell::pitch::{NoteName, PitchSet, note};
use overshell::voicing::{Triad, TriadKind};

use AvoidPolicy::{Nettles, WholeStep};
use Mode::{Major, Minor};
use Source::{
    BerkleeNotes, CommonPractice, Haerle, Handout, Levine, Newsgroup, NewsgroupCitingBerklee,
    OpenMusicTheory, Summation, Terefenko, Wikipedia,
};
use Where::{All, In, On};

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

/// Where a row of [`BY_FUNCTION`] holds: in keys of this mode, or with the root so many semitones above a known tonic.
#[derive(Clone, Copy, Debug)]
enum Where {
    All,
    In(Mode),
    On(&'static [u8]),
}

/// The published scales by function. Degrees of a major key: *Open Music Theory*, "Chord-scale theory"; i: Haerle, *The
/// Jazz Language*; bII and bVI: common practice. Dominants: "Chord Scale Summation", Wikipedia, notes of a Berklee course,
/// reading notes of Terefenko, *Jazz Theory*, a handout, a newsgroup: part 2, section 1, column "scale, published", and
/// for what the newsgroup says of bII7 II7 bIII7 IV7 bV7 bVI7 bVII7 the notes of the row II7.
#[rustfmt::skip]
const BY_FUNCTION: &[(&str, Where, &str, &[Source])] = &[
    ("I", In(Major), "Ionian", &[OpenMusicTheory]),
    ("ii", In(Major), "Dorian", &[OpenMusicTheory]),
    ("iii", In(Major), "Phrygian", &[OpenMusicTheory]),
    ("IV", In(Major), "Lydian", &[OpenMusicTheory]),
    ("vi", In(Major), "Aeolian", &[OpenMusicTheory]),
    ("vii", In(Major), "Locrian", &[OpenMusicTheory]),
    ("i", All, "melodic minor", &[Haerle]),
    ("bII", All, "Lydian", &[CommonPractice]),
    ("bVI", All, "Lydian", &[CommonPractice]),
    ("V7/I", All, "Mixolydian", &[Summation, OpenMusicTheory]),
    ("V7/i", All, "Mixolydian b9 b13", &[NewsgroupCitingBerklee, Wikipedia]),
    ("V7/i", All, "Mixolydian b9 #9 b13", &[Summation]),
    ("V7/i", All, "altered", &[Summation]),
    ("V7/ii", All, "Mixolydian b13", &[Summation]),
    ("V7/ii", All, "Mixolydian b9 #9 b13", &[BerkleeNotes]),
    ("V7/iii", All, "Mixolydian b9 b13", &[Summation, Wikipedia]),
    ("V7/iii", All, "Mixolydian b9 #9 b13", &[Summation]),
    ("V7/IV", All, "Mixolydian", &[Summation]),
    ("V7/V", All, "Mixolydian", &[Summation]),
    ("V7/vi", All, "Mixolydian b9 b13", &[Summation, Wikipedia]),
    ("V7/vi", All, "Mixolydian b9 #9 b13", &[Summation]),
    ("V7/vi", All, "Mixolydian b13", &[Terefenko]),
    ("V7/major", All, "Mixolydian", &[BerkleeNotes]),
    ("V7/minor", All, "Mixolydian b9 #9 b13", &[BerkleeNotes]),
    ("extended V7", All, "Mixolydian", &[Summation]),
    ("subV7", All, "Lydian b7", &[Summation, Handout]),
    ("bVII7", In(Major), "Lydian b7", &[Summation, Newsgroup]),
    ("bVII7", In(Minor), "Mixolydian", &[Summation]),
    ("bVII7", In(Minor), "Lydian b7", &[Newsgroup]),
    ("IV7", All, "Lydian b7", &[Summation, Newsgroup]),
    ("IV7", All, "Mixolydian", &[Summation]),
    ("bVI7", All, "Lydian b7", &[Summation, Newsgroup]),
    ("I7", All, "Mixolydian", &[Summation]),
    ("II7", All, "Lydian b7", &[Newsgroup]),
    ("static", On(&[1, 3, 6]), "Lydian b7", &[Newsgroup]),
];

/// The table as a whole, in both directions: for every function, without a key and in both modes, on every root, a chord
/// that all scales hold is offered by function what the rows say, in their order, and nothing else. A row for one mode
/// holds where no key is given; of two rows for one scale the first.
#[test]
fn all_scales_by_function_are_the_published_ones() {
    let bare = Quality { third: Third::None, fifth: Fifth::None, seventh: Seventh::None };
    let degrees = itertools::iproduct!(0..12, [false, true])
        .map(|(semitones, minor)| Function::Degree { semitones, minor });
    let mut said = 0;
    for function in Function::DOMINANT.into_iter().chain(degrees) {
        for key in [None, Some("C"), Some("Cm")].map(|key| key.map(|key| key.parse::<Key>().unwrap())) {
            for semitones in 0..12u8 {
                let root = (-5..=6).map(|f| NoteName::from_fifths(f).unwrap());
                let root = root.into_iter().find(|n| n.pitch_class().get() == semitones).unwrap();
                let mut expected: Vec<(Scale, &[Source])> = Vec::new();
                for (of, holds, name, sources) in BY_FUNCTION {
                    let holds = match holds {
                        All => true,
                        In(mode) => key.is_none_or(|key| key.mode() == *mode),
                        On(degrees) => key.is_some() && degrees.contains(&semitones),
                    };
                    if holds && function.to_string() == *of && expected.iter().all(|(s, _)| *s != scale(name))
                    {
                        expected.push((scale(name), sources));
                    }
                }
                let bare = Chord::new(root, bare);
                let choices = match key {
                    Some(key) => scales_in(bare, Some(function), key),
                    None => scales_for(bare, Some(function)),
                };
                let found: Vec<(Scale, &[Source])> = choices
                    .iter()
                    .filter_map(|choice| match choice.reason {
                        ScaleReason::Function { function: of, sources } => {
                            assert_eq!(of, function);
                            Some((choice.scale, sources))
                        }
                        _ => None,
                    })
                    .collect();
                assert_eq!(found, expected, "{function} on {root} in {key:?}");
                assert!(choices.iter().zip(&found).all(|(choice, (scale, _))| choice.scale == *scale));
                said += found.len();
            }
        }
    }
    assert!(said > 12 * BY_FUNCTION.len(), "{said}");
}

/// The published scales by quality: chord tones, the tensions that the scale is chosen for, source. Part 1, sections 2
/// and 3; part 2, section 1, rows V7sus4, V7sus(b9) and 7alt; the Levine rows are of readers' notes.
#[rustfmt::skip]
const BY_QUALITY: &[(&str, &str, &str, Source)] = &[
    ("Ionian", "Cmaj7", "", OpenMusicTheory),
    ("Ionian", "C6", "", CommonPractice),
    ("Dorian", "Cm7", "", OpenMusicTheory),
    ("Dorian", "Cm6", "", CommonPractice),
    ("Phrygian", "Cm7", "", OpenMusicTheory),
    ("Phrygian", "C7sus4", "b9", Levine),
    ("Phrygian", "C7sus4", "b9 b13", Terefenko),
    ("Lydian", "Cmaj7", "", OpenMusicTheory),
    ("Lydian", "Cmaj7", "#11", Levine),
    ("Lydian", "C6", "", CommonPractice),
    ("Mixolydian", "C7", "", OpenMusicTheory),
    ("Mixolydian", "C7sus4", "", Terefenko),
    ("Aeolian", "Cm7", "", OpenMusicTheory),
    ("Locrian", "Cm7b5", "", OpenMusicTheory),
    ("melodic minor", "Cm(maj7)", "", Haerle),
    ("melodic minor", "Cm6", "", CommonPractice),
    ("Dorian b2", "Cm7", "", Haerle), // the 2 avoided
    ("Dorian b2", "C7sus4", "b9", Handout),
    ("Dorian b2", "C7sus4", "b9 13", Terefenko),
    ("Lydian augmented", "Cmaj7#5", "", Haerle),
    ("Lydian b7", "C7", "#11", Haerle),
    ("Mixolydian b6", "C7", "b13", Summation),
    ("Mixolydian b6", "C7sus4", "b13", Terefenko),
    ("Locrian natural 2", "Cm7b5", "", Levine),
    ("altered", "C7(no5)", "b9 #9 #11 b13", Summation),
    ("harmonic minor", "Cm(maj7)", "", CommonPractice),
    ("Phrygian dominant", "C7", "b9 b13", Wikipedia),
    ("Phrygian dominant with #9", "C7", "b9 #9 b13", Summation),
    ("half-whole", "C7", "b9 #9 #11 13", Wikipedia),
    ("half-whole", "C7", "b9 13", Levine),
    ("whole-half", "Cdim7", "", CommonPractice),
    ("whole-half", "Cdim(maj7)", "", Levine),
    ("whole tone", "C7#5", "", CommonPractice),
    ("whole tone", "C+", "", CommonPractice),
];

#[test]
fn all_scales_by_quality_are_the_published_ones() {
    let published: Vec<_> = BY_QUALITY
        .iter()
        .map(|(name, symbol, tensions, source)| {
            (scale(name), chord(symbol).quality(), degrees(tensions), *source)
        })
        .collect();
    let of = |scale: Scale| scale.serves().iter().map(move |s| (scale, s.quality, s.tensions, s.source));
    assert_eq!(Scale::ALL.into_iter().flat_map(of).collect::<Vec<_>>(), published);
}

/// Author, title, year or edition, place, and how it was read, of every source.
#[test]
fn all_citations() {
    let cited: Vec<(&str, &str)> = Source::ALL.iter().map(|s| (s.as_str(), s.citation())).collect();
    assert_eq!(
        cited,
        [
            ("Nettles", "Nettles, Harmony 3, Berklee 1987/1993, pp. 15-17, in quotations"),
            ("Haerle", "Haerle, The Jazz Language, 1980, via Wikipedia, \"Avoid note\""),
            ("Levine", "Levine, The Jazz Theory Book, Sher 1995, in readers' notes"),
            (
                "Terefenko",
                "Terefenko, Jazz Theory, Routledge 2014, abstracts and reading notes of chs 5, 8, 18"
            ),
            ("Open Music Theory", "Open Music Theory, version 2, \"Chord-scale theory\" (Kocur)"),
            ("Chord Scale Summation", "\"Chord Scale Summation\", two unsigned pages in Berklee terms"),
            ("Berklee notes", "notes of a Berklee first-year harmony course, 2008"),
            ("Wikipedia", "Wikipedia, on the Phrygian dominant and on upper structures"),
            ("handout", "\"Jazz Harmony for Improvisation\", an unsigned handout"),
            ("newsgroup", "a guitar newsgroup, on dominants that do not resolve"),
            ("newsgroup citing Berklee", "a guitar newsgroup citing Berklee, on Mixolydian b9 b13"),
            ("common practice", "common practice, no source"),
        ]
    );
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

/// Sources speak of the seventh chord, not of its triad; what is published for the triad itself goes first.
#[test]
fn ok_triads_borrow_the_scales_of_their_sevenths() {
    for (symbol, expected) in [
        ("C", "Ionian: published for `Cmaj7`, which has this triad (Open Music Theory)"),
        ("C", "Mixolydian b6: published for `C7(b13)`, which has this triad (Chord Scale Summation)"),
        ("C+", "whole tone: published for this quality (common practice)"),
        ("C+", "Lydian augmented: published for `Cmaj7#5`, which has this triad (Haerle)"),
    ] {
        let choices = scales_for(chord(symbol), None);
        let said: Vec<String> = choices.iter().map(|c| format!("{}: {}", c.scale, c.reason)).collect();
        assert!(said.contains(&expected.to_owned()), "{said:#?}");
        assert_eq!(said[0].starts_with("whole tone"), symbol == "C+");
    }
    for (_, quality) in Quality::NAMED {
        let triad = quality.seventh == Seventh::None;
        for choice in scales_for(Chord::new(NoteName::C, *quality), None) {
            match choice.reason {
                ScaleReason::Seventh { .. } => assert!(triad),
                ScaleReason::Quality { source, .. } => {
                    let of =
                        |s: &overshell::chord::scale::Served| s.quality == *quality && s.source == source;
                    assert!(choice.scale.serves().iter().any(of));
                }
                _ => {}
            }
        }
    }
}

/// Of scales that no source names, those with less to avoid go first.
#[test]
fn ok_unpublished_scales_by_what_they_avoid() {
    let named =
        |symbol| scales_for(chord(symbol), None).iter().map(|c| c.scale.to_string()).collect::<Vec<_>>();
    assert_eq!(named("C7#5")[..3], ["whole tone", "altered", "Mixolydian b6"]);
    assert_eq!(named("C7b5")[..3], ["altered", "whole tone", "Lydian b7"]); // the last has the fifth beside the b5
}

/// A client reads what a choice says.
#[test]
fn ok_serialised() {
    let choice = serde_json::to_value(scales_for(chord("Db7"), Some(Function::Substitute))[0]).unwrap();
    assert_eq!(
        choice,
        serde_json::json!({
            "scale": "Lydian b7",
            "reason": "published for `subV7` (Chord Scale Summation, handout)",
        })
    );
    let note = serde_json::to_value(Scale::Ionian.notes_over(chord("Cmaj7"), Nettles)[3]).unwrap();
    let expected = serde_json::json!({
        "degree": "11",
        "role": "avoid",
        "reason": "a semitone above the chord's `3`",
    });
    assert_eq!(note, expected);
    for role in [Role::OfChord, Role::Available, Role::Passing, Role::Avoid] {
        assert_eq!(serde_json::from_value::<Role>(serde_json::to_value(role).unwrap()).unwrap(), role);
    }
    assert_eq!(serde_json::to_value(Role::OfChord).unwrap(), "of-chord");
    for policy in AvoidPolicy::ALL {
        assert_eq!(policy.to_string().parse::<AvoidPolicy>().unwrap(), policy);
        assert_eq!(serde_json::to_value(policy).unwrap(), policy.to_string());
    }
    assert!("Riemann".parse::<AvoidPolicy>().unwrap_err().help().unwrap().contains("`whole step`"));
    assert_eq!(serde_json::from_value::<Source>(serde_json::json!("Nettles")).unwrap(), Source::Nettles);
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
