//! Answers chord by chord against the slow twin, and against the arrangement of the whole tune.

use std::rc::Rc;

use proptest::prelude::*;

use super::*;
use crate::chord::{Reharmonisation, functions};
use crate::rules::{Context, MotionRule};
use crate::search::arranger::{Place, Setting, ways_between};
use crate::search::paths::{Coming, Layer, Solved};
use crate::search::{Arrangement, Instead, Progression, SearchLimits, arrange};

/// A rule in code that looks at both hands on the way.
struct BassAndTop;

impl MotionRule for BassAndTop {
    fn id(&self) -> &str {
        "bass-and-top"
    }
    fn message(&self) -> &str {
        "the outer voices go apart"
    }
    fn help(&self) -> &str {
        "hold one of them"
    }
    fn source(&self) -> &str {
        "invented for this test"
    }
    fn cost(&self, from: &Context<'_>, to: &Context<'_>) -> u16 {
        let bass = |context: &Context<'_>| context.keys().first().copied().unwrap_or_default();
        u16::from(bass(from).abs_diff(bass(to))) % 5
    }
}

/// Rules without and with ways that both hands pay for together, from a file and from code.
fn sets() -> [RuleSet; 3] {
    let text = "format = 1\nname = \"outer\"\n[[rule]]\nid = \"outer\"\nkind = \"motion\"\nparallel = [0, 7]\nper-parallel = 6\n\
                similar = 3\nmessage = \"m\"\nhelp = \"h\"\nsource = \"s\"\n";
    let standard = RuleSet::standard();
    let outer = standard.over_toml("outer.toml", text).unwrap();
    [standard.clone(), outer, standard.clone().with_motion_rule(BassAndTop)]
}

fn slot(text: &str) -> Slot {
    text.parse().unwrap()
}

fn slots(texts: &str) -> Vec<Slot> {
    texts.split(", ").map(slot).collect()
}

/// Chords that resolve, that are delayed, that are none; notes so low that nothing fits, and a few that move on. Where the melody
/// rests there are so many candidates that it does so only sometimes.
fn tunes(most: usize) -> impl Strategy<Value = Vec<Slot>> {
    const SYMBOLS: [&str; 10] = ["Dm7", "G7", "Cmaj7", "A7", "D7", "Am7", "Db7", "C7/E", "Fm6", "N.C."];
    let melody = prop_oneof![
        10 => (60u8..84).prop_map(Some),
        2 => (36u8..48).prop_map(Some),
        1 => Just(None),
    ];
    let moving = prop_oneof![4 => Just(Vec::new()), 1 => Just(vec![("F5".parse().unwrap(), 4)])];
    let one = (prop::sample::select(&SYMBOLS[..]), melody, moving).prop_map(|(symbol, key, moving)| {
        let named = |key| {
            Pitch::from_midi(
                key,
                crate::chord::Spelling::default().name(crate::chord::chord("C"), class(key)),
            )
        };
        Slot { melody: key.and_then(named), moving, ..slot(symbol) }
    });
    prop::collection::vec(one, 1..=most)
}

fn class(key: u8) -> crate::pitch::PitchClass {
    crate::pitch::PitchClass::wrapping(i32::from(key))
}

fn options(octave: Octave) -> ArrangeOptions {
    ArrangeOptions { octave, ..ArrangeOptions::default() }
}

fn all_answers(live: &mut Live<'_>, slots: &[Slot]) -> Vec<LiveAnswer> {
    let mut answers: Vec<LiveAnswer> = slots.iter().filter_map(|slot| live.push(slot)).collect();
    answers.extend(std::iter::from_fn(|| live.finish()));
    answers
}

