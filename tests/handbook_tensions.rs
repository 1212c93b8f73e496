//! Tensions by function and quality as published: what `standard` and `strict-diatonic` make of each list, and the choices
//! on which the sources disagree, each as a few lines of a rule file that a user may write.
//!
//! What `standard` charges because of a function, tension by tension, stands in `handbook_functions.rs`; here is what it
//! and the strict set say as a whole.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "tests"
)]

use overshell::chord::{Chord, Degree, DegreeSet, chord};
use overshell::pitch::{Pitch, note};
use overshell::rules::{Effect, Finding, Judge, RuleSet, Situation};
use overshell::voicing::{Hand, Shell, Voicing};

const ROOTS: [&str; 12] = ["C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"];

fn degrees(text: &str) -> DegreeSet {
    text.parse().unwrap()
}

/// The full shell with one degree above it.
fn with_degree(over: Chord, degree: Degree) -> Voicing {
    let left = Shell::RootThirdSeventh.hand_from(over, 45).unwrap();
    let class = degree.class_over(over.root().pitch_class()).get();
    let top = left.highest().unwrap().midi();
    let key = top + (class + 12 - top % 12) % 12;
    let right = Hand::new([Pitch::from_midi(key, degree.name_over(over.root())).unwrap()]).unwrap();
    Voicing::new(left, right).unwrap()
}

/// What a set says of a tension.
#[derive(Debug, PartialEq, Eq, Clone, Copy)]
struct Word {
    forbidden: bool,
    charged: bool,
    credited: bool,
}

const GRANTED: Word = Word { forbidden: false, charged: false, credited: true };
const FORBIDDEN: Word = Word { forbidden: true, charged: false, credited: false };
const CHARGED: Word = Word { forbidden: false, charged: true, credited: false };
/// Allowed, and with a reservation that is said.
const BOTH: Word = Word { forbidden: false, charged: true, credited: true };

/// Rules that fire for a single note because of where it lies, whatever its degree.
const OF_PLACE: [&str; 2] = ["right-thumb-compass", "highest-note"];

fn judge<'r>(rules: &'r RuleSet, over: Chord, function: Option<&str>) -> Judge<'r> {
    let situation = Situation { function: function.map(|f| f.parse().unwrap()), ..Situation::default() };
    rules.judge_for(over, &situation)
}

fn word(judge: &Judge<'_>, over: Chord, degree: Degree) -> Word {
    let findings = judge.judge(&with_degree(over, degree)).findings;
    // Rules that speak of this very degree and no other.
    let about =
        |finding: &&Finding| finding.degrees == [degree] && !OF_PLACE.contains(&finding.rule.as_str());
    let has = |wanted: fn(&Effect) -> bool| findings.iter().filter(about).any(|f| wanted(&f.effect));
    let forbidden = findings.iter().any(|f| f.effect == Effect::Clash);
    Word {
        forbidden,
        charged: !forbidden && has(|effect| matches!(effect, Effect::Cost(_))),
        credited: !forbidden && has(|effect| matches!(effect, Effect::Colour(_))),
    }
}

/// What a set says of each tension that a key can mean over a chord.
fn words(rules: &RuleSet, over: Chord, function: Option<&str>) -> Vec<(Degree, Word)> {
    let judge = judge(rules, over, function);
    let tensions = over.degree_map().into_iter().filter(|d| d.is_tension() && !over.tones().contains(*d));
    tensions.map(|degree| (degree, word(&judge, over, degree))).collect()
}

/// Those of which it says this.
fn with(words: &[(Degree, Word)], wanted: Word) -> DegreeSet {
    words.iter().filter(|(_, word)| *word == wanted).map(|(degree, _)| *degree).collect()
}

/// Chord in C, function, published tensions, and what `standard` grants besides, on whose word.
///
/// Chords of the key: Nettles, *Harmony 3*, Berklee 1987/1993, pp. 15-17, in an older revision of Wikipedia, "Avoid note".
/// The tonic of a minor key: Haerle, *The Jazz Language*, 1980, in the same. Dominants: "Chord Scale Summation", two unsigned
/// pages in Berklee terms; II7: a newsgroup. Besides: Terefenko, *Jazz Theory*, Routledge 2014, ch. 5, for V7/I; the Summation's
/// altered scale for V7/i; notes of a Berklee first-year harmony course, 2008, for V7/ii.
const FUNCTIONS: [(&str, &str, &str, &str); 21] = [
    ("Cmaj7", "I", "9 13", ""),
    ("Dm7", "ii", "9 11", ""),
    ("Em7", "iii", "11", ""),
    ("Fmaj7", "IV", "9 #11 13", ""),
    ("Am7", "vi", "9 11", ""),
    ("Bm7b5", "vii", "11 b13", ""),
    ("Cm(maj7)", "i", "9 11 13", ""),
    ("G7", "V7/I", "9 13", "b9 #9 #11 b13"),
    ("G7", "V7/i", "b9 #9 b13", "#11"),
    ("A7", "V7/ii", "9 b13", "b9 #9"),
    ("B7", "V7/iii", "b9 #9 b13", ""),
    ("C7", "V7/IV", "9 13", ""),
    ("D7", "V7/V", "9 13", ""),
    ("E7", "V7/vi", "b9 #9 b13", ""),
    ("E7", "extended V7", "9 13", ""),
    ("Db7", "subV7", "9 #11 13", ""),
    ("Bb7", "bVII7", "9 #11 13", ""),
    ("F7", "IV7", "9 #11 13", ""),
    ("Ab7", "bVI7", "9 #11 13", ""),
    ("C7", "I7", "9 13 #9", ""),
    ("D7", "II7", "9 #11 13", ""),
];

