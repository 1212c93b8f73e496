//! Arrangements against the slow twin, against their own reasons, and at the edges.

mod tied;
mod watched;

use super::*;
use crate::chord::Reharmonisation;
use crate::pitch::Pitch;
use crate::rules::{Judge, Situation};
use crate::search::options::{Instead, Octave};
use crate::search::paths::{Layer, Ways, best_dense};
use crate::search::progression::Slot;
use crate::search::{Comparison, arrange};
use crate::voicing::{HandSize, Voicing};

fn tune() -> Progression {
    let chords = [
        ("Fmaj7", "A4"),
        ("D7", "C5"),
        ("Gm7", "Bb4"),
        ("Gb7", "Ab4"),
        ("F6", "A4"),
        ("Em7b5", "Bb4"),
        ("A7(b9)", "G4"),
        ("Dm/C", "F4"),
        ("G7", "B4"),
        ("C7", "F4"),
        ("C11", "G4"),
        ("F", "F4"),
    ];
    Progression::from_symbols("F", chords).unwrap()
}

fn short() -> Progression {
    let mut tune = tune();
    tune.slots.truncate(4);
    tune
}

/// A rule in code: many notes come or go.
struct Steady;

impl crate::rules::MotionRule for Steady {
    fn id(&self) -> &str {
        "steady"
    }
    fn message(&self) -> &str {
        "notes come or go"
    }
    fn help(&self) -> &str {
        "keep as many"
    }
    fn source(&self) -> &str {
        "invented for this test"
    }
    fn cost(&self, from: &crate::rules::Context<'_>, to: &crate::rules::Context<'_>) -> u16 {
        from.keys().len().abs_diff(to.keys().len()) as u16 * 7
    }
}

/// Outer voices together; code; hands apart.
fn sets() -> [RuleSet; 3] {
    let outer = "format = 1\nname = \"outer\"\n[[rule]]\nid = \"outer\"\nkind = \"motion\"\nparallel = [0, 7]\n\
                 per-parallel = 9\nsimilar = 3\nmessage = \"m\"\nhelp = \"h\"\nsource = \"invented for this test\"\n";
    let standard = RuleSet::standard().clone();
    [standard.over_toml("outer.toml", outer).unwrap(), standard.clone().with_motion_rule(Steady), standard]
}

/// A tune in which the melody rests twice, so that tops are free there.
fn tune_with_rests() -> Progression {
    let mut tune = tune();
    tune.slots[3].melody = None;
    tune.slots[4].melody = None;
    tune
}

const WAYS: [Reharmonisation; 3] =
    [Reharmonisation::TwoFive, Reharmonisation::Substitute, Reharmonisation::SuspendedThenDominant];

fn as_written() -> ArrangeOptions {
    ArrangeOptions { octave: Octave::AsWritten, ..ArrangeOptions::default() }
}

/// The layers that the search is given, candidates thinned, go through the dense twin too, which asks of every pair of voicings what
/// both hands cost together; with other ways to play dominants as well.
#[test]
fn ok_an_arrangement_is_the_optimum_of_its_candidates() {
    let instead = Instead::of(WAYS).with_toll(0);
    for (rules, progression, instead) in
        itertools::iproduct!(&sets(), [tune(), tune_with_rests()], [Instead::NOTHING, instead])
    {
        let options = ArrangeOptions { instead, ..as_written() };
        let arranger = Arranger::new(&progression, rules, options).unwrap();
        let lattice = &arranger.searched.lattice;
        let thinned: Vec<Layer> = lattice
            .layers
            .iter()
            .map(|layer| {
                let mut layer = layer.clone();
                let kept = 72;
                let mut order: Vec<(i32, usize)> = layer.base.iter().copied().zip(0..).collect();
                order.sort();
                for (_, pair) in order.into_iter().skip(kept) {
                    layer.base[pair] = Layer::NEVER;
                }
                layer
            })
            .collect();
        let joint = |at, which, from, to| lattice.joint(at, which, from, to);
        let best = Solved::new(&thinned, joint).best();
        assert!(best.is_some());
        // The twin is told nothing of what was folded into the left hand's way.
        let plain: Vec<Layer> = thinned
            .iter()
            .enumerate()
            .map(|(at, layer)| {
                let mut layer = layer.clone();
                for coming in &mut layer.from {
                    let (before, place) =
                        (lattice.place_of(coming.layer).unwrap(), lattice.place_of(at).unwrap());
                    let ways = itertools::iproduct!(&before.lefts, &place.lefts);
                    let ways: Vec<i32> =
                        ways.map(|(a, b)| place.judge.motion_cost(true, a.inner(), b.inner())).collect();
                    coming.left = Ways::new(place.lefts.len(), &ways);
                    coming.joint = true;
                }
                layer
            })
            .collect();
        assert_eq!(best, best_dense(&plain, joint));
    }
}