/// What is answered, the slow way: for each slot all that is known is laid out anew behind the pair answered last, and solved.
fn twin(
    slots: &[Slot],
    key: Key,
    rules: &RuleSet,
    options: &ArrangeOptions,
    look_ahead: usize,
) -> Vec<Option<Voicing>> {
    let shift = if options.octave == Octave::Up { 12 } else { 0 };
    let mut met: Vec<(Setting, Rc<Place<'_>>)> = Vec::new();
    let mut fixed: Option<Place<'_>> = None;
    let mut answers = Vec::new();
    for at in 0..slots.len() {
        let known = &slots[..(at + look_ahead + 1).min(slots.len())];
        let chords: Vec<Option<Chord>> = known.iter().map(|slot| slot.chord).collect();
        let does = functions(&chords, key);
        let places: Vec<Option<Rc<Place<'_>>>> = (at..known.len())
            .map(|at| {
                let setting = Setting::new(&known[at], does[at], shift)?;
                let found =
                    met.iter().find(|(other, _)| *other == setting).map(|(_, place)| Rc::clone(place));
                let place = found.unwrap_or_else(|| Rc::new(Place::new(&setting, &[], rules, options)));
                met.push((setting, Rc::clone(&place)));
                (!place.is_empty()).then_some(place)
            })
            .collect();
        let Some(first) = places[0].clone() else {
            answers.push(None);
            continue;
        };
        let path: Vec<&Place<'_>> = fixed.iter().chain(places.iter().flatten().map(Rc::as_ref)).collect();
        let layers: Vec<Layer> = (0..path.len())
            .map(|at| {
                let coming = |before: usize| {
                    let (left, right, joint) = ways_between(path[before], path[at]);
                    Coming { layer: before, left, right, joint }
                };
                Layer {
                    lefts: path[at].lefts.len(),
                    rights: path[at].rights.len(),
                    base: path[at].base.clone(),
                    from: at.checked_sub(1).map(coming).into_iter().collect(),
                }
            })
            .collect();
        let joint = |to: usize, _, pair_before: usize, pair: usize| {
            let [before, to] = [path[to - 1], path[to]];
            fn keys<'p>(place: &'p Place<'_>, pair: usize) -> [&'p [u8]; 2] {
                [&place.lefts[pair / place.rights.len()].keys, &place.rights[pair % place.rights.len()].keys]
            }
            to.judge.joint_motion_cost(&before.judge, keys(before, pair_before), keys(to, pair))
        };
        let (_, left, right) =
            Solved::new(&layers, joint).best().unwrap().nodes[usize::from(fixed.is_some())];
        answers.push(first.voicing(left, right));
        // Only this pair from now on.
        let Place { chord, lefts, rights, .. } = &*first;
        let setting = met.iter().find(|(_, place)| Rc::ptr_eq(place, &first)).unwrap().0.clone();
        let mut alone = Place::without_candidates(&setting, rules, options);
        assert_eq!(alone.chord, *chord);
        (alone.lefts, alone.rights) = (vec![lefts[left].clone()], vec![rights_of(rights, right)]);
        alone.base = vec![0];
        fixed = Some(alone);
    }
    answers
}

fn rights_of(rights: &[crate::search::candidates::Shape], at: usize) -> crate::search::candidates::Shape {
    rights[at].clone()
}

fn voicings(answers: &[LiveAnswer]) -> Vec<Option<Voicing>> {
    answers.iter().map(|answer| answer.voicing).collect()
}

