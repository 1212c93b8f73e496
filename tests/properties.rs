//! Laws that hold for every chord and every pair of hands, on random ones.

#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "tests"
)]

use std::collections::BTreeSet;

use overshell::chord::{Chord, Degree, Family, Fifth, Function, Quality, Seventh, Spelling, Third};
use overshell::pitch::{NoteName, Pitch, PitchClass};
use overshell::rules::{Effect, MovingNote, RuleSet, Score, Situation, Verdict};
use overshell::search::{CatalogueOptions, catalogue};
use overshell::voicing::{Hand, HandSize, HandSpan, Shell, Voicing};
use proptest::prelude::*;
use proptest::test_runner::FileFailurePersistence;

/// How many cases; those that failed once are kept apart from the tests, which are packaged.
fn config(cases: u32) -> ProptestConfig {
    let kept = FileFailurePersistence::Direct(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/proptest-regressions/properties.txt"
    ));
    ProptestConfig { cases, failure_persistence: Some(Box::new(kept)), ..ProptestConfig::default() }
}

const THIRDS: [Third; 5] = [Third::None, Third::Second, Third::Minor, Third::Major, Third::Fourth];
const FIFTHS: [Fifth; 4] = [Fifth::None, Fifth::Flat, Fifth::Perfect, Fifth::Sharp];
const SEVENTHS: [Seventh; 5] =
    [Seventh::None, Seventh::Sixth, Seventh::DoubleFlat, Seventh::Flat, Seventh::Major];

/// Any chord: any quality, any tensions that it can take, any root, any bass.
fn any_chord() -> impl Strategy<Value = Chord> {
    let names: Vec<NoteName> = NoteName::all().collect();
    let quality = (prop::sample::select(&THIRDS[..]), prop::sample::select(&FIFTHS[..]));
    let quality = (quality, prop::sample::select(&SEVENTHS[..]))
        .prop_map(|((third, fifth), seventh)| Quality { third, fifth, seventh });
    let tensions = prop::collection::vec(prop::sample::select(&Degree::ALL[..]), 0..4);
    let name = prop::sample::select(names);
    (name.clone(), quality, tensions, prop::option::of(name)).prop_map(|(root, quality, tensions, bass)| {
        let mut chord = Chord::new(root, quality);
        for tension in tensions {
            chord = chord.with_tensions([tension]).unwrap_or(chord);
        }
        bass.map_or(chord, |bass| chord.with_bass(bass))
    })
}

/// Chords as lead sheets write them, so that random hands meet rules often.
fn usual_chord() -> impl Strategy<Value = Chord> {
    let names: Vec<NoteName> = NoteName::all().filter(|n| n.accidental().semitones().abs() < 2).collect();
    let quality = prop::sample::select(Quality::NAMED).prop_map(|(_, quality)| quality);
    (prop::sample::select(names), quality).prop_map(|(root, quality)| Chord::new(root, quality))
}

fn chords() -> impl Strategy<Value = Chord> {
    prop_oneof![any_chord(), usual_chord()]
}

fn at(midi: u8) -> Pitch {
    let c = Chord::new(NoteName::C, Quality::DOMINANT_SEVENTH);
    let name = Spelling::ByTriad.name(c, PitchClass::wrapping(i32::from(midi)));
    Pitch::from_midi(midi, name).unwrap()
}

fn hand(keys: impl IntoIterator<Item = u8>) -> Hand {
    Hand::new(keys.into_iter().map(at)).unwrap()
}

/// Any two hands, empty ones too: up to ten keys anywhere, split into a left and a right hand.
fn voicings(keys: std::ops::Range<u8>) -> impl Strategy<Value = Voicing> {
    (prop::collection::btree_set(keys, 0..=10usize), 0..=5usize).prop_map(|(keys, split)| {
        let keys: Vec<u8> = keys.into_iter().collect();
        let left = split.max(keys.len().saturating_sub(5)).min(keys.len());
        Voicing::new(hand(keys[..left].iter().copied()), hand(keys[left..].iter().copied())).unwrap()
    })
}

fn situations() -> impl Strategy<Value = Situation> {
    let function = prop::option::of(prop_oneof![
        prop::sample::select(&Function::DOMINANT[..]),
        (0..12u8, any::<bool>()).prop_map(|(semitones, minor)| Function::Degree { semitones, minor }),
    ]);
    let moving = prop::collection::vec((0..=127u8, 1..=16u8), 0..4).prop_map(|notes| {
        notes.into_iter().map(|(key, sixteenths)| MovingNote { key, sixteenths }).collect()
    });
    let custom = HandSize::Custom(HandSpan::new(1_950, 1_520).unwrap());
    let sizes = prop::sample::select(vec![HandSize::Small, HandSize::Medium, HandSize::Large, custom]);
    (function, prop::option::of((0..=127u8).prop_map(at)), moving, sizes, any::<bool>()).prop_map(
        |(function, melody, moving, hand_size, bass_player)| Situation {
            function,
            melody,
            moving,
            hand_size,
            bass_player,
        },
    )
}

