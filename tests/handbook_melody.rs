//! Melody on top against the handbook of check values, part 2, section 5: over a dominant, which major and minor
//! triads without an avoid note have each of the twelve melody notes as root, third or fifth.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "tests"
)]

use overshell::chord::{Chord, Degree, Quality, chord};
use overshell::pitch::{Pitch, PitchClass, PitchSet, note};
use overshell::rules::{RuleSet, Verdict};
use overshell::search::{Member, UnderMelody, UnderMelodyEntry, under_melody};
use overshell::voicing::{Triad, TriadKind};

const ROOTS: [&str; 12] = ["C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"];

/// The table over C7: melody, triads that have it as root, as third, as fifth; 33 in all. Content computed there,
/// that the melody is read as root, third or fifth is common practice, no source.
const TABLE: [(Degree, &str, &str, &str); 12] = [
    (Degree::Root, "Cm", "Ab Am", ""),
    (Degree::FlatNine, "Dbm", "A", "Gb Gbm"),
    (Degree::Nine, "D", "", "Gm"),
    (Degree::SharpNine, "Eb Ebm", "Cm", "Ab"),
    (Degree::Three, "", "Dbm", "A Am"),
    (Degree::Eleven, "", "", ""),
    (Degree::SharpEleven, "Gb Gbm", "D Ebm", ""),
    (Degree::Five, "Gm", "Eb", "Cm"),
    (Degree::FlatThirteen, "Ab", "", "Dbm"),
    (Degree::Thirteen, "A Am", "Gbm", "D"),
    (Degree::FlatSeven, "", "Gb Gm", "Eb Ebm"),
    (Degree::MajorSeven, "", "", ""),
];

fn dominant(root: &str) -> Chord {
    Chord::new(note(root), Quality::DOMINANT_SEVENTH)
}

/// The melody note on a degree, between C5 and B5.
fn melody_on(over: Chord, degree: Degree) -> Pitch {
    let class = degree.class_over(over.root().pitch_class());
    Pitch::from_midi(72 + class.get(), degree.name_over(over.root())).unwrap()
}

fn answer(over: Chord, melody: Pitch) -> UnderMelody {
    under_melody(over, melody, RuleSet::standard(), &Default::default()).unwrap()
}

fn serves(entry: &UnderMelodyEntry) -> bool {
    entry.verdict != Verdict::Clash && entry.degrees.iter().any(|degree| degree.is_tension())
}

fn by_keys(triads: &str, up: i32) -> Vec<(TriadKind, PitchSet)> {
    let triads = triads.split_whitespace().map(|triad| triad.parse::<Triad>().unwrap());
    let mut found: Vec<_> = triads.map(|t| (t.kind(), t.pitch_set().transpose(up))).collect();
    found.sort();
    found
}

#[test]
fn all_melody_notes_over_a_dominant_have_the_tabled_triads() {
    for root in ROOTS {
        let over = dominant(root);
        let up = i32::from(note("C").pitch_class().semitones_up_to(over.root().pitch_class()));
        let mut in_all = 0;
        for (degree, as_root, as_third, as_fifth) in TABLE {
            let answer = answer(over, melody_on(over, degree));
            for (member, triads) in Member::ALL.into_iter().zip([as_root, as_third, as_fifth]) {
                let mut found: Vec<(TriadKind, PitchSet)> = answer
                    .triads
                    .iter()
                    .filter(|entry| matches!(entry.triad.kind(), TriadKind::Major | TriadKind::Minor))
                    .filter(|entry| entry.member == member && serves(entry))
                    .map(|entry| (entry.triad.kind(), entry.triad.pitch_set()))
                    .collect();
                found.sort();
                assert_eq!(found, by_keys(triads, up), "{degree} as {member:?} over {over}");
                in_all += found.len();
            }
        }
        assert_eq!(in_all, 33, "11 triads of 3 notes over {over}");
    }
}

/// Every triad that has the note is answered for, whether it serves or not: three members of four kinds, one of the
/// augmented.
#[test]
fn all_melody_notes_are_answered_with_every_triad_that_has_them() {
    for root in ROOTS {
        let over = dominant(root);
        for (degree, ..) in TABLE {
            let melody = melody_on(over, degree);
            let answer = answer(over, melody);
            assert_eq!(answer.triads.len(), 4 * 3 + 1);
            for entry in &answer.triads {
                assert_eq!(entry.triad.classes()[entry.member as usize], melody.pitch_class());
                // What cannot be used says why.
                assert_eq!(
                    entry.findings.is_empty() && entry.verdict == Verdict::Clash,
                    entry.voicing.is_none()
                );
            }
        }
    }
}

