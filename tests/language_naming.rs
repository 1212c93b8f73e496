//! Names of sounding keys: published equalities, laws over all 4,096 sets, and a plain twin.

#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    reason = "a test fails by panicking, also in its helpers"
)]

#[path = "../benches/plain/naming.rs"]
mod plain;

use std::collections::BTreeSet;

use overshell::chord::{Chord, DegreeSet, NamingOptions, Quality, Reading, chord, readings};
use overshell::pitch::{NoteName, PitchClass, PitchSet, note};
use overshell::voicing::{Shell, Triad};

fn keys(notes: &str) -> PitchSet {
    notes.parse().unwrap()
}

fn names(set: PitchSet, options: &NamingOptions) -> Vec<String> {
    readings(set, options).map(|reading| reading.chord().to_string()).collect()
}

fn over(bass: &str) -> NamingOptions {
    NamingOptions::over(note(bass).pitch_class())
}

#[test]
fn all_4096_sets_agree_with_the_plain_twin() {
    let mut named = 0;
    for bits in 0..4096 {
        let set = PitchSet::from_bits(bits).unwrap();
        let found: Vec<Reading> = readings(set, &NamingOptions::default()).collect();
        let fast: BTreeSet<_> = found.iter().map(shape).collect();
        assert_eq!(fast, plain::readings(set).into_iter().collect(), "{set}");
        assert_eq!(fast.len(), found.len(), "{set}");
        named += u32::from(!found.is_empty());
    }
    // The rest is the empty set, the single keys, and all twelve.
    assert_eq!(named, 4082);
}

#[test]
fn all_readings_keep_the_laws() {
    for bits in 0..4096 {
        let set = PitchSet::from_bits(bits).unwrap();
        for bass in set.iter().map(Some).chain([None]) {
            let found = readings(set, &NamingOptions { bass, ..Default::default() });
            let length = found.len();
            let found: Vec<Reading> = found.collect();
            assert_eq!(found.len(), length);
            assert!(found.is_sorted_by_key(|reading| reading.points()));
            for reading in &found {
                let chord = reading.chord();
                let own_bass = chord.bass().map(NoteName::pitch_class).into_iter().collect();
                assert!(set.is_subset(chord.pitch_set().union(own_bass)), "{set} as {chord}");
                let silent = chord.pitch_set().difference(set);
                let root = chord.root().pitch_class();
                assert!(silent.iter().all(|class| class == root || root.semitones_up_to(class) == 7));
                assert_eq!(reading.is_rootless(), silent.contains(root));
                assert_eq!(reading.missing().len(), silent.len());
                assert_eq!(reading.reasons().map(|reason| reason.points()).sum::<i32>(), reading.points());
                let lowest = chord.bass().map_or(root, NoteName::pitch_class);
                assert!(reading.is_rootless() || bass.is_none_or(|bass| bass == lowest), "{chord}");
            }
            // Names move with the keys: nothing depends on where on the keyboard a chord lies.
            if bass == Some(PitchClass::constant(0)) {
                for up in 1..12 {
                    let moved = NamingOptions { bass: bass.map(|bass| bass.up(up)), ..Default::default() };
                    let moved = readings(set.transpose(up), &moved);
                    assert!(found.iter().map(shape).eq(moved.map(|r| {
                        let (root, quality, tensions) = shape(&r);
                        (root.up(-up), quality, tensions)
                    })));
                }
            }
        }
    }
}

fn shape(reading: &Reading) -> (PitchClass, Quality, DegreeSet) {
    let chord = reading.chord();
    (chord.root().pitch_class(), chord.quality(), chord.tensions())
}