fn up(voicing: &Voicing, semitones: i32) -> Option<Voicing> {
    let moved = |hand: &Hand| {
        let keys = hand.pitches().iter().map(|pitch| i32::from(pitch.midi()) + semitones);
        let keys: Option<Vec<u8>> = keys.map(|key| u8::try_from(key).ok().filter(|key| *key < 128)).collect();
        Some(Hand::new(keys?.into_iter().map(at)).unwrap())
    };
    Some(Voicing::new(moved(voicing.left())?, moved(voicing.right())?).unwrap())
}

/// A set that adds one rule to the standard one.
fn with_rule(rule: &str) -> RuleSet {
    let head = "format = 1\nname = \"more\"\nextends = [\"standard\"]\n[[rule]]\nid = \"one-more\"\n";
    let tail = "\nmessage = \"one more\"\nhelp = \"none\"\nsource = \"invented for this test\"\n";
    RuleSet::from_toml("more.toml", &format!("{head}{rule}{tail}")).unwrap()
}

fn forbidding_rules() -> impl Strategy<Value = String> {
    let degree = || prop::sample::select(&Degree::ALL[..]);
    let families = prop::option::of(prop::sample::select(&Family::ALL[..]))
        .prop_map(|family| family.map_or_else(String::new, |family| format!("chords = [\"{family}\"]\n")));
    let kinds = prop_oneof![
        degree().prop_map(|d| format!("kind = \"tone\"\ndegrees = [\"{d}\"]")),
        (degree(), degree())
            .prop_filter("two degrees", |(low, high)| low != high)
            .prop_map(|(low, high)| format!("kind = \"pair\"\nlower = \"{low}\"\nupper = \"{high}\"")),
        (1..=24u8).prop_map(|n| format!("kind = \"interval\"\nsemitones = [{n}]")),
        degree().prop_map(|d| format!("kind = \"doubling\"\ndegrees = [\"{d}\"]")),
        degree().prop_map(|d| format!("kind = \"needs\"\none-of = [\"{d}\"]")),
    ];
    (families, kinds).prop_map(|(families, kind)| format!("{families}effect = \"clash\"\n{kind}"))
}

