//! Long work is watched: that changes no answer, and whoever stops it finds all as it was.

use std::ops::ControlFlow;

use super::*;
use crate::search::arrange_many_watched;
use crate::search::watch::Progress;

/// Something long, and what it answers; what is pinned is answered with what is best then.
type Work = dyn Fn(&mut Arranger<'_>, Option<Watch<'_>>) -> Result<Vec<Arrangement>>;

fn few(count: usize, variety: Variety) -> Box<Work> {
    Box::new(move |arranger, watch| match watch {
        Some(watch) => arranger.best_few_watched(count, variety, watch),
        None => arranger.best_few(count, variety),
    })
}

fn runner_up(chord: usize) -> Box<Work> {
    Box::new(move |arranger, watch| {
        let found = match watch {
            Some(watch) => arranger.runner_up_watched(chord, watch)?,
            None => arranger.runner_up(chord),
        };
        Ok(found.into_iter().collect())
    })
}

fn pinned(chord: usize, pin: Pin) -> Box<Work> {
    Box::new(move |arranger, watch| {
        match watch {
            Some(watch) => arranger.pin_watched(chord, pin, watch)?,
            None => arranger.pin(chord, pin)?,
        }
        Ok(vec![arranger.best()])
    })
}

fn unpinned(chord: usize) -> Box<Work> {
    Box::new(move |arranger, watch| {
        match watch {
            Some(watch) => arranger.unpin_watched(chord, watch)?,
            None => arranger.unpin(chord)?,
        }
        Ok(vec![arranger.best()])
    })
}

/// All that takes long, each with whether it succeeds.
fn all() -> Vec<(Box<Work>, bool)> {
    let structure = |text: &str| Pinned::Structure(text.parse().unwrap());
    let mut all = vec![
        (few(0, Variety::Chords(1)), true),
        (few(1, Variety::Chords(1)), true),
        (few(4, Variety::Chords(1)), true),
        (few(3, Variety::Chords(3)), true),
        (few(3, Variety::Chords(99)), true),
        (few(3, Variety::Structures(2)), true),
        (few(1_000_000, Variety::Structures(2)), false),
        (pinned(0, Pin::avoid(structure("II"))), true),
        // B major holds no C.
        (pinned(1, Pin::play(structure("VI"))), false),
        (pinned(99, Pin::play(structure("II"))), false),
        (unpinned(2), true),
        (unpinned(0), true),
        (unpinned(99), false),
    ];
    all.extend([0, 1, 3, 99].map(|chord| (runner_up(chord), true)));
    all
}

/// Arrangers for a small tune with something pinned: in both octaves, with dominants played otherwise, with a rule that looks at both
/// hands, without chords.
fn arrangers(sets: &[RuleSet; 3]) -> Vec<Arranger<'_>> {
    let instead = Instead::of(WAYS).with_toll(0);
    let richer = ArrangeOptions { instead, ..as_written() };
    let nothing = Progression { slots: Vec::new(), ..short() };
    let [outer, _, standard] = sets;
    let new =
        |tune: &Progression, rules, options: ArrangeOptions| Arranger::new(tune, rules, options).unwrap();
    let mut all = vec![
        new(&short(), standard, ArrangeOptions::default()),
        new(&short(), standard, richer),
        new(&short(), outer, as_written()),
    ];
    for arranger in &mut all {
        arranger.pin(2, Pin::avoid(Pinned::Shell("1 3 7".parse().unwrap()))).unwrap();
    }
    all.push(new(&nothing, standard, as_written()));
    all
}

/// A copy with the same pins.
fn copied<'r>(arranger: &Arranger<'r>) -> Arranger<'r> {
    let Arranger { progression, rules, options, pins, .. } = arranger;
    Arranger::with_pins(progression.clone(), rules, *options, pins.clone(), &mut unwatched()).unwrap()
}

/// What is heard goes on from report to report, of the same number, to the end.
fn check(heard: &[Progress], succeeded: bool) {
    assert!(heard.windows(2).all(|two| two[0].of == two[1].of && two[0].done <= two[1].done), "{heard:?}");
    assert!(heard.iter().all(|progress| progress.done <= progress.of), "{heard:?}");
    if succeeded {
        assert!(heard.last().is_some_and(|last| last.done == last.of), "{heard:?}");
    }
}

