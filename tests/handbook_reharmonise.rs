//! Reharmonisation identities against the handbook of check values, part 2, section 6: arithmetic on published tables,
//! each of them swept over twelve roots.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "tests"
)]

use overshell::chord::reharmonise::{
    substitute_two_five, suspended_then_dominant, suspended_under, tritone_substitute, two_five,
};
use overshell::chord::{Chord, Degree, DegreeSet, Family, Key, Reharmonisation, Scale, chord};
use overshell::pitch::{NoteName, Pitch, PitchClass, PitchSet, note};
use overshell::search::{Progression, Slot};
use overshell::voicing::{Triad, TriadKind};

fn degrees(text: &str) -> DegreeSet {
    text.parse().unwrap()
}

/// The twelve roots, D flat to F sharp by fifths.
fn roots() -> impl Iterator<Item = NoteName> {
    (-5..=6).map(|fifths| NoteName::from_fifths(fifths).unwrap())
}

/// The chord as if written on C, on this root.
fn on(root: NoteName, symbol: &str) -> Chord {
    chord(symbol).on_root(root)
}

fn keys(chord: Chord, without: &str) -> PitchSet {
    let root = chord.root().pitch_class();
    chord.tones().difference(degrees(without)).iter().map(|degree| degree.class_over(root)).collect()
}

/// 1-#11, b9-5, 9-b13, #9-13, 3-b7, 11-maj7: both ways, as what each key means over either dominant.
#[test]
fn all_keys_over_a_dominant_and_its_substitute() {
    for root in roots() {
        let five = on(root, "C7");
        let substitute = tritone_substitute(five, None).unwrap().chords[0];
        for (here, there) in
            [("1", "#11"), ("b9", "5"), ("9", "b13"), ("#9", "13"), ("3", "b7"), ("11", "maj7")]
        {
            let (here, there): (Degree, Degree) = (here.parse().unwrap(), there.parse().unwrap());
            for (a, b) in [(here, there), (there, here)] {
                let class = a.class_over(root.pitch_class());
                assert_eq!(
                    (five.degree_of(class), substitute.degree_of(class)),
                    (a, b),
                    "{five} {substitute}"
                );
            }
        }
        let shared = five.pitch_set().intersection(substitute.pitch_set());
        assert_eq!(shared, keys(five, "1 5"), "third and seventh, no more");
        assert_eq!(five.pitch_set().union(substitute.pitch_set()).len(), 6);
    }
}

/// Every set of tensions over twelve roots: the substitute asks for the same keys, its own root and fifth apart, and the
/// substitute of the substitute is the chord again, but for a b9 and a #11 that were the root and fifth between.
#[test]
fn all_tensions_are_mapped_both_ways() {
    let mapped = [("9", "b13"), ("#9", "13"), ("13", "#9"), ("b13", "9")];
    let all = ["b9", "9", "#9", "#11", "b13", "13"].map(|d| d.parse::<Degree>().unwrap());
    let mut checked = 0;
    for root in roots() {
        for bits in 0..64u32 {
            let tensions = (0..6).filter(|i| bits >> i & 1 == 1).map(|i| all[i]);
            let five = Chord::new(root, chord("C7").quality()).with_tensions(tensions).unwrap();
            let substitute = tritone_substitute(five, None).unwrap().chords[0];
            let expected: DegreeSet = mapped
                .iter()
                .filter(|(from, _)| five.tensions().contains(from.parse().unwrap()))
                .map(|(_, to)| to.parse::<Degree>().unwrap())
                .collect();
            assert_eq!(substitute.tensions(), expected, "{five}");
            assert_eq!(substitute.quality(), five.quality());
            assert!(keys(five, "1 5").is_subset(substitute.pitch_set()), "{five}");
            let back = tritone_substitute(substitute, None).unwrap().chords[0];
            assert_eq!(back.pitch_set(), keys(five, "b9 #11"), "{five}");
            checked += 1;
        }
    }
    assert_eq!(checked, 768);
}

/// Altered fifths: a b5 is the same four keys, an altered dominant the thirteenth with its ninth.
#[test]
fn ok_altered_fifths() {
    for (five, substitute) in [("G7b5", "Db7b5"), ("G7#5", "Db9"), ("G7alt", "Db13"), ("G7(b9,b13)", "Db9")] {
        let found = tritone_substitute(chord(five), None).unwrap().chords[0];
        assert_eq!(found, chord(substitute), "{five}");
    }
    assert_eq!(chord("G7b5").pitch_set(), chord("Db7b5").pitch_set());
}