/// `standard` grants without reservation what is published, and besides only what another source has.
#[test]
fn all_published_tensions_are_granted_by_the_standard_set() {
    for (symbol, function, published, besides) in FUNCTIONS {
        for root in ROOTS {
            let over = chord(symbol).on_root(note(root));
            let granted = with(&words(RuleSet::standard(), over, Some(function)), GRANTED);
            assert_eq!(granted, degrees(published).union(degrees(besides)), "{over} as {function}");
        }
    }
}

/// `strict-diatonic` grants exactly what is published, and forbids all other tensions.
#[test]
fn all_published_tensions_are_the_whole_of_the_strict_set() {
    let strict = RuleSet::named("strict-diatonic").unwrap();
    for (symbol, function, published, _) in FUNCTIONS {
        for root in ROOTS {
            let over = chord(symbol).on_root(note(root));
            let words = words(&strict, over, Some(function));
            assert_eq!(with(&words, GRANTED), degrees(published), "{over} as {function}");
            let forbidden = with(&words, FORBIDDEN).iter().count();
            assert_eq!(
                forbidden + degrees(published).iter().count(),
                words.len(),
                "{over} as {function}: {words:?}"
            );
        }
    }
}

/// What the strict set grants, the standard set grants too: it is the narrower of the two.
#[test]
fn all_tensions_of_the_strict_set_are_in_the_standard_set() {
    let strict = RuleSet::named("strict-diatonic").unwrap();
    let mut fewer = 0;
    for (symbol, function, ..) in FUNCTIONS {
        let of = |rules: &RuleSet| with(&words(rules, chord(symbol), Some(function)), GRANTED);
        let (strict, standard) = (of(&strict), of(RuleSet::standard()));
        assert!(strict.difference(standard).is_empty(), "{symbol} as {function}");
        fewer += usize::from(strict != standard);
    }
    assert_eq!(fewer, FUNCTIONS.iter().filter(|row| !row.3.is_empty()).count());
}

/// A set over the standard one, of the lines that a user writes.
fn switched(lines: &str) -> RuleSet {
    let text = format!("format = 1\nname = \"switched\"\nextends = [\"standard\"]\n{lines}");
    RuleSet::from_toml("switched", &text).unwrap()
}

/// A rule with the texts that it needs.
fn rule(id: &str, keys: &str) -> String {
    format!(
        "[[rule]]\nid = \"{id}\"\n{keys}\nmessage = \"as the user has it\"\nhelp = \"see the school\"\nsource = \"see the test\"\n"
    )
}

/// A point on which sources disagree: where it is heard, what `standard` says, and the lines by which a user has it
/// allowed or forbidden.
struct Switch {
    name: &'static str,
    over: &'static str,
    function: Option<&'static str>,
    degree: &'static str,
    standard: Word,
    allow: String,
    forbid: String,
}

