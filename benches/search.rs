//! How fast the searches answer: the catalogue, a whole tune, and the factored step against its dense twin.

#![allow(missing_docs, clippy::unwrap_used, reason = "benches")]

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use overshell::chord::chord;
use overshell::rules::RuleSet;
use overshell::search::{
    ArrangeOptions, CatalogueOptions, Layer, Octave, arrange, best_path, best_path_dense, catalogue,
};
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
        let cost = arrange(&progression, rules, options).cost;
        c.bench_function(&format!("search/arrange/32-bars-41-chords/{name}"), |b| {
            b.iter(|| {
                let arrangement = arrange(black_box(&progression), rules, options);
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
    (0..count)
        .map(|_| Layer {
            lefts,
            rights,
            base: (0..lefts * rights).map(|_| Some(next(100) - 40)).collect(),
            left_motion: (0..lefts * lefts).map(|_| next(30)).collect(),
            right_motion: (0..rights * rights).map(|_| next(40)).collect(),
            joint: false,
        })
        .collect()
}

fn steps(c: &mut Criterion) {
    let layers = layers(4, 30, 100);
    let best = best_path_dense(&layers, |_, _, _| 0);
    let mut group = c.benchmark_group("search/best-path/4-chords-30x100");
    group.sample_size(10);
    group.bench_function("factored", |b| b.iter(|| assert_eq!(best_path(black_box(&layers)), best)));
    group.bench_function("dense", |b| {
        b.iter(|| assert_eq!(best_path_dense(black_box(&layers), |_, _, _| 0), best))
    });
    group.finish();
}

criterion_group!(benches, catalogues, tunes, steps);
criterion_main!(benches);