/// The sounding symbol of an upper structure over a shell is the first answer for the written chord, and for a dominant
/// with its third also where only the root is known.
#[test]
fn all_upper_structures_are_named_first() {
    let (mut written_count, mut root_count) = (0, 0);
    let mut differ = BTreeSet::new();
    for (suffix, quality) in Quality::NAMED {
        let written = Chord::new(NoteName::C, *quality);
        for shell in Shell::ALL {
            let Some(below) = shell_keys(shell, written) else { continue };
            for triad in Triad::all_over(written) {
                let set = below.union(triad.pitch_set());
                let Some(sounding) = written.sounding(set) else { continue };
                let mut found = readings(set, &NamingOptions::played_for(written));
                assert_eq!(found.next().unwrap().chord(), sounding, "{triad} over C{suffix}");
                assert!(found.all(|reading| reading.chord() != sounding));
                written_count += 1;
                let guided = [0, 4, 10].into_iter().all(|key| set.contains(PitchClass::constant(key)));
                if *quality == Quality::DOMINANT_SEVENTH && guided {
                    let first = readings(set, &NamingOptions::on(PitchClass::constant(0))).next().unwrap();
                    if first.chord() != sounding {
                        differ.insert(format!("{triad}: {} for {sounding}", first.chord()));
                    }
                    root_count += 1;
                }
            }
        }
    }
    assert_eq!((written_count, root_count), (7_456, 134));
    // Where nobody says that the fifth is perfect, an augmented one explains these keys more simply.
    assert_eq!(differ, BTreeSet::from(["C+: C7#5 for C7(b13)".to_owned()]));
}

fn shell_keys(shell: Shell, chord: Chord) -> Option<PitchSet> {
    let degrees = shell.degrees(chord)?;
    Some(degrees.into_iter().map(|degree| degree.class_over(chord.root().pitch_class())).collect())
}

/// Four-note chords by their bass; published equalities: Open Music Theory and the reharmonisation identities
/// (computed from the definitions): Dm7 = F6, Bm7b5 = Dm6 = G9 without root, Dm7b5 = Fm6 = Bb9 without root.
#[test]
fn ok_same_notes() {
    for (notes, bass, expected) in [
        ("D F A C", "D", "Dm7"),
        ("D F A C", "F", "F6"),
        ("B D F A", "B", "Bm7b5"),
        ("B D F A", "D", "Dm6"),
        ("D F Ab C", "D", "Dm7b5"),
        ("D F Ab C", "F", "Fm6"),
        ("C E G# B", "C", "Cmaj7#5"),
        ("B D F Ab", "B", "Bdim7"),
        ("B D F Ab", "D", "Ddim7"),
        ("C F G", "C", "Csus4"),
        ("C F G", "F", "Fsus2"),
        ("C E G#", "E", "E+"),
        ("C E G", "E", "C/E"),
        ("C E G Bb", "Bb", "C7/Bb"),
        ("C G", "C", "C5"),
        ("C E G A D", "C", "C6/9"),
        ("C F A", "C", "F/C"),
        ("C Eb Ab", "C", "Ab/C"),
        // Levine's chart of slash chords (second-hand): E/C, Eb/C, Bb/C, B/C.
        ("C Eb G Bb", "C", "Cm7"),
        ("C Bb D F", "C", "C9sus4"),
        ("C B D# F#", "C", "Cdim(maj7)"),
        ("C E G# Bb", "C", "C7#5"),
        ("C E Gb Bb", "C", "C7b5"),
        ("C E Gb Bb", "Gb", "F#7b5"),
        ("C F A", "A", "F/A"),
    ] {
        assert_eq!(names(keys(notes), &over(bass))[0], expected, "{notes} over {bass}");
    }
    for (notes, rootless) in [
        ("B D F A", "G9"),
        ("D F Ab C", "Bb9"),
        ("E G B D", "Cmaj9"),
        ("F A C E", "Dm9"),
        ("Eb G B D", "Cm(maj9)"),
        ("B E F A", "G13"),
        ("B E F A", "Db7(#9,b13)"),
        ("B D F Ab", "G7(b9)"),
        ("B D F Ab", "Bb7(b9)"),
        ("B D F Ab", "Db7(b9)"),
        ("B D F Ab", "E7(b9)"),
        ("Ab B Eb F", "G7(b9,b13)"),
        ("Ab B Eb F", "Db9"),
        ("E Bb", "C7"),
        ("E Bb", "F#7"),
    ] {
        let mut found = readings(keys(notes), &NamingOptions::default());
        let reading = found.find(|reading| reading.chord().to_string() == rootless);
        assert!(reading.is_some_and(|reading| reading.is_rootless()), "{rootless} in {notes}");
    }
}

