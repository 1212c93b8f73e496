//! Which scales serve which chord and function, against the published tables, by the source of each row.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "tests"
)]

use overshell::chord::scale::{Role, ScaleReason, scales_in};
use overshell::chord::{
    AvoidPolicy, Chord, Degree, DegreeSet, Fifth, Function, Key, Mode, Quality, Scale, Seventh, Source,
    Third, chord, scales_for,
};
use overshell::pitch::{NoteName, PitchSet};

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
    let note =
        serde_json::to_value(Scale::Ionian.notes_over(chord("Cmaj7"), AvoidPolicy::Nettles)[3]).unwrap();
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
