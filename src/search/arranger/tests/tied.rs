//! One voicing for each written chord: against pins, against the free arrangement, and at the edges.

use std::ops::ControlFlow;

use super::*;
use crate::search::arranger::{arrange_tied, arrange_tied_watched};
use crate::search::watch::Progress;

/// A pick-up, a section that is played twice with two endings, and an end; with the numbers of its written chords.
fn with_repeat() -> (Progression, Vec<usize>) {
    let same = vec![0, 1, 2, 3, 1, 2, 4, 5];
    let page = [("C7", "G4"), ("Fmaj7", "A4"), ("D7", "C5"), ("Gm7", "Bb4"), ("Db7", "Ab4"), ("F6", "F4")];
    let chords = same.iter().map(|chord| page[*chord]);
    (Progression::from_symbols("F", chords).unwrap(), same)
}

fn keys(arrangement: &Arrangement, chord: usize) -> Option<Vec<u8>> {
    Some(arrangement.chords[chord].voicing?.pitches().map(|pitch| pitch.midi()).collect())
}

fn in_octave(shift: i8) -> ArrangeOptions {
    let octave = if shift == 0 { Octave::AsWritten } else { Octave::Up };
    ArrangeOptions { octave, ..ArrangeOptions::default() }
}

/// What these voicings cost, by pinning them all.
fn pinned(progression: &Progression, voicings: &[Option<Voicing>], shift: i8) -> i32 {
    let rules = RuleSet::standard();
    let pins = voicings
        .iter()
        .enumerate()
        .filter_map(|(at, voicing)| Some((at, Pin::play(Pinned::Voicing((*voicing)?)))));
    let pins = pins.collect();
    let arranger = Arranger::with_pins(progression.clone(), rules, in_octave(shift), pins, &mut unwatched());
    arranger.unwrap().best().cost
}

/// The slow twin: each voicing of a chord that is played twice in turn, the rest free.
#[test]
fn ok_no_voicing_of_the_repeated_chord_is_cheaper() {
    let page = [("C7", "G4"), ("Fmaj7", "A4"), ("Gm7", "Bb4"), ("Fmaj7", "A4"), ("Db7", "Ab4")];
    let progression = Progression::from_symbols("F", page).unwrap();
    let rules = RuleSet::standard();
    let tied = arrange_tied(&progression, &[0, 1, 2, 1, 4], rules, in_octave(0)).unwrap();
    assert_eq!(keys(&tied, 1), keys(&tied, 3));
    // All voicings of the chord, by the candidates of the arrangement.
    let question = Question { progression: &progression, rules, options: &in_octave(0), pins: &[] };
    let lattice = Lattice::new(&question, &mut Materials::new(), 0, &mut unwatched()).unwrap();
    let place = lattice.place_of(1).unwrap();
    let layer = &lattice.layers[1];
    let mut costs = Vec::new();
    for pair in (0..layer.pairs()).filter(|pair| layer.base[*pair] != Layer::NEVER) {
        let mut layers = lattice.layers.clone();
        let keys = [&place.lefts[pair / layer.rights].keys, &place.rights[pair % layer.rights].keys];
        for at in [1, 3] {
            let (own, rights) = (lattice.place_of(at).unwrap(), layers[at].rights);
            for (other, cost) in layers[at].base.iter_mut().enumerate() {
                if [&own.lefts[other / rights].keys, &own.rights[other % rights].keys] != keys {
                    *cost = Layer::NEVER;
                }
            }
        }
        let joint = |at, which, from, to| lattice.joint(at, which, from, to);
        costs.extend(Solved::new(&layers, joint).best().map(|path| path.cost));
    }
    assert!(costs.len() > 100, "{}", costs.len());
    assert_eq!(costs.iter().min(), Some(&i64::from(tied.cost)));
}

