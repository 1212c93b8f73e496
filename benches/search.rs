//! How fast the searches answer: the catalogue, a whole tune, and the factored step against its dense twin.

#![allow(missing_docs, clippy::unwrap_used, clippy::indexing_slicing, reason = "benches")]

use std::hint::black_box;
use std::time::Instant;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use overshell::chord::chord;
use overshell::rules::{RuleSet, Situation};
use overshell::search::paths::{Coming, Layer, Solved, Ways, best_dense};
use overshell::search::{
    ArrangeOptions, Arranger, CatalogueOptions, Octave, Progression, Variety, arrange, catalogue,
};
use overshell::sheet::{ReadOptions, read};
use petgraph::algo::dijkstra;
use petgraph::graph::DiGraph;

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

/// All real lead sheets of the folder beside the package, one after the other on one core; nothing where there is none.
fn real_tunes(c: &mut Criterion) {
    let beside = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared");
    let shared = std::env::var_os("OVERSHELL_SHARED").map_or(beside, Into::into);
    let Ok(folder) = std::fs::read_dir(shared.join("leadsheets")) else {
        println!("skipped: no folder `../shared/leadsheets` and no `OVERSHELL_SHARED`");
        return;
    };
    let mut paths: Vec<_> = folder.map(|entry| entry.unwrap().path()).collect();
    paths.retain(|path| path.extension().is_some_and(|extension| extension == "mxl"));
    paths.sort();
    let tunes: Vec<_> = paths
        .iter()
        .map(|path| {
            let reading = read(&std::fs::read(path).unwrap(), &ReadOptions::default()).unwrap();
            reading.sheet.progression()
        })
        .collect();
    let rules = RuleSet::standard();
    for (name, octave) in [("as-written", Octave::AsWritten), ("octave-higher", Octave::Up)] {
        let options = ArrangeOptions { octave, ..ArrangeOptions::default() };
        let all = || -> i64 {
            tunes.iter().map(|tune| i64::from(arrange(black_box(tune), rules, options).unwrap().cost)).sum()
        };
        let cost = all();
        let mut group = c.benchmark_group("search/arrange/real-tunes");
        group.sample_size(10);
        group.bench_function(format!("{}/{name}", tunes.len()), |b| b.iter(|| assert_eq!(all(), cost)));
        let times: Vec<[f64; 2]> = tunes.iter().map(|tune| one_and_twenty(tune, rules, options)).collect();
        let [one, twenty] = times.iter().fold([0.0; 2], |sum, times| [sum[0] + times[0], sum[1] + times[1]]);
        let most = times.iter().map(|[one, twenty]| twenty / one).fold(0.0, f64::max);
        println!(
            "search/arrange/real-tunes/{name}: the 20 best take {:.2} times as long as one, {most:.2} times at the most",
            twenty / one
        );
    }
}