/// The twelve avoid-free major and minor triads are closed under the tritone: C-Gb, D-Ab, Eb-A, Cm-Gbm, Dbm-Gm, Ebm-Am;
/// diminished, augmented and suspended ones too.
#[test]
fn all_avoid_free_triads_are_closed_under_the_tritone() {
    let over = chord("C7");
    let free = |triad: &Triad| {
        !triad.degrees_over(over).iter().any(|d| matches!(d, Degree::Eleven | Degree::MajorSeven))
    };
    let all: Vec<Triad> = Triad::all_over(over).filter(free).collect();
    let sets =
        |kind: TriadKind| all.iter().filter(|t| t.kind() == kind).map(|t| t.pitch_set()).collect::<Vec<_>>();
    let mut plain = 0;
    for kind in [
        TriadKind::Major,
        TriadKind::Minor,
        TriadKind::Diminished,
        TriadKind::Augmented,
        TriadKind::Suspended,
    ] {
        let sets = sets(kind);
        assert!(!sets.is_empty());
        for set in &sets {
            assert!(sets.contains(&set.transpose(6)), "{kind:?} {set}");
        }
        plain += if matches!(kind, TriadKind::Major | TriadKind::Minor) { sets.len() } else { 0 };
    }
    assert_eq!(plain, 12);
    for (one, other) in [("C", "Gb"), ("D", "Ab"), ("Eb", "A"), ("Cm", "Gbm"), ("Dbm", "Gm"), ("Ebm", "Am")] {
        let set = |name: &str| name.parse::<Triad>().unwrap().pitch_set();
        assert_eq!(set(one).transpose(6), set(other));
        assert!(
            all.iter().any(|t| t.pitch_set() == set(one)) && all.iter().any(|t| t.pitch_set() == set(other))
        );
    }
}

/// Scales that are one set of keys.
#[test]
fn all_scale_identities() {
    use Scale::{Altered, HalfWhole, LydianDominant, MelodicMinor, WholeTone};
    for root in roots() {
        let up = |semitones: i32| {
            let class = root.pitch_class().up(semitones);
            roots().find(|name| name.pitch_class() == class).unwrap()
        };
        assert_eq!(Altered.on(root), LydianDominant.on(up(6)));
        assert_eq!(Altered.on(root), MelodicMinor.on(up(1)));
        assert_eq!(LydianDominant.on(root), Altered.on(up(6)));
        assert_eq!(LydianDominant.on(root), MelodicMinor.on(up(7)));
        for semitones in [3, 6, 9] {
            assert_eq!(HalfWhole.on(root), HalfWhole.on(up(semitones)));
        }
        assert_eq!(WholeTone.on(root), WholeTone.on(up(6)));
    }
    assert_eq!(Altered.on(note("G")), MelodicMinor.on(note("Ab")));
    assert_eq!(LydianDominant.on(note("G")), MelodicMinor.on(note("D")));
    // No other root gives the same keys.
    let same = |scale: Scale| roots().filter(|root| scale.on(*root) == scale.on(note("G"))).count();
    assert_eq!((same(Altered), same(HalfWhole), same(WholeTone)), (1, 4, 6));
}

/// Chords that are one set of keys, some of them without root or fifth.
#[test]
fn all_chords_of_the_same_notes() {
    for (one, without, other, leaving_out) in [
        ("G13", "1 5", "Db7(#9,b13)", "1 5"),
        ("G13(b9)", "1 5", "Db7(#9)", "1"),
        ("G7(b9,b13)", "1 5", "Db9", "1"),
        ("G7(b9,b13)", "1 5", "Fm7b5", ""),
        ("Dm7", "", "F6", ""),
        ("Bm7b5", "", "Dm6", ""),
        ("Bm7b5", "", "G9", "1"),
        ("Dm7b5", "", "Fm6", ""),
        ("Dm7b5", "", "Bb9", "1"),
        ("Em7", "", "Cmaj9", "1"),
        ("Fmaj7", "", "Dm9", "1"),
        ("Ebmaj7#5", "", "Cm(maj9)", "1"),
        ("Bdim7", "", "G7(b9)", "1"),
        ("Bdim7", "", "Bb7(b9)", "1"),
        ("Bdim7", "", "Db7(b9)", "1"),
        ("Bdim7", "", "E7(b9)", "1"),
    ] {
        assert_eq!(keys(chord(one), without), keys(chord(other), leaving_out), "{one} {other}");
    }
    let with = |symbol: &str, bass: &str| chord(symbol).pitch_set().with(note(bass).pitch_class());
    assert_eq!(with("Dm7", "G"), keys(chord("G9sus4"), ""));
    assert_eq!(with("F", "G"), keys(chord("G9sus4"), "5"));
    assert_eq!(with("Fmaj7", "G"), keys(chord("G13sus4"), "5"));
    assert_eq!(with("E", "C"), keys(chord("Cmaj7#5"), ""));
    // Lower one note of a diminished seventh by a semitone: the dominant on that note.
    for class in chord("Bdim7").pitch_set().iter() {
        let lowered = chord("Bdim7").pitch_set().difference([class].into_iter().collect()).with(class.up(-1));
        let root = roots().find(|root| root.pitch_class() == class.up(-1)).unwrap();
        assert_eq!(lowered, on(root, "C7").pitch_set());
    }
}

