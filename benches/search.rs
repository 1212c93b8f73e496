//! How fast the searches answer: the catalogue, a whole tune, and the factored step against its dense twin.

#![allow(missing_docs, clippy::unwrap_used, reason = "benches")]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use overshell::chord::chord;
use overshell::rules::RuleSet;
use overshell::search::paths::{Coming, Layer, Solved, Ways, best_dense};
use overshell::search::{ArrangeOptions, CatalogueOptions, Octave, arrange, catalogue};
use overshell::sheet::{ReadOptions, read};

fn catalogues(c: &mut Criterion) {
    let rules = RuleSet::standard();
    let options = CatalogueOptions::default();
    for symbol in ["C7", "Ebmaj7", "F#m7b5"] {
        let chord = chord(symbol);
        c.bench_function(&format!("search/catalogue/52-triads/{symbol}"), |b| {
            b.iter(|| {
                let entries = catalogue(black_box(chord), rules, &options).unwrap();
                assert_eq!(entries.len(), 52);
            });
        });
    }
}

fn tunes(c: &mut Criterion) {
    let rules = RuleSet::standard();
    let tune = include_bytes!("../examples/tunes/nine-lamps.musicxml");
    let progression = read(tune, &ReadOptions::default()).unwrap().sheet.progression();
    assert_eq!(progression.slots.len(), 41);
    for (name, octave) in [("both-octaves", Octave::Auto), ("one-octave", Octave::Up)] {
        let options = ArrangeOptions { octave, ..ArrangeOptions::default() };
        let cost = arrange(&progression, rules, options).unwrap().cost;
        c.bench_function(&format!("search/arrange/32-bars-41-chords/{name}"), |b| {
            b.iter(|| {
                let arrangement = arrange(black_box(&progression), rules, options).unwrap();
                assert_eq!(arrangement.cost, cost);
            });
        });
    }
}

/// Layers of pseudo-random costs, the same on every machine.
fn layers(count: usize, lefts: usize, rights: usize) -> Vec<Layer> {
    let mut state = 1u32;
    let mut next = |below: u32| {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        ((state >> 16) % below) as i32
    };
    let mut many = |count: usize, below: u32| -> Vec<i32> { (0..count).map(|_| next(below)).collect() };
    (0..count)
        .map(|at| Layer {
            lefts,
            rights,
            base: many(lefts * rights, 100).into_iter().map(|cost| cost - 40).collect(),
            from: at
                .checked_sub(1)
                .map(|before| Coming {
                    layer: before,
                    left: Ways::new(lefts, &many(lefts * lefts, 30)),
                    right: Ways::new(rights, &many(rights * rights, 40)),
                    joint: false,
                })
                .into_iter()
                .collect(),
        })
        .collect()
}

fn none(_: usize, _: usize, _: usize, _: usize) -> i32 {
    0
}

/// The factored step against its dense twin, in one run: 3 chords of 12,000 states.
fn steps(c: &mut Criterion) {
    let layers = layers(3, 60, 200);
    let best = best_dense(&layers, none);
    let mut group = c.benchmark_group("search/paths/3-chords-60x200");
    group.sample_size(10);
    group.bench_function("factored", |b| {
        b.iter(|| assert_eq!(Solved::new(black_box(&layers), none).best(), best));
    });
    group.bench_function("dense", |b| b.iter(|| assert_eq!(best_dense(black_box(&layers), none), best)));
    group.finish();
}

/// Growth with the number of chords; one path and twenty.
fn growth(c: &mut Criterion) {
    for count in [64, 640, 6_400] {
        let layers = layers(count, 60, 200);
        let mut group = c.benchmark_group(format!("search/paths/{count}-chords-60x200"));
        group.sample_size(10);
        let first = Solved::new(&layers, none).best().unwrap();
        group.bench_function("best", |b| {
            b.iter(|| assert_eq!(Solved::new(black_box(&layers), none).best().as_ref(), Some(&first)));
        });
        group.bench_function("20-best", |b| {
            b.iter(|| {
                let paths = Solved::new(black_box(&layers), none).cheapest(20);
                assert_eq!((paths.len(), paths.first()), (20, Some(&first)));
            });
        });
        group.finish();
    }
}

criterion_group!(benches, catalogues, tunes, steps, growth);
criterion_main!(benches);