/// How many seconds the best arrangement takes, and how many the 20 best with all their reasons; in turn, the fastest of some.
fn one_and_twenty(tune: &Progression, rules: &RuleSet, options: ArrangeOptions) -> [f64; 2] {
    let arranger = || Arranger::new(black_box(tune), rules, options).unwrap();
    let mut fastest = [f64::MAX; 2];
    // As a test, the answers are what matters.
    let rounds = if cfg!(debug_assertions) { 1 } else { 9 };
    for _ in 0..rounds {
        let start = Instant::now();
        let best = arranger().best();
        fastest[0] = start.elapsed().as_secs_f64().min(fastest[0]);
        let start = Instant::now();
        let few = arranger().best_few(20, Variety::Chords(1)).unwrap();
        fastest[1] = start.elapsed().as_secs_f64().min(fastest[1]);
        assert_eq!((few.len(), few.first()), (20, Some(&best)));
        assert!(few.windows(2).all(|pair| pair[0].cost <= pair[1].cost));
    }
    fastest
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

/// The cost of the cheapest path by a graph library: a node for each pair, an edge for each way, costs raised so that none is
/// negative.
fn by_graph(layers: &[Layer]) -> i64 {
    const RAISED: i64 = 100;
    let mut graph = DiGraph::<(), i64>::new();
    let start = graph.add_node(());
    let nodes: Vec<Vec<_>> =
        layers.iter().map(|layer| layer.base.iter().map(|_| graph.add_node(())).collect()).collect();
    let end = graph.add_node(());
    for (layer, own) in layers.iter().zip(&nodes) {
        for (pair, node) in own.iter().enumerate() {
            let base = RAISED + i64::from(layer.base[pair]);
            if layer.from.is_empty() {
                graph.add_edge(start, *node, base);
            }
            for coming in &layer.from {
                let rights = layers[coming.layer].rights;
                for (before, from) in nodes[coming.layer].iter().enumerate() {
                    let left = coming.left.get(before / rights, pair / layer.rights);
                    let right = coming.right.get(before % rights, pair % layer.rights);
                    graph.add_edge(*from, *node, base + i64::from(left + right));
                }
            }
        }
    }
    for node in nodes.last().unwrap() {
        graph.add_edge(*node, end, 0);
    }
    dijkstra(&graph, start, Some(end), |edge| *edge.weight())[&end] - RAISED * layers.len() as i64
}

/// Against a shortest path of a graph library, in one run: 8 chords of 60 states.
fn graphs(c: &mut Criterion) {
    let layers = layers(8, 6, 10);
    let best = by_graph(&layers);
    let mut group = c.benchmark_group("search/paths/8-chords-6x10");
    group.bench_function("factored", |b| {
        b.iter(|| assert_eq!(Solved::new(black_box(&layers), none).best().unwrap().cost, best));
    });
    group.bench_function("graph-library", |b| b.iter(|| assert_eq!(by_graph(black_box(&layers)), best)));
    group.finish();
}

/// One path and twenty: 64 chords of 12,000 states; growth with the number of chords, of 1,800 states each.
fn growth(c: &mut Criterion) {
    for (count, lefts, rights) in [(64, 60, 200), (64, 30, 60), (640, 30, 60), (6_400, 30, 60)] {
        let layers = layers(count, lefts, rights);
        let mut group = c.benchmark_group(format!("search/paths/{count}-chords-{lefts}x{rights}"));
        group.sample_size(10);
        let first = Solved::new(&layers, none).best().unwrap();
        group.bench_function("best", |b| {
            b.iter(|| assert_eq!(Solved::new(black_box(&layers), none).best().as_ref(), Some(&first)));
        });
        group.bench_function("20-best", |b| {
            b.iter(|| {
                let paths = Solved::new(black_box(&layers), none).cheapest(20).unwrap();
                assert_eq!((paths.len(), paths.first()), (20, Some(&first)));
            });
        });
        group.finish();
    }
}

/// Shapes of so many keys, thirds and fourths apart, the same on every machine.
fn shapes(count: usize, sizes: &[usize], mut state: u32) -> Vec<Vec<u8>> {
    let mut next = |below: u32| {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        ((state >> 16) % below) as u8
    };
    let mut sizes = sizes.iter().cycle();
    let mut shape = |size: usize| {
        let lowest = 45 + next(20);
        std::iter::successors(Some(lowest), |key| Some(key + 3 + next(3))).take(size).collect()
    };
    (0..count).map(|_| shape(*sizes.next().unwrap())).collect()
}

/// The ways from 200 shapes to 200 others, all at once and one by one, in points; by sizes, by what is charged.
fn ways(c: &mut Criterion) {
    let set = |common: i32| {
        let text = format!(
            "format = 1\nname = \"ways\"\n[[rule]]\nid = \"way\"\nkind = \"motion\"\nhand = \"right\"\n\
             message = \"the hand moves\"\nhelp = \"hold\"\nsource = \"a bench\"\nper-semitone = 1\nleap-over = 5\nleap = 3\n\
             voice-change = 2\ncommon-tone = {common}\n"
        );
        RuleSet::from_toml("ways", &text).unwrap()
    };
    let (plain, common) = (set(0), set(2));
    for (name, rules, from, to) in [
        ("1-to-4-keys", &plain, &[3, 4, 1, 2, 4, 3, 2, 3][..], &[4, 3, 2, 3, 4, 1, 3, 2][..]),
        ("3-and-4-keys", &plain, &[3, 4], &[4, 4, 3, 3]),
        ("3-keys-to-4", &plain, &[3], &[4]),
        ("4-keys-to-4", &plain, &[4], &[4]),
        ("common-tones", &common, &[3, 4, 1, 2, 4, 3, 2, 3], &[4, 3, 2, 3, 4, 1, 3, 2]),
    ] {
        let (from, to) = (shapes(200, from, 1), shapes(200, to, 2));
        let from: Vec<&[u8]> = from.iter().map(Vec::as_slice).collect();
        let to: Vec<&[u8]> = to.iter().map(Vec::as_slice).collect();
        let judge = rules.judge_for(chord("G7"), &Situation::default());
        let one_by_one = |costs: &mut Vec<i32>| {
            costs.clear();
            for from in black_box(&from) {
                costs.extend(black_box(&to).iter().map(|to| judge.motion_cost(false, from, to).min(10_000)));
            }
        };
        let (mut costs, mut expected) = (Vec::new(), Vec::new());
        one_by_one(&mut expected);
        let mut group = c.benchmark_group(format!("search/ways/200x200/{name}"));
        group.throughput(Throughput::Elements(expected.len() as u64));
        group.bench_function("at-once", |b| {
            b.iter(|| judge.motion_costs(false, black_box(&from), black_box(&to), 10_000, &mut costs));
            assert_eq!(costs, expected);
        });
        group.bench_function("one-by-one", |b| {
            b.iter(|| one_by_one(&mut costs));
            assert_eq!(costs, expected);
        });
        group.finish();
        let time = |run: &mut dyn FnMut()| {
            let start = Instant::now();
            (0..50).for_each(|_| run());
            start.elapsed().as_nanos() as f64 / (50 * expected.len()) as f64
        };
        // In turn, so that what else the machine does falls on both.
        let rounds: Vec<(f64, f64)> = (0..5)
            .map(|_| {
                let at_once = time(&mut || {
                    judge.motion_costs(false, black_box(&from), black_box(&to), 10_000, &mut costs)
                });
                let mut plain = Vec::new();
                (at_once, time(&mut || one_by_one(&mut plain)))
            })
            .collect();
        let (fast, slow) =
            rounds.iter().copied().reduce(|(a, b), (c, d)| (a.min(c), b.min(d))).unwrap_or_default();
        println!(
            "search/ways/200x200/{name}: {fast:.2} ns a way at once, {slow:.1} one by one, {:.0} times",
            slow / fast
        );
    }
}

criterion_group!(benches, catalogues, tunes, real_tunes, steps, graphs, growth, ways);
criterion_main!(benches);