/// Watching changes no answer and hears how it goes on; stopped at any report, all is as it was.
#[test]
fn all_long_work_is_watched_and_stopped() {
    let sets = sets();
    for mut arranger in arrangers(&sets) {
        let chords = arranger.progression.slots.len();
        let (best, pins) = (arranger.best(), arranger.pins().to_vec());
        for (at, (work, succeeds)) in all().into_iter().enumerate() {
            let (mut plain, mut watched) = (copied(&arranger), copied(&arranger));
            let mut heard = Vec::new();
            let answer = work(
                &mut watched,
                Some(&mut |progress| {
                    heard.push(progress);
                    ControlFlow::Continue(())
                }),
            );
            let expected = work(&mut plain, None);
            match (&answer, &expected) {
                (Ok(answer), Ok(expected)) => assert_eq!(answer, expected),
                (Err(answer), Err(expected)) => assert_eq!(answer.report(), expected.report()),
                _ => panic!("{answer:?} {expected:?}"),
            }
            assert_eq!((plain.best(), plain.pins()), (watched.best(), watched.pins()));
            check(&heard, answer.is_ok());
            // Without chords nothing can be pinned, nor are there too many.
            assert!(chords == 0 || answer.is_ok() == succeeds, "work {at}");
            for (stop, told) in heard.iter().enumerate() {
                let mut count = 0;
                let stopped = work(
                    &mut arranger,
                    Some(&mut |progress| {
                        assert_eq!(progress, heard[count]);
                        count += 1;
                        if count > stop { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
                    }),
                );
                let error = stopped.unwrap_err();
                let expected = format!("stopped after {} of {}", told.done, told.of);
                assert!(error.is_stopped() && error.to_string() == expected, "{error}, {expected}");
                // It hears nothing more once it has said stop.
                assert_eq!(count, stop + 1);
                assert!(arranger.best() == best && arranger.pins() == pins, "work {at}, stopped at {stop}");
            }
        }
    }
}

/// Whoever watches the first search hears of every chord, twice for each octave, in order, and once more at the end.
#[test]
fn ok_progress_and_stop() {
    let mut heard = Vec::new();
    let mut all = |progress: Progress| {
        heard.push(progress);
        ControlFlow::Continue(())
    };
    Arranger::watched(&short(), RuleSet::standard(), ArrangeOptions::default(), &mut all).unwrap();
    assert_eq!(heard.len(), 17);
    assert!(
        heard.iter().enumerate().all(|(at, progress)| (progress.done, progress.of) == (at, 16)),
        "{heard:?}"
    );
    for stop in 0..=16 {
        let mut some = |progress: Progress| {
            if progress.done == stop { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
        };
        let error = Arranger::watched(&short(), RuleSet::standard(), ArrangeOptions::default(), &mut some)
            .unwrap_err();
        assert!(error.is_stopped() && error.to_string() == format!("stopped after {stop} of 16"), "{error}");
    }
    let many = vec![short(); 300];
    let all = arrange_many_watched(&many, RuleSet::standard(), as_written(), |_| ControlFlow::Continue(()));
    assert!(all.iter().all(|one| one.as_ref().unwrap() == all[0].as_ref().unwrap()));
    let none = arrange_many_watched(&many, RuleSet::standard(), as_written(), |_| ControlFlow::Break(()));
    assert!(none.iter().any(|one| one.as_ref().is_err_and(Error::is_stopped)));
}

/// Each arrangement and each chord is heard of where several are asked for, and each chord behind the one that changes.
#[test]
fn ok_how_far_it_is() {
    let arranger = Arranger::new(&short(), RuleSet::standard(), as_written()).unwrap();
    let heard = |work: Box<Work>| {
        let mut heard = Vec::new();
        let mut arranger = copied(&arranger);
        let watch = &mut |progress: Progress| {
            heard.push((progress.done, progress.of));
            ControlFlow::Continue(())
        };
        work(&mut arranger, Some(watch)).unwrap();
        heard.dedup();
        heard
    };
    let of = |of: usize, done: &[usize]| done.iter().map(|done| (*done, of)).collect::<Vec<_>>();
    assert_eq!(heard(few(3, Variety::Chords(1))), of(24, &[0, 4, 8, 12, 16, 20, 24]));
    let all: Vec<usize> = (0..8).chain([8, 12, 16, 20, 24]).collect();
    assert_eq!(heard(few(3, Variety::Chords(2))), of(24, &all));
    assert_eq!(heard(runner_up(1)), of(4, &[2, 3, 4]));
    assert_eq!(heard(unpinned(1)), of(8, &[0, 1, 2, 3, 4, 5, 6, 7, 8]));
}