/// A ii and its V: two keys in common, together the scale but for one; and the substitute's own ii over the old root.
#[test]
fn all_two_fives() {
    for root in roots() {
        let five = on(root, "C7");
        let tonic = NoteName::from_fifths(root.fifths() - 1).unwrap();
        let third = |interval: Degree| interval.class_over(tonic.pitch_class());
        for (target, scale, two, missing) in [
            ("Cmaj7", Scale::Ionian, "Cm7", Degree::Three),
            ("Cm6", Scale::HarmonicMinor, "Cm7b5", Degree::FlatThree),
        ] {
            let new = two_five(five, Some(on(tonic, target))).unwrap();
            assert_eq!(new.chords[0].quality(), chord(two).quality());
            assert_eq!(new.chords[0].root().fifths(), root.fifths() + 1);
            let plain = new.chords[1].quality().tones();
            let plain: PitchSet = plain.iter().map(|d| d.class_over(root.pitch_class())).collect();
            let both = new.chords[0].pitch_set().union(plain);
            let all_but: PitchSet = scale.on(tonic).iter().filter(|class| *class != third(missing)).collect();
            assert_eq!(both, all_but, "{target} of {five}");
            assert_eq!(new.chords[0].pitch_set().intersection(plain).len(), 2);
            assert_eq!(new.chords[1].tensions().contains(Degree::FlatNine), target == "Cm6");
        }
        let own = substitute_two_five(five, None).unwrap().chords;
        let over: DegreeSet = own[0].pitch_set().iter().map(|class| five.degree_of(class)).collect();
        assert_eq!(over, degrees("b9 3 b13 maj7"), "{} over {five}", own[0]);
        assert_eq!(own[1], tritone_substitute(five, None).unwrap().chords[0]);
    }
}

/// The suspended chord holds the fourth instead of the third, on all roots; under a melody it is what a player makes.
#[test]
fn all_suspensions() {
    for root in roots() {
        let five = on(root, "C9");
        let [suspended, resolved] = suspended_then_dominant(five).unwrap().chords[..] else { panic!() };
        assert_eq!((suspended.family(), resolved), (Family::Suspended, five));
        let fourth = root.pitch_class().up(5);
        assert_eq!(suspended.pitch_set(), keys(five, "3").with(fourth));
        for class in PitchClass::ALL {
            match suspended_under(five, class) {
                Ok(new) => {
                    assert_eq!(class, fourth);
                    assert_eq!(new.chords[..], [five.as_played_under(class)]);
                }
                Err(error) => assert!(class != fourth && error.is_no_answer()),
            }
        }
    }
}

/// Every reharmonisation of every chord of a progression: answers leave the rest and the melody at the start alone,
/// refusals say which chord and why.
#[test]
fn all_slots_are_reharmonised_or_refused() {
    let plain = Progression::from_symbols(
        "C",
        [("Cmaj7", "E5"), ("A7", "D5"), ("Dm7", "F5"), ("G7", "F5"), ("G7", "C5"), ("Cmaj7", "E5")],
    )
    .unwrap();
    let (mut answered, mut refused) = (0, 0);
    for identity in Reharmonisation::ALL {
        for (at, slot) in plain.slots.iter().enumerate() {
            match plain.reharmonised(at, identity) {
                Ok(new) => {
                    let more = new.slots.len() - plain.slots.len();
                    assert!(more <= 1);
                    assert_eq!(new.slots[..at], plain.slots[..at]);
                    assert_eq!(new.slots[at + more + 1..], plain.slots[at + 1..]);
                    assert_eq!((new.slots[at].melody, new.key), (slot.melody, plain.key));
                    answered += 1;
                }
                Err(error) => {
                    assert!(error.is_no_answer());
                    let place = format!("reharmonising chord {} by `{identity}`: ", at + 1);
                    assert!(error.to_string().starts_with(&place), "{error}");
                    refused += 1;
                }
            }
        }
    }
    // Four identities of three dominants, and the two that have their fourth above: A7 and the second G7, whose tritone
    // substitutes the same note fights.
    assert_eq!((answered, refused), (2 * 3 + 2 + 2, 4 * 3 + 4 + 4));
    assert!(plain.reharmonised(6, Reharmonisation::TwoFive).unwrap_err().is_range());
    assert!(plain.reharmonised(usize::MAX, Reharmonisation::TwoFive).unwrap_err().is_range());
    let mut silent = plain.clone();
    silent.slots[3].chord = None;
    assert!(silent.reharmonised(3, Reharmonisation::Substitute).unwrap_err().is_no_answer());
    // The target is the next chord on another root, here behind a second G7.
    let substituted = plain.reharmonised(3, Reharmonisation::TwoFive).unwrap();
    assert_eq!(substituted.slots[3].chord, Some(chord("Dm7")));
}