/// The thirteenth on a minor seventh: Terefenko, ch. 5, has it, Levine finds no avoid note in Dorian; Nettles avoids it on the
/// ii. The natural ninth on a half-diminished chord: Terefenko, ch. 5, and Levine (Locrian natural 2) have it; with Locrian
/// alone it is none. The raised ninth on the dominant of iii: the Summation has it; the Mixolydian b9 b13 of Wikipedia has none.
/// The raised eleventh on bVII7: the Summation has it in major (Lydian b7) and not in minor (Mixolydian).
fn switches() -> Vec<Switch> {
    vec![
        Switch {
            name: "thirteenth-on-minor-seventh",
            over: "Dm7",
            function: Some("ii"),
            degree: "13",
            standard: CHARGED,
            allow: rule(
                "thirteenth-on-minor-seventh",
                "kind = \"tone\"\nchords = [\"minor\"]\nhas = [\"b7\"]\ndegrees = [\"13\"]\ncolour = 10",
            ),
            forbid: rule(
                "thirteenth-on-minor-seventh",
                "kind = \"tone\"\nchords = [\"minor\"]\nscale = \"Dorian\"\navoid = \"dorian-sixth\"\neffect = \"clash\"",
            ),
        },
        Switch {
            name: "ninth-on-half-diminished",
            over: "Bm7b5",
            function: Some("vii"),
            degree: "9",
            standard: BOTH,
            allow: "off = [\"ninth-on-half-diminished\"]\n".to_owned(),
            forbid: rule(
                "ninth-on-half-diminished",
                "kind = \"tone\"\nchords = [\"half-diminished\"]\nscale = \"Locrian\"\navoid = \"whole-step\"\neffect = \"clash\"",
            ),
        },
        Switch {
            name: "raised-ninth-on-the-dominant-of-three",
            over: "B7",
            function: Some("V7/iii"),
            degree: "#9",
            standard: GRANTED,
            allow: rule(
                "tensions-to-minor",
                "kind = \"function\"\nlists = [\"V7/iii, V7/vi, V7/minor: b9 #9 b13\"]\neffect = \"clash\"",
            ),
            forbid: rule(
                "tensions-to-minor",
                "kind = \"function\"\nlists = [\"V7/iii, V7/vi, V7/minor: b9 b13\"]\neffect = \"clash\"",
            ),
        },
        Switch {
            name: "raised-eleventh-on-the-flat-seven",
            over: "Bb7",
            function: Some("bVII7"),
            degree: "#11",
            standard: GRANTED,
            allow: rule(
                "on-flat-seven",
                "kind = \"function\"\nlists = [\"bVII7: 9 #11 13\"]\neffect = \"clash\"",
            ),
            forbid: rule(
                "on-flat-seven",
                "kind = \"function\"\nlists = [\"bVII7: 9 13\"]\neffect = \"clash\"",
            ),
        },
    ]
}

/// A user can have either answer, in twelve keys, and what the set says of other tensions of the chord stays as it was where
/// both answers leave it.
#[test]
fn all_disagreements_are_a_choice() {
    for Switch { name, over, function, degree, standard, allow, forbid } in switches() {
        let (allow, forbid) = (switched(&allow), switched(&forbid));
        let degree: Degree = degree.parse().unwrap();
        for root in ROOTS {
            let over = chord(over).on_root(note(root));
            let judges = [RuleSet::standard(), &allow, &forbid].map(|rules| judge(rules, over, function));
            let words = judges.each_ref().map(|judge| word(judge, over, degree));
            assert_eq!(words, [standard, GRANTED, FORBIDDEN], "{name}: {over}");
            // The tensions that every source has are granted either way.
            let (_, _, published, _) = FUNCTIONS.into_iter().find(|row| Some(row.1) == function).unwrap();
            for other in degrees(published).without(degree).iter() {
                for judge in &judges {
                    assert_eq!(word(judge, over, other), GRANTED, "{name}: {other} over {over}");
                }
            }
        }
    }
}

/// Nothing of this is imposed in silence: where `standard` sides with nobody it charges and says why, and where it grants,
/// it does not forbid; the finding names its source.
#[test]
fn all_disagreements_are_spoken_of() {
    let standard = RuleSet::standard();
    for Switch { name, over, function, degree, standard: expected, .. } in switches() {
        let (over, degree): (Chord, Degree) = (chord(over), degree.parse().unwrap());
        assert!(!expected.forbidden, "{name}");
        let findings = judge(standard, over, function).judge(&with_degree(over, degree)).findings;
        let about: Vec<_> = findings.iter().filter(|f| f.degrees == [degree]).collect();
        assert!(!about.is_empty(), "{name}");
        for finding in about {
            let described = standard.explain(&finding.rule).unwrap();
            assert!(!described.source.is_empty() && !described.help.is_empty(), "{name}: {}", finding.rule);
            if expected.charged && matches!(finding.effect, Effect::Cost(_)) {
                // Both sides are named.
                assert!(described.source.contains("Nettles"), "{name}: {}", described.source);
                assert!(described.source.contains("Levine"), "{name}: {}", described.source);
            }
        }
    }
}

/// Extensions and alterations by quality: Terefenko, ch. 5, publisher's abstract. Where nothing is known of the function the
/// standard set forbids none of them but the b13 on minor (Nettles: a semitone above the fifth).
#[test]
fn all_extensions_by_quality_stay_open() {
    for (symbol, listed, except) in [
        ("Cmaj7", "9 13 #11", ""),
        ("Cm7", "9 11 13 b13 #11", "b13"),
        ("Cm7b5", "9 11 b13", ""),
        ("Cdim7", "9 11 b13", ""),
        ("C7", "9 13 b9 #9 #11 b13", ""),
        ("C7sus4", "9 13 b9 #9 b13", ""),
    ] {
        for root in ROOTS {
            let over = chord(symbol).on_root(note(root));
            let judge = judge(RuleSet::standard(), over, None);
            let forbidden = degrees(listed).iter().filter(|degree| word(&judge, over, *degree).forbidden);
            let forbidden: DegreeSet = forbidden.collect();
            assert_eq!(forbidden, degrees(except), "{over}");
        }
    }
}