proptest! {
    #![proptest_config(config(1024))]

    /// What fights and what colours a chord is a matter of degrees: no key changes it. Every transposition that stays
    /// within MIDI, onto every name of the new root.
    #[test]
    fn prop_transposing_changes_no_clash_and_no_colour(
        chord in chords(), voicing in voicings(24..104),
    ) {
        let rules = RuleSet::standard();
        let Score { clash, colour, .. } = rules.judge_for(chord, &Situation::default()).score(&voicing);
        for semitones in -24..=24 {
            let Some(moved) = up(&voicing, semitones) else { continue };
            let to = chord.root().pitch_class().up(semitones);
            for root in NoteName::all().filter(|name| name.pitch_class() == to) {
                let there = chord.on_root(root);
                let score = rules.judge_for(there, &Situation::default()).score(&moved);
                prop_assert_eq!((score.clash, score.colour), (clash, colour), "{} as {}", there, moved);
            }
        }
    }

    /// Nor does a key change what anything costs, but for the rules about places on the keyboard and about reach.
    #[test]
    fn prop_transposing_changes_no_score_but_for_register_and_reach(
        chord in chords(), voicing in voicings(24..104), situation in situations(),
    ) {
        // A bass on the root's own key is a bass under one spelling and none under another.
        let on_root = chord.bass().is_some_and(|bass| bass.pitch_class() == chord.root().pitch_class());
        let chord = if on_root { chord.without_bass() } else { chord };
        let of_places = |kind: &str| ["register", "reach", "roughness"].contains(&kind);
        let standard = RuleSet::standard();
        let ids: Vec<&str> = standard.describe().filter(|rule| of_places(rule.kind)).map(|rule| rule.id).collect();
        let rules = standard.clone().off(ids).unwrap();
        let situation = Situation { melody: None, moving: Vec::new(), ..situation };
        let score = rules.judge_for(chord, &situation).score(&voicing);
        for semitones in (-24..=24).step_by(5) {
            let Some(moved) = up(&voicing, semitones) else { continue };
            let to = chord.root().pitch_class().up(semitones);
            let bass = chord.bass().map(|bass| bass.pitch_class().up(semitones));
            for root in NoteName::all().filter(|name| name.pitch_class() == to) {
                let there = chord.on_root(root);
                let there = match bass {
                    Some(bass) => there.with_bass(Spelling::ByTriad.name(there, bass)),
                    None => there,
                };
                prop_assert_eq!(rules.judge_for(there, &situation).score(&moved), score, "{} as {}", there, moved);
            }
        }
    }

    /// Scoring and judging are one path: same flag, same points; and the findings add up to the points.
    #[test]
    fn prop_score_equals_judgement(
        chord in chords(), voicing in voicings(0..128), situation in situations(),
    ) {
        let rules = RuleSet::standard();
        let judge = rules.judge_for(chord, &situation);
        let score = judge.score(&voicing);
        let judgement = judge.judge(&voicing);
        let keys = |hand: &Hand| hand.pitches().iter().map(|p| p.midi()).collect::<Vec<u8>>();
        prop_assert_eq!(judge.score_keys(&keys(voicing.left()), &keys(voicing.right())), score);
        prop_assert_eq!(judgement.verdict == Verdict::Clash, score.clash);
        prop_assert_eq!((judgement.cost, judgement.colour), (score.cost, score.colour));
        prop_assert_eq!(judgement.verdict, judge.verdict(score));
        prop_assert!(score.cost >= 0 && score.colour >= 0);
        let (mut clash, mut cost, mut colour) = (false, 0, 0);
        for finding in &judgement.findings {
            match finding.effect {
                Effect::Clash => clash = true,
                Effect::Cost(points) => cost += points,
                Effect::Colour(points) => colour += points,
            }
            prop_assert!(rules.explain(&finding.rule).is_some());
        }
        prop_assert_eq!((clash, cost, colour), (score.clash, score.cost, score.colour));
        let ids: BTreeSet<&String> = judgement.findings.iter().map(|finding| &finding.rule).collect();
        prop_assert_eq!(ids.len(), judgement.findings.len(), "a rule is found once");
    }

    /// The fast door takes numbers as they come: out of order, twice, too many for two hands, beyond MIDI. It answers
    /// something; keys beyond MIDI are as if they were not there.
    #[test]
    fn prop_scoring_any_keys_never_panics(
        chord in chords(), left in prop::collection::vec(any::<u8>(), 0..12),
        right in prop::collection::vec(any::<u8>(), 0..12), situation in situations(),
    ) {
        let judge = RuleSet::standard().judge_for(chord, &situation);
        let score = judge.score_keys(&left, &right);
        prop_assert!(score.cost >= 0 && score.colour >= 0);
        let within = |keys: &[u8]| keys.iter().copied().filter(|key| *key < 128).collect::<Vec<u8>>();
        prop_assert_eq!(judge.score_keys(&within(&left), &within(&right)), score);
    }

    /// A rule that forbids can only make things worse: what clashed still clashes, what did not is the same or clashes.
    #[test]
    fn prop_one_more_forbidding_rule_never_makes_it_milder(
        chord in chords(), voicing in voicings(30..100), rule in forbidding_rules(),
    ) {
        let before = RuleSet::standard().judge(chord, &voicing);
        let after = with_rule(&rule).judge(chord, &voicing);
        prop_assert!(after.verdict <= before.verdict, "{rule}");
        prop_assert!(after.verdict == before.verdict || after.verdict == Verdict::Clash, "{rule}");
        prop_assert_eq!((after.cost, after.colour), (before.cost, before.colour));
        let fired = after.findings.iter().any(|finding| finding.rule == "one-more");
        let expected = if fired { Verdict::Clash } else { before.verdict };
        prop_assert_eq!(after.verdict, expected, "{}", rule);
    }
}

proptest! {
    #![proptest_config(config(64))]

    /// A catalogue has each triad once, the best verdict first, then cost less colour as far as colour counts.
    #[test]
    fn prop_catalogue_is_in_rank_order(
        chord in chords(),
        shell in prop::option::of(prop::sample::select(&Shell::ALL[..])),
        situation in situations(),
    ) {
        let rules = RuleSet::standard();
        let options = CatalogueOptions { shell, situation };
        match catalogue(chord, rules, &options) {
            Ok(entries) => {
                prop_assert_eq!(entries.len(), 52);
                let labels: BTreeSet<_> = entries.iter().map(|entry| entry.label).collect();
                prop_assert_eq!(labels.len(), 52);
                let worth = |score: Score| (score.clash, score.cost - score.colour.min(rules.colour_enough()));
                for pair in entries.windows(2) {
                    let rank = |at: usize| (std::cmp::Reverse(pair[at].verdict), worth(pair[at].best.score));
                    prop_assert!(rank(0) <= rank(1), "{:?} before {:?}", pair[0].triad, pair[1].triad);
                }
                for entry in &entries {
                    prop_assert_eq!(entry.verdict == Verdict::Clash, entry.best.score.clash);
                    let placings = std::iter::once(&entry.best).chain(&entry.others).collect::<Vec<_>>();
                    for pair in placings.windows(2) {
                        prop_assert!(worth(pair[0].score) <= worth(pair[1].score), "{:?}", entry.triad);
                        prop_assert_eq!(pair[0].shell, pair[1].shell);
                    }
                    if let Some(shell) = shell {
                        prop_assert_eq!(entry.best.shell, shell);
                    }
                }
            }
            Err(error) => {
                prop_assert!(error.is_no_answer(), "{error}");
                let has = |shell: Shell| shell.degrees(chord.as_played()).is_some();
                prop_assert!(!shell.map_or_else(|| Shell::ALL.into_iter().any(has), has), "{chord}: {error}");
            }
        }
    }
}