fn cost(answers: &[LiveAnswer]) -> i32 {
    answers.iter().map(|answer| answer.points + answer.way).sum()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// The law, with every look-ahead, kinds of rules, octaves; also where next to nothing is kept of chords met before.
    #[test]
    fn prop_answers_are_those_of_the_slow_twin(
        tune in tunes(6), look_ahead in 0usize..4, set in 0usize..3, up in any::<bool>(), forgetful in any::<bool>(),
    ) {
        let rules = &sets()[set];
        let options = options(if up { Octave::Up } else { Octave::AsWritten });
        let mut live = Live::new(rules, Key::C_MAJOR, options, look_ahead).unwrap();
        if forgetful {
            (live.chords, live.ways) = (Shelf::new(2), Shelf::new(1));
        }
        let answers = all_answers(&mut live, &tune);
        prop_assert_eq!(voicings(&answers), twin(&tune, Key::C_MAJOR, rules, &options, look_ahead));
        prop_assert!(answers.iter().enumerate().all(|(at, answer)| answer.slot == at));
    }

    /// With a look-ahead over the whole tune the answers are those of `arrange`, with all reasons, and cost as much; with a
    /// shorter one they cost no less. Octave `auto` means as written.
    #[test]
    fn prop_a_look_ahead_over_the_whole_tune_answers_as_arrange_does(
        tune in tunes(5), beyond in 0usize..3, short in 0usize..2, set in 0usize..3, octave in 0usize..3,
    ) {
        let rules = &sets()[set];
        let octave = [Octave::AsWritten, Octave::Up, Octave::Auto][octave];
        let as_meant = if octave == Octave::Auto { Octave::AsWritten } else { octave };
        let progression = Progression { key: "F".parse().unwrap(), slots: tune.clone() };
        let Arrangement { chords, cost: least, octave_shift } =
            arrange(&progression, rules, options(as_meant)).unwrap();
        let mut live = Live::new(rules, progression.key, options(octave), tune.len() + beyond).unwrap();
        prop_assert_eq!(live.octave_shift(), octave_shift);
        let answers = all_answers(&mut live, &tune);
        let explained: Vec<Arc<ArrangedChord>> =
            answers.iter().map(|answer| live.explain(answer).unwrap().into()).collect();
        for (answer, chord) in answers.iter().zip(&explained) {
            prop_assert_eq!((answer.points, answer.way), (chord.points, chord.points_of_moves()));
            prop_assert_eq!((answer.function, answer.melody), (chord.function, chord.melody));
        }
        prop_assert_eq!(explained, chords);
        prop_assert_eq!(cost(&answers), least);

        // Answers of a shorter look-ahead, with what the chords do in the whole tune, are one of the arrangements.
        let mut live = Live::new(rules, progression.key, options(octave), short).unwrap();
        let shorter = all_answers(&mut live, &tune);
        if shorter.iter().zip(&answers).all(|(short, long)| short.function == long.function) {
            prop_assert!(cost(&shorter) >= least);
        }
    }

    /// What was prepared or played before changes nothing.
    #[test]
    fn prop_what_was_met_before_changes_no_answer(
        tune in tunes(4), other in tunes(4), look_ahead in 0usize..3, at in 0usize..4,
    ) {
        let rules = RuleSet::standard();
        let mut live = Live::new(rules, Key::C_MAJOR, options(Octave::Up), look_ahead).unwrap();
        let plain = all_answers(&mut live, &tune);
        let mut live = Live::new(rules, Key::C_MAJOR, options(Octave::Up), look_ahead).unwrap();
        live.prepare(&other);
        let mut answers = Vec::new();
        for (place, slot) in tune.iter().enumerate() {
            answers.extend(live.push(slot));
            if place == at {
                live.prepare(&other);
            }
        }
        answers.extend(std::iter::from_fn(|| live.finish()));
        prop_assert_eq!(&answers, &plain);
        live.start_again();
        prop_assert_eq!(&all_answers(&mut live, &tune), &plain);
    }
}

/// Where the melody rests and both hands pay together, the ways do not divide into hands.
#[test]
fn ok_rests_under_rules_for_both_hands() {
    let tune = slots("Dm7 F5, G7, Cmaj7 E5");
    for rules in &sets()[1..] {
        for look_ahead in [0, 2] {
            let mut live = Live::new(rules, Key::C_MAJOR, options(Octave::Auto), look_ahead).unwrap();
            let answers = all_answers(&mut live, &tune);
            let as_written = options(Octave::AsWritten);
            assert_eq!(voicings(&answers), twin(&tune, Key::C_MAJOR, rules, &as_written, look_ahead));
        }
    }
}

#[test]
fn err_what_it_cannot_do() {
    let new = |options, look_ahead| Live::new(RuleSet::standard(), Key::C_MAJOR, options, look_ahead);
    for look_ahead in 0..=8 {
        assert_eq!(new(ArrangeOptions::default(), look_ahead).unwrap().look_ahead(), look_ahead);
    }
    for look_ahead in [9, usize::MAX] {
        let error = new(ArrangeOptions::default(), look_ahead).unwrap_err();
        assert!(error.is_limit());
        assert_eq!(
            error.to_string(),
            format!("a look-ahead of {look_ahead} chords, expected at most 8 (limit `look_ahead`)")
        );
    }
    let instead = Instead::of([Reharmonisation::Substitute]);
    let error = new(ArrangeOptions { instead, ..ArrangeOptions::default() }, 1).unwrap_err();
    assert!(error.is_range() && error.help().is_some(), "{error}");
}

#[test]
fn err_slots_as_text() {
    for text in ["", "Dm7 F5 G5", "H7", "Dm7 X9"] {
        assert!(text.parse::<Slot>().is_err(), "{text}");
    }
    assert_eq!(slot(" Dm7   F5 "), Slot { melody: Some("F5".parse().unwrap()), ..slot("Dm7") });
    assert_eq!(slot("N.C. F5").chord, None);
}

#[test]
fn ok_nothing_pushed_and_finished_twice() {
    let mut live = Live::new(RuleSet::standard(), Key::C_MAJOR, Default::default(), 1).unwrap();
    assert_eq!((live.finish(), live.finish()), (None, None));
    assert_eq!(live.push(&slot("Dm7 F5")), None);
    let first = live.finish().unwrap();
    assert_eq!((live.finish(), live.finish()), (None, None));
    // What comes afterwards goes on from there.
    assert_eq!(live.push(&slot("G7 F5")), None);
    let second = live.finish().unwrap();
    assert_eq!((first.slot, second.slot), (0, 1));
    assert_eq!(live.explain(&second).unwrap().points_of_moves(), second.way);
    assert_eq!(live.explain(&LiveAnswer { slot: 7, ..second }), None);
    live.start_again();
    assert_eq!(live.explain(&second), None);
    live.push(&slot("G7 F5"));
    assert_eq!(live.finish().unwrap().slot, 0);
}