/// The natural fourth: no triad over a dominant with its third; the chord becomes 7sus4, over which the fourth is
/// root of F, third of Dm, fifth of Bb (handbook, part 2, section 5, under the table).
#[test]
fn ok_natural_fourth_makes_a_suspension() {
    for root in ROOTS {
        let over = dominant(root);
        let melody = melody_on(over, Degree::Eleven);
        let none = answer(over, melody);
        assert!(none.triads.iter().all(|entry| entry.verdict == Verdict::Clash), "{over}");
        let suspension = none.suspension.unwrap();
        assert_eq!(suspension, Chord::new(over.root(), Quality::SEVENTH_SUSPENDED_FOURTH));
        let up = i32::from(note("C").pitch_class().semitones_up_to(over.root().pitch_class()));
        let suspended = answer(suspension, melody);
        for (member, triad) in [(Member::Root, "F"), (Member::Third, "Dm"), (Member::Fifth, "Bb")] {
            let wanted = by_keys(triad, up)[0];
            let entry = suspended
                .triads
                .iter()
                .find(|e| e.member == member && (e.triad.kind(), e.triad.pitch_set()) == wanted)
                .unwrap();
            assert_ne!(entry.verdict, Verdict::Clash, "{triad} over {suspension}");
            assert_eq!(entry.voicing.unwrap().top().unwrap().midi(), melody.midi());
        }
    }
    let over_c = answer(chord("C7"), melody_on(chord("C7"), Degree::Eleven));
    assert_eq!(over_c.suspension, Some(chord("C7sus4")));
}

/// No other melody note asks for a suspension, and the major seventh has no triad either.
#[test]
fn all_other_melody_notes_ask_for_no_suspension() {
    for root in ROOTS {
        let over = dominant(root);
        for (degree, ..) in TABLE.into_iter().filter(|row| row.0 != Degree::Eleven) {
            let answer = answer(over, melody_on(over, degree));
            assert_eq!(answer.suspension, None, "{degree} over {over}");
            let none = answer.triads.iter().all(|entry| entry.verdict == Verdict::Clash);
            assert_eq!(none, degree == Degree::MajorSeven, "{degree} over {over}");
        }
    }
}

/// Every voicing that is offered has the melody on top and the left hand below the right; the right hand is the
/// triad, or the triad with its one note moved.
#[test]
fn all_voicings_have_the_melody_on_top() {
    for root in ROOTS {
        let over = dominant(root);
        for class in PitchClass::ALL {
            let melody = melody_on(over, over.degree_of(class));
            let answer = answer(over, melody);
            let offered = answer.triads.iter().chain(&answer.softened).filter_map(|e| e.voicing);
            let offered: Vec<_> = offered.chain(answer.plain.map(|(voicing, _)| voicing)).collect();
            assert!(!offered.is_empty());
            for voicing in offered {
                assert_eq!(voicing.top(), Some(melody), "{voicing}");
                assert_eq!(voicing.right().highest(), Some(melody), "{voicing}");
                let (left, right) = (voicing.left().highest(), voicing.right().lowest());
                assert!(left.unwrap().midi() < right.unwrap().midi(), "{voicing}");
            }
            for entry in &answer.triads {
                let Some(voicing) = entry.voicing else { continue };
                let keys: PitchSet = voicing.right().pitches().iter().map(|p| p.pitch_class()).collect();
                assert_eq!(keys, entry.triad.pitch_set(), "{voicing}");
            }
        }
    }
}

/// Softened forms never clash, are no triad themselves, and differ from the triad by one note moved by a step to a
/// chord tone or a tension. What counts as milder is common practice, no source.
#[test]
fn all_softened_forms_are_milder_and_no_triad() {
    let mut found = 0;
    for root in ROOTS {
        let over = dominant(root);
        let triads: Vec<PitchSet> = Triad::all_over(over).map(Triad::pitch_set).collect();
        for (degree, ..) in TABLE {
            let answer = answer(over, melody_on(over, degree));
            for entry in &answer.softened {
                let what = format!("{} softened over {over}", entry.triad);
                assert_ne!(entry.verdict, Verdict::Clash, "{what}");
                assert!(!entry.score.clash, "{what}");
                let voicing = entry.voicing.unwrap();
                let keys: PitchSet = voicing.right().pitches().iter().map(|p| p.pitch_class()).collect();
                assert!(!triads.contains(&keys), "{what}: {voicing}");
                let (from, to) = entry.moved.unwrap();
                assert!((1..=2).contains(&from.midi().abs_diff(to.midi())), "{what}");
                let expected: PitchSet = entry
                    .triad
                    .classes()
                    .into_iter()
                    .filter(|class| *class != from.pitch_class())
                    .chain([to.pitch_class()])
                    .collect();
                assert_eq!(keys, expected, "{what}: {voicing}");
                found += 1;
            }
        }
    }
    assert!(found > 0);
}
