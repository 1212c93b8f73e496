//! How fast chords that come one by one are answered: chords met before and new ones, looking ahead none, one and four.

#![allow(missing_docs, clippy::unwrap_used, reason = "benches")]

use std::hint::black_box;

use criterion::{BatchSize, Criterion, Throughput, criterion_group, criterion_main};
use overshell::rules::RuleSet;
use overshell::search::{ArrangeOptions, Arranger, Live, LiveAnswer, Octave, Pin, Pinned, Progression, Slot};
use overshell::sheet::{ReadOptions, read};
use overshell::voicing::Voicing;

fn options() -> ArrangeOptions {
    ArrangeOptions { octave: Octave::Up, ..ArrangeOptions::default() }
}

/// The slow twin: for each chord all that is known is arranged anew, what sounded before pinned in front of it.
fn twin(tune: &Progression, look_ahead: usize) -> Vec<Option<Voicing>> {
    let mut sounded: Option<(Slot, Voicing)> = None;
    let mut answers = Vec::new();
    for at in 0..tune.slots.len() {
        let known = tune.slots.iter().skip(at).take(look_ahead + 1).cloned();
        let slots = sounded.iter().map(|(slot, _)| slot.clone()).chain(known).collect();
        let known = Progression { slots, ..*tune };
        let mut arranger = Arranger::new(&known, RuleSet::standard(), options()).unwrap();
        if let Some((_, voicing)) = sounded {
            arranger.pin(0, Pin::play(Pinned::Voicing(voicing))).unwrap();
        }
        let chord = arranger.best().chords.get(usize::from(sounded.is_some())).unwrap().voicing;
        answers.push(chord);
        if let (Some(voicing), Some(slot)) = (chord, tune.slots.get(at)) {
            sounded = Some((slot.clone(), voicing));
        }
    }
    answers
}

fn play(live: &mut Live<'_>, slots: &[Slot], mut hear: impl FnMut(LiveAnswer)) {
    live.start_again();
    for slot in slots {
        if let Some(answer) = live.push(black_box(slot)) {
            hear(answer);
        }
    }
    while let Some(answer) = live.finish() {
        hear(answer);
    }
}

fn lives(c: &mut Criterion) {
    let tune = include_bytes!("../examples/tunes/nine-lamps.musicxml");
    let progression = read(tune, &ReadOptions::default()).unwrap().sheet.progression();
    let slots = &progression.slots;
    assert_eq!(slots.len(), 41);
    let new = |look_ahead| Live::new(RuleSet::standard(), progression.key, options(), look_ahead).unwrap();
    for look_ahead in [0, 1, 4] {
        let expected = twin(&progression, look_ahead);
        let mut group = c.benchmark_group(format!("live/push/41-chords/look-ahead-{look_ahead}"));
        group.sample_size(20).throughput(Throughput::Elements(41));
        let check = |live: &mut Live<'_>| {
            let mut expected = expected.iter();
            play(live, slots, |answer| assert_eq!(Some(&answer.voicing), expected.next()));
            assert_eq!(expected.next(), None);
        };
        let mut live = new(look_ahead);
        check(&mut live);
        group.bench_function("known", |b| b.iter(|| check(&mut live)));
        group.bench_function("new", |b| {
            b.iter_batched(|| new(look_ahead), |mut live| check(&mut live), BatchSize::LargeInput);
        });
        group.finish();
        slowest(&mut live, slots, look_ahead);
    }
}

/// The slowest of all pushes, the fastest of twenty times each.
fn slowest(live: &mut Live<'_>, slots: &[Slot], look_ahead: usize) {
    let mut least = vec![std::time::Duration::MAX; slots.len()];
    for _ in 0..20 {
        live.start_again();
        for (slot, least) in slots.iter().zip(&mut least) {
            let start = std::time::Instant::now();
            black_box(live.push(black_box(slot)));
            *least = start.elapsed().min(*least);
        }
        while live.finish().is_some() {}
    }
    let slowest = least.iter().max().unwrap();
    println!("slowest push of a known chord, look-ahead {look_ahead}: {slowest:?}");
}

criterion_group!(benches, lives);
criterion_main!(benches);