#[test]
fn ok_tied_chords_are_the_same_and_cost_what_they_cost() {
    let (progression, same) = with_repeat();
    let rules = RuleSet::standard();
    let free = arrange(&progression, rules, ArrangeOptions::default()).unwrap();
    let tied = arrange_tied(&progression, &same, rules, ArrangeOptions::default()).unwrap();
    for (one, number) in same.iter().enumerate() {
        for (other, _) in same.iter().enumerate().filter(|(_, other)| *other == number) {
            assert_eq!(keys(&tied, one), keys(&tied, other));
        }
        assert!(keys(&tied, one).is_some());
    }
    assert!(tied.cost >= free.cost, "{} {}", tied.cost, free.cost);
    let sum: i32 = tied.chords.iter().map(|chord| chord.points + chord.points_of_moves()).sum();
    assert_eq!(sum, tied.cost);
    let voicings = |arrangement: &Arrangement, chords: &[usize]| -> Vec<Option<Voicing>> {
        chords.iter().map(|chord| arrangement.chords[*chord].voicing).collect()
    };
    let all: Vec<usize> = (0..same.len()).collect();
    assert_eq!(pinned(&progression, &voicings(&tied, &all), tied.octave_shift), tied.cost);
    // The page in the order in which it is written, played out, is no cheaper.
    let mut page = progression.clone();
    page.slots = [0, 1, 2, 3, 6, 7].map(|slot| progression.slots[slot].clone()).to_vec();
    let written = arrange(&page, rules, in_octave(tied.octave_shift)).unwrap();
    let voicings = voicings(&written, &same);
    assert!(pinned(&progression, &voicings, tied.octave_shift) >= tied.cost);
}

#[test]
fn ok_untied_is_free() {
    let progression = tune();
    let same: Vec<usize> = (0..progression.slots.len()).rev().collect();
    for shift in [0, 12] {
        let tied = arrange_tied(&progression, &same, RuleSet::standard(), in_octave(shift)).unwrap();
        assert_eq!(tied, arrange(&progression, RuleSet::standard(), in_octave(shift)).unwrap());
    }
    let none = Progression { slots: Vec::new(), ..progression };
    let tied = arrange_tied(&none, &[], RuleSet::standard(), ArrangeOptions::default()).unwrap();
    assert_eq!(tied, arrange(&none, RuleSet::standard(), ArrangeOptions::default()).unwrap());
}

#[test]
fn err_refused() {
    let (progression, same) = with_repeat();
    let refused =
        |same: &[usize], options| arrange_tied(&progression, same, RuleSet::standard(), options).unwrap_err();
    let options = ArrangeOptions::default();
    assert!(refused(&same[1..], options).is_range());
    let instead = Instead::of([Reharmonisation::TwoFive]);
    let error = refused(&same, ArrangeOptions { instead, ..options });
    assert!(error.is_range() && error.help().is_some());
    // Another melody note is on top of another voicing.
    let error = refused(&[0, 0, 2, 3, 4, 5, 6, 7], options);
    assert!(error.is_no_answer() && error.to_string().contains("chord 1 (`C7`)"), "{error}");
    let limits = SearchLimits { branches: 0, ..SearchLimits::default() };
    let error = refused(&same, ArrangeOptions { limits, ..options });
    assert!(error.is_limit() && error.to_string().contains("`branches`"), "{error}");
    assert!(error.help().is_some_and(|help| help.contains("branches")));
    let limits = SearchLimits { chords: 7, ..SearchLimits::default() };
    assert!(refused(&same, ArrangeOptions { limits, ..options }).is_limit());
}

#[test]
fn ok_watched() {
    let (progression, same) = with_repeat();
    let run = |watch: Watch<'_>| {
        arrange_tied_watched(&progression, &same, RuleSet::standard(), ArrangeOptions::default(), watch)
    };
    let mut heard: Vec<Progress> = Vec::new();
    let told = run(&mut |progress| {
        heard.push(progress);
        ControlFlow::Continue(())
    });
    let plain = arrange_tied(&progression, &same, RuleSet::standard(), ArrangeOptions::default());
    assert_eq!(told.unwrap(), plain.unwrap());
    let of = 4 * same.len();
    assert!(heard.iter().all(|progress| progress.of == of) && heard.is_sorted_by_key(|p| p.done));
    assert_eq!(heard.last().unwrap().done, of);
    for stop in 0..heard.len() {
        let mut asked = 0;
        let stopped = run(&mut |_| {
            asked += 1;
            if asked > stop { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        });
        assert!(stopped.unwrap_err().is_stopped());
        assert_eq!(asked, stop + 1);
    }
}