/// Voicings as pianists play them, lowest note first: the name that a good musician gives (common practice, no source).
/// Each row is decided by a reason or two; a change of the points that turns one of them must be argued.
#[test]
fn ok_first_names_of_voicings() {
    for (notes, name) in [
        // Triads and sixths in inversion.
        ("Eb G C", "Cm/Eb"),
        ("C E A", "Am/C"),
        ("C Eb A", "Adim/C"),
        ("G C E", "C/G"),
        ("C E G A", "C6"),
        ("C E G A D", "C6/9"),
        ("C Eb G A D", "Cm6/9"),
        ("D F A B", "Dm6"),
        // Dominants in inversion, not diminished chords with additions.
        ("B F Ab D G", "G7(b9)/B"),
        ("D F Ab B G", "G7(b9)/D"),
        ("F Ab B D G", "G7(b9)/F"),
        ("Ab B D F G", "G7(b9)/Ab"),
        ("B D F G A", "G9/B"),
        ("B D F G Bb", "G7(#9)/B"),
        ("B D G F", "G7/B"),
        ("Bb C E G", "C7/Bb"),
        ("B D F Ab", "Bdim7"),
        // Altered dominants on their root.
        ("C E Bb Db Ab", "C7(b9,b13)"),
        ("C E Bb Db Eb Gb Ab", "C7alt"),
        ("C Bb Eb Ab E", "C7(#9,b13)"),
        ("C E G# Bb", "C7#5"),
        ("C E Gb Bb", "C7b5"),
        ("C E G# Bb D", "C9(b13)"),
        ("C Bb Eb E Gb", "C7(#9,#11)"),
        // Suspensions.
        ("G C F Ab D", "G7sus4(b9)"),
        ("G F Ab C", "G7sus4(b9)"),
        ("G F Ab C E", "G13sus4(b9)"),
        ("C F Bb D G", "C9sus4"),
        ("C F G", "Csus4"),
        ("C D G", "Csus2"),
        ("C F G B", "Cmaj7sus4"),
        // No third, and triads over a bass of their own.
        ("C G Bb", "C7(no3)"),
        ("C G B", "Cmaj7(no3)"),
        ("C G", "C5"),
        ("C G B D", "G/C"),
        ("F C E G", "C/F"),
        ("A E G B", "Em/A"),
        ("C F# A# C#", "F#/C"),
        ("C A C# E", "A/C"),
        // With or without their root.
        ("E A Bb D", "C13"),
        ("B E F A", "G13"),
        ("E Bb D", "C9"),
        ("Bb D E A", "Bbmaj7(#11)"),
        ("F A C E", "Fmaj7"),
        ("E G Bb D", "Em7b5"),
        ("E G B D", "Em7"),
        // Minor chords with much above.
        ("D G C F A", "Dm7(11)"),
        ("C Eb G Bb D F", "Cm11"),
        ("C Eb G B D", "Cm(maj9)"),
        ("C E Bb A D F#", "C13(#11)"),
        ("C E G B D F# A", "Cmaj13(#11)"),
        ("C D E G", "C(add9)"),
        ("G C D E", "C(add9)/G"),
        // Two keys; a name before none; the nearest root above the bass among equals.
        ("C F", "F5/C"),
        ("G C", "C5/G"),
        ("C Eb", "Cm"),
        ("E C Eb Gb", "Ab7(b13)"),
        ("C Gb", "D7"),
    ] {
        let bass = notes.split(' ').next().unwrap();
        assert_eq!(names(keys(notes), &over(bass))[0], name, "{notes}");
    }
}

/// With the written chord, its rootless left hands are that chord, whatever lies lowest.
#[test]
fn ok_rootless_left_hands_of_a_written_chord() {
    for (notes, written, name) in [
        ("E A Bb D", "C7", "C13"),
        ("Bb D E A", "C7", "C13"),
        ("Bb D E G", "C7", "C9"),
        ("F A C E", "Dm7", "Dm9"),
        ("C E F A", "Dm7", "Dm9"),
        ("E G B D", "Cmaj7", "Cmaj9"),
        ("Bb Eb E Ab", "C7alt", "C7(#9,b13)"),
        ("E Ab Bb Db Eb Gb", "C7alt", "C7alt"),
    ] {
        let reading = readings(keys(notes), &NamingOptions::played_for(chord(written))).next().unwrap();
        assert!(reading.is_as_written());
        assert_eq!(reading.chord().to_string(), name, "{notes}");
    }
    // Both sevenths at once: no symbol on C says that.
    assert_eq!(readings(keys("C E G B Bb"), &NamingOptions::played_for(chord("C7"))).len(), 0);
}