/// What a chord does, by how far ahead it looks: a dominant, one that is repeated, one that a minor chord delays.
#[test]
fn ok_what_chords_do_as_far_as_is_known() {
    let tune = slots("A7 E5, Dm7 F5, D7 F#5, Am7 E5, D7 F#5, G7 D5, G7 F5, C E5");
    let does = |look_ahead| {
        let mut live = Live::new(RuleSet::standard(), Key::C_MAJOR, Default::default(), look_ahead).unwrap();
        let answers = all_answers(&mut live, &tune);
        itertools::join(answers.iter().filter_map(|answer| answer.function), " ")
    };
    assert_eq!(does(0), "static ii II7 vi II7 V7/I V7/I I");
    assert_eq!(does(1), "V7/ii ii II7 vi V7/V V7/I V7/I I");
    assert_eq!(does(3), "V7/ii ii V7/V vi V7/V V7/I V7/I I");
}

#[test]
fn ok_chords_without_candidates_are_passed_over() {
    for look_ahead in [0, 1, 3] {
        let tune = slots("Dm7 F5, G7 C2, N.C. E5, Cmaj7 E5");
        let mut live =
            Live::new(RuleSet::standard(), Key::C_MAJOR, options(Octave::AsWritten), look_ahead).unwrap();
        let answers = all_answers(&mut live, &tune);
        assert_eq!(
            voicings(&answers).iter().map(Option::is_some).collect::<Vec<_>>(),
            [true, false, false, true]
        );
        let low = live.explain(&answers[1]).unwrap();
        assert_eq!(low.findings[0].rule, "no-room");
        assert!(live.explain(&answers[2]).unwrap().findings.is_empty());
        assert_eq!(answers[2].melody, Some("E5".parse().unwrap()));
        assert!(!live.explain(&answers[3]).unwrap().moves.is_empty(), "the way leads from the first");
        // A tune of nothing else.
        let low = slots("Dm7 C2, G7 C2, N.C. C2");
        live.start_again();
        assert!(
            all_answers(&mut live, &low).iter().all(|answer| answer.voicing.is_none() && answer.way == 0)
        );
    }
}

#[test]
fn ok_too_many_pairs_are_passed_over() {
    let limits = SearchLimits { pairs: 10, ..SearchLimits::default() };
    let mut live =
        Live::new(RuleSet::standard(), Key::C_MAJOR, ArrangeOptions { limits, ..Default::default() }, 0)
            .unwrap();
    let answer = live.push(&slot("Dm7 F5")).unwrap();
    assert_eq!(answer.voicing, None);
    let explained = live.explain(&answer).unwrap();
    assert!(explained.findings[0].message.contains("expected at most 10 (limit `pairs`)"));
}

/// Thousands of chords: no more is kept than is said.
#[test]
fn ok_what_is_kept_is_bounded() {
    let mut live = Live::new(RuleSet::standard(), Key::C_MAJOR, Default::default(), 1).unwrap();
    (live.chords, live.ways) = (Shelf::new(5), Shelf::new(3));
    let few = slots("Dm7 C2, G7 C2, N.C., Cmaj7 C2, A7 C2, D7 C2, Fm6 C2");
    for at in 0..70 {
        live.push(&few[at % few.len()]);
        assert!(live.chords.len() <= 5 && live.ways.len() <= 3);
    }
    let known = slots("Dm7 F5, G7 F5, Cmaj7 E5");
    for at in 0..3_000 {
        live.push(&known[at % 3]);
    }
    assert_eq!((live.told.len(), live.window.len(), live.chords.len(), live.ways.len()), (TOLD, 1, 5, 3));
    assert_eq!(live.next, 3_070);
}

#[test]
fn ok_a_shelf_keeps_what_was_used_last() {
    let mut shelf = Shelf::new(2);
    shelf.put(1);
    shelf.put(2);
    assert_eq!(shelf.find(|item| *item == 1).as_deref(), Some(&1));
    shelf.put(3);
    assert_eq!([1, 2, 3].map(|sought| shelf.find(|item| *item == sought).is_some()), [true, false, true]);
}