/// What an arrangement says it costs is what its voicings and moves cost when they are judged again.
#[test]
fn ok_the_cost_adds_up() {
    for (rules, progression, octave) in
        itertools::iproduct!(&sets(), [tune(), tune_with_rests()], [Octave::AsWritten, Octave::Up])
    {
        let options = ArrangeOptions { octave, ..ArrangeOptions::default() };
        let arrangement = arrange(&progression, rules, options).unwrap();
        let mut sum = 0;
        let mut before: Option<(Voicing, Judge<'_>)> = None;
        for (chord, slot) in arrangement.chords.iter().zip(&progression.slots) {
            let voicing = chord.voicing.unwrap();
            let up = |pitch: Pitch| pitch.shift_octaves(arrangement.octave_shift / 12).unwrap();
            assert_eq!(chord.melody, slot.melody.map(up));
            let played = chord.chord.unwrap();
            let played =
                chord.melody.map_or(played.as_played(), |note| played.as_played_under(note.pitch_class()));
            let situation =
                Situation { function: chord.function, melody: chord.melody, ..Situation::default() };
            let judge = rules.judge_for(played, &situation);
            let score = judge.score(&voicing);
            assert_eq!((score.cost, score.colour), (chord.cost, chord.colour));
            assert_eq!(chord.points, chord.cost - chord.colour.min(rules.colour_enough()));
            sum += chord.points;
            if let Some((before, judge_before)) = &before {
                let moves = judge.motion(judge_before, before, &voicing);
                sum += moves.iter().map(|finding| finding.effect.cost()).sum::<i32>();
                assert_eq!(moves, chord.moves);
            }
            before = Some((voicing, judge));
        }
        assert_eq!(sum, arrangement.cost);
    }
}

fn sum_of(arrangement: &Arrangement) -> i32 {
    arrangement.chords.iter().map(|chord| chord.points + chord.points_of_moves()).sum()
}

/// Several: in order, each adding up, each different; the first is the best.
#[test]
fn ok_the_next_best() {
    let instead = Instead::of(WAYS).with_toll(0);
    for (rules, instead) in itertools::iproduct!(&sets(), [Instead::NOTHING, instead]) {
        let options = ArrangeOptions { instead, ..as_written() };
        let arranger = Arranger::new(&short(), rules, options).unwrap();
        let best = arranger.best();
        for variety in [Variety::Chords(1), Variety::Chords(3), Variety::Structures(2)] {
            let found = arranger.best_few(4, variety).unwrap();
            assert_eq!((found.len(), &found[0]), (4, &best), "{variety:?}");
            assert!(found.windows(2).all(|two| two[0].cost <= two[1].cost));
            assert!(found.iter().all(|arrangement| sum_of(arrangement) == arrangement.cost));
            for (at, one) in found.iter().enumerate() {
                for other in &found[..at] {
                    let there = |slot| other.chords.iter().filter(move |chord| chord.slot == slot);
                    let differ = one.chords.iter().filter(|chord| match variety {
                        Variety::Chords(_) => {
                            there(chord.slot).all(|o| (o.chord, o.voicing) != (chord.chord, chord.voicing))
                        }
                        Variety::Structures(_) => there(chord.slot).all(|o| {
                            (o.chord, o.structure.map(|s| s.label))
                                != (chord.chord, chord.structure.map(|s| s.label))
                        }),
                    });
                    let least = match variety {
                        Variety::Chords(least) | Variety::Structures(least) => least,
                    };
                    assert!(differ.count() >= least, "{variety:?}");
                }
            }
        }
    }
}

/// What is known from the best arrangement serves those after it: they are what a search from the start finds.
#[test]
fn ok_known_costs_serve_again() {
    let instead = Instead::of(WAYS).with_toll(0);
    for (rules, instead) in itertools::iproduct!(&sets(), [Instead::NOTHING, instead]) {
        let options = ArrangeOptions { instead, ..ArrangeOptions::default() };
        let arranger = Arranger::new(&short(), rules, options).unwrap();
        let Searched { lattice, costs, best } = &arranger.searched;
        let joint = |at, which, from, to| lattice.joint(at, which, from, to);
        let fresh = Solved::new(&lattice.layers, joint);
        assert_eq!((fresh.costs(), fresh.best().as_ref()), (costs, Some(best)));
        let answers =
            |paths: Vec<Path>| paths.iter().map(|path| arranger.answer(path)).collect::<Vec<Arrangement>>();
        for (variety, least, classes) in [
            (Variety::Chords(1), 1, voicing_classes(lattice)),
            (Variety::Chords(2), 2, voicing_classes(lattice)),
            (Variety::Structures(2), 2, structure_classes(lattice)),
        ] {
            let varied = fresh.varied(4, least, |layer, pair| classes[layer][pair]).unwrap();
            assert_eq!(arranger.best_few(4, variety).unwrap(), answers(varied), "{variety:?}");
        }
        for slot in 0..short().slots.len() {
            let here = best.nodes.iter().filter(|(layer, ..)| lattice.parts[*layer].slot == slot);
            let others = here.filter_map(|(at, left, right)| {
                let mut layers = lattice.layers.clone();
                let rights = layers[*at].rights;
                layers[*at].base[left * rights + right] = Layer::NEVER;
                Solved::new(&layers, joint).best()
            });
            // The first of the cheapest.
            let expected = others.min_by_key(|path| path.cost);
            assert_eq!(arranger.runner_up(slot), expected.map(|path| arranger.answer(&path)));
        }
    }
}

/// The differences that a comparison names add up to the difference.
#[test]
fn ok_comparisons_add_up() {
    for rules in &sets() {
        let arranger = Arranger::new(&tune(), rules, as_written()).unwrap();
        let best = arranger.best();
        for slot in 0..12 {
            let other = arranger.runner_up(slot).unwrap();
            let why = Comparison::new(&best, &other);
            assert_ne!(best.chords[slot].voicing, other.chords[slot].voicing);
            assert_eq!(why.points, other.cost - best.cost);
            assert!(why.points >= 0);
            assert_eq!(why.points, why.chords.iter().map(|c| c.points + c.points_of_moves).sum::<i32>());
            let reasons = |found: &[Finding]| found.iter().map(|f| f.effect.cost()).sum::<i32>();
            let capped = |found: &[Finding]| found.iter().any(|f| matches!(f.effect, Effect::Colour(_)));
            for chord in &why.chords {
                let (ours, theirs) = (&chord.only_first, &chord.only_second);
                if !capped(ours) && !capped(theirs) {
                    assert_eq!(chord.points + chord.points_of_moves, reasons(theirs) - reasons(ours));
                }
            }
            assert!(why.to_string().starts_with(&format!("{:+} points in all\n", why.points)));
        }
    }
}

#[test]
fn ok_pins() {
    let rules = RuleSet::standard();
    let mut arranger = Arranger::new(&tune(), rules, as_written()).unwrap();
    let free = arranger.best();
    // A voicing that nobody would have thought of.
    let odd: Voicing = "C3 D3 | F4 C5".parse().unwrap();
    arranger.pin(1, Pin::play(Pinned::Voicing(odd))).unwrap();
    assert_eq!(arranger.best().chords[1].voicing, Some(odd));
    assert!(arranger.best().cost > free.cost);
    arranger.unpin(1).unwrap();
    assert_eq!(arranger.best(), free);
    // What is best may be forbidden, in whole or by hands.
    let played = free.chords[1].voicing.unwrap();
    for what in [Pinned::Voicing(played), Pinned::Left(*played.left()), Pinned::Right(*played.right())] {
        arranger.pin(1, Pin::avoid(what)).unwrap();
        assert_ne!(arranger.best().chords[1].voicing, Some(played));
        arranger.unpin(1).unwrap();
    }
    let runner_up = arranger.runner_up(1).unwrap();
    arranger.pin(1, Pin::avoid(Pinned::Voicing(played))).unwrap();
    assert_eq!(arranger.best(), runner_up);
    arranger.unpin(1).unwrap();
    arranger.pin(8, Pin::play(Pinned::Shell("7 3".parse().unwrap()))).unwrap();
    let left = *arranger.best().chords[8].voicing.unwrap().left();
    assert_eq!(left.len(), 2);
    assert_eq!(left.lowest().unwrap().name(), crate::pitch::note("F"));
    assert_eq!(arranger.pins().len(), 1);
}

#[test]
fn ok_pins_are_read() {
    for (text, shown) in [
        ("C3 E3 Bb3 | F#4 A4 D5", "play `C3 E3 Bb3 | F#4 A4 D5`"),
        ("play left C3 Bb3", "play `C3 Bb3` in the left hand"),
        ("avoid right F#4 A4 D5", "avoid `F#4 A4 D5` in the right hand"),
        ("avoid shell 1 3 7", "avoid the shell `1 3 7`"),
        ("structure bVI", "play the structure `bVI`"),
    ] {
        assert_eq!(text.parse::<Pin>().unwrap().to_string(), shown);
    }
    for text in ["", "avoid", "II", "shell", "left", "structure X", "C3 |  C3", "play play"] {
        assert!(text.parse::<Pin>().is_err(), "{text}");
    }
    let error = "II".parse::<Pin>().unwrap_err();
    assert!(error.help().unwrap().contains("`structure II`"));
}

#[test]
fn err_pins() {
    let mut arranger = Arranger::new(&tune(), RuleSet::standard(), as_written()).unwrap();
    let before = arranger.best();
    let label = |text: &str| Pinned::Structure(text.parse().unwrap());
    // Two on one chord.
    arranger.pin(1, Pin::play(label("bVII"))).unwrap();
    let error = arranger.pin(1, Pin::play(label("bIII"))).unwrap_err();
    assert!(error.is_no_answer(), "{error:?}");
    assert_eq!(
        error.to_string(),
        "chord 2 (`D7`): two pins conflict: play the structure `bVII`, and play the structure `bIII`"
    );
    arranger.unpin(1).unwrap();
    // One that nothing meets: B major holds no C.
    let error = arranger.pin(1, Pin::play(label("VI"))).unwrap_err();
    assert_eq!(error.to_string(), "chord 2 (`D7`): no candidate meets the pin: play the structure `VI`");
    let error = arranger.pin(1, Pin::play(Pinned::Right("D4 F#4 A4".parse().unwrap()))).unwrap_err();
    assert!(error.to_string().contains("ends on `A4`, expected the melody note `C5` on top"), "{error}");
    let error = arranger.pin(99, Pin::play(label("II"))).unwrap_err();
    assert!(error.is_range() && error.to_string().contains("place 100, expected one of 12"), "{error}");
    assert_eq!(arranger.best(), before);
}

/// In whichever octave the pinned hand fits.
#[test]
fn ok_pins_choose_the_octave() {
    let mut arranger = Arranger::new(&short(), RuleSet::standard(), ArrangeOptions::default()).unwrap();
    for (right, shift) in [("F4 A4 C5", 0), ("F5 A5 C6", 12)] {
        arranger.pin(1, Pin::play(Pinned::Right(right.parse().unwrap()))).unwrap();
        assert_eq!(arranger.best().octave_shift, shift);
        arranger.unpin(1).unwrap();
    }
}

/// A dominant played otherwise, where that comes out better.
#[test]
fn ok_dominants_played_otherwise() {
    let rules = RuleSet::standard();
    let tune = Progression::from_symbols("C", [("Cmaj7", "E5"), ("G7", "F5"), ("Cmaj7", "E5")]).unwrap();
    let plain = arrange(&tune, rules, as_written()).unwrap();
    for way in WAYS {
        let instead = Instead::of([way]).with_toll(0);
        let free = arrange(&tune, rules, ArrangeOptions { instead, ..as_written() }).unwrap();
        assert!(free.cost <= plain.cost);
        assert_eq!(sum_of(&free), free.cost);
        let dear = instead.with_toll(1_000);
        let dear = arrange(&tune, rules, ArrangeOptions { instead: dear, ..as_written() }).unwrap();
        assert_eq!(dear, plain);
        // The same cost as arranging the changed progression, where its halves count half.
        let changed: Vec<_> = free.chords.iter().filter(|chord| chord.played_as == Some(way)).collect();
        if !changed.is_empty() {
            let expected = tune.reharmonised(1, way).unwrap();
            let chords: Vec<_> = free.chords.iter().map(|chord| chord.chord).collect();
            assert_eq!(chords, expected.slots.iter().map(|slot| slot.chord).collect::<Vec<_>>());
            assert!(changed.iter().all(|chord| chord.slot == 1));
        }
    }
    // Under most melody notes the dominant stays; under some another way wins.
    let changed = ["C5", "Db5", "D5", "Eb5", "E5", "F5", "Gb5", "G5", "Ab4", "A4", "Bb4", "B4"].map(|note| {
        let tune = Progression::from_symbols("C", [("Am7", "G4"), ("G7", note), ("Cmaj7", "G4")]).unwrap();
        let options = ArrangeOptions { instead: Instead::of(WAYS).with_toll(0), ..as_written() };
        let best = arrange(&tune, rules, options).unwrap();
        usize::from(best.chords.iter().any(|chord| chord.played_as.is_some()))
    });
    assert!((1..12).contains(&changed.iter().sum::<usize>()), "{changed:?}");
}

#[test]
fn ok_chords_that_do_not_sound_are_passed_over() {
    let mut progression = tune();
    progression.slots[3].chord = None;
    progression.slots[5].melody = None;
    let arrangement = arrange(&progression, RuleSet::standard(), ArrangeOptions::default()).unwrap();
    assert_eq!(arrangement.chords.len(), progression.slots.len());
    assert!(arrangement.chords[3].voicing.is_none() && arrangement.chords[3].findings.is_empty());
    assert!(arrangement.chords[5].voicing.is_some() && arrangement.chords[5].melody.is_none());
    let nothing = Progression { slots: Vec::new(), ..progression };
    let arranger = Arranger::new(&nothing, RuleSet::standard(), ArrangeOptions::default()).unwrap();
    assert_eq!(arranger.best().cost, 0);
    assert!(arranger.best_few(3, Variety::Chords(2)).unwrap().is_empty() && arranger.runner_up(0).is_none());
}

/// What took the last candidate away, and what would help; the rest of the tune is arranged.
#[test]
fn ok_no_room_is_said() {
    let low = Progression::from_symbols("C", [("C7", "C1"), ("F", "A4"), ("C7", "C3")]).unwrap();
    let arrangement = arrange(&low, RuleSet::standard(), as_written()).unwrap();
    let [lowest, high, low] = &arrangement.chords[..] else { panic!() };
    assert!(high.voicing.is_some() && lowest.voicing.is_none());
    assert_eq!(lowest.findings[0].rule, "no-room");
    assert!(lowest.findings[0].help.contains("no octave and no size of hands"), "{lowest:?}");
    assert!(low.voicing.is_some() || low.findings[0].help.contains("the tune an octave higher"), "{low:?}");
    // A written bass so low that nothing lies below the melody in the left hand: the rule about reach is named.
    let none = Progression::from_symbols("C", [("C7", "C2")]).unwrap();
    let finding = arrange(&none, RuleSet::standard(), as_written()).unwrap().chords[0].findings[0].clone();
    assert!(finding.message.contains("the melody lies lower than any left hand"), "{finding:?}");
    let mut arranger = Arranger::new(&none, RuleSet::standard(), as_written()).unwrap();
    let error = arranger.pin(0, Pin::avoid(Pinned::Structure("II".parse().unwrap()))).unwrap_err();
    assert!(error.is_no_answer() && error.to_string().contains("cannot be pinned"), "{error}");
}

/// What is pinned is pinned over the chord as it is written.
#[test]
fn ok_pins_keep_the_chord() {
    let tune = Progression::from_symbols("C", [("Dm7", "F5"), ("G7", "Db5"), ("Cmaj7", "E5")]).unwrap();
    let options = ArrangeOptions { instead: Instead::of(Reharmonisation::ALL).with_toll(0), ..as_written() };
    let mut arranger = Arranger::new(&tune, RuleSet::standard(), options).unwrap();
    for pin in [
        Pin::play(Pinned::Structure("bV".parse().unwrap())),
        Pin::avoid(Pinned::Shell("1 3 7".parse().unwrap())),
    ] {
        arranger.pin(1, pin).unwrap();
        let chord = arranger.best().chords[1].clone();
        assert_eq!((chord.chord, chord.played_as), (tune.slots[1].chord, None));
        arranger.unpin(1).unwrap();
    }
}

/// The runner-up over a dominant played as two chords changes one of them at least: none of the next best that does costs less.
#[test]
fn ok_the_runner_up_of_two_chords() {
    let tune = Progression::from_symbols("C", [("Am7", "G4"), ("G7", "D5"), ("Cmaj7", "E5")]).unwrap();
    for way in WAYS {
        let options = ArrangeOptions { instead: Instead::of([way]).with_toll(0), ..as_written() };
        let arranger = Arranger::new(&tune, RuleSet::standard(), options).unwrap();
        let best = arranger.best();
        let at = |arrangement: &Arrangement| -> Vec<_> {
            let own = arrangement.chords.iter().filter(|chord| chord.slot == 1);
            own.map(|chord| (chord.chord, chord.voicing)).collect()
        };
        let list = arranger.best_few(60, Variety::Chords(1)).unwrap();
        let first = list.iter().find(|other| at(other) != at(&best));
        let other = arranger.runner_up(1).unwrap();
        assert_ne!(at(&other), at(&best));
        assert!(first.is_none_or(|first| first.cost == other.cost), "{way}");
    }
}

/// Sizes that no memory holds are refused, or answered at once.
#[test]
fn err_absurd_varieties() {
    let arranger = Arranger::new(&short(), RuleSet::standard(), as_written()).unwrap();
    for least in [5, 100_000, usize::MAX] {
        assert_eq!(arranger.best_few(3, Variety::Chords(least)).unwrap(), [arranger.best()]);
    }
    let mut options = as_written();
    options.limits.all_pairs = 20_000;
    let arranger = Arranger::new(&short(), RuleSet::standard(), options).unwrap();
    let error = arranger.best_few(900, Variety::Structures(4)).unwrap_err();
    assert!(error.is_limit() && error.to_string().contains("limit `all_pairs`"), "{error}");
}

#[test]
fn ok_a_dominant_under_its_fourth_is_suspended() {
    let progression = Progression::from_symbols("C", [("G7", "C5"), ("C", "C5")]).unwrap();
    let arrangement = arrange(&progression, RuleSet::standard(), ArrangeOptions::default()).unwrap();
    let g7 = &arrangement.chords[0];
    assert!(g7.sounding.unwrap().to_string().contains("sus4"), "{g7:?}");
    assert!(g7.findings.iter().any(|finding| finding.rule == "played-as-suspension"));
    assert!(!g7.voicing.unwrap().pitch_set().contains(crate::pitch::note("B").pitch_class()));
}

/// Each limit is named by the error that it causes.
#[test]
fn err_limits() {
    let with = |change: fn(&mut SearchLimits)| {
        let mut options = as_written();
        change(&mut options.limits);
        Arranger::new(&short(), RuleSet::standard(), options)
    };
    for (change, name) in [
        ((|limits| limits.chords = 3) as fn(&mut SearchLimits), "chords"),
        (|limits| limits.pairs = 10, "pairs"),
        (|limits| limits.all_pairs = 300, "all_pairs"),
    ] {
        let error = with(change).unwrap_err();
        assert!(error.is_limit() && error.to_string().contains(&format!("limit `{name}`")), "{error}");
    }
    let arranger = with(|limits| limits.arrangements = 2).unwrap();
    assert!(arranger.best_few(2, Variety::Chords(1)).is_ok());
    let error = arranger.best_few(3, Variety::Chords(1)).unwrap_err();
    assert!(error.is_limit() && error.to_string().contains("limit `arrangements`"), "{error}");
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(40))]

    /// Any chords under any melody: hands in reach, the melody on top, the same answer twice.
    #[test]
    fn prop_arrangements_can_be_played(
        picks in proptest::collection::vec((0usize..35, 0usize..27, 40u8..90), 1..5),
    ) {
        use crate::chord::{Chord, Quality, Spelling};
        use crate::pitch::{NoteName, PitchClass};
        let slots = picks.iter().map(|(root, quality, key)| {
            let chord = Chord::new(NoteName::all().nth(*root).unwrap(), Quality::NAMED[*quality].1);
            let name = Spelling::default().name(chord, PitchClass::wrapping(i32::from(*key)));
            Slot { chord: Some(chord), melody: Pitch::from_midi(*key, name), moving: Vec::new() }
        });
        let progression = Progression { key: crate::chord::Key::C_MAJOR, slots: slots.collect() };
        let rules = RuleSet::standard();
        for hand in HandSize::NAMES.map(|(_, size)| size) {
            let options = ArrangeOptions { hand, ..as_written() };
            let arrangement = arrange(&progression, rules, options).unwrap();
            assert_eq!(arrangement, arrange(&progression, rules, options).unwrap());
            for chord in &arrangement.chords {
                let Some(voicing) = chord.voicing else { continue };
                assert_eq!(voicing.top(), chord.melody);
                let situation = Situation { hand_size: hand, ..Situation::default() };
                let judge = rules.judge_for(chord.chord.unwrap(), &situation);
                for hand in [voicing.left(), voicing.right()] {
                    assert!(judge.within_reach(&crate::rules::keys(hand.pitches())));
                }
            }
        }
    }
}