/// Without a bass the chords of the key come first among equals.
#[test]
fn ok_the_key_breaks_ties() {
    let first = |notes: &str, key: &str| {
        names(keys(notes), &NamingOptions { key: Some(key.parse().unwrap()), ..Default::default() })[0]
            .clone()
    };
    assert_eq!(first("B F", "C"), "G7");
    assert_eq!(first("B F", "Gb"), "Db7");
    assert_eq!(first("C D G", "C"), "Gsus4"); // a fourth before a second, wherever the tonic is
    assert_eq!(first("C E G#", "C"), "C+");
    assert_eq!(first("C E G#", "A"), "E+");
}

#[test]
fn ok_roots_are_spelled_in_the_key() {
    let set = keys("Gb Bb Db");
    assert_eq!(names(set, &NamingOptions::default())[0], "F#");
    let in_db = NamingOptions { key: Some("Db".parse().unwrap()), ..Default::default() };
    assert_eq!(names(set, &in_db)[0], "Gb");
    assert_eq!(names(keys("C E Bb D F# A"), &NamingOptions::played_for(chord("C7")))[0], "C13(#11)");
    assert!(names(keys("C"), &NamingOptions::default()).is_empty());
    assert!(names(PitchSet::EMPTY, &NamingOptions::default()).is_empty());
}

/// The texts of the reasons, as people see them.
#[test]
fn ok_every_reason_reads_well() {
    let reasons = |notes: &str, name: &str, options: &NamingOptions| {
        let reading =
            readings(keys(notes), options).find(|reading| reading.chord().to_string() == name).unwrap();
        itertools::join(reading.reasons(), "; ")
    };
    let any = NamingOptions::default();
    for (notes, name, options, expected) in [
        ("C E G", "C", any, "nothing is missing or added"),
        ("C E", "C", any, "the fifth does not sound"),
        (
            "E Bb D A",
            "C13",
            any,
            "the root does not sound; the 13 stands in for the fifth; the 9 is added; the 13 is added",
        ),
        (
            "A Bb D E",
            "C13",
            over("A"),
            "the root does not sound; the 13 is in the bass, not third or seventh; \
          the 13 stands in for the fifth; the 9 is added; the 13 is added",
        ),
        ("C F G", "Csus4", any, "the 4 stands in for the third"),
        ("C G", "C5", any, "there is no third"),
        ("C E G A", "C6", any, "a sixth stands in for the seventh"),
        ("C Eb G B", "Cm(maj7)", any, "the quality is rare"),
        ("C E G# Bb", "C7#5", any, "the fifth is a #5"),
        ("C Eb G# Bb", "Cm7#5", any, "the quality is not usual"),
        ("C F Gb Bb", "C7b5sus4", any, "the 4 stands in for the third; the quality has no name"),
        ("C E G D", "C(add9)", any, "the 9 is added; no seventh stands below the 9"),
        ("C E G B F#", "Cmaj7(#11)", any, "the #11 is added to a chord that is no dominant"),
        ("C E G Bb F#", "C7(#11)", any, "the #11 is added"),
        ("C E G Bb F", "C7(11)", any, "the 11 is added; the 11 lies a semitone above a chord tone"),
        ("C Eb Gb A D", "Cdim7(9)", any, "the 9 is added; the 9 stands over a diminished fifth"),
        ("C Eb Gb Bb F", "Cm7b5(11)", any, "the 11 is added; the 11 stands over a diminished fifth"),
        (
            "C E G# Bb D",
            "C9#5",
            any,
            "the fifth is a #5; the 9 is added; a tension stands beside the altered fifth",
        ),
        ("C E G Bb", "C7/E", over("E"), "the 3 is in the bass"),
        ("C E G Bb D", "C9/D", over("D"), "the 9 is added; the 9 is in the bass, a tension"),
        ("C F# A# C#", "F#/C", over("C"), "the bass does not belong to the chord"),
        (
            "C Bb D",
            "C9",
            NamingOptions::played_for(chord("C7")),
            "it is the written chord with what sounds above it; the 3 does not sound; the fifth does not sound; \
             the 9 is added",
        ),
    ] {
        assert_eq!(reasons(notes, name, &options), expected, "{notes}");
    }
}