/// 11 and maj7 change places under the tritone: a melody note that is either over the dominant is the other over the
/// substitute, and fights its third or seventh. Under any other note the substitute is an answer: all dominants, all notes.
#[test]
fn all_substitutes_are_refused_under_a_note_that_fights_them() {
    let mut refused = 0;
    for (root, class) in itertools::iproduct!(roots(), PitchClass::ALL) {
        let five = on(root, "C7");
        let name = roots().find(|name| name.pitch_class() == class).unwrap();
        let melody = Pitch::from_midi(60 + class.get(), name);
        let tonic = Chord::new(NoteName::from_fifths(root.fifths() - 1).unwrap(), chord("Cmaj7").quality());
        let slot = |chord, melody| Slot { chord: Some(chord), melody, moving: Vec::new() };
        let progression =
            Progression { key: Key::C_MAJOR, slots: vec![slot(five, melody), slot(tonic, None)] };
        let fights = matches!(five.degree_of(class), Degree::Eleven | Degree::MajorSeven);
        for identity in [Reharmonisation::Substitute, Reharmonisation::SubstituteTwoFive] {
            let found = progression.reharmonised(0, identity);
            assert_eq!(found.is_err(), fights, "{identity} of {five} under {melody:?}");
            let Err(error) = found else { continue };
            assert!(error.is_no_answer());
            let substitute = tritone_substitute(five, Some(tonic)).unwrap().chords[0];
            let degree = if five.degree_of(class) == Degree::Eleven { "maj7" } else { "11" };
            let expected =
                format!("the melody holds the `{degree}` of `{substitute}`, expected a note that suits it");
            assert!(error.to_string().ends_with(&expected), "{error}");
            refused += 1;
        }
        // The dominant itself is no new chord: what was above it before may stay.
        assert!(progression.reharmonised(0, Reharmonisation::TwoFive).is_ok());
        assert!(progression.reharmonised(0, Reharmonisation::SuspendedThenDominant).is_ok());
    }
    assert_eq!(refused, 12 * 2 * 2);
}

/// Each half by the note that sounds when it starts.
#[test]
fn ok_the_note_that_starts_the_half_decides() {
    let mut progression = Progression::from_symbols("C", [("G7", "F5"), ("Cmaj7", "E5")]).unwrap();
    progression.slots[0].moving = vec![("C5".parse().unwrap(), 8)];
    assert!(progression.reharmonised(0, Reharmonisation::SubstituteTwoFive).is_err());
    assert!(progression.reharmonised(0, Reharmonisation::Substitute).is_ok()); // the C moves while Db7 sounds on
    progression.slots[0].melody = Some("C5".parse().unwrap());
    progression.slots[0].moving = vec![("F5".parse().unwrap(), 8)];
    assert!(progression.reharmonised(0, Reharmonisation::SubstituteTwoFive).is_ok()); // the C is over the ii
    assert!(progression.reharmonised(0, Reharmonisation::Substitute).is_err());
}

/// A client reads the chords and the reason.
#[test]
fn ok_serialised() {
    let new = serde_json::to_value(tritone_substitute(chord("G7"), None).unwrap()).unwrap();
    let reason = "it has the third and seventh of `G7` the other way round";
    assert_eq!(new, serde_json::json!({ "chords": ["Db7"], "reason": reason }));
}

/// What a reharmonised dominant does in its key: the substitute is one, with a ii of its own, and the rest of the
/// progression keeps its functions.
#[test]
fn ok_functions_of_reharmonised_progressions() {
    let plain = Progression::from_symbols("C", [("Dm7", "F5"), ("G7", "F5"), ("Cmaj7", "E5")]).unwrap();
    for (identity, functions) in [
        (Reharmonisation::Substitute, "ii subV7 I"),
        (Reharmonisation::SubstituteTwoFive, "ii bvi subV7 I"),
        (Reharmonisation::TwoFive, "ii ii V7/I I"),
        (Reharmonisation::SuspendedThenDominant, "ii V7/I V7/I I"),
    ] {
        let new = plain.reharmonised(1, identity).unwrap();
        let found: Vec<String> = new.functions().iter().flatten().map(|f| f.to_string()).collect();
        assert_eq!(found.join(" "), functions, "{identity}");
    }
}
